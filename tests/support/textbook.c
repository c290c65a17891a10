/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "textbook.h"

#include <stdlib.h>

struct dw_job *textbook_job(dw_length unit, const struct textbook_bar *bars, size_t n_bars,
                            const struct textbook_part *parts, size_t n_parts)
{
    struct dw_job *job = NULL;
    if (dw_job_new(&job, NULL) != DW_OK)
        return NULL;
    size_t *material = dw_job_alloc(job, 1, sizeof *material);
    job->n_orders = job->n_materials = 1;
    job->orders = dw_job_alloc(job, 1, sizeof *job->orders);
    job->materials = dw_job_alloc(job, 1, sizeof *job->materials);
    job->parts = dw_job_alloc(job, n_parts, sizeof *job->parts);
    job->supplies = dw_job_alloc(job, n_bars, sizeof *job->supplies);
    if (!material || !job->orders || !job->materials || !job->parts || !job->supplies) {
        dw_job_free(job);
        return NULL;
    }
    job->orders[0].name = "textbook";
    job->materials[0].id = "tube";
    job->materials[0].worth.keep = 1;
    job->n_parts = n_parts;
    job->n_supplies = n_bars;
    for (size_t i = 0; i < n_parts; i++)
        job->parts[i] = (struct dw_part){.label = "part",
                                         .min = parts[i].length * unit,
                                         .max = parts[i].length * unit,
                                         .count = parts[i].count,
                                         .n_materials = 1,
                                         .materials = material};
    static const char *const names[] = {"bar 1", "bar 2", "bar 3", "bar 4"};
    for (size_t k = 0; k < n_bars; k++)
        job->supplies[k] = (struct dw_supply){.id = names[k % 4],
                                              .length = bars[k].length * unit,
                                              .price = bars[k].price,
                                              .count = bars[k].count,
                                              .pack = 1,
                                              .ends = {DW_END_SAWN, DW_END_SAWN},
                                              .tail_material = DW_NONE};
    return job;
}

/* Lehmer's generator with Schrage's factors. */
static double draw(int64_t *seed)
{
    int64_t high = *seed / 127773, low = *seed % 127773;
    *seed = 16807 * low - 2836 * high;
    if (*seed <= 0)
        *seed += 2147483647;
    return (double)*seed / 2147483647.0;
}

static int longest_first(const void *a, const void *b)
{
    const struct textbook_part *x = a, *y = b;
    return (x->length < y->length) - (x->length > y->length);
}

size_t textbook_cutgen1(int64_t *seed, size_t m, int64_t length, double v1, double v2, double dbar,
                        struct textbook_part *parts)
{
    double share[128], sum = 0;
    for (size_t i = 0; i < m; i++) {
        double r = draw(seed);
        parts[i].length = (int64_t)((v1 + (v2 - v1) * r) * (double)length + r);
    }
    qsort(parts, m, sizeof *parts, longest_first);
    for (size_t i = 0; i < m; i++)
        sum += share[i] = draw(seed);
    int64_t total = (int64_t)((double)m * dbar), left = total;
    for (size_t i = 0; i < m; i++) {
        int64_t count = (int64_t)((double)total * share[i] / sum + 0.5);
        parts[i].count = i + 1 == m ? left : count;
        parts[i].count = parts[i].count > 1 ? parts[i].count : 1;
        left -= parts[i].count;
    }
    size_t n = 0;
    for (size_t i = 0; i < m; i++) {
        if (n > 0 && parts[n - 1].length == parts[i].length)
            parts[n - 1].count += parts[i].count;
        else
            parts[n++] = parts[i];
    }
    return n;
}
