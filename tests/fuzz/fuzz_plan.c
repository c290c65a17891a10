/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Any bytes as a plan document. What is read is written the same way again, and goes through the
 * verifier, which may refuse it but must come back. */
#include <dropwise/files.h>

#include <jansson.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerInitialize(int *argc, char ***argv);
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);
size_t LLVMFuzzerMutate(uint8_t *data, size_t size, size_t max_size);
size_t LLVMFuzzerCustomMutator(uint8_t *data, size_t size, size_t max_size, unsigned seed);

/* The job that the seeds are plans of: tests/fuzz/plan_job.yaml. */
static struct dw_job *job;

static void must(bool holds)
{
    if (!holds)
        abort();
}

static void free_job(void)
{
    dw_job_free(job);
}

int LLVMFuzzerInitialize(int *argc, char ***argv)
{
    (void)argc;
    (void)argv;
    struct dw_report report = {0};
    must(dw_job_read("tests/fuzz/plan_job.yaml", &job, &report, NULL) == DW_OK);
    dw_report_free(&report);
    return atexit(free_job);
}

static void check_written(const struct dw_plan *plan)
{
    char *text = NULL, *again = NULL;
    struct dw_plan *back = NULL;
    must(dw_plan_to_json(job, plan, &text, NULL) == DW_OK);
    must(dw_plan_from_json(text, strlen(text), "again", job, &back, NULL) == DW_OK);
    must(dw_plan_to_json(job, back, &again, NULL) == DW_OK);
    must(strcmp(text, again) == 0);
    free(text);
    free(again);
    dw_plan_free(back);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct dw_plan *plan = NULL;
    struct dw_error error = {0};
    dw_err err = dw_plan_from_json((const char *)data, size, "plan.json", job, &plan, &error);
    must((err == DW_OK) == (plan != NULL) && error.code == err);
    must(err == DW_OK || error.text[0] != '\0');
    if (plan) {
        struct dw_report report = {0};
        check_written(plan);
        err = dw_plan_check(job, plan, &report, NULL);
        must((err == DW_ERR_CHECK) == (report.n_wrong > 0));
        dw_report_free(&report);
    }
    dw_plan_free(plan);
    return 0;
}

/* --- mutation: one value of the document is changed, so that it stays JSON ---------------------
 */

static const json_int_t integers[] = {
    0,
    1,
    2,
    3,
    7,
    -1,
    40000000,
    350000000,
    380000000,
    742500000,
    965000000,
    6000000000,
    INT32_MAX,
    INT64_C(9007199254740991),
    INT64_MAX,
    INT64_MIN,
    INT64_MAX / 2,
    1000000000000000,
    1000000000000000000,
};

static const char *const strings[] = {
    "0.00",
    "0.01",
    "-0.0001",
    "100000000000.00",
    "922337203685477.5807",
    "-7.00",
    "optimal",
    "within",
    "stopped",
    "infeasible",
    "part",
    "post",
    "surplus",
    "bend end",
    "none",
    "scrap",
    "kept",
    "duals",
    "search",
    "0123456789abcdef",
    "9223372036854775807",
    "-9223372036854775808",
};

#define COUNT(array) (sizeof(array) / sizeof(array)[0])

static unsigned draw(unsigned *seed, size_t below)
{
    *seed = *seed * 1103515245u + 12345u;
    return (*seed >> 8) % (unsigned)below;
}

static void change_array(json_t *array, unsigned *seed)
{
    size_t n = json_array_size(array);
    if (n == 0)
        return;
    size_t i = draw(seed, n);
    if (draw(seed, 2))
        (void)json_array_remove(array, i);
    else
        (void)json_array_append_new(array, json_deep_copy(json_array_get(array, i)));
}

/* What stands in the place of a value. */
static json_t *change_value(const json_t *value, unsigned *seed)
{
    if (json_is_integer(value) && draw(seed, 2))
        return json_integer((json_int_t)((uint64_t)json_integer_value(value) + draw(seed, 5) - 2));
    if (json_is_integer(value))
        return json_integer(integers[draw(seed, COUNT(integers))]);
    if (json_is_string(value))
        return json_string(strings[draw(seed, COUNT(strings))]);
    return draw(seed, 8) ? json_deep_copy(value) : json_null();
}

/* Walks down to a random value and changes it. */
static void change_below(json_t *parent, unsigned *seed)
{
    size_t n = json_is_array(parent) ? json_array_size(parent) : json_object_size(parent);
    if (n == 0)
        return;
    size_t i = draw(seed, n);
    void *member = json_object_iter(parent);
    for (size_t k = 0; member && k < i; k++)
        member = json_object_iter_next(parent, member);
    json_t *child = member ? json_object_iter_value(member) : json_array_get(parent, i);
    if (json_is_array(child) && draw(seed, 4) == 0)
        change_array(child, seed);
    else if (json_is_object(child) || json_is_array(child))
        change_below(child, seed);
    else if (member)
        (void)json_object_iter_set_new(parent, member, change_value(child, seed));
    else
        (void)json_array_set_new(parent, i, change_value(child, seed));
}

size_t LLVMFuzzerCustomMutator(uint8_t *data, size_t size, size_t max_size, unsigned seed)
{
    json_t *root = draw(&seed, 8) ? json_loadb((const char *)data, size, 0, NULL) : NULL;
    size_t n = 0;
    for (unsigned left = root ? 1 + draw(&seed, 4) : 0; left > 0; left--)
        change_below(root, &seed);
    char *text = root ? json_dumps(root, JSON_COMPACT) : NULL;
    if (text && strlen(text) <= max_size) {
        n = strlen(text);
        memcpy(data, text, n);
    }
    free(text);
    json_decref(root);
    return n ? n : LLVMFuzzerMutate(data, size, max_size);
}
