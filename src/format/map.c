/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Maps read by a table of fields. */
#include "format/reader.h"

#include <stdio.h>
#include <string.h>

void dw_reader__say(struct dw_reader *reader, enum dw_severity severity, struct dw_place at,
                    const char *format, ...)
{
    char text[512];
    va_list args;
    va_start(args, format);
    if (vsnprintf(text, sizeof text, format, args) >= (int)sizeof text)
        text[dw_utf8__check(text, strlen(text))] = '\0';
    va_end(args);
    if (dw_report__add(reader->report, severity, at.file, at.line, at.column, "%s", text) != DW_OK)
        reader->no_memory = true;
}

static bool is_blank(char c)
{
    return c == ' ' || c == '\t' || c == '_' || c == '-' || c == '\n' || c == '\r';
}

char *dw_key__fold(char out[DW_KEY_TEXT], const char *text, size_t n)
{
    size_t length = 0;
    bool gap = false;
    for (size_t i = 0; i < n && length + 2 < DW_KEY_TEXT; i++) {
        if (is_blank(text[i])) {
            gap = length > 0;
            continue;
        }
        if (gap)
            out[length++] = ' ';
        gap = false;
        char c = text[i];
        out[length++] = c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
    }
    while (length > 0 && (out[length - 1] == '.' || out[length - 1] == ':'))
        length--;
    out[length] = '\0';
    return out;
}

/* Walks the names of a field: copies the next one to out, false after the last. */
static bool next_name(const char **names, char out[DW_KEY_TEXT])
{
    if (**names == '\0')
        return false;
    size_t n = strcspn(*names, "|");
    size_t kept = n < DW_KEY_TEXT - 1 ? n : DW_KEY_TEXT - 1;
    memcpy(out, *names, kept);
    out[kept] = '\0';
    *names += n + ((*names)[n] == '|');
    return true;
}

char *dw_field__name(char out[DW_KEY_TEXT], const struct dw_field *field)
{
    const char *names = field->names;
    out[0] = '\0';
    next_name(&names, out);
    return out;
}

size_t dw_field__find(const struct dw_field *fields, size_t n_fields, const char *folded)
{
    char name[DW_KEY_TEXT];
    for (size_t i = 0; i < n_fields; i++)
        for (const char *names = fields[i].names; next_name(&names, name);)
            if (strcmp(name, folded) == 0)
                return i;
    return DW_NONE;
}

size_t dw_text__distance(const char *a, const char *b)
{
    size_t row[DW_KEY_TEXT + 1];
    size_t n = strlen(b) < DW_KEY_TEXT ? strlen(b) : DW_KEY_TEXT;
    for (size_t j = 0; j <= n; j++)
        row[j] = j;
    for (size_t i = 0; a[i]; i++) {
        size_t diagonal = row[0];
        row[0] = i + 1;
        for (size_t j = 1; j <= n; j++) {
            size_t replaced = diagonal + (a[i] != b[j - 1]);
            diagonal = row[j];
            size_t least = row[j - 1] < row[j] ? row[j - 1] + 1 : row[j] + 1;
            row[j] = replaced < least ? replaced : least;
        }
    }
    return row[n];
}

size_t dw_field__guess(const struct dw_field *fields, size_t n_fields, const char *folded)
{
    size_t best = DW_NONE;
    size_t nearest = strlen(folded) < 6 ? 2 : 3; /* at most 1, or 2, letters wrong */
    char name[DW_KEY_TEXT];
    for (size_t i = 0; i < n_fields; i++) {
        for (const char *names = fields[i].names; next_name(&names, name);) {
            size_t distance = dw_text__distance(folded, name);
            if (distance < nearest && distance < strlen(name)) {
                nearest = distance;
                best = i;
            }
        }
    }
    return best;
}

static void refuse_unknown(struct dw_reader *reader, const struct dw_node *key, const char *what,
                           const struct dw_field *fields, size_t n_fields, const char *folded)
{
    size_t guess = dw_field__guess(fields, n_fields, folded);
    char name[DW_KEY_TEXT];
    if (guess != DW_NONE) {
        dw_reader__say(reader, DW_WRONG, key->at, "%s: no key `%.60s` here; did you mean `%s`?",
                       what, key->text, dw_field__name(name, &fields[guess]));
        return;
    }
    char list[384] = "";
    size_t used = 0;
    for (size_t i = 0; i < n_fields; i++) {
        dw_field__name(name, &fields[i]);
        int put = snprintf(list + used, sizeof list - used, "%s%s", i ? ", " : "", name);
        if (put < 0 || (size_t)put >= sizeof list - used)
            break;
        used += (size_t)put;
    }
    dw_reader__say(reader, DW_WRONG, key->at, "%s: no key `%.60s` here; there are: %s", what,
                   key->text, list);
}

/* The field of a key, or DW_NONE after a remark. */
static size_t find_field(struct dw_reader *reader, const struct dw_node *key, const char *what,
                         const struct dw_field *fields, size_t n_fields, uint32_t seen)
{
    if (key->kind != DW_NODE_SCALAR) {
        dw_reader__say(reader, DW_WRONG, key->at, "%s: a key must be a word", what);
        return DW_NONE;
    }
    char folded[DW_KEY_TEXT];
    size_t i = dw_field__find(fields, n_fields, dw_key__fold(folded, key->text, key->n));
    if (i == DW_NONE) {
        refuse_unknown(reader, key, what, fields, n_fields, folded);
        return DW_NONE;
    }
    if (seen >> i & 1) {
        char name[DW_KEY_TEXT];
        dw_reader__say(reader, DW_WRONG, key->at, "%s: `%s` is given twice", what,
                       dw_field__name(name, &fields[i]));
        return DW_NONE;
    }
    return i;
}

/* The key by its field's first name, unless that stands beside it. */
static void rename_key(struct dw_reader *reader, const struct dw_node *map, size_t k,
                       const struct dw_field *field)
{
    char name[DW_KEY_TEXT];
    dw_field__name(name, field);
    for (size_t i = 0; i + 1 < map->n_items; i += 2)
        if (strcmp(map->items[i]->text, name) == 0)
            return;
    const char *text = dw_arena__text(reader->tree, name);
    reader->no_memory |= text == NULL;
    if (!text)
        return;
    map->items[k]->text = text;
    map->items[k]->n = strlen(text);
}

bool dw_reader__map(struct dw_reader *reader, const struct dw_node *map, const char *what,
                    const struct dw_field *fields, size_t n_fields, void *row, uint32_t *given)
{
    uint32_t seen = 0;
    bool good = true;
    if (given)
        *given = 0;
    if (map->kind != DW_NODE_MAP) {
        dw_reader__say(reader, DW_WRONG, map->at, "%s: write it as `key: value` lines", what);
        return false;
    }
    for (size_t k = 0; k + 1 < map->n_items; k += 2) {
        size_t i = find_field(reader, map->items[k], what, fields, n_fields, seen);
        if (i == DW_NONE) {
            good = false;
            continue;
        }
        const struct dw_node *value = map->items[k + 1];
        if (reader->rename)
            rename_key(reader, map, k, &fields[i]);
        seen |= UINT32_C(1) << i;
        good &= fields[i].read(reader, &fields[i], value, row);
    }
    for (size_t i = 0; i < n_fields; i++) {
        char name[DW_KEY_TEXT];
        if (fields[i].need != DW_MUST || seen >> i & 1)
            continue;
        dw_reader__say(reader, DW_WRONG, map->at, "%s: `%s` is missing", what,
                       dw_field__name(name, &fields[i]));
        good = false;
    }
    if (given)
        *given = seen;
    return good;
}
