/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Jobs as files. Each folder under data/ holds a job and what must come of it: every remark with
 * its place and exact words, and the job as it was understood. DW_BLESS=1 writes the expected
 * files anew, to be read in the diff. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <dropwise/files.h>

#include <dirent.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define DATA "tests/unit/format/data"

static void print_worth(FILE *out, const struct dw_worth *worth)
{
    static const char *const kinds[] = {"none", "rate", "share", "classes"};
    fprintf(out, " keep=%" PRId64 " worth=%s", worth->keep, kinds[worth->kind]);
    if (worth->kind == DW_WORTH_RATE)
        fprintf(out, ":%" PRId64 "/%" PRId64, worth->rate, worth->per);
    if (worth->kind == DW_WORTH_SHARE)
        fprintf(out, ":%" PRId64, worth->share);
    for (size_t i = 0; i < worth->n_classes; i++)
        fprintf(out, " %" PRId64 ":%" PRId64, worth->classes[i].from, worth->classes[i].worth);
}

static void print_text(FILE *out, const char *name, const char *text)
{
    if (text)
        fprintf(out, " %s=%s", name, text);
}

static void print_number(FILE *out, const char *name, int64_t value)
{
    if (value)
        fprintf(out, " %s=%" PRId64, name, value);
}

static void print_material(FILE *out, const struct dw_material *material)
{
    fprintf(out, "material %s", material->id);
    print_text(out, "name", material->name);
    print_text(out, "alloy", material->alloy);
    print_text(out, "finish", material->finish);
    print_number(out, "od", material->od);
    print_number(out, "wall", material->wall);
    print_number(out, "radius", material->radius);
    print_number(out, "density", material->density_g_m3);
    print_number(out, "end_bent", material->end_bent);
    print_worth(out, &material->worth);
    fprintf(out, "\n");
}

static void print_supply(FILE *out, const struct dw_supply *supply)
{
    static const char *const sources[] = {"new", "shelf", "offcut"};
    fprintf(out, "supply %s %s material=%zu length=%" PRId64 " price=%" PRId64 " count=%" PRId64,
            supply->id, sources[supply->source], supply->material, supply->length, supply->price,
            supply->count);
    print_number(out, "measured", supply->measured);
    fprintf(out, " pack=%" PRId64, supply->pack);
    for (size_t i = 0; i < supply->n_breaks; i++)
        fprintf(out, " break=%" PRId64 ":%" PRId64, supply->breaks[i].from,
                supply->breaks[i].price);
    fprintf(out, " ends=%s,%s trim=%" PRId64, supply->ends[0] ? "sawn" : "mill",
            supply->ends[1] ? "sawn" : "mill", supply->trim);
    print_number(out, "bend", supply->bend);
    print_number(out, "use", supply->usage);
    if (supply->tail_material != DW_NONE)
        fprintf(out, " tail=%zu", supply->tail_material);
    print_text(out, "supplier", supply->supplier);
    print_text(out, "place", supply->place);
    print_text(out, "owner", supply->owner);
    print_text(out, "mark", supply->mark);
    print_text(out, "date", supply->date);
    fprintf(out, " at=%s:%d:%d\n", supply->at.file, supply->at.line, supply->at.column);
}

static void print_part(FILE *out, const struct dw_part *part)
{
    fprintf(out, "%s %s %" PRId64 "..%" PRId64 " count=%" PRId64 " order=%zu materials=",
            part->post ? "post" : "part", part->label, part->min, part->max, part->count,
            part->order);
    for (size_t i = 0; i < part->n_materials; i++)
        fprintf(out, "%s%zu", i ? "," : "", part->materials[i]);
    print_text(out, "section", part->section);
    print_number(out, "worth", part->worth);
    print_number(out, "priority", part->priority);
    if (part->measure_first)
        fprintf(out, " measure_first allowance=%" PRId64, part->allowance);
    print_text(out, "written", part->written);
    print_text(out, "remark", part->remark);
    fprintf(out, " at=%s:%d:%d\n", part->at.file, part->at.line, part->at.column);
}

