/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A program that uses GLPK itself, in the thread that calls the library, keeps what it made there.
 */
#include <dropwise/files.h>
#include <dropwise/solve.h>

#include "solve/choose/assign.h"

#include <glpk.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

static const char job_text[] = "dropwise: 1\n"
                               "unit: mm\n"
                               "currency: EUR\n"
                               "saw: {kerf: 2.5, cut cost: 0.40}\n"
                               "rules: {keep: 350, leftover worth: 50 %}\n"
                               "materials:\n"
                               "  - {id: al38}\n"
                               "bars:\n"
                               "  - {material: al38, length: 6 m, price: 30.00}\n"
                               "  - {material: al38, length: 4 m, price: 21.00}\n"
                               "parts:\n"
                               "  - {label: leg, material: al38, length: 1150, count: 14}\n"
                               "  - {label: rail, material: al38, length: 870, count: 13}\n"
                               "  - {label: tie, material: al38, length: 640, count: 15}\n";

static int count_messages(void *info, const char *text)
{
    (void)text;
    ++*(int *)info;
    return 1;
}

/* min x + y  s.t.  x + 2 y >= 4, 3 x + y >= 6: the corner x = 8/5, y = 6/5, by hand 14/5. */
static glp_prob *make_own(void)
{
    static const int rows[] = {0, 1, 2};
    static const double first[] = {0, 1, 3}, second[] = {0, 2, 1};
    glp_prob *own = glp_create_prob();
    glp_add_rows(own, 2);
    glp_set_row_bnds(own, 1, GLP_LO, 4, 0);
    glp_set_row_bnds(own, 2, GLP_LO, 6, 0);
    glp_add_cols(own, 2);
    for (int j = 1; j <= 2; j++) {
        glp_set_col_bnds(own, j, GLP_LO, 0, 0);
        glp_set_obj_coef(own, j, 1);
        glp_set_mat_col(own, j, 2, rows, j == 1 ? first : second);
    }
    return own;
}

static void solve_job(void)
{
    struct dw_report report = {0};
    struct dw_error error = {0};
    struct dw_job *job = NULL;
    struct dw_plan *plan = NULL;
    assert_int_equal(
        dw_job_read_text(job_text, sizeof job_text - 1, "desk.yaml", NULL, &job, &report, &error),
        DW_OK);
    assert_int_equal(dw_solve(job, NULL, NULL, &plan, &error), DW_OK);
    assert_int_equal(plan->status, DW_STATUS_OPTIMAL);
    dw_plan_free(plan);
    dw_job_free(job);
    dw_report_free(&report);
}

static void assign(void)
{
    static const int64_t caps[] = {1};
    static const struct dw_assign_edge edges[] = {{0, 0, 3}, {1, 0, 5}};
    size_t col_of[2];
    assert_int_equal(dw_assign__solve(2, 1, caps, 2, edges, col_of, NULL), DW_OK);
    assert_int_equal(col_of[1], 0);
}

static void test_the_callers_glpk_is_left_alone(void **state)
{
    (void)state;
    int n_messages = 0;
    glp_term_hook(count_messages, &n_messages);
    glp_prob *own = make_own();
    int blocks = 0, blocks_after = 0;
    glp_mem_usage(&blocks, NULL, NULL, NULL);
    solve_job();
    assign();
    glp_mem_usage(&blocks_after, NULL, NULL, NULL);
    assert_int_equal(blocks_after, blocks);
    assert_int_equal(n_messages, 0);
    assert_int_equal(glp_simplex(own, NULL), 0);
    assert_true(n_messages > 0);
    assert_float_equal(glp_get_obj_val(own), 2.8, 1e-9);
    glp_delete_prob(own);
    glp_free_env();
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_the_callers_glpk_is_left_alone),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
