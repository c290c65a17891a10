/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a job asks for, in totals by group of linked materials. */
#include <dropwise/work.h>

#include "base/base.h"

#include <stdlib.h>

/* Root of a material in the forest of links, paths halved on the way (Tarjan and van Leeuwen
 * 1984). */
static size_t find_root(size_t *link, size_t i)
{
    while (link[i] != i) {
        link[i] = link[link[i]];
        i = link[i];
    }
    return i;
}

static void join(size_t *link, size_t a, size_t b)
{
    size_t i = find_root(link, a);
    size_t j = find_root(link, b);
    if (i < j)
        link[j] = i;
    else
        link[i] = j;
}

static void link_materials(const struct dw_job *job, size_t *link)
{
    for (size_t m = 0; m < job->n_materials; m++)
        link[m] = m;
    for (size_t i = 0; i < job->n_parts; i++)
        for (size_t k = 1; k < job->parts[i].n_materials; k++)
            join(link, job->parts[i].materials[0], job->parts[i].materials[k]);
    for (size_t k = 0; k < job->n_supplies; k++)
        if (job->supplies[k].bend > 0 && job->supplies[k].tail_material != DW_NONE)
            join(link, job->supplies[k].material, job->supplies[k].tail_material);
}

/* Numbers the roots from 0 and turns link into the group of each material. */
static size_t number_groups(const struct dw_job *job, size_t *link)
{
    for (size_t m = 0; m < job->n_materials; m++)
        link[m] = find_root(link, m);
    size_t n_groups = 0;
    for (size_t m = 0; m < job->n_materials; m++) {
        /* A root is the least index of its group, so that it has its number already. */
        size_t root = link[m];
        link[m] = root == m ? n_groups++ : link[root];
    }
    return n_groups;
}

static bool add_part(const struct dw_part *part, struct dw_job_group *group, dw_length *run,
                     dw_length kerf)
{
    if (part->post)
        return dw_add__i64(group->n_posts, part->count, &group->n_posts);
    dw_length net = 0;
    dw_length with_kerf = 0;
    return dw_mul__i64(part->min, part->count, &net) &&
           dw_mul__i64(part->min + kerf, part->count, &with_kerf) &&
           dw_add__i64(group->net, net, &group->net) && dw_add__i64(*run, with_kerf, run) &&
           dw_add__i64(group->n_parts, part->count, &group->n_parts);
}

/* Bars of a group: sum over its pieces of (l + w) <= bars (U + w), since a bar holds
 * sum l + w (n - 1) <= U. `run` is the left side. Nor gives a bar more pieces than it may. */
static int64_t least_bars(const struct dw_job *job, const struct dw_job_group *group, dw_length run)
{
    if (group->longest <= 0)
        return 0;
    int64_t bars = dw_ceil__div(run, group->longest + job->saw.kerf);
    int64_t most = job->rules.most_pieces;
    int64_t by_number = most == DW_UNLIMITED ? 0 : dw_ceil__div(group->n_parts, most);
    return by_number > bars ? by_number : bars;
}

static dw_err fill_groups(const struct dw_job *job, struct dw_job_outline *outline, dw_length *runs,
                          struct dw_error *error)
{
    for (size_t k = 0; k < job->n_supplies; k++) {
        struct dw_job_group *group = &outline->groups[outline->group_of[job->supplies[k].material]];
        dw_length usable = dw_supply_usable(&job->supplies[k]);
        if (usable > group->longest)
            group->longest = usable;
    }
    for (size_t i = 0; i < job->n_parts; i++) {
        size_t g = outline->group_of[job->parts[i].materials[0]];
        if (!add_part(&job->parts[i], &outline->groups[g], &runs[g], job->saw.kerf))
            return dw_error__set(error, DW_ERR_RANGE,
                                 "the parts add up to more than can be counted");
    }
    for (size_t g = 0; g < outline->n_groups; g++) {
        struct dw_job_group *group = &outline->groups[g];
        group->least_bars = least_bars(job, group, runs[g]);
        outline->n_parts += group->n_parts;
        outline->n_posts += group->n_posts;
        if (!dw_add__i64(outline->net, group->net, &outline->net))
            return dw_error__set(error, DW_ERR_RANGE,
                                 "the parts add up to more than can be counted");
    }
    return DW_OK;
}

dw_err dw_job_outline_make(const struct dw_job *job, struct dw_job_outline *outline,
                           struct dw_error *error)
{
    *outline = (struct dw_job_outline){0};
    size_t room = job->n_materials ? job->n_materials : 1;
    outline->group_of = calloc(room, sizeof *outline->group_of);
    outline->groups = calloc(room, sizeof *outline->groups);
    dw_length *runs = calloc(room, sizeof *runs);
    dw_err err = DW_OK;
    if (!outline->group_of || !outline->groups || !runs) {
        err = dw_error__nomem(error);
    } else {
        link_materials(job, outline->group_of);
        outline->n_groups = number_groups(job, outline->group_of);
        err = fill_groups(job, outline, runs, error);
    }
    free(runs);
    return err;
}

void dw_job_outline_free(struct dw_job_outline *outline)
{
    free(outline->groups);
    free(outline->group_of);
    *outline = (struct dw_job_outline){0};
}
