/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "brute.h"

#include <stdlib.h>
#include <string.h>

#define NO_PLAN (INT64_MAX / 4)
__extension__ typedef __int128 wide;

/* --- money --------------------------------------------------------------------------------------
 */

static dw_money price_at(const struct dw_supply *supply, int64_t bars)
{
    dw_money price = supply->price;
    for (size_t i = 0; i < supply->n_breaks; i++)
        if (bars >= supply->breaks[i].from)
            price = supply->breaks[i].price;
    return price;
}

dw_money brute_price(const struct dw_supply *supply, int64_t used)
{
    dw_money least = used == 0 ? 0 : -1;
    int64_t last = used + supply->pack;
    for (size_t i = 0; i < supply->n_breaks; i++)
        if (supply->breaks[i].from + supply->pack > last)
            last = supply->breaks[i].from + supply->pack;
    for (int64_t bars = used; used > 0 && bars <= last; bars++) {
        bool sold =
            bars % supply->pack == 0 && (supply->count == DW_UNLIMITED || bars <= supply->count);
        if (sold && (least < 0 || bars * price_at(supply, bars) < least))
            least = bars * price_at(supply, bars);
    }
    return least;
}

dw_money brute_worth(const struct dw_job *job, size_t material, dw_length r)
{
    const struct dw_worth *worth = &job->materials[material].worth;
    if (r < worth->keep)
        return 0;
    bool has_new = false;
    dw_money cap = NO_PLAN, share = NO_PLAN, base = 0;
    for (size_t k = 0; k < job->n_supplies; k++) {
        const struct dw_supply *s = &job->supplies[k];
        if (s->source != DW_SOURCE_NEW || s->material != material || s->bend > 0)
            continue;
        has_new = true;
        dw_length length = s->measured ? s->measured : s->length;
        dw_money lowest = s->price;
        for (size_t i = 0; i < s->n_breaks; i++)
            lowest = s->breaks[i].price < lowest ? s->breaks[i].price : lowest;
        dw_money whole = (dw_money)((wide)lowest * r / length);
        dw_money part = (dw_money)((wide)worth->share * lowest * r / ((wide)length * 1000000));
        cap = whole < cap ? whole : cap;
        share = part < share ? part : share;
    }
    if (worth->kind == DW_WORTH_RATE)
        base = (dw_money)((wide)worth->rate * r / worth->per);
    else if (worth->kind == DW_WORTH_SHARE)
        base = has_new ? share : 0;
    else if (worth->kind == DW_WORTH_CLASSES)
        for (size_t i = 0; i < worth->n_classes; i++)
            if (worth->classes[i].from <= r)
                base = worth->classes[i].worth;
    return base < cap ? base : cap;
}

/* --- layouts
 * -------------------------------------------------------------------------------------- */

static bool accepts(const struct dw_part *part, size_t material)
{
    for (size_t i = 0; i < part->n_materials; i++)
        if (part->materials[i] == material)
            return true;
    return false;
}

static dw_length gcd(dw_length a, dw_length b)
{
    while (b) {
        dw_length rest = a % b;
        a = b;
        b = rest;
    }
    return a < 0 ? -a : a;
}

/* One bar while pieces are put on it: counts, and the range of the sum of their lengths. */
struct bar {
    struct brute *brute;
    const struct dw_supply *supply;
    size_t index; /* of the supply */
    dw_length usable;
    dw_length step; /* lengths are tried at its multiples */
    size_t tail;    /* material of the straight pieces and the leftover */
    int made[BRUTE_ITEMS];
    int first;
    int n; /* pieces, a bend end included */
    dw_length min;
    dw_length max;
};

static bool keep_layout(struct bar *bar, dw_length pieces, bool kept, dw_money money)
{
    struct brute *brute = bar->brute;
    for (size_t i = brute->n_layouts; i-- > 0 && brute->layouts[i].supply == bar->index;) {
        struct brute_layout *old = &brute->layouts[i];
        if (old->kept == kept && memcmp(old->made, bar->made, sizeof old->made) == 0) {
            if (money < old->money) {
                old->money = money;
                old->first = bar->first;
                old->pieces = pieces;
            }
            return true;
        }
    }
    size_t size = (brute->n_layouts + 1) * sizeof *brute->layouts;
    if ((brute->n_layouts & (brute->n_layouts + 1)) == 0)
        size = (2 * brute->n_layouts + 2) * sizeof *brute->layouts;
    else
        size = 0;
    if (size) {
        void *grown = realloc(brute->layouts, size);
        if (!grown)
            return false;
        brute->layouts = grown;
    }
    struct brute_layout *layout = &brute->layouts[brute->n_layouts++];
    *layout = (struct brute_layout){
        .supply = bar->index, .kept = kept, .money = money, .first = bar->first, .pieces = pieces};
    memcpy(layout->made, bar->made, sizeof layout->made);
    return true;
}

