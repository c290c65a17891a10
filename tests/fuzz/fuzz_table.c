/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Any bytes as a table (CSV) of parts, and as one of offcuts. */
#include <dropwise/files.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

int LLVMFuzzerInitialize(int *argc, char ***argv);
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

#define MATERIALS                                                                                  \
    "dropwise: 1\nunit: mm\ncurrency: EUR\nsaw: {kerf: 2.5}\nrules: {keep: 350}\n"                 \
    "materials:\n"                                                                                 \
    "  - {id: al48, outside: 48 mm, wall: 3 mm, density: 2700 kg/m3}\n"                            \
    "  - {id: al38, outside: 38 mm, wall: 2.5 mm, density: 2700 kg/m3}\n"                          \
    "bars:\n"                                                                                      \
    "  - {id: al48-6, material: al48, length: 6 m, price: 58.20}\n"                                \
    "  - {id: al38-6, material: al38, length: 6 m, price: 41.40}\n"

static const char parts_job[] = MATERIALS "parts: table.csv\n";
static const char offcuts_job[] = MATERIALS
    "offcuts: table.csv\nparts:\n  - {label: rail, material: al48, length: 965, count: 2}\n";

static char folder[] = "/tmp/dropwise-fuzz.XXXXXX";
static char path[sizeof folder + sizeof "/table.csv"];

static void must(bool holds)
{
    if (!holds)
        abort();
}

static void remove_folder(void)
{
    (void)unlink(path);
    (void)rmdir(folder);
}

int LLVMFuzzerInitialize(int *argc, char ***argv)
{
    (void)argc;
    (void)argv;
    must(mkdtemp(folder) != NULL);
    snprintf(path, sizeof path, "%s/table.csv", folder);
    return atexit(remove_folder);
}

static void read_job(const char *text)
{
    struct dw_job *job = NULL;
    struct dw_report report = {0};
    struct dw_error error = {0};
    dw_err err = dw_job_read_text(text, strlen(text), "job.yaml", folder, &job, &report, &error);
    must((err == DW_OK) == (job != NULL));
    must((err == DW_ERR_INPUT) == (report.n_wrong > 0));
    for (size_t i = 0; i < report.n_remarks; i++)
        must(report.remarks[i].what.text[0] != '\0' &&
             strchr(report.remarks[i].what.text, '\n') == NULL);
    dw_report_free(&report);
    dw_job_free(job);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    FILE *file = fopen(path, "wb");
    must(file != NULL);
    must(fwrite(data, 1, size, file) == size && fclose(file) == 0);
    read_job(parts_job);
    read_job(offcuts_job);
    return 0;
}
