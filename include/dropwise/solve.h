/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From a job to a plan.
 *
 * Threads: any, several searches side by side too, also of one job, which is only read. A search
 * works on threads of its own, so that the caller's environment of GLPK is never touched; hooks
 * are called from these threads. */
#ifndef DROPWISE_SOLVE_H
#define DROPWISE_SOLVE_H

#include <dropwise/plan.h>

#ifdef __cplusplus
extern "C" {
#endif

/* X(type, name, default, least, most, help): the one list that the settings, their defaults, their
 * checks, the command's options, its help and the manual come from. */
#define DW_SETTING_LIST(X)                                                                         \
    X(int64_t, time_ms, 30000, 0, INT64_C(86400000),                                               \
      "stop after so long with the best plan so far; 0 = never")                                   \
    X(int64_t, work, 0, 0, INT64_MAX, "stop after so much work (repeatable); 0 = never")           \
    X(int64_t, threads, 0, 0, 256, "groups solved side by side; 0 = one a processor")              \
    X(int64_t, greedy, 0, 0, 1, "be content with the greedy plan")                                 \
    X(int64_t, few_layouts_ppm, 0, 0, 1000000, "money to give up for fewer layouts")

struct dw_settings {
#define DW_SETTING_FIELD(type, name, def, least, most, help) type name;
    DW_SETTING_LIST(DW_SETTING_FIELD)
#undef DW_SETTING_FIELD
};

void dw_settings_default(struct dw_settings *settings);
/* DW_ERR_RANGE with the rule that is broken. */
dw_err dw_settings_check(const struct dw_settings *settings, struct dw_error *error);

struct dw_progress {
    size_t groups_done;
    size_t n_groups;
    dw_money value; /* of the best plan so far, all groups */
    dw_money bound;
};

/* What the library may not take from its surroundings by itself. Any member may be NULL: then the
 * clock stands still, nothing stops, nothing is told. Called from several threads. */
struct dw_hooks {
    int64_t (*now_ms)(void *user);
    bool (*stop)(void *user);
    void (*progress)(void *user, const struct dw_progress *progress);
    void *user;
};

/* Plans a job that passed dw_job_check. The plan has passed dw_plan_check. An infeasible job is
 * no error: the plan says so, with the shortages. DW_ERR_NOMEM, DW_ERR_LIMIT, DW_ERR_SOLVER,
 * DW_ERR_CHECK. Same job, settings without time limit, no stop: the same plan, whatever threads
 * is. */
dw_err dw_solve(const struct dw_job *job, const struct dw_settings *settings,
                const struct dw_hooks *hooks, struct dw_plan **out, struct dw_error *error);

#ifdef __cplusplus
}
#endif
#endif
