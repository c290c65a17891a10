/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From the drawing to the saw, job by job: cut lengths and how they came about, fittings, sections.
 *
 * Threads: any; the job is only read and may be shared. */
#ifndef DROPWISE_DRAWN_H
#define DROPWISE_DRAWN_H

#include <dropwise/limits.h>
#include <dropwise/takeoff.h>

#ifdef __cplusplus
extern "C" {
#endif

/* A part that is drawn, and how its cut length came about. */
struct dw_drawn_part {
    const char *label;
    int64_t count;
    dw_length cut;
    bool rounded;
    dw_length allowance;
    size_t n_steps;
    const struct dw_step *steps; /* length n_steps */
};

/* So many of a fitting for a client's job. */
struct dw_drawn_fitting {
    const char *job; /* NULL: it has no name */
    const char *id;
    const char *name; /* NULL = as id */
    int64_t count;
};

/* What a section comes to, and the limits that it passes, or for which that can't be judged. */
struct dw_drawn_section {
    const char *name; /* NULL: parts without a section */
    int64_t n_pieces;
    dw_length longest;
    int64_t weight_mg; /* -1 = not known */
    size_t n_over, n_unjudged;
    const char **over;     /* length n_over */
    const char **unjudged; /* length n_unjudged */
};

struct dw_drawn_sheet {
    const char *job; /* its name; NULL = it has none */
    size_t n_parts;
    struct dw_drawn_part *parts; /* length n_parts */
    size_t n_fittings;
    struct dw_drawn_fitting *fittings; /* length n_fittings, job by job */
    size_t n_sections;
    struct dw_drawn_section *sections; /* length n_sections */
    struct dw_limits *limits;
    struct dw_arena *arena;
};

/* Counts the fittings of each client's job and holds its sections against their limits; borrows
 * texts and steps from the job. Free in every case. Errors as dw_fittings_count and
 * dw_limits_check. */
dw_err dw_drawn_sheet_make(const struct dw_job *job, struct dw_drawn_sheet *out,
                           struct dw_error *error);
void dw_drawn_sheet_free(struct dw_drawn_sheet *sheet);

#ifdef __cplusplus
}
#endif
#endif
