/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The plan document: what is written is read back, field by field and byte by byte; what is wrong
 * in it is refused with its place. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <dropwise/files.h>
#include <jansson.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const char job_text[] = "dropwise: 1\n"
                               "name: stand\n"
                               "unit: in\n"
                               "currency: EUR\n"
                               "saw: {kerf: 1/8}\n"
                               "rules: {keep: 12}\n"
                               "materials:\n"
                               "  - {id: A, outside: 32 mm}\n"
                               "  - {id: B, outside: 25 mm}\n"
                               "bars:\n"
                               "  - {id: long, material: A, length: 240, price: 20}\n"
                               "  - {id: short, material: B, length: 120, price: 11}\n"
                               "parts:\n"
                               "  - {label: upright, length: 24 3/8, count: 8, material: A}\n"
                               "  - {label: rail, length: 30, count: 2, material: B}\n"
                               "posts:\n"
                               "  - {label: arm, length: 14 to 20, material: A, worth: 2}\n";

static struct dw_job *read_job(const char *text)
{
    struct dw_job *job = NULL;
    struct dw_report report = {0};
    struct dw_error error = {0};
    dw_err err = dw_job_read_text(text, strlen(text), "job.yaml", NULL, &job, &report, &error);
    for (size_t i = 0; i < report.n_remarks && err != DW_OK; i++)
        print_message("%d:%d: %s\n", report.remarks[i].what.line, report.remarks[i].what.column,
                      report.remarks[i].what.text);
    dw_report_free(&report);
    assert_int_equal(err, DW_OK);
    return job;
}

/* Every field set, values that need care among them: beyond 2^53, negative, without text. */
static struct dw_plan *make_plan(void)
{
    struct dw_plan *plan = NULL;
    assert_int_equal(dw_plan_new(&plan, NULL), DW_OK);
    plan->job_digest = UINT64_C(0xfedcba9876543210);
    plan->status = DW_STATUS_INFEASIBLE;
    plan->bound = -123456;
    plan->n_groups = 2;
    plan->groups = dw_plan_alloc(plan, 2, sizeof *plan->groups);
    size_t *materials = dw_plan_alloc(plan, 2, sizeof *materials);
    materials[1] = 1;
    size_t *dual_parts = dw_plan_alloc(plan, 2, sizeof *dual_parts);
    dual_parts[1] = 2;
    int64_t *duals = dw_plan_alloc(plan, 2, sizeof *duals);
    duals[0] = INT64_C(9007199254740993);
    duals[1] = 17;
    struct dw_shortage *shortage = dw_plan_alloc(plan, 1, sizeof *shortage);
    *shortage = (struct dw_shortage){.part = 1, .missing = 2, .never = true};
    plan->groups[0] = (struct dw_group){
        .n_materials = 1,
        .materials = materials,
        .status = DW_STATUS_WITHIN,
        .proof = DW_PROOF_DUALS,
        .value = 180000,
        .bound = 179999,
        .certificate = {.scale = INT64_C(1) << 62,
                        .n_duals = 2,
                        .parts = dual_parts,
                        .duals = duals,
                        .bound = 179999},
        .method = "greedy \"quoted\" \\ ü",
        .work = INT64_MAX,
    };
    plan->groups[1] = (struct dw_group){.n_materials = 1,
                                        .materials = materials + 1,
                                        .status = DW_STATUS_INFEASIBLE,
                                        .n_shortages = 1,
                                        .shortages = shortage};
    struct dw_piece *pieces = dw_plan_alloc(plan, 4, sizeof *pieces);
    pieces[0] = (struct dw_piece){DW_USE_BEND_END, DW_NONE, 1, 1};
    pieces[1] = (struct dw_piece){DW_USE_PART, 0, INT64_C(619125000), 8};
    pieces[2] = (struct dw_piece){DW_USE_POST, 2, 14 * DW_NM_PER_IN, 1};
    pieces[3] = (struct dw_piece){DW_USE_SURPLUS, 0, INT64_C(619125000), 1};
    plan->number = 7;
    plan->replaces = 5;
    plan->n_layouts = 2;
    plan->layouts = dw_plan_alloc(plan, 2, sizeof *plan->layouts);
    plan->layouts[0] = (struct dw_layout){.bar = 1,
                                          .count = 3,
                                          .n_pieces = 3,
                                          .pieces = pieces,
                                          .rest = DW_REST_KEPT,
                                          .leftover = 20 * DW_NM_PER_IN + 1};
    plan->layouts[1] = (struct dw_layout){
        .supply = 1, .group = 1, .bar = 4, .count = 1, .n_pieces = 1, .pieces = pieces + 3};
    plan->n_takes = 1;
    plan->takes = dw_plan_alloc(plan, 1, sizeof *plan->takes);
    plan->takes[0] = (struct dw_take){.supply = 1, .used = 3, .bought = 4, .money = 440000};
    plan->totals = (struct dw_totals){.bars = 1,
                                      .taken = 10,
                                      .cuts = 100,
                                      .kept = 1000,
                                      .posts = 10000,
                                      .value = -9889,
                                      .n_bars = 11,
                                      .n_cuts = 12,
                                      .n_kept = 13,
                                      .in = INT64_C(9007199254740992),
                                      .in_parts = 14,
                                      .in_posts = 15,
                                      .in_kept = 16,
                                      .in_scrap = 17,
                                      .in_trim = 18,
                                      .in_chips = 19};
    return plan;
}

