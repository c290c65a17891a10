/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A job as the program understands it: saw, materials, supplies, parts, rules, money.
 *
 * Everything a job points to belongs to the job's arena and lives until dw_job_free. Strings are
 * UTF-8, terminated; a string that was not given is NULL. Indices point into the job's arrays.
 *
 * Threads: a job belongs to one thread while it is made or changed; then many may read it side by
 * side. */
#ifndef DROPWISE_JOB_H
#define DROPWISE_JOB_H

#include <dropwise/error.h>
#include <dropwise/length.h>
#include <dropwise/money.h>

#ifdef __cplusplus
extern "C" {
#endif

#define DW_NONE      ((size_t)-1) /* no index */
#define DW_UNLIMITED INT64_C(-1)  /* no count */

/* Limits that are refused up front, so that no product overflows and no table exhausts memory. */
#define DW_MAX_PIECES     INT64_C(2000000) /* parts and posts, counted */
#define DW_MAX_ROWS       100000           /* rows of parts or of supplies */
#define DW_MAX_MATERIALS  1000
#define DW_MAX_BREAKS     100             /* price breaks of one supply */
#define DW_MAX_CLASSES    1000            /* of what a leftover is worth, of one material */
#define DW_MAX_ON_BAR     INT64_C(100000) /* pieces of one part on one bar */
#define DW_MAX_POST_PAIRS 500000          /* offcuts times posts, for dropwise posts */

/* Where a thing was written. file is NULL when it came from no file. */
struct dw_place {
    const char *file;
    int line;
    int column;
};

/* How a leftover of a material is valued: phi(r).
 *
 *   phi(r) = 0                                                       if r < keep
 *          = min(base(r), min over new straight bars k of the material, floor(c_k r / L_k))
 *
 * with c_k the lowest price of supply k (price breaks included), L_k its measured or, without one,
 * nominal length, over the supplies that are DW_SOURCE_NEW, of the material and without a bend, and
 *   DW_WORTH_RATE     base(r) = floor(rate r / per)
 *   DW_WORTH_SHARE    base(r) = min over k of floor(share c_k r / (L_k 1 000 000)); 0 without a k
 *   DW_WORTH_CLASSES  base(r) = worth of the last class with from <= r; 0 if there is none
 *   DW_WORTH_NONE     base(r) = 0
 * phi never decreases: classes are in increasing order of `from`, with worths that do not
 * decrease. A leftover with r >= keep may be kept as an offcut also where phi is 0. */
enum dw_worth_kind { DW_WORTH_NONE, DW_WORTH_RATE, DW_WORTH_SHARE, DW_WORTH_CLASSES };

struct dw_worth_class {
    dw_length from;
    dw_money worth;
};

struct dw_worth {
    enum dw_worth_kind kind;
    dw_length keep; /* keeping length: what is shorter is scrap; > 0 */
    dw_money rate;  /* DW_WORTH_RATE: money ... */
    dw_length per;  /* ... for this length */
    int64_t share;  /* DW_WORTH_SHARE: parts per million of the new price, 0..1 000 000 */
    size_t n_classes;
    const struct dw_worth_class *classes; /* length n_classes */
};

struct dw_material {
    const char *id;
    const char *name;
    const char *alloy;
    const char *finish;
    dw_length od;         /* outside diameter; 0 = not given */
    dw_length wall;       /* 0 = not given */
    dw_length radius;     /* centre-line radius of rolled tube; 0 = straight */
    int64_t density_g_m3; /* grams a cubic metre (steel 7 850 000); 0 = not given */
    bool end_bent;        /* parts of it are cut from end-bent bars, at most one a bar */
    struct dw_worth worth;
    struct dw_place at;
};

/* X(name, word): the words of documents, tables and replies, here and in the lists of other enums.
 * The word of a value is borrowed and never NULL. */
#define DW_SOURCE_LIST(X)                                                                          \
    X(DW_SOURCE_NEW, "new")                                                                        \
    X(DW_SOURCE_SHELF, "shelf")                                                                    \
    X(DW_SOURCE_OFFCUT, "offcut")

enum dw_source {
#define DW_SOURCE_ENUM(name, word) name,
    DW_SOURCE_LIST(DW_SOURCE_ENUM)
#undef DW_SOURCE_ENUM
};
const char *dw_source_word(enum dw_source source);

#define DW_END_LIST(X)                                                                             \
    X(DW_END_MILL, "mill")                                                                         \
    X(DW_END_SAWN, "sawn")

enum dw_end {
#define DW_END_ENUM(name, word) name,
    DW_END_LIST(DW_END_ENUM)
#undef DW_END_ENUM
};
const char *dw_end_word(enum dw_end end);

/* X(name, word): what the job says of a bar or offcut. */
#define DW_USAGE_LIST(X)                                                                           \
    X(DW_USAGE_MAY, "yes") /* as is cheapest */                                                    \
    X(DW_USAGE_NO, "no")   /* none of it this time; a leftover's worth is capped by it as ever */

enum dw_usage {
#define DW_USAGE_ENUM(name, word) name,
    DW_USAGE_LIST(DW_USAGE_ENUM)
#undef DW_USAGE_ENUM
};
const char *dw_usage_word(enum dw_usage usage);

/* X(name, word, reason): why a plan counts a piece of a shelf at other money than was paid. `word`
 * stands in documents, `reason` in sentences. */
#define DW_COUNTED_LIST(X)                                                                         \
    X(DW_COUNTED_PAID, "as paid", "as paid")                                                       \
    X(DW_COUNTED_SHARE, "share", "a share of the book value")                                      \
    X(DW_COUNTED_AGE, "age", "favoured for its age")                                               \
    X(DW_COUNTED_FLOOR, "leftover", "worth as a leftover")                                         \
    X(DW_COUNTED_CLIENT, "client", "the client's own")                                             \
    X(DW_COUNTED_BEFORE, "before", "as in the plan before")                                        \
    X(DW_COUNTED_BOUGHT, "bought", "bought for this job, so before another is")

enum dw_counted_as {
#define DW_COUNTED_ENUM(name, word, reason) name,
    DW_COUNTED_LIST(DW_COUNTED_ENUM)
#undef DW_COUNTED_ENUM
};
const char *dw_counted_as_reason(enum dw_counted_as counted);

/* All-units price break: from `from` bars bought on, every bar costs `price`. */
struct dw_price_break {
    int64_t from;
    dw_money price;
};

/* A kind of bar that can be taken. Usable length
 *   U = (measured ? measured : length) - sum of trim over the ends that are squared.
 * An end is squared if it is DW_END_MILL and not the bent end of an end-bent bar. With trim > 0
 * that takes one squaring cut, which costs saw.cut_cost and whose kerf is part of the trim.
 *
 * An end-bent bar (bend > 0): `material` is the bent material, `tail_material` the straight one.
 * Its lengths run along the tube through the bend. The bent end comes first, is the datum end, is
 * never squared, and takes at least `bend` of U. A layout of it starts with one bent
 * part (length >= bend) or, without one, with the bend end itself, a stub of length `bend` that is
 * scrap; straight pieces and the leftover follow and are of tail_material. */
struct dw_supply {
    const char *id; /* offcut number or supply name; unique in the job */
    size_t material;
    enum dw_source source;
    dw_length length;   /* nominal */
    dw_length measured; /* 0 = as nominal */
    dw_money price;     /* what a plan counts for a bar: its price if new, else its book value or,
                           of a piece that is brought, its planning price */
    int64_t count;      /* at most so many are bought or taken; DW_UNLIMITED */
    int64_t pack;       /* sold in packs of this many; 1 = singly. Whole packs are paid */
    size_t n_breaks;
    const struct dw_price_break *breaks; /* length n_breaks, increasing from, decreasing price */
    enum dw_end ends[2];                 /* datum end (the bent end of an end-bent bar), far end */
    dw_length trim;                      /* taken off each end that is squared */
    dw_length bend;                      /* 0 = no end-bent bar */
    enum dw_usage usage;                 /* DW_USAGE_NO: count is 0 */
    size_t tail_material;                /* DW_NONE without a bend */
    const char *supplier;
    const char *item; /* its number with the supplier; NULL = not said */
    const char *place;
    const char *owner;
    const char *mark;           /* heat or lot mark */
    const char *date;           /* ISO 8601; of the price, or of the offcut's origin */
    bool brought;               /* a piece of a shelf: the plan document brings it along */
    dw_money paid;              /* of one that is brought or raised: its book value; see
                                   dw_supply_paid */
    enum dw_counted_as counted; /* of one that is brought: why price is not paid */
    const char *paid_from; /* of one that is brought: where its book value comes from, "delivered
                              for plan 3, 2026-03-01"; NULL = that is not told */
    bool by_rules; /* of one that the job lists: no book value is given, price is phi of its length
                    */
    bool raised; /* of one that the job lists: price is what its longest leftover is worth, the book
                    value, in paid, is less */
    struct dw_place at;
};

struct dw_drawn;
struct dw_takeoff;

/* A required segment, or (post) one that would be useful.
 *
 * A part is needed exactly `count` times; a post is made at most `count` times and earns `worth`
 * each. A piece may come out anywhere in min..max; the plan states its length. min and max include
 * the allowance of a part that is measured on site before its last cut. */
struct dw_part {
    const char *label;
    const char *section; /* NULL = none */
    size_t order;        /* index of the client's job in dw_job.orders */
    dw_length min;
    dw_length max;
    int64_t count; /* >= 1 */
    size_t n_materials;
    const size_t *materials; /* length n_materials, distinct; any of them will do */
    bool post;
    dw_money worth; /* of a post, >= 0; 0 for a part */
    bool measure_first;
    bool priority;       /* of a part: where tube is short, it is made before those without */
    dw_length allowance; /* included in min and max */
    dw_length measured;  /* true length, said at the saw, of a part that was to be measured first:
                            then min = max = measured, without allowance; 0 = none */
    const char *written; /* the length as the user wrote it; may be NULL */
    const char *remark;
    const struct dw_drawn *drawn;     /* takeoff.h: as drawn; NULL = the cut length was given */
    const struct dw_takeoff *takeoff; /* how min and max follow from drawn; NULL without it */
    struct dw_place at;
};

/* The parts of one client within a batch. */
struct dw_order {
    const char *name;
    const char *client;
    const char *due;
    const char *address;   /* lines below the client's name, '\n' between them */
    const char *reference; /* what the client knows it by: "your order 4711" */
    const char *scope;     /* what is built, in a sentence */
    const char *language;  /* of the client's papers: "de"; NULL = the shop's */
};

struct dw_saw {
    dw_length kerf; /* >= 0 */
    dw_length grip; /* the last `grip` of the usable length can't become a piece; 0 = none */
    dw_length trim; /* default of dw_supply.trim */
    dw_length end_allowance; /* as grip, of a bar or shelf bar that is not measured; 0 = none */
    dw_money cut_cost;       /* of one cut: blade, and its time at the rate */
    dw_money bar_cost;       /* of taking a bar up: fetching, clamping, squaring up; and its time */
    dw_money offcut_cost;    /* the same of an offcut, which has to be looked for */
    /* What the report reckons the saw's time from, ms; 0 = not said. The money above has it. */
    int64_t cut_ms, bar_ms, offcut_ms, stop_ms;
    dw_money rate; /* an hour at the saw; 0 = not said */
};

struct dw_rules {
    int64_t max_new_offcuts; /* kept leftovers of the whole job; DW_UNLIMITED */
    int64_t most_pieces;     /* parts and posts, surplus too, on one bar; DW_UNLIMITED */
    bool no_middling;        /* no leftover r with scrap_max < r < keep of its material */
    dw_length scrap_max;     /* used with no_middling */
    int64_t few_layouts_ppm; /* money that may be given up for fewer layouts, parts per million */
};

struct dw_arena;
struct dw_fitting;
struct dw_loose;
struct dw_section;
struct dw_supplier;
struct dw_quote_terms;
struct dw_shop;

struct dw_job {
    const char *name;
    const char *date;
    const char *file;
    enum dw_unit unit; /* of bare numbers and of output */
    int denominator;   /* see dw_length_style */
    char currency[4];
    struct dw_saw saw;
    struct dw_rules rules;
    size_t n_orders;
    struct dw_order *orders; /* length n_orders >= 1 */
    size_t n_materials;
    struct dw_material *materials; /* length n_materials */
    size_t n_supplies;
    struct dw_supply *supplies; /* length n_supplies */
    size_t n_parts;
    struct dw_part *parts; /* length n_parts; parts and posts */
    const size_t *part_of; /* of a job of the rest, when a part of a plan is cut: index in the job
                              as written of each part; NULL = this is the job as written */
    size_t n_fittings;
    struct dw_fitting *fittings; /* length n_fittings, takeoff.h */
    size_t n_loose;
    struct dw_loose *loose; /* length n_loose, takeoff.h */
    size_t n_sections;
    struct dw_section *sections; /* length n_sections, terms.h: sections with limits */
    size_t n_suppliers;
    struct dw_supplier *suppliers; /* length n_suppliers, terms.h: suppliers with terms */
    struct dw_quote_terms *quote;  /* terms.h; NULL = the job says nothing of it */
    struct dw_shop *shop;          /* shop.h; NULL = the job names none */
    size_t n_files;
    const char **files;     /* length n_files: lists, shop and logo that it names, by their paths */
    struct dw_arena *arena; /* owns all of the above */
};

/* An empty job with defaults: unit mm, kerf 0, no grip, no cap, currency "XXX" (no currency). */
dw_err dw_job_new(struct dw_job **out, struct dw_error *error);
void dw_job_free(struct dw_job *job);

/* Room in the job's arena for program-made jobs; zeroed, aligned for any type. NULL: no memory.
 * Cost: O(size). */
void *dw_job_alloc(struct dw_job *job, size_t count, size_t size);
char *dw_job_text(struct dw_job *job, const char *text);

/* All that is wrong or doubtful in the job as data: limits, indices, signs, impossible tubes,
 * worth tables, parts that no supply can give. Remarks carry the place each thing was written.
 * Returns DW_OK, DW_ERR_INPUT (report->n_wrong > 0) or DW_ERR_NOMEM. */
dw_err dw_job_check(const struct dw_job *job, struct dw_report *report, struct dw_error *error);

/* phi(r) of struct dw_worth for a leftover of `material`, with the cap by new bars. */
dw_money dw_job_worth(const struct dw_job *job, size_t material, dw_length leftover);

/* What stays behind the last cut of a bar at least: the grip or, of a bar whose true length is not
 * known, the end allowance if that is more. 0: a piece may end where the bar does. */
dw_length dw_supply_tail(const struct dw_saw *saw, const struct dw_supply *supply);

/* What taking one up at the saw costs. */
dw_money dw_supply_handling(const struct dw_saw *saw, const struct dw_supply *supply);

/* U of struct dw_supply; how many squaring cuts a bar of it takes; whether end 0 (datum) or 1 (far)
 * takes one. */
dw_length dw_supply_usable(const struct dw_supply *supply);
int64_t dw_supply_squarings(const struct dw_supply *supply);
bool dw_supply_squared(const struct dw_supply *supply, size_t end);

/* What was paid for a shelf bar or offcut: its book value, 0 where none is given. It is what a
 * quote charges; a plan counts the price. Of a new bar: the price. */
dw_money dw_supply_paid(const struct dw_supply *supply);
/* Where that is known from: "delivered for plan 3, 2026-03-01", "given in the job file", "no book
 * value is given". Borrowed from the supply, or static. */
const char *dw_supply_paid_from(const struct dw_supply *supply);
/* Why a plan counts a shelf bar or offcut otherwise than paid; NULL where it does not. */
const char *dw_supply_reason(const struct dw_supply *supply);

#ifdef __cplusplus
}
#endif
#endif
