/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The schemas in shared/ and the program agree: jobs that are read and plans that are written
 * conform, and documents that are refused for their shape do not. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include "model/model.h"
#include "schema.h"
#include <dropwise/files.h>

#include <jansson.h>
#include <libfyaml.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define DATA "tests/unit/format/data/"

static json_t *load(const char *path)
{
    json_error_t error;
    json_t *root = json_load_file(path, JSON_REJECT_DUPLICATES, &error);
    if (!root)
        fail_msg("%s:%d: %s", path, error.line, error.text);
    return root;
}

/* A job as JSON: YAML's core schema decides what is a number. */
static json_t *load_yaml(const char *path)
{
    struct fy_document *document = fy_document_build_from_file(NULL, path);
    assert_non_null(document);
    assert_int_equal(fy_document_resolve(document), 0);
    char *text = fy_emit_document_to_string(document, FYECF_MODE_JSON_ONELINE);
    assert_non_null(text);
    json_error_t error;
    json_t *root = json_loads(text, 0, &error);
    if (!root)
        fail_msg("%s: %s in %s", path, error.text, text);
    free(text);
    fy_document_destroy(document);
    return root;
}

static void test_good_jobs(void **state)
{
    (void)state;
    static const char *const paths[] = {
        DATA "good-full/job.yaml",    DATA "good-batch/job.yaml",
        DATA "good-trade/job.yaml",   DATA "good-defaults/job.yaml",
        DATA "good-anchors/job.yaml", DATA "good-spreadsheets/job.yaml",
        "samples/trio-rack.yaml",     "samples/shop-batch.yaml",
        "samples/priced-batch.yaml",  "samples/pan-stand.yaml",
        "samples/large.yaml"};
    json_t *schema = load("shared/job.schema.json");
    for (size_t i = 0; i < sizeof paths / sizeof *paths; i++) {
        char why[256];
        json_t *job = load_yaml(paths[i]);
        if (!schema_check(schema, job, why, sizeof why))
            fail_msg("%s: %s", paths[i], why);
        json_decref(job);
    }
    json_decref(schema);
}

static void test_bad_jobs(void **state)
{
    (void)state;
    static const char *const names[] = {"top-version",   "top-values",  "saw-values",
                                        "offcut-values", "part-values", "jobs-values",
                                        "good-aliases"};
    json_t *schema = load("shared/job.schema.json");
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        char path[256], why[256];
        snprintf(path, sizeof path, DATA "%s/job.yaml", names[i]);
        struct fy_parse_cfg cfg = {.flags = FYPCF_QUIET | FYPCF_ALLOW_DUPLICATE_KEYS};
        struct fy_document *document = fy_document_build_from_file(&cfg, path);
        assert_non_null(document);
        char *text = fy_emit_document_to_string(document, FYECF_MODE_JSON_ONELINE);
        assert_non_null(text);
        json_error_t error;
        json_t *job = json_loads(text, 0, &error);
        if (!job)
            fail_msg("%s: %s in %s", path, error.text, text);
        if (schema_check(schema, job, why, sizeof why))
            fail_msg("%s conforms", path);
        json_decref(job);
        free(text);
        fy_document_destroy(document);
    }
    json_decref(schema);
}

static struct dw_job *read_job(void)
{
    struct dw_job *job = NULL;
    struct dw_report report = {0};
    assert_int_equal(dw_job_read(DATA "good-full/job.yaml", &job, &report, NULL), DW_OK);
    dw_report_free(&report);
    return job;
}

/* One layout and one group, with numbers on both sides of 2^53. */
static json_t *write_plan(const struct dw_job *job)
{
    struct dw_plan *plan = NULL;
    assert_int_equal(dw_plan_new(&plan, NULL), DW_OK);
    size_t part = 0;
    int64_t dual = INT64_MAX;
    struct dw_piece pieces[] = {{DW_USE_PART, 0, 1000, 2}, {DW_USE_BEND_END, DW_NONE, 9, 1}};
    struct dw_shortage shortage = {0, 3, true};
    struct dw_layout layout = {
        .bar = 1, .count = 1, .n_pieces = 2, .pieces = pieces, .rest = DW_REST_SCRAP};
    struct dw_group group = {.n_materials = 1,
                             .materials = &part,
                             .status = DW_STATUS_STOPPED,
                             .proof = DW_PROOF_DUALS,
                             .value = -5,
                             .certificate = {1, 1, &part, &dual, 3},
                             .n_shortages = 1,
                             .shortages = &shortage,
                             .method = "greedy"};
    struct dw_take take = {0, 1, 2, 123456};
    plan->groups = &group;
    plan->layouts = &layout;
    plan->takes = &take;
    plan->n_groups = plan->n_layouts = plan->n_takes = 1;
    char *text = NULL;
    assert_int_equal(dw_plan_to_json(job, plan, &text, NULL), DW_OK);
    json_t *root = json_loads(text, JSON_REJECT_DUPLICATES, NULL);
    assert_non_null(root);
    free(text);
    dw_plan_free(plan);
    return root;
}

