/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Time to read drawings of frames as the parts of a job, with all that meets in them, and to draw
 * them with their labels. */
#include "bench.h"

#include <dropwise/draw.h>
#include <dropwise/files.h>

#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static const char job_text[] =
    "dropwise: 1\nunit: mm\nsaw: {kerf: 2}\nrules: {keep: 300}\nmaterials: [{id: t, outside: 38 "
    "mm}]\nbars: [{length: 6 m, price: 37}]\nfittings: [{id: tee, stops short: 1/2 OD}]\n"
    "joints: [{meeting: T, end: tee}, {meeting: cross, end: tee}, {meeting: corner, end: tee}]\n"
    "parts: {file: frame.dxf}\n";

static size_t put_line(FILE *file, const char *layer, const double a[3], const double b[3])
{
    fprintf(file, "0\nLINE\n8\n%s\n10\n%.6f\n20\n%.6f\n30\n%.6f\n11\n%.6f\n21\n%.6f\n31\n%.6f\n",
            layer, a[0], a[1], a[2], b[0], b[1], b[2]);
    return 1;
}

/* Racks of two rows of posts with rails on four levels, and a brace in each bay: 400 lines for 29
 * bays. Returns the lines. */
static size_t put_frame(FILE *file, int bays)
{
    size_t n = 0;
    fputs("0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n", file);
    for (int i = 0; i <= bays; i++) {
        double x = 900.0 * i;
        for (int row = 0; row < 2; row++)
            n += put_line(file, "posts", (double[]){x, 600.0 * row, 0},
                          (double[]){x, 600.0 * row, 2000});
        for (int level = 1; level <= 4 && i < bays; level++)
            for (int row = 0; row < 2; row++)
                n += put_line(file, "rails", (double[]){x, 600.0 * row, 480.0 * level},
                              (double[]){x + 900, 600.0 * row, 480.0 * level});
        for (int level = 2; level <= 4; level += 2)
            n += put_line(file, "ties", (double[]){x, 0, 480.0 * level - 240},
                          (double[]){x, 600, 480.0 * level - 240});
        if (i < bays)
            n += put_line(file, "braces", (double[]){x, 600, 240}, (double[]){x + 900, 600, 1900});
    }
    fputs("0\nENDSEC\n0\nEOF\n", file);
    return n;
}

static void measure(const char *folder, const char *path, int bays)
{
    FILE *file = bench_must(fopen(path, "w"));
    size_t lines = put_frame(file, bays);
    fclose(file);
    struct dw_job *job = NULL;
    struct dw_report report = {0};
    struct dw_error error = {0};
    double start = bench_seconds();
    if (dw_job_read_text(job_text, sizeof job_text - 1, "job", folder, &job, &report, &error) !=
        DW_OK) {
        fprintf(stderr, "%s\n", error.text);
        for (size_t i = 0; i < report.n_remarks; i++)
            fprintf(stderr, "%s\n", report.remarks[i].what.text);
        exit(3);
    }
    double read = bench_seconds() - start;
    struct dw_image image = {0};
    start = bench_seconds();
    if (dw_draw_picture(&job->pictures[0], 180, &image, &error) != DW_OK)
        exit(3);
    printf("| %zu | %zu | %zu | %.3f | %.2f |\n", lines, job->pictures[0].n_tubes, job->n_parts,
           read, bench_seconds() - start);
    free(image.bytes);
    dw_report_free(&report);
    dw_job_free(job);
}

int main(void)
{
    static const int bays[] = {7, 29, 100, 360};
    char folder[] = "/tmp/dropwise-bench-XXXXXX", path[64];
    bench_must(mkdtemp(folder));
    snprintf(path, sizeof path, "%s/frame.dxf", folder);
    printf("| lines | tubes | parts | read, s | drawn, s |\n| --- | --- | --- | --- | --- |\n");
    for (size_t i = 0; i < sizeof bays / sizeof *bays; i++)
        measure(folder, path, bays[i]);
    unlink(path);
    rmdir(folder);
    return 0;
}
