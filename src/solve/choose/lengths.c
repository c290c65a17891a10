/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which stock lengths to carry: best-first search over sets of lengths. */
#include "solve/choose/lengths.h"

#include <stdlib.h>
#include <string.h>

#define MOST_SETS 20000
#define CHUNK     32 /* jobs solved before the sets are looked at again */

/* One set: jobs before `done` are solved, for the others the bound stands in. */
struct set {
    uint32_t lengths; /* bit k: length k */
    size_t done;
    dw_money bound; /* sum over all jobs, DW_LENGTHS_NEVER when one can't be cut */
    dw_money value; /* sum over the jobs that are done */
    struct {
        int64_t bars;
        int64_t n_jobs;
    } use[DW_LENGTHS_MOST]; /* of each length, over the jobs that are done */
};

struct work {
    struct dw_lengths__case c;
    size_t most;
    const struct dw_settings *settings;
    const struct dw_hooks *hooks;
    struct set *sets;
    size_t n_sets;
    size_t best; /* the cheapest complete set, DW_NONE = none */
    int64_t n_solved;
    int64_t deadline_ms; /* 0 = none */
    int64_t longest_ms;  /* that solving some jobs took */
    bool stopped;
    struct dw_error *error;
};

/* --- the case: catalogue and past jobs
 * ---------------------------------------------------------------- */

static dw_money lowest_price(const struct dw_supply *supply)
{
    dw_money price = supply->price;
    for (size_t i = 0; i < supply->n_breaks; i++) {
        if (supply->breaks[i].price < price)
            price = supply->breaks[i].price;
    }
    return price;
}

static dw_err find_catalogue(struct work *w)
{
    const struct dw_job *job = w->c.job;
    for (size_t i = 0; i < job->n_supplies; i++) {
        const struct dw_supply *supply = &job->supplies[i];
        if (supply->material != w->c.material || supply->source != DW_SOURCE_NEW || supply->bend)
            continue;
        if (w->c.n == DW_LENGTHS_MOST)
            return dw_error__set(w->error, DW_ERR_LIMIT,
                                 "%s: a catalogue has at most %d lengths of a material",
                                 job->materials[w->c.material].id, DW_LENGTHS_MOST);
        w->c.supplies[w->c.n] = i;
        w->c.price[w->c.n++] = lowest_price(supply) +
                               dw_supply_squarings(supply) * job->saw.cut_cost +
                               dw_supply_handling(&job->saw, supply);
    }
    if (w->c.n == 0)
        return dw_error__set(w->error, DW_ERR_INPUT, "%s: there is no bar to choose",
                             job->materials[w->c.material].id);
    return DW_OK;
}

static bool is_wanted(const struct work *w, const struct dw_part *part)
{
    return !part->post && part->n_materials > 0 && part->materials[0] == w->c.material;
}

static int by_length(const void *a, const void *b)
{
    const struct dw_lengths__past *x = a;
    const struct dw_lengths__past *y = b;
    if (x->needed != y->needed)
        return x->needed > y->needed ? -1 : 1;
    return x->parts < y->parts ? -1 : x->parts > y->parts;
}