/* The bar as it stands, its pieces `pieces` long in sum. */
static bool try_length(struct bar *bar, dw_length pieces)
{
    const struct dw_job *job = bar->brute->job;
    dw_length rem = bar->usable - pieces - job->saw.kerf * (bar->n - 1);
    dw_length behind = job->saw.grip; /* the last cut */
    if (bar->supply->source != DW_SOURCE_OFFCUT && bar->supply->measured == 0 &&
        job->saw.end_allowance > behind)
        behind = job->saw.end_allowance;
    if (rem < 0 || (behind > 0 && rem < job->saw.kerf + behind))
        return true;
    dw_length r = rem > job->saw.kerf ? rem - job->saw.kerf : 0;
    dw_length keep = job->materials[bar->tail].worth.keep;
    if (job->rules.no_middling && r > job->rules.scrap_max && r < keep)
        return true;
    int cuts = rem == 0 ? bar->n - 1 : bar->n;
    for (int end = bar->supply->bend > 0; end < 2; end++) /* a bent end stays as it is */
        cuts += bar->supply->trim > 0 && bar->supply->ends[end] == DW_END_MILL;
    dw_money money = cuts * job->saw.cut_cost;
    money += bar->supply->source == DW_SOURCE_OFFCUT ? job->saw.offcut_cost : job->saw.bar_cost;
    for (size_t i = 0; i < bar->brute->n_items; i++)
        money -= bar->made[i] * job->parts[bar->brute->items[i]].worth;
    bool capped = job->rules.max_new_offcuts != DW_UNLIMITED;
    if (r >= keep && !keep_layout(bar, pieces, true, money - brute_worth(job, bar->tail, r)))
        return false;
    return (r >= keep && !capped) || keep_layout(bar, pieces, false, money);
}

static bool end_bar(struct bar *bar)
{
    bool any = false;
    for (size_t i = 0; i < bar->brute->n_items; i++)
        any |= bar->made[i] > 0;
    dw_length most = bar->max < bar->usable ? bar->max : bar->usable;
    for (dw_length pieces = bar->min; any && pieces <= most; pieces += bar->step)
        if (!try_length(bar, pieces))
            return false;
    return true;
}

/* Straight pieces of item i and those after it, in every number. */
static bool add_items(struct bar *bar, size_t i)
{
    const struct dw_job *job = bar->brute->job;
    if (i == bar->brute->n_items)
        return end_bar(bar);
    if (!add_items(bar, i + 1))
        return false;
    const struct dw_part *part = &job->parts[bar->brute->items[i]];
    int64_t most = job->rules.most_pieces;
    if (most != DW_UNLIMITED && bar->n - (bar->first == BRUTE_STUB) >= most)
        return true;
    if (!accepts(part, bar->tail) || bar->made[i] >= part->count ||
        bar->min + part->min + job->saw.kerf * bar->n > bar->usable)
        return true;
    struct bar more = *bar;
    more.made[i]++;
    more.n++;
    more.min += part->min;
    more.max += part->max;
    return add_items(&more, i);
}

static bool list_bent(struct bar *bar)
{
    const struct dw_job *job = bar->brute->job;
    dw_length bend = bar->supply->bend;
    bar->n = 1;
    for (size_t i = 0; i < bar->brute->n_items; i++) {
        const struct dw_part *part = &job->parts[bar->brute->items[i]];
        if (!accepts(part, bar->supply->material) || part->max < bend)
            continue;
        bar->min = part->min < bend ? bend : part->min;
        bar->max = part->max;
        bar->made[i] = 1;
        bar->first = (int)i;
        bool fine = bar->min > bar->usable || add_items(bar, 0);
        bar->made[i] = 0;
        if (!fine)
            return false;
    }
    bar->min = bar->max = bend;
    bar->first = BRUTE_STUB;
    return bend > bar->usable || add_items(bar, 0);
}

static bool list_layouts(struct brute *brute, size_t k, dw_length step)
{
    const struct dw_supply *s = &brute->job->supplies[k];
    struct bar bar = {
        .brute = brute, .supply = s, .index = k, .step = step, .first = BRUTE_STRAIGHT};
    bar.usable = s->measured ? s->measured : s->length;
    for (int end = s->bend > 0; end < 2; end++)
        if (s->ends[end] == DW_END_MILL)
            bar.usable -= s->trim;
    bar.tail = s->bend > 0 ? s->tail_material : s->material;
    return s->bend > 0 ? list_bent(&bar) : add_items(&bar, 0);
}

