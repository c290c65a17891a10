/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Planning from the shelf: what is offered at what money; what has to go; tables out and in. */
#include <dropwise/shelf.h>
#include "base/base.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>
#include <jansson.h>

#include "tests/support/schema.h"

#define MM DW_NM_PER_MM

static const struct dw_act act = {.when = "2026-06-30T08:00:00Z", .who = "Ines"};
static const char today[] = "2026-06-30";

struct place {
    char folder[64];
    char path[96];
    struct dw_ledger *ledger;
    struct dw_job *job;
    struct dw_report report;
};

/* Half of the new price, 8 a metre, from 300 mm on: 4 a metre. */
static const char job_text[] = "dropwise: 1\n"
                               "name: stall\n"
                               "unit: mm\n"
                               "currency: EUR\n"
                               "client: Harbour Trio\n"
                               "saw: {kerf: 2, squaring: 5}\n"
                               "rules: {keep: 300, leftover worth: 50 %}\n"
                               "materials:\n"
                               "  - {id: S48, outside: 48.3 mm, wall: 3.2 mm}\n"
                               "bars:\n"
                               "  - {id: new, material: S48, length: 6 m, price: 48}\n"
                               "parts:\n"
                               "  - {label: leg, length: 1000, count: 3}\n";

static dw_err read_job(struct place *place, const char *text)
{
    struct dw_error error = {0};
    dw_job_free(place->job);
    dw_err err = dw_job_read_text(text, strlen(text), "stall.yaml", NULL, &place->job,
                                  &place->report, &error);
    if (err)
        print_message("%s\n", error.text);
    return err;
}

static int setup(void **state)
{
    struct place *place = calloc(1, sizeof *place);
    snprintf(place->folder, sizeof place->folder, "/tmp/dw_shelf_XXXXXX");
    assert_non_null(mkdtemp(place->folder));
    snprintf(place->path, sizeof place->path, "%s/shelf.db", place->folder);
    assert_int_equal(dw_ledger_open(place->path, DW_LEDGER_CREATE, 0, &place->ledger, NULL), DW_OK);
    struct dw_material steel = {.id = "S48", .od = 48300000, .wall = 3200000};
    assert_int_equal(dw_ledger_material_put(place->ledger, &act, &steel, NULL), DW_OK);
    assert_int_equal(read_job(place, job_text), DW_OK);
    *state = place;
    return 0;
}

static int teardown(void **state)
{
    struct place *place = *state;
    char command[128];
    dw_job_free(place->job);
    dw_ledger_close(place->ledger);
    dw_report_free(&place->report);
    snprintf(command, sizeof command, "rm -rf %s", place->folder);
    assert_int_equal(system(command), 0);
    free(place);
    return 0;
}

static void add(struct place *place, const char *number, dw_length length, dw_money value,
                const char *date, const char *owner)
{
    struct dw_stock stock = {.number = number,
                             .material = "S48",
                             .kind = DW_KIND_OFFCUT,
                             .length = length,
                             .value = value,
                             .date = date,
                             .owner = owner,
                             .ends = {DW_END_SAWN, DW_END_SAWN}};
    struct dw_error error = {0};
    dw_err err = dw_ledger_add(place->ledger, &act, &stock, 1, NULL, &error);
    if (err)
        print_message("%s\n", error.text);
    assert_int_equal(err, DW_OK);
}

static struct dw_shelf_found supply(struct place *place)
{
    struct dw_shelf_request request = {.today = today};
    struct dw_shelf_found found = {0};
    struct dw_error error = {0};
    dw_err err =
        dw_shelf_supply(place->job, place->ledger, &request, &found, &place->report, &error);
    if (err)
        print_message("%s\n", error.text);
    assert_int_equal(err, DW_OK);
    return found;
}

static const struct dw_supply *offered(const struct place *place, const char *number)
{
    for (size_t i = 0; i < place->job->n_supplies; i++)
        if (strcmp(place->job->supplies[i].id, number) == 0)
            return &place->job->supplies[i];
    return NULL;
}

static void set_rules(struct place *place, dw_money favour, int64_t share_ppm)
{
    struct dw_shelf_rules rules;
    assert_int_equal(dw_ledger_rules(place->ledger, &rules, NULL), DW_OK);
    rules.favour_old = favour;
    rules.book_share_ppm = share_ppm;
    assert_int_equal(dw_ledger_rules_set(place->ledger, NULL, &rules, NULL), DW_OK);
}

