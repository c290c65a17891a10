/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Items, kinds and stocks of a group: what is interchangeable is merged, else symmetry would
 * multiply the search. */
#include "solve/group/points.h"

#include <stdlib.h>
#include <string.h>

/* Grids larger than this are not made, nor points: entries a kind, and cells. */
#define MAX_POINTS ((size_t)6 * 1024 * 1024)
#define MAX_TABLE  ((int64_t)3 * 1024 * 1024)
#define MAX_CELLS  ((int64_t)128 * 1024)
#define MIN_CELLS  ((int64_t)1024)
#define MAX_LAYERS (4 * MAX_TABLE / MIN_CELLS) /* of all items */
#define MAX_WAYS   400                         /* counts of the items with slack on one bar */

struct build {
    const struct dw_job *job;
    const size_t *group_of;
    size_t group;
    bool *never;
    struct dw_arena *arena;
    struct dw_problem *problem;
    bool slack_matters;
};

/* --- items -------------------------------------------------------------------------------- */

struct keyed {
    const struct dw_part *part;
    size_t index;
    int64_t slack;
};

static int compare_i64(int64_t a, int64_t b)
{
    return (a > b) - (a < b);
}

static int compare_materials(const struct dw_part *a, const struct dw_part *b)
{
    if (a->n_materials != b->n_materials)
        return a->n_materials < b->n_materials ? -1 : 1;
    for (size_t i = 0; i < a->n_materials; i++)
        if (a->materials[i] != b->materials[i])
            return a->materials[i] < b->materials[i] ? -1 : 1;
    return 0;
}

/* All that tells items apart; 0 for interchangeable parts. */
static int compare_kinds_of_part(const struct keyed *a, const struct keyed *b)
{
    int order = compare_i64(b->part->min, a->part->min);
    if (!order)
        order = compare_i64(a->part->post, b->part->post);
    if (!order)
        order = compare_i64(b->part->worth, a->part->worth);
    if (!order)
        order = compare_i64(b->part->priority, a->part->priority);
    if (!order)
        order = compare_i64(a->slack, b->slack);
    return order ? order : compare_materials(a->part, b->part);
}

static int compare_parts(const void *a, const void *b)
{
    const struct keyed *x = a, *y = b;
    int order = compare_kinds_of_part(x, y);
    return order ? order : compare_i64((int64_t)x->index, (int64_t)y->index);
}

static size_t select_parts(const struct build *b, struct keyed *keyed)
{
    size_t n = 0;
    for (size_t i = 0; i < b->job->n_parts; i++) {
        const struct dw_part *part = &b->job->parts[i];
        if (b->group_of[part->materials[0]] != b->group || b->never[i])
            continue;
        keyed[n++] = (struct keyed){part, i, part->max - part->min};
    }
    qsort(keyed, n, sizeof *keyed, compare_parts);
    return n;
}

static bool make_items(struct build *b, const struct keyed *keyed, size_t n)
{
    struct dw_problem *p = b->problem;
    p->items = dw_arena__alloc(b->arena, n, sizeof *p->items);
    size_t *members = dw_arena__alloc(b->arena, n, sizeof *members);
    if (!p->items || !members)
        return false;
    for (size_t i = 0; i < n; i++) {
        const struct dw_part *part = keyed[i].part;
        members[i] = keyed[i].index;
        if (i == 0 || compare_kinds_of_part(&keyed[i - 1], &keyed[i]) != 0)
            p->items[p->n_items++] =
                (struct dw_item){.size = part->min + p->kerf,
                                 .slack = b->slack_matters ? keyed[i].slack : 0,
                                 .worth = part->post ? part->worth : 0,
                                 .post = part->post,
                                 .members = &members[i]};
        struct dw_item *item = &p->items[p->n_items - 1];
        item->n_members++;
        item->count += part->count;
        p->n_pieces += part->count;
    }
    for (size_t i = 0; i < p->n_items; i++)
        p->items[i].weight = p->job->parts[p->items[i].members[0]].priority ? p->n_pieces + 1 : 1;
    return true;
}

