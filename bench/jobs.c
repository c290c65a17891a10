/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Shop jobs: several bar lengths with prices and limits, offcuts, kerf, cut cost, leftovers worth
 * something, posts, end-bent bars; demands after CUTGEN1 (Gau, Waescher 1995).
 *
 * usage: jobs [--jobs N] [--time SECONDS] [--work N] [--seed S] [--m M] [--first J]
 *        [--kerf MM] [--dbar D] [--greedy] [--each] */
#include "bench.h"

#define MM     DW_NM_PER_MM
#define CENT   (DW_MONEY_ONE / 100)
#define LENGTH 6000 /* mm, of the main bar */

enum worth { WORTH_RATE, WORTH_CLASSES, N_WORTHS };

/* What one job is like. */
struct shape {
    size_t m;
    size_t n_bars;
    size_t n_offcuts;
    size_t n_posts;
    enum worth worth;
    bool cut_cost;
    bool bent;
    double longest; /* of the parts, as a share of the main bar */
    double dbar;
};

static int64_t pick(int64_t *seed, int64_t lo, int64_t hi)
{
    int64_t value = lo + (int64_t)(bench_lehmer(seed) * (double)(hi - lo + 1));
    return value > hi ? hi : value;
}

static struct shape draw_shape(int64_t *seed, size_t m)
{
    static const double longest[] = {0.3, 0.5, 0.8}, dbar[] = {2, 4, 8};
    struct shape shape = {.m = m};
    for (int i = 0; i < 5; i++)
        bench_lehmer(seed); /* neighbouring seeds begin alike */
    shape.n_bars = (size_t)pick(seed, 1, 5);
    shape.n_offcuts = (size_t)pick(seed, 0, 60);
    shape.n_posts = (size_t)pick(seed, 0, 3);
    shape.worth = (enum worth)pick(seed, 0, N_WORTHS - 1);
    shape.cut_cost = pick(seed, 0, 1) == 1;
    shape.bent = pick(seed, 0, 4) == 0;
    shape.longest = longest[pick(seed, 0, 2)];
    shape.dbar = dbar[pick(seed, 0, 2)];
    return shape;
}

/* --- the job -------------------------------------------------------------------------------- */

/* Price of a bar in the neighbourhood of 4.50 a metre, in whole cents. */
static dw_money bar_price(int64_t *seed, int64_t mm, int64_t percent_lo, int64_t percent_hi)
{
    return mm * 45 * pick(seed, percent_lo, percent_hi) / 10000 * CENT;
}

static void make_bars(struct dw_job *job, const struct shape *shape, int64_t *seed)
{
    static const int64_t lengths[] = {LENGTH, 5000, 4000, 3000, 7500};
    int64_t pieces = 0;
    for (size_t i = 0; i < job->n_parts; i++)
        pieces += job->parts[i].count;
    for (size_t k = 0; k < shape->n_bars; k++) {
        struct dw_supply *supply = &job->supplies[k];
        supply->source = DW_SOURCE_NEW;
        supply->length = lengths[k] * MM;
        supply->price = bar_price(seed, lengths[k], 90, 110);
        if (k > 0 && pick(seed, 0, 1) == 1)
            supply->count = pick(seed, 1, 1 + pieces / 12);
        supply->ends[0] = supply->ends[1] = DW_END_MILL;
        supply->trim = 5 * MM;
    }
}

static void make_offcuts(struct dw_job *job, const struct shape *shape, int64_t *seed)
{
    for (size_t k = shape->n_bars; k < shape->n_bars + shape->n_offcuts; k++) {
        struct dw_supply *supply = &job->supplies[k];
        int64_t mm = pick(seed, 400, LENGTH * 4 / 5);
        supply->source = DW_SOURCE_OFFCUT;
        supply->length = mm * MM;
        supply->price = bar_price(seed, mm, 50, 75);
        supply->count = 1;
    }
}

