/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Pieces of a shelf that a plan document brings along, in the job. */
#include "format/plan_json.h"

#include <string.h>

bool dw_plan__has_brought(const struct dw_job *job)
{
    bool has = false;
    for (size_t i = 0; i < job->n_supplies; i++)
        has = has || job->supplies[i].brought;
    return has;
}

/* false: no memory. */
static bool copy_texts(struct dw_job *job, struct dw_supply *supply)
{
    const char **texts[] = {&supply->id, &supply->place, &supply->owner, &supply->mark,
                            &supply->date};
    bool good = true;
    for (size_t k = 0; good && k < DW_COUNT(texts); k++)
        if (*texts[k]) {
            *texts[k] = dw_job_text(job, *texts[k]);
            good = *texts[k] != NULL;
        }
    return good;
}

bool dw_plan__append(struct dw_job *job, const struct dw_supply *rows, size_t n,
                     struct dw_error *error)
{
    size_t n_own = job->n_supplies;
    if (n > DW_MAX_ROWS || n_own + n > DW_MAX_ROWS) {
        dw_error__set(error, DW_ERR_LIMIT, "more than %d bars and offcuts", DW_MAX_ROWS);
        return false;
    }
    struct dw_supply *all = dw_job_alloc(job, n_own + n, sizeof *all);
    bool good = all != NULL;
    if (good && n_own)
        memcpy(all, job->supplies, n_own * sizeof *all);
    for (size_t i = 0; good && i < n; i++) {
        all[n_own + i] = rows[i];
        good = copy_texts(job, &all[n_own + i]);
    }
    if (!good) {
        dw_error__nomem(error);
        return false;
    }
    job->supplies = all;
    job->n_supplies = n_own + n;
    return true;
}