static bool accepts(const struct dw_problem *p, const struct dw_item *item, size_t material)
{
    const struct dw_part *part = &p->job->parts[item->members[0]];
    for (size_t i = 0; i < part->n_materials; i++)
        if (part->materials[i] == material)
            return true;
    return false;
}

/* --- stocks ------------------------------------------------------------------------------- */

static bool stepped(const struct dw_supply *supply)
{
    return supply->pack > 1 || supply->n_breaks > 0;
}

static int64_t capacity(const struct dw_problem *p, const struct dw_supply *supply)
{
    int64_t usable = dw_supply_usable(supply), tail = dw_supply_tail(&p->job->saw, supply);
    return tail > 0 ? usable - tail : usable + p->kerf;
}

static dw_money fixed_cost(const struct dw_problem *p, const struct dw_supply *supply)
{
    return p->cut_cost * dw_supply_squarings(supply) + dw_supply_handling(&p->job->saw, supply);
}

static size_t source_rank(const struct dw_supply *supply)
{
    return supply->source == DW_SOURCE_OFFCUT ? 0 : supply->source == DW_SOURCE_SHELF ? 1 : 2;
}

struct keyed_supply {
    const struct dw_problem *problem;
    const struct dw_supply *supply;
    size_t index;
    size_t straight; /* material of the straight pieces */
    int64_t tail;
};

static int compare_stock_keys(const struct keyed_supply *a, const struct keyed_supply *b)
{
    const struct dw_supply *s = a->supply, *t = b->supply;
    int order = compare_i64((int64_t)a->straight, (int64_t)b->straight);
    if (!order)
        order = compare_i64(a->tail, b->tail);
    if (!order)
        order = compare_i64(s->bend, t->bend);
    if (!order && s->bend > 0)
        order = compare_i64((int64_t)s->material, (int64_t)t->material);
    if (!order)
        order = compare_i64(capacity(b->problem, t), capacity(a->problem, s));
    if (!order)
        order = compare_i64(dw_supply__lowest(s), dw_supply__lowest(t));
    if (!order)
        order = compare_i64(fixed_cost(a->problem, s), fixed_cost(a->problem, t));
    if (!order)
        order = compare_i64(stepped(s), stepped(t));
    if (!order && stepped(s))
        order = compare_i64((int64_t)a->index, (int64_t)b->index);
    return order;
}

/* Of pieces in the shop the one that has lain longest goes first, as far as that is known. */
static int compare_age(const struct dw_supply *s, const struct dw_supply *t)
{
    if (s->source == DW_SOURCE_NEW || !s->date || !t->date)
        return s->source == DW_SOURCE_NEW ? 0 : (t->date != NULL) - (s->date != NULL);
    return strcmp(s->date, t->date);
}

static int compare_supplies(const void *a, const void *b)
{
    const struct keyed_supply *x = a, *y = b;
    int order = compare_stock_keys(x, y);
    if (!order)
        order = compare_i64((int64_t)source_rank(x->supply), (int64_t)source_rank(y->supply));
    if (!order)
        order = compare_age(x->supply, y->supply);
    return order ? order : compare_i64((int64_t)x->index, (int64_t)y->index);
}

static size_t select_supplies(const struct build *b, struct keyed_supply *keyed)
{
    size_t n = 0;
    for (size_t k = 0; k < b->job->n_supplies; k++) {
        const struct dw_supply *supply = &b->job->supplies[k];
        if (b->group_of[supply->material] != b->group || dw_supply__count(supply) == 0 ||
            capacity(b->problem, supply) <= 0)
            continue;
        size_t straight = supply->bend > 0 ? supply->tail_material : supply->material;
        keyed[n++] = (struct keyed_supply){b->problem, supply, k, straight,
                                           dw_supply_tail(&b->job->saw, supply)};
    }
    qsort(keyed, n, sizeof *keyed, compare_supplies);
    return n;
}

