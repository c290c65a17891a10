/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Time to draw papers: a cut sheet of 500 bars, a sheet of 10 000 labels, as PDF. */
#include "bench.h"

#include <dropwise/draw.h>

static void draw_sheet(void)
{
    int64_t seed = 1994;
    struct bench_list list = bench_cutgen1(&seed, 400, 6000, 0.05, 0.6, 4);
    struct dw_job *job = bench_job(&list, DW_NM_PER_MM, 1);
    job->supplies[0].length = 6000 * DW_NM_PER_MM;
    job->supplies[0].price = 30 * DW_MONEY_ONE;
    struct dw_settings settings = bench_settings(10000);
    settings.greedy = 1;
    struct dw_plan *plan = bench_solve(job, &settings);
    const struct dw_draw_options options = {.form = DW_FORM_PDF, .plan_number = "bench"};
    struct dw_drawing *document = NULL;
    struct dw_error error = {0};
    double start = bench_seconds();
    if (dw_draw_sheet(job, plan, &options, &document, &error) != DW_OK)
        exit(3);
    printf("| cut sheet | %zu layouts, %" PRId64 " bars, %" PRId64 " cuts | %zu | %.2f |\n",
           plan->n_layouts, plan->totals.n_bars, plan->totals.n_cuts, document->n_pages,
           bench_seconds() - start);
    dw_drawing_free(document);
    dw_plan_free(plan);
    dw_job_free(job);
    bench_list_free(&list);
}

static void draw_labels(size_t n)
{
    struct dw_label *labels = bench_must(calloc(n, sizeof *labels));
    char(*codes)[32] = bench_must(calloc(n, sizeof *codes));
    for (size_t i = 0; i < n; i++) {
        snprintf(codes[i], sizeof codes[i], "%zu mm post %zu", 300 + i % 900, i);
        labels[i] = (struct dw_label){.code = codes[i],
                                      .title = codes[i] + 7,
                                      .length = "412.5 mm",
                                      .material = "38.1 x 1.65 aluminium",
                                      .job = "Steelpan trio",
                                      .section = "left half"};
    }
    const struct dw_draw_options options = {.form = DW_FORM_PDF};
    struct dw_drawing *document = NULL;
    double start = bench_seconds();
    if (dw_draw_labels(labels, n, dw_label_stock_find("a4-21"), 0, &options, &document, NULL) !=
        DW_OK)
        exit(3);
    printf("| labels | %zu | %zu | %.2f |\n", n, document->n_pages, bench_seconds() - start);
    dw_drawing_free(document);
    free(labels);
    free(codes);
}

int main(void)
{
    printf("| paper | what | pages | s |\n| --- | --- | --- | --- |\n");
    draw_sheet();
    draw_labels(10000);
    return 0;
}