/* What the job says of a piece, or of its ends, is left out where it says nothing. */
static bool may_be_left_out(const json_t *object, const char *key)
{
    static const char *const needed = " use part length count number shape ";
    char word[64];
    snprintf(word, sizeof word, " %s ", key);
    return (json_object_get(object, "use") || json_object_get(object, "shape")) &&
           !strstr(needed, word);
}

/* Spoils and takes away one member at a time, at every depth; the schema must notice each. */
static int spoil_all(const json_t *schema, const json_t *root, json_t *at)
{
    int n = 0;
    char why[256];
    const char *key = NULL;
    json_t *value = NULL;
    json_t *members = json_copy(at);
    assert_non_null(members);
    json_object_foreach(members, key, value)
    {
        json_object_set_new(at, key, json_real(1.5));
        if (schema_check(schema, root, why, sizeof why))
            fail_msg("%s = 1.5 conforms", key);
        json_object_del(at, key);
        if (!may_be_left_out(members, key) && schema_check(schema, root, why, sizeof why))
            fail_msg("without %s it conforms", key);
        json_object_set(at, key, value);
        n += 1 + spoil_all(schema, root, value);
    }
    for (size_t i = 0; i < json_array_size(at); i++)
        n += spoil_all(schema, root, json_array_get(at, i));
    json_decref(members);
    return n;
}

/* A piece of every part, the last measured first; all on one bar, whether it fits or not. */
static char *plan_of_parts(const struct dw_job *job)
{
    struct dw_piece pieces[8];
    assert_in_range(job->n_parts, 1, 8);
    for (size_t i = 0; i < job->n_parts; i++)
        pieces[i] = (struct dw_piece){DW_USE_PART, i, job->parts[i].min, 1};
    struct dw_layout layout = {
        .bar = 1, .count = 1, .n_pieces = job->n_parts, .pieces = pieces, .rest = DW_REST_NONE};
    size_t material = 0;
    struct dw_group group = {.n_materials = 1, .materials = &material, .method = "by hand"};
    struct dw_plan *plan = NULL;
    char *text = NULL;
    assert_int_equal(dw_plan_new(&plan, NULL), DW_OK);
    plan->layouts = &layout;
    plan->groups = &group;
    plan->n_layouts = plan->n_groups = 1;
    assert_int_equal(dw_plan_to_json(job, plan, &text, NULL), DW_OK);
    dw_plan_free(plan);
    return text;
}

static bool reads(const struct dw_job *job, const json_t *root, struct dw_error *error)
{
    struct dw_plan *plan = NULL;
    char *text = json_dumps(root, 0);
    bool read = dw_plan_from_json(text, strlen(text), "plan.json", job, &plan, error) == DW_OK;
    dw_plan_free(plan);
    free(text);
    return read;
}

/* Members of a piece that tell what the job says. */
static const char *const told[] = {
    "number",    "job",     "client",   "due",         "section", "remark", "measure first",
    "allowance", "written", "bent bar", "long points", "ends",    "bend"};

/* Another value in the place of one: of the same kind, deep inside. */
static void change(json_t *holder, const char *key)
{
    json_t *value = json_object_get(holder, key);
    if (json_is_object(value))
        change(value, json_object_get(value, "nm") ? "nm"
                      : json_object_get(value, "bends")
                          ? "bends"
                          : json_object_iter_key(json_object_iter(value)));
    else if (json_is_array(value))
        change(json_array_get(value, 0),
               json_object_get(json_array_get(value, 0), "angle") ? "angle" : "shape");
    else
        json_object_set_new(holder, key,
                            json_is_integer(value) ? json_integer(7) : json_string("other"));
}

/* What does not bear on the cut may be another in the job since the plan was made. */
static bool may_differ(const char *name)
{
    static const char *const free_to[] = {"job", "client", "due", "section", "remark", "written"};
    for (size_t i = 0; i < sizeof free_to / sizeof free_to[0]; i++)
        if (strcmp(name, free_to[i]) == 0)
            return true;
    return false;
}

