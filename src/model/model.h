/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Face of model: jobs, plans, and the independent verifier. */
#ifndef DW_MODEL_H
#define DW_MODEL_H

#include "base/base.h"

#include <dropwise/job.h>
#include <dropwise/plan.h>
#include <dropwise/saw.h>
#include <dropwise/takeoff.h>
#include <dropwise/terms.h>

/* A way out of dw_plan_prove while it proves what duals say, which can take long: once late has
 * answered true, and it does so from then on, unproved[g] is set for each group whose duals are not
 * evaluated to the end, and nothing is said of them. `patience` and `out` may be NULL. */
struct dw_patience {
    bool (*late)(void *user);
    void *user;
    bool *unproved; /* length plan->n_groups */
};
dw_err dw_plan__check(const struct dw_job *job, const struct dw_plan *plan,
                      const struct dw_patience *patience, struct dw_report *report,
                      struct dw_plan_proven **out, struct dw_error *error);

/* How lengths of a job are printed: its unit, denominator, and decimals enough for a tape. */
struct dw_length_style dw_job__style(const struct dw_job *job);
/* A part of which so many are still to be cut. */
struct dw_rest_part {
    size_t part; /* index of the job as it is */
    int64_t count;
    dw_length measured; /* their true length, 0 = as the job has it */
};
/* Makes the job that of the rest: its parts are these, in this order; one part may be split. It is
 * left as it was if there is no memory. */
dw_err dw_job__rest(struct dw_job *job, const struct dw_rest_part *rows, size_t n,
                    struct dw_error *error);
/* Numbers the bars of the layouts as they stand: see struct dw_layout. */
void dw_plan__number_bars(struct dw_plan *plan);
/* Book values of the shelf bars and offcuts that a plan takes. false: more than can be counted. */
bool dw_plan__paid(const struct dw_job *job, const struct dw_plan *plan, dw_money *paid);

/* Words of an enum, in its order. */
struct dw_words {
    const char *const *words; /* length n */
    size_t n;
};
extern const struct dw_words dw_source__words;      /* enum dw_source */
extern const struct dw_words dw_usage__words;       /* enum dw_usage */
extern const struct dw_words dw_end__words;         /* enum dw_end */
extern const struct dw_words dw_reference__words;   /* enum dw_reference */
extern const struct dw_words dw_end_shape__words;   /* enum dw_end_shape */
extern const struct dw_words dw_mitre_point__words; /* enum dw_mitre_point */
extern const struct dw_words dw_long_points__words; /* enum dw_long_points */
extern const struct dw_words dw_counted__words;     /* enum dw_counted_as */
extern const struct dw_words dw_use__words;         /* enum dw_use */
extern const struct dw_words dw_rest__words;        /* enum dw_rest */
extern const struct dw_words dw_status__words;      /* enum dw_status */
extern const struct dw_words dw_proof__words;       /* enum dw_proof */
extern const struct dw_words dw_line_kind__words;   /* enum dw_line_kind */
/* Index of the word text[0..n); false if it is none of them, *out is then as it was. */
bool dw_words__find(const struct dw_words *words, const char *text, size_t n, unsigned *out);
/* `mill`, `sawn` for both ends; `sawn, mill` (or / or + or and) for datum end and far end, in any
 * case of letters. text[n] is readable. */
bool dw_ends__read(const char *text, size_t n, enum dw_end ends[2]);

/* A tube for a person: its name, else its id, then alloy and finish where the name does not say
 * them already: "aluminium 38 x 2, 6061-T6, mill". */
/* One sentence, or two: "48 min at the saw: 40 cuts at 42 s, ..."; nothing where no time is known.
 */
struct dw_out;
void dw_saw_time__say(struct dw_buf *buf, const struct dw_job *job, const struct dw_saw_time *time);
/* Member "saw time" of an answer; none where no time is known. */
void dw_saw_time__put(struct dw_out *out, const struct dw_job *job, const struct dw_plan *plan);
void dw_material__say(struct dw_buf *buf, const struct dw_material *material);
/* The same two alone, each after a comma; `name` is what stands before them. */
void dw_material__say_make(struct dw_buf *buf, const struct dw_material *material,
                           const char *name);

/* What is wrong with quote terms, whether the job holds them or not. Errors as dw_terms_check. */
dw_err dw_terms__check_quote(const struct dw_job *job, const struct dw_quote_terms *terms,
                             struct dw_report *report, struct dw_error *error);

/* An ISO 8601 calendar date `2026-03-01`, proleptic Gregorian; false if it is none. */
bool dw_date__check(const char *text);
/* Days from 1970-01-01; false if it is no date. */
bool dw_date__number(const char *text, int64_t *day);
#define DW_DATE_TEXT 16
/* The date `days` after a valid one. false outside the years 1 to 9999. */
bool dw_date__add(const char *text, int64_t days, char out[DW_DATE_TEXT]);
/* Days from one date to another; negative backwards. false: one of them is no date. */
bool dw_date__days(const char *from, const char *to, int64_t *days);

/* How the job's bars of an end-bent material are bent; NULL: it has none. */
const struct dw_supply *dw_job__bent(const struct dw_job *job, size_t material);

/* What is doubtful in a tube's size, as a forgotten unit makes it: "a wall under 0.3 mm"; NULL:
 * nothing.
 */
const char *dw_material__doubt(const struct dw_material *material);

/* The keeping length of a shop that says none. */
dw_length dw_worth__usual_keep(bool inches);

#endif
