/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Errors of a call, and reports that collect every mistake of an input.
 *
 * Threads: any; a report or an error belongs to one thread at a time. */
#ifndef DROPWISE_ERROR_H
#define DROPWISE_ERROR_H

#include <stdbool.h>
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

/* X(name, text): the call failed because ... The one list that codes and texts come from. */
#define DW_ERR_LIST(X)                                                                             \
    X(DW_OK, "no error")                                                                           \
    X(DW_ERR_NOMEM, "out of memory")                                                               \
    X(DW_ERR_SYNTAX, "not well formed")                                                            \
    X(DW_ERR_INPUT, "input refused")                                                               \
    X(DW_ERR_RANGE, "number out of range")                                                         \
    X(DW_ERR_LIMIT, "a size limit was passed")                                                     \
    X(DW_ERR_IO, "reading or writing failed")                                                      \
    X(DW_ERR_EXISTS, "the file exists")                                                            \
    X(DW_ERR_NOTFOUND, "not found")                                                                \
    X(DW_ERR_BUSY, "in use by another process")                                                    \
    X(DW_ERR_HELD, "held by another plan")                                                         \
    X(DW_ERR_STATE, "not possible in the present state")                                           \
    X(DW_ERR_SCHEMA, "a file of another kind or a newer version")                                  \
    X(DW_ERR_SOLVER, "the LP library failed")                                                      \
    X(DW_ERR_CHECK, "a plan did not pass the verifier")                                            \
    X(DW_ERR_INTERNAL, "a fault of this program")

typedef enum dw_err {
#define DW_ERR_ENUM(name, text) name,
    DW_ERR_LIST(DW_ERR_ENUM)
#undef DW_ERR_ENUM
} dw_err;

/* Where and why a call failed. Owned by the caller; zero-initialise it. The first error wins:
 * a set error is not overwritten. line and column count from 1; 0 = not known. */
struct dw_error {
    dw_err code;
    int line;
    int column;
    char file[256];
    char text[512]; /* one line: what is wrong and what would be right */
};

/* "DW_ERR_IO" and "reading or writing failed". Borrowed, never NULL. */
const char *dw_err_name(dw_err code);
const char *dw_err_text(dw_err code);

/* X(name, word) */
#define DW_SEVERITY_LIST(X)                                                                        \
    X(DW_NOTE, "note")   /* worth knowing: how something was understood */                         \
    X(DW_DOUBT, "doubt") /* allowed, but probably not meant */                                     \
    X(DW_WRONG, "wrong") /* refused */

enum dw_severity {
#define DW_SEVERITY_ENUM(name, word) name,
    DW_SEVERITY_LIST(DW_SEVERITY_ENUM)
#undef DW_SEVERITY_ENUM
};
const char *dw_severity_word(enum dw_severity severity); /* borrowed */

struct dw_remark {
    enum dw_severity severity;
    struct dw_error what;
};

/* Every remark on an input, in the order found. Zero-initialise it, free with dw_report_free. */
struct dw_report {
    size_t n_remarks;
    size_t capacity;
    struct dw_remark *remarks; /* length n_remarks; owned */
    size_t n_wrong;            /* how many have severity DW_WRONG */
    size_t n_dropped;          /* remarks beyond DW_REPORT_MAX, counted only */
};

#define DW_REPORT_MAX 1000

/* Frees what the report owns and empties it. */
void dw_report_free(struct dw_report *report);

#ifdef __cplusplus
}
#endif
#endif