/* The bend end, then every item that may be the bent part. */
static bool make_firsts(struct build *b, struct dw_bar_stock *stock, const struct dw_supply *supply)
{
    struct dw_problem *p = b->problem;
    if (supply->bend == 0)
        return true;
    stock->firsts = dw_arena__alloc(b->arena, p->n_items + 1, sizeof *stock->firsts);
    if (!stock->firsts)
        return false;
    stock->firsts[stock->n_firsts++] = (struct dw_first){DW_NONE, supply->bend + p->kerf, 0};
    for (size_t i = 0; i < p->n_items; i++) {
        const struct dw_item *item = &p->items[i];
        const struct dw_part *part = &p->job->parts[item->members[0]];
        if (!accepts(p, item, supply->material) || part->max < supply->bend)
            continue;
        int64_t size = item->size > supply->bend + p->kerf ? item->size : supply->bend + p->kerf;
        int64_t slack = item->slack - (size - item->size);
        stock->firsts[stock->n_firsts++] = (struct dw_first){i, size, slack > 0 ? slack : 0};
    }
    return true;
}

static size_t kind_of(struct dw_problem *p, size_t material, int64_t tail)
{
    for (size_t q = p->n_kinds; q-- > 0;)
        if (p->kinds[q].material == material && p->kinds[q].tail == tail)
            return q;
    p->kinds[p->n_kinds] = (struct dw_bar_kind){.material = material, .tail = tail};
    return p->n_kinds++;
}

static bool make_stocks(struct build *b, const struct keyed_supply *keyed, size_t n)
{
    struct dw_problem *p = b->problem;
    p->stocks = dw_arena__alloc(b->arena, n, sizeof *p->stocks);
    p->kinds = dw_arena__alloc(b->arena, n, sizeof *p->kinds);
    size_t *members = dw_arena__alloc(b->arena, n, sizeof *members);
    if (!p->stocks || !p->kinds || !members)
        return false;
    for (size_t k = 0; k < n; k++) {
        const struct dw_supply *supply = keyed[k].supply;
        members[k] = keyed[k].index;
        if (k == 0 || compare_stock_keys(&keyed[k - 1], &keyed[k]) != 0) {
            struct dw_bar_stock *stock = &p->stocks[p->n_stocks++];
            *stock = (struct dw_bar_stock){.kind = kind_of(p, keyed[k].straight, keyed[k].tail),
                                           .cap = capacity(p, supply),
                                           .price = dw_supply__lowest(supply),
                                           .fixed = fixed_cost(p, supply),
                                           .limited = true,
                                           .stepped = stepped(supply),
                                           .members = &members[k]};
            if (!make_firsts(b, stock, supply))
                return false;
        }
        struct dw_bar_stock *stock = &p->stocks[p->n_stocks - 1];
        stock->n_members++;
        int64_t count = dw_supply__count(supply);
        stock->certain += count == DW_UNLIMITED || count > p->n_all ? p->n_all : count;
        if (count == DW_UNLIMITED || count >= p->n_pieces - stock->count) {
            stock->count = p->n_pieces;
            stock->limited = false;
        } else {
            stock->count += count;
        }
    }
    return true;
}

/* --- kinds -------------------------------------------------------------------------------- */

/* Largest capacity for straight pieces, and the common divisor of all lengths. */
static int64_t measure_kind(const struct dw_problem *p, struct dw_bar_kind *kind, size_t q)
{
    int64_t divisor = 0;
    for (size_t k = 0; k < p->n_stocks; k++) {
        const struct dw_bar_stock *stock = &p->stocks[k];
        if (stock->kind != q)
            continue;
        int64_t least = stock->n_firsts > 0 ? stock->firsts[0].size : 0;
        if (stock->cap - least > kind->max_cap)
            kind->max_cap = stock->cap - least;
        divisor = dw_gcd__i64(divisor, stock->cap);
        for (size_t f = 0; f < stock->n_firsts; f++) {
            divisor = dw_gcd__i64(divisor, stock->firsts[f].size);
            divisor = dw_gcd__i64(divisor, stock->firsts[f].slack);
        }
    }
    for (size_t i = 0; i < kind->n_items; i++) {
        divisor = dw_gcd__i64(divisor, p->items[kind->items[i]].size);
        divisor = dw_gcd__i64(divisor, p->items[kind->items[i]].slack);
    }
    return divisor > 0 ? divisor : 1;
}