static void test_offers_what_fits(void **state)
{
    struct place *place = *state;
    uint64_t digest = dw_job_digest(place->job);
    add(place, "long", 2500 * MM, 10 * DW_MONEY_ONE, "2026-06-30", NULL);
    add(place, "exact", 1000 * MM, DW_MONEY_ONE, "2026-06-30", NULL);
    add(place, "stub", 1000 * MM - 1, DW_MONEY_ONE, "2026-06-30", NULL);
    add(place, "trio's", 1500 * MM, 5 * DW_MONEY_ONE, "2026-06-30", "Harbour Trio");
    add(place, "desk's", 1500 * MM, 5 * DW_MONEY_ONE, "2026-06-30", "Broadcast Desk");
    struct dw_shelf_found found = supply(place);
    assert_true(found.digest == digest);
    assert_int_equal(found.n_added, 3);
    assert_int_equal(found.n_too_short, 1);
    assert_int_equal(found.n_foreign, 1);
    assert_int_equal(offered(place, "long")->price, 10 * DW_MONEY_ONE);
    assert_int_equal(offered(place, "long")->source, DW_SOURCE_OFFCUT);
    assert_int_equal(offered(place, "exact")->price, DW_MONEY_ONE);
    /* the client's own: nothing, but 1500 - 1000 - 2 mm would come back at 4 a metre */
    assert_int_equal(offered(place, "trio's")->price, 19920);
    assert_null(offered(place, "stub"));
    assert_null(offered(place, "desk's"));
}

/* 181 days are six times 30; share 50 %: 20 / 2 - 6 * 0.5 = 7; the floor holds for the other. */
static void test_rules_make_the_price(void **state)
{
    struct place *place = *state;
    set_rules(place, DW_MONEY_ONE / 2, 500000);
    add(place, "old", 2500 * MM, 20 * DW_MONEY_ONE, "2025-12-31", NULL);
    add(place, "cheap", 2500 * MM, 2 * DW_MONEY_ONE, "2025-12-31", NULL);
    add(place, "undated", 2500 * MM, 20 * DW_MONEY_ONE, NULL, NULL);
    struct dw_shelf_found found = supply(place);
    assert_int_equal(offered(place, "old")->price, 7 * DW_MONEY_ONE);
    assert_int_equal(offered(place, "undated")->price, 10 * DW_MONEY_ONE);
    /* phi(2500 - 1000 - 2) = 1.498 m at 4 a metre */
    assert_int_equal(offered(place, "cheap")->price, 59920);
    assert_int_equal(found.n_raised, 1);
}

/* Age makes a piece cheaper, or it isn't the reason for what it counts. */
static void test_age_is_named_where_it_counts(void **state)
{
    struct place *place = *state;
    set_rules(place, DW_MONEY_ONE / 2, 1000000);
    add(place, "paid", 5000 * MM, 30 * DW_MONEY_ONE, "2025-12-31", NULL);
    add(place, "given", 5000 * MM, 0, "2025-12-31", NULL);
    add(place, "fresh", 5000 * MM, 30 * DW_MONEY_ONE, "2026-06-01", NULL);
    add(place, "theirs", 1000 * MM, 0, "2025-12-31", "Harbour Trio"); /* a leg, nothing left */
    supply(place);
    assert_int_equal(offered(place, "paid")->price, 27 * DW_MONEY_ONE); /* six months */
    assert_int_equal(offered(place, "paid")->counted, DW_COUNTED_AGE);
    assert_int_not_equal(offered(place, "given")->counted, DW_COUNTED_AGE);
    assert_int_equal(offered(place, "theirs")->counted, DW_COUNTED_CLIENT);
    assert_int_equal(offered(place, "fresh")->price, 30 * DW_MONEY_ONE);
    assert_int_equal(offered(place, "fresh")->counted, DW_COUNTED_PAID);
}

/* A number means one thing: two bars under one would be booked for each other. */
static void test_a_number_of_both_is_refused(void **state)
{
    struct place *place = *state;
    struct dw_shelf_request request = {.today = today};
    struct dw_shelf_found found = {0};
    struct dw_error error = {0};
    add(place, "new", 2500 * MM, 20 * DW_MONEY_ONE, NULL, NULL); /* as the job's bar */
    assert_int_equal(
        dw_shelf_supply(place->job, place->ledger, &request, &found, &place->report, &error),
        DW_ERR_INPUT);
    assert_string_equal(error.text, "the job and the shelf do not agree");
    const struct dw_remark *last = &place->report.remarks[place->report.n_remarks - 1];
    assert_int_equal(last->severity, DW_WRONG);
    assert_non_null(strstr(last->what.text, "the job has a bar or offcut new of its own"));
    assert_int_equal(place->job->n_supplies, 1);
}

