/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What changed is told once, in its order; who is too far behind is told that anything may have. */
#include "web/news.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

static void count(void *user)
{
    ++*(int *)user;
}

static void test_order(void **state)
{
    (void)state;
    struct dw_web_news news;
    char line[DW_NEWS_LINE];
    int n = 0;
    assert_int_equal(dw_news__init(&news, NULL), DW_OK);
    dw_news__tell(&news, DW_NEWS_SHELF, NULL, 1);
    news.wake = count;
    news.user = &n;
    int64_t seen = dw_news__now(&news); /* what was before is not told */
    assert_int_equal(dw_news__next(&news, &seen, line), 0);
    dw_news__tell(&news, DW_NEWS_JOB, "3", 7);
    dw_news__tell(&news, DW_NEWS_PLANS, "a\"b", 0);
    assert_int_equal(n, 2);
    size_t told = dw_news__next(&news, &seen, line);
    assert_int_equal(told, strlen(line));
    assert_string_equal(line, "data: {\"what\":\"job\",\"key\":\"3\",\"revision\":7}\n\n");
    assert_true(dw_news__next(&news, &seen, line) > 0);
    assert_string_equal(line, "data: {\"what\":\"plans\",\"key\":\"\",\"revision\":0}\n\n");
    assert_int_equal(dw_news__next(&news, &seen, line), 0);
    dw_news__free(&news);
}

static void test_far_behind(void **state)
{
    (void)state;
    struct dw_web_news news;
    char line[DW_NEWS_LINE];
    int64_t seen = 0, late = 0;
    assert_int_equal(dw_news__init(&news, NULL), DW_OK);
    for (int i = 0; i < DW_NEWS_KEPT; i++)
        dw_news__tell(&news, DW_NEWS_SHELF, NULL, i + 1);
    assert_true(dw_news__next(&news, &seen, line) > 0);
    assert_non_null(
        strstr(line, "\"shelf\",\"key\":\"\",\"revision\":1}")); /* all are kept still */
    dw_news__tell(&news, DW_NEWS_SHELF, NULL, 999);
    assert_true(dw_news__next(&news, &late, line) > 0);
    assert_string_equal(line, "data: {\"what\":\"all\",\"key\":\"\",\"revision\":0}\n\n");
    assert_int_equal(dw_news__next(&news, &late, line), 0);
    dw_news__free(&news);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_order),
        cmocka_unit_test(test_far_behind),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
