/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The members of the plan document, one table an object, from which it is written and read. */
#ifndef DW_FORMAT_PLAN_JSON_H
#define DW_FORMAT_PLAN_JSON_H

#include "base/base.h"
#include "model/model.h"
#include "model/saw.h"
#include "units/units.h"

#define DW_PLAN_FORMAT  "dropwise plan"
#define DW_PLAN_VERSION 2

/* Beyond +-(2^53 - 1) many programs lose digits of a JSON number: there it is a string. */
#define DW_SAFE_INTEGER INT64_C(9007199254740991)
/* The number of such a string, which is canonical; false if it is none. */
bool dw_plan__digits(const char *text, int64_t *out);

enum dw_value_kind {
    DW_VALUE_INTEGER,  /* int64_t: number, or string beyond DW_SAFE_INTEGER */
    DW_VALUE_LENGTH,   /* dw_length: {"nm": 619125000, "text": "24 3/8 in"} */
    DW_VALUE_MONEY,    /* dw_money: "12.50" */
    DW_VALUE_WORD,     /* enum: one of words[] */
    DW_VALUE_YES,      /* bool */
    DW_VALUE_ANGLE,    /* int64_t, micro-degrees: string of degrees, "22.5" */
    DW_VALUE_TEXT,     /* const char *: string or null */
    DW_VALUE_GROUP,    /* size_t: index of a group of the plan */
    DW_VALUE_SUPPLY,   /* size_t: {"index": 3, "id": "T32 6 m"} */
    DW_VALUE_MATERIAL, /* size_t: {"index": 0, "id": "T32"}, null for DW_NONE */
    DW_VALUE_PART,     /* size_t: {"index": 7, "label": "upright"}, null for DW_NONE */
};

struct dw_member {
    const char *name;
    enum dw_value_kind kind;
    size_t offset;
    int64_t least, most;      /* of an integer or a length */
    const char *const *words; /* of DW_VALUE_WORD, length n_words, in the order of the enum */
    size_t n_words;
    int since; /* the first version of the document that has it */
};

struct dw_member_table {
    const struct dw_member *members; /* length n */
    size_t n;
};

extern const struct dw_member_table dw_plan__members;        /* struct dw_plan */
extern const struct dw_member_table dw_totals__members;      /* struct dw_totals */
extern const struct dw_member_table dw_take__members;        /* struct dw_take */
extern const struct dw_member_table dw_layout__members;      /* struct dw_layout */
extern const struct dw_member_table dw_piece__members;       /* struct dw_piece */
extern const struct dw_member_table dw_group__members;       /* struct dw_group */
extern const struct dw_member_table dw_certificate__members; /* struct dw_certificate */
extern const struct dw_member_table dw_shortage__members;    /* struct dw_shortage */

/* Of a piece, told by the job: written beside its members where the job says something, and
 * compared by the reader. */
extern const struct dw_member_table dw_saw_piece__members; /* struct dw_saw_piece */
extern const struct dw_member_table dw_saw_end__members;   /* struct dw_saw_end */
extern const struct dw_member_table dw_made_bend__members; /* struct dw_made_bend */

/* Names of what a piece may have beyond dw_piece__members, length DW_SAW_MEMBERS. */
#define DW_SAW_MEMBERS 14
extern const char *const dw_plan__saw_names[DW_SAW_MEMBERS];
struct json_t;
/* A new object with what the job says of the piece; NULL: no memory. */
struct json_t *dw_plan__saw_json(const struct dw_job *job, const struct dw_saw_piece *saw);
/* The first piece of a document's layout that says other than the job. How the work is put in words
 * is not compared. false: no memory. */
struct dw_saw_difference {
    size_t piece;
    const char *name; /* one of dw_plan__saw_names; NULL = they say the same */
    char *says;       /* what the job says, for a message; yours to free */
};
bool dw_plan__saw_compare(const struct dw_job *job, const struct dw_layout *layout,
                          const struct json_t *pieces, struct dw_saw_difference *out);
/* For json_dump_callback: into the struct dw_buf that is `user`, whatever jansson allocates with.
 */
int dw_plan__collect(const char *text, size_t n, void *user);

/* One entry of the two arrays of struct dw_certificate. */
struct dw_dual {
    size_t part;
    int64_t dual;
};
extern const struct dw_member_table dw_dual__members;

extern const struct dw_member_table dw_supply__members; /* struct dw_supply that is brought */

extern const struct dw_member_table dw_rest_part__members; /* struct dw_rest_part */
/* A limited supply of a job of the rest: so many of it are left. */
struct dw_left {
    size_t supply;
    int64_t count;
};
extern const struct dw_member_table dw_left__members;

#endif