/* What is still to come is asked of a plan that is held, and of no other. */
static void test_nothing_comes_for_a_plan_without_a_number(void **state)
{
    struct place *place = *state;
    struct dw_plan *plan = NULL;
    struct dw_error error = {0};
    bool rest = false, *to_come = &rest;
    assert_int_equal(dw_solve(place->job, NULL, NULL, &plan, &error), DW_OK);
    assert_int_equal(dw_shelf_to_come(place->ledger, place->job, plan, &to_come, &error),
                     DW_ERR_NOTFOUND);
    assert_null(to_come);
    dw_plan_free(plan);
}

/* What the floor is for: however much old pieces are favoured, cutting one earns nothing. */
static void test_no_gain_from_putting_back(void **state)
{
    struct place *place = *state;
    set_rules(place, 1000 * DW_MONEY_ONE, 1000000);
    for (int i = 0; i < 3; i++)
        add(place, NULL, 5000 * MM, 0, "2020-01-01", NULL);
    supply(place);
    struct dw_settings settings;
    struct dw_hooks hooks = {0};
    struct dw_plan *plan = NULL;
    dw_settings_default(&settings);
    struct dw_error error = {0};
    dw_err err = dw_solve(place->job, &settings, &hooks, &plan, &error);
    if (err)
        print_message("%s\n", error.text);
    assert_int_equal(err, DW_OK);
    assert_true(plan->totals.value >= 0);
    assert_true(plan->totals.n_bars <= 3); /* each gives a leg */
    assert_int_equal(plan->totals.in_parts, 3000 * MM);
    dw_plan_free(plan);
}

static void conforms(const char *document)
{
    char why[256] = "";
    json_t *schema = json_load_file("shared/plan.schema.json", 0, NULL);
    json_t *value = json_loads(document, 0, NULL);
    assert_non_null(schema);
    assert_non_null(json_object_get(value, "shelf"));
    if (!schema_check(schema, value, why, sizeof why))
        fail_msg("%s", why);
    json_decref(schema);
    json_decref(value);
}

/* The document of a plan brings its pieces along: job as written and document suffice to prove the
 * plan again, whatever lies on the shelf by then. */
static void test_document_brings_its_pieces(void **state)
{
    struct place *place = *state;
    add(place, "long", 2500 * MM, DW_MONEY_ONE, "2026-06-30", "Harbour Trio");
    add(place, "spare", 1100 * MM, 40 * DW_MONEY_ONE, NULL, NULL);
    supply(place);
    struct dw_settings settings;
    struct dw_hooks hooks = {0};
    struct dw_plan *plan = NULL;
    char *text = NULL;
    dw_settings_default(&settings);
    assert_int_equal(dw_solve(place->job, &settings, &hooks, &plan, NULL), DW_OK);
    assert_int_equal(dw_plan_to_json(place->job, plan, &text, NULL), DW_OK);
    conforms(text);
    dw_plan_free(plan);
    assert_int_equal(read_job(place, job_text), DW_OK);
    struct dw_job_source source = {.path = "plan.json", .text = text, .n = strlen(text)};
    struct dw_error error = {0};
    for (int i = 0; i < 2; i++) { /* the second time they are there already */
        dw_err err = dw_job_verify(place->job, &source, &plan, NULL, &place->report, &error);
        if (err)
            print_message("%s\n", error.text);
        assert_int_equal(err, DW_OK);
        assert_int_equal(place->job->n_supplies, 3);
        assert_string_equal(offered(place, "long")->owner, "Harbour Trio");
        assert_int_equal(offered(place, "long")->ends[0], DW_END_SAWN);
        dw_plan_free(plan);
    }
    static const char *const slips[][2] = {
        {"\"source\": \"offcut\"", "\"source\": \"new\"   "},
        {"\"price\": \"40.00\"", "\"price\": \"-4.00\""},
        {"\"datum end\": \"sawn\"", "\"datum end\": \"worn\""},
        {"\"id\": \"spare\"", "\"id\":    null"},
    };
    for (size_t i = 0; i < DW_COUNT(slips); i++) {
        char *bad = strdup(text);
        char *at = strstr(bad, slips[i][0]);
        assert_non_null(at);
        memcpy(at, slips[i][1], strlen(slips[i][1]));
        assert_int_equal(read_job(place, job_text), DW_OK);
        error = (struct dw_error){0};
        assert_int_equal(dw_plan_bring(bad, strlen(bad), "plan.json", place->job, &error),
                         DW_ERR_INPUT);
        assert_non_null(strstr(error.text, "/shelf/"));
        assert_int_equal(place->job->n_supplies, 1);
        free(bad);
    }
    free(text);
}

