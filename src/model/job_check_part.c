/* SPDX-License-Identifier: GPL-3.0-or-later */
/* dw_job_check of parts and posts. */
#include "model/caution.h"
#include "model/check.h"

#include <stdlib.h>
#include <string.h>

static const char *kind_of(const struct dw_part *part)
{
    return part->post ? "post" : "part";
}

static void check_length(struct dw_check *check, const struct dw_part *part)
{
    bool fine =
        dw_check__length_in(check, &part->at, "length", part->label, part->min, 1, DW_LENGTH_MAX);
    fine &= dw_check__length_in(check, &part->at, "greatest length", part->label, part->max, 1,
                                DW_LENGTH_MAX);
    if (fine && part->max < part->min)
        dw_check__say(check, DW_WRONG, &part->at, "the range of %s runs from %s down to %s",
                      part->label, dw_check__length(check, part->min).text,
                      dw_check__length(check, part->max).text);
    if (!dw_check__length_in(check, &part->at, "allowance", part->label, part->allowance, 0,
                             DW_LENGTH_MAX))
        return;
    if (part->allowance > 0 && !part->measure_first)
        dw_check__say(check, DW_WRONG, &part->at,
                      "%s has an allowance but is not marked to be measured first", part->label);
    if (part->measure_first && part->allowance == 0)
        dw_check__say(check, DW_DOUBT, &part->at,
                      "%s is to be measured first, but has no allowance to cut from", part->label);
    if (part->allowance > 0 && part->allowance >= part->min)
        dw_check__say(check, DW_WRONG, &part->at, "the allowance of %s is as long as the piece",
                      part->label);
}

static void check_demand(struct dw_check *check, const struct dw_part *part)
{
    if (part->count < 1 || part->count > DW_MAX_PIECES)
        dw_check__say(check, DW_WRONG, &part->at, "%s is wanted %lld times; give 1 to %lld",
                      part->label, (long long)part->count, (long long)DW_MAX_PIECES);
    dw_check__money_in(check, &part->at, "worth", part->label, part->worth);
    if (!part->post && part->worth != 0)
        dw_check__say(check, DW_WRONG, &part->at, "%s has a worth, but only posts earn one",
                      part->label);
    if (part->order >= check->job->n_orders)
        dw_check__say(check, DW_WRONG, &part->at, "%s belongs to no order of the job", part->label);
}

/* By the widest tube that it may be cut from. Common practice, see caution.h. */
static void check_hold(struct dw_check *check, const struct dw_part *part)
{
    dw_length limit = 0;
    for (size_t j = 0; j < part->n_materials; j++) {
        size_t m = part->materials[j];
        if (m >= check->job->n_materials)
            continue;
        const struct dw_material *material = &check->job->materials[m];
        limit = dw_short_limit(material) > limit ? dw_short_limit(material) : limit;
    }
    if (part->min < 1 || part->min >= limit)
        return;
    if (part->min < check->job->saw.kerf) {
        dw_check__say(check, DW_DOUBT, &part->at,
                      "%s is %s long, less than one cut takes; is its unit right?", part->label,
                      dw_check__length(check, part->min).text);
        return;
    }
    const struct dw_length_style style = dw_job__style(check->job);
    struct dw_buf text = {0};
    dw_caution__limit(&text, limit, &style);
    if (text.failed)
        check->err = DW_ERR_NOMEM;
    else
        dw_check__say(check, DW_DOUBT, &part->at,
                      "%s is %s long; a piece under %s is too short to hold by hand: plan for a "
                      "vise or a fixture",
                      part->label, dw_check__length(check, part->min).text, text.text);
    dw_buf__free(&text);
}

/* seen[m] = i + 1 for the last part i that names material m, so that it needs no clearing. */
static void check_materials(struct dw_check *check, size_t i, size_t *seen)
{
    const struct dw_part *part = &check->job->parts[i];
    if (part->n_materials == 0)
        dw_check__say(check, DW_WRONG, &part->at, "%s %s names no material", kind_of(part),
                      part->label);
    for (size_t j = 0; j < part->n_materials; j++) {
        size_t m = part->materials[j];
        if (m >= check->job->n_materials)
            dw_check__say(check, DW_WRONG, &part->at, "%s %s names no material of the job",
                          kind_of(part), part->label);
        else if (seen[m] == i + 1)
            dw_check__say(check, DW_WRONG, &part->at, "%s names material %s twice", part->label,
                          dw_check__name(check->job->materials[m].id));
        else
            seen[m] = i + 1;
    }
}

/* A row of parts, to be sorted by label and order. */
struct row {
    const struct dw_part *part;
};

static int compare_labels(const void *a, const void *b)
{
    const struct dw_part *x = ((const struct row *)a)->part;
    const struct dw_part *y = ((const struct row *)b)->part;
    int order = strcmp(x->label ? x->label : "", y->label ? y->label : "");
    if (order == 0)
        order = (x->order > y->order) - (x->order < y->order);
    return order ? order : (x > y) - (x < y);
}

/* Rows of one label may be written apart; that they differ in length is rarely meant. */
static void check_labels(struct dw_check *check)
{
    size_t n = check->job->n_parts;
    struct row *rows = calloc(n + 1, sizeof *rows);
    if (!rows) {
        check->err = DW_ERR_NOMEM;
        return;
    }
    for (size_t i = 0; i < n; i++)
        rows[i].part = &check->job->parts[i];
    qsort(rows, n, sizeof *rows, compare_labels);
    for (size_t i = 1; i < n; i++) {
        const struct dw_part *a = rows[i - 1].part, *b = rows[i].part;
        if (a->label && b->label && strcmp(a->label, b->label) == 0 && a->order == b->order &&
            (a->min != b->min || a->max != b->max))
            dw_check__say(check, DW_DOUBT, &b->at, "%s stands for two lengths: %s and %s", b->label,
                          dw_check__length(check, a->min).text,
                          dw_check__length(check, b->min).text);
    }
    free(rows);
}

