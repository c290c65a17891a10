/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Groups side by side: one group, two equal groups on one thread, the same on two threads; and
 * whether the plan is the same, layout by layout, whatever the number of threads. */
#include "bench.h"

enum { TYPES = 1500, BAR = 60000, UNIT_NM = 100000 };

/* The list once a material, each with a bar of its own. */
static struct dw_job *make_job(const struct bench_list *list, size_t n_materials)
{
    struct dw_job *job = bench_job(list, UNIT_NM, n_materials);
    struct dw_material *materials =
        bench_must(dw_job_alloc(job, n_materials, sizeof *job->materials));
    struct dw_part *parts =
        bench_must(dw_job_alloc(job, n_materials * list->n, sizeof *job->parts));
    for (size_t m = 0; m < n_materials; m++) {
        size_t *material = bench_must(dw_job_alloc(job, 1, sizeof *material));
        *material = m;
        materials[m] = job->materials[0];
        job->supplies[m].material = m;
        job->supplies[m].length = (int64_t)BAR * UNIT_NM;
        job->supplies[m].price = 30 * DW_MONEY_ONE;
        for (size_t i = 0; i < list->n; i++) {
            parts[m * list->n + i] = job->parts[i];
            parts[m * list->n + i].materials = material;
        }
    }
    job->materials = materials;
    job->n_materials = n_materials;
    job->parts = parts;
    job->n_parts = n_materials * list->n;
    return job;
}

static struct dw_plan *run(const struct dw_job *job, int64_t threads, double *seconds)
{
    struct dw_settings settings = bench_settings(0);
    settings.threads = threads;
    double start = bench_seconds();
    struct dw_plan *plan = bench_solve(job, &settings);
    *seconds = bench_seconds() - start;
    return plan;
}

static bool equal_plans(const struct dw_plan *a, const struct dw_plan *b)
{
    bool same =
        a->n_layouts == b->n_layouts && a->totals.value == b->totals.value && a->bound == b->bound;
    for (size_t j = 0; same && j < a->n_layouts; j++) {
        const struct dw_layout *x = &a->layouts[j], *y = &b->layouts[j];
        same = x->supply == y->supply && x->count == y->count && x->n_pieces == y->n_pieces;
        for (size_t i = 0; same && i < x->n_pieces; i++)
            same =
                x->pieces[i].part == y->pieces[i].part && x->pieces[i].count == y->pieces[i].count;
    }
    return same;
}

int main(void)
{
    int64_t seed = 1994;
    struct bench_list list = bench_cutgen1(&seed, TYPES, BAR, 0.25, 0.5, 200);
    struct dw_job *one = make_job(&list, 1), *two = make_job(&list, 2);
    double of_one = 0, on_one = 0, on_two = 0;
    dw_plan_free(run(one, 1, &of_one));
    struct dw_plan *a = run(two, 1, &on_one), *b = run(two, 2, &on_two);
    printf("| one group, s | two groups on one thread, s | on two threads, s | same plan |\n"
           "| --- | --- | --- | --- |\n| %.2f | %.2f | %.2f | %s |\n",
           of_one, on_one, on_two, equal_plans(a, b) ? "yes" : "NO");
    dw_plan_free(a);
    dw_plan_free(b);
    dw_job_free(one);
    dw_job_free(two);
    bench_list_free(&list);
    return 0;
}