static void make_worth(struct dw_job *job, const struct shape *shape)
{
    struct dw_worth *worth = &job->materials[0].worth;
    worth->keep = 500 * MM;
    if (shape->worth == WORTH_RATE) {
        worth->kind = DW_WORTH_RATE;
        worth->rate = 250 * CENT;
        worth->per = 1000 * MM;
        return;
    }
    const size_t n = 22;
    struct dw_worth_class *classes = bench_must(dw_job_alloc(job, n, sizeof *classes));
    for (size_t i = 0; i < n; i++)
        classes[i] =
            (struct dw_worth_class){(int64_t)(500 + 250 * i) * MM, (int64_t)(120 + 60 * i) * CENT};
    worth->kind = DW_WORTH_CLASSES;
    worth->n_classes = n;
    worth->classes = classes;
}

/* The last parts become posts of a length range; a fifth of the jobs has bent parts and bars. */
static void make_posts(struct dw_job *job, const struct shape *shape, int64_t *seed)
{
    for (size_t j = 0; j < shape->n_posts; j++) {
        struct dw_part *part = &job->parts[job->n_parts - 1 - j];
        part->post = true;
        part->min = pick(seed, 300, 900) * MM;
        part->max = part->min + 100 * MM;
        part->worth = part->min / MM * 2 * CENT;
        part->count = pick(seed, 1, 4);
    }
}

static void make_bent(struct dw_job *job, const struct shape *shape, int64_t *seed)
{
    if (!shape->bent)
        return;
    struct dw_material *bent = &job->materials[1];
    *bent = job->materials[0];
    bent->id = "bent tube";
    bent->end_bent = true;
    size_t *material = bench_must(dw_job_alloc(job, 1, sizeof *material));
    *material = 1;
    size_t k = shape->n_bars + shape->n_offcuts;
    job->supplies[k].source = DW_SOURCE_NEW;
    job->supplies[k].material = 1;
    job->supplies[k].tail_material = 0;
    job->supplies[k].length = 3000 * MM;
    job->supplies[k].bend = 400 * MM;
    job->supplies[k].price = bar_price(seed, 3000, 130, 150);
    for (size_t i = 0; i < job->n_parts && i < 2; i++) {
        struct dw_part *part = &job->parts[job->n_parts / 2 + i];
        if (part->post)
            continue;
        part->min = part->max = pick(seed, 600, 2600) * MM;
        part->materials = material;
    }
}

static struct dw_job *make_job(const struct shape *shape, dw_length kerf, int64_t *seed)
{
    struct bench_list list =
        bench_cutgen1(seed, shape->m + shape->n_posts, LENGTH, 0.03, shape->longest, shape->dbar);
    struct dw_job *job = bench_job(&list, MM, shape->n_bars + shape->n_offcuts + shape->bent);
    bench_list_free(&list);
    struct dw_material *materials = bench_must(dw_job_alloc(job, 2, sizeof *materials));
    materials[0] = job->materials[0];
    job->materials = materials;
    job->n_materials = shape->bent ? 2 : 1;
    job->saw.kerf = kerf;
    job->saw.cut_cost = shape->cut_cost ? 40 * CENT : 0;
    make_worth(job, shape);
    make_posts(job, shape, seed);
    make_bars(job, shape, seed);
    make_offcuts(job, shape, seed);
    make_bent(job, shape, seed);
    return job;
}

/* --- the table -------------------------------------------------------------------------------- */

struct tally {
    size_t n, proven;
    double seconds, longest;
    double gap, widest; /* of those not proven, in per cent of the value */
};

static void add(struct tally *tally, const struct dw_plan *plan, double seconds)
{
    tally->n++;
    tally->seconds += seconds;
    tally->longest = seconds > tally->longest ? seconds : tally->longest;
    if (plan->status == DW_STATUS_OPTIMAL || plan->status == DW_STATUS_INFEASIBLE) {
        tally->proven++;
        return;
    }
    double gap = 100 * (double)(plan->totals.value - plan->bound) / (double)plan->totals.value;
    tally->gap += gap;
    tally->widest = gap > tally->widest ? gap : tally->widest;
}

static void print(size_t m, const struct tally *tally)
{
    size_t open = tally->n - tally->proven;
    printf("%3zu  %4zu  %5.1f %%  %7.3f  %7.3f  %8.4f %%  %8.4f %%\n", m, tally->n,
           100.0 * (double)tally->proven / (double)tally->n, tally->seconds / (double)tally->n,
           tally->longest, open ? tally->gap / (double)open : 0, tally->widest);
    fflush(stdout);
}