static void check_groups(const struct dw_plan *a, const struct dw_plan *b)
{
    assert_int_equal(a->n_groups, b->n_groups);
    for (size_t i = 0; i < a->n_groups; i++) {
        const struct dw_group *x = &a->groups[i], *y = &b->groups[i];
        assert_int_equal(x->n_materials, y->n_materials);
        assert_memory_equal(x->materials, y->materials, x->n_materials * sizeof(size_t));
        assert_int_equal(x->status, y->status);
        assert_int_equal(x->proof, y->proof);
        assert_int_equal(x->value, y->value);
        assert_int_equal(x->bound, y->bound);
        assert_int_equal(x->work, y->work);
        assert_int_equal(x->certificate.scale, y->certificate.scale);
        assert_int_equal(x->certificate.bound, y->certificate.bound);
        assert_int_equal(x->certificate.n_duals, y->certificate.n_duals);
        for (size_t k = 0; k < x->certificate.n_duals; k++) {
            assert_int_equal(x->certificate.parts[k], y->certificate.parts[k]);
            assert_int_equal(x->certificate.duals[k], y->certificate.duals[k]);
        }
        assert_int_equal(x->n_shortages, y->n_shortages);
        for (size_t k = 0; k < x->n_shortages; k++) {
            assert_int_equal(x->shortages[k].part, y->shortages[k].part);
            assert_int_equal(x->shortages[k].missing, y->shortages[k].missing);
            assert_int_equal(x->shortages[k].never, y->shortages[k].never);
        }
        assert_int_equal(!x->method, !y->method);
        if (x->method)
            assert_string_equal(x->method, y->method);
    }
}

static void check_layouts(const struct dw_plan *a, const struct dw_plan *b)
{
    assert_int_equal(a->n_layouts, b->n_layouts);
    for (size_t i = 0; i < a->n_layouts; i++) {
        const struct dw_layout *x = &a->layouts[i], *y = &b->layouts[i];
        assert_int_equal(x->supply, y->supply);
        assert_int_equal(x->group, y->group);
        assert_int_equal(x->bar, y->bar);
        assert_int_equal(x->count, y->count);
        assert_int_equal(x->rest, y->rest);
        assert_int_equal(x->leftover, y->leftover);
        assert_int_equal(x->n_pieces, y->n_pieces);
        for (size_t k = 0; k < x->n_pieces; k++) {
            assert_int_equal(x->pieces[k].use, y->pieces[k].use);
            assert_int_equal(x->pieces[k].part, y->pieces[k].part);
            assert_int_equal(x->pieces[k].length, y->pieces[k].length);
            assert_int_equal(x->pieces[k].count, y->pieces[k].count);
        }
    }
}

static void test_round_trip(void **state)
{
    (void)state;
    struct dw_job *job = read_job(job_text);
    struct dw_plan *plan = make_plan(), *again = NULL;
    char *first = NULL, *second = NULL;
    struct dw_error error = {0};
    assert_int_equal(dw_plan_to_json(job, plan, &first, &error), DW_OK);
    dw_err err = dw_plan_from_json(first, strlen(first), "plan.json", job, &again, &error);
    assert_string_equal(error.text, "");
    assert_int_equal(err, DW_OK);
    assert_true(again->job_digest == plan->job_digest);
    assert_int_equal(again->status, plan->status);
    assert_int_equal(again->bound, plan->bound);
    assert_int_equal(again->number, 7);
    assert_int_equal(again->replaces, 5);
    assert_memory_equal(&again->totals, &plan->totals, sizeof plan->totals);
    assert_int_equal(again->n_takes, 1);
    assert_memory_equal(again->takes, plan->takes, sizeof *plan->takes);
    check_groups(plan, again);
    check_layouts(plan, again);
    assert_int_equal(dw_plan_to_json(job, again, &second, &error), DW_OK);
    assert_string_equal(first, second);
    free(first);
    free(second);
    dw_plan_free(plan);
    dw_plan_free(again);
    dw_job_free(job);
}