/* The rule of the most pieces, where more of them would go on a bar. */
static int64_t most_pieces(const struct dw_problem *p, const struct dw_bar_kind *kind, size_t q)
{
    int64_t fit = 0, x = kind->max_cap;
    for (size_t j = kind->n_items; j-- > 0;) {
        const struct dw_item *item = &p->items[kind->items[j]];
        int64_t count = x / item->size < item->count ? x / item->size : item->count;
        fit += count;
        x -= count * item->size;
    }
    for (size_t k = 0; k < p->n_stocks; k++)
        if (p->stocks[k].kind == q && p->stocks[k].n_firsts > 0)
            return fit + 1 > p->most_pieces ? p->most_pieces : DW_ANY_PIECES;
    return fit > p->most_pieces ? p->most_pieces : DW_ANY_PIECES;
}

/* Items without slack first: what slack gains is asked at the end of a layout only. */
static bool make_order(struct build *b, struct dw_bar_kind *kind)
{
    const struct dw_problem *p = b->problem;
    kind->order = dw_arena__alloc(b->arena, p->n_items, sizeof *kind->order);
    if (!kind->order)
        return false;
    size_t n = 0;
    for (size_t j = 0; j < kind->n_items; j++)
        if (p->items[kind->items[j]].slack == 0)
            kind->order[n++] = kind->items[j];
    kind->n_firm = n;
    for (size_t j = 0; j < kind->n_items; j++)
        if (p->items[kind->items[j]].slack > 0)
            kind->order[n++] = kind->items[j];
    return true;
}

static bool has_few_slack(const struct dw_problem *p, const struct dw_bar_kind *kind, size_t q)
{
    int64_t ways = 1;
    for (size_t j = kind->n_firm; j < kind->n_items && ways <= MAX_WAYS; j++) {
        const struct dw_item *item = &p->items[kind->order[j]];
        int64_t most = kind->max_cap / item->size;
        ways *= (item->count < most ? item->count : most) + 1;
    }
    for (size_t k = 0; k < p->n_stocks; k++)
        for (size_t f = 0; f < p->stocks[k].n_firsts; f++)
            if (p->stocks[k].kind == q && p->stocks[k].firsts[f].slack > 0)
                return false;
    return ways <= MAX_WAYS;
}

/* A grid if it is small enough, else points, else a coarse grid; so many times over as there are
 * numbers of pieces to be told apart. With too many of these the tables do not count pieces. */
static bool choose_table(struct dw_problem *p, struct dw_bar_kind *kind, size_t q)
{
    int64_t divisor = measure_kind(p, kind, q);
    kind->most = most_pieces(p, kind, q);
    bool limited = kind->most < DW_ANY_PIECES;
    bool counted = limited && kind->most < MAX_LAYERS / (int64_t)(kind->n_items + 1);
    bool uncounted = limited && !counted;
    kind->n_layers = counted ? (size_t)kind->most + 1 : 1;
    int64_t most = MAX_TABLE / (int64_t)(kind->n_items + 1) / (int64_t)kind->n_layers;
    most = most > MAX_CELLS ? MAX_CELLS : most < MIN_CELLS ? MIN_CELLS : most;
    kind->few_slack = has_few_slack(p, kind, q);
    kind->cell = divisor;
    kind->n_cells = (size_t)(kind->max_cap / divisor) + 1;
    if (kind->max_cap / divisor + 1 <= most && !uncounted)
        return true;
    if (kind->few_slack && !uncounted &&
        !dw_points__make(p, q, MAX_POINTS / kind->n_layers, &kind->points))
        return false;
    if (kind->points) {
        kind->n_cells = kind->points->n;
        return true;
    }
    kind->cell = kind->max_cap / (most - 1) + 1;
    kind->coarse = true;
    kind->few_slack = false; /* coarse tables have a row for every item */
    kind->n_cells = (size_t)(kind->max_cap / kind->cell) + 1;
    return true;
}

static bool make_kind(struct build *b, size_t q)
{
    struct dw_problem *p = b->problem;
    struct dw_bar_kind *kind = &p->kinds[q];
    kind->items = dw_arena__alloc(b->arena, p->n_items, sizeof *kind->items);
    if (!kind->items)
        return false;
    for (size_t i = 0; i < p->n_items; i++)
        if (accepts(p, &p->items[i], kind->material))
            kind->items[kind->n_items++] = i;
    dw_bar_kind__cap(p, kind);
    return make_order(b, kind) && choose_table(p, kind, q);
}