struct options {
    size_t n_jobs, first;
    size_t m; /* 0: all */
    int64_t time_ms, work, seed;
    dw_length kerf;
    bool each, greedy;
    double dbar; /* pieces a length; 0: as drawn */
};

static void run(size_t m, const struct options *options)
{
    struct tally tally = {0};
    for (size_t j = options->first; j < options->first + options->n_jobs; j++) {
        int64_t own = options->seed + (int64_t)j * 7919 + (int64_t)m * 104729;
        struct shape shape = draw_shape(&own, m);
        shape.dbar = options->dbar > 0 ? options->dbar : shape.dbar;
        struct dw_job *job = make_job(&shape, options->kerf, &own);
        struct dw_settings settings = bench_settings(options->time_ms);
        settings.work = options->work;
        settings.greedy = options->greedy;
        double start = bench_seconds();
        struct dw_plan *plan = bench_solve(job, &settings);
        double seconds = bench_seconds() - start;
        add(&tally, plan, seconds);
        if (options->each) {
            printf("m %zu job %zu bars %zu offcuts %zu posts %zu %s cut %d bent %d longest %.1f "
                   "dbar %.0f: status %d value %" PRId64 " bound %" PRId64 " bars %" PRId64
                   " %.3f s work %" PRId64 " %s\n",
                   m, j, shape.n_bars, shape.n_offcuts, shape.n_posts,
                   shape.worth == WORTH_RATE ? "rate" : "classes", shape.cut_cost, shape.bent,
                   shape.longest, shape.dbar, (int)plan->status, plan->totals.value, plan->bound,
                   plan->totals.n_bars, seconds, plan->groups[0].work, plan->groups[0].method);
            fflush(stdout);
        }
        dw_plan_free(plan);
        dw_job_free(job);
    }
    print(m, &tally);
}

static bool read_option(struct options *options, const char *name, const char *value)
{
    if (strcmp(name, "--jobs") == 0)
        options->n_jobs = (size_t)strtoul(value, NULL, 10);
    else if (strcmp(name, "--time") == 0)
        options->time_ms = (int64_t)(strtod(value, NULL) * 1000);
    else if (strcmp(name, "--work") == 0)
        options->work = strtoll(value, NULL, 10);
    else if (strcmp(name, "--seed") == 0)
        options->seed = strtoll(value, NULL, 10);
    else if (strcmp(name, "--first") == 0)
        options->first = (size_t)strtoul(value, NULL, 10);
    else if (strcmp(name, "--m") == 0)
        options->m = (size_t)strtoul(value, NULL, 10);
    else if (strcmp(name, "--dbar") == 0)
        options->dbar = strtod(value, NULL);
    else if (strcmp(name, "--kerf") == 0)
        options->kerf = (dw_length)(strtod(value, NULL) * (double)MM + 0.5);
    else
        return false;
    return true;
}

int main(int argc, char **argv)
{
    struct options options = {.n_jobs = 20, .time_ms = 10000, .seed = 1994, .kerf = 3 * MM};
    for (int i = 1; i < argc; i++) {
        if (strcmp(argv[i], "--each") == 0) {
            options.each = true;
        } else if (strcmp(argv[i], "--greedy") == 0) {
            options.greedy = true;
        } else if (i + 1 >= argc || !read_option(&options, argv[i], argv[i + 1])) {
            fprintf(stderr,
                    "usage: jobs [--jobs N] [--time S] [--work N] [--seed S] [--m M] [--first J] "
                    "[--kerf MM] [--dbar D] [--greedy] [--each]\n");
            return 2;
        } else {
            i++;
        }
    }
    printf("  m  jobs   proven   mean s    max s    mean gap     max gap\n");
    static const size_t sizes[] = {10, 20, 40, 80};
    for (size_t i = 0; i < 4; i++)
        if (options.m == 0 || options.m == sizes[i])
            run(sizes[i], &options);
    return 0;
}