/* A document of version 1 has no numbers: its bars are numbered as they stand. */
/* Leaves what the first version of the document knew of a layout. */
static void to_first_version(json_t *layout)
{
    static const char *const known[] = {"use", "part", "length", "count"};
    size_t i = 0;
    json_t *piece = NULL;
    json_object_del(layout, "bar");
    json_array_foreach(json_object_get(layout, "pieces"), i, piece)
    {
        json_t *old = json_object();
        for (size_t k = 0; k < sizeof known / sizeof known[0]; k++)
            json_object_set(old, known[k], json_object_get(piece, known[k]));
        json_object_clear(piece);
        json_object_update(piece, old);
        json_decref(old);
    }
}

static void test_first_version(void **state)
{
    (void)state;
    struct dw_job *job = read_job(job_text);
    struct dw_plan *plan = make_plan(), *again = NULL;
    char *text = NULL;
    assert_int_equal(dw_plan_to_json(job, plan, &text, NULL), DW_OK);
    json_t *root = json_loads(text, 0, NULL);
    size_t i = 0;
    json_t *layout = NULL;
    json_object_set_new(root, "version", json_integer(1));
    json_object_del(root, "number");
    json_object_del(root, "replaces");
    json_array_foreach(json_object_get(root, "layouts"), i, layout) to_first_version(layout);
    char *old = json_dumps(root, 0);
    assert_int_equal(dw_plan_from_json(old, strlen(old), "plan.json", job, &again, NULL), DW_OK);
    assert_int_equal(again->number, 0);
    assert_int_equal(again->layouts[0].bar, 1);
    assert_int_equal(again->layouts[1].bar, 4);
    free(old);
    free(text);
    json_decref(root);
    dw_plan_free(plan);
    dw_plan_free(again);
    dw_job_free(job);
}

#define TEXT_LEFT(text) "/layouts/0/leftover/text: \"" text "\" is not the length in nm, 508000001"