static void test_another_tube_is_refused(void **state)
{
    struct place *place = *state;
    char text[sizeof job_text];
    memcpy(text, job_text, sizeof text);
    memcpy(strstr(text, "wall: 3.2"), "wall: 4.0", 9);
    assert_int_equal(read_job(place, text), DW_OK);
    struct dw_shelf_request request = {.today = today};
    struct dw_shelf_found found;
    size_t n = place->report.n_remarks;
    assert_int_equal(
        dw_shelf_supply(place->job, place->ledger, &request, &found, &place->report, NULL),
        DW_ERR_INPUT);
    const struct dw_error *what = &place->report.remarks[n].what;
    assert_string_equal(what->text, "material S48 has another wall on the shelf: one of the two "
                                    "needs another id");
    assert_int_equal(what->line, 9);
}

static void test_currencies_do_not_mix(void **state)
{
    struct place *place = *state;
    struct dw_shelf_rules rules;
    struct dw_error error = {0};
    struct dw_shelf_request request = {.today = today};
    struct dw_shelf_found found;
    assert_int_equal(dw_ledger_rules(place->ledger, &rules, NULL), DW_OK);
    memcpy(rules.currency, "USD", 4);
    assert_int_equal(dw_ledger_rules_set(place->ledger, NULL, &rules, NULL), DW_OK);
    assert_int_equal(
        dw_shelf_supply(place->job, place->ledger, &request, &found, &place->report, &error),
        DW_ERR_INPUT);
    assert_string_equal(error.text, "the job counts in EUR, the shelf in USD");
}

static void test_surplus(void **state)
{
    struct place *place = *state;
    struct dw_stock_list *list = NULL;
    size_t n_old = 0;
    add(place, "a", 500 * MM, 5, "2026-06-01", NULL);
    add(place, "b", 600 * MM, 9, "2024-06-01", NULL); /* over a year old */
    add(place, "c", 700 * MM, 1, "2026-06-02", NULL);
    add(place, "d", 800 * MM, 5, "2026-05-01", NULL);
    add(place, "e", 800 * MM, 7, NULL, NULL);
    add(place, "f", 800 * MM, 0, "2020-01-01", "Harbour Trio"); /* not the shop's to scrap */
    add(place, "g", 800 * MM, 8, "2025-06-30", NULL);           /* a year old, no day over it */
    assert_int_equal(dw_shelf_surplus(place->ledger, today, &list, &n_old, NULL), DW_OK);
    assert_int_equal(list->n, 0);
    dw_stock_list_free(list);
    struct dw_shelf_rules rules;
    assert_int_equal(dw_ledger_rules(place->ledger, &rules, NULL), DW_OK);
    rules.max_age_days = 365;
    rules.max_offcuts = 2;
    assert_int_equal(dw_ledger_rules_set(place->ledger, NULL, &rules, NULL), DW_OK);
    assert_int_equal(dw_shelf_surplus(place->ledger, today, &list, &n_old, NULL), DW_OK);
    assert_int_equal(n_old, 1);
    assert_int_equal(list->n, 4);
    assert_string_equal(list->rows[0].number, "b");
    assert_string_equal(list->rows[1].number, "c"); /* of least value */
    assert_string_equal(list->rows[2].number, "d"); /* older than a, of the same value */
    assert_string_equal(list->rows[3].number, "a");
    dw_stock_list_free(list);
}

static void write_file(const char *path, const char *text)
{
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    fputs(text, file);
    assert_int_equal(fclose(file), 0);
}