/* --- credits ------------------------------------------------------------------------------ */

bool dw_bar_kind__credits(const struct dw_problem *problem, struct dw_bar_kind *kind)
{
    kind->kept = dw_arena__alloc(problem->arena, kind->n_cells, sizeof *kind->kept);
    kind->thrown = dw_arena__alloc(problem->arena, kind->n_cells, sizeof *kind->thrown);
    if (!kind->kept || !kind->thrown)
        return false;
    for (size_t x = 0; x < kind->n_cells; x++) {
        int64_t nm = dw_bar_kind__nm(kind, x);
        kind->kept[x] = dw_bar_kind__kept(problem, kind, nm);
        bool choice = problem->max_kept != DW_UNLIMITED || kind->kept[x] == DW_NEVER;
        kind->thrown[x] = choice ? dw_bar_kind__thrown(problem, kind, nm) : DW_NEVER;
    }
    return true;
}

bool dw_problem__credits(struct dw_problem *p)
{
    for (size_t q = 0; q < p->n_kinds; q++) {
        p->kinds[q].kept = p->kinds[q].thrown = NULL;
        if (!p->kinds[q].coarse && !dw_bar_kind__credits(p, &p->kinds[q]))
            return false;
    }
    return true;
}

/* --- parts that no supply can give -------------------------------------------------------- */

/* The greatest capacity of straight bars of each material. length n_materials; NULL: no memory. */
static int64_t *straight_room(const struct build *b)
{
    int64_t *room = calloc(b->job->n_materials + 1, sizeof *room);
    for (size_t k = 0; room && k < b->job->n_supplies; k++) {
        const struct dw_supply *supply = &b->job->supplies[k];
        int64_t x = capacity(b->problem, supply);
        if (supply->bend == 0 && dw_supply__count(supply) != 0 && x > room[supply->material])
            room[supply->material] = x;
    }
    return room;
}

static bool bent_gives(const struct dw_problem *p, const struct dw_supply *supply,
                       const struct dw_part *part)
{
    int64_t room = capacity(p, supply), size = part->min + p->kerf, bend = supply->bend + p->kerf;
    if (supply->bend == 0 || dw_supply__count(supply) == 0)
        return false;
    for (size_t i = 0; i < part->n_materials; i++) {
        size_t m = part->materials[i];
        if (m == supply->material && part->max >= supply->bend &&
            (size > bend ? size : bend) <= room)
            return true;
        if (m == supply->tail_material && size + bend <= room)
            return true;
    }
    return false;
}

/* Marks the parts that fit no supply; posts that fit none are simply left out. false: no memory.
 * Cost: O(supplies + parts (materials + end-bent supplies)). */
static bool mark_never(struct build *b)
{
    const struct dw_job *job = b->job;
    int64_t *room = straight_room(b);
    bool any_bent = false;
    for (size_t k = 0; k < job->n_supplies; k++)
        any_bent = any_bent || job->supplies[k].bend > 0;
    for (size_t i = 0; room && i < job->n_parts; i++) {
        const struct dw_part *part = &job->parts[i];
        if (b->group_of[part->materials[0]] != b->group)
            continue;
        b->problem->n_all += part->count;
        b->never[i] = true;
        for (size_t m = 0; m < part->n_materials; m++)
            if (part->min + b->problem->kerf <= room[part->materials[m]])
                b->never[i] = false;
        for (size_t k = 0; any_bent && k < job->n_supplies && b->never[i]; k++)
            if (bent_gives(b->problem, &job->supplies[k], part))
                b->never[i] = false;
    }
    bool ok = room != NULL;
    free(room);
    return ok;
}

