/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Bars, layouts, takes, certificates and statuses of a plan, out of what the groups found. */
#include "solve/assemble.h"

#include <stdlib.h>
#include <string.h>

struct assembly {
    const struct dw_problem *p;
    const struct dw_job *job;
    struct dw_plan *plan;
    struct dw_layouts *out;
    size_t group;
    int64_t *part_left;   /* length n_parts: pieces still to be handed out */
    int64_t *supply_left; /* length n_supplies; DW_UNLIMITED */
    size_t n, capacity;
    struct dw_piece *pieces; /* length n: of one bar, bent piece or bend end first */
    bool fixed_first;        /* the first piece stays in front */
};

/* --- who gets the pieces ------------------------------------------------------------------ */

static bool push(struct assembly *a, enum dw_use use, size_t part, int64_t length, int64_t count)
{
    if (!dw_array__grow(&a->pieces, &a->capacity, a->n + 1, sizeof *a->pieces))
        return false;
    a->pieces[a->n++] = (struct dw_piece){use, part, length, count};
    return true;
}

/* What is left of a part when the pieces already on this bar are taken off. */
static int64_t left_of(const struct assembly *a, size_t part)
{
    int64_t left = a->part_left[part];
    for (size_t i = 0; i < a->n; i++)
        if (a->pieces[i].part == part && a->pieces[i].use != DW_USE_SURPLUS)
            left -= a->pieces[i].count;
    return left;
}

static bool on_bar(const struct assembly *a, const char *section)
{
    for (size_t i = 0; i < a->n; i++) {
        const char *other =
            a->pieces[i].part == DW_NONE ? NULL : a->job->parts[a->pieces[i].part].section;
        if (section && other && strcmp(section, other) == 0)
            return true;
    }
    return false;
}

/* The member that gets the next pieces: one of a section that is on the bar, one with enough left,
 * the first one. */
static size_t choose_member(const struct assembly *a, const struct dw_item *item, int64_t count)
{
    size_t best = DW_NONE;
    int best_rank = -1;
    for (size_t m = 0; m < item->n_members; m++) {
        int64_t left = left_of(a, item->members[m]);
        int rank = 2 * on_bar(a, a->job->parts[item->members[m]].section) + (left >= count);
        if (left > 0 && rank > best_rank) {
            best = item->members[m];
            best_rank = rank;
        }
    }
    return best;
}

static bool give(struct assembly *a, size_t i, int64_t length, int64_t count)
{
    const struct dw_item *item = &a->p->items[i];
    while (count > 0) {
        size_t part = choose_member(a, item, count);
        if (part == DW_NONE)
            return push(a, DW_USE_SURPLUS, item->members[0], length, count);
        int64_t left = left_of(a, part), take = left < count ? left : count;
        if (!push(a, item->post ? DW_USE_POST : DW_USE_PART, part, length, take))
            return false;
        count -= take;
    }
    return true;
}

/* --- one bar ------------------------------------------------------------------------------ */

/* Lengthens pieces, one after the other, until `slack` is used up. */
static bool stretch(struct assembly *a, int64_t slack)
{
    for (size_t i = 0; i < a->n && slack > 0; i++) {
        struct dw_piece piece = a->pieces[i];
        if (piece.part == DW_NONE)
            continue;
        int64_t room = a->job->parts[piece.part].max - piece.length;
        int64_t full = room > 0 ? slack / room : 0;
        if (room <= 0)
            continue;
        full = full < piece.count ? full : piece.count;
        int64_t part_of = full < piece.count ? slack - full * room : 0;
        int64_t plain = piece.count - full - (part_of > 0);
        slack -= full * room + part_of;
        a->pieces[i].length = full > 0 ? piece.length + room : piece.length + part_of;
        a->pieces[i].count = full > 0 ? full : 1;
        if (full > 0 && part_of > 0 && !push(a, piece.use, piece.part, piece.length + part_of, 1))
            return false;
        if (plain > 0 && !push(a, piece.use, piece.part, piece.length, plain))
            return false;
        if (full == 0)
            break;
    }
    return true;
}

static bool fill_bar(struct assembly *a, const struct dw_col *col)
{
    const struct dw_bar_stock *stock = &a->p->stocks[col->stock];
    size_t first_item = DW_NONE;
    a->n = 0;
    a->fixed_first = col->first != DW_NONE;
    if (col->first != DW_NONE) {
        const struct dw_first *first = &stock->firsts[col->first];
        first_item = first->item;
        int64_t length = first->size - a->p->kerf;
        if (!(first_item == DW_NONE ? push(a, DW_USE_BEND_END, DW_NONE, length, 1)
                                    : give(a, first_item, length, 1)))
            return false;
    }
    for (size_t i = 0; i < col->n; i++) {
        size_t item = col->entries[i].item;
        int64_t count = col->entries[i].count - (item == first_item);
        if (count > 0 && !give(a, item, a->p->items[item].size - a->p->kerf, count))
            return false;
    }
    return stretch(a, col->slack);
}

