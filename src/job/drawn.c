/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The take-off: what became of each drawn part, as a document too. */
#include "job/drawn.h"

#include "base/base.h"
#include "model/caution.h"
#include "model/record.h"

/* --- making it -------------------------------------------------------------------------------- */

static dw_err fill_parts(struct dw_drawn_sheet *sheet, const struct dw_job *job,
                         struct dw_error *error)
{
    sheet->parts = dw_arena__alloc(sheet->arena, job->n_parts + 1, sizeof *sheet->parts);
    for (size_t i = 0; sheet->parts && i < job->n_parts; i++) {
        const struct dw_part *part = &job->parts[i];
        const struct dw_takeoff *takeoff = part->takeoff;
        if (takeoff)
            sheet->parts[sheet->n_parts++] = (struct dw_drawn_part){.label = part->label,
                                                                    .count = part->count,
                                                                    .cut = takeoff->cut,
                                                                    .rounded = takeoff->rounded,
                                                                    .allowance = part->allowance,
                                                                    .n_steps = takeoff->n_steps,
                                                                    .steps = takeoff->steps};
    }
    return sheet->parts ? DW_OK : dw_error__nomem(error);
}

static dw_err fill_fittings(struct dw_drawn_sheet *sheet, const struct dw_job *job,
                            struct dw_error *error)
{
    size_t most = job->n_orders * job->n_fittings + 1;
    int64_t *counts = dw_arena__alloc(sheet->arena, job->n_fittings + 1, sizeof *counts);
    sheet->fittings = dw_arena__alloc(sheet->arena, most, sizeof *sheet->fittings);
    dw_err err = counts && sheet->fittings ? DW_OK : dw_error__nomem(error);
    for (size_t o = 0; !err && o < job->n_orders; o++) {
        err = dw_fittings_count(job, o, counts, error);
        for (size_t f = 0; !err && f < job->n_fittings; f++) {
            const struct dw_fitting *fitting = &job->fittings[f];
            if (counts[f])
                sheet->fittings[sheet->n_fittings++] = (struct dw_drawn_fitting){
                    job->orders[o].name, fitting->id, fitting->name, counts[f]};
        }
    }
    return err;
}

/* Breaches stand section by section, as many as there are at most for each of the two lists. */
static dw_err fill_sections(struct dw_drawn_sheet *sheet, struct dw_error *error)
{
    const struct dw_limits *limits = sheet->limits;
    size_t n = limits->n_loads, room = 2 * limits->n_breaches + 1;
    const char **texts = dw_arena__alloc(sheet->arena, room, sizeof *texts);
    sheet->sections = dw_arena__alloc(sheet->arena, n + 1, sizeof *sheet->sections);
    if (!texts || !sheet->sections)
        return dw_error__nomem(error);
    sheet->n_sections = n;
    for (size_t i = 0; i < n; i++) {
        const struct dw_section_load *load = &limits->loads[i];
        struct dw_drawn_section *section = &sheet->sections[i];
        *section = (struct dw_drawn_section){.name = load->name,
                                             .n_pieces = load->n_pieces,
                                             .longest = load->longest,
                                             .weight_mg = load->weight_mg};
        section->over = texts;
        for (size_t k = 0; k < limits->n_breaches; k++)
            if (limits->breaches[k].section == i && limits->breaches[k].by > 0)
                section->over[section->n_over++] = limits->breaches[k].text;
        texts += section->n_over;
        section->unjudged = texts;
        for (size_t k = 0; k < limits->n_breaches; k++)
            if (limits->breaches[k].section == i && limits->breaches[k].by == 0)
                section->unjudged[section->n_unjudged++] = limits->breaches[k].text;
        texts += section->n_unjudged;
    }
    return DW_OK;
}

dw_err dw_drawn_sheet_make(const struct dw_job *job, struct dw_drawn_sheet *out,
                           struct dw_error *error)
{
    *out = (struct dw_drawn_sheet){.job = job->name, .arena = dw_arena__new()};
    dw_err err = out->arena ? fill_parts(out, job, error) : dw_error__nomem(error);
    if (!err)
        err = fill_fittings(out, job, error);
    if (!err)
        err = dw_limits_check(job, NULL, &out->limits, error);
    return err ? err : fill_sections(out, error);
}

void dw_drawn_sheet_free(struct dw_drawn_sheet *sheet)
{
    dw_limits_free(sheet->limits);
    dw_arena__free(sheet->arena);
    *sheet = (struct dw_drawn_sheet){0};
}

