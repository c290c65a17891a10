/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Shop batches of three materials that three suppliers with thresholds sell: how often a plan is
 * proven, and how much less it costs than one that leaves out what suppliers charge. Time is that
 * of the processor. usage: orders [--jobs N] [--time SECONDS] [--first J] [--each] */
#include "bench.h"

#define MM   DW_NM_PER_MM
#define CENT (DW_MONEY_ONE / 100)

enum { MATERIALS = 3, SELLERS = 3, LENGTHS = 3, OFFCUTS = 12 };

static int64_t cpu_ms(void *user)
{
    struct timespec now;
    (void)user;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

static int64_t pick(int64_t *seed, int64_t lo, int64_t hi)
{
    int64_t value = lo + (int64_t)(bench_lehmer(seed) * (double)(hi - lo + 1));
    return value > hi ? hi : value;
}

/* --- a batch -------------------------------------------------------------------------------- */

static void make_materials(struct dw_job *job)
{
    static const char *const ids[MATERIALS] = {"t25", "t32", "t38"};
    job->n_materials = MATERIALS;
    job->materials = bench_must(dw_job_alloc(job, MATERIALS, sizeof *job->materials));
    for (size_t m = 0; m < MATERIALS; m++) {
        job->materials[m].id = ids[m];
        job->materials[m].worth =
            (struct dw_worth){.kind = DW_WORTH_SHARE, .keep = 400 * MM, .share = 500000};
    }
}

static void make_parts(struct dw_job *job, size_t m, int64_t *seed)
{
    job->parts = bench_must(dw_job_alloc(job, m, sizeof *job->parts));
    job->n_parts = m;
    for (size_t i = 0; i < m; i++) {
        size_t *material = bench_must(dw_job_alloc(job, 1, sizeof *material));
        *material = i % MATERIALS;
        int64_t mm = pick(seed, 180, 2400);
        job->parts[i] = (struct dw_part){.label = "piece",
                                         .min = mm * MM,
                                         .max = mm * MM,
                                         .count = pick(seed, 1, 6),
                                         .n_materials = 1,
                                         .materials = material};
    }
}

static struct dw_supply *add_supply(struct dw_job *job, const char *letter, size_t material,
                                    int64_t mm)
{
    char id[32];
    struct dw_supply *supply = &job->supplies[job->n_supplies++];
    snprintf(id, sizeof id, "%s%zu", letter, job->n_supplies);
    *supply = (struct dw_supply){.id = bench_must(dw_job_text(job, id)),
                                 .material = material,
                                 .length = mm * MM,
                                 .count = DW_UNLIMITED,
                                 .pack = 1,
                                 .ends = {DW_END_MILL, DW_END_MILL},
                                 .trim = 5 * MM,
                                 .tail_material = DW_NONE};
    return supply;
}

/* Each seller has two lengths of each material; its prices are its own, in whole cents. */
static void make_supplies(struct dw_job *job, int64_t *seed)
{
    static const int64_t lengths[LENGTHS] = {6000, 4000, 3000};
    static const int64_t metre[MATERIALS] = {310, 420, 550};
    job->supplies =
        bench_must(dw_job_alloc(job, SELLERS * MATERIALS * 2 + OFFCUTS, sizeof *job->supplies));
    for (size_t s = 0; s < SELLERS; s++)
        for (size_t m = 0; m < MATERIALS; m++)
            for (size_t l = 0; l < 2; l++) {
                int64_t mm = lengths[(s + l) % LENGTHS];
                struct dw_supply *supply = add_supply(job, "b", m, mm);
                supply->price = mm * metre[m] * pick(seed, 92, 112) / 100000 * CENT;
                supply->supplier = job->suppliers[s].name;
            }
    for (size_t k = 0; k < OFFCUTS; k++) {
        size_t m = k % MATERIALS;
        int64_t mm = pick(seed, 500, 2800);
        struct dw_supply *supply = add_supply(job, "o", m, mm);
        supply->source = DW_SOURCE_OFFCUT;
        supply->price = mm * metre[m] * 50 / 100000 * CENT;
        supply->count = 1;
    }
}

static void make_suppliers(struct dw_job *job, int64_t *seed)
{
    static const char *const names[SELLERS] = {"Quay Metals", "Hill Steel", "Ford Tubes"};
    job->n_suppliers = SELLERS;
    job->suppliers = bench_must(dw_job_alloc(job, SELLERS, sizeof *job->suppliers));
    for (size_t s = 0; s < SELLERS; s++)
        job->suppliers[s] = (struct dw_supplier){
            .name = names[s],
            .minimum = pick(seed, 0, 2) * 4000 * CENT,
            .small_under = pick(seed, 10, 30) * 1000 * CENT,
            .small_charge = pick(seed, 8, 25) * 100 * CENT,
            .freight = pick(seed, 9, 30) * 100 * CENT,
            .freight_free = pick(seed, 0, 2) > 0 ? pick(seed, 20, 60) * 1000 * CENT : 0,
            .cut_charge = pick(seed, 0, 2) == 0 ? 150 * CENT : 0,
            .cuts_a_pack = 1,
            .cuts_free = 4};
}

static struct dw_job *make_job(size_t j, size_t *m)
{
    struct dw_job *job = NULL;
    int64_t seed = 1907 + (int64_t)j * 7919;
    for (int i = 0; i < 5; i++)
        bench_lehmer(&seed);
    if (dw_job_new(&job, NULL) != DW_OK)
        bench_must(NULL);
    *m = (size_t)pick(&seed, 40, 80);
    job->n_orders = 1;
    job->orders = bench_must(dw_job_alloc(job, 1, sizeof *job->orders));
    job->orders[0].name = "batch";
    job->saw = (struct dw_saw){.kerf = 2 * MM, .trim = 5 * MM, .cut_cost = 20 * CENT};
    make_materials(job);
    make_suppliers(job, &seed);
    make_parts(job, *m, &seed);
    make_supplies(job, &seed);
    return job;
}

/* --- the table -------------------------------------------------------------------------------- */

static struct dw_plan *solve(const struct dw_job *job, int64_t time_ms, double *seconds)
{
    struct dw_settings settings = bench_settings(time_ms);
    const struct dw_hooks hooks = {.now_ms = cpu_ms};
    struct dw_plan *plan = NULL;
    struct dw_error error = {0};
    int64_t start = cpu_ms(NULL);
    if (dw_solve(job, &settings, &hooks, &plan, &error) != DW_OK) {
        fprintf(stderr, "%s: %s\n", dw_err_name(error.code), error.text);
        exit(3);
    }
    *seconds = (double)(cpu_ms(NULL) - start) / 1000;
    return plan;
}

/* Money of the plan that leaves the charges out, when they come after all, and what is ordered. */
static void leave_out(struct dw_job *job, int64_t time_ms, dw_money *value, dw_money *order)
{
    double seconds = 0;
    size_t n = job->n_suppliers;
    job->n_suppliers = 0;
    struct dw_plan *plan = solve(job, time_ms, &seconds);
    job->n_suppliers = n;
    if (dw_plan_sum(job, plan, NULL) != DW_OK)
        bench_must(NULL);
    *value = plan->totals.value;
    *order = plan->totals.bars + plan->totals.charges;
    dw_plan_free(plan);
}

struct tally {
    size_t n, proven, near, spare;
    double seconds, longest, widest;
    double value, value_out, order, order_out;
};

static void run(size_t j, int64_t time_ms, bool each, struct tally *tally)
{
    size_t m = 0;
    double seconds = 0;
    dw_money value_out = 0, order_out = 0;
    struct dw_job *job = make_job(j, &m);
    struct dw_plan *plan = solve(job, time_ms, &seconds);
    leave_out(job, time_ms, &value_out, &order_out);
    const dw_money value = plan->totals.value;
    double gap = 100 * (double)(value - plan->bound) / (double)value;
    tally->n++;
    tally->proven += plan->status == DW_STATUS_OPTIMAL;
    tally->near += gap < 0.1;
    tally->spare += plan->totals.spare > 0;
    tally->seconds += seconds;
    tally->longest = seconds > tally->longest ? seconds : tally->longest;
    tally->widest = gap > tally->widest ? gap : tally->widest;
    tally->value += (double)value;
    tally->value_out += (double)value_out;
    tally->order += (double)(plan->totals.bars + plan->totals.charges);
    tally->order_out += (double)order_out;
    if (each)
        printf(
            "batch %zu, %zu lengths: %s, gap %.4f %%, %.2f s, %zu of %zu suppliers, %.2f %% less "
            "than without\n",
            j, m, dw_status_word(plan->status), gap, seconds, plan->n_charges, job->n_suppliers,
            100 * (double)(value_out - value) / (double)value_out);
    fflush(stdout);
    dw_plan_free(plan);
    dw_job_free(job);
}

int main(int argc, char **argv)
{
    size_t n = 60, first = 0;
    int64_t time_ms = 10000;
    bool each = false;
    for (int i = 1; i < argc; i++) {
        if (strcmp(argv[i], "--each") == 0)
            each = true;
        else if (i + 1 < argc && strcmp(argv[i], "--jobs") == 0)
            n = (size_t)strtoul(argv[++i], NULL, 10);
        else if (i + 1 < argc && strcmp(argv[i], "--first") == 0)
            first = (size_t)strtoul(argv[++i], NULL, 10);
        else if (i + 1 < argc && strcmp(argv[i], "--time") == 0)
            time_ms = (int64_t)(strtod(argv[++i], NULL) * 1000);
        else {
            fprintf(stderr, "usage: orders [--jobs N] [--time S] [--first J] [--each]\n");
            return 2;
        }
    }
    struct tally t = {0};
    for (size_t j = first; j < first + n; j++)
        run(j, time_ms, each, &t);
    printf(
        "| batches | proven | gap below 0.1 %% | widest gap | mean s | max s | with bars for the "
        "shelf | less money by | less ordered by |\n| --- | --- | --- | --- | --- | --- | --- | "
        "--- | --- |\n| %zu | %.1f %% | %.1f %% | %.4f %% | %.2f | %.2f | %zu | %.2f %% | %.2f %% "
        "|\n",
        t.n, 100.0 * (double)t.proven / (double)t.n, 100.0 * (double)t.near / (double)t.n, t.widest,
        t.seconds / (double)t.n, t.longest, t.spare, 100 * (t.value_out - t.value) / t.value_out,
        100 * (t.order_out - t.order) / t.order_out);
    return 0;
}
