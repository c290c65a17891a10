/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tells what can be given of each record of a job. */
#include "format/fields.h"
#include "format/trade.h"

#include <string.h>

/* Kinds by their reader; what has a reader of its own is text with a form that only it knows. */
static const char *kind_of(const struct dw_field *field)
{
    static const struct {
        dw_field_read *read;
        const char *kind;
    } kinds[] = {
        {dw_read__remark, "remark"},   {dw_read__date, "date"},
        {dw_read__length, "length"},   {dw_read__length0, "length"},
        {dw_read__range, "range"},     {dw_read__money, "money"},
        {dw_read__price, "money"},     {dw_read__count, "count"},
        {dw_read__cap, "cap"},         {dw_read__percent, "percent"},
        {dw_read__rate, "rate"},       {dw_read__yes, "yes"},
        {dw_read__density, "density"}, {dw_read__material, "material"},
        {dw_read__ends, "ends"},       {dw_read__angle, "angle"},
        {dw_read__hours, "hours"},     {dw_read__seconds, "seconds"},
        {dw_read__minutes, "minutes"}, {dw_read__weight, "weight"},
        {dw_read__worth, "worth"},     {dw_read__node, "inner"},
        {dw_read__lines, "lines"},     {dw_read__cap1, "cap"},
    };
    for (size_t i = 0; i < DW_COUNT(kinds); i++)
        if (kinds[i].read == field->read)
            return kinds[i].kind;
    return "text";
}

static const struct dw_choice *find_choice(const struct dw_fields *record, const char *name)
{
    for (size_t i = 0; i < record->n_choices; i++)
        if (strcmp(record->choices[i].field, name) == 0)
            return &record->choices[i];
    return NULL;
}

/* The names after the first. */
static void put_also(struct dw_out *out, const struct dw_field *field)
{
    const char *at = field->names + strcspn(field->names, "|");
    char name[DW_KEY_TEXT];
    dw_out__open(out, "also", '[');
    while (*at) {
        size_t n = strcspn(++at, "|");
        memcpy(name, at, n);
        name[n] = '\0';
        dw_out__text(out, NULL, name);
        at += n;
    }
    dw_out__close(out, '[');
}

static void put_field(struct dw_out *out, const struct dw_fields *record,
                      const struct dw_field *field)
{
    char name[DW_KEY_TEXT];
    const struct dw_choice *choice = find_choice(record, dw_field__name(name, field));
    dw_out__open(out, NULL, '{');
    dw_out__text(out, "name", name);
    put_also(out, field);
    dw_out__text(out, "kind", choice ? "word" : kind_of(field));
    dw_out__yes(out, "must", field->need == DW_MUST);
    if (choice) {
        dw_out__open(out, "choices", '[');
        for (size_t i = choice->first; i < choice->end; i++)
            dw_out__text(out, NULL, choice->words->words[i]);
        dw_out__close(out, '[');
    }
    dw_out__close(out, '{');
}

void dw_fields__put(struct dw_out *out, const char *key)
{
#define ADDRESS(name) &dw_fields__##name,
    static const struct dw_fields *const records[] = {DW_FIELDS_LIST(ADDRESS)};
    dw_out__open(out, key, '{');
    for (size_t r = 0; r < DW_COUNT(records); r++) {
        dw_out__open(out, records[r]->record, '[');
        for (size_t i = 0; i < records[r]->n; i++)
            put_field(out, records[r], &records[r]->fields[i]);
        dw_out__close(out, '[');
    }
    dw_out__close(out, '{');
}
