/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the bench programs share: clock, generator of demands, jobs made in memory. */
#ifndef BENCH_BENCH_H
#define BENCH_BENCH_H

#include <dropwise/dropwise.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

static inline double bench_seconds(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static inline int64_t bench_now_ms(void *user)
{
    (void)user;
    return (int64_t)(bench_seconds() * 1000);
}

static inline void *bench_must(void *room)
{
    if (!room) {
        fprintf(stderr, "out of memory\n");
        exit(3);
    }
    return room;
}

/* --- demands ------------------------------------------------------------------------------ */

struct bench_list {
    size_t n;
    int64_t *size;   /* length n, strictly decreasing */
    int64_t *demand; /* length n */
};

static inline void bench_list_free(struct bench_list *list)
{
    free(list->size);
    free(list->demand);
    *list = (struct bench_list){0};
}

/* Lehmer's generator as in CUTGEN1 (Gau, Waescher 1995): s <- 16807 s mod (2^31 - 1). */
static inline double bench_lehmer(int64_t *seed)
{
    *seed = *seed * 16807 % 2147483647;
    return (double)*seed / 2147483647.0;
}

static inline int bench_decreasing(const void *a, const void *b)
{
    int64_t x = *(const int64_t *)a, y = *(const int64_t *)b;
    return x < y ? 1 : x > y ? -1 : 0;
}

/* CUTGEN1: m lengths uniform in v1 L .. v2 L, demands that sum to m dbar; equal lengths merged. */
static inline struct bench_list bench_cutgen1(int64_t *seed, size_t m, int64_t length, double v1,
                                              double v2, double dbar)
{
    struct bench_list list = {.size = bench_must(calloc(m, sizeof(int64_t))),
                              .demand = bench_must(calloc(m, sizeof(int64_t)))};
    double *share = bench_must(calloc(m, sizeof *share)), sum = 0;
    for (size_t i = 0; i < m; i++) {
        double r = bench_lehmer(seed);
        list.size[i] = (int64_t)((v1 + (v2 - v1) * r) * (double)length + r);
    }
    qsort(list.size, m, sizeof *list.size, bench_decreasing);
    for (size_t i = 0; i < m; i++)
        sum += share[i] = bench_lehmer(seed);
    int64_t total = (int64_t)((double)m * dbar), left = total;
    for (size_t i = 0; i + 1 < m; i++) {
        int64_t demand = (int64_t)((double)total * share[i] / sum + 0.5);
        list.demand[i] = demand > 1 ? demand : 1;
        left -= list.demand[i];
    }
    list.demand[m - 1] = left > 1 ? left : 1;
    free(share);
    for (size_t i = 0; i < m; i++) {
        if (list.n > 0 && list.size[list.n - 1] == list.size[i]) {
            list.demand[list.n - 1] += list.demand[i];
        } else {
            list.size[list.n] = list.size[i];
            list.demand[list.n++] = list.demand[i];
        }
    }
    return list;
}

/* --- jobs --------------------------------------------------------------------------------- */

/* A job of one straight material with room for supplies; lengths are whole `unit_nm`. */
static inline struct dw_job *bench_job(const struct bench_list *list, int64_t unit_nm,
                                       size_t n_supplies)
{
    struct dw_job *job = NULL;
    struct dw_error error = {0};
    if (dw_job_new(&job, &error) != DW_OK)
        bench_must(NULL);
    job->n_orders = 1;
    job->orders = bench_must(dw_job_alloc(job, 1, sizeof *job->orders));
    job->orders[0].name = "bench";
    job->n_materials = 1;
    job->materials = bench_must(dw_job_alloc(job, 1, sizeof *job->materials));
    job->materials[0].id = "tube";
    job->materials[0].worth.keep = 1;
    size_t *material = bench_must(dw_job_alloc(job, 1, sizeof *material));
    job->n_parts = list->n;
    job->parts = bench_must(dw_job_alloc(job, list->n, sizeof *job->parts));
    for (size_t i = 0; i < list->n; i++)
        job->parts[i] = (struct dw_part){.label = "piece",
                                         .min = list->size[i] * unit_nm,
                                         .max = list->size[i] * unit_nm,
                                         .count = list->demand[i],
                                         .n_materials = 1,
                                         .materials = material};
    job->n_supplies = n_supplies;
    job->supplies = bench_must(dw_job_alloc(job, n_supplies, sizeof *job->supplies));
    for (size_t k = 0; k < n_supplies; k++) {
        char id[32];
        snprintf(id, sizeof id, "bar %zu", k + 1);
        job->supplies[k] = (struct dw_supply){.id = bench_must(dw_job_text(job, id)),
                                              .count = DW_UNLIMITED,
                                              .pack = 1,
                                              .ends = {DW_END_SAWN, DW_END_SAWN},
                                              .tail_material = DW_NONE};
    }
    return job;
}

/* Solves, or says why not and ends. The plan has passed the verifier inside dw_solve. */
static inline struct dw_plan *bench_solve(const struct dw_job *job,
                                          const struct dw_settings *settings)
{
    struct dw_plan *plan = NULL;
    struct dw_error error = {0};
    const struct dw_hooks hooks = {.now_ms = bench_now_ms};
    if (dw_solve(job, settings, &hooks, &plan, &error) != DW_OK) {
        fprintf(stderr, "%s: %s\n", dw_err_name(error.code), error.text);
        exit(3);
    }
    return plan;
}

static inline struct dw_settings bench_settings(int64_t time_ms)
{
    struct dw_settings settings;
    dw_settings_default(&settings);
    settings.time_ms = time_ms;
    settings.threads = 1;
    return settings;
}

#endif
