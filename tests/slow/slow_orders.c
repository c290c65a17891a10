/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Random small batches of several suppliers against the exhaustive reference of the whole, order
 * included; and the order, which may differ from no plan. usage: slow_orders [FIRST LAST] */
#include "brute_order.h"
#include "random_order.h"

#include <dropwise/order.h>
#include <dropwise/solve.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

static int64_t now_ms(void *user)
{
    struct timespec now = {0};
    (void)user;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

struct tally {
    int n, n_charged, n_spare, n_none, n_large, n_bad;
};

static void bad(struct tally *tally, uint64_t seed, const char *what)
{
    printf("seed %llu: %s\n", (unsigned long long)seed, what);
    tally->n_bad++;
}

/* Charges and bars of the order are the plan's, and it adds up. */
static void check_order(struct tally *tally, uint64_t seed, const struct dw_job *job,
                        const struct dw_plan *plan)
{
    struct dw_order_doc *doc = NULL;
    struct dw_error error = {0};
    if (dw_order_make(job, plan, NULL, &doc, &error) != DW_OK) {
        bad(tally, seed, error.text);
        return;
    }
    const struct dw_totals *t = &plan->totals;
    if (doc->total - doc->fittings != t->value - t->taken - t->cuts + t->kept + t->posts + t->spare)
        bad(tally, seed, "the order comes to something else than the plan's money for it");
    tally->n_charged += doc->charges > 0;
    tally->n_spare += t->spare > 0;
    dw_order_free(doc);
}

static void check_plan(struct tally *tally, uint64_t seed, const struct dw_job *job,
                       const struct dw_plan *plan)
{
    char text[200];
    dw_money money = 0;
    enum brute_order_answer answer = brute_order(job, &money);
    bool planned = plan->status != DW_STATUS_INFEASIBLE;
    if (planned)
        check_order(tally, seed, job, plan);
    if (answer == BRUTE_ORDER_TOO_LARGE) {
        tally->n_large++;
        return;
    }
    tally->n_none += !planned;
    if (planned != (answer == BRUTE_ORDER_FOUND)) {
        bad(tally, seed, planned ? "planned by the solver only" : "planned by the reference only");
        return;
    }
    if (!planned || (plan->totals.value == money && plan->status == DW_STATUS_OPTIMAL))
        return;
    snprintf(text, sizeof text, "value %lld, bound %lld, status %s; cheapest %lld",
             (long long)plan->totals.value, (long long)plan->bound, dw_status_word(plan->status),
             (long long)money);
    bad(tally, seed, text);
}

int main(int argc, char **argv)
{
    uint64_t first = argc > 2 ? strtoull(argv[1], NULL, 10) : 1;
    uint64_t last = argc > 2 ? strtoull(argv[2], NULL, 10) : 1400;
    struct tally tally = {0};
    for (uint64_t seed = first; seed <= last; seed++) {
        const struct dw_hooks hooks = {.now_ms = now_ms};
        struct dw_job *job = random_order_job(seed);
        struct dw_plan *plan = NULL;
        struct dw_report report = {0};
        struct dw_error error = {0};
        struct dw_settings settings;
        dw_settings_default(&settings);
        settings.threads = 1;
        tally.n++;
        if (!job || dw_job_check(job, &report, &error) != DW_OK ||
            dw_solve(job, &settings, &hooks, &plan, &error) != DW_OK)
            bad(&tally, seed, error.text);
        else
            check_plan(&tally, seed, job, plan);
        dw_report_free(&report);
        dw_plan_free(plan);
        dw_job_free(job);
    }
    printf("%d batches (%d charged, %d with bars for the shelf, %d without a plan), %d too large "
           "for the reference: %d disagreements\n",
           tally.n, tally.n_charged, tally.n_spare, tally.n_none, tally.n_large, tally.n_bad);
    return tally.n_bad > 0;
}
