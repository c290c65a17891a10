/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Any bytes as a drawing: read by itself, and as the parts of a job with joints of each kind. */
#include "job/sketched.h"

#include <dropwise/files.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void must(bool holds)
{
    if (!holds)
        abort();
}

static void check(const struct dw_report *report)
{
    for (size_t i = 0; i < report->n_remarks; i++)
        must(report->remarks[i].what.text[0] != '\0' &&
             !strchr(report->remarks[i].what.text, '\n'));
}

static void list(const char *text, size_t n)
{
    const struct dw_sketched_source source = {
        .name = "drawing", .text = text, .n = n, .unit = DW_UNIT_MM, .one_tube = n % 2};
    struct dw_sketched *sketched = NULL;
    struct dw_report report = {0};
    struct dw_error error = {0};
    dw_err err = dw_sketched__read(&source, &sketched, &report, &error);
    must((err == DW_OK) == (sketched != NULL));
    must(err == DW_OK || (err == DW_ERR_INPUT && report.n_wrong > 0));
    check(&report);
    char *csv = NULL;
    size_t length = 0;
    if (sketched)
        must(dw_sketched__csv(sketched, &csv, &length, &error) == DW_OK);
    free(csv);
    dw_sketched__free(sketched);
    dw_report_free(&report);
}

/* The job names the drawing, so that has to be a file. */
static void read_job(const uint8_t *data, size_t size)
{
    static const char job_text[] =
        "dropwise: 1\nunit: mm\nsaw: {kerf: 2}\nmaterials: [{id: a, outside: 38 mm}]\n"
        "fittings: [{id: tee, stops short: 1/2 OD}]\njoints: [{meeting: T, layer: a, end: notch}, "
        "{meeting: T, end: tee}, {meeting: corner, end: mitre}, {meeting: cross, end: notch}]\n"
        "parts: {file: drawing.dxf, unit: mm}\n";
    char folder[] = "/dev/shm/fuzz-drawing-XXXXXX", path[64];
    must(mkdtemp(folder) != NULL);
    snprintf(path, sizeof path, "%s/drawing.dxf", folder);
    FILE *file = fopen(path, "wb");
    must(file && fwrite(data, 1, size, file) == size && fclose(file) == 0);
    struct dw_job *job = NULL;
    struct dw_report report = {0};
    struct dw_error error = {0};
    dw_err err =
        dw_job_read_text(job_text, sizeof job_text - 1, "job", folder, &job, &report, &error);
    must((err == DW_OK) == (job != NULL));
    must(err == DW_OK || report.n_wrong > 0);
    check(&report);
    dw_job_free(job);
    dw_report_free(&report);
    unlink(path);
    rmdir(folder);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    char *copy = malloc(size + 1);
    must(copy != NULL);
    if (size > 0)
        memcpy(copy, data, size);
    copy[size] = '\0';
    if (dw_sketched__is(copy, size))
        read_job(data, size);
    list(copy, size);
    free(copy);
    return 0;
}
