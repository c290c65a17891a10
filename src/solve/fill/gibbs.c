/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Sweeps over the types, on one pair of tables, forward and backward, and drawing from them. */
#include "solve/fill/gibbs.h"

#include "solve/budget/random.h"
#include "solve/fill/vec.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { MOST_COPIES = 128 }; /* of one type on one bar; more are left to the other stages */
static const double LEAST_WASTE = 1e-9, MOST_WASTE = 1.6; /* of a cell of waste */

struct kind {
    size_t type;
    size_t cells; /* length in cells */
    size_t top;   /* copies a layout may have */
    double share; /* d_i / bars */
};

struct dw_gibbs {
    int64_t capacity;
    size_t n;
    const int64_t *size; /* borrowed, length n */
    size_t cells;        /* capacity in cells */
    double *w;           /* length n: weight of one copy */
    double u;            /* weight of one cell of waste */

    size_t n_kinds;     /* types still asked for */
    struct kind *kinds; /* length n */
    int64_t bars;
    int64_t most_waste; /* of a bar */
    int64_t waste;      /* of all */
    size_t slack;       /* cells of waste of a bar */
    double z;           /* sum over the layouts */

    double *forward;  /* (n + 1) rows of cells + 1: sums over the first j kinds by cells used */
    double *backward; /* length cells + 1: by cells used before, sums over the other kinds */
    double *total;    /* length cells + 1: cumulated over the waste */
    double power[MOST_COPIES + 1]; /* scratch: w^k */
    double sum[MOST_COPIES + 1];   /* scratch */
};

/* --- making --------------------------------------------------------------------------------- */

static size_t copies(const struct dw_gibbs *gibbs, size_t type, int64_t demand)
{
    int64_t fit = gibbs->capacity / gibbs->size[type];
    if (fit > demand)
        fit = demand;
    return fit > MOST_COPIES ? MOST_COPIES : (size_t)fit;
}

static size_t to_cells(const struct dw_gibbs *gibbs, int64_t length)
{
    if ((int64_t)gibbs->cells == gibbs->capacity)
        return (size_t)length;
    double cells = (double)length * (double)gibbs->cells / (double)gibbs->capacity;
    return (size_t)(cells + 0.5);
}

struct dw_gibbs *dw_gibbs__new(int64_t capacity, size_t n, const int64_t *size,
                               const int64_t *demand)
{
    struct dw_gibbs *gibbs = calloc(1, sizeof *gibbs);
    int64_t cells = capacity <= DW_GIBBS_CELLS ? capacity : DW_GIBBS_COARSE;
    int64_t most = DW_GIBBS_TABLE / ((int64_t)n + 1);
    if (cells > most && capacity > DW_GIBBS_CELLS)
        cells = most;
    if (!gibbs || cells > most || cells < 1) {
        free(gibbs);
        return NULL;
    }
    *gibbs = (struct dw_gibbs){.capacity = capacity, .n = n, .size = size, .u = 1};
    gibbs->cells = (size_t)cells;
    size_t row = gibbs->cells + 1;
    gibbs->w = malloc((n + 1) * sizeof *gibbs->w);
    gibbs->kinds = malloc((n + 1) * sizeof *gibbs->kinds);
    gibbs->forward = malloc((n + 1) * row * sizeof(double));
    gibbs->backward = malloc(row * sizeof(double));
    gibbs->total = malloc(row * sizeof(double));
    if (!gibbs->w || !gibbs->kinds || !gibbs->forward || !gibbs->backward || !gibbs->total) {
        dw_gibbs__free(gibbs);
        return NULL;
    }
    for (size_t i = 0; i < n; i++)
        gibbs->w[i] = demand[i] > 0 ? 0.1 : 0;
    return gibbs;
}

void dw_gibbs__free(struct dw_gibbs *gibbs)
{
    if (!gibbs)
        return;
    free(gibbs->w);
    free(gibbs->kinds);
    free(gibbs->forward);
    free(gibbs->backward);
    free(gibbs->total);
    free(gibbs);
}

void dw_gibbs__target(struct dw_gibbs *gibbs, const int64_t *demand, int64_t bars,
                      int64_t most_waste, int64_t waste)
{
    gibbs->n_kinds = 0;
    gibbs->bars = bars;
    gibbs->most_waste = most_waste;
    gibbs->waste = waste;
    gibbs->slack = to_cells(gibbs, most_waste < gibbs->capacity ? most_waste : gibbs->capacity);
    for (size_t i = 0; i < gibbs->n; i++)
        if (demand[i] > 0)
            gibbs->kinds[gibbs->n_kinds++] =
                (struct kind){.type = i,
                              .cells = to_cells(gibbs, gibbs->size[i]),
                              .top = copies(gibbs, i, demand[i]),
                              .share = (double)demand[i] / (double)bars};
}

