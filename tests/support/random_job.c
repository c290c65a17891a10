/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "random_job.h"

#include <stdio.h>

uint64_t random_next(struct random *random)
{
    uint64_t z = random->state += UINT64_C(0x9e3779b97f4a7c15);
    z = (z ^ z >> 30) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ z >> 27) * UINT64_C(0x94d049bb133111eb);
    return z ^ z >> 31;
}

int64_t random_in(struct random *random, int64_t lo, int64_t hi)
{
    return lo + (int64_t)(random_next(random) % (uint64_t)(hi - lo + 1));
}

bool random_chance(struct random *random, int percent)
{
    return random_in(random, 0, 99) < percent;
}

struct maker {
    struct random random;
    struct dw_job *job;
    dw_length cell;
    int64_t parts;  /* of a cell: lengths are any number of them; 1: of whole cells */
    bool bent;      /* the last material is end-bent, with tails of the first */
    int64_t states; /* product of (count + 1) so far */
    int64_t most;   /* and at most */
};

static dw_length cells(struct maker *maker, int64_t lo, int64_t hi)
{
    if (hi <= 0)
        return random_in(&maker->random, lo, hi) * maker->cell * maker->parts;
    return random_in(&maker->random, lo * maker->parts, hi * maker->parts) * maker->cell;
}

static char *name(struct maker *maker, char letter, size_t i)
{
    char text[32];
    snprintf(text, sizeof text, "%c%zu", letter, i + 1);
    return dw_job_text(maker->job, text);
}

/* Whole units, or any amount. */
static dw_money money(struct maker *maker, int64_t lo, int64_t hi)
{
    if (random_chance(&maker->random, 60))
        return random_in(&maker->random, lo, hi) * DW_MONEY_ONE;
    return random_in(&maker->random, lo * DW_MONEY_ONE, hi * DW_MONEY_ONE);
}

static bool make_classes(struct maker *maker, struct dw_worth *worth)
{
    struct random *random = &maker->random;
    size_t n = (size_t)random_in(random, 1, 3);
    struct dw_worth_class *classes = dw_job_alloc(maker->job, n, sizeof *classes);
    if (!classes)
        return false;
    dw_length from = 0;
    dw_money value = 0;
    for (size_t i = 0; i < n; i++) {
        from += cells(maker, 2, 6);
        value += money(maker, 0, 3);
        classes[i] = (struct dw_worth_class){from, value};
    }
    worth->kind = DW_WORTH_CLASSES;
    worth->classes = classes;
    worth->n_classes = n;
    return true;
}

static bool make_worth(struct maker *maker, struct dw_worth *worth)
{
    struct random *random = &maker->random;
    worth->keep = cells(maker, 1, 8);
    int kind = (int)random_in(random, 0, 3);
    if (kind == 1)
        return make_classes(maker, worth);
    if (kind == 2) {
        worth->kind = DW_WORTH_RATE;
        worth->rate = money(maker, 0, 6);
        worth->per = cells(maker, 5, 15);
    } else if (kind == 3) {
        worth->kind = DW_WORTH_SHARE;
        worth->share = random_in(random, 0, 10) * 100000;
    }
    return true;
}

static bool make_materials(struct maker *maker)
{
    struct dw_job *job = maker->job;
    size_t n = (size_t)random_in(&maker->random, 1, 100);
    n = n <= 55 ? 1 : n <= 90 ? 2 : 3;
    maker->bent = n > 1 && random_chance(&maker->random, 50);
    job->materials = dw_job_alloc(job, n, sizeof *job->materials);
    if (!job->materials)
        return false;
    job->n_materials = n;
    for (size_t i = 0; i < n; i++) {
        struct dw_material *material = &job->materials[i];
        material->id = name(maker, 'M', i);
        material->end_bent = maker->bent && i == n - 1;
        if (!material->id || !make_worth(maker, &material->worth))
            return false;
    }
    return true;
}

static void make_breaks(struct maker *maker, struct dw_supply *supply)
{
    size_t n = (size_t)random_in(&maker->random, 1, 2);
    struct dw_price_break *breaks = dw_job_alloc(maker->job, n, sizeof *breaks);
    int64_t from = 1;
    dw_money price = supply->price;
    for (size_t i = 0; breaks && i < n && price > 1; i++) {
        from += random_in(&maker->random, 1, 3);
        price = random_in(&maker->random, price / 2, price - 1);
        breaks[i] = (struct dw_price_break){from, price};
        supply->breaks = breaks;
        supply->n_breaks = i + 1;
    }
}

