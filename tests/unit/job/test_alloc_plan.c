/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reading, checking, planning, verifying and writing a small job with the k-th allocation of our
 * own code failing, for every k until none fails: a clean error, nothing leaked, nothing written.
 */
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <setjmp.h>
#include <cmocka.h>

#include "alloc_fail.h"
#include <dropwise/work.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* Two groups, an end-bent bar, an offcut, a post, two lengths of bar: each stage has work. */
static const char job_text[] = "dropwise: 1\n"
                               "name: desk\n"
                               "unit: mm\n"
                               "currency: EUR\n"
                               "saw: {kerf: 2, squaring: 3, cost per cut: 0.20}\n"
                               "rules: {keep: 300, leftover worth: 50 %}\n"
                               "materials:\n"
                               "  - {id: al38, outside: 38 mm, wall: 2 mm}\n"
                               "  - {id: st32, outside: 32 mm, wall: 2 mm}\n"
                               "bars:\n"
                               "  - {id: al6, material: al38, length: 6 m, price: 30.00}\n"
                               "  - {id: al4, material: al38, length: 4 m, price: 21.00}\n"
                               "  - {id: st3, material: st32, length: 3 m, price: 9.50}\n"
                               "parts:\n"
                               "  - {label: leg, material: al38, length: 1150, count: 4}\n"
                               "  - {label: rail, material: al38, length: 870, count: 3}\n"
                               "  - {label: tie, material: st32, length: 640, count: 5}\n";

struct run {
    char folder[64];
    char path[96];
    struct dw_error error;
    bool left; /* planning failed, yet a file is there */
};

/* The whole way. Everything that it allocates is freed. */
static dw_err plan_job(struct run *run)
{
    struct dw_job_source source = {.path = "desk.yaml", .text = job_text, .n = sizeof job_text - 1};
    struct dw_job_request request = {.path = run->path};
    struct dw_report report = {0};
    struct dw_job *job = NULL;
    struct dw_plan *plan = NULL, *again = NULL;
    dw_settings_default(&request.settings);
    request.settings.threads = 1;
    dw_err err = dw_job_load(&source, &job, &report, &run->error);
    if (err == DW_OK)
        err = dw_job_plan(job, &request, &plan, &run->error);
    if (err == DW_OK)
        err = dw_job_put_plan(job, &request, plan, &run->error);
    run->left = err != DW_OK && access(run->path, F_OK) == 0;
    if (err == DW_OK) {
        source = (struct dw_job_source){.path = run->path};
        err = dw_job_verify(job, &source, &again, NULL, &report, &run->error);
    }
    dw_plan_free(plan);
    dw_plan_free(again);
    dw_job_free(job);
    dw_report_free(&report);
    return err;
}

static void start(struct run *run)
{
    *run = (struct run){.folder = "/tmp/dropwise-XXXXXX"};
    assert_non_null(mkdtemp(run->folder));
    snprintf(run->path, sizeof run->path, "%s/desk.json", run->folder);
}

/* The folder can only be removed if it holds nothing but the plan. */
static void finish(struct run *run)
{
    remove(run->path);
    assert_int_equal(rmdir(run->folder), 0);
}

static void fail_each(bool on)
{
    struct run run;
    start(&run);
    assert_int_equal(plan_job(&run), DW_OK); /* whatever is made once is made now */
    finish(&run);
    long live = alloc_live();
    bool failed = true;
    long n_failed = 0;
    for (long k = 0; failed; k++) {
        start(&run);
        alloc_fail_at(k, on);
        dw_err err = plan_job(&run);
        failed = alloc_count() > k;
        alloc_fail_at(-1, false);
        if (failed && err != DW_OK) {
            if (err != DW_ERR_NOMEM || run.error.text[0] == '\0')
                fail_msg("allocation %ld: %s (%s)", k, dw_err_name(err), run.error.text);
        } else if (err != DW_OK) {
            fail_msg("%s: %s", dw_err_name(err), run.error.text);
        }
        if (run.left)
            fail_msg("allocation %ld: a plan is written although planning failed", k);
        if (alloc_live() != live)
            fail_msg("allocation %ld: %ld blocks are not freed", k, alloc_live() - live);
        finish(&run);
        n_failed += err != DW_OK;
    }
    assert_true(n_failed > 100);
}

static void each_allocation_may_fail(void **state)
{
    (void)state;
    assert_true(alloc_wrapped());
    fail_each(false);
}

static void all_allocations_from_one_on_may_fail(void **state)
{
    (void)state;
    fail_each(true);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_allocation_may_fail),
        cmocka_unit_test(all_allocations_from_one_on_may_fail),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
