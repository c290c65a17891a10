/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Thousands of random small jobs against the exhaustive reference, one of five somewhat larger;
 * one of three with few pieces on a bar; every sixteenth also against cbc and glpsol in turn on the
 * problem stated bar by bar. usage: slow_random [FIRST LAST] */
#include "random_job.h"
#include "versus.h"

#include <stdio.h>
#include <stdlib.h>

#define MIP_EVERY   16
#define MIP_SECONDS 10
#define LARGE_EVERY 5
#define LARGE       1200

#define COUNTED_EVERY 3

int main(int argc, char **argv)
{
    uint64_t first = argc > 2 ? strtoull(argv[1], NULL, 10) : 10000;
    uint64_t last = argc > 2 ? strtoull(argv[2], NULL, 10) : 14999;
    struct versus versus = {0};
    int n_jobs = 0, n_bad = 0;
    for (uint64_t seed = first; seed <= last; seed++, n_jobs++) {
        bool large = seed % LARGE_EVERY == 0;
        struct dw_job *job = large ? random_job_large(seed, LARGE) : random_job(seed);
        if (job && seed % COUNTED_EVERY == 0)
            job->rules.most_pieces = 1 + (int64_t)(seed / COUNTED_EVERY % 5);
        if (!job || !versus_brute(&versus, job, seed % MIP_EVERY == 0 ? MIP_SECONDS : 0)) {
            printf("seed %llu: %s\n", (unsigned long long)seed, job ? versus.why : "no memory");
            n_bad++;
        }
        dw_job_free(job);
    }
    printf("%d jobs, %d groups (%d infeasible, %d proven by duals, %d by search), %d against a "
           "general solver (%d open): %d disagreements\n",
           n_jobs, versus.n_groups, versus.n_infeasible, versus.n_duals, versus.n_search,
           versus.n_mip, versus.n_mip_open, n_bad);
    return n_bad > 0;
}
