/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A year of a small shop: 300 jobs, one after the other, planned from the shelf, held, cut, and the
 * offcuts put back. What does a shelf save, and which keeping length should a shop set?
 *
 * The same jobs for every row: tube of three materials in 6 m bars, 10 to 18 rows of parts a job.
 * Prints one row a way of keeping the shelf, and the time that the ledger takes.
 *
 * usage: shelf_year [JOBS [FOLDER]]   the ledger lies in FOLDER, otherwise in /tmp */
#include "bench.h"

#include <unistd.h>

#define MM    DW_NM_PER_MM
#define N_MAT 3

enum { MAX_JOBS = 3000 };

static const struct {
    const char *id;
    dw_money price;
} tubes[N_MAT] = {{"al48", 558000}, {"al38", 369000}, {"st32", 176000}};

/* One way of keeping the shelf. */
struct policy {
    const char *name;
    dw_length keep;    /* keeping length; 0 = no shelf at all */
    int64_t max_days;  /* offcuts that have lain longer are scrapped; 0 = never */
    size_t max_pieces; /* so many offcuts a material at most; 0 = no ceiling */
};

struct result {
    int64_t bars;
    dw_money bought;
    int64_t made, again; /* offcuts that came to the shelf, and that went into parts */
    struct dw_balance end;
    dw_money end_value;
    int64_t moves;
    int64_t parts;
    double find_max; /* seconds of ledger time */
    int n;
    double plan[MAX_JOBS]; /* length n: the same, of reading, holding */
};

static void must(dw_err err, const struct dw_error *error)
{
    if (err == DW_OK)
        return;
    fprintf(stderr, "%s: %s\n", dw_err_name(err), error->text);
    exit(3);
}

/* Day n of the year, from 0. */
static void day_text(int n, char out[11])
{
    static const int days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    int month = 0, year = 2027;
    if (n < 0) {
        year--;
        n += 365;
    }
    while (n >= days[month])
        n -= days[month++];
    char text[40];
    snprintf(text, sizeof text, "%04d-%02d-%02d", year, month + 1, n + 1);
    memcpy(out, text, 10);
    out[10] = '\0';
}

/* --- a job ------------------------------------------------------------------------------------ */

static void fill_materials(struct dw_job *job, const struct policy *policy)
{
    job->n_materials = N_MAT;
    job->materials = bench_must(dw_job_alloc(job, N_MAT, sizeof *job->materials));
    job->n_supplies = N_MAT;
    job->supplies = bench_must(dw_job_alloc(job, 2000, sizeof *job->supplies));
    for (size_t m = 0; m < N_MAT; m++) {
        job->materials[m] =
            (struct dw_material){.id = tubes[m].id,
                                 .worth = {.kind = policy->keep ? DW_WORTH_SHARE : DW_WORTH_NONE,
                                           .keep = policy->keep ? policy->keep : DW_LENGTH_MAX,
                                           .share = 600000}};
        job->supplies[m] = (struct dw_supply){.id = tubes[m].id,
                                              .material = m,
                                              .length = 6000 * MM,
                                              .price = tubes[m].price,
                                              .count = DW_UNLIMITED,
                                              .pack = 1,
                                              .trim = 4 * MM,
                                              .tail_material = DW_NONE};
    }
}

/* Half of the lengths are the shop's usual ones. */
static dw_length draw_length(int64_t *seed)
{
    static const int64_t usual[] = {350, 450, 600, 750, 900, 1200, 1500, 1850, 2100};
    if (bench_lehmer(seed) < 0.5)
        return usual[(size_t)(bench_lehmer(seed) * 8.999)] * MM;
    return (dw_length)(250 + bench_lehmer(seed) * 1900) * MM;
}

static struct dw_job *draw_job(int64_t *seed, const struct policy *policy)
{
    struct dw_job *job = NULL;
    struct dw_error error = {0};
    must(dw_job_new(&job, &error), &error);
    job->name = "job";
    job->n_orders = 1;
    job->orders = bench_must(dw_job_alloc(job, 1, sizeof *job->orders));
    job->orders[0].name = "job";
    memcpy(job->currency, "EUR", 4);
    job->saw.kerf = 2 * MM + MM / 2;
    job->saw.trim = 4 * MM;
    job->saw.cut_cost = 3000;
    fill_materials(job, policy);
    job->n_parts = 10 + (size_t)(bench_lehmer(seed) * 8.999);
    job->parts = bench_must(dw_job_alloc(job, job->n_parts, sizeof *job->parts));
    size_t *all = bench_must(dw_job_alloc(job, N_MAT, sizeof *all));
    for (size_t m = 0; m < N_MAT; m++)
        all[m] = m;
    size_t first = (size_t)(bench_lehmer(seed) * 2.999);
    for (size_t i = 0; i < job->n_parts; i++) {
        bool other = bench_lehmer(seed) < 0.25;
        dw_length length = draw_length(seed);
        job->parts[i] = (struct dw_part){.label = "part",
                                         .min = length,
                                         .max = length,
                                         .count = 1 + (int64_t)(bench_lehmer(seed) * 3.999),
                                         .n_materials = 1,
                                         .materials = &all[other ? (first + 1) % N_MAT : first]};
    }
    return job;
}

