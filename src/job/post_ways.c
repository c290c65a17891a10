/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Several posts from one offcut: every way to cut it, and the best way for all offcuts together. */
#include "job/post_ways.h"

#include "base/base.h"

#include <stdlib.h>
#include <string.h>

#define WAYS_MOST   20000             /* of one offcut */
#define STATES_MOST 200000            /* counts of posts made */
#define CELLS_MOST  ((size_t)1 << 24) /* offcuts times states */
#define WORK_MOST   200000000         /* ways times states */

/* --- one way ---------------------------------------------------------------------------------- */

bool dw_post_ways__accepts(const struct dw_part *wish, size_t material)
{
    for (size_t i = 0; i < wish->n_materials; i++)
        if (wish->materials[i] == material)
            return true;
    return false;
}

/* Length of all posts at their shortest and of the kerfs between them; of one post alone also the
 * most that it may be. What is listed never passes an offcut by more than one post: no overflow. */
static dw_length sum_of(const struct dw_post_ways *ways, const int64_t *counts, int64_t *n,
                        dw_length *alone)
{
    dw_length sum = 0;
    *n = 0;
    for (size_t j = 0; j < ways->n_wishes; j++) {
        const struct dw_part *wish = &ways->job->parts[ways->wishes[j]];
        sum += counts[j] * wish->min;
        *n += counts[j];
        *alone = counts[j] ? wish->max : *alone;
    }
    return sum + (*n > 0 ? *n - 1 : 0) * ways->job->saw.kerf;
}

bool dw_post_ways__lengths(const struct dw_post_ways *ways, const struct dw_post_source *source,
                           const int64_t *counts, dw_length *lengths, dw_length *rem)
{
    const struct dw_saw *saw = &ways->job->saw;
    int64_t n = 0;
    dw_length most = 0, least = sum_of(ways, counts, &n, &most);
    bool as_it_is = n == 1 && source->usable == source->length && source->usable <= most;
    dw_length room = source->usable - (saw->grip > 0 && !as_it_is ? saw->kerf + saw->grip : 0);
    if (least > room)
        return false;
    dw_length more = room - least; /* to be given to the posts */
    size_t at = 0;
    *rem = source->usable - least;
    for (size_t j = 0; j < ways->n_wishes; j++) {
        const struct dw_part *wish = &ways->job->parts[ways->wishes[j]];
        for (int64_t k = 0; k < counts[j]; k++) {
            dw_length extra = wish->max - wish->min < more ? wish->max - wish->min : more;
            lengths[at++] = wish->min + extra;
            more -= extra;
            *rem -= extra;
        }
    }
    return true;
}

dw_money dw_post_ways__gain(const struct dw_post_ways *ways, const struct dw_post_source *source,
                            const int64_t *counts, dw_length rem)
{
    const struct dw_job *job = ways->job;
    dw_money gain = -source->worth;
    int64_t n = 0;
    for (size_t j = 0; j < ways->n_wishes; j++) {
        gain += counts[j] * job->parts[ways->wishes[j]].worth;
        n += counts[j];
    }
    int64_t cuts = n - 1 + (rem > 0) + (source->length > source->usable);
    dw_length leftover = rem > job->saw.kerf ? rem - job->saw.kerf : 0;
    return gain + dw_job_worth(job, source->material, leftover) - cuts * job->saw.cut_cost -
           job->saw.offcut_cost;
}

/* --- all ways of one offcut ------------------------------------------------------------------- */

struct listing {
    const struct dw_post_ways *ways;
    const struct dw_post_source *source;
    const int64_t *caps; /* length n_wishes: most posts of each */
    int64_t *counts;     /* length n_wishes: of the way under the hand */
    dw_length *lengths;  /* scratch, room for all caps together */
    struct dw_post_way *rows;
    size_t n, capacity;
    bool too_many;
};

static bool keep_way(struct listing *list, dw_money gain)
{
    if (list->n == WAYS_MOST) {
        list->too_many = true;
        return true;
    }
    if (!dw_array__grow(&list->rows, &list->capacity, list->n + 1, sizeof *list->rows))
        return false;
    size_t n = list->ways->n_wishes;
    int64_t *counts = dw_arena__alloc(list->ways->arena, n, sizeof *counts);
    if (!counts)
        return false;
    memcpy(counts, list->counts, n * sizeof *counts);
    list->rows[list->n++] = (struct dw_post_way){counts, gain};
    return true;
}

