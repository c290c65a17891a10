/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A job and a plan made by hand, for papers to be drawn from. */
#ifndef TESTS_PAPER_JOB_H
#define TESTS_PAPER_JOB_H

#include <dropwise/plan.h>

struct paper_job {
    struct dw_job *job;
    struct dw_plan *plan;
};

/* A steelpan trio's rack: two new bars alike, an offcut, one bar with a long name in other scripts.
 * Aborts the test on lack of memory. */
struct paper_job paper_job_small(void);
/* The same with mitres, a notch, a bend, an end-bent bar, 40 bars of a kind, two clients and long
 * texts. */
struct paper_job paper_job_worked(void);
/* One 12 m bar that gives `pieces` pieces of 20 mm, each its own part if `own_rows`. */
struct paper_job paper_job_many(int64_t pieces, bool own_rows);
/* `bars` layouts of five pieces each. */
struct paper_job paper_job_bars(size_t bars);
/* No layout at all. */
struct paper_job paper_job_empty(void);
void paper_job_free(struct paper_job *paper);

#endif
