/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Fewer set-ups: different layouts a plan at the optimal number of bars, on the 18 classes of
 * Foerster and Waescher 2000 (CUTGEN1, L = 1000, seed 1994, 100 instances each), beside the
 * published averages of their pattern merging (from memory). */
#include "bench.h"

static const double published[18] = {3.40,  7.81,  5.89,  14.26, 10.75, 25.44, 7.90,  9.96,  15.03,
                                     19.28, 28.74, 37.31, 8.97,  10.32, 16.88, 19.91, 31.46, 38.28};

struct sums {
    double bars;
    double layouts;
    double proven;
    double seconds;
};

static void solve_one(const struct bench_list *list, struct sums *sums)
{
    struct dw_job *job = bench_job(list, DW_NM_PER_MM, 1);
    job->supplies[0].length = 1000 * DW_NM_PER_MM;
    job->supplies[0].price = DW_MONEY_ONE;
    struct dw_settings settings = bench_settings(20000);
    double start = bench_seconds();
    struct dw_plan *plan = bench_solve(job, &settings);
    sums->seconds += bench_seconds() - start;
    sums->bars += (double)plan->totals.n_bars;
    sums->layouts += (double)plan->n_layouts;
    sums->proven += plan->status == DW_STATUS_OPTIMAL;
    dw_plan_free(plan);
    dw_job_free(job);
}

int main(int argc, char **argv)
{
    static const double ranges[3][2] = {{0.01, 0.2}, {0.01, 0.8}, {0.2, 0.8}};
    static const size_t types[3] = {10, 20, 40};
    int instances = argc > 1 ? atoi(argv[1]) : 100;
    printf("| class | bars | layouts | published layouts | proven optimal | mean s |\n"
           "| --- | --- | --- | --- | --- | --- |\n");
    for (int class_ = 0; class_ < 18; class_++) {
        const double *range = ranges[class_ / 6];
        size_t m = types[class_ % 6 / 2];
        double dbar = class_ % 2 ? 100 : 10;
        int64_t seed = 1994;
        struct sums sums = {0};
        for (int i = 0; i < instances; i++) {
            struct bench_list list = bench_cutgen1(&seed, m, 1000, range[0], range[1], dbar);
            solve_one(&list, &sums);
            bench_list_free(&list);
        }
        printf("| %d | %.2f | %.2f | %.2f | %.0f of %d | %.3f |\n", class_ + 1,
               sums.bars / instances, sums.layouts / instances, published[class_], sums.proven,
               instances, sums.seconds / instances);
        fflush(stdout);
    }
    return 0;
}
