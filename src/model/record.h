/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The members of each record of a job and a plan, one table a record: from these tables records are
 * written, by dw_record__put, and read (format/plan_read.c). */
#ifndef DW_MODEL_RECORD_H
#define DW_MODEL_RECORD_H

#include "model/model.h"
#include "model/saw.h"
#include "units/out.h"

#include <limits.h>

enum dw_value_kind {
    DW_VALUE_INTEGER,       /* int64_t */
    DW_VALUE_COUNT,         /* size_t: number */
    DW_VALUE_LENGTH,        /* dw_length: {"nm": 619125000, "text": "24 3/8 in"} */
    DW_VALUE_MONEY,         /* dw_money: "12.50" */
    DW_VALUE_WORD,          /* enum: one of words */
    DW_VALUE_YES,           /* bool */
    DW_VALUE_ANGLE,         /* int64_t, micro-degrees: string of degrees, "22.5" */
    DW_VALUE_TEXT,          /* const char *: string or null */
    DW_VALUE_GROUP,         /* size_t: index of a group of the plan */
    DW_VALUE_SUPPLY,        /* size_t: {"index": 3, "id": "T32 6 m"} */
    DW_VALUE_MATERIAL,      /* size_t: {"index": 0, "id": "T32"}, null for DW_NONE */
    DW_VALUE_PART,          /* size_t: {"index": 7, "label": "upright"}, null for DW_NONE */
    DW_VALUE_ORDER,         /* size_t: {"index": 0, "name": "stall"} */
    DW_VALUE_SUPPLIER,      /* size_t: {"index": 0, "name": "Quay Metals"} */
    DW_VALUE_GROUP_OR_NONE, /* size_t: index of a group, null for DW_NONE */
    /* Written, never read: */
    DW_VALUE_ID,     /* size_t of a supply: "T32 6 m" */
    DW_VALUE_GIVEN,  /* dw_length: as DW_VALUE_LENGTH, null for 0 */
    DW_VALUE_WEIGHT, /* int64_t, milligrams: number, null for -1 */
    DW_VALUE_KILOS,  /* the same: "11.16 kg" in the job's unit, null for -1 */
    DW_VALUE_RATE,   /* int64_t, parts per million: "20 %", null for -1 */
    DW_VALUE_TEXTS,  /* const char *const *: list of strings, as long as `list` says */
    DW_VALUE_ROWS,   /* pointer to records: list of objects, by `list` */
};

#define DW_RECORD_ALL INT_MAX /* a version that has every member */

struct dw_member_list;

struct dw_member {
    const char *name;
    enum dw_value_kind kind;
    size_t offset;
    int64_t least, most;          /* of an integer or a length */
    const struct dw_words *words; /* of DW_VALUE_WORD */
    int since; /* first version of the plan document that has it; DW_RECORD_ALL: no document has */
    const struct dw_member_list *list; /* of DW_VALUE_TEXTS and DW_VALUE_ROWS */
    bool inside;                       /* of the shop alone: no client is told */
};
#define DW_MEMBER_REST NULL, false /* no list, for everybody: the last two in a row */

struct dw_member_table {
    const struct dw_member *members; /* length n */
    size_t n;
};

/* An array that belongs to a record. */
struct dw_member_list {
    size_t n_offset; /* of its length, a size_t, in the record */
    size_t size;     /* of a row */
    struct dw_member_table rows;
};

extern const struct dw_member_table dw_plan__members;   /* struct dw_plan */
extern const struct dw_member_table dw_totals__members; /* struct dw_totals */
extern const struct dw_member_table dw_take__members;   /* struct dw_take */
extern const struct dw_member_table dw_charge__members; /* struct dw_charge */
extern const struct dw_member_table
    dw_order_totals__members;                                /* of struct dw_totals, with charges */