/* Parts sorted by job, in one array. */
static dw_err find_past(struct work *w)
{
    const struct dw_job *job = w->c.job;
    size_t *n_parts = dw_arena__alloc(w->c.arena, job->n_orders + 1, sizeof *n_parts);
    const struct dw_part **parts =
        dw_arena__alloc(w->c.arena, job->n_parts, sizeof(const struct dw_part *));
    w->c.past = dw_arena__alloc(w->c.arena, job->n_orders, sizeof *w->c.past);
    if (!n_parts || !parts || !w->c.past)
        return dw_error__nomem(w->error);
    for (size_t i = 0; i < job->n_parts; i++)
        n_parts[job->parts[i].order] += is_wanted(w, &job->parts[i]);
    size_t *slot = dw_arena__alloc(w->c.arena, job->n_orders, sizeof *slot);
    if (!slot)
        return dw_error__nomem(w->error);
    for (size_t o = 0; o < job->n_orders; o++) {
        slot[o] = w->c.n_past;
        if (n_parts[o] == 0)
            continue;
        w->c.past[w->c.n_past++].parts = parts;
        parts += n_parts[o];
    }
    bool fits = true;
    for (size_t i = 0; i < job->n_parts; i++) {
        const struct dw_part *part = &job->parts[i];
        if (!is_wanted(w, part))
            continue;
        struct dw_lengths__past *past = &w->c.past[slot[part->order]];
        dw_length all = 0;
        past->parts[past->n_parts++] = part;
        past->n_pieces += part->count;
        past->longest = part->min > past->longest ? part->min : past->longest;
        fits &= dw_mul__i64(part->min, part->count, &all) &&
                dw_add__i64(past->needed, all, &past->needed);
    }
    if (!fits)
        return dw_error__set(w->error, DW_ERR_RANGE, "more tube than can be counted");
    if (w->c.n_past == 0)
        return dw_error__set(w->error, DW_ERR_INPUT, "%s: no part is cut from it",
                             job->materials[w->c.material].id);
    return DW_OK;
}

/* --- the sets
 * -------------------------------------------------------------------------------------------- */

static int bits(uint32_t set)
{
    int n = 0;
    for (; set; set &= set - 1)
        n++;
    return n;
}

static dw_money add_money(dw_money a, dw_money b)
{
    int64_t sum = 0;
    if (a == DW_LENGTHS_NEVER || b == DW_LENGTHS_NEVER || !dw_add__i64(a, b, &sum))
        return DW_LENGTHS_NEVER;
    return sum;
}

/* Sets of exactly min(K, n) lengths: one more length never makes a job dearer. */
static dw_err list_sets(struct work *w)
{
    size_t size = w->most < w->c.n ? w->most : w->c.n;
    size_t capacity = 0;
    for (uint32_t set = 1; set >> w->c.n == 0; set++) {
        if (bits(set) != (int)size)
            continue;
        if (w->n_sets == MOST_SETS)
            return dw_error__set(w->error, DW_ERR_LIMIT,
                                 "more than %d sets of lengths; ask for fewer", MOST_SETS);
        if (!dw_array__grow(&w->sets, &capacity, w->n_sets + 1, sizeof *w->sets))
            return dw_error__nomem(w->error);
        struct set *one = &w->sets[w->n_sets++];
        *one = (struct set){.lengths = set};
        for (size_t j = 0; j < w->c.n_past && one->bound != DW_LENGTHS_NEVER; j++)
            one->bound = add_money(one->bound, dw_lengths__bound(&w->c, &w->c.past[j], set, 1));
    }
    return DW_OK;
}

static size_t cheapest_bound(const struct work *w)
{
    size_t best = 0;
    for (size_t i = 1; i < w->n_sets; i++) {
        if (w->sets[i].bound < w->sets[best].bound)
            best = i;
    }
    return best;
}

/* --- the search
 * ------------------------------------------------------------------------------------------- */

static int64_t now_ms(const struct work *w)
{
    return w->hooks && w->hooks->now_ms ? w->hooks->now_ms(w->hooks->user) : 0;
}

/* Whether a stop was asked for, or solving some more would pass the deadline. */
static bool is_over(const struct work *w)
{
    if (w->hooks && w->hooks->stop && w->hooks->stop(w->hooks->user))
        return true;
    return w->deadline_ms && now_ms(w) + w->longest_ms >= w->deadline_ms;
}

/* The job's new views raise the bounds of the sets on which it is not solved yet. */
static void raise_bounds(struct work *w, size_t j, size_t n_views)
{
    const struct dw_lengths__past *past = &w->c.past[j];
    for (size_t i = 0; i < w->n_sets && past->n_views > n_views; i++) {
        struct set *set = &w->sets[i];
        if (set->done > j || set->bound == DW_LENGTHS_NEVER)
            continue;
        set->bound += dw_lengths__bound(&w->c, past, set->lengths, past->n_views) -
                      dw_lengths__bound(&w->c, past, set->lengths, n_views);
    }
}