double *dw_gibbs__weights(struct dw_gibbs *gibbs)
{
    return gibbs->w;
}

double dw_gibbs__waste_weight(const struct dw_gibbs *gibbs)
{
    return gibbs->u;
}

int64_t dw_gibbs__cost(const struct dw_gibbs *gibbs)
{
    int64_t steps = 0;
    for (size_t j = 0; j < gibbs->n_kinds; j++)
        steps += 1 + (int64_t)gibbs->kinds[j].top;
    return 1 + steps * (int64_t)gibbs->cells / 1000;
}

/* --- tables --------------------------------------------------------------------------------- */

static double *row(const struct dw_gibbs *gibbs, size_t j)
{
    return gibbs->forward + j * (gibbs->cells + 1);
}

static void powers(struct dw_gibbs *gibbs, const struct kind *kind)
{
    gibbs->power[0] = 1;
    for (size_t k = 1; k <= kind->top; k++)
        gibbs->power[k] = gibbs->power[k - 1] * gibbs->w[kind->type];
}

/* row j + 1 [t] = sum_k w_j^k row j [t - k l_j] */
static void fill_forward(struct dw_gibbs *gibbs)
{
    size_t n = gibbs->cells + 1;
    double *first = row(gibbs, 0);
    memset(first, 0, n * sizeof *first);
    first[0] = 1;
    for (size_t j = 0; j < gibbs->n_kinds; j++) {
        const struct kind *kind = &gibbs->kinds[j];
        powers(gibbs, kind);
        dw_vec__convolve(row(gibbs, j + 1), row(gibbs, j), n, kind->cells, gibbs->power, kind->top);
    }
}

/* Sum over the layouts by what they leave; *mean and *square: of the waste, weighted. */
static double sum_waste(const struct dw_gibbs *gibbs, double *mean, double *square)
{
    const double *last = row(gibbs, gibbs->n_kinds);
    double z = last[gibbs->cells], power = gibbs->u;
    *mean = *square = 0;
    for (size_t r = 1; r <= gibbs->slack; r++, power *= gibbs->u) {
        double p = last[gibbs->cells - r] * power;
        z += p;
        *mean += p * (double)r;
        *square += p * (double)r * (double)r;
    }
    return z;
}

static double within(double x, double low, double high)
{
    return x < low ? low : x > high ? high : x;
}

/* One Newton step on log u for the mean waste, a short one; u stays within [e^-20, e^0.5] a cell.
 * false: no layout is left. */
static bool fit_waste(struct dw_gibbs *gibbs)
{
    double mean, square;
    double z = gibbs->z = sum_waste(gibbs, &mean, &square);
    if (!(z > 0) || !isfinite(square))
        return false;
    mean /= z;
    const double variance = square / z - mean * mean;
    const double cell = (double)gibbs->capacity / (double)gibbs->cells;
    const double more = (double)gibbs->waste / cell / (double)gibbs->bars - mean;
    const double most = 2 / (1 + sqrt(variance));
    if (variance > 1e-9)
        gibbs->u *= exp(within(more / variance, fmax(-most, log(LEAST_WASTE / gibbs->u)),
                               fmin(most, log(MOST_WASTE / gibbs->u))));
    return true;
}

/* backward[t] = weight of ending with t cells used so far and nothing more. */
static void end_backward(struct dw_gibbs *gibbs)
{
    double power = 1;
    memset(gibbs->backward, 0, (gibbs->cells + 1) * sizeof(double));
    for (size_t r = 0; r <= gibbs->slack; r++, power *= gibbs->u)
        gibbs->backward[gibbs->cells - r] = power;
}

/* --- fitting -------------------------------------------------------------------------------- */

/* Mean of k under the weights sum_k w^k, and its variance. */
static double mean_copies(const double *sum, size_t top, double w, double *variance)
{
    double z = 0, mean = 0, square = 0, power = 1;
    for (size_t k = 0; k <= top; k++, power *= w) {
        z += sum[k] * power;
        mean += (double)k * sum[k] * power;
        square += (double)k * (double)k * sum[k] * power;
    }
    mean /= z;
    *variance = square / z - mean * mean;
    return mean;
}

static const double LEAST_WEIGHT = 1e-30, MOST_WEIGHT = 1e30;

/* The w with mean number of copies = share; closed form for one copy, else Newton on log w. */
static double fit_weight(const double *sum, size_t top, double w, double share)
{
    if (top == 1) {
        double odds = share < 1 ? share / (1 - share) : MOST_WEIGHT;
        return fmin(fmax(odds * sum[0] / sum[1], LEAST_WEIGHT), MOST_WEIGHT);
    }
    for (int round = 0; round < 30; round++) {
        double variance = 0;
        double mean = mean_copies(sum, top, w, &variance);
        double step = variance > 1e-12 ? (share - mean) / variance : share > mean ? 1 : -1;
        step = fmin(fmax(step, -1.5), 1.5);
        w = fmin(fmax(w * exp(step), LEAST_WEIGHT), MOST_WEIGHT);
        if (fabs(step) < 1e-6)
            break;
    }
    return w;
}

