/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The library in a small program of one's own: a job made in memory, planned, and printed.
 *
 *   cc plan_job.c $(pkg-config --cflags --libs --static dropwise) -o plan_job */
#include <dropwise/dropwise.h>

#include <inttypes.h>
#include <stdio.h>

#define MM DW_NM_PER_MM

/* Four hoops' worth of canopy poles for a market stall, out of 3 m and 6 m bars. */
static dw_err make_job(struct dw_job **out, struct dw_error *error)
{
    struct dw_job *job = NULL;
    dw_err err = dw_job_new(&job, error);
    if (err)
        return err;
    job->n_orders = 1;
    job->n_materials = 1;
    job->n_supplies = 2;
    job->n_parts = 3;
    job->orders = dw_job_alloc(job, job->n_orders, sizeof *job->orders);
    job->materials = dw_job_alloc(job, job->n_materials, sizeof *job->materials);
    job->supplies = dw_job_alloc(job, job->n_supplies, sizeof *job->supplies);
    job->parts = dw_job_alloc(job, job->n_parts, sizeof *job->parts);
    size_t *steel = dw_job_alloc(job, 1, sizeof *steel);
    if (!job->orders || !job->materials || !job->supplies || !job->parts || !steel) {
        dw_job_free(job);
        return DW_ERR_NOMEM;
    }
    job->name = "Stall poles";
    job->saw = (struct dw_saw){.kerf = 2 * MM};
    job->orders[0].name = "stall";
    job->materials[0] = (struct dw_material){.id = "steel 32", .worth.keep = 300 * MM};
    job->supplies[0] = (struct dw_supply){.id = "3 m",
                                          .length = 3000 * MM,
                                          .price = 11 * DW_MONEY_ONE,
                                          .count = DW_UNLIMITED,
                                          .pack = 1,
                                          .tail_material = DW_NONE};
    job->supplies[1] = job->supplies[0];
    job->supplies[1].id = "6 m";
    job->supplies[1].length = 6000 * MM;
    job->supplies[1].price = 20 * DW_MONEY_ONE;
    static const struct {
        const char *label;
        int64_t length_mm, count;
    } parts[] = {{"pole", 2150, 6}, {"ridge", 1840, 3}, {"brace", 620, 8}};
    for (size_t i = 0; i < job->n_parts; i++)
        job->parts[i] = (struct dw_part){.label = parts[i].label,
                                         .min = parts[i].length_mm * MM,
                                         .max = parts[i].length_mm * MM,
                                         .count = parts[i].count,
                                         .n_materials = 1,
                                         .materials = steel};
    *out = job;
    return DW_OK;
}

static void print_plan(const struct dw_job *job, const struct dw_plan *plan)
{
    struct dw_length_style style = {.unit = DW_UNIT_MM, .decimals = 2};
    char text[DW_LENGTH_TEXT];
    for (size_t i = 0; i < plan->n_layouts; i++) {
        const struct dw_layout *layout = &plan->layouts[i];
        printf("%" PRId64 " x %s:", layout->count, job->supplies[layout->supply].id);
        for (size_t k = 0; k < layout->n_pieces; k++) {
            dw_length_print(text, layout->pieces[k].length, &style);
            printf("  %" PRId64 " x %s", layout->pieces[k].count, text);
        }
        dw_length_print(text, layout->leftover, &style);
        printf("  leaves %s\n", text);
    }
    char money[DW_MONEY_TEXT];
    dw_money_print(money, plan->totals.value, job->currency, true);
    printf("%s%s\n", money, plan->status == DW_STATUS_OPTIMAL ? ", and no plan is cheaper" : "");
}

int main(void)
{
    struct dw_job *job = NULL;
    struct dw_plan *plan = NULL;
    struct dw_report report = {0};
    struct dw_error error = {0};
    struct dw_settings settings;
    struct dw_hooks hooks = {0};
    dw_settings_default(&settings);
    settings.work = 2000000; /* without a clock in the hooks, effort is what can be limited */
    dw_err err = make_job(&job, &error);
    if (!err)
        err = dw_job_check(job, &report, &error);
    if (!err)
        err = dw_solve(job, &settings, &hooks, &plan, &error);
    if (!err)
        print_plan(job, plan);
    else
        fprintf(stderr, "plan_job: %s\n",
                report.n_remarks ? report.remarks[0].what.text : error.text);
    dw_plan_free(plan);
    dw_report_free(&report);
    dw_job_free(job);
    return err ? 1 : 0;
}
