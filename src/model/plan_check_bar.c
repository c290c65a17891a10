/* SPDX-License-Identifier: GPL-3.0-or-later */
/* dw_plan_check: the best layout of one bar at given piece values, exactly, in integers.
 *
 * Bounded knapsack by lists of states (Nemhauser and Ullmann 1969), pieces in order of value a
 * length, with the fractional bound (Dantzig 1957) against the best layout so far. Kerf is folded
 * in: a piece takes min + w of U + w. A state knows three figures:
 *   used   sum of min + w          reach  sum of max + w, at most U + w: pieces can be stretched
 *   value  of its pieces, the cut behind each of them paid
 * and ends, with rem = U + w - used and r = max(0, rem - w), as the best of
 *   cut off      value + scale phi(r)    unless r is middling
 *   stretched    value                   if r is middling and reach >= U - scrap_max
 *   used up      value + exact           if reach >= U + w; not with a grip
 * The first leaves r to the shelf or the scrap; the last saves one cut.
 * Where the number of pieces on a bar is limited, a state knows that number as a fourth figure. */
#include "model/plan_check_search.h"

#include <stdlib.h>

void dw_bar__free(struct dw_bar_room *room)
{
    free(room->from);
    free(room->to);
    *room = (struct dw_bar_room){0};
}

/* --- how a bar ends --------------------------------------------------------------------------- */

static void end_bar(struct dw_bar_search *search, const struct dw_bar_state *state)
{
    const struct dw_bar *bar = search->bar;
    dw_length rem = search->room - state->used;
    dw_length r = rem > bar->kerf ? rem - bar->kerf : 0;
    int64_t value = INT64_MIN;
    if (!dw_audit__middling(search->audit, bar->leftover_material, r))
        value = state->value + bar->scale * dw_audit__phi(search->audit, bar->leftover_material, r);
    else if (state->reach >= bar->usable - search->audit->job->rules.scrap_max &&
             bar->grip <= search->audit->job->rules.scrap_max)
        value = state->value;
    if (bar->grip == 0 && state->reach >= search->room && state->value + search->exact > value)
        value = state->value + search->exact;
    if (value > search->best)
        search->best = value;
}

/* --- upper bound --------------------------------------------------------------------------------
 */

/* Where the fractional bound breaks off, for states in order of `used`: only moves down. */
struct breaks {
    size_t stage;
    size_t worth; /* at most n_worth */
    size_t steep; /* at most n_steep */
};

static size_t move_break(const struct dw_bar_search *search, size_t stage, size_t at, dw_wide room)
{
    while (at > stage && search->sum_used[at] - search->sum_used[stage] > room)
        at--;
    return at;
}

/* Chunks from stage on in order, the one at which room ends taken in part; `slope` for the room
 * behind the last of n chunks. Slopes are rounded up and values are integers, so that the floor is
 * a bound. */
static dw_wide fraction(const struct dw_bar_search *search, size_t stage, size_t at, size_t n,
                        dw_length room, uint64_t slope)
{
    if (stage >= n)
        return (dw_wide)slope * room >> search->shift;
    dw_wide rest = room - (search->sum_used[at] - search->sum_used[stage]);
    if (at < n)
        slope = search->chunks[at].slope;
    return search->sum_value[at] - search->sum_value[stage] + (slope * rest >> search->shift);
}

/* The most that the pieces which may still come can be worth, by their number alone. */
static dw_wide by_number(const struct dw_bar_search *search, const struct dw_bar_state *state,
                         size_t stage)
{
    return (dw_wide)(search->most - state->pieces) * search->dearest[stage];
}

static dw_wide smaller(dw_wide a, dw_wide b)
{
    return a < b ? a : b;
}

/* The most that a state can still come to: with a leftover of worth, or without. */
static bool hopeless(const struct dw_bar_search *search, const struct dw_bar_state *state,
                     struct breaks *breaks)
{
    dw_length room = search->capacity - state->used;
    size_t n = search->n_worth;
    if (breaks->worth > breaks->stage)
        breaks->worth = move_break(search, breaks->stage, breaks->worth, room);
    dw_wide number = search->most == DW_BAR_NO_LIMIT ? 0 : by_number(search, state, breaks->stage);
    dw_wide most = fraction(search, breaks->stage, breaks->worth, n, room, 0);
    if (search->most != DW_BAR_NO_LIMIT)
        most = smaller(most, number);
    if (state->value + most + search->exact > search->best)
        return false;
    room = search->bar->usable - state->used;
    if (search->rho == 0 || room <= 0)
        return true;
    n = search->n_steep;
    if (breaks->steep > breaks->stage)
        breaks->steep = move_break(search, breaks->stage, breaks->steep, room);
    most = fraction(search, breaks->stage, breaks->steep, n, room, search->rho);
    if (search->most != DW_BAR_NO_LIMIT)
        most = smaller(most, number + ((dw_wide)search->rho * room >> search->shift) + 1);
    return state->value + most <= search->best;
}

