/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a section of the job weighs and measures, and what it may not exceed.
 *
 * Threads: any; job and plan are only read and may be shared. */
#ifndef DROPWISE_LIMITS_H
#define DROPWISE_LIMITS_H

#include <dropwise/plan.h>
#include <dropwise/terms.h>

#ifdef __cplusplus
extern "C" {
#endif

/* What one section is made of. With a plan, parts weigh by the material and length they are cut
 * in; without, by the first material they accept. */
struct dw_section_load {
    const char *name; /* NULL: parts without a section */
    size_t row;       /* index into job->sections, DW_NONE = no limits given */
    int64_t n_pieces;
    dw_length longest;
    size_t longest_part;
    int64_t weight_mg; /* tube and added_mg; -1 = not known */
    size_t unweighed;  /* the first material whose weight is not known; DW_NONE = weight_mg is */
};

/* A limit that is passed, or (DW_LIMIT_WEIGHT) that can't be judged. */
enum dw_section_limit {
    DW_LIMIT_LONGEST,
    DW_LIMIT_WEIGHT,
    DW_LIMIT_DOOR,
    DW_LIMIT_VAN,
    DW_LIMIT_RISER
};

struct dw_breach {
    enum dw_section_limit limit;
    size_t section;   /* index into dw_limits.loads */
    size_t part;      /* DW_LIMIT_LONGEST: which part; else DW_NONE */
    int64_t by;       /* nanometres or milligrams too much; 0 = can't be judged */
    const char *text; /* one line for a person */
};

struct dw_limits {
    size_t n_loads;
    struct dw_section_load *loads; /* length n_loads, in order of first appearance */
    size_t n_breaches;
    struct dw_breach *breaches; /* length n_breaches */
    struct dw_arena *arena;
};

/* Loads and breaches of a job; plan may be NULL. A box passes a door when its two smaller sides
 * fit the opening, lies in a van when its sorted sides fit, stands on a riser when its length and
 * width fit either way round. Cost: O(parts + pieces). */
dw_err dw_limits_check(const struct dw_job *job, const struct dw_plan *plan, struct dw_limits **out,
                       struct dw_error *error);
void dw_limits_free(struct dw_limits *limits);

#ifdef __cplusplus
}
#endif
#endif
