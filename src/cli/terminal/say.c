/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What goes to standard error, and the exit status that an error ends in. */
#include "cli/terminal/page.h"

#include <stdlib.h>

enum dw_cli_status dw_cli__status(dw_err err)
{
    switch (err) {
    case DW_OK:
        return DW_CLI_DONE;
    case DW_ERR_SYNTAX:
    case DW_ERR_INPUT:
    case DW_ERR_RANGE:
    case DW_ERR_LIMIT:
    case DW_ERR_EXISTS:
    case DW_ERR_NOTFOUND:
    case DW_ERR_SCHEMA:
    case DW_ERR_CHECK:
    case DW_ERR_STATE:
    case DW_ERR_HELD:
        return DW_CLI_REFUSED;
    case DW_ERR_NOMEM:
    case DW_ERR_IO:
    case DW_ERR_BUSY:
    case DW_ERR_SOLVER:
    case DW_ERR_INTERNAL:
        return DW_CLI_FAILED;
    }
    return DW_CLI_FAILED;
}

enum dw_cli_status dw_cli__file_status(dw_err err)
{
    return err == DW_ERR_NOTFOUND ? DW_CLI_FAILED : dw_cli__status(err);
}

/* One line on standard error; without memory for it, the bare cause. */
static void say_line(struct dw_buf *line)
{
    dw_buf__char(line, '\n');
    char *text = dw_buf__take(line);
    fputs(text ? text : "dropwise: out of memory\n", stderr);
    free(text);
}

void dw_cli__complain(const char *format, ...)
{
    struct dw_buf raw = {0};
    char text[1024];
    va_list args;
    va_start(args, format);
    vsnprintf(text, sizeof text, format, args);
    va_end(args);
    dw_buf__put(&raw, "dropwise: ");
    dw_cli__clean(&raw, text);
    say_line(&raw);
}

static void say_at(const struct dw_error *error, const char *kind)
{
    struct dw_buf line = {0};
    dw_cli__clean(&line, error->file[0] ? error->file : "dropwise");
    if (error->file[0] && error->line > 0)
        dw_buf__format(&line, ":%d", error->line);
    if (error->file[0] && error->line > 0 && error->column > 0)
        dw_buf__format(&line, ":%d", error->column);
    dw_buf__format(&line, ": %s", kind);
    dw_cli__clean(&line, error->text[0] ? error->text : dw_err_text(error->code));
    say_line(&line);
}

void dw_cli__say_error(const struct dw_error *error)
{
    say_at(error, "");
}

/* Says the first `most` remarks of a severity; returns how many there are. */
static size_t say_severity(const struct dw_report *report, enum dw_severity severity,
                           const char *kind, size_t most)
{
    size_t n = 0;
    for (size_t i = 0; i < report->n_remarks; i++) {
        if (report->remarks[i].severity != severity)
            continue;
        if (n < most)
            say_at(&report->remarks[i].what, kind);
        n++;
    }
    return n;
}

void dw_cli__say_report(const struct dw_report *report, size_t most_doubts)
{
    say_severity(report, DW_WRONG, "", SIZE_MAX);
    size_t n_doubts = say_severity(report, DW_DOUBT, "doubtful: ", most_doubts);
    struct dw_buf line = {0};
    if (report->n_wrong > 0)
        dw_buf__put(&line, dw_cli__count((int64_t)report->n_wrong, "mistake", "mistakes").text);
    if (report->n_wrong > 0 && n_doubts > 0)
        dw_buf__put(&line, ", ");
    if (n_doubts > 0)
        dw_buf__put(&line, dw_cli__count((int64_t)n_doubts, "doubt", "doubts").text);
    if (n_doubts > most_doubts)
        dw_buf__format(&line, ", of which the first %zu are shown; dropwise check shows all",
                       most_doubts);
    if (report->n_dropped > 0)
        dw_buf__format(&line, "; %s more",
                       dw_cli__count((int64_t)report->n_dropped, "remark", "remarks").text);
    if (line.n > 0)
        say_line(&line);
    dw_buf__free(&line);
}