/* --- lists --------------------------------------------------------------------------------------
 */

/* A list of states in order of used, then falling value, being made for the chunks from
 * breaks.stage on. */
struct list {
    struct dw_bar_state *states;
    size_t n;
    size_t capacity;
    int64_t top; /* greatest value so far */
    struct breaks breaks;
};

/* Of two neighbours the better in each figure: no layout of either is lost. */
static void join_neighbours(struct dw_bar_search *search, struct list *list)
{
    for (size_t i = 0; i + 1 < list->n; i += 2) {
        struct dw_bar_state a = list->states[i], b = list->states[i + 1];
        a.reach = a.reach > b.reach ? a.reach : b.reach;
        a.value = a.value > b.value ? a.value : b.value;
        a.pieces = a.pieces < b.pieces ? a.pieces : b.pieces;
        end_bar(search, &a);
        list->states[i / 2] = a;
    }
    if (list->n % 2 == 1)
        list->states[list->n / 2] = list->states[list->n - 1];
    list->n = (list->n + 1) / 2;
}

/* A state that uses no less than another ends no better if its value is less by what using the bar
 * up exactly can save; or if it uses the same and neither value nor reach is greater. Where pieces
 * are counted, the other has no more of them. */
static bool dominated(const struct dw_bar_search *search, const struct list *list,
                      const struct dw_bar_state *state)
{
    if (list->n == 0)
        return false;
    const struct dw_bar_state *last = &list->states[list->n - 1];
    if (last->used == state->used && last->value >= state->value && last->reach >= state->reach &&
        (search->most == DW_BAR_NO_LIMIT || last->pieces <= state->pieces))
        return true;
    int64_t top = search->most == DW_BAR_NO_LIMIT ? list->top : search->tops[state->pieces];
    return !search->no_middling && state->value <= top - search->exact;
}

/* The state is the last of the list now. */
static void raise_tops(const struct dw_bar_search *search, struct list *list,
                       const struct dw_bar_state *state)
{
    if (list->n == 1 || state->value > list->top)
        list->top = state->value;
    if (search->most == DW_BAR_NO_LIMIT)
        return;
    for (int64_t n = state->pieces; n <= search->most && search->tops[n] < state->value; n++)
        search->tops[n] = state->value;
}

static void clear_tops(const struct dw_bar_search *search, struct list *list)
{
    list->top = INT64_MIN / 2;
    for (int64_t n = 0; search->most != DW_BAR_NO_LIMIT && n <= search->most; n++)
        search->tops[n] = INT64_MIN / 2;
}

static bool append(struct dw_bar_search *search, struct list *list,
                   const struct dw_bar_state *state, bool fresh)
{
    if (state->pieces > search->most || dominated(search, list, state))
        return true;
    if (fresh)
        end_bar(search, state);
    if (hopeless(search, state, &list->breaks))
        return true;
    if (list->n >= search->most_states)
        join_neighbours(search, list);
    if (!dw_array__grow(&list->states, &list->capacity, list->n + 1, sizeof *list->states))
        return false;
    list->states[list->n++] = *state;
    raise_tops(search, list, state);
    return true;
}

static struct dw_bar_state shift(const struct dw_bar_search *search, struct dw_bar_state state,
                                 const struct dw_bar_chunk *chunk)
{
    state.used += chunk->used;
    state.reach += chunk->reach;
    if (state.reach > search->room)
        state.reach = search->room;
    state.value += chunk->value;
    state.pieces += chunk->pieces;
    return state;
}

static bool comes_first(const struct dw_bar_state *a, const struct dw_bar_state *b)
{
    return a->used < b->used || (a->used == b->used && a->value >= b->value);
}

/* to = from and from + chunk, merged. */
static bool add_chunk(struct dw_bar_search *search, const struct list *from, struct list *to,
                      size_t stage)
{
    const struct dw_bar_chunk *chunk = &search->chunks[stage];
    to->n = 0;
    clear_tops(search, to);
    to->breaks =
        (struct breaks){.stage = stage + 1, .worth = search->n_worth, .steep = search->n_steep};
    size_t i = 0, j = 0;
    bool seed = search->has_seed && search->seed.used + chunk->used <= search->capacity;
    for (;;) {
        struct dw_bar_state fresh = {0};
        bool more = seed || j < from->n;
        if (more)
            fresh = shift(search, seed ? search->seed : from->states[j], chunk);
        more = more && fresh.used <= search->capacity;
        if (i >= from->n && !more)
            return true;
        bool old = i < from->n && (!more || comes_first(&from->states[i], &fresh));
        if (!append(search, to, old ? &from->states[i] : &fresh, !old))
            return false;
        if (old)
            i++;
        else if (seed)
            seed = false;
        else
            j++;
    }
}

