/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Shares that add up, and prices by markup or margin. */
#include "cost/cost.h"

#include <stdlib.h>

/* --- largest remainder --------------------------------------------------------------------------
 */

struct remainder {
    uint64_t rest;
    size_t index;
};

static int by_rest(const void *a, const void *b)
{
    const struct remainder *x = a;
    const struct remainder *y = b;
    if (x->rest != y->rest)
        return x->rest > y->rest ? -1 : 1;
    return x->index < y->index ? -1 : x->index > y->index;
}

static bool sum_weights(size_t n, const int64_t *weights, int64_t *sum)
{
    *sum = 0;
    for (size_t i = 0; i < n; i++) {
        if (weights[i] < 0 || !dw_add__i64(*sum, weights[i], sum))
            return false;
    }
    return true;
}

/* q_i = floor(T w_i / W), remainder T w_i - q_i W (exact modulo 2^64, as it is below W). */
static int64_t share_floors(int64_t units, int64_t sum, size_t n, const int64_t *weights,
                            dw_money *shares, struct remainder *rests)
{
    int64_t left = units;
    for (size_t i = 0; i < n; i++) {
        int64_t floor = 0;
        dw_muldiv__i64(units, weights[i], sum, &floor);
        rests[i].rest = (uint64_t)units * (uint64_t)weights[i] - (uint64_t)floor * (uint64_t)sum;
        rests[i].index = i;
        shares[i] = floor;
        left -= floor;
    }
    return left;
}

static size_t first_receiver(size_t n, const int64_t *weights)
{
    for (size_t i = 0; i < n; i++) {
        if (weights[i] > 0)
            return i;
    }
    return 0;
}

dw_err dw_share_split(dw_money total, dw_money unit, size_t n, const int64_t *weights,
                      dw_money *shares, struct dw_error *error)
{
    int64_t sum = 0;
    if (n == 0 || total < 0 || unit <= 0 || !sum_weights(n, weights, &sum))
        return dw_error__set(
            error, DW_ERR_RANGE,
            "money to share is 0 or more, among somebody, by weights of 0 or more");
    for (size_t i = 0; i < n; i++)
        shares[i] = 0;
    size_t first = first_receiver(n, weights);
    if (sum == 0) {
        shares[first] = total;
        return DW_OK;
    }
    struct remainder *rests = calloc(n, sizeof *rests);
    if (!rests)
        return dw_error__nomem(error);
    int64_t left = share_floors(total / unit, sum, n, weights, shares, rests);
    qsort(rests, n, sizeof *rests, by_rest);
    for (size_t i = 0; i < n && left > 0; i++, left--)
        shares[rests[i].index]++;
    for (size_t i = 0; i < n; i++)
        shares[i] *= unit;
    shares[first] += total % unit;
    free(rests);
    return DW_OK;
}

/* --- markup and margin ---------------------------------------------------------------------------
 */

/* With x = a b / c exactly and s = step: floor((2 x + s) / 2 s) steps, and 2 x may be taken down to
 * a whole number first, since 2 s is one. */
bool dw_cost__nearest(int64_t a, int64_t b, int64_t c, int64_t step, int64_t *out)
{
    int64_t twice = 0;
    *out = 0;
    return b <= INT64_MAX / 2 && step <= INT64_MAX / 2 && dw_muldiv__i64(a, 2 * b, c, &twice) &&
           dw_add__i64(twice, step, &twice) && dw_mul__i64(twice / (2 * step), step, out);
}

static dw_err check_uplift(enum dw_uplift uplift, int64_t ppm, struct dw_error *error)
{
    if (ppm < 0)
        return dw_error__set(error, DW_ERR_INPUT, "markup or margin is 0 or more");
    if (uplift == DW_UPLIFT_MARGIN && ppm >= DW_PPM)
        return dw_error__set(error, DW_ERR_INPUT,
                             "a margin is under 100 %% of the price; a markup on cost may be more");
    return DW_OK;
}

/* price = cost (1 + m),  price = cost / (1 - g) */
dw_err dw_uplift_price(dw_money cost, enum dw_uplift uplift, int64_t ppm, dw_money step,
                       dw_money *price, struct dw_error *error)
{
    *price = 0;
    dw_err err = uplift == DW_UPLIFT_NONE ? DW_OK : check_uplift(uplift, ppm, error);
    if (err)
        return err;
    int64_t times = uplift == DW_UPLIFT_MARKUP ? ppm : 0;
    int64_t less = uplift == DW_UPLIFT_MARGIN ? ppm : 0;
    dw_money size = cost < 0 ? -cost : cost;
    bool fits = times <= INT64_MAX / 4 - DW_PPM &&
                dw_cost__nearest(size, DW_PPM + times, DW_PPM - less, step, price);
    if (!fits || *price > DW_MONEY_MAX)
        return dw_error__set(error, DW_ERR_RANGE, "a price larger than can be counted");
    if (cost < 0)
        *price = -*price;
    return DW_OK;
}

/* g = m / (1 + m) */
dw_err dw_margin_of_markup(int64_t markup_ppm, int64_t *margin_ppm, struct dw_error *error)
{
    *margin_ppm = 0;
    dw_err err = check_uplift(DW_UPLIFT_MARKUP, markup_ppm, error);
    if (!err && (markup_ppm > INT64_MAX / 4 ||
                 !dw_cost__nearest(markup_ppm, DW_PPM, DW_PPM + markup_ppm, 1, margin_ppm)))
        err = dw_error__set(error, DW_ERR_RANGE, "a markup larger than can be counted");
    return err;
}

/* m = g / (1 - g) */
dw_err dw_markup_of_margin(int64_t margin_ppm, int64_t *markup_ppm, struct dw_error *error)
{
    *markup_ppm = 0;
    dw_err err = check_uplift(DW_UPLIFT_MARGIN, margin_ppm, error);
    if (!err && !dw_cost__nearest(margin_ppm, DW_PPM, DW_PPM - margin_ppm, 1, markup_ppm))
        err = dw_error__set(error, DW_ERR_RANGE, "a margin larger than can be counted");
    return err;
}

dw_money dw_cost__minor(const char *currency)
{
    const struct dw_currency *found = dw_currency_find(currency);
    dw_money minor = DW_MONEY_ONE;
    for (int i = 0; i < (found ? found->decimals : 2); i++)
        minor /= 10;
    return minor > 0 ? minor : 1;
}
