/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a YAML job and a CSV table have in common: a tree of scalars, lists and maps, each with the
 * place where it was written. Nodes live in the arena that the parser was given. */
#ifndef DW_FORMAT_TREE_H
#define DW_FORMAT_TREE_H

#include "base/base.h"
#include "model/model.h"
#include "units/units.h"

enum dw_node_kind { DW_NODE_NULL, DW_NODE_SCALAR, DW_NODE_LIST, DW_NODE_MAP };

/* How far a place inside the text of a scalar is known. */
enum dw_quoting {
    DW_QUOTE_NONE,   /* written as it is */
    DW_QUOTE_DOUBLE, /* between two " with each " inside written twice (a cell) */
    DW_QUOTE_SINGLE, /* between two ' with each ' inside written twice */
    DW_QUOTE_OTHER,  /* escapes or several lines: only the beginning is known */
};

struct dw_node {
    enum dw_node_kind kind;
    enum dw_quoting quoting;
    enum dw_unit bare; /* unit of a bare number from a column's header; NONE = the job's */
    const char *text;  /* of a scalar, terminated; "" for null */
    size_t n;          /* bytes of text */
    size_t n_items;
    struct dw_node **items; /* length n_items; of a map: key, value, key, value, ... */
    size_t weight;          /* nodes of the tree below and with this one, aliases written out */
    struct dw_place at;
};

/* Limits of a file, refused up front. The YAML library takes some hundred bytes a value. */
#define DW_JOB_LIMIT   ((size_t)8 * 1024 * 1024) /* bytes of a job; its tables have DW_FILE_LIMIT */
#define DW_FILE_LIMIT  ((size_t)64 * 1024 * 1024) /* bytes */
#define DW_NODE_LIMIT  ((size_t)1500000)          /* scalars, lists and maps, aliases written out */
#define DW_DEPTH_LIMIT 16                         /* of lists and maps */
#define DW_KEY_LIMIT   100                        /* keys of a map, columns of a table */

/* A walk through a text that counts lines and columns (characters), both from 1. A byte order mark
 * at the start takes no column. Seeking forward costs O(distance). */
struct dw_cursor {
    const char *text;
    size_t n;
    size_t offset;
    int line;
    int column;
};
struct dw_cursor dw_cursor__start(const char *text, size_t n);
void dw_cursor__seek(struct dw_cursor *cursor, size_t offset);

/* Refuses what is not UTF-8 text, with a hint how to save it: false, and a DW_WRONG remark. */
bool dw_text__check(const char *text, size_t n, const char *name, struct dw_report *report);

/* Place of character `column` (from 1) of a scalar's text. */
struct dw_place dw_node__place(const struct dw_node *node, int column);

/* text[0..n), which lies within the scalar's text, as a scalar of its own with its own place. Its
 * text ends at n, not at a terminator. */
struct dw_node dw_node__slice(const struct dw_node *node, const char *text, size_t n);

/* YAML 1.2, one document. *root is NULL when the report has gained a DW_WRONG remark. DW_OK or
 * DW_ERR_NOMEM. `name` must outlive the nodes. */
dw_err dw_yaml__parse(struct dw_arena *arena, const char *text, size_t n, const char *name,
                      struct dw_report *report, struct dw_node **root, struct dw_error *error);

#endif