static bool measured(const struct dw_job *job, const struct dw_piece *piece)
{
    return piece->part != DW_NONE && job->parts[piece->part].measure_first;
}

/* Insertion sort: longest first, equal lengths together, measured pieces last. */
static void sort_pieces(struct assembly *a)
{
    for (size_t i = a->fixed_first ? 2 : 1; i < a->n; i++) {
        struct dw_piece piece = a->pieces[i];
        size_t j = i;
        for (; j > (a->fixed_first ? 1u : 0u); j--) {
            const struct dw_piece *before = &a->pieces[j - 1];
            bool late = measured(a->job, before), own = measured(a->job, &piece);
            bool after = own != late                      ? late
                         : before->length != piece.length ? before->length < piece.length
                         : before->use != piece.use       ? before->use > piece.use
                                                          : before->part > piece.part;
            if (!after)
                break;
            a->pieces[j] = *before;
        }
        a->pieces[j] = piece;
    }
    size_t n = 0;
    for (size_t i = 0; i < a->n; i++) {
        struct dw_piece *last = n > 0 ? &a->pieces[n - 1] : NULL;
        bool same = last && last->use == a->pieces[i].use && last->part == a->pieces[i].part &&
                    last->length == a->pieces[i].length && !(a->fixed_first && n == 1);
        if (same)
            last->count += a->pieces[i].count;
        else
            a->pieces[n++] = a->pieces[i];
    }
    a->n = n;
}

/* How often the bar can be cut with just these parts on it. */
static int64_t repeats(const struct assembly *a, int64_t count)
{
    for (size_t i = 0; i < a->n; i++) {
        size_t part = a->pieces[i].part;
        if (part == DW_NONE || a->pieces[i].use == DW_USE_SURPLUS)
            continue;
        int64_t on_one = a->pieces[i].count;
        for (size_t j = 0; j < a->n; j++)
            if (j != i && a->pieces[j].part == part && a->pieces[j].use != DW_USE_SURPLUS)
                on_one += a->pieces[j].count;
        int64_t times = a->part_left[part] / on_one;
        count = times < count ? times : count;
    }
    return count;
}

static size_t choose_supply(const struct assembly *a, const struct dw_bar_stock *stock)
{
    for (size_t m = 0; m < stock->n_members; m++)
        if (a->supply_left[stock->members[m]] != 0)
            return stock->members[m];
    return DW_NONE;
}

static bool emit(struct assembly *a, const struct dw_col *col, size_t supply, int64_t count)
{
    struct dw_layouts *out = a->out;
    struct dw_piece *pieces = dw_plan_alloc(a->plan, a->n, sizeof *pieces);
    if (!pieces || !dw_array__grow(&out->layouts, &out->capacity, out->n + 1, sizeof *out->layouts))
        return false;
    if (a->n > 0)
        memcpy(pieces, a->pieces, a->n * sizeof *pieces);
    int64_t left = dw_bar_kind__leftover(a->p, &a->p->kinds[a->p->stocks[col->stock].kind],
                                         col->left - col->slack);
    out->layouts[out->n++] = (struct dw_layout){.supply = supply,
                                                .group = a->group,
                                                .count = count,
                                                .n_pieces = a->n,
                                                .pieces = pieces,
                                                .rest = left == 0   ? DW_REST_NONE
                                                        : col->kept ? DW_REST_KEPT
                                                                    : DW_REST_SCRAP,
                                                .leftover = left};
    for (size_t i = 0; i < a->n; i++)
        if (pieces[i].part != DW_NONE && pieces[i].use != DW_USE_SURPLUS)
            a->part_left[pieces[i].part] -= pieces[i].count * count;
    if (a->supply_left[supply] != DW_UNLIMITED)
        a->supply_left[supply] -= count;
    return true;
}

static dw_err emit_use(struct assembly *a, const struct dw_use_col *use, struct dw_error *error)
{
    int64_t count = use->count;
    while (count > 0) {
        size_t supply = choose_supply(a, &a->p->stocks[use->col->stock]);
        if (supply == DW_NONE)
            return dw_error__set(error, DW_ERR_INTERNAL, "more bars were planned than there are");
        if (!fill_bar(a, use->col))
            return dw_error__nomem(error);
        sort_pieces(a);
        int64_t times = count;
        if (a->supply_left[supply] != DW_UNLIMITED && a->supply_left[supply] < times)
            times = a->supply_left[supply];
        times = repeats(a, times);
        if (!emit(a, use->col, supply, times))
            return dw_error__nomem(error);
        count -= times;
    }
    return DW_OK;
}