static dw_length shortest(const struct dw_job *job, size_t material)
{
    dw_length least = DW_LENGTH_MAX;
    for (size_t i = 0; i < job->n_parts; i++)
        if (job->parts[i].materials[0] == material && job->parts[i].min < least)
            least = job->parts[i].min;
    return least;
}

/* Offers what lies on the shelf, at book value. */
static void offer(struct dw_job *job, struct dw_ledger *ledger)
{
    struct dw_error error = {0};
    for (size_t m = 0; m < N_MAT; m++) {
        struct dw_stock_list *list = NULL;
        struct dw_stock_query query = {
            .material = tubes[m].id, .states = 1u << DW_STATE_SHELF, .at_least = shortest(job, m)};
        must(dw_ledger_list(ledger, &query, &list, &error), &error);
        for (size_t i = 0; i < list->n && job->n_supplies < 2000; i++)
            job->supplies[job->n_supplies++] =
                (struct dw_supply){.id = bench_must(dw_job_text(job, list->rows[i].number)),
                                   .material = m,
                                   .source = DW_SOURCE_OFFCUT,
                                   .length = list->rows[i].length,
                                   .price = list->rows[i].value,
                                   .count = 1,
                                   .pack = 1,
                                   .ends = {list->rows[i].ends[0], list->rows[i].ends[1]},
                                   .trim = 4 * MM,
                                   .tail_material = DW_NONE};
        dw_stock_list_free(list);
    }
}

/* --- the shop --------------------------------------------------------------------------------- */

static double hold_and_cut(struct dw_ledger *ledger, const struct dw_act *act,
                           const struct dw_job *job, const struct dw_plan *plan)
{
    struct dw_error error = {0};
    struct dw_hold hold = {.job_digest = plan->job_digest};
    int64_t id = 0;
    double start = bench_seconds();
    must(dw_ledger_hold(ledger, act, job, plan, &hold, &id, NULL, &error), &error);
    double took = bench_seconds() - start;
    for (int64_t bar = 1; bar <= plan->totals.n_bars; bar++)
        must(dw_ledger_cut(ledger, act, id, bar, NULL, "rack", NULL, &error), &error);
    return took;
}

/* Scraps what is too old or, of each material, the shortest ones over the ceiling. */
static void tidy(struct dw_ledger *ledger, const struct dw_act *act, const struct policy *policy,
                 int day)
{
    struct dw_error error = {0};
    char before[11];
    day_text(day - (int)policy->max_days, before);
    for (size_t m = 0; m < N_MAT; m++) {
        struct dw_stock_list *list = NULL;
        struct dw_stock_query query = {.material = tubes[m].id,
                                       .states = 1u << DW_STATE_SHELF,
                                       .before = policy->max_days ? before : NULL};
        must(dw_ledger_list(ledger, &query, &list, &error), &error);
        size_t n = policy->max_days ? list->n
                   : policy->max_pieces && list->n > policy->max_pieces
                       ? list->n - policy->max_pieces
                       : 0;
        const char **numbers = bench_must(calloc(n + 1, sizeof *numbers));
        for (size_t i = 0; i < n; i++)
            numbers[i] = list->rows[i].number;
        if (n > 0)
            must(dw_ledger_scrap(ledger, act, numbers, n, NULL, &error), &error);
        free(numbers);
        dw_stock_list_free(list);
    }
}

/* "What can give 450 mm of this?" */
static double time_find(struct dw_ledger *ledger)
{
    struct dw_error error = {0};
    struct dw_stock_list *list = NULL;
    struct dw_stock_query query = {
        .material = tubes[0].id, .states = 1u << DW_STATE_SHELF, .at_least = 450 * MM};
    double start = bench_seconds();
    must(dw_ledger_list(ledger, &query, &list, &error), &error);
    dw_stock_list_free(list);
    return bench_seconds() - start;
}

static void one_job(struct dw_ledger *ledger, const struct policy *policy, int64_t *seed, int day,
                    struct result *result)
{
    char when[11];
    day_text(day, when);
    struct dw_act act = {.when = when};
    struct dw_job *job = draw_job(seed, policy);
    double start = bench_seconds();
    if (policy->keep)
        offer(job, ledger);
    double took = bench_seconds() - start;
    struct dw_settings settings = bench_settings(0);
    settings.work = 3000;
    struct dw_plan *plan = bench_solve(job, &settings);
    took += hold_and_cut(ledger, &act, job, plan);
    double find = time_find(ledger);
    for (size_t i = 0; i < plan->n_takes; i++) {
        bool bought = job->supplies[plan->takes[i].supply].source == DW_SOURCE_NEW;
        result->bars += bought ? plan->takes[i].used : 0;
        result->again += bought ? 0 : plan->takes[i].used;
    }
    result->bought += plan->totals.bars;
    result->made += plan->totals.n_kept;
    result->find_max = find > result->find_max ? find : result->find_max;
    result->plan[result->n++] = took;
    for (size_t i = 0; i < job->n_parts; i++)
        result->parts += job->parts[i].count;
    if (policy->max_days || policy->max_pieces)
        tidy(ledger, &act, policy, day);
    dw_plan_free(plan);
    dw_job_free(job);
}

