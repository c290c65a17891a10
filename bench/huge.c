/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A million pieces of five thousand lengths: time to the first valid plan, time and gap of the
 * finished one, memory. Each row runs in a process of its own, so that the peak is its own. */
#include "bench.h"

#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

enum { TYPES = 5000, BAR = 60000, UNIT_NM = 100000 }; /* 6 m bars, lengths to 0.1 mm */

/* K bars from 2.4 to 6 m, priced within ten percent of one rate. */
static void price_bars(struct dw_job *job, int64_t *seed)
{
    for (size_t k = 0; k < job->n_supplies; k++) {
        double part = k == 0 ? 1 : 0.4 + 0.6 * bench_lehmer(seed);
        double rate = 0.9 + 0.2 * bench_lehmer(seed);
        job->supplies[k].length = (int64_t)(part * BAR) * UNIT_NM;
        job->supplies[k].price = (int64_t)(part * rate * 30 * DW_MONEY_ONE);
    }
}

static void run(double v1, double v2, size_t bars)
{
    int64_t seed = 1994;
    struct bench_list list = bench_cutgen1(&seed, TYPES, BAR, v1, v2, 200);
    struct dw_job *job = bench_job(&list, UNIT_NM, bars);
    price_bars(job, &seed);
    int64_t pieces = 0;
    for (size_t i = 0; i < list.n; i++)
        pieces += list.demand[i];

    struct dw_settings settings = bench_settings(10000);
    settings.greedy = 1;
    double start = bench_seconds();
    dw_plan_free(bench_solve(job, &settings));
    double first = bench_seconds() - start;

    settings.greedy = 0;
    start = bench_seconds();
    struct dw_plan *plan = bench_solve(job, &settings);
    double whole = bench_seconds() - start;
    struct rusage usage;
    getrusage(RUSAGE_SELF, &usage);
    printf("| %.4f..%.2f | %zu | %" PRId64 " | %zu | %.3f | %.2f | %.3f %% | %ld |\n", v1, v2, bars,
           pieces, list.n, first, whole,
           100.0 * (double)(plan->totals.value - plan->bound) / (double)plan->bound,
           usage.ru_maxrss / 1024);
    fflush(stdout);
    dw_plan_free(plan);
    dw_job_free(job);
    bench_list_free(&list);
}

int main(void)
{
    static const double ranges[][2] = {{0.0001, 0.25}, {0.0001, 0.5}, {0.0001, 0.75}, {0.0001, 1.0},
                                       {0.01, 0.2},    {0.01, 0.8},   {0.2, 0.8},     {0.25, 0.5}};
    printf(
        "| lengths, part of the bar | bar lengths | pieces | distinct | greedy plan, s | whole, s "
        "| gap to own bound | peak MiB |\n| --- | --- | --- | --- | --- | --- | --- | --- |\n");
    for (size_t i = 0; i < sizeof ranges / sizeof ranges[0]; i++)
        for (size_t bars = 1; bars <= 20; bars += 19) {
            fflush(stdout);
            pid_t child = fork();
            if (child == 0) {
                run(ranges[i][0], ranges[i][1], bars);
                _exit(0);
            }
            int status = 0;
            waitpid(child, &status, 0);
            if (status != 0)
                return 3;
        }
    return 0;
}
