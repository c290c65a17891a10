/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A job made and freed, its memory, and how it prints a length. */
#include "model/model.h"
#include "base/base.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

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
    job->rules.most_pieces = DW_UNLIMITED;
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

dw_length dw_supply_tail(const struct dw_saw *saw, const struct dw_supply *supply)
{
    bool nominal = supply->source != DW_SOURCE_OFFCUT && supply->measured == 0;
    dw_length least = nominal ? saw->end_allowance : 0;
    return saw->grip > least ? saw->grip : least;
}

dw_money dw_supply_handling(const struct dw_saw *saw, const struct dw_supply *supply)
{
    return supply->source == DW_SOURCE_OFFCUT ? saw->offcut_cost : saw->bar_cost;
}

dw_length dw_supply_usable(const struct dw_supply *supply)
{
    dw_length length = supply->measured ? supply->measured : supply->length;
    return length - supply->trim * dw_supply_squarings(supply);
}

dw_money dw_supply_paid(const struct dw_supply *supply)
{
    bool booked = supply->brought || supply->raised;
    return booked ? supply->paid : supply->by_rules ? 0 : supply->price;
}

const char *dw_supply_paid_from(const struct dw_supply *supply)
{
    if (supply->source == DW_SOURCE_NEW)
        return "price in the job file";
    if (supply->brought && supply->owner)
        return "the client's own";
    if (supply->brought)
        return supply->paid_from ? supply->paid_from : "by the shelf's book";
    return supply->by_rules ? "no book value is given" : "given in the job file";
}

const char *dw_supply_reason(const struct dw_supply *supply)
{
    if (supply->source == DW_SOURCE_NEW || dw_supply_paid(supply) == supply->price)
        return NULL;
    return dw_counted_as_reason(supply->brought ? supply->counted : DW_COUNTED_FLOOR);
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

/* Does the name have the word, not as a part of a longer one? */
static bool names(const char *name, const char *word)
{
    size_t n = strlen(word);
    for (const char *at = name; *at; at++) {
        bool begins = at == name || !isalnum((unsigned char)at[-1]);
        if (begins && strncasecmp(at, word, n) == 0 && !isalnum((unsigned char)at[n]))
            return true;
    }
    return false;
}

void dw_material__say_make(struct dw_buf *buf, const struct dw_material *material, const char *name)
{
    const char *const words[] = {material->alloy, material->finish};
    for (size_t i = 0; i < DW_COUNT(words); i++)
        if (words[i] && !names(name, words[i]))
            dw_buf__format(buf, ", %s", words[i]);
}

void dw_material__say(struct dw_buf *buf, const struct dw_material *material)
{
    const char *name = material->name ? material->name : material->id;
    dw_buf__put(buf, name);
    dw_material__say_make(buf, material, name);
}

struct dw_length_style dw_job__style(const struct dw_job *job)
{
    static const int decimals[] = {[DW_UNIT_NONE] = 2, [DW_UNIT_MM] = 2, [DW_UNIT_CM] = 3,
                                   [DW_UNIT_M] = 5,    [DW_UNIT_IN] = 4, [DW_UNIT_FT] = 4};
    enum dw_unit unit = job->unit == DW_UNIT_NONE ? DW_UNIT_MM : job->unit;
    return (struct dw_length_style){
        .unit = unit, .denominator = job->denominator, .decimals = decimals[unit]};
}