/* Fits kind j given the others. Its relative error before; negative: no layout has it. */
static double fit_kind(struct dw_gibbs *gibbs, size_t j)
{
    struct kind *kind = &gibbs->kinds[j];
    double *w = &gibbs->w[kind->type], variance = 0;
    dw_vec__dots(row(gibbs, j), gibbs->backward, gibbs->cells + 1, kind->cells, gibbs->sum,
                 kind->top);
    double some = 0;
    for (size_t k = 1; k <= kind->top; k++)
        some += gibbs->sum[k];
    if (!(some > 0) || !isfinite(some + gibbs->sum[0]))
        return -1;
    double mean = mean_copies(gibbs->sum, kind->top, *w, &variance);
    *w = fit_weight(gibbs->sum, kind->top, *w, kind->share);
    powers(gibbs, kind);
    dw_vec__correlate(gibbs->backward, gibbs->cells + 1, kind->cells, gibbs->power, kind->top);
    return fabs(mean - kind->share) / kind->share;
}

double dw_gibbs__sweep(struct dw_gibbs *gibbs)
{
    fill_forward(gibbs);
    if (!fit_waste(gibbs))
        return -1;
    end_backward(gibbs);
    double error = 0;
    for (size_t j = gibbs->n_kinds; j > 0; j--) {
        double one = fit_kind(gibbs, j - 1);
        if (one < 0)
            return -1;
        error += one;
    }
    return error / (double)gibbs->n_kinds;
}

/* --- drawing -------------------------------------------------------------------------------- */

bool dw_gibbs__ready(struct dw_gibbs *gibbs)
{
    double mean, square;
    fill_forward(gibbs);
    gibbs->z = sum_waste(gibbs, &mean, &square);
    if (!(gibbs->z > 0) || !isfinite(gibbs->z))
        return false;
    const double *last = row(gibbs, gibbs->n_kinds);
    double z = last[gibbs->cells], power = gibbs->u;
    gibbs->total[0] = z;
    for (size_t r = 1; r <= gibbs->slack; r++, power *= gibbs->u)
        gibbs->total[r] = z += last[gibbs->cells - r] * power;
    return true;
}

/* First r with total[r] > chance; total does not decrease. */
static size_t draw_waste(const struct dw_gibbs *gibbs, double chance)
{
    size_t low = 0, high = gibbs->slack;
    while (low < high) {
        size_t middle = (low + high) / 2;
        if (gibbs->total[middle] > chance)
            high = middle;
        else
            low = middle + 1;
    }
    return low;
}

/* Copies of kind j in a layout that uses t cells after it. */
static size_t draw_copies(struct dw_gibbs *gibbs, size_t j, size_t t, uint64_t *seed)
{
    const struct kind *kind = &gibbs->kinds[j];
    const double *before = row(gibbs, j);
    double chance = dw_random__uniform(seed) * row(gibbs, j + 1)[t], power = 1;
    size_t k = 0;
    for (; k < kind->top && (k + 1) * kind->cells <= t; k++) {
        chance -= power * before[t - k * kind->cells];
        if (chance < 0)
            return k;
        power *= gibbs->w[kind->type];
    }
    return before[t - k * kind->cells] > 0 ? k : 0;
}

size_t dw_gibbs__draw(struct dw_gibbs *gibbs, uint64_t *seed, struct dw_type_count *items,
                      int64_t *waste, double *expected)
{
    double z = gibbs->total[gibbs->slack];
    size_t r = draw_waste(gibbs, dw_random__uniform(seed) * z);
    size_t t = gibbs->cells - r, n = 0;
    double weight = r > 0 ? pow(gibbs->u, (double)r) : 1;
    *waste = gibbs->capacity;
    for (size_t j = gibbs->n_kinds; j > 0 && t > 0; j--) {
        const struct kind *kind = &gibbs->kinds[j - 1];
        size_t k = draw_copies(gibbs, j - 1, t, seed);
        if (k == 0)
            continue;
        t -= k * kind->cells;
        weight *= pow(gibbs->w[kind->type], (double)k);
        *waste -= (int64_t)k * gibbs->size[kind->type];
        items[n++] = (struct dw_type_count){kind->type, (int64_t)k};
    }
    *expected = weight / z * (double)gibbs->bars;
    for (size_t i = 0; i < n / 2; i++) {
        struct dw_type_count swap = items[i];
        items[i] = items[n - 1 - i];
        items[n - 1 - i] = swap;
    }
    return t == 0 && *waste >= 0 && *waste <= gibbs->most_waste ? n : 0;
}