void dw_check__parts(struct dw_check *check)
{
    const struct dw_job *job = check->job;
    size_t *seen = calloc(job->n_materials + 1, sizeof *seen);
    if (!seen) {
        check->err = DW_ERR_NOMEM;
        return;
    }
    for (size_t i = 0; i < job->n_parts; i++) {
        const struct dw_part *part = &job->parts[i];
        if (!part->label || !*part->label) {
            dw_check__say(check, DW_WRONG, &part->at, "a %s has no label; name it", kind_of(part));
            continue;
        }
        check_length(check, part);
        check_demand(check, part);
        check_materials(check, i, seen);
        check_hold(check, part);
    }
    free(seen);
    check_labels(check);
}

/* --- parts that no supply can give ---------------------------------------------------------- */

/* A piece of `material` that lies between `bend` and `reach` can come first on a bar, or behind
 * the bend end of an end-bent one (bend = 0 then, as for straight bars). */
struct reach {
    size_t material;
    dw_length bend;
    dw_length reach;
};

struct reaches {
    struct reach *rows; /* sorted by material, bend; reach = the longest up to the row */
    size_t n;
};

static int compare_reach(const void *a, const void *b)
{
    const struct reach *x = a, *y = b;
    if (x->material != y->material)
        return x->material < y->material ? -1 : 1;
    return (x->bend > y->bend) - (x->bend < y->bend);
}

static void add_reach(struct reaches *all, size_t material, dw_length bend, dw_length reach)
{
    if (reach > 0 && reach >= bend)
        all->rows[all->n++] = (struct reach){material, bend, reach};
}

/* What the grip holds, and the cut before it, is no piece. */
static dw_length longest_first(const struct dw_job *job, const struct dw_supply *s)
{
    dw_length tail = dw_supply_tail(&job->saw, s);
    return dw_supply_usable(s) - (tail > 0 ? job->saw.kerf + tail : 0);
}

static void list_reaches(const struct dw_job *job, struct reaches *all)
{
    for (size_t i = 0; i < job->n_supplies; i++) {
        const struct dw_supply *s = &job->supplies[i];
        dw_length first = longest_first(job, s);
        if (s->count >= 0 && s->count < s->pack)
            continue;
        add_reach(all, s->material, s->bend, first);
        if (s->bend > 0)
            add_reach(all, s->tail_material, 0, first - s->bend - job->saw.kerf);
    }
    if (all->n == 0)
        return;
    qsort(all->rows, all->n, sizeof *all->rows, compare_reach);
    for (size_t i = 1; i < all->n; i++)
        if (all->rows[i].material == all->rows[i - 1].material &&
            all->rows[i].reach < all->rows[i - 1].reach)
            all->rows[i].reach = all->rows[i - 1].reach;
}

/* Longest piece of the material on a bar whose bend is at most `bend`; 0 = none. O(log n) */
static dw_length find_reach(const struct reaches *all, size_t material, dw_length bend)
{
    size_t lo = 0, hi = all->n;
    while (lo < hi) {
        size_t mid = lo + (hi - lo) / 2;
        const struct reach *row = &all->rows[mid];
        bool before = row->material < material || (row->material == material && row->bend <= bend);
        lo = before ? mid + 1 : lo;
        hi = before ? hi : mid;
    }
    return lo > 0 && all->rows[lo - 1].material == material ? all->rows[lo - 1].reach : 0;
}

static void check_reach(struct dw_check *check, const struct reaches *all,
                        const struct dw_part *part)
{
    dw_length longest = 0, with_bend = 0;
    for (size_t j = 0; j < part->n_materials; j++) {
        dw_length reach = find_reach(all, part->materials[j], part->max);
        dw_length any = find_reach(all, part->materials[j], DW_LENGTH_MAX);
        longest = reach > longest ? reach : longest;
        with_bend = any > with_bend ? any : with_bend;
    }
    if (longest >= part->min)
        return;
    if (with_bend == 0)
        dw_check__say(check, DW_DOUBT, &part->at, "there is no bar that %s %s could come from",
                      kind_of(part), part->label);
    else if (with_bend > longest)
        dw_check__say(check, DW_DOUBT, &part->at,
                      "%s %s is %s long, shorter than the bend of each bar it could come from",
                      kind_of(part), part->label, dw_check__length(check, part->max).text);
    else
        dw_check__say(check, DW_DOUBT, &part->at,
                      "%s %s is %s long, but the longest piece that a bar gives is %s",
                      kind_of(part), part->label, dw_check__length(check, part->min).text,
                      dw_check__length(check, longest).text);
}

void dw_check__reach(struct dw_check *check)
{
    const struct dw_job *job = check->job;
    struct reaches all = {.rows = calloc(2 * job->n_supplies + 1, sizeof *all.rows)};
    if (!all.rows) {
        check->err = DW_ERR_NOMEM;
        return;
    }
    list_reaches(job, &all);
    for (size_t i = 0; i < job->n_parts; i++)
        check_reach(check, &all, &job->parts[i]);
    free(all.rows);
}