/* The job's part of the bound of the set is now what is proven of it. */
static void settle(struct work *w, struct set *set, size_t j,
                   const struct dw_lengths__answer *answer)
{
    const struct dw_lengths__past *past = &w->c.past[j];
    dw_money before = dw_lengths__bound(&w->c, past, set->lengths, past->n_views);
    set->value = add_money(set->value, answer->value);
    if (answer->bound == DW_LENGTHS_NEVER)
        set->bound = DW_LENGTHS_NEVER;
    else if (answer->bound > before && set->bound != DW_LENGTHS_NEVER)
        set->bound += answer->bound - before;
    for (size_t k = 0; k < w->c.n; k++) {
        set->use[k].bars += answer->bars[k];
        set->use[k].n_jobs += answer->bars[k] > 0;
    }
}

/* Answers to jobs from..to on a set: those that a cover settles, and the others solved. */
static dw_err answer(struct work *w, const struct set *set, size_t from, size_t to,
                     struct dw_lengths__answer *answers)
{
    struct dw_lengths__answer solved[CHUNK];
    size_t which[CHUNK];
    size_t n = 0;
    for (size_t j = from; j < to; j++) {
        if (!dw_lengths__try(&w->c, &w->c.past[j], set->lengths, &answers[j - from]))
            which[n++] = j;
    }
    w->n_solved += (int64_t)n;
    if (n == 0)
        return DW_OK;
    dw_err err =
        dw_lengths__solve(&w->c, set->lengths, n, which, w->settings, w->hooks, solved, w->error);
    for (size_t i = 0; i < n && !err; i++)
        answers[which[i] - from] = solved[i];
    return err;
}

/* Settles the next jobs of a set. */
static dw_err solve_some(struct work *w, struct set *set)
{
    struct dw_lengths__answer answers[CHUNK];
    size_t n_views[CHUNK];
    int64_t start_ms = now_ms(w);
    size_t from = set->done;
    size_t to = from + CHUNK < w->c.n_past ? from + CHUNK : w->c.n_past;
    for (size_t j = from; j < to; j++)
        n_views[j - from] = w->c.past[j].n_views;
    dw_err err = answer(w, set, from, to, answers);
    for (size_t j = from; j < to && !err; j++) {
        raise_bounds(w, j, n_views[j - from]);
        settle(w, set, j, &answers[j - from]);
    }
    set->done = to;
    if (now_ms(w) - start_ms > w->longest_ms)
        w->longest_ms = now_ms(w) - start_ms;
    return err;
}

static void keep_best(struct work *w, size_t i)
{
    const struct set *set = &w->sets[i];
    if (set->done < w->c.n_past || set->value == DW_LENGTHS_NEVER)
        return;
    if (w->best == DW_NONE || set->value < w->sets[w->best].value)
        w->best = i;
}

/* Tells the best set so far and what no set can be below. */
static void tell(const struct work *w)
{
    if (w->best == DW_NONE || !w->hooks || !w->hooks->progress)
        return;
    dw_money value = w->sets[w->best].value;
    dw_money least = w->sets[cheapest_bound(w)].bound;
    struct dw_progress progress = {
        .n_groups = 1, .value = value, .bound = least < value ? least : value};
    w->hooks->progress(w->hooks->user, &progress);
}

/* The set with the least bound is solved on; when that set is complete, none is cheaper than its
 * bound. The first set is completed in any case, so that there is an answer. */
static dw_err search(struct work *w)
{
    dw_err err = DW_OK;
    size_t at = cheapest_bound(w);
    while (!err && w->sets[at].bound != DW_LENGTHS_NEVER && w->sets[at].done < w->c.n_past) {
        if (w->best != DW_NONE && is_over(w)) {
            w->stopped = true;
            break;
        }
        err = solve_some(w, &w->sets[at]);
        keep_best(w, at);
        tell(w);
        if (w->best != DW_NONE || w->sets[at].bound == DW_LENGTHS_NEVER)
            at = cheapest_bound(w);
    }
    return err;
}