/* --- writing it ------------------------------------------------------------------------------- */

#define TABLE(members)                                                                             \
    {                                                                                              \
        members, DW_COUNT(members)                                                                 \
    }
#define MEMBER(key, type, field) .name = (key), .kind = (type), .offset = AT(field), .since = 1

static const struct dw_member step_members[] = {
#define AT(member) offsetof(struct dw_step, member)
    {MEMBER("text", DW_VALUE_TEXT, text)},
    {MEMBER("amount", DW_VALUE_LENGTH, amount)},
    {MEMBER("rounded", DW_VALUE_YES, rounded)},
#undef AT
};
const struct dw_member_table dw_drawn_step__members = TABLE(step_members);

#define AT(member) offsetof(struct dw_drawn_part, member)
static const struct dw_member_list steps = {AT(n_steps), sizeof(struct dw_step),
                                            TABLE(step_members)};
static const struct dw_member part_members[] = {
    {MEMBER("label", DW_VALUE_TEXT, label)},
    {MEMBER("count", DW_VALUE_INTEGER, count)},
    {MEMBER("cut", DW_VALUE_LENGTH, cut)},
    {MEMBER("rounded", DW_VALUE_YES, rounded)},
    {MEMBER("allowance", DW_VALUE_LENGTH, allowance)},
    {MEMBER("steps", DW_VALUE_ROWS, steps), .list = &steps},
};
const struct dw_member_table dw_drawn_part__members = TABLE(part_members);
#undef AT

#define AT(member) offsetof(struct dw_drawn_fitting, member)
static const struct dw_member fitting_members[] = {
    {MEMBER("job", DW_VALUE_TEXT, job)},
    {MEMBER("fitting", DW_VALUE_TEXT, id)},
    {MEMBER("name", DW_VALUE_TEXT, name)},
    {MEMBER("count", DW_VALUE_INTEGER, count)},
};
const struct dw_member_table dw_drawn_fitting__members = TABLE(fitting_members);
#undef AT

#define AT(member) offsetof(struct dw_drawn_section, member)
static const struct dw_member_list over = {AT(n_over), sizeof(const char *), {0}};
static const struct dw_member_list unjudged = {AT(n_unjudged), sizeof(const char *), {0}};
static const struct dw_member section_members[] = {
    {MEMBER("section", DW_VALUE_TEXT, name)},
    {MEMBER("pieces", DW_VALUE_INTEGER, n_pieces)},
    {MEMBER("longest", DW_VALUE_LENGTH, longest)},
    {MEMBER("weight_mg", DW_VALUE_WEIGHT, weight_mg)},
    {MEMBER("weight", DW_VALUE_KILOS, weight_mg)},
    {MEMBER("over", DW_VALUE_TEXTS, over), .list = &over},
    {MEMBER("unjudged", DW_VALUE_TEXTS, unjudged), .list = &unjudged},
};
const struct dw_member_table dw_drawn_section__members = TABLE(section_members);
#undef AT

#define AT(member) offsetof(struct dw_drawn_sheet, member)
static const struct dw_member_list parts = {AT(n_parts), sizeof(struct dw_drawn_part),
                                            TABLE(part_members)};
static const struct dw_member_list fittings = {AT(n_fittings), sizeof(struct dw_drawn_fitting),
                                               TABLE(fitting_members)};
static const struct dw_member_list sections = {AT(n_sections), sizeof(struct dw_drawn_section),
                                               TABLE(section_members)};
static const struct dw_member sheet_members[] = {
    {MEMBER("job", DW_VALUE_TEXT, job)},
    {MEMBER("parts", DW_VALUE_ROWS, parts), .list = &parts},
    {MEMBER("fittings", DW_VALUE_ROWS, fittings), .list = &fittings},
    {MEMBER("sections", DW_VALUE_ROWS, sections), .list = &sections},
};
#undef AT

void dw_job__drawn_put(struct dw_out *out, const struct dw_job *job,
                       const struct dw_drawn_sheet *sheet)
{
    const struct dw_record_out to = {.out = out, .job = job, .version = 1};
    const struct dw_member_table table = TABLE(sheet_members);
    dw_out__open(out, NULL, '{');
    dw_out__text(out, "format", "dropwise takeoff");
    dw_out__int(out, "version", 1);
    dw_record__put(&to, &table, sheet);
    dw_care__put(out, "cautions", &(const struct dw_care){0}, DW_AT_DRAWN);
    dw_out__close(out, '{');
}