/* Counts of the wishes from j on, `n` posts chosen before. false: no memory. */
static bool list_from(struct listing *list, size_t j, int64_t n)
{
    dw_length rem = 0;
    if (list->too_many)
        return true;
    if (j == list->ways->n_wishes) {
        if (n == 0 ||
            !dw_post_ways__lengths(list->ways, list->source, list->counts, list->lengths, &rem))
            return true;
        dw_money gain = dw_post_ways__gain(list->ways, list->source, list->counts, rem);
        return gain <= 0 || keep_way(list, gain);
    }
    const struct dw_part *wish = &list->ways->job->parts[list->ways->wishes[j]];
    int64_t most = dw_post_ways__accepts(wish, list->source->material) ? list->caps[j] : 0;
    bool good = true;
    for (int64_t k = 0; good && k <= most; k++) {
        int64_t all = 0;
        dw_length alone = 0;
        list->counts[j] = k;
        if (k > 0 && sum_of(list->ways, list->counts, &all, &alone) > list->source->usable)
            break;
        good = list_from(list, j + 1, n + k);
    }
    list->counts[j] = 0;
    return good;
}

/* --- the best for all ------------------------------------------------------------------------- */

/* A state is how many of each wish are made: sum of counts[j] * step[j]. */
struct choice {
    int64_t *caps; /* length n_wishes: count of the wish, or what all offcuts can give of it */
    int64_t *step; /* length n_wishes */
    int64_t states;
    dw_money *best;            /* length states: over the sources so far; -1 = can't be */
    dw_money *next;            /* length states */
    uint16_t *way;             /* n_sources * states: 1 + way taken, 0 = it stays */
    struct dw_post_way **rows; /* length n_sources */
    size_t *n_rows;
};

/* All offcuts together give so many posts of a wish at most; no more than `count` is of interest.
 */
static int64_t cap_of(const struct dw_post_ways *ways, const struct dw_part *wish)
{
    int64_t kerf = ways->job->saw.kerf, cap = 0;
    for (size_t i = 0; i < ways->n_sources && cap < wish->count; i++)
        if (dw_post_ways__accepts(wish, ways->sources[i].material))
            cap += (ways->sources[i].usable + kerf) / (wish->min + kerf);
    return cap < wish->count ? cap : wish->count;
}

static bool count_states(const struct dw_post_ways *ways, struct choice *choice)
{
    choice->states = 1;
    for (size_t j = 0; j < ways->n_wishes; j++) {
        choice->step[j] = choice->states;
        choice->caps[j] = cap_of(ways, &ways->job->parts[ways->wishes[j]]);
        if (!dw_mul__i64(choice->states, choice->caps[j] + 1, &choice->states) ||
            choice->states > STATES_MOST)
            return false;
    }
    return ways->n_sources == 0 || (size_t)choice->states <= CELLS_MOST / ways->n_sources;
}

/* Whether the counts of a way can be added to those of a state; *to is then the state after it. */
static bool add_way(const struct dw_post_ways *ways, const struct choice *choice,
                    const struct dw_post_way *way, int64_t state, int64_t *to)
{
    *to = state;
    for (size_t j = 0; j < ways->n_wishes; j++) {
        int64_t made = state / choice->step[j] % (choice->caps[j] + 1);
        if (made + way->counts[j] > choice->caps[j])
            return false;
        *to += way->counts[j] * choice->step[j];
    }
    return true;
}

static void weigh_source(const struct dw_post_ways *ways, struct choice *choice, size_t i)
{
    uint16_t *taken = choice->way + i * (size_t)choice->states;
    memcpy(choice->next, choice->best, (size_t)choice->states * sizeof *choice->next);
    for (int64_t s = 0; s < choice->states; s++) {
        for (size_t w = 0; choice->best[s] >= 0 && w < choice->n_rows[i]; w++) {
            int64_t to = 0;
            if (!add_way(ways, choice, &choice->rows[i][w], s, &to))
                continue;
            dw_money gain = choice->best[s] + choice->rows[i][w].gain;
            if (gain > choice->next[to]) {
                choice->next[to] = gain;
                taken[to] = (uint16_t)(w + 1);
            }
        }
    }
    dw_money *swap = choice->best;
    choice->best = choice->next;
    choice->next = swap;
}