static void finish(struct dw_ledger *ledger, struct result *result)
{
    struct dw_error error = {0};
    struct dw_report report = {0};
    struct dw_history *history = NULL;
    struct dw_stock_list *list = NULL;
    const struct dw_stock_query all = {0};
    must(dw_ledger_check(ledger, &report, &error), &error);
    must(dw_ledger_balance(ledger, &result->end, &error), &error);
    must(dw_ledger_history(ledger, NULL, 1000000, &history, &error), &error);
    must(dw_ledger_list(ledger, &all, &list, &error), &error);
    result->moves = (int64_t)history->n;
    for (size_t i = 0; i < list->n; i++)
        result->end_value += list->rows[i].value;
    dw_history_free(history);
    dw_stock_list_free(list);
}

static void run_year(const struct policy *policy, int n_jobs, const char *folder,
                     struct result *result)
{
    *result = (struct result){0};
    struct dw_error error = {0};
    struct dw_ledger *ledger = NULL;
    int64_t seed = 2027;
    char path[128];
    snprintf(path, sizeof path, "%s/shelf.db", folder);
    must(dw_ledger_open(path, DW_LEDGER_CREATE, 0, &ledger, &error), &error);
    for (int j = 0; j < n_jobs; j++)
        one_job(ledger, policy, &seed, j * 365 / n_jobs, result);
    finish(ledger, result);
    dw_ledger_close(ledger);
    unlink(path);
}

static int increasing(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static void print_row(const struct policy *policy, struct result *r, double base)
{
    double net = (double)(r->bought - r->end_value) / DW_MONEY_ONE, sum = 0;
    for (int j = 0; j < r->n; j++)
        sum += r->plan[j];
    qsort(r->plan, (size_t)r->n, sizeof *r->plan, increasing);
    printf("| %s | %" PRId64 " | %.0f | %.0f | %.1f %% | %" PRId64 " | %" PRId64 " | %" PRId64
           " | %.1f | %.1f | %" PRId64 " | %.2f | %.2f / %.2f / %.2f |\n",
           policy->name, r->bars, (double)r->bars * 6, net, 100 * (1 - net / base), r->made,
           r->again, r->end.n_shelf, (double)r->end.on_shelf / 1e9, (double)r->end.scrap / 1e9,
           r->moves, 1e3 * r->find_max, 1e3 * sum / r->n, 1e3 * r->plan[r->n * 99 / 100],
           1e3 * r->plan[r->n - 1]);
    fflush(stdout);
}

int main(int argc, char **argv)
{
    static const struct policy policies[] = {
        {"no shelf", 0, 0, 0},
        {"keep from 150 mm", 150 * MM, 0, 0},
        {"keep from 250 mm", 250 * MM, 0, 0},
        {"keep from 350 mm", 350 * MM, 0, 0},
        {"keep from 600 mm", 600 * MM, 0, 0},
        {"keep from 1000 mm", 1000 * MM, 0, 0},
        {"keep from 2000 mm", 2000 * MM, 0, 0},
        {"350 mm, 10 a material", 350 * MM, 0, 10},
        {"350 mm, 90 days", 350 * MM, 90, 0},
    };
    int n_jobs = argc > 1 ? atoi(argv[1]) : 300;
    n_jobs = n_jobs < 1 || n_jobs > MAX_JOBS ? 300 : n_jobs;
    char folder[100];
    snprintf(folder, sizeof folder, "%.60s/shelf_year_XXXXXX", argc > 2 ? argv[2] : "/tmp");
    if (!mkdtemp(folder))
        return 3;
    double start = bench_seconds(), base = 0;
    printf(
        "A year of %d jobs; lengths in m, money in EUR. Net: bought less book value at the end.\n"
        "\n| shelf | bars | bought | net money | saved | offcuts made | used again | at the end "
        "| length | scrap | moves | find, ms | plan, ms mean / 99 %% / max |\n"
        "|---|--:|--:|--:|--:|--:|--:|--:|--:|--:|--:|--:|--:|\n",
        n_jobs);
    struct result *r = bench_must(calloc(1, sizeof *r));
    for (size_t i = 0; i < sizeof policies / sizeof policies[0]; i++) {
        run_year(&policies[i], n_jobs, folder, r);
        base = i == 0 ? (double)(r->bought - r->end_value) / DW_MONEY_ONE : base;
        print_row(&policies[i], r, base);
    }
    printf("\n%" PRId64
           " parts a year. Every ledger checked and balanced to the nanometre. %.1f s in "
           "all.\n",
           r->parts, bench_seconds() - start);
    free(r);
    rmdir(folder);
    return 0;
}
