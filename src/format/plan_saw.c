/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Whether a plan document says of its pieces what the job says of them. */
#include "format/plan_json.h"

#include <jansson.h>
#include <stdlib.h>
#include <string.h>

bool dw_plan__is_text_of(const char *text, dw_length nm)
{
    dw_length read = 0;
    if (dw_length_parse(text, strlen(text), DW_UNIT_NONE, &read, NULL) == DW_OK)
        return read == nm;
    for (int unit = DW_UNIT_MM; unit <= DW_UNIT_FT; unit++) {
        struct dw_length_style style = {.unit = (enum dw_unit)unit, .decimals = DW_PLAN_DECIMALS};
        do {
            char printed[DW_LENGTH_TEXT];
            dw_length_print(printed, nm, &style);
            if (strcmp(printed, text) == 0)
                return true;
            style.denominator = style.denominator > 0 ? 2 * style.denominator : 1;
        } while (unit >= DW_UNIT_IN && style.denominator <= 64);
    }
    return false;
}

static bool same_length(const json_t *a, const json_t *b)
{
    const char *text = json_string_value(json_object_get(a, "text"));
    const json_t *nm = json_object_get(a, "nm");
    return json_equal(nm, json_object_get(b, "nm")) && text &&
           (!json_is_integer(nm) || dw_plan__is_text_of(text, json_integer_value(nm)));
}

/* Of a length `nm` counts, and its text has to agree; the other texts of the two are compared. */
static bool same_value(const json_t *a, const json_t *b)
{
    if (json_is_object(a) && json_is_object(b) && json_object_get(b, "nm"))
        return same_length(a, b);
    bool same = json_typeof(a) == json_typeof(b);
    if (same && json_is_array(a)) {
        same = json_array_size(a) == json_array_size(b);
        for (size_t i = 0; same && i < json_array_size(a); i++)
            same = same_value(json_array_get(a, i), json_array_get(b, i));
        return same;
    }
    if (!same || !json_is_object(a))
        return same && json_equal(a, b);
    const char *key = NULL;
    json_t *value = NULL;
    same = json_object_size(a) == json_object_size(b);
    json_object_foreach((json_t *)b, key, value)
    {
        const json_t *other = json_object_get(a, key);
        same = same && other && same_value(other, value);
    }
    return same;
}

/* A new object with what the job says of the piece; NULL: no memory. */
static json_t *said_of(const struct dw_job *job, const struct dw_saw_piece *saw)
{
    struct dw_buf buf = {0};
    struct dw_out out = {.buf = &buf, .style = dw_job__style(job)};
    const struct dw_record_out to = {.out = &out, .job = job, .version = DW_PLAN_VERSION};
    dw_out__open(&out, NULL, '{');
    dw_record__saw(&to, saw);
    dw_out__close(&out, '{');
    char *text = dw_buf__take(&buf);
    json_t *object = text ? json_loads(text, 0, NULL) : NULL;
    free(text);
    return object;
}

/* For json_dump_callback: whatever jansson allocates with, free() frees what is collected. */
static int collect(const char *text, size_t n, void *user)
{
    struct dw_buf *buf = user;
    dw_buf__add(buf, text, n);
    return buf->failed ? -1 : 0;
}

/* Does it bear on the cut? What does not is printed as the job says it now, and so is what is put
 * in words. */
static bool bears_on_cut(const char *name)
{
    static const char *const told[] = {"job",    "client",  "due",  "section",
                                       "remark", "written", "work", "measure"};
    bool bears = true;
    for (size_t i = 0; i < DW_COUNT(told); i++)
        bears = bears && strcmp(name, told[i]) != 0;
    return bears;
}

/* false: no memory. */
static bool compare_piece(const struct dw_job *job, const struct dw_saw_piece *saw,
                          const json_t *piece, struct dw_saw_difference *out)
{
    json_t *wanted = said_of(job, saw);
    for (size_t i = 0; wanted && i < DW_SAW_MEMBERS && !out->name; i++) {
        const char *name = dw_record__saw_names[i];
        const json_t *right = json_object_get(wanted, name), *given = json_object_get(piece, name);
        if (!bears_on_cut(name) || (right && given ? same_value(given, right) : right == given))
            continue;
        struct dw_buf buf = {0};
        dw_buf__put(&buf, right ? "" : "nothing of it");
        if (right)
            json_dump_callback(right, collect, &buf, JSON_COMPACT | JSON_ENCODE_ANY);
        out->name = name;
        out->says = dw_buf__take(&buf);
    }
    bool good = wanted && (!out->name || out->says);
    json_decref(wanted);
    return good;
}

bool dw_plan__saw_compare(const struct dw_job *job, const struct dw_layout *layout,
                          const json_t *pieces, struct dw_saw_difference *out)
{
    *out = (struct dw_saw_difference){0};
    struct dw_saw_piece *saw = calloc(layout->n_pieces, sizeof *saw);
    if (!saw)
        return false;
    dw_layout_saw(job, layout, saw);
    bool good = true;
    for (size_t i = 0; i < layout->n_pieces && good && !out->name; i++) {
        out->piece = i;
        good = compare_piece(job, &saw[i], json_array_get(pieces, i), out);
    }
    free(saw);
    return good;
}
