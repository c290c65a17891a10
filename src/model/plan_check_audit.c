/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What all stages of dw_plan_check ask: what was found wrong, whether it is late, what belongs
 * together. */
#include "model/plan_check.h"

#include <stdarg.h>
#include <stdio.h>

void dw_audit__wrong(struct dw_audit *audit, const char *format, ...)
{
    char text[sizeof((struct dw_error *)0)->text];
    va_list args;
    va_start(args, format);
    vsnprintf(text, sizeof text, format, args);
    va_end(args);
    dw_check__say(&audit->say, DW_WRONG, NULL, "%s", text);
}

size_t dw_audit__n_wrong(const struct dw_audit *audit)
{
    return audit->say.report->n_wrong;
}

bool dw_audit__late(const struct dw_audit *audit)
{
    return audit->patience && audit->patience->late(audit->patience->user);
}

size_t dw_audit__group_of_supply(const struct dw_audit *audit, const struct dw_supply *supply)
{
    return audit->group_of[supply->material];
}

size_t dw_audit__group_of_part(const struct dw_audit *audit, const struct dw_part *part)
{
    return audit->group_of[part->materials[0]];
}

bool dw_audit__accepts(const struct dw_part *part, size_t material)
{
    for (size_t i = 0; i < part->n_materials; i++)
        if (part->materials[i] == material)
            return true;
    return false;
}

bool dw_audit__middling(const struct dw_audit *audit, size_t material, dw_length leftover)
{
    const struct dw_rules *rules = &audit->job->rules;
    return rules->no_middling && leftover > rules->scrap_max &&
           leftover < audit->job->materials[material].worth.keep;
}
