/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Sets of layouts, and the search for so many layouts that give a demand exactly. */
#include "solve/plans/few_core.h"

#include <stdlib.h>

bool dw_few_set__make(struct dw_few_set *set, size_t room, size_t n)
{
    *set = (struct dw_few_set){.room = room};
    set->bars = calloc(room + 1, sizeof *set->bars);
    set->count = calloc(room * n + 1, sizeof *set->count);
    return set->bars && set->count;
}

void dw_few_set__free(struct dw_few_set *set)
{
    free(set->bars);
    free(set->count);
    *set = (struct dw_few_set){0};
}

dw_money dw_few__credit(const struct dw_few *few, int64_t left)
{
    const struct dw_problem *p = few->problem;
    const struct dw_bar_kind *kind = &p->kinds[p->stocks[few->stock].kind];
    dw_money kept = p->max_kept == DW_UNLIMITED ? dw_bar_kind__kept(p, kind, left) : DW_NEVER;
    return kept != DW_NEVER ? kept : dw_bar_kind__thrown(p, kind, left);
}

/* --- given how often ------------------------------------------------------------------------- */

struct fit {
    struct dw_few *few;
    const int64_t *demand;
    struct dw_few_set *out;
    int64_t steps_left;
};

static bool allowed(const struct fit *f)
{
    for (size_t k = 0; k < f->out->n_layouts; k++) {
        int64_t left = f->few->cap, pieces = 0;
        for (size_t i = 0; i < f->few->n; i++) {
            int64_t count = f->out->count[k * f->few->n + i];
            left -= count * f->few->size[i];
            pieces += count;
        }
        if (pieces == 0 || pieces > f->few->pieces || dw_few__credit(f->few, left) == DW_NEVER)
            return false;
    }
    return true;
}

/* room[k]: capacity left on layout k. `rest` pieces of length i go on the layouts from k on. */
static bool place(struct fit *f, size_t i, size_t k, int64_t rest, int64_t *room)
{
    const struct dw_few *few = f->few;
    if (i == few->n)
        return allowed(f);
    if (f->steps_left-- <= 0)
        return false;
    size_t last = f->out->n_layouts - 1;
    int64_t times = f->out->bars[k], *count = &f->out->count[k * few->n + i];
    int64_t most = room[k] / few->size[i], least = 0;
    most = rest / times < most ? rest / times : most;
    if (k == last) {
        if (rest % times != 0 || most < rest / times)
            return false;
        least = most;
    }
    for (int64_t c = most; c >= least; c--) {
        *count = c;
        room[k] -= c * few->size[i];
        bool done = k == last ? place(f, i + 1, 0, i + 1 < few->n ? f->demand[i + 1] : 0, room)
                              : place(f, i, k + 1, rest - c * times, room);
        if (done)
            return true;
        room[k] += c * few->size[i];
    }
    *count = 0;
    return false;
}

#define MOST_FIT 8

bool dw_few__fit(struct dw_few *few, const int64_t *demand, struct dw_few_set *out,
                 int64_t max_steps)
{
    struct fit f = {.few = few, .demand = demand, .out = out, .steps_left = max_steps};
    int64_t room[MOST_FIT];
    if (out->n_layouts == 0 || out->n_layouts > MOST_FIT || few->n == 0)
        return false;
    for (size_t k = 0; k < out->n_layouts; k++)
        room[k] = few->cap;
    bool done = place(&f, 0, 0, demand[0], room);
    few->steps += max_steps - f.steps_left + (int64_t)few->n;
    return done;
}