static dw_err run(struct dw_bar_search *search, struct dw_bar_room *room)
{
    struct list from = {.states = room->from, .capacity = room->capacity_from};
    struct list to = {.states = room->to, .capacity = room->capacity_to};
    bool fine = true;
    from.breaks = (struct breaks){.worth = search->n_worth, .steep = search->n_steep};
    clear_tops(search, &from);
    if (!search->has_seed)
        fine = append(search, &from, &search->seed, true);
    for (size_t stage = 0; stage < search->n_chunks && fine; stage++) {
        struct breaks breaks = {.stage = stage, .worth = search->n_worth, .steep = search->n_steep};
        if (search->has_seed && hopeless(search, &search->seed, &breaks))
            search->has_seed = false;
        if ((from.n == 0 && !search->has_seed) || dw_audit__late(search->audit))
            break;
        fine = add_chunk(search, &from, &to, stage);
        struct list swap = from;
        from = to;
        to = swap;
    }
    *room = (struct dw_bar_room){.from = from.states,
                                 .to = to.states,
                                 .capacity_from = from.capacity,
                                 .capacity_to = to.capacity,
                                 .most = room->most};
    return fine ? DW_OK : DW_ERR_NOMEM;
}

/* --- phi as a slope ------------------------------------------------------------------------------
 */

/* max of phi(r) / r over the lengths r of the bar, as a fraction num / den. */
static void steepest_worth(const struct dw_bar_search *search, dw_wide *num, dw_wide *den)
{
    const struct dw_audit_phi *phi = &search->audit->phi[search->bar->leftover_material];
    const struct dw_worth *worth = phi->worth;
    *num = 0;
    *den = 1;
    if (worth->kind == DW_WORTH_RATE) {
        *num = worth->rate;
        *den = worth->per;
    } else if (worth->kind == DW_WORTH_SHARE && phi->has_new) {
        *num = ((dw_wide)worth->share * phi->new_price + 999999) / 1000000;
        *den = phi->new_length;
    }
    for (size_t i = 0; worth->kind == DW_WORTH_CLASSES && i < worth->n_classes; i++) {
        const struct dw_worth_class *row = &worth->classes[i];
        dw_length from = row->from > worth->keep ? row->from : worth->keep;
        if (from <= search->bar->usable && (dw_wide)row->worth * *den > *num * from) {
            *num = row->worth;
            *den = from;
        }
    }
    if (phi->has_new && phi->new_price * *den < *num * phi->new_length) {
        *num = phi->new_price;
        *den = phi->new_length;
    }
}

/* Slopes have as many binary places as leave the steepest below 2^62. */
static void set_slopes(struct dw_bar_search *search, const struct dw_bar_item *items, size_t n)
{
    dw_wide num, den, steepest = 1;
    steepest_worth(search, &num, &den);
    num *= search->bar->scale;
    if (num / den > steepest)
        steepest = num / den;
    for (size_t i = 0; i < n; i++)
        if (items[i].value / items[i].min > steepest)
            steepest = items[i].value / items[i].min;
    while (search->shift < 40 && steepest < (dw_wide)1 << 60) {
        steepest *= 2;
        search->shift++;
    }
    search->rho = num > 0 ? dw_bar__slope(search, num, den) : 0;
}

/* --- a bar ---------------------------------------------------------------------------------------
 */

#define VALUE_MAX ((dw_wide)1 << 61)

/* Whether all values of layouts fit, by the fractional bound and the sum of what counts against. */
static bool values_fit(const struct dw_bar_search *search, const struct dw_bar_item *items,
                       size_t n)
{
    dw_length left = search->capacity - search->seed.used;
    dw_length least = left + 1;
    int64_t worst = 0;
    for (size_t i = 0; i < n; i++) {
        least = items[i].min < least ? items[i].min : least;
        worst = items[i].value < worst ? items[i].value : worst;
    }
    struct dw_bar_state empty = search->seed;
    struct breaks breaks = {.worth = search->n_worth, .steep = search->n_steep};
    empty.value = 0;
    struct dw_bar_search limit = *search;
    limit.best = (int64_t)VALUE_MAX;
    return hopeless(&limit, &empty, &breaks) && worst * (dw_wide)(left / least) > -VALUE_MAX;
}

/* All of the room at the steepest value a length, or at the steepest worth of a leftover: no layout
 * comes to more. INT64_MAX: too much, or sums of losses may pass 64 bits. Items as they came, the
 * kerf not folded in. Cost: O(n). */
