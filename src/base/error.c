/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Names of errors, the one reason why a call failed, and remarks on input. */
#include "base/base.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const struct {
    const char *name;
    const char *text;
} err_table[] = {
#define DW_ERR_ROW(name, text) {#name, text},
    DW_ERR_LIST(DW_ERR_ROW)
#undef DW_ERR_ROW
};

const char *dw_err_name(dw_err code)
{
    size_t i = (size_t)code;
    return i < DW_COUNT(err_table) ? err_table[i].name : "DW_ERR_?";
}

const char *dw_err_text(dw_err code)
{
    size_t i = (size_t)code;
    return i < DW_COUNT(err_table) ? err_table[i].text : "unknown error";
}

const char *dw_severity_word(enum dw_severity severity)
{
    static const char *const words[] = {
#define DW_SEVERITY_WORD(name, word) [name] = word,
        DW_SEVERITY_LIST(DW_SEVERITY_WORD)
#undef DW_SEVERITY_WORD
    };
    return words[severity];
}

/* Cuts a text that did not fit where no character is split. */
static void trim_utf8(char *text)
{
    size_t n = strlen(text);
    text[dw_utf8__check(text, n)] = '\0';
}

/* A message is one line for a person and a terminal: what it cites may hold line ends and control
 * characters (those below U+0020, and U+007F to U+009F, which begin with the byte C2). */
static void flatten(char *text)
{
    for (unsigned char *c = (unsigned char *)text; *c; c++)
        if (*c == '\n' || *c == '\r' || *c == '\t')
            *c = ' ';
        else if (*c < 0x20 || *c == 0x7F)
            *c = '?';
        else if (c[0] == 0xC2 && c[1] >= 0x80 && c[1] < 0xA0)
            c[0] = c[1] = '?';
}

__attribute__((format(printf, 6, 0))) static void fill_error(struct dw_error *error, dw_err code,
                                                             const char *file, int line, int column,
                                                             const char *format, va_list args)
{
    error->code = code;
    error->line = line;
    error->column = column;
    if (snprintf(error->file, sizeof error->file, "%s", file ? file : "") >=
        (int)sizeof error->file)
        trim_utf8(error->file);
    flatten(error->file);
    if (vsnprintf(error->text, sizeof error->text, format, args) >= (int)sizeof error->text)
        trim_utf8(error->text);
    flatten(error->text);
}

dw_err dw_error__set(struct dw_error *error, dw_err code, const char *format, ...)
{
    if (!error || error->code != DW_OK)
        return code;
    va_list args;
    va_start(args, format);
    fill_error(error, code, NULL, 0, 0, format, args);
    va_end(args);
    return code;
}

dw_err dw_error__at(struct dw_error *error, dw_err code, const char *file, int line, int column,
                    const char *format, ...)
{
    if (!error || error->code != DW_OK)
        return code;
    va_list args;
    va_start(args, format);
    fill_error(error, code, file, line, column, format, args);
    va_end(args);
    return code;
}

dw_err dw_report__add(struct dw_report *report, enum dw_severity severity, const char *file,
                      int line, int column, const char *format, ...)
{
    if (severity == DW_WRONG)
        report->n_wrong++;
    if (report->n_remarks >= DW_REPORT_MAX) {
        report->n_dropped++;
        return DW_OK;
    }
    if (!dw_array__grow(&report->remarks, &report->capacity, report->n_remarks + 1,
                        sizeof *report->remarks))
        return DW_ERR_NOMEM;
    struct dw_remark *remark = &report->remarks[report->n_remarks++];
    remark->severity = severity;
    va_list args;
    va_start(args, format);
    fill_error(&remark->what, severity == DW_WRONG ? DW_ERR_INPUT : DW_OK, file, line, column,
               format, args);
    va_end(args);
    return DW_OK;
}

void dw_report_free(struct dw_report *report)
{
    free(report->remarks);
    *report = (struct dw_report){0};
}
