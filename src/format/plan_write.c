/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A plan as a JSON document. The same plan gives the same bytes. */
#include "format/format.h"
#include "format/plan_json.h"

#include <inttypes.h>
#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct writer {
    const struct dw_job *job;
    bool failed; /* sticks: no memory, or a text that is not UTF-8 */
};

/* Both take over `value`, which may be NULL after a failure. */
static void put(struct writer *w, json_t *object, const char *name, json_t *value)
{
    if (json_object_set_new(object, name, value) != 0)
        w->failed = true;
}

static void append(struct writer *w, json_t *array, json_t *value)
{
    if (json_array_append_new(array, value) != 0)
        w->failed = true;
}

static json_t *integer(int64_t value)
{
    if (value >= -DW_SAFE_INTEGER && value <= DW_SAFE_INTEGER)
        return json_integer(value);
    char text[24];
    snprintf(text, sizeof text, "%" PRId64, value);
    return json_string(text);
}

static struct dw_length_style style_of(const struct dw_job *job)
{
    return (struct dw_length_style){
        .unit = job->unit, .denominator = job->denominator, .decimals = 6};
}

static json_t *length(struct writer *w, dw_length nm)
{
    struct dw_length_style style = style_of(w->job);
    char text[DW_LENGTH_TEXT];
    dw_length_print(text, nm, &style);
    json_t *object = json_object();
    put(w, object, "nm", integer(nm));
    put(w, object, "text", json_string(text));
    return object;
}

/* Two to four decimals, all that there are. */
static json_t *money(dw_money amount)
{
    char text[32];
    uint64_t size = amount < 0 ? -(uint64_t)amount : (uint64_t)amount;
    int n = snprintf(text, sizeof text, "%s%" PRIu64 ".%04" PRIu64, amount < 0 ? "-" : "",
                     size / DW_MONEY_ONE, size % DW_MONEY_ONE);
    while (text[n - 1] == '0' && text[n - 3] != '.')
        text[--n] = '\0';
    return json_string(text);
}

static json_t *reference(struct writer *w, size_t index, const char *name, const char *text)
{
    json_t *object = json_object();
    put(w, object, "index", json_integer((json_int_t)index));
    put(w, object, name, text ? json_string(text) : json_null());
    return object;
}

static json_t *index_value(struct writer *w, enum dw_value_kind kind, size_t index)
{
    const struct dw_job *job = w->job;
    if (kind == DW_VALUE_GROUP)
        return json_integer((json_int_t)index);
    if (kind == DW_VALUE_SUPPLY)
        return reference(w, index, "id", job->supplies[index].id);
    if (index == DW_NONE)
        return json_null();
    return kind == DW_VALUE_MATERIAL ? reference(w, index, "id", job->materials[index].id)
                                     : reference(w, index, "label", job->parts[index].label);
}

static json_t *member_value(struct writer *w, const struct dw_member *member, const void *at)
{
    switch (member->kind) {
    case DW_VALUE_INTEGER:
        return integer(*(const int64_t *)at);
    case DW_VALUE_LENGTH:
        return length(w, *(const dw_length *)at);
    case DW_VALUE_MONEY:
        return money(*(const dw_money *)at);
    case DW_VALUE_WORD:
        return json_string(member->words[*(const unsigned *)at]);
    case DW_VALUE_YES:
        return json_boolean(*(const bool *)at);
    case DW_VALUE_ANGLE: {
        char degrees[DW_ANGLE_TEXT];
        dw_angle__print(degrees, *(const int64_t *)at);
        return json_string(degrees);
    }
    case DW_VALUE_TEXT:
        return *(const char *const *)at ? json_string(*(const char *const *)at) : json_null();
    default:
        return index_value(w, member->kind, *(const size_t *)at);
    }
}

static json_t *object_of(struct writer *w, const struct dw_member_table *table, const void *row)
{
    json_t *object = json_object();
    for (size_t i = 0; i < table->n; i++) {
        const struct dw_member *member = &table->members[i];
        put(w, object, member->name, member_value(w, member, (const char *)row + member->offset));
    }
    return object;
}

/* --- what the job says of a piece ------------------------------------------------------------ */

/* Whether a member says anything: no text, no length, no angle and "no" don't. */
static bool is_said(const struct dw_member *member, const void *at)
{
    switch (member->kind) {
    case DW_VALUE_TEXT:
        return *(const char *const *)at != NULL;
    case DW_VALUE_YES:
        return *(const bool *)at;
    case DW_VALUE_LENGTH:
    case DW_VALUE_ANGLE:
        return *(const int64_t *)at != 0;
    default:
        return true;
    }
}

static json_t *said_object(struct writer *w, const struct dw_member_table *table, const void *row)
{
    json_t *object = json_object();
    for (size_t i = 0; i < table->n; i++) {
        const struct dw_member *member = &table->members[i];
        const char *at = (const char *)row + member->offset;
        if (is_said(member, at))
            put(w, object, member->name, member_value(w, member, at));
    }
    return object;
}