/* What goes out comes in the same: awkward text, exact lengths, ends, measured length. */
static void test_table_round_trip(void **state)
{
    struct place *place = *state;
    struct dw_stock odd = {.number = "=1+1",
                           .material = "S48",
                           .kind = DW_KIND_BAR,
                           .length = 6000 * MM,
                           .measured = 6000 * MM + 396875,
                           .ends = {DW_END_SAWN, DW_END_MILL},
                           .value = 123400,
                           .place = "rack \"2\", left",
                           .owner = "@home; sweet",
                           .mark = "-7",
                           .date = "2026-02-28",
                           .job = "+1",
                           .remark = "caf\xc3\xa9"};
    assert_int_equal(dw_ledger_add(place->ledger, &act, &odd, 1, NULL, NULL), DW_OK);
    add(place, "C2", 17 * DW_NM_PER_IN + 19050000, 0, NULL, NULL);
    char *text = NULL, *again = NULL, path[128], csv[128];
    assert_int_equal(dw_shelf_export(place->ledger, false, &text, NULL), DW_OK);
    assert_non_null(strstr(text, "\"'=1+1\"")); /* a spreadsheet takes it for text */
    snprintf(csv, sizeof csv, "%s/out.csv", place->folder);
    snprintf(path, sizeof path, "%s/other.db", place->folder);
    write_file(csv, text);
    struct dw_ledger *other = NULL;
    struct dw_material steel = {.id = "S48", .od = 48300000};
    assert_int_equal(dw_ledger_open(path, DW_LEDGER_CREATE, 0, &other, NULL), DW_OK);
    assert_int_equal(dw_ledger_material_put(other, &act, &steel, NULL), DW_OK);
    struct dw_error error = {0};
    const struct dw_shelf_table table = {.path = csv};
    dw_err err = dw_shelf_import(other, &act, &table, NULL, &place->report, &error);
    for (size_t i = 0; i < place->report.n_remarks; i++)
        print_message("%s\n", place->report.remarks[i].what.text);
    assert_int_equal(err, DW_OK);
    assert_int_equal(dw_shelf_export(other, false, &again, NULL), DW_OK);
    /* a piece without a date comes in on the day of the step */
    char *comma = strstr(text, "C2,");
    assert_non_null(comma);
    assert_memory_equal(text + (comma - text), again + (comma - text), 40);
    char *odd_before = strstr(text, "\"'=1+1\""), *odd_after = strstr(again, "\"'=1+1\"");
    assert_non_null(odd_after);
    assert_memory_equal(odd_before, odd_after, strcspn(odd_before, "\n"));
    free(text);
    free(again);
    dw_ledger_close(other);
}

static void test_bad_table(void **state)
{
    struct place *place = *state;
    char csv[128];
    snprintf(csv, sizeof csv, "%s/bad.csv", place->folder);
    write_file(csv, "number,material,length (mm),kind\nA1,S48,500,offcut\nA2,brass,500,offcut\n"
                    "A3,S48,5OO,offcut\nA4,S48,,bar\nA5,S48,3,stick\n");
    struct dw_error error = {0};
    const struct dw_shelf_table table = {.path = csv, .bare = DW_UNIT_MM};
    assert_int_equal(dw_shelf_import(place->ledger, &act, &table, NULL, &place->report, &error),
                     DW_ERR_INPUT);
    assert_int_equal(place->report.n_wrong, 4);
    assert_int_equal(place->report.remarks[0].what.line, 3);
    assert_int_equal(place->report.remarks[1].what.line, 4);
    struct dw_balance balance;
    assert_int_equal(dw_ledger_balance(place->ledger, &balance, NULL), DW_OK);
    assert_int_equal(balance.in, 0); /* not even A1 */
}

static void test_count_from_table(void **state)
{
    struct place *place = *state;
    char csv[128];
    add(place, "a", 500 * MM, 5, NULL, NULL);
    add(place, "b", 600 * MM, 9, NULL, NULL);
    snprintf(csv, sizeof csv, "%s/seen.csv", place->folder);
    write_file(csv, "number;length;place\na;498,5 mm;bin 4\n");
    struct dw_shelf_count count = {.table = {.path = csv, .bare = DW_UNIT_MM}, .complete = true};
    struct dw_stock_list *list = NULL;
    int64_t step = 0;
    assert_int_equal(
        dw_shelf_count_pieces(place->ledger, &act, &count, &list, &step, &place->report, NULL),
        DW_OK);
    assert_int_equal(list->n, 2);
    assert_int_equal(list->rows[0].measured, 498500000);
    assert_string_equal(list->rows[0].place, "bin 4");
    assert_int_equal(list->rows[1].state, DW_STATE_LOST);
    dw_stock_list_free(list);
}

#define SHELF(name) cmocka_unit_test_setup_teardown(name, setup, teardown)

int main(void)
{
    const struct CMUnitTest tests[] = {
        SHELF(test_offers_what_fits),
        SHELF(test_rules_make_the_price),
        SHELF(test_age_is_named_where_it_counts),
        SHELF(test_a_number_of_both_is_refused),
        SHELF(test_nothing_comes_for_a_plan_without_a_number),
        SHELF(test_no_gain_from_putting_back),
        SHELF(test_document_brings_its_pieces),
        SHELF(test_another_tube_is_refused),
        SHELF(test_currencies_do_not_mix),
        SHELF(test_surplus),
        SHELF(test_table_round_trip),
        SHELF(test_bad_table),
        SHELF(test_count_from_table),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