extern const struct dw_member_table dw_layout__members;      /* struct dw_layout */
extern const struct dw_member_table dw_piece__members;       /* struct dw_piece */
extern const struct dw_member_table dw_mark__members;        /* struct dw_mark */
extern const struct dw_member_table dw_group__members;       /* struct dw_group */
extern const struct dw_member_table dw_certificate__members; /* struct dw_certificate */
extern const struct dw_member_table dw_shortage__members;    /* struct dw_shortage */
extern const struct dw_member_table dw_supply__members;      /* struct dw_supply */
extern const struct dw_member_table dw_price_break__members; /* struct dw_price_break */
extern const struct dw_member_table dw_part__members;        /* struct dw_part */
extern const struct dw_member_table dw_order__members;       /* struct dw_order */
extern const struct dw_member_table dw_material__members;    /* struct dw_material */
extern const struct dw_member_table dw_section__members;     /* struct dw_section */

/* Of a piece, told by the job: written beside its members where the job says something, and
 * compared by the reader. */
extern const struct dw_member_table dw_saw_piece__members; /* struct dw_saw_piece */
extern const struct dw_member_table dw_saw_end__members;   /* struct dw_saw_end */
extern const struct dw_member_table dw_made_bend__members; /* struct dw_made_bend */
/* Name of what a supply has beyond dw_supply__members where that is known. */
extern const char dw_record__paid_from[];
/* Names of what a piece may have beyond dw_piece__members, length DW_SAW_MEMBERS. */
#define DW_SAW_MEMBERS 15
extern const char *const dw_record__saw_names[DW_SAW_MEMBERS];

/* One entry of the two arrays of struct dw_certificate. */
struct dw_dual {
    size_t part;
    int64_t dual;
};
extern const struct dw_member_table dw_dual__members;

/* A limited supply of a job of the rest: so many of it are left. */
struct dw_left {
    size_t supply;
    int64_t count;
};
extern const struct dw_member_table dw_left__members;
extern const struct dw_member_table dw_rest_part__members; /* struct dw_rest_part */

/* Where records are written to, and how. */
struct dw_record_out {
    struct dw_out *out;
    const struct dw_job *job; /* that indices are of */
    int version;              /* of the document; members of later ones are left out */
    bool client;              /* a client reads it: what is of the shop alone is left out */
};

/* The members of a row, into an object that is open. */
void dw_record__put(const struct dw_record_out *to, const struct dw_member_table *table,
                    const void *row);
/* The row as an object. */
void dw_record__object(const struct dw_record_out *to, const char *key,
                       const struct dw_member_table *table, const void *row);
/* Those of the members that say something: no text, no length, no angle and "no" don't. `but`: a
 * member that is left out too; NULL = none. */
void dw_record__said(const struct dw_record_out *to, const struct dw_member_table *table,
                     const void *row, const char *but);
/* The rows, each of `size` bytes, as an array of objects. */
void dw_record__rows(const struct dw_record_out *to, const char *key,
                     const struct dw_member_table *table, const void *rows, size_t n, size_t size);

/* Rows with the arrays that belong to them, each as an object. */
void dw_record__supply(const struct dw_record_out *to, const char *key,
                       const struct dw_supply *supply);
/* What remains of a part: row i of the parts of a job of the rest, by its index in the job as
 * written. */
void dw_record__rest_part(const struct dw_record_out *to, size_t i);
void dw_record__part(const struct dw_record_out *to, const char *key, const struct dw_part *part);
/* What the job says of a piece, into an object that is open. */
void dw_record__saw(const struct dw_record_out *to, const struct dw_saw_piece *saw);
void dw_record__layout(const struct dw_record_out *to, const char *key,
                       const struct dw_layout *layout);
/* The plan's own members, totals, takes, layouts and groups, into an object that is open. */
void dw_record__plan(const struct dw_record_out *to, const struct dw_plan *plan);
/* What a plan claims beside what the verifier proved; `proven` NULL: nothing, as the plan is wrong.
 * Members "claimed", "proven bound", "settled" and "groups", each with the same. */
void dw_record__proven(const struct dw_record_out *to, const struct dw_plan *plan,
                       const struct dw_plan_proven *proven);

#endif
