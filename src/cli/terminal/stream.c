/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Standard input as a document, standard output as a whole. */
#include "cli/cli.h"

#include <dropwise/work.h>

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <unistd.h>

#define STDIN_MAX    ((size_t)256 << 20) /* bytes */
#define DOUBTS_SHOWN 12
#define CHUNK        ((size_t)1 << 16)

static dw_err read_stdin(char **text, size_t *n, struct dw_error *error)
{
    struct dw_buf all = {0};
    char *chunk = malloc(CHUNK);
    size_t got = 0;
    while (chunk && all.n <= STDIN_MAX && (got = fread(chunk, 1, CHUNK, stdin)) > 0)
        dw_buf__add(&all, chunk, got);
    bool out_of_memory = !chunk || all.failed;
    free(chunk);
    dw_err err = DW_OK;
    if (out_of_memory)
        err = dw_error__nomem(error);
    else if (ferror(stdin))
        err = dw_error__set(error, DW_ERR_IO, "standard input can't be read: %s", strerror(errno));
    else if (all.n > STDIN_MAX)
        err = dw_error__set(error, DW_ERR_LIMIT, "standard input has more than %zu MiB",
                            STDIN_MAX >> 20);
    *n = all.n;
    *text = err ? NULL : dw_buf__take(&all);
    dw_buf__free(&all);
    return !err && !*text ? dw_error__nomem(error) : err;
}

dw_err dw_cli__source(const char *path, struct dw_job_source *source, char **text,
                      struct dw_error *error)
{
    *text = NULL;
    *source = (struct dw_job_source){.path = path};
    if (strcmp(path, "-") != 0)
        return DW_OK;
    dw_err err = read_stdin(text, &source->n, error);
    source->path = "standard input";
    source->text = *text;
    source->folder = ".";
    return err;
}

enum dw_cli_status dw_cli__there(const char *path)
{
    if (access(path, R_OK) == 0)
        return DW_CLI_DONE;
    struct dw_error error = {0};
    dw_error__at(&error, DW_ERR_IO, path, 0, 0, "can't open the file: %s", strerror(errno));
    dw_cli__say_error(&error);
    return DW_CLI_FAILED;
}

/* Whether a name says that the file is a table. */
static bool is_list(const char *path)
{
    static const char *const endings[] = {".csv", ".tsv", ".xlsx", ".ods", ".xls", ".xlsm"};
    size_t n = strlen(path);
    for (size_t i = 0; i < DW_COUNT(endings); i++) {
        size_t m = strlen(endings[i]);
        if (n > m && strcasecmp(path + n - m, endings[i]) == 0)
            return access(path, F_OK) == 0;
    }
    return false;
}

static enum dw_cli_status load(const struct dw_cli_args *args, struct dw_job **job,
                               struct dw_report *report, size_t most_doubts)
{
    const char *path = args->operands[0];
    struct dw_job_source source = {0};
    struct dw_error error = {0};
    char *text = NULL;
    *job = NULL;
    if (is_list(path)) {
        dw_cli__complain("%s is a list, not a job; make a job of it with `dropwise new %s`, or see "
                         "with `dropwise list %s` how it is read",
                         path, path, path);
        return DW_CLI_REFUSED;
    }
    dw_err err = dw_cli__source(path, &source, &text, &error);
    if (!err)
        err = dw_job_load(&source, job, report, &error);
    free(text);
    if (err && report->n_wrong == 0)
        dw_cli__say_error(&error);
    dw_cli__say_report(report, most_doubts);
    for (size_t i = 0; !err && i < (*job)->n_files; i++)
        if (dw_cli__writes_over(args, (*job)->files[i]))
            return DW_CLI_REFUSED;
    return dw_cli__file_status(err);
}

enum dw_cli_status dw_cli__load(const struct dw_cli_args *args, struct dw_job **job,
                                struct dw_report *report)
{
    return load(args, job, report, DOUBTS_SHOWN);
}

enum dw_cli_status dw_cli__load_aloud(const struct dw_cli_args *args, struct dw_job **job,
                                      struct dw_report *report)
{
    return load(args, job, report, SIZE_MAX);
}

enum dw_cli_status dw_cli__write(const char *text, size_t n)
{
    if (fwrite(text, 1, n, stdout) == n && fflush(stdout) == 0)
        return DW_CLI_DONE;
    dw_cli__complain("standard output can't be written: %s", strerror(errno));
    return DW_CLI_FAILED;
}

bool dw_cli__to_stdout(const struct dw_cli_args *args)
{
    const char *path = dw_cli__value(args, "output");
    return path && strcmp(path, "-") == 0;
}

enum dw_cli_status dw_cli__put_out(const struct dw_cli_args *args, const char *text, size_t n)
{
    struct dw_error error = {0};
    if (dw_cli__to_stdout(args))
        return dw_cli__write(text, n);
    dw_err err = dw_file__write(dw_cli__value(args, "output"), text, n,
                                dw_cli__has(args, "replace"), &error);
    if (err)
        dw_cli__say_error(&error);
    return dw_cli__status(err);
}
