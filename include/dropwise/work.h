/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The way of a job, each step as one call: load and check, outline, plan, verify, cure.
 *
 * A face (command line, browser page, a program of one's own) reads what the user asked for, calls
 * one of these, and shows what comes back. Nothing here prints, reads a clock or the environment.
 *
 * Threads: a job that is loaded or verified here belongs to one thread meanwhile; one that is
 * const may be shared. Searches work on threads of their own, see solve.h. */
#ifndef DROPWISE_WORK_H
#define DROPWISE_WORK_H

#include <dropwise/files.h>
#include <dropwise/solve.h>

#ifdef __cplusplus
extern "C" {
#endif

/* --- load ---------------------------------------------------------------------------------- */

/* Where a document comes from: the file at `path`, or, with a text, that text under the name
 * `path`; `folder` is then where the files that it names lie (NULL: it may name none). */
struct dw_job_source {
    const char *path;
    const char *text;
    size_t n;
    const char *folder;
};

/* Reads and checks a job. Errors as dw_job_read: with DW_ERR_INPUT the report says all. A limit of
 * a section that the parts pass as they are given, or that can't be judged, is a doubt at the
 * section's place. DW_ERR_RANGE: a section heavier than can be counted. */
dw_err dw_job_load(const struct dw_job_source *source, struct dw_job **out,
                   struct dw_report *report, struct dw_error *error);

/* --- outline: what was understood ------------------------------------------------------------ */

/* Materials that are planned together, since a part accepts several or an end-bent bar links
 * them. Lengths count every piece; the least bars follow from the longest bar alone. */
struct dw_job_group {
    int64_t n_parts;    /* pieces that are needed */
    int64_t n_posts;    /* pieces that would be useful */
    dw_length net;      /* sum of the parts at their least length */
    dw_length longest;  /* usable length of the longest bar; 0 = there is none */
    int64_t least_bars; /* no plan has fewer; 0 if there is no bar */
};

struct dw_job_outline {
    size_t n_groups;
    struct dw_job_group *groups; /* length n_groups */
    size_t *group_of;            /* length n_materials: the group of a material */
    int64_t n_parts;
    int64_t n_posts;
    dw_length net;
};

/* Cost: O(materials + supplies + parts). DW_ERR_NOMEM, DW_ERR_RANGE. Free in every case. */
dw_err dw_job_outline_make(const struct dw_job *job, struct dw_job_outline *outline,
                           struct dw_error *error);
void dw_job_outline_free(struct dw_job_outline *outline);

/* --- plan ------------------------------------------------------------------------------------ */

struct dw_job_request {
    struct dw_settings settings;
    struct dw_hooks hooks;
    const char *path; /* where the plan document goes; NULL = nowhere */
    bool replace;     /* an existing file may be replaced */
};

/* Solves. A path that can't be written is refused before the work starts; nothing is written yet.
 * *out is yours also if it is infeasible. Errors as dw_solve. */
dw_err dw_job_plan(const struct dw_job *job, const struct dw_job_request *request,
                   struct dw_plan **out, struct dw_error *error);

/* Refuses early what the writing of a plan would refuse after the work: a folder, a file that
 * exists and is not to be replaced, a folder that is not there or can't be written to. */
dw_err dw_job_target(const char *path, bool replace, struct dw_error *error);

/* Writes the plan document where the request wants it, once all else that can fail is done; nothing
 * for an infeasible job or without a path. Errors as dw_plan_write. */
dw_err dw_job_put_plan(const struct dw_job *job, const struct dw_job_request *request,
                       const struct dw_plan *plan, struct dw_error *error);

/* --- verify ---------------------------------------------------------------------------------- */

/* Reads a plan and re-derives it from the job by the independent verifier. The job gets the pieces
 * of a shelf that the document brings along (dw_plan_bring). DW_ERR_CHECK: every
 * difference is in the report; *out is then the plan nevertheless. *proven, unless NULL is passed:
 * what was proved, NULL on error. */
dw_err dw_job_verify(struct dw_job *job, const struct dw_job_source *source, struct dw_plan **out,
                     struct dw_plan_proven **proven, struct dw_report *report,
                     struct dw_error *error);

/* --- cure: what would make an infeasible job feasible ----------------------------------------- */

enum dw_cure_kind {
    DW_CURE_LONGER, /* a bar with a usable length of at least `length` in `material` */
    DW_CURE_MORE,   /* `count` more bars of `supply` */
    DW_CURE_ANY,    /* bars of `material` for `count` more pieces, the longest `length` */
    DW_CURE_RULE,   /* without the rule `longest scrap`: a plan at `money`, which leaves `length` */
};

struct dw_cure {
    enum dw_cure_kind kind;
    size_t material; /* DW_CURE_LONGER, DW_CURE_ANY */
    size_t supply;   /* DW_CURE_MORE */
    dw_length length;
    int64_t count;
    dw_money money; /* DW_CURE_RULE */
};

/* Lists the cures for the shortages of `plan`; *cures is yours to free with
 * dw_free. Where the rule of the longest scrap alone forbids a plan, that is said and nothing else.
 * More bars are found by
 * planning once more with the counts of bars lifted, greedily. Errors as dw_solve. */
dw_err dw_job_cure(const struct dw_job *job, const struct dw_plan *plan,
                   const struct dw_hooks *hooks, struct dw_cure **cures, size_t *n_cures,
                   struct dw_error *error);

/* Whether a bar or offcut that is not to be used could give the part. */
bool dw_job_barred(const struct dw_job *job, size_t part);

/* Least usable length of a bar from which a piece of `length` can be cut. */
dw_length dw_job_need(const struct dw_job *job, dw_length length);

#ifdef __cplusplus
}
#endif
#endif
