/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A job made and freed, its memory, and how it prints a length. */
#include "model/model.h"
#include "base/base.h"

#include <stdlib.h>
#include <string.h>

dw_err dw_job_new(struct dw_job **out, struct dw_error *error)
{
    *out = NULL;
    struct dw_job *job = calloc(1, sizeof *job);
    if (!job)
        return dw_error__nomem(error);
    job->arena = dw_arena__new();
    if (!job->arena) {
        free(job);
        return dw_error__nomem(error);
    }
    job->unit = DW_UNIT_MM;
    job->rules.max_new_offcuts = DW_UNLIMITED;
    memcpy(job->currency, "XXX", 4);
    *out = job;
    return DW_OK;
}

void dw_job_free(struct dw_job *job)
{
    if (!job)
        return;
    dw_arena__free(job->arena);
    free(job);
}

void *dw_job_alloc(struct dw_job *job, size_t count, size_t size)
{
    return dw_arena__alloc(job->arena, count, size);
}

char *dw_job_text(struct dw_job *job, const char *text)
{
    return dw_arena__text(job->arena, text);
}

const struct dw_supply *dw_job__bent(const struct dw_job *job, size_t material)
{
    for (size_t i = 0; i < job->n_supplies; i++)
        if (job->supplies[i].material == material && job->supplies[i].bend > 0)
            return &job->supplies[i];
    return NULL;
}

bool dw_supply_squared(const struct dw_supply *supply, size_t end)
{
    bool bent = end == 0 && supply->bend > 0;
    return supply->trim > 0 && supply->ends[end] == DW_END_MILL && !bent;
}

int64_t dw_supply_squarings(const struct dw_supply *supply)
{
    return dw_supply_squared(supply, 0) + dw_supply_squared(supply, 1);
}

dw_length dw_supply_usable(const struct dw_supply *supply)
{
    dw_length length = supply->measured ? supply->measured : supply->length;
    return length - supply->trim * dw_supply_squarings(supply);
}

dw_money dw_supply_paid(const struct dw_supply *supply)
{
    return supply->brought ? supply->paid : supply->price;
}

const char *dw_counted_as_reason(enum dw_counted_as counted)
{
    static const char *const reasons[] = {
#define DW_COUNTED_REASON(name, word, reason) [name] = reason,
        DW_COUNTED_LIST(DW_COUNTED_REASON)
#undef DW_COUNTED_REASON
    };
    size_t i = (size_t)counted;
    return i < DW_COUNT(reasons) ? reasons[i] : "?";
}

struct dw_length_style dw_job__style(const struct dw_job *job)
{
    static const int decimals[] = {[DW_UNIT_NONE] = 2, [DW_UNIT_MM] = 2, [DW_UNIT_CM] = 3,
                                   [DW_UNIT_M] = 5,    [DW_UNIT_IN] = 4, [DW_UNIT_FT] = 4};
    enum dw_unit unit = job->unit == DW_UNIT_NONE ? DW_UNIT_MM : job->unit;
    return (struct dw_length_style){
        .unit = unit, .denominator = job->denominator, .decimals = decimals[unit]};
}