static void make_ends(struct maker *maker, struct dw_supply *supply)
{
    for (int end = 0; end < 2; end++)
        supply->ends[end] = random_chance(&maker->random, 50) ? DW_END_MILL : DW_END_SAWN;
    if (random_chance(&maker->random, 50))
        supply->trim = cells(maker, 1, 2);
    if (random_chance(&maker->random, 10))
        supply->measured = supply->length + cells(maker, -1, 1);
    if (maker->job->materials[supply->material].end_bent) {
        supply->bend = cells(maker, 2, 4);
        supply->tail_material = 0;
    }
}

static void make_new_bar(struct maker *maker, struct dw_supply *supply)
{
    struct random *random = &maker->random;
    supply->source = DW_SOURCE_NEW;
    supply->length = cells(maker, 10, 26);
    supply->price = money(maker, 1, 20);
    supply->pack = random_chance(random, 20) ? random_in(random, 2, 3) : 1;
    if (random_chance(random, 35))
        supply->count = random_in(random, 1, 4) * (random_chance(random, 80) ? supply->pack : 1);
    if (random_chance(random, 20))
        make_breaks(maker, supply);
}

static void make_held_bar(struct maker *maker, struct dw_supply *supply)
{
    bool offcut = random_chance(&maker->random, 80);
    supply->source = offcut ? DW_SOURCE_OFFCUT : DW_SOURCE_SHELF;
    supply->length = offcut ? cells(maker, 8, 16) : cells(maker, 12, 26);
    supply->price = random_chance(&maker->random, 25) ? 0 : money(maker, 0, 8);
    supply->count = random_in(&maker->random, 1, 2);
}

static bool make_supplies(struct maker *maker)
{
    struct dw_job *job = maker->job;
    size_t n = job->n_materials + (size_t)random_in(&maker->random, 0, 3);
    job->supplies = dw_job_alloc(job, n, sizeof *job->supplies);
    if (!job->supplies)
        return false;
    job->n_supplies = n;
    for (size_t i = 0; i < n; i++) {
        struct dw_supply *supply = &job->supplies[i];
        *supply = (struct dw_supply){.pack = 1, .count = DW_UNLIMITED, .tail_material = DW_NONE};
        supply->id = name(maker, 'B', i);
        supply->material = i < job->n_materials ? i
                                                : (size_t)random_in(&maker->random, 0,
                                                                    (int64_t)job->n_materials - 1);
        if (!supply->id)
            return false;
        if (i < job->n_materials || random_chance(&maker->random, 40))
            make_new_bar(maker, supply);
        else
            make_held_bar(maker, supply);
        make_ends(maker, supply);
    }
    return true;
}

static bool set_materials(struct maker *maker, struct dw_part *part)
{
    size_t n = maker->job->n_materials;
    size_t *list = dw_job_alloc(maker->job, 2, sizeof *list);
    if (!list)
        return false;
    list[0] = (size_t)random_in(&maker->random, 0, (int64_t)n - 1);
    part->materials = list;
    part->n_materials = 1;
    if (n > 1 && random_chance(&maker->random, 25)) {
        list[1] = (list[0] + 1) % n;
        part->n_materials = 2;
    }
    return true;
}

static bool make_part(struct maker *maker, struct dw_part *part, bool post)
{
    struct random *random = &maker->random;
    part->min = part->max = cells(maker, 2, 11);
    part->count = random_in(random, 1, post ? 2 : maker->most > RANDOM_JOB_STATES ? 6 : 4);
    while (part->count > 1 && maker->states * (part->count + 1) > maker->most)
        part->count--;
    maker->states *= part->count + 1;
    part->post = post;
    if (post)
        part->worth = random_chance(random, 20) ? 0 : money(maker, 0, 6);
    if (maker->parts == 1 && random_chance(random, post ? 50 : 15))
        part->max += cells(maker, 1, 4);
    if (random_chance(random, 12)) {
        part->measure_first = true;
        part->allowance = maker->cell;
    }
    return set_materials(maker, part);
}