/* Whatever a length of the job is a multiple of: no layout gains by a length between. */
static dw_length find_step(const struct dw_job *job)
{
    dw_length step = gcd(gcd(job->saw.kerf, job->saw.grip), job->saw.end_allowance);
    step = gcd(step, job->rules.scrap_max);
    for (size_t i = 0; i < job->n_materials; i++)
        step = gcd(step, job->materials[i].worth.keep);
    for (size_t i = 0; i < job->n_parts; i++)
        step = gcd(gcd(step, job->parts[i].min), job->parts[i].max);
    for (size_t i = 0; i < job->n_supplies; i++) {
        const struct dw_supply *s = &job->supplies[i];
        step = gcd(gcd(step, s->length), s->measured);
        step = gcd(gcd(step, s->trim), s->bend);
    }
    return step;
}

/* --- demands
 * -------------------------------------------------------------------------------------- */

size_t brute_state(const struct brute *brute, const struct brute_layout *layout)
{
    size_t state = 0;
    for (size_t i = 0; i < brute->n_items; i++)
        state = state * (size_t)brute->radix[i] + (size_t)layout->made[i];
    return state * (size_t)brute->radix[BRUTE_ITEMS] +
           (size_t)(layout->kept && brute->radix[BRUTE_ITEMS] > 1);
}

bool brute_within(const struct brute *brute, size_t part, size_t whole)
{
    for (size_t i = 0; i <= BRUTE_ITEMS; i++)
        if (brute->digit[part][i] > brute->digit[whole][i])
            return false;
    return true;
}

static void set_digits(struct brute *brute)
{
    size_t cap = (size_t)brute->radix[BRUTE_ITEMS];
    for (size_t state = 0; state < brute->n_states; state++) {
        brute->digit[state][BRUTE_ITEMS] = (unsigned char)(state % cap);
        size_t rest = state / cap;
        for (size_t i = brute->n_items; i-- > 0;) {
            brute->digit[state][i] = (unsigned char)(rest % (size_t)brute->radix[i]);
            rest /= (size_t)brute->radix[i];
        }
    }
}

static dw_money *new_row(const struct brute *brute)
{
    dw_money *row = calloc(brute->n_states, sizeof *row);
    for (size_t state = 0; row && state < brute->n_states; state++)
        row[state] = state == 0 ? 0 : NO_PLAN;
    return row;
}

/* next = the cheapest of now and one more bar of supply k */
static void add_bar(const struct brute *brute, size_t k, const dw_money *now, dw_money *next)
{
    next[0] = NO_PLAN;
    for (size_t i = 0; i < brute->n_layouts; i++) {
        const struct brute_layout *layout = &brute->layouts[i];
        if (layout->supply != k || (layout->kept && brute->job->rules.max_new_offcuts == 0))
            continue;
        size_t more = brute_state(brute, layout);
        for (size_t state = more; state < brute->n_states; state++)
            if (now[state - more] < NO_PLAN && brute_within(brute, more, state) &&
                now[state - more] + layout->money < next[state])
                next[state] = now[state - more] + layout->money;
    }
}

static bool fill_level(struct brute *brute, struct brute_level *level, size_t k)
{
    const struct dw_supply *supply = &brute->job->supplies[k];
    int64_t pieces = 0;
    for (size_t i = 0; i < brute->n_items; i++)
        pieces += brute->radix[i] - 1;
    level->bars = new_row(brute);
    level->now = calloc((size_t)pieces + 1, sizeof *level->now);
    if (!level->bars || !level->now || !(level->now[0] = new_row(brute)))
        return false;
    for (int64_t n = 1; n <= pieces && brute_price(supply, n) >= 0; n++) {
        dw_money price = brute_price(supply, n);
        level->n_now = n;
        level->now[n] = new_row(brute);
        if (!level->now[n])
            return false;
        add_bar(brute, k, level->now[n - 1], level->now[n]);
        for (size_t state = 0; state < brute->n_states; state++)
            if (level->now[n][state] < NO_PLAN && level->now[n][state] + price < level->bars[state])
                level->bars[state] = level->now[n][state] + price;
    }
    return true;
}