static void read_off(const struct dw_post_ways *ways, const struct choice *choice,
                     const struct dw_post_way **chosen)
{
    int64_t state = 0;
    for (int64_t s = 1; s < choice->states; s++)
        if (choice->best[s] > choice->best[state])
            state = s;
    for (size_t i = ways->n_sources; i > 0; i--) {
        uint16_t taken = choice->way[(i - 1) * (size_t)choice->states + (size_t)state];
        if (!taken)
            continue;
        chosen[i - 1] = &choice->rows[i - 1][taken - 1];
        for (size_t j = 0; j < ways->n_wishes; j++)
            state -= chosen[i - 1]->counts[j] * choice->step[j];
    }
}

/* Lists the ways of all offcuts in the arena. *fits false: too many. */
static dw_err list_all(const struct dw_post_ways *ways, struct choice *choice, bool *fits,
                       struct dw_error *error)
{
    int64_t work = 0;
    size_t most = 0; /* below the product that count_states has limited */
    struct listing list = {.ways = ways, .caps = choice->caps};
    for (size_t j = 0; j < ways->n_wishes; j++)
        most += (size_t)choice->caps[j];
    list.counts = dw_arena__alloc(ways->arena, ways->n_wishes + 1, sizeof *list.counts);
    list.lengths = dw_arena__alloc(ways->arena, most + 1, sizeof *list.lengths);
    bool good = list.counts && list.lengths;
    for (size_t i = 0; good && *fits && i < ways->n_sources; i++) {
        list.source = &ways->sources[i];
        list.n = 0;
        good = list_from(&list, 0, 0);
        choice->rows[i] = good ? dw_arena__alloc(ways->arena, list.n + 1, sizeof *list.rows) : NULL;
        good = choice->rows[i] != NULL;
        if (good && list.n)
            memcpy(choice->rows[i], list.rows, list.n * sizeof *list.rows);
        choice->n_rows[i] = list.n;
        work += (int64_t)list.n * choice->states;
        *fits = !list.too_many && work <= WORK_MOST;
    }
    free(list.rows);
    return good ? DW_OK : dw_error__nomem(error);
}

dw_err dw_post_ways__choose(const struct dw_post_ways *ways, const struct dw_post_way **chosen,
                            bool *fits, struct dw_error *error)
{
    struct choice choice = {0};
    size_t n = ways->n_sources;
    for (size_t i = 0; i < n; i++)
        chosen[i] = NULL;
    choice.caps = dw_arena__alloc(ways->arena, ways->n_wishes + 1, sizeof *choice.caps);
    choice.step = dw_arena__alloc(ways->arena, ways->n_wishes + 1, sizeof *choice.step);
    choice.rows = dw_arena__alloc(ways->arena, n + 1, sizeof(struct dw_post_way *));
    choice.n_rows = dw_arena__alloc(ways->arena, n + 1, sizeof *choice.n_rows);
    if (!choice.caps || !choice.step || !choice.rows || !choice.n_rows)
        return dw_error__nomem(error);
    *fits = count_states(ways, &choice);
    dw_err err = *fits ? list_all(ways, &choice, fits, error) : DW_OK;
    if (err || !*fits)
        return err;
    size_t states = (size_t)choice.states;
    choice.best = calloc(states, sizeof *choice.best);
    choice.next = calloc(states, sizeof *choice.next);
    choice.way = calloc(states * n + 1, sizeof *choice.way);
    if (!choice.best || !choice.next || !choice.way) {
        err = dw_error__nomem(error);
    } else {
        for (size_t s = 1; s < states; s++)
            choice.best[s] = -1;
        for (size_t i = 0; i < n; i++)
            weigh_source(ways, &choice, i);
        read_off(ways, &choice, chosen);
    }
    free(choice.best);
    free(choice.next);
    free(choice.way);
    return err;
}