/* --- the answer
 * --------------------------------------------------------------------------------------------- */

static void give_uses(const struct work *w, struct dw_lengths *out)
{
    const struct set *set = &w->sets[w->best];
    for (size_t k = 0; k < w->c.n; k++) {
        if (set->use[k].bars == 0)
            continue;
        const struct dw_supply *supply = &w->c.job->supplies[w->c.supplies[k]];
        dw_length length = supply->measured ? supply->measured : supply->length;
        out->bought += set->use[k].bars * length;
        out->uses[out->n_uses++] =
            (struct dw_lengths_use){.supply = w->c.supplies[k],
                                    .bars = set->use[k].bars,
                                    .money = set->use[k].bars * w->c.price[k],
                                    .n_jobs = set->use[k].n_jobs};
    }
}

static dw_err give(struct work *w, struct dw_lengths *out)
{
    const struct set *least = &w->sets[cheapest_bound(w)];
    out->n_jobs = w->c.n_past;
    out->n_catalogue = (int64_t)w->c.n;
    out->n_sets = (int64_t)w->n_sets;
    for (size_t j = 0; j < w->c.n_past; j++)
        out->needed += w->c.past[j].needed;
    out->n_solved = w->n_solved;
    out->status = DW_STATUS_INFEASIBLE;
    if (w->best == DW_NONE)
        return DW_OK;
    out->value = w->sets[w->best].value;
    out->bound = least->bound < out->value ? least->bound : out->value;
    out->status = out->bound == out->value ? DW_STATUS_OPTIMAL
                  : w->stopped             ? DW_STATUS_STOPPED
                                           : DW_STATUS_WITHIN;
    out->uses = dw_arena__alloc(w->c.arena, w->c.n, sizeof *out->uses);
    if (!out->uses)
        return dw_error__nomem(w->error);
    give_uses(w, out);
    return DW_OK;
}

static dw_err choose(struct work *w, struct dw_lengths *out)
{
    dw_err err = find_catalogue(w);
    if (!err)
        err = find_past(w);
    if (!err)
        err = dw_lengths__fill(&w->c, w->error);
    if (err)
        return err;
    qsort(w->c.past, w->c.n_past, sizeof *w->c.past, by_length);
    err = list_sets(w);
    if (!err)
        err = search(w);
    return err ? err : give(w, out);
}

dw_err dw_lengths_choose(const struct dw_job *job, size_t material, size_t most,
                         const struct dw_settings *settings, const struct dw_hooks *hooks,
                         struct dw_lengths **out, struct dw_error *error)
{
    *out = NULL;
    if (material >= job->n_materials || most < 1)
        return dw_error__set(error, DW_ERR_INPUT, "at least one length of a material is chosen");
    struct dw_arena *arena = dw_arena__new();
    struct dw_lengths *lengths = arena ? dw_arena__alloc(arena, 1, sizeof *lengths) : NULL;
    if (!lengths) {
        dw_arena__free(arena);
        return dw_error__nomem(error);
    }
    lengths->arena = arena;
    struct work w = {.c = {.job = job, .material = material, .arena = arena},
                     .most = most,
                     .settings = settings,
                     .hooks = hooks,
                     .best = DW_NONE,
                     .error = error};
    if (settings->time_ms && hooks && hooks->now_ms)
        w.deadline_ms = hooks->now_ms(hooks->user) + settings->time_ms;
    dw_err err = choose(&w, lengths);
    free(w.sets);
    if (err)
        dw_arena__free(arena);
    else
        *out = lengths;
    return err;
}

void dw_lengths_free(struct dw_lengths *lengths)
{
    if (lengths)
        dw_arena__free(lengths->arena);
}
