/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Opening the shelf: which file, who, when. */
#include "cli/shelf/shelf.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>

#define SHELF_NAME "shelf.db"
#define BUSY_MS    5000 /* wait for another process that writes */

/* Folder of data by the XDG base directory specification: $XDG_DATA_HOME or ~/.local/share. */
static char *usual_path(const char *name)
{
    const char *data = getenv("XDG_DATA_HOME");
    const char *home = getenv("HOME");
    struct dw_buf path = {0};
    if (data && data[0] == '/')
        dw_buf__format(&path, "%s/dropwise/%s", data, name);
    else if (home && home[0] == '/')
        dw_buf__format(&path, "%s/.local/share/dropwise/%s", home, name);
    else
        return NULL;
    return dw_buf__take(&path);
}

/* Makes the folders that lead to a file, as `mkdir -p` does. */
static bool make_folders(char *path)
{
    for (char *at = strchr(path + 1, '/'); at; at = strchr(at + 1, '/')) {
        *at = '\0';
        bool good = mkdir(path, 0777) == 0 || errno == EEXIST;
        *at = '/';
        if (!good)
            return false;
    }
    return true;
}

char *dw_cli__shop_path(const char *name, bool make)
{
    char *path = usual_path(name);
    if (path && make && !make_folders(path)) {
        free(path);
        path = NULL;
    }
    return path;
}

bool dw_cli__shelf_there(const struct dw_cli_args *args)
{
    struct stat there;
    const char *usual = dw_cli__usual(args, "shelf");
    char *path = dw_cli__has(args, "shelf") || usual ? NULL : usual_path(SHELF_NAME);
    bool found = dw_cli__has(args, "shelf") || (usual && stat(usual, &there) == 0) ||
                 (path && stat(path, &there) == 0);
    free(path);
    return found;
}

static enum dw_cli_status find_path(const struct dw_cli_args *args, enum dw_ledger_mode mode,
                                    char **path)
{
    const char *given = dw_cli__value(args, "shelf");
    struct dw_buf copy = {0};
    if (given) {
        dw_buf__put(&copy, given);
        *path = dw_buf__take(&copy);
    } else {
        *path = usual_path(SHELF_NAME);
    }
    if (!*path) {
        dw_cli__complain("there is no data folder for the shelf (HOME is not set); name its file "
                         "with --shelf");
        return DW_CLI_FAILED;
    }
    if (!given && mode == DW_LEDGER_CREATE && !make_folders(*path)) {
        dw_cli__complain("the folder for %s can't be made: %s", *path, strerror(errno));
        return DW_CLI_FAILED;
    }
    return DW_CLI_DONE;
}

/* The time of the step: what was given, else now, in UTC. */
static void set_act(struct dw_cli_shelf *shelf)
{
    const char *when = dw_cli__value(shelf->args, "when");
    time_t now = time(NULL);
    struct tm utc = {0};
    gmtime_r(&now, &utc);
    strftime(shelf->now, sizeof shelf->now, "%Y-%m-%dT%H:%M:%SZ", &utc);
    snprintf(shelf->when, sizeof shelf->when, "%s", when ? when : shelf->now);
    snprintf(shelf->today, sizeof shelf->today, "%.10s", shelf->when);
    const char *who = dw_cli__value(shelf->args, "who");
    who = who ? who : getenv("LOGNAME");
    who = who ? who : getenv("USER");
    shelf->act = (struct dw_act){.when = shelf->when,
                                 .who = who && who[0] ? who : NULL,
                                 .note = dw_cli__value(shelf->args, "note")};
}

enum dw_cli_status dw_cli__shelf_said(dw_err err, const struct dw_error *error)
{
    if (err)
        dw_cli__say_error(error);
    return dw_cli__status(err);
}

/* A command that books says when its time is doubtful. */
static dw_err doubt_time(const struct dw_cli_shelf *shelf, struct dw_error *error)
{
    struct dw_report report = {0};
    struct dw_cli_option option;
    bool books = false;
    for (size_t i = 0; !books && dw_cli__option(shelf->args->command, i, &option); i++)
        books = strcmp(option.name, "when") == 0;
    dw_err err = books
                     ? dw_ledger_doubt_time(shelf->ledger, &shelf->act, shelf->now, &report, error)
                     : DW_OK;
    dw_cli__say_report(&report, SIZE_MAX);
    dw_report_free(&report);
    return err;
}

