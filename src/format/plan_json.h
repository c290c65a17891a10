/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The members of the plan document, one table an object, from which it is written and read. */
#ifndef DW_FORMAT_PLAN_JSON_H
#define DW_FORMAT_PLAN_JSON_H

#include "base/base.h"
#include "model/model.h"
#include "units/units.h"

#define DW_PLAN_FORMAT  "dropwise plan"
#define DW_PLAN_VERSION 2

/* Beyond +-(2^53 - 1) many programs lose digits of a JSON number: there it is a string. */
#define DW_SAFE_INTEGER INT64_C(9007199254740991)

enum dw_value_kind {
    DW_VALUE_INTEGER,  /* int64_t: number, or string beyond DW_SAFE_INTEGER */
    DW_VALUE_LENGTH,   /* dw_length: {"nm": 619125000, "text": "24 3/8 in"} */
    DW_VALUE_MONEY,    /* dw_money: "12.50" */
    DW_VALUE_WORD,     /* enum: one of words[] */
    DW_VALUE_YES,      /* bool */
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