static void print_job(FILE *out, const struct dw_job *job)
{
    fprintf(out, "job");
    print_text(out, "name", job->name);
    print_text(out, "date", job->date);
    fprintf(out, " unit=%s denominator=%d currency=%s\n", dw_unit_name(job->unit), job->denominator,
            job->currency);
    fprintf(out, "saw kerf=%" PRId64 " grip=%" PRId64 " trim=%" PRId64 " cut=%" PRId64,
            job->saw.kerf, job->saw.grip, job->saw.trim, job->saw.cut_cost);
    print_number(out, "end_allowance", job->saw.end_allowance);
    print_number(out, "bar", job->saw.bar_cost);
    print_number(out, "offcut", job->saw.offcut_cost);
    print_number(out, "cut_ms", job->saw.cut_ms);
    print_number(out, "bar_ms", job->saw.bar_ms);
    print_number(out, "offcut_ms", job->saw.offcut_ms);
    print_number(out, "stop_ms", job->saw.stop_ms);
    print_number(out, "rate", job->saw.rate);
    fprintf(out, "\n");
    fprintf(out, "rules max_new_offcuts=%" PRId64 " few_layouts=%" PRId64,
            job->rules.max_new_offcuts, job->rules.few_layouts_ppm);
    if (job->rules.most_pieces != DW_UNLIMITED)
        fprintf(out, " most_pieces=%" PRId64, job->rules.most_pieces);
    if (job->rules.no_middling)
        fprintf(out, " scrap_max=%" PRId64, job->rules.scrap_max);
    fprintf(out, "\n");
    for (size_t i = 0; i < job->n_orders; i++) {
        fprintf(out, "order");
        print_text(out, "name", job->orders[i].name);
        print_text(out, "client", job->orders[i].client);
        print_text(out, "due", job->orders[i].due);
        fprintf(out, "\n");
    }
    for (size_t i = 0; i < job->n_materials; i++)
        print_material(out, &job->materials[i]);
    for (size_t i = 0; i < job->n_supplies; i++)
        print_supply(out, &job->supplies[i]);
    for (size_t i = 0; i < job->n_parts; i++)
        print_part(out, &job->parts[i]);
}

static void print_report(FILE *out, const struct dw_report *report)
{
    static const char *const severities[] = {"note", "doubt", "wrong"};
    for (size_t i = 0; i < report->n_remarks; i++) {
        const struct dw_error *what = &report->remarks[i].what;
        fprintf(out, "%s %s:%d:%d: %s\n", severities[report->remarks[i].severity], what->file,
                what->line, what->column, what->text);
    }
}

/* What comes of the job in the current folder. Free it. */
static char *describe(void)
{
    char *text = NULL;
    size_t n = 0;
    FILE *out = open_memstream(&text, &n);
    assert_non_null(out);
    struct dw_job *job = NULL;
    struct dw_report report = {0};
    struct dw_error error = {0};
    dw_err err = dw_job_read("job.yaml", &job, &report, &error);
    assert_int_equal(err, error.code);
    assert_true((err == DW_OK) == (job != NULL));
    assert_true((err == DW_ERR_INPUT) == (report.n_wrong > 0));
    fprintf(out, "%s%s%s\n", dw_err_name(err), err == DW_OK ? "" : ": ", error.text);
    print_report(out, &report);
    if (job)
        print_job(out, job);
    fclose(out);
    dw_report_free(&report);
    dw_job_free(job);
    return text;
}

static char *read_text(const char *path)
{
    FILE *in = fopen(path, "r");
    char *text = calloc(1, 1 << 20);
    assert_non_null(text);
    if (in) {
        assert_true(fread(text, 1, (1 << 20) - 1, in) < (1 << 20) - 1);
        fclose(in);
    }
    return text;
}

static void write_text(const char *path, const char *text)
{
    FILE *out = fopen(path, "w");
    assert_non_null(out);
    assert_true(fputs(text, out) >= 0);
    assert_int_equal(fclose(out), 0);
}

static int is_case(const struct dirent *entry)
{
    return entry->d_name[0] != '.';
}

static void test_cases(void **state)
{
    (void)state;
    char home[4096];
    assert_non_null(getcwd(home, sizeof home));
    struct dirent **cases = NULL;
    int n_cases = scandir(DATA, &cases, is_case, alphasort);
    assert_true(n_cases > 0);
    int failed = 0;
    for (int i = 0; i < n_cases; i++) {
        char folder[512];
        snprintf(folder, sizeof folder, "%s/%s", DATA, cases[i]->d_name);
        assert_int_equal(chdir(folder), 0);
        char *got = describe();
        if (getenv("DW_BLESS"))
            write_text("expected", got);
        char *expected = read_text("expected");
        if (strcmp(got, expected) != 0) {
            print_message("%s: expected\n%s--- got\n%s", folder, expected, got);
            failed++;
        }
        free(got);
        free(expected);
        free(cases[i]);
        assert_int_equal(chdir(home), 0);
    }
    free(cases);
    assert_int_equal(failed, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_cases),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