dw_err dw_assemble__group(const struct dw_problem *problem, const struct dw_solution *solution,
                          size_t group, struct dw_plan *plan, struct dw_layouts *out,
                          struct dw_error *error)
{
    const struct dw_job *job = problem->job;
    struct assembly a = {.p = problem, .job = job, .plan = plan, .out = out, .group = group};
    a.part_left = calloc(job->n_parts + 1, sizeof *a.part_left);
    a.supply_left = calloc(job->n_supplies + 1, sizeof *a.supply_left);
    dw_err code = a.part_left && a.supply_left ? DW_OK : dw_error__nomem(error);
    for (size_t i = 0; code == DW_OK && i < job->n_parts; i++)
        a.part_left[i] = job->parts[i].count;
    for (size_t k = 0; code == DW_OK && k < job->n_supplies; k++)
        a.supply_left[k] = dw_supply__count(&job->supplies[k]);
    for (size_t u = 0; code == DW_OK && u < solution->n; u++)
        code = emit_use(&a, &solution->uses[u], error);
    free(a.part_left);
    free(a.supply_left);
    free(a.pieces);
    return code;
}

/* --- the order of cutting ----------------------------------------------------------------- */

/* Tube by tube, the longest piece first, so that one that is spoiled becomes a shorter one (common
 * practice); what is measured on site comes last. */

struct placed {
    const struct dw_job *job;
    struct dw_layout layout;
    size_t order;
    bool late;         /* has pieces that are measured first */
    dw_length longest; /* piece */
};

static int compare_size(size_t a, size_t b)
{
    return (a > b) - (a < b);
}

static int compare_pieces(const struct dw_layout *a, const struct dw_layout *b)
{
    for (size_t i = 0; i < a->n_pieces && i < b->n_pieces; i++) {
        const struct dw_piece *p = &a->pieces[i], *q = &b->pieces[i];
        if (p->length != q->length)
            return p->length > q->length ? -1 : 1;
        if (p->count != q->count)
            return p->count > q->count ? -1 : 1;
        int order = compare_size(p->use, q->use);
        if (!order)
            order = compare_size(p->part, q->part);
        if (order)
            return order;
    }
    return compare_size(a->n_pieces, b->n_pieces);
}

static int compare_placed(const void *a, const void *b)
{
    const struct placed *x = a, *y = b;
    const struct dw_supply *s = &x->job->supplies[x->layout.supply];
    const struct dw_supply *t = &y->job->supplies[y->layout.supply];
    int order = compare_size(x->late, y->late);
    if (!order)
        order = compare_size(x->layout.group, y->layout.group);
    if (!order)
        order = compare_size(s->material, t->material);
    if (!order && x->longest != y->longest)
        order = x->longest > y->longest ? -1 : 1;
    if (!order)
        order = compare_size(x->layout.supply, y->layout.supply);
    if (!order)
        order = compare_pieces(&x->layout, &y->layout);
    if (!order)
        order = compare_size(x->layout.rest, y->layout.rest);
    return order;
}

static int compare_stable(const void *a, const void *b)
{
    const struct placed *x = a, *y = b;
    int order = compare_placed(a, b);
    return order ? order : compare_size(x->order, y->order);
}

static struct placed place(const struct dw_job *job, const struct dw_layout *layout, size_t order)
{
    struct placed placed = {.job = job, .layout = *layout, .order = order};
    for (size_t i = 0; i < layout->n_pieces; i++) {
        placed.late |= measured(job, &layout->pieces[i]);
        if (layout->pieces[i].length > placed.longest)
            placed.longest = layout->pieces[i].length;
    }
    return placed;
}

dw_err dw_assemble__finish(const struct dw_job *job, struct dw_plan *plan,
                           struct dw_layouts *layouts, struct dw_error *error)
{
    struct placed *placed = calloc(layouts->n + 1, sizeof *placed);
    plan->layouts = dw_plan_alloc(plan, layouts->n + 1, sizeof *plan->layouts);
    bool ok = placed && plan->layouts;
    for (size_t i = 0; ok && i < layouts->n; i++)
        placed[i] = place(job, &layouts->layouts[i], i);
    if (ok)
        qsort(placed, layouts->n, sizeof *placed, compare_stable);
    for (size_t i = 0; ok && i < layouts->n; i++) {
        if (i > 0 && compare_placed(&placed[i - 1], &placed[i]) == 0)
            plan->layouts[plan->n_layouts - 1].count += placed[i].layout.count;
        else
            plan->layouts[plan->n_layouts++] = placed[i].layout;
    }
    free(placed);
    free(layouts->layouts);
    *layouts = (struct dw_layouts){0};
    return ok ? DW_OK : dw_error__nomem(error);
}
