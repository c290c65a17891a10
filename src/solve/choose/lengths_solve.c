/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Past jobs solved on a set of lengths: one dw_job in which every past job has a material, and so a
 * group, of its own. */
#include "solve/choose/lengths.h"

#include <stdio.h>
#include <stdlib.h>

/* Work on one job on one set, some seconds; then its bound stands as it is. */
#define WORK_EACH INT64_C(4000000)

struct work {
    struct dw_lengths__case *c;
    uint32_t set;
    const size_t *which; /* length n */
    size_t n;
    struct dw_job *job;
    size_t length_of[DW_LENGTHS_MOST]; /* of the i-th bar of a job */
    size_t n_lengths;
};

static bool make_room(struct work *w)
{
    struct dw_job *job = w->job;
    size_t n_parts = 0;
    for (size_t j = 0; j < w->n; j++)
        n_parts += w->c->past[w->which[j]].n_parts;
    job->n_materials = w->n;
    job->n_supplies = w->n * w->n_lengths;
    job->n_parts = n_parts;
    job->n_orders = 1;
    job->materials = dw_job_alloc(job, job->n_materials, sizeof *job->materials);
    job->supplies = dw_job_alloc(job, job->n_supplies, sizeof *job->supplies);
    job->parts = dw_job_alloc(job, job->n_parts, sizeof *job->parts);
    job->orders = dw_job_alloc(job, 1, sizeof *job->orders);
    return job->materials && job->supplies && job->parts && job->orders;
}

static const char *make_id(struct dw_job *job, const char *what, size_t i)
{
    char text[32];
    snprintf(text, sizeof text, "%s%zu", what, i);
    return dw_job_text(job, text);
}

static bool add_material(struct work *w, size_t j)
{
    struct dw_material *material = &w->job->materials[j];
    material->id = make_id(w->job, "j", j);
    material->worth.kind = DW_WORTH_NONE;
    material->worth.keep = DW_LENGTH_MAX; /* nothing is kept: what is left is waste */
    return material->id != NULL;
}

static bool add_bars(struct work *w, size_t j)
{
    for (size_t i = 0; i < w->n_lengths; i++) {
        size_t k = w->length_of[i];
        const struct dw_supply *from = &w->c->job->supplies[w->c->supplies[k]];
        struct dw_supply *to = &w->job->supplies[j * w->n_lengths + i];
        *to = (struct dw_supply){.material = j,
                                 .source = DW_SOURCE_NEW,
                                 .length = from->length,
                                 .measured = from->measured,
                                 .price = w->c->price[k],
                                 .count = DW_UNLIMITED,
                                 .pack = 1,
                                 .ends = {from->ends[0], from->ends[1]},
                                 .trim = from->trim,
                                 .tail_material = DW_NONE};
        to->id = make_id(w->job, "b", j * w->n_lengths + i);
        if (!to->id)
            return false;
    }
    return true;
}

static bool add_parts(struct work *w, size_t j, size_t *next)
{
    const struct dw_lengths__past *past = &w->c->past[w->which[j]];
    size_t *material = dw_job_alloc(w->job, 1, sizeof *material);
    if (!material)
        return false;
    *material = j;
    for (size_t i = 0; i < past->n_parts; i++) {
        const struct dw_part *from = past->parts[i];
        w->job->parts[(*next)++] = (struct dw_part){.label = from->label,
                                                    .min = from->min,
                                                    .max = from->max,
                                                    .count = from->count,
                                                    .n_materials = 1,
                                                    .materials = material};
    }
    return true;
}

static dw_err build(struct work *w, struct dw_error *error)
{
    dw_err err = dw_job_new(&w->job, error);
    if (err)
        return err;
    bool good = make_room(w);
    size_t next = 0;
    for (size_t j = 0; j < w->n && good; j++)
        good = add_material(w, j) && add_bars(w, j) && add_parts(w, j, &next);
    w->job->saw = w->c->job->saw;
    w->job->rules.most_pieces = w->c->job->rules.most_pieces;
    /* They are in the price of a bar, or the same on every set. */
    w->job->saw.cut_cost = w->job->saw.bar_cost = w->job->saw.offcut_cost = 0;
    return good ? DW_OK : dw_error__nomem(error);
}

/* A cut for each piece comes on top. */
static dw_money with_cuts(const struct work *w, size_t j, dw_money money)
{
    return money + w->c->past[w->which[j]].n_pieces * w->c->job->saw.cut_cost;
}

static void read_answers(const struct work *w, const struct dw_plan *plan,
                         struct dw_lengths__answer *answers)
{
    for (size_t g = 0; g < plan->n_groups; g++) {
        const struct dw_group *group = &plan->groups[g];
        struct dw_lengths__answer *answer = &answers[group->materials[0]];
        bool never = group->status == DW_STATUS_INFEASIBLE;
        *answer = (struct dw_lengths__answer){
            .value = never ? DW_LENGTHS_NEVER : with_cuts(w, group->materials[0], group->value),
            .bound = never ? DW_LENGTHS_NEVER : with_cuts(w, group->materials[0], group->bound),
        };
    }
    for (size_t i = 0; i < plan->n_takes; i++) {
        size_t supply = plan->takes[i].supply;
        size_t k = w->length_of[supply % w->n_lengths];
        answers[supply / w->n_lengths].bars[k] = plan->takes[i].used;
    }
}

/* A part that has no dual is worth nothing. */
static dw_err learn_group(const struct work *w, const struct dw_certificate *certificate,
                          size_t first, struct dw_lengths__past *past, struct dw_error *error)
{
    int64_t *weights = calloc(past->n_parts, sizeof *weights);
    if (!weights)
        return dw_error__nomem(error);
    for (size_t d = 0; d < certificate->n_duals; d++) {
        size_t i = certificate->parts[d] - first;
        if (i < past->n_parts)
            weights[i] = certificate->duals[d];
    }
    dw_lengths__learn(w->c, past, weights);
    free(weights);
    return DW_OK;
}

static dw_err learn(const struct work *w, const struct dw_plan *plan, struct dw_error *error)
{
    dw_err err = DW_OK;
    size_t first = 0; /* part of the job at hand */
    for (size_t j = 0; j < w->n && !err; j++) {
        struct dw_lengths__past *past = &w->c->past[w->which[j]];
        for (size_t g = 0; g < plan->n_groups && !err; g++) {
            if (plan->groups[g].materials[0] == j)
                err = learn_group(w, &plan->groups[g].certificate, first, past, error);
        }
        first += past->n_parts;
    }
    return err;
}

dw_err dw_lengths__solve(struct dw_lengths__case *c, uint32_t set, size_t n, const size_t *which,
                         const struct dw_settings *settings, const struct dw_hooks *hooks,
                         struct dw_lengths__answer *answers, struct dw_error *error)
{
    struct work w = {.c = c, .set = set, .which = which, .n = n};
    struct dw_hooks quiet = hooks ? *hooks : (struct dw_hooks){0};
    quiet.progress = NULL;
    for (size_t k = 0; k < c->n; k++) {
        if (set >> k & 1)
            w.length_of[w.n_lengths++] = k;
    }
    struct dw_settings each;
    dw_settings_default(&each);
    each.time_ms = 0;
    each.work = WORK_EACH;
    each.threads = settings->threads;
    struct dw_plan *plan = NULL;
    dw_err err = build(&w, error);
    if (!err)
        err = dw_solve(w.job, &each, &quiet, &plan, error);
    if (!err)
        read_answers(&w, plan, answers);
    if (!err)
        err = learn(&w, plan, error);
    dw_plan_free(plan);
    dw_job_free(w.job);
    return err;
}