static int64_t outline(const struct dw_bar_search *search, const struct dw_bar_item *items,
                       size_t n)
{
    const struct dw_bar *bar = search->bar;
    dw_wide value = 0, length = 1, least = search->room + 1, num, den;
    int64_t worst = 0;
    for (size_t i = 0; i < n; i++) {
        dw_wide used = items[i].min + bar->kerf;
        least = used < least ? used : least;
        worst = items[i].value < worst ? items[i].value : worst;
        if (items[i].value * length > value * used) {
            value = items[i].value;
            length = used;
        }
    }
    dw_wide left = search->capacity - search->seed.used, kept = bar->usable - search->seed.used;
    dw_wide most = value * left / length + search->exact;
    steepest_worth(search, &num, &den);
    if (worst * (left / least) <= -VALUE_MAX || (bar->scale > 0 && num >= VALUE_MAX / bar->scale))
        return INT64_MAX;
    num *= bar->scale;
    dw_wide cut = left < kept ? left : kept; /* the grip can only be kept; two floors lose 1 */
    dw_wide earning = value * cut / length + (cut < kept ? num * (kept - cut) / den + 1 : 0);
    if (num * length > value * den)
        earning = num * kept / den;
    if (num > 0 && kept > 0 && earning > most)
        most = earning;
    most += search->seed.value;
    return most < VALUE_MAX ? (int64_t)most : INT64_MAX;
}

static bool products_fit(const struct dw_bar_item *items, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        dw_wide value = (dw_wide)items[i].value * items[i].copies;
        if (value >= VALUE_MAX || value <= -VALUE_MAX)
            return false;
    }
    return true;
}

static dw_err search_bar(struct dw_bar_search *search, struct dw_bar_item *items, size_t n,
                         struct dw_bar_room *room)
{
    n = dw_bar__prepare(search, items, n);
    if (!products_fit(items, n))
        return DW_ERR_RANGE;
    set_slopes(search, items, n);
    dw_bar__sort(items, n);
    size_t most = 0;
    for (size_t i = 0; i < n; i++)
        for (int64_t copies = items[i].copies; copies > 0; copies /= 2)
            most++;
    size_t tops = search->most == DW_BAR_NO_LIMIT ? 1 : (size_t)search->most + 1;
    search->dearest = calloc(most + 1, sizeof *search->dearest);
    search->tops = calloc(tops, sizeof *search->tops);
    search->chunks = calloc(most + 1, sizeof *search->chunks);
    search->sum_used = calloc(most + 1, sizeof *search->sum_used);
    search->sum_value = calloc(most + 1, sizeof *search->sum_value);
    dw_err err = DW_ERR_NOMEM;
    if (search->chunks && search->sum_used && search->sum_value && search->dearest &&
        search->tops) {
        dw_bar__chunks(search, items, n);
        err = values_fit(search, items, n) ? run(search, room) : DW_ERR_RANGE;
    }
    free(search->chunks);
    free(search->sum_used);
    free(search->sum_value);
    free(search->dearest);
    free(search->tops);
    return err;
}

dw_err dw_bar__best(const struct dw_audit *audit, const struct dw_bar *bar,
                    struct dw_bar_item *items, size_t n, struct dw_bar_room *room, int64_t *best)
{
    struct dw_bar_search search = {.audit = audit,
                                   .bar = bar,
                                   .room = bar->usable + bar->kerf,
                                   .capacity = bar->usable + bar->kerf,
                                   .exact = bar->grip > 0 ? 0 : bar->exact,
                                   .no_middling = bar->no_middling,
                                   .most = bar->most ? bar->most : DW_BAR_NO_LIMIT,
                                   .has_seed = !bar->first_counts,
                                   .most_states = room->most ? room->most : DW_BAR_STATES,
                                   .best = *best};
    if (bar->grip > 0)
        search.capacity = bar->usable - bar->grip;
    search.plain = search.exact == 0 && !search.no_middling;
    if (bar->first_min > 0) {
        search.seed.used = bar->first_min + bar->kerf;
        search.seed.reach = bar->first_max > bar->usable ? search.room : bar->first_max + bar->kerf;
        search.seed.value = bar->first_value;
        search.seed.pieces = bar->first_counts;
    }
    if (search.seed.used > search.capacity)
        return DW_OK;
    int64_t most = outline(&search, items, n);
    if (bar->depth == DW_BAR_OUTLINE && most > *best)
        *best = most;
    if (most <= *best)
        return DW_OK;
    dw_err err = search_bar(&search, items, n, room);
    if (err == DW_OK)
        *best = search.best;
    return err;
}