/* Without them, both ends are cut square and meet no fitting. */
static void put_ends(struct writer *w, json_t *object, const struct dw_saw_end ends[2])
{
    bool any = false;
    json_t *list = json_array();
    for (size_t e = 0; e < 2; e++) {
        json_t *end = said_object(w, &dw_saw_end__members, &ends[e]);
        if (ends[e].shape != DW_SHAPE_MITRE)
            json_object_del(end, "point");
        append(w, list, end);
        any = any || ends[e].shape != DW_SHAPE_SQUARE || ends[e].fitting;
    }
    if (any)
        put(w, object, "ends", list);
    else
        json_decref(list);
}

static void put_bend(struct writer *w, json_t *object, const struct dw_saw_piece *saw)
{
    if (saw->n_bends == 0)
        return;
    json_t *bend = json_object(), *bends = json_array();
    for (size_t i = 0; i < saw->n_bends; i++)
        append(w, bends, object_of(w, &dw_made_bend__members, &saw->bends[i]));
    put(w, bend, "bends", bends);
    put(w, bend, "last straight", length(w, saw->last_straight));
    put(w, object, "bend", bend);
}

/* The sentences of the cut sheet. */
static void put_work(struct writer *w, json_t *object, const struct dw_saw_piece *saw)
{
    struct dw_buf buf = {0};
    struct dw_length_style style = style_of(w->job);
    dw_saw__work(&buf, saw, &style);
    if (buf.n > 0)
        put(w, object, "work", json_stringn(buf.text, buf.n));
    w->failed = w->failed || buf.failed;
    dw_buf__free(&buf);
}

static json_t *saw_object(struct writer *w, const struct dw_saw_piece *saw)
{
    json_t *object = said_object(w, &dw_saw_piece__members, saw);
    if (saw->ends[0].shape != DW_SHAPE_MITRE || saw->ends[1].shape != DW_SHAPE_MITRE)
        json_object_del(object, "long points");
    put_ends(w, object, saw->ends);
    put_bend(w, object, saw);
    put_work(w, object, saw);
    return object;
}

json_t *dw_plan__saw_json(const struct dw_job *job, const struct dw_saw_piece *saw)
{
    struct writer w = {.job = job};
    json_t *object = saw_object(&w, saw);
    if (!w.failed)
        return object;
    json_decref(object);
    return NULL;
}

/* --- layouts and groups ---------------------------------------------------------------------- */

static void put_pieces(struct writer *w, json_t *pieces, const struct dw_layout *layout)
{
    struct dw_saw_piece *saw = calloc(layout->n_pieces, sizeof *saw);
    w->failed = w->failed || !saw;
    if (saw)
        dw_layout_saw(w->job, layout, saw);
    for (size_t i = 0; i < layout->n_pieces && saw; i++) {
        json_t *piece = object_of(w, &dw_piece__members, &layout->pieces[i]);
        json_t *more = saw_object(w, &saw[i]);
        if (json_object_update(piece, more) != 0)
            w->failed = true;
        json_decref(more);
        append(w, pieces, piece);
    }
    free(saw);
}

static json_t *layout_object(struct writer *w, const struct dw_layout *layout)
{
    json_t *object = object_of(w, &dw_layout__members, layout);
    json_t *pieces = json_array();
    put_pieces(w, pieces, layout);
    put(w, object, "pieces", pieces);
    return object;
}

static json_t *certificate_object(struct writer *w, const struct dw_certificate *certificate)
{
    json_t *object = object_of(w, &dw_certificate__members, certificate);
    json_t *duals = json_array();
    for (size_t i = 0; i < certificate->n_duals; i++) {
        struct dw_dual dual = {certificate->parts[i], certificate->duals[i]};
        append(w, duals, object_of(w, &dw_dual__members, &dual));
    }
    put(w, object, "duals", duals);
    return object;
}

static json_t *group_object(struct writer *w, const struct dw_group *group)
{
    json_t *object = object_of(w, &dw_group__members, group);
    json_t *materials = json_array();
    for (size_t i = 0; i < group->n_materials; i++)
        append(w, materials, index_value(w, DW_VALUE_MATERIAL, group->materials[i]));
    put(w, object, "materials", materials);
    put(w, object, "certificate", certificate_object(w, &group->certificate));
    json_t *shortages = json_array();
    for (size_t i = 0; i < group->n_shortages; i++)
        append(w, shortages, object_of(w, &dw_shortage__members, &group->shortages[i]));
    put(w, object, "shortages", shortages);
    return object;
}

static json_t *job_object(struct writer *w, const struct dw_plan *plan)
{
    char digest[17];
    snprintf(digest, sizeof digest, "%016" PRIx64, plan->job_digest);
    json_t *object = json_object();
    put(w, object, "name", w->job->name ? json_string(w->job->name) : json_null());
    put(w, object, "digest", json_string(digest));
    put(w, object, "currency", json_string(w->job->currency));
    return object;
}