/* The first `find` in the good document becomes `put`; then the reader says `text`. */
static const struct spoiled {
    const char *find, *put;
    dw_err code;
    const char *text;
} spoiled[] = {
    {"\"dropwise plan\"", "\"shopping list\"", DW_ERR_SCHEMA,
     "/format: this is no plan; a plan says \"format\": \"dropwise plan\""},
    {"\"version\": 2", "\"version\": 3", DW_ERR_SCHEMA,
     "/version: this program reads versions 1 to 2 of plans"},
    {"\"version\": 2", "\"version\": 2.0", DW_ERR_SCHEMA,
     "/version: this program reads versions 1 to 2 of plans"},
    {"\"number\": 1", "\"number\": 2", DW_ERR_INPUT,
     "/layouts/0/pieces/0/number: the job says 1: made before the job changed?"},
    {"\"number\": 1", "\"number\": 1, \"long points\": \"same side\"", DW_ERR_INPUT,
     "/layouts/0/pieces/0/long points: the job says nothing of it: made before the job changed?"},
    {"\"version\": 2", "\"version\": 2, \"colour\": 3", DW_ERR_INPUT,
     "/: member `colour` is not known"},
    {"\"takes\"", "\"takings\"", DW_ERR_INPUT, "/: member `takes` is missing"},
    {"fedcba9876543210", "fedcba987654321", DW_ERR_INPUT,
     "/job/digest: 16 hexadecimal digits in lower case are wanted"},
    {"fedcba9876543210", "FEDCBA9876543210", DW_ERR_INPUT,
     "/job/digest: 16 hexadecimal digits in lower case are wanted"},
    {"\"EUR\"", "\"USD\"", DW_ERR_INPUT,
     "/job/currency: the job's money is in EUR: made for another job?"},
    {"\"stand\"", "7", DW_ERR_INPUT, "/job/name: a string or null is wanted"},
    {"\"stand\"", "\"a\\u001bb\"", DW_ERR_INPUT, "/job/name: control characters are not allowed"},
    {"\"infeasible\"", "\"perfect\"", DW_ERR_INPUT,
     "/status: one of \"optimal\", \"within\", \"stopped\", \"infeasible\" is wanted"},
    {"\"infeasible\"", "1", DW_ERR_INPUT,
     "/status: one of \"optimal\", \"within\", \"stopped\", \"infeasible\" is wanted"},
    {"\"-12.3456\"", "-12.3456", DW_ERR_INPUT,
     "/bound: an amount is wanted, a string with two to four decimals: \"12.50\""},
    {"\"-12.3456\"", "\"-12.34567\"", DW_ERR_INPUT,
     "/bound: an amount is wanted, a string with two to four decimals: \"12.50\""},
    {"\"-12.3456\"", "\"12\"", DW_ERR_INPUT,
     "/bound: an amount is wanted, a string with two to four decimals: \"12.50\""},
    {"\"-12.3456\"", "\"012.00\"", DW_ERR_INPUT,
     "/bound: an amount is wanted, a string with two to four decimals: \"12.50\""},
    {"\"-12.3456\"", "\"999999999999999999.00\"", DW_ERR_INPUT,
     "/bound: the amount is out of range"},
    {"\"bar count\": 11", "\"bar count\": 11.0", DW_ERR_INPUT,
     "/totals/bar count: a whole number is wanted"},
    {"\"bar count\": 11", "\"bar count\": -1", DW_ERR_INPUT,
     "/totals/bar count: -1 is out of range; 0 to 9223372036854775807 is possible"},
    {"\"9007199254740992\"", "\"9223372036854775808\"", DW_ERR_INPUT,
     "/totals/length in/nm: a whole number is wanted"},
    {"\"9007199254740992\"", "\"0090\"", DW_ERR_INPUT,
     "/totals/length in/nm: a whole number is wanted"},
    {"\"9007199254740992\"", "\"\"", DW_ERR_INPUT,
     "/totals/length in/nm: a whole number is wanted"},
    {"\"9007199254740992\"", "\"12x\"", DW_ERR_INPUT,
     "/totals/length in/nm: a whole number is wanted"},
    {"\"9007199254740992\"", "\"-12\"", DW_ERR_INPUT,
     "/totals/length in/nm: -12 is out of range; 0 to 9223372036854775807 is possible"},
    {"\"id\": \"short\"", "\"id\": \"long\"", DW_ERR_INPUT,
     "/takes/0/supply/id: supply 1 of the job is `short`: made for another job?"},
    {"\"id\": \"long\"", "\"id\": null", DW_ERR_INPUT,
     "/layouts/0/supply/id: supply 0 of the job is `long`: made for another job?"},
    {"\"label\": \"upright\"", "\"label\": 3", DW_ERR_INPUT,
     "/layouts/0/pieces/1/part/label: part 0 of the job is `upright`: made for another "
     "job?"},
    {"\"id\": \"A\"", "\"id\": \"B\"", DW_ERR_INPUT,
     "/groups/0/materials/0/id: material 0 of the job is `A`: made for another job?"},
    {"\"group\": 1", "\"group\": 2", DW_ERR_INPUT,
     "/layouts/1/group: no group has index 2; there are 2: made for another job?"},
    {"\"group\": 1", "\"group\": -1", DW_ERR_INPUT,
     "/layouts/1/group: no group has index -1; there are 2: made for another job?"},
    {"\"count\": 3", "\"count\": 0", DW_ERR_INPUT,
     "/layouts/0/count: 0 is out of range; 1 to 2000000 is possible"},
    {"\"count\": 3", "\"count\": 99999999999999999999", DW_ERR_SYNTAX, NULL},
    {"\"count\": 3", "\"count\": 3, \"count\": 3", DW_ERR_SYNTAX, NULL},
    {"\"use\": \"part\"", "\"use\": \"bend end\"", DW_ERR_INPUT,
     "/layouts/0/pieces/1: a bend end has no part, any other piece has one"},
    {"\"part\": null", "\"part\": 3", DW_ERR_INPUT, NULL},
    {"\"shortages\": []", "\"shortages\": 1", DW_ERR_INPUT,
     "/groups/0/shortages: an array is wanted"},
    {"\"never\": true", "\"never\": 1", DW_ERR_INPUT,
     "/groups/1/shortages/0/never: true or false is wanted"},
    {"\"leftover\": {", "\"leftover\": {\"mm\": 1,", DW_ERR_INPUT,
     "/layouts/0/leftover: member `mm` is not known"},
    {"\"text\": \"~20 in\"", "\"text\": 20", DW_ERR_INPUT,
     "/layouts/0/leftover/text: a string is wanted"},
    {"\"text\": \"24 3/8 in\"", "\"text\": \"24 3/4 in\"", DW_ERR_INPUT,
     "/layouts/0/pieces/1/length/text: \"24 3/4 in\" is not the length in nm, 619125000"},
    {"\"text\": \"~20 in\"", "\"text\": \"~20 1/64 in\"", DW_ERR_INPUT, TEXT_LEFT("~20 1/64 in")},
    {"\"text\": \"~20 in\"", "\"text\": \"20 in\"", DW_ERR_INPUT, TEXT_LEFT("20 in")},
    {"\"text\": \"~20 in\"", "\"text\": \"long\"", DW_ERR_INPUT, TEXT_LEFT("long")},
    {"{", "[", DW_ERR_SYNTAX, NULL},
};

