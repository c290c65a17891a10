/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Face of format: jobs and plans as files. */
#ifndef DW_FORMAT_H
#define DW_FORMAT_H

#include <dropwise/files.h>

struct dw_out;

/* What a document says beside its plan. Any member may be NULL. */
struct dw_plan_beside {
    const struct dw_report *report;                     /* doubts on the job; cautions */
    void (*more)(struct dw_out *out, const void *user); /* puts members of its own */
    const void *user;
};

/* dw_plan_to_json with more beside the plan; `beside` may be NULL. */
dw_err dw_plan__to_json(const struct dw_job *job, const struct dw_plan *plan,
                        const struct dw_plan_beside *beside, char **text, struct dw_error *error);

#endif