static bool add_supply(struct brute *brute, size_t i)
{
    struct brute_level *level = &brute->levels[i];
    level->before = new_row(brute);
    if (!level->before || !fill_level(brute, level, brute->supplies[i]))
        return false;
    dw_money *best = brute->best;
    memcpy(level->before, best, brute->n_states * sizeof *best);
    for (size_t state = brute->n_states; state-- > 0;)
        for (size_t more = 1; more <= state; more++)
            if (level->bars[more] < NO_PLAN && level->before[state - more] < NO_PLAN &&
                brute_within(brute, more, state) &&
                level->before[state - more] + level->bars[more] < best[state])
                best[state] = level->before[state - more] + level->bars[more];
    return true;
}

/* Cheapest state in which every part is made; posts as they come, offcuts up to the cap. */
static void read_answer(struct brute *brute)
{
    brute->money = NO_PLAN;
    for (size_t state = 0; state < brute->n_states; state++) {
        bool all = true;
        for (size_t i = 0; i < brute->n_items; i++)
            all &= brute->job->parts[brute->items[i]].post ||
                   brute->digit[state][i] + 1 == brute->radix[i];
        if (all && brute->best[state] < brute->money) {
            brute->money = brute->best[state];
            brute->state = state;
        }
    }
    brute->feasible = brute->money < NO_PLAN;
}

bool brute_missing(const struct brute *brute, int64_t missing[2])
{
    bool any = false;
    for (size_t state = 0; state < brute->n_states; state++) {
        int64_t now[2] = {0, 0};
        if (brute->best[state] >= NO_PLAN)
            continue;
        for (size_t i = 0; i < brute->n_items; i++) {
            const struct dw_part *part = &brute->job->parts[brute->items[i]];
            if (!part->post)
                now[!part->priority] += brute->radix[i] - 1 - brute->digit[state][i];
        }
        if (!any || now[0] < missing[0] || (now[0] == missing[0] && now[1] < missing[1])) {
            missing[0] = now[0];
            missing[1] = now[1];
        }
        any = true;
    }
    return any;
}

static int fill_table(struct brute *brute)
{
    int64_t cap = brute->job->rules.max_new_offcuts;
    brute->n_states = 1;
    for (size_t i = 0; i < BRUTE_ITEMS; i++) {
        bool item = i < brute->n_items;
        brute->radix[i] = item ? (int)brute->job->parts[brute->items[i]].count + 1 : 1;
        brute->n_states *= (size_t)brute->radix[i];
    }
    brute->radix[BRUTE_ITEMS] = cap == DW_UNLIMITED ? 1 : (int)cap + 1;
    brute->n_states *= (size_t)brute->radix[BRUTE_ITEMS];
    brute->digit = calloc(brute->n_states, sizeof *brute->digit);
    brute->best = new_row(brute);
    brute->levels = calloc(brute->n_supplies + 1, sizeof *brute->levels);
    if (!brute->digit || !brute->best || !brute->levels)
        return -1;
    set_digits(brute);
    for (size_t i = 0; i < brute->n_supplies; i++)
        if (!add_supply(brute, i))
            return -1;
    read_answer(brute);
    return 0;
}

/* --- a group
 * -------------------------------------------------------------------------------------- */

static bool listed(const size_t *list, size_t n, size_t m)
{
    for (size_t i = 0; i < n; i++)
        if (list[i] == m)
            return true;
    return false;
}

int brute_solve(struct brute *brute, const struct dw_job *job, const size_t *group, size_t n)
{
    *brute = (struct brute){.job = job};
    brute->supplies = calloc(job->n_supplies + 1, sizeof *brute->supplies);
    if (!brute->supplies)
        return -1;
    for (size_t i = 0; i < job->n_parts; i++) {
        if (!listed(group, n, job->parts[i].materials[0]))
            continue;
        if (brute->n_items == BRUTE_ITEMS)
            return -1;
        brute->items[brute->n_items++] = i;
    }
    dw_length step = find_step(job);
    for (size_t k = 0; k < job->n_supplies; k++) {
        if (!listed(group, n, job->supplies[k].material))
            continue;
        brute->supplies[brute->n_supplies++] = k;
        if (!list_layouts(brute, k, step))
            return -1;
    }
    return fill_table(brute);
}

void brute_free(struct brute *brute)
{
    for (size_t i = 0; brute->levels && i < brute->n_supplies; i++) {
        struct brute_level *level = &brute->levels[i];
        for (int64_t n = 0; level->now && n <= level->n_now; n++)
            free(level->now[n]);
        free(level->now);
        free(level->bars);
        free(level->before);
    }
    free(brute->levels);
    free(brute->best);
    free(brute->digit);
    free(brute->supplies);
    free(brute->layouts);
    *brute = (struct brute){0};
}