/* The member changed, and taken away, in each piece that has it; how many have. */
static size_t spoil_told(const struct dw_job *job, const json_t *root, const char *name)
{
    bool free_to = may_differ(name);
    size_t n = 0;
    for (size_t p = 0; p < job->n_parts; p++) {
        json_t *spoiled = json_deep_copy(root);
        json_t *layout = json_array_get(json_object_get(spoiled, "layouts"), 0);
        json_t *piece = json_array_get(json_object_get(layout, "pieces"), p);
        struct dw_error first = {0}, second = {0};
        bool has = json_object_get(piece, name) != NULL;
        if (has)
            change(piece, name);
        if (has &&
            (reads(job, spoiled, &first) != free_to || (!free_to && !strstr(first.text, name))))
            fail_msg("%s changed: %s", name, first.text);
        json_object_del(piece, name);
        if (has &&
            (reads(job, spoiled, &second) != free_to || (!free_to && !strstr(second.text, name))))
            fail_msg("%s gone: %s", name, second.text);
        n += has;
        json_decref(spoiled);
    }
    return n;
}

/* What a document tells of a piece conforms to the schema; what bears on the cut is refused once it
 * is another than the job tells, or missing. Each member occurs. */
static void test_told_of_pieces(void **state)
{
    (void)state;
    static const char text[] =
        "dropwise: 1\nname: stage\nunit: mm\ncurrency: EUR\nsaw: {kerf: 2}\n"
        "materials: [{id: t, outside: 38 mm, end bent: yes}, {id: s}]\n"
        "bars: [{length: 6 m, price: 30, material: t, bend: 100, tail material: s}]\n"
        "jobs:\n"
        "  - name: wings\n    client: Harbour Radio\n    due: 2026-12-18\n    parts:\n"
        "      - {label: sill, length: 600, both ends: mitre 45 short point, material: t,\n"
        "         long points: same side, section: left, remark: logo up}\n"
        "      - {label: bow, bent: {bend: {radius: 200, angle: 90}, straights: [300, 400]},\n"
        "         measure first: yes, allowance: 20, material: t}\n";
    struct dw_job *job = NULL;
    struct dw_report report = {0};
    assert_int_equal(dw_job_read_text(text, sizeof text - 1, "job.yaml", NULL, &job, &report, NULL),
                     DW_OK);
    dw_report_free(&report);
    char *document = plan_of_parts(job);
    json_t *root = json_loads(document, 0, NULL), *schema = load("shared/plan.schema.json");
    char why[256] = "";
    if (!schema_check(schema, root, why, sizeof why))
        fail_msg("%s", why);
    struct dw_error error = {0};
    if (!reads(job, root, &error))
        fail_msg("%s", error.text);
    for (size_t i = 0; i < sizeof told / sizeof told[0]; i++)
        if (spoil_told(job, root, told[i]) == 0)
            fail_msg("no piece tells its %s", told[i]);
    json_decref(root);
    json_decref(schema);
    free(document);
    dw_job_free(job);
}

static void test_plans(void **state)
{
    (void)state;
    json_t *schema = load("shared/plan.schema.json");
    struct dw_job *job = read_job();
    json_t *plan = write_plan(job);
    char why[256];
    if (!schema_check(schema, plan, why, sizeof why))
        fail_msg("%s", why);
    json_t *copy = json_deep_copy(plan);
    assert_true(spoil_all(schema, copy, copy) > 80);
    json_object_set_new(plan, "colour", json_string("red"));
    assert_false(schema_check(schema, plan, why, sizeof why));
    json_decref(copy);
    json_decref(plan);
    json_decref(schema);
    dw_job_free(job);
}

/* The member of a plan of a rest: two rows of parts, a bar that is limited. */
static void test_rests(void **state)
{
    (void)state;
    json_t *schema = load("shared/plan.schema.json");
    struct dw_job *job = read_job();
    const struct dw_rest_part rows[] = {{0, 1, 0}, {0, 1, 1768 * DW_NM_PER_MM}};
    assert_int_equal(dw_job__rest(job, rows, 2, NULL), DW_OK);
    json_t *plan = write_plan(job);
    char why[256];
    if (!schema_check(schema, plan, why, sizeof why))
        fail_msg("%s", why);
    json_t *rest = json_object_get(plan, "rest");
    assert_int_equal(json_array_size(json_object_get(rest, "parts")), 2);
    assert_true(json_array_size(json_object_get(rest, "bars")) > 0);
    assert_true(spoil_all(schema, plan, rest) > 18);
    json_decref(plan);
    json_decref(schema);
    dw_job_free(job);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_good_jobs),      cmocka_unit_test(test_bad_jobs),
        cmocka_unit_test(test_told_of_pieces), cmocka_unit_test(test_plans),
        cmocka_unit_test(test_rests),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
