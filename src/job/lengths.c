/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "job/lengths.h"

bool dw_lengths__choosable(const struct dw_job *job, size_t material)
{
    bool bars = false;
    bool parts = false;
    for (size_t i = 0; i < job->n_supplies; i++) {
        const struct dw_supply *supply = &job->supplies[i];
        bars |= supply->material == material && supply->source == DW_SOURCE_NEW && !supply->bend;
    }
    for (size_t i = 0; i < job->n_parts; i++)
        parts |= !job->parts[i].post && job->parts[i].materials[0] == material;
    return bars && parts;
}