/* Gcd of all money that can occur, credits of leftovers taken from the tables. */
static dw_money finer_grid(const struct dw_problem *p)
{
    dw_money grid = p->cut_cost;
    for (size_t i = 0; i < p->n_items; i++)
        grid = dw_gcd__i64(grid, p->items[i].worth);
    for (size_t k = 0; k < p->n_stocks; k++)
        for (size_t m = 0; m < p->stocks[k].n_members; m++) {
            const struct dw_supply *supply = &p->job->supplies[p->stocks[k].members[m]];
            grid = dw_gcd__i64(grid, supply->price);
            grid = dw_gcd__i64(grid, dw_supply_handling(&p->job->saw, supply));
            for (size_t i = 0; i < supply->n_breaks; i++)
                grid = dw_gcd__i64(grid, supply->breaks[i].price);
        }
    for (size_t q = 0; q < p->n_kinds && grid != 1; q++) {
        if (p->kinds[q].coarse)
            return p->stated;
        for (size_t x = 0; x < p->kinds[q].n_cells && grid != 1; x++)
            if (p->kinds[q].kept[x] != DW_NEVER)
                grid = dw_gcd__i64(grid, p->kinds[q].kept[x]);
    }
    return grid > 0 ? grid : p->stated;
}

/* Whether surplus could make a plan cheaper, were it allowed: by a leftover that earns more than
 * its bar costs, or as a way out of a middling leftover. */
static bool surplus_gains(const struct dw_problem *p)
{
    if (p->job->rules.no_middling)
        return true;
    for (size_t k = 0; k < p->n_stocks; k++) {
        const struct dw_bar_stock *stock = &p->stocks[k];
        const struct dw_bar_kind *kind = &p->kinds[stock->kind];
        int64_t r = dw_bar_kind__leftover(p, kind, stock->cap);
        /* A surplus bent part may fill a bar exactly where the bend end does not. */
        if (stock->n_firsts > 0 && dw_problem__saves_cut(p))
            return true;
        /* One more bar of a paid pack costs nothing. */
        dw_money least = stock->stepped ? 0 : stock->price + stock->fixed;
        if (least < dw_bar_kind__worth(p, kind, r))
            return true;
    }
    return false;
}

/* --- all of it ---------------------------------------------------------------------------- */

static bool fill(struct build *b)
{
    struct keyed *keyed = calloc(b->job->n_parts + 1, sizeof *keyed);
    struct keyed_supply *supplies = calloc(b->job->n_supplies + 1, sizeof *supplies);
    bool ok = keyed && supplies && mark_never(b) && make_items(b, keyed, select_parts(b, keyed)) &&
              make_stocks(b, supplies, select_supplies(b, supplies));
    for (size_t q = 0; ok && q < b->problem->n_kinds; q++)
        ok = make_kind(b, q);
    free(keyed);
    free(supplies);
    return ok && dw_problem__credits(b->problem);
}

/* Whether a piece may end where its bar does, and so save the last cut's money. */
static bool may_save_cut(const struct dw_job *job)
{
    bool may = false;
    for (size_t k = 0; k < job->n_supplies && !may; k++)
        may = dw_supply_tail(&job->saw, &job->supplies[k]) == 0;
    return may && job->saw.cut_cost > 0;
}

dw_err dw_problem__new(const struct dw_job *job, const size_t *group_of, size_t group,
                       struct dw_arena *arena, bool *never, struct dw_problem **out,
                       struct dw_error *error)
{
    *out = NULL;
    struct dw_problem *p = dw_arena__alloc(arena, 1, sizeof *p);
    if (!p)
        return dw_error__nomem(error);
    p->job = job;
    p->arena = arena;
    p->cut_cost = job->saw.cut_cost;
    p->kerf = job->saw.kerf;
    p->max_kept = job->rules.max_new_offcuts;
    p->most_pieces =
        job->rules.most_pieces == DW_UNLIMITED ? DW_ANY_PIECES : job->rules.most_pieces;
    struct build b = {job, group_of, group, never, arena, p, false};
    b.slack_matters = may_save_cut(job) || job->rules.no_middling;
    if (!fill(&b))
        return dw_error__nomem(error);
    p->stated = dw_problem__grid(p, group_of, group);
    p->grid = finer_grid(p);
    p->equal = surplus_gains(p);
    *out = p;
    return DW_OK;
}

bool dw_problem__counts_pieces(const struct dw_problem *problem)
{
    for (size_t q = 0; q < problem->n_kinds; q++)
        if (problem->kinds[q].most < DW_ANY_PIECES)
            return true;
    return false;
}
