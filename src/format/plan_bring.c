/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a plan document says of the job it was made for: the shelf, and what of the job remains. */
#include "format/format.h"
#include "format/plan_reader.h"
#include "format/tree.h"

#include <string.h>

/* --- the shelf -------------------------------------------------------------------------------- */

static bool read_brought(struct dw_plan_reader *r, const struct dw_pointer *at, const json_t *value,
                         void *row)
{
    static const char *const more[] = {dw_record__paid_from};
    struct dw_supply *supply = row;
    if (!dw_plan__read_object(r, at, value, &dw_supply__members, more, DW_COUNT(more), supply))
        return false;
    const json_t *from = json_object_get(value, dw_record__paid_from);
    supply->paid_from = json_string_value(from);
    if (from && !supply->paid_from)
        return dw_plan__refuse(r, at, "`paid from` is a text");
    supply->count = 1;
    supply->pack = 1;
    supply->brought = true;
    if (r->version < 2) /* it did not tell the two apart */
        supply->paid = supply->price;
    if (!supply->id || supply->material == DW_NONE || supply->source == DW_SOURCE_NEW ||
        supply->price < 0 || supply->paid < 0 ||
        (supply->bend > 0) != (supply->tail_material != DW_NONE) || dw_supply_usable(supply) <= 0)
        return dw_plan__refuse(r, at, "this is no piece of a shelf");
    return true;
}

/* false: no memory. */
static bool copy_texts(struct dw_job *job, struct dw_supply *supply)
{
    const char **texts[] = {&supply->id,   &supply->place, &supply->owner,
                            &supply->mark, &supply->date,  &supply->paid_from};
    bool good = true;
    for (size_t k = 0; good && k < DW_COUNT(texts); k++)
        if (*texts[k]) {
            *texts[k] = dw_job_text(job, *texts[k]);
            good = *texts[k] != NULL;
        }
    return good;
}

/* Copies rows[0..n), with their texts, behind the job's supplies. false: no memory, or too many. */
static bool append(struct dw_job *job, const struct dw_supply *rows, size_t n,
                   struct dw_error *error)
{
    size_t n_own = job->n_supplies;
    if (n > DW_MAX_ROWS || n_own + n > DW_MAX_ROWS) {
        dw_error__set(error, DW_ERR_LIMIT, "more than %d bars and offcuts", DW_MAX_ROWS);
        return false;
    }
    struct dw_supply *all = dw_job_alloc(job, n_own + n, sizeof *all);
    bool good = all != NULL;
    if (good && n_own)
        memcpy(all, job->supplies, n_own * sizeof *all);
    for (size_t i = 0; good && i < n; i++) {
        all[n_own + i] = rows[i];
        good = copy_texts(job, &all[n_own + i]);
    }
    if (!good) {
        dw_error__nomem(error);
        return false;
    }
    job->supplies = all;
    job->n_supplies = n_own + n;
    return true;
}

/* --- the rest --------------------------------------------------------------------------------- */

static bool read_rest_part(struct dw_plan_reader *r, const struct dw_pointer *at,
                           const json_t *value, void *row)
{
    struct dw_rest_part *part = row;
    if (!dw_plan__read_object(r, at, value, &dw_rest_part__members, NULL, 0, part))
        return false;
    if (part->part == DW_NONE)
        return dw_plan__refuse(r, at, "what remains is of a part");
    return part->measured == 0 || r->job->parts[part->part].measure_first ||
           dw_plan__refuse(r, at, "this part is not one to be measured first");
}

static bool read_left(struct dw_plan_reader *r, const struct dw_pointer *at, const json_t *value,
                      void *row)
{
    return dw_plan__read_object(r, at, value, &dw_left__members, NULL, 0, row);
}

/* No more of a part than the job has, in all of its rows. */
static bool check_counts(struct dw_plan_reader *r, const struct dw_pointer *at,
                         const struct dw_rest_part *rows, size_t n)
{
    int64_t *sums = dw_plan__room(r, r->job->n_parts, sizeof *sums);
    for (size_t i = 0; sums && i < n; i++) {
        sums[rows[i].part] += rows[i].count;
        if (sums[rows[i].part] > r->job->parts[rows[i].part].count)
            return dw_plan__refuse(r, at,
                                   "there are more of %s than the job has: made for another job?",
                                   r->job->parts[rows[i].part].label);
    }
    return sums != NULL;
}

/* Takes off the job as written what is done. */
static bool bring_rest(struct dw_plan_reader *r, const json_t *root, struct dw_job *job)
{
    static const char *const names[] = {"parts", "bars"};
    struct dw_pointer at = {NULL, "rest", 0};
    const json_t *rest = json_object_get(root, "rest");
    void *parts = NULL, *bars = NULL;
    size_t n_parts = 0, n_bars = 0;
    if (!dw_plan__members_are(r, &at, rest, names, DW_COUNT(names)) ||
        !dw_plan__read_array(r, &at, rest, "parts", sizeof(struct dw_rest_part), read_rest_part,
                             &parts, &n_parts) ||
        !dw_plan__read_array(r, &at, rest, "bars", sizeof(struct dw_left), read_left, &bars,
                             &n_bars) ||
        !check_counts(r, &at, parts, n_parts))
        return false;
    const struct dw_left *left = bars;
    /* again, so that others who have the supplies of the job as written see no change */
    struct dw_supply *copy = dw_job_alloc(job, job->n_supplies + 1, sizeof *copy);
    if (!copy)
        return dw_error__nomem(r->error) == DW_OK;
    if (job->n_supplies)
        memcpy(copy, job->supplies, job->n_supplies * sizeof *copy);
    job->supplies = copy;
    for (size_t i = 0; i < n_bars; i++)
        job->supplies[left[i].supply].count = left[i].count;
    return dw_job__rest(job, parts, n_parts, r->error) == DW_OK;
}

dw_err dw_plan_bring(const char *text, size_t n, const char *name, struct dw_job *job,
                     struct dw_error *error)
{
    struct dw_error first = {0};
    struct dw_plan_reader r = {.job = job, .file = name, .error = &first};
    json_t *root = n <= DW_FILE_LIMIT ? dw_plan__parse(text, n, name, &first) : NULL;
    void *rows = NULL;
    size_t count = 0;
    if (n > DW_FILE_LIMIT)
        dw_error__at(&first, DW_ERR_LIMIT, name, 0, 0,
                     "the plan is larger than the limit of %zu bytes", DW_FILE_LIMIT);
    bool good = root && dw_plan_new(&r.plan, &first) == DW_OK && dw_plan__check_kind(&r, root);
    if (good && json_object_get(root, "rest") && !job->part_of)
        good = bring_rest(&r, root, job);
    if (good && json_object_get(root, "shelf") && !dw_plan__has_brought(job))
        good = dw_plan__read_array(&r, NULL, root, "shelf", sizeof(struct dw_supply), read_brought,
                                   &rows, &count) &&
               append(job, rows, count, &first);
    dw_plan_free(r.plan);
    json_decref(root);
    return good ? DW_OK
                : dw_error__at(error, first.code, first.file, first.line, first.column, "%s",
                               first.text);
}