/* The pieces of a shelf that were offered; a job without any has no such member. */
static void put_shelf(struct writer *w, json_t *root)
{
    json_t *shelf = json_array();
    for (size_t i = 0; i < w->job->n_supplies; i++)
        if (w->job->supplies[i].brought)
            append(w, shelf, object_of(w, &dw_supply__members, &w->job->supplies[i]));
    if (json_array_size(shelf) > 0)
        put(w, root, "shelf", json_incref(shelf));
    json_decref(shelf);
}

/* What was doubtful in the job; a document without any has no such member. */
static void put_remarks(struct writer *w, json_t *root, const struct dw_report *report)
{
    json_t *remarks = json_array();
    for (size_t i = 0; report && i < report->n_remarks; i++) {
        const struct dw_error *what = &report->remarks[i].what;
        if (report->remarks[i].severity != DW_DOUBT)
            continue;
        json_t *doubt = json_object();
        put(w, doubt, "severity", json_string("doubt"));
        put(w, doubt, "file", json_string(what->file));
        put(w, doubt, "line", json_integer(what->line));
        put(w, doubt, "column", json_integer(what->column));
        put(w, doubt, "text", json_string(what->text));
        append(w, remarks, doubt);
    }
    if (json_array_size(remarks) > 0)
        put(w, root, "remarks", json_incref(remarks));
    json_decref(remarks);
}

/* What the job of the rest is of the job as written; the whole job has no such member. */
static void put_rest(struct writer *w, json_t *root)
{
    const struct dw_job *job = w->job;
    if (!job->part_of)
        return;
    json_t *parts = json_array(), *bars = json_array(), *rest = json_object();
    for (size_t i = 0; i < job->n_parts; i++) {
        const struct dw_part *part = &job->parts[i];
        struct dw_rest_part row = {i, part->count, part->measured};
        json_t *object = object_of(w, &dw_rest_part__members, &row);
        put(w, object, "part", reference(w, job->part_of[i], "label", part->label));
        append(w, parts, object);
    }
    for (size_t i = 0; i < job->n_supplies; i++) {
        struct dw_left left = {i, job->supplies[i].count};
        if (!job->supplies[i].brought && left.count != DW_UNLIMITED)
            append(w, bars, object_of(w, &dw_left__members, &left));
    }
    put(w, rest, "parts", parts);
    put(w, rest, "bars", bars);
    put(w, root, "rest", rest);
}

static json_t *plan_object(struct writer *w, const struct dw_plan *plan,
                           const struct dw_report *report)
{
    json_t *root = json_object();
    put(w, root, "format", json_string(DW_PLAN_FORMAT));
    put(w, root, "version", json_integer(DW_PLAN_VERSION));
    put(w, root, "job", job_object(w, plan));
    put_remarks(w, root, report);
    put_shelf(w, root);
    put_rest(w, root);
    json_t *head = object_of(w, &dw_plan__members, plan);
    if (json_object_update(root, head) != 0)
        w->failed = true;
    json_decref(head);
    put(w, root, "totals", object_of(w, &dw_totals__members, &plan->totals));
    json_t *takes = json_array();
    for (size_t i = 0; i < plan->n_takes; i++)
        append(w, takes, object_of(w, &dw_take__members, &plan->takes[i]));
    put(w, root, "takes", takes);
    json_t *layouts = json_array();
    for (size_t i = 0; i < plan->n_layouts; i++)
        append(w, layouts, layout_object(w, &plan->layouts[i]));
    put(w, root, "layouts", layouts);
    json_t *groups = json_array();
    for (size_t i = 0; i < plan->n_groups; i++)
        append(w, groups, group_object(w, &plan->groups[i]));
    put(w, root, "groups", groups);
    return root;
}

int dw_plan__collect(const char *text, size_t n, void *user)
{
    struct dw_buf *buf = user;
    dw_buf__add(buf, text, n);
    return buf->failed ? -1 : 0;
}

/* Through a buffer of ours, so that the text is freed by free() whatever jansson allocates with. */
dw_err dw_plan__to_json(const struct dw_job *job, const struct dw_plan *plan,
                        const struct dw_report *report, char **text, struct dw_error *error)
{
    *text = NULL;
    struct writer w = {.job = job};
    struct dw_buf buf = {0};
    json_t *root = plan_object(&w, plan, report);
    if (!root || w.failed || json_dump_callback(root, dw_plan__collect, &buf, JSON_INDENT(1)) != 0)
        buf.failed = true;
    dw_buf__char(&buf, '\n');
    json_decref(root);
    *text = dw_buf__take(&buf);
    return *text ? DW_OK : dw_error__nomem(error);
}

dw_err dw_plan_to_json(const struct dw_job *job, const struct dw_plan *plan, char **text,
                       struct dw_error *error)
{
    return dw_plan__to_json(job, plan, NULL, text, error);
}

dw_err dw_plan_write(const char *path, const struct dw_job *job, const struct dw_plan *plan,
                     bool replace, struct dw_error *error)
{
    char *text = NULL;
    dw_err err = dw_plan_to_json(job, plan, &text, error);
    if (err == DW_OK)
        err = dw_file__write(path, text, strlen(text), replace, error);
    free(text);
    return err;
}