static char *replaced(const char *text, const char *find, const char *put)
{
    const char *at = strstr(text, find);
    if (!at)
        fail_msg("the document does not hold %s", find);
    size_t n = strlen(text) - strlen(find) + strlen(put) + 1;
    char *out = malloc(n);
    assert_non_null(out);
    snprintf(out, n, "%.*s%s%s", (int)(at - text), text, put, at + strlen(find));
    return out;
}

static void test_spoiled(void **state)
{
    (void)state;
    struct dw_job *job = read_job(job_text);
    struct dw_plan *plan = make_plan(), *read = plan;
    char *text = NULL;
    assert_int_equal(dw_plan_to_json(job, plan, &text, NULL), DW_OK);
    for (size_t i = 0; i < sizeof spoiled / sizeof *spoiled; i++) {
        char *bad = replaced(text, spoiled[i].find, spoiled[i].put);
        struct dw_error error = {0};
        dw_err err = dw_plan_from_json(bad, strlen(bad), "plan.json", job, &read, &error);
        if (spoiled[i].text)
            assert_string_equal(error.text, spoiled[i].text);
        assert_int_equal(err, spoiled[i].code);
        assert_int_equal(error.code, spoiled[i].code);
        assert_string_equal(error.file, "plan.json");
        assert_true(err != DW_ERR_SYNTAX || (error.line > 0 && error.column > 0));
        assert_null(read);
        free(bad);
    }
    free(text);
    dw_plan_free(plan);
    dw_job_free(job);
}

/* A document broken off anywhere is refused, and never read past its end. */
static void test_broken_off(void **state)
{
    (void)state;
    struct dw_job *job = read_job(job_text);
    struct dw_plan *plan = make_plan(), *read = NULL;
    char *text = NULL;
    assert_int_equal(dw_plan_to_json(job, plan, &text, NULL), DW_OK);
    size_t whole = strlen(text);
    for (size_t n = 0; n + 1 < whole; n += 3) {
        char *part = malloc(n + 1);
        assert_non_null(part);
        memcpy(part, text, n);
        assert_int_equal(dw_plan_from_json(part, n, "plan.json", job, &read, NULL), DW_ERR_SYNTAX);
        free(part);
    }
    free(text);
    dw_plan_free(plan);
    dw_job_free(job);
}

static void test_files(void **state)
{
    (void)state;
    char folder[] = "/tmp/dropwise-test-XXXXXX";
    assert_non_null(mkdtemp(folder));
    char path[64];
    snprintf(path, sizeof path, "%s/plan.json", folder);
    struct dw_job *job = read_job(job_text);
    struct dw_plan *plan = make_plan(), *again = NULL;
    struct dw_error error = {0};
    assert_int_equal(dw_plan_read(path, job, &again, &error), DW_ERR_NOTFOUND);
    assert_null(again);
    assert_int_equal(dw_plan_write(path, job, plan, false, NULL), DW_OK);
    assert_int_equal(dw_plan_write(path, job, plan, false, NULL), DW_ERR_EXISTS);
    assert_int_equal(dw_plan_write(path, job, plan, true, NULL), DW_OK);
    assert_int_equal(dw_plan_read(path, job, &again, NULL), DW_OK);
    check_layouts(plan, again);
    dw_plan_free(again);
    dw_plan_free(plan);
    dw_job_free(job);
    assert_int_equal(unlink(path), 0);
    assert_int_equal(rmdir(folder), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_round_trip), cmocka_unit_test(test_first_version),
        cmocka_unit_test(test_spoiled),    cmocka_unit_test(test_broken_off),
        cmocka_unit_test(test_files),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
