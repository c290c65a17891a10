/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Fewer set-ups: different layouts a plan at the optimal number of bars, on the 18 classes of
 * Foerster and Waescher 2000 (CUTGEN1, L = 1000, seed 1994, 100 instances each), beside the
 * published averages of their pattern merging (from memory). "plain" is the plan of fewest bars as
 * the exact method leaves it; "stops" are changes of the saw's stop through the whole plan. */
#include "bench.h"
#include "solve/textbook/csp.h"

static const double published[18] = {3.40,  7.81,  5.89,  14.26, 10.75, 25.44, 7.90,  9.96,  15.03,
                                     19.28, 28.74, 37.31, 8.97,  10.32, 16.88, 19.91, 31.46, 38.28};

struct tally {
    double bars, layouts, stops, ms;
};

struct sums {
    struct tally plain; /* fewest bars */
    struct tally few;   /* fewest bars, then few layouts */
    struct tally given; /* one per cent of the money given up */
    double proven;
};

/* Changes of the stop when the layouts are cut in this order, each with its lengths in order. */
static double plan_stops(const struct dw_plan *plan)
{
    double stops = 0;
    int64_t at = 0;
    for (size_t i = 0; i < plan->n_layouts; i++)
        for (size_t j = 0; j < plan->layouts[i].n_pieces; j++) {
            stops += plan->layouts[i].pieces[j].length != at;
            at = plan->layouts[i].pieces[j].length;
        }
    return stops;
}

static void solve_plain(const struct bench_list *list, struct tally *sum)
{
    const struct dw_csp csp = {
        .capacity = 1000, .n = list->n, .size = list->size, .demand = list->demand};
    struct dw_effort effort = {0};
    struct dw_lp_env env = {0};
    struct dw_csp_plan *plan = NULL;
    double start = bench_seconds();
    if (dw_csp__solve(&csp, &effort, &env, &plan, NULL) != DW_OK)
        bench_must(NULL);
    sum->ms += 1000 * (bench_seconds() - start);
    sum->bars += (double)plan->bars;
    sum->layouts += (double)plan->n_layouts;
    size_t at = DW_NONE;
    for (size_t k = 0; k < plan->n_layouts; k++)
        for (size_t j = 0; j < plan->layouts[k].n_items; j++) {
            sum->stops += plan->layouts[k].items[j].type != at;
            at = plan->layouts[k].items[j].type;
        }
    dw_csp__free(plan);
    dw_lp__env_free(&env);
}

static void solve_few(const struct bench_list *list, int64_t ppm, struct tally *sum, double *proven)
{
    struct dw_job *job = bench_job(list, DW_NM_PER_MM, 1);
    job->supplies[0].length = 1000 * DW_NM_PER_MM;
    job->supplies[0].price = DW_MONEY_ONE;
    struct dw_settings settings = bench_settings(20000);
    settings.few_layouts_ppm = ppm;
    double start = bench_seconds();
    struct dw_plan *plan = bench_solve(job, &settings);
    sum->ms += 1000 * (bench_seconds() - start);
    sum->bars += (double)plan->totals.n_bars;
    sum->layouts += (double)plan->n_layouts;
    sum->stops += plan_stops(plan);
    *proven += plan->status == DW_STATUS_OPTIMAL;
    dw_plan_free(plan);
    dw_job_free(job);
}

static void print_row(int class_, const struct sums *s, double n)
{
    printf("| %d | %.2f | %.2f | %.2f | %.2f | %.0f %% | %.0f of %.0f | %.0f | %.0f | %.0f | %.0f "
           "| %.2f | %.2f | %.0f |\n",
           class_ + 1, s->few.bars / n, published[class_], s->plain.layouts / n, s->few.layouts / n,
           100 * (1 - s->few.layouts / s->plain.layouts), s->proven, n, s->plain.stops / n,
           s->few.stops / n, s->plain.ms / n, s->few.ms / n, s->given.bars / n,
           s->given.layouts / n, s->given.ms / n);
    fflush(stdout);
}

/* Arguments: instances a class; the only class wanted. */
int main(int argc, char **argv)
{
    static const double ranges[3][2] = {{0.01, 0.2}, {0.01, 0.8}, {0.2, 0.8}};
    static const size_t types[3] = {10, 20, 40};
    int instances = argc > 1 ? atoi(argv[1]) : 100, only = argc > 2 ? atoi(argv[2]) : 0;
    printf("| class | bars | layouts published | plain | fewer | gain | proven optimal | stops "
           "plain | stops | ms plain | ms | bars at 1 %% | layouts at 1 %% | ms at 1 %% |\n| --- | "
           "--- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |\n");
    for (int class_ = 0; class_ < 18; class_++) {
        const double *range = ranges[class_ / 6];
        int64_t seed = 1994;
        struct sums sums = {0};
        double ignored = 0;
        if (only && class_ + 1 != only)
            continue;
        for (int i = 0; i < instances; i++) {
            struct bench_list list = bench_cutgen1(&seed, types[class_ % 6 / 2], 1000, range[0],
                                                   range[1], class_ % 2 ? 100 : 10);
            solve_plain(&list, &sums.plain);
            solve_few(&list, 0, &sums.few, &sums.proven);
            solve_few(&list, 10000, &sums.given, &ignored);
            bench_list_free(&list);
        }
        print_row(class_, &sums, instances);
    }
    return 0;
}
