/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A list of parts or bars in a workbook or a text, as it was understood: each row of the file, what
 * it was taken for, and its cells.
 *
 * Threads: any; a list that was read may be shared. */
#ifndef DROPWISE_LIST_H
#define DROPWISE_LIST_H

#include <dropwise/job.h>

#ifdef __cplusplus
extern "C" {
#endif

/* The tables that a job can name, X(kind, key of the job). */
#define DW_TABLE_LIST(X)                                                                           \
    X(DW_TABLE_PARTS, "parts")                                                                     \
    X(DW_TABLE_POSTS, "posts")                                                                     \
    X(DW_TABLE_BARS, "bars")                                                                       \
    X(DW_TABLE_OFFCUTS, "offcuts")

enum dw_table_kind {
#define DW_TABLE_ENUM(name, key) name,
    DW_TABLE_LIST(DW_TABLE_ENUM)
#undef DW_TABLE_ENUM
};
/* The kind of a key of the job; false if it names no table. */
bool dw_table_kind_find(const char *key, enum dw_table_kind *kind);

/* X(name, word): what a row of a sheet is. */
#define DW_ROW_ROLE_LIST(X)                                                                        \
    X(DW_ROW_TAKEN, "taken")                                                                       \
    X(DW_ROW_HEADING, "heading")                                                                   \
    X(DW_ROW_ABOVE, "above the list")                                                              \
    X(DW_ROW_REPEATED, "heading again")                                                            \
    X(DW_ROW_ASIDE, "group or remark")                                                             \
    X(DW_ROW_TOTAL, "total")                                                                       \
    X(DW_ROW_HIDDEN, "hidden")                                                                     \
    X(DW_ROW_REFUSED, "refused")

enum dw_row_role {
#define DW_ROW_ROLE_ENUM(name, word) name,
    DW_ROW_ROLE_LIST(DW_ROW_ROLE_ENUM)
#undef DW_ROW_ROLE_ENUM
};
const char *dw_row_role_word(enum dw_row_role role); /* borrowed */

struct dw_list_row {
    int line;         /* row of the sheet, line of the text */
    const char *role; /* a word of DW_ROW_ROLE_LIST */
    const char *text; /* what the row holds, in short */
    size_t n_shown;
    const char **shown; /* length n_shown: its cells as they stand in the file, each short */
    const char **cells; /* length n_columns, of a row that is taken; else NULL */
    dw_length least;    /* of a part: its length as it was read, most = least but for a range */
    dw_length most;
    int64_t count;
};

struct dw_list {
    struct dw_arena *arena; /* owns all of it */
    const char *sheet;      /* "" in a text */
    size_t n_columns;
    const char **columns; /* names of the fields, in the order of the file */
    size_t *at;           /* which column of the file each is, from 1 */
    bool *lengths;        /* which of them hold lengths, bare ones in `unit` */
    enum dw_unit unit;
    size_t n_rows;
    struct dw_list_row *rows;
    size_t n_taken;
};

struct dw_list_source {
    enum dw_table_kind kind;
    const char *name; /* in messages */
    const char *text; /* length n */
    size_t n;
    const char *sheet;   /* NULL: the one that looks like a list */
    const char *columns; /* "label=B,length=D,count=E"; NULL: by their headings */
    enum dw_unit unit;   /* of bare lengths */
    bool may_lack_head;  /* label, length, count are taken without a heading */
};

/* Every value is as it was written, a length with the unit of its column. Rows that can't be read
 * are in the report and refused. DW_ERR_INPUT: no table; *out is NULL. Free with dw_list_free. */
dw_err dw_list_read(const struct dw_list_source *source, struct dw_list **out,
                    struct dw_report *report, struct dw_error *error);
void dw_list_free(struct dw_list *list);

/* The rows that are taken, as CSV that is read the same whatever the unit: each length has its own.
 * *text is yours to free with dw_free. */
dw_err dw_list_to_csv(const struct dw_list *list, char **text, size_t *n, struct dw_error *error);

#ifdef __cplusplus
}
#endif
#endif
