/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Documents beside the shelf: revisions, and what is refused. */
#include "ledger/ledger.h"

#include <dropwise/document.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

static const struct dw_act ada = {.when = "2026-03-01T08:00:00Z", .who = "Ada"};
static const struct dw_act ben = {.when = "2026-03-01T09:00:00Z", .who = "Ben"};

static char folder[64];
static char path[96];

static int setup(void **state)
{
    struct dw_ledger *ledger = NULL;
    snprintf(folder, sizeof folder, "/tmp/dw_document_XXXXXX");
    assert_non_null(mkdtemp(folder));
    snprintf(path, sizeof path, "%s/shelf.db", folder);
    assert_int_equal(dw_ledger_open(path, DW_LEDGER_CREATE, 1000, &ledger, NULL), DW_OK);
    *state = ledger;
    return 0;
}

static int teardown(void **state)
{
    char command[128];
    dw_ledger_close(*state);
    snprintf(command, sizeof command, "rm -rf %s", folder);
    return system(command);
}

static dw_err save(struct dw_ledger *ledger, const struct dw_act *act, const char *key,
                   const char *body, int64_t revision, struct dw_error *error)
{
    struct dw_document document = {
        .kind = "job", .key = key, .name = "Rack", .body = body, .revision = revision};
    return dw_ledger_document_save(ledger, act, &document, NULL, error);
}

static void test_revisions(void **state)
{
    struct dw_ledger *ledger = *state;
    struct dw_document_list *list = NULL;
    struct dw_error error = {0};
    assert_int_equal(save(ledger, &ada, "a", "one", 0, NULL), DW_OK);
    assert_int_equal(save(ledger, &ben, "a", "two", 1, NULL), DW_OK);
    assert_int_equal(save(ledger, &ada, "a", "three", 1, &error), DW_ERR_STATE);
    assert_string_equal(error.text, "job a was saved by Ben in the meantime (revision 2): look at "
                                    "what changed first");
    assert_int_equal(save(ledger, &ada, "a", "three", 0, NULL), DW_ERR_STATE);
    assert_int_equal(save(ledger, &ada, "a", "three", 3, NULL), DW_ERR_STATE);
    assert_int_equal(save(ledger, &ada, "b", "three", 1, NULL), DW_ERR_NOTFOUND);
    assert_int_equal(dw_ledger_document(ledger, "job", "a", &list, NULL), DW_OK);
    assert_string_equal(list->rows[0].body, "two");
    assert_string_equal(list->rows[0].who, "Ben");
    assert_int_equal(list->rows[0].revision, 2);
    dw_document_list_free(list);
    assert_int_equal(dw_ledger_document(ledger, "plan", "a", &list, NULL), DW_ERR_NOTFOUND);
    assert_null(list);
}

/* The next number is never one that was given before. */
static void test_numbers(void **state)
{
    struct dw_ledger *ledger = *state;
    struct dw_document_list *saved = NULL;
    struct dw_document document = {.kind = "job", .body = "x"};
    for (int i = 1; i <= 3; i++) {
        char number[16];
        snprintf(number, sizeof number, "%d", i);
        assert_int_equal(dw_ledger_document_save(ledger, &ada, &document, &saved, NULL), DW_OK);
        assert_string_equal(saved->rows[0].key, number);
        dw_document_list_free(saved);
        assert_int_equal(dw_ledger_document_drop(ledger, "job", number, 2, NULL), DW_ERR_STATE);
        assert_int_equal(dw_ledger_document_drop(ledger, "job", number, 1, NULL), DW_OK);
        assert_int_equal(dw_ledger_document_drop(ledger, "job", number, 1, NULL), DW_ERR_NOTFOUND);
    }
}

static void test_lists(void **state)
{
    struct dw_ledger *ledger = *state;
    struct dw_document_list *list = NULL;
    assert_int_equal(save(ledger, &ada, "old", "x", 0, NULL), DW_OK);
    assert_int_equal(save(ledger, &ben, "new", "y", 0, NULL), DW_OK);
    assert_int_equal(dw_ledger_documents(ledger, "job", &list, NULL), DW_OK);
    assert_int_equal(list->n, 2);
    assert_string_equal(list->rows[0].key, "new");
    assert_null(list->rows[0].body);
    dw_document_list_free(list);
    assert_int_equal(dw_ledger_documents(ledger, "plan", &list, NULL), DW_OK);
    assert_int_equal(list->n, 0);
    dw_document_list_free(list);
}

static void test_refused(void **state)
{
    struct dw_ledger *ledger = *state;
    const struct dw_act timeless = {0};
    assert_int_equal(save(ledger, &ada, "", "x", 0, NULL), DW_ERR_INPUT);
    assert_int_equal(save(ledger, &ada, "a\nb", "x", 0, NULL), DW_ERR_INPUT);
    assert_int_equal(save(ledger, &ada, "a", "\xff", 0, NULL), DW_ERR_INPUT);
    assert_int_equal(save(ledger, &ada, "a", NULL, 0, NULL), DW_ERR_INPUT);
    assert_int_equal(save(ledger, &timeless, "a", "x", 0, NULL), DW_ERR_INPUT);
    char *large = calloc(DW_DOCUMENT_MAX + 2, 1);
    assert_non_null(large);
    memset(large, 'x', DW_DOCUMENT_MAX + 1);
    assert_int_equal(save(ledger, &ada, "a", large, 0, NULL), DW_ERR_LIMIT);
    free(large);
    struct dw_report report = {0}; /* documents are no part of the balance */
    assert_int_equal(save(ledger, &ada, "a", "x", 0, NULL), DW_OK);
    assert_int_equal(dw_ledger_check(ledger, &report, NULL), DW_OK);
    dw_report_free(&report);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_revisions, setup, teardown),
        cmocka_unit_test_setup_teardown(test_numbers, setup, teardown),
        cmocka_unit_test_setup_teardown(test_lists, setup, teardown),
        cmocka_unit_test_setup_teardown(test_refused, setup, teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