enum dw_cli_status dw_cli__shelf_ready(const struct dw_cli_args *args, enum dw_ledger_mode mode,
                                       struct dw_cli_shelf *shelf)
{
    *shelf = (struct dw_cli_shelf){.args = args, .busy_ms = BUSY_MS};
    enum dw_cli_status status = dw_cli__page_init(args, &shelf->page);
    if (status == DW_CLI_DONE)
        status = find_path(args, mode, &shelf->path);
    if (status == DW_CLI_DONE && dw_cli__writes_over(args, shelf->path))
        status = DW_CLI_REFUSED;
    if (status == DW_CLI_DONE)
        set_act(shelf);
    return status;
}

enum dw_cli_status dw_cli__shelf_open(const struct dw_cli_args *args, enum dw_ledger_mode mode,
                                      struct dw_cli_shelf *shelf)
{
    struct dw_error error = {0};
    enum dw_cli_status status = dw_cli__shelf_ready(args, mode, shelf);
    if (status != DW_CLI_DONE)
        return status;
    dw_err err = dw_ledger_open(shelf->path, mode, BUSY_MS, &shelf->ledger, &error);
    if (!err)
        err = dw_shelf_catalogue(shelf->ledger, &shelf->job, &error);
    if (!err && mode != DW_LEDGER_READ)
        err = doubt_time(shelf, &error);
    status = dw_cli__shelf_said(err, &error);
    return status == DW_CLI_DONE ? dw_cli__page_job(args, shelf->job, &shelf->page) : status;
}

void dw_cli__shelf_close(struct dw_cli_shelf *shelf)
{
    dw_job_free(shelf->job);
    dw_ledger_close(shelf->ledger);
    dw_cli__page_free(&shelf->page);
    free(shelf->path);
    *shelf = (struct dw_cli_shelf){0};
}

enum dw_cli_status dw_cli__shelf_not_twice(const struct dw_cli_shelf *shelf, uint64_t digest)
{
    struct dw_error error = {0};
    int64_t plan = 0;
    if (dw_cli__has(shelf->args, "again"))
        return DW_CLI_DONE;
    dw_err err = dw_ledger_plan_of(shelf->ledger, digest, &plan, &error);
    if (err || !plan)
        return dw_cli__shelf_said(err, &error);
    dw_cli__complain("plan %lld holds this job already: cut by it, plan what is left of it with "
                     "`dropwise plan JOB --hold --rest-of %lld`, give it up with `dropwise shelf "
                     "release %lld`, or make the job once more with --again",
                     (long long)plan, (long long)plan, (long long)plan);
    return DW_CLI_REFUSED;
}

enum dw_cli_status dw_cli__shelf_told(const struct dw_cli_shelf *shelf, enum dw_cli_status status,
                                      int64_t step)
{
    struct dw_deed deed;
    char text[DW_DEED_TEXT];
    if (status == DW_CLI_DONE || !step)
        return status;
    if (dw_ledger_deed(shelf->ledger, step, &deed, NULL) == DW_OK)
        dw_deed_print(text, &deed);
    else
        snprintf(text, sizeof text, "step %lld", (long long)step);
    dw_cli__complain("it is booked all the same, do not repeat the command: %s", text);
    return status;
}

bool dw_cli__shelf_length(const struct dw_cli_shelf *shelf, const char *what, const char *text,
                          dw_length *out)
{
    struct dw_error error = {0};
    dw_err err = dw_length_parse(text, strlen(text), shelf->page.length.unit, out, &error);
    if (!err && *out > 0)
        return true;
    if (err)
        dw_cli__complain("%s \"%s\", character %d: %s", what, text, error.column, error.text);
    else
        dw_cli__complain("%s must be over 0", what);
    return false;
}

bool dw_cli__shelf_number(const char *what, const char *text, int64_t *out)
{
    const char *at = text;
    *out = 0;
    bool good = *at != '\0';
    for (; good && *at; at++)
        good = *at >= '0' && *at <= '9' && dw_mul__i64(*out, 10, out) &&
               dw_add__i64(*out, *at - '0', out);
    if (good && *out > 0)
        return true;
    dw_cli__complain("%s %s: wanted is a whole number from 1", what, text);
    return false;
}

enum dw_cli_status dw_cli__shelf_run(const struct dw_cli_args *args, enum dw_ledger_mode mode,
                                     enum dw_cli_status (*work)(struct dw_cli_shelf *))
{
    struct dw_cli_shelf shelf = {0};
    enum dw_cli_status status = dw_cli__shelf_open(args, mode, &shelf);
    if (status == DW_CLI_DONE)
        status = work(&shelf);
    dw_cli__shelf_close(&shelf);
    return status;
}