static bool make_parts(struct maker *maker)
{
    struct dw_job *job = maker->job;
    bool large = maker->most > RANDOM_JOB_STATES;
    size_t n_parts = (size_t)random_in(&maker->random, large ? 3 : 1, large ? 6 : 4);
    size_t n_posts =
        random_chance(&maker->random, 40) ? (size_t)random_in(&maker->random, 1, 2) : 0;
    job->parts = dw_job_alloc(job, n_parts + n_posts, sizeof *job->parts);
    job->orders = dw_job_alloc(job, 1, sizeof *job->orders);
    if (!job->parts || !job->orders)
        return false;
    job->n_orders = 1;
    job->orders[0].name = "rack";
    for (size_t i = 0; i < n_parts + n_posts; i++) {
        if (maker->states * 2 > maker->most)
            break;
        job->parts[i].label = name(maker, 'P', i);
        if (!job->parts[i].label || !make_part(maker, &job->parts[i], i >= n_parts))
            return false;
        job->n_parts++;
    }
    return true;
}

static void make_rules(struct maker *maker)
{
    struct random *random = &maker->random;
    struct dw_job *job = maker->job;
    job->saw.kerf = random_chance(random, 40) ? 0 : cells(maker, 1, 2);
    job->saw.grip = random_chance(random, 20) ? cells(maker, 1, 3) : 0;
    job->saw.cut_cost = random_chance(random, 50) ? 0 : money(maker, 0, 2);
    if (random_chance(random, 20))
        job->rules.max_new_offcuts = random_in(random, 0, 2);
    if (random_chance(random, 15)) {
        job->rules.no_middling = true;
        job->rules.scrap_max = cells(maker, 0, 3);
    }
}

/* Rules of single bars and parts, and little tube now and then. */
static void make_wishes(struct maker *maker)
{
    struct random *random = &maker->random;
    struct dw_job *job = maker->job;
    if (random_chance(random, 50))
        job->saw.end_allowance = cells(maker, 1, 4);
    for (size_t i = 0; i < job->n_parts; i++)
        job->parts[i].priority = !job->parts[i].post && random_chance(random, 40);
    if (random_chance(random, 50)) {
        job->saw.bar_cost = money(maker, 0, 3);
        job->saw.offcut_cost = money(maker, 0, 5);
    }
    bool little = random_chance(random, 40);
    for (size_t k = 0; k < job->n_supplies; k++) {
        struct dw_supply *supply = &job->supplies[k];
        if (little && supply->source == DW_SOURCE_NEW && supply->pack == 1)
            supply->count = random_in(random, 1, 2);
        if (random_chance(random, 10)) {
            supply->usage = DW_USAGE_NO;
            supply->count = 0;
        }
    }
}

/* parts 0: one or a thousand. */
static struct dw_job *make_with(struct maker *maker, uint64_t seed, int64_t parts)
{
    static const dw_length sizes[] = {1, DW_NM_PER_IN / 64, DW_NM_PER_IN / 16, DW_NM_PER_MM};
    maker->random = (struct random){seed};
    if (dw_job_new(&maker->job, NULL) != DW_OK)
        return NULL;
    maker->parts = random_chance(&maker->random, 10) ? 1000 : 1;
    maker->cell = sizes[random_in(&maker->random, 0, 3)];
    if (parts > 0) {
        maker->parts = parts;
        maker->cell = sizes[0];
    }
    if (maker->cell == sizes[1] || maker->cell == sizes[2]) {
        maker->job->unit = DW_UNIT_IN;
        maker->job->denominator = 64;
    }
    make_rules(maker);
    if (!make_materials(maker) || !make_supplies(maker) || !make_parts(maker)) {
        dw_job_free(maker->job);
        return NULL;
    }
    return maker->job;
}

static struct dw_job *make_job(uint64_t seed, int64_t states, int64_t parts)
{
    struct maker maker = {.states = 1, .most = states};
    return make_with(&maker, seed, parts);
}

struct dw_job *random_job_large(uint64_t seed, int64_t states)
{
    return make_job(seed, states, 0);
}

struct dw_job *random_job_fine(uint64_t seed)
{
    return make_job(seed, RANDOM_JOB_STATES, 1000000);
}

struct dw_job *random_job_wishes(uint64_t seed)
{
    struct maker maker = {.states = 1, .most = RANDOM_JOB_STATES};
    struct dw_job *job = make_with(&maker, seed, 0);
    if (job)
        make_wishes(&maker);
    return job;
}

struct dw_job *random_job(uint64_t seed)
{
    return random_job_large(seed, RANDOM_JOB_STATES);
}

struct dw_job *random_job_counted(uint64_t seed)
{
    struct dw_job *job = seed % 2 == 0 ? random_job_fine(seed) : random_job(seed);
    if (job)
        job->rules.most_pieces = 1 + (int64_t)(seed / 2 % 4);
    return job;
}
