/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What can be chosen from, and the choice as a record. */
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

#define IN_REPLIES INT64_MIN, INT64_MAX, NULL, DW_RECORD_ALL, DW_MEMBER_REST

#define AT(member) offsetof(struct dw_lengths, member)
static const struct dw_member lengths_members[] = {
    {"status", DW_VALUE_WORD, AT(status), 0, 0, &dw_status__words, DW_RECORD_ALL, DW_MEMBER_REST},
    {"jobs", DW_VALUE_COUNT, AT(n_jobs), IN_REPLIES},
    {"catalogue", DW_VALUE_INTEGER, AT(n_catalogue), IN_REPLIES},
    {"value", DW_VALUE_MONEY, AT(value), IN_REPLIES},
    {"bound", DW_VALUE_MONEY, AT(bound), IN_REPLIES},
    {"bought", DW_VALUE_LENGTH, AT(bought), IN_REPLIES},
    {"needed", DW_VALUE_LENGTH, AT(needed), IN_REPLIES},
    {"sets", DW_VALUE_INTEGER, AT(n_sets), IN_REPLIES},
    {"solved", DW_VALUE_INTEGER, AT(n_solved), IN_REPLIES},
};
const struct dw_member_table dw_lengths__members = {lengths_members, DW_COUNT(lengths_members)};
#undef AT

#define AT(member) offsetof(struct dw_lengths_use, member)
static const struct dw_member use_members[] = {
    {"supply", DW_VALUE_SUPPLY, AT(supply), IN_REPLIES},
    {"bars", DW_VALUE_INTEGER, AT(bars), IN_REPLIES},
    {"jobs", DW_VALUE_INTEGER, AT(n_jobs), IN_REPLIES},
    {"money", DW_VALUE_MONEY, AT(money), IN_REPLIES},
};
const struct dw_member_table dw_lengths_use__members = {use_members, DW_COUNT(use_members)};

void dw_lengths__record(const struct dw_record_out *to, const char *key, size_t material,
                        const struct dw_lengths *lengths)
{
    struct dw_out *out = to->out;
    dw_out__open(out, key, '{');
    dw_out__text(out, "material", to->job->materials[material].id);
    dw_out__text(out, "name", to->job->materials[material].name);
    dw_record__put(to, &dw_lengths__members, lengths);
    dw_out__open(out, "carry", '[');
    for (size_t i = 0; i < lengths->n_uses; i++) {
        dw_out__open(out, NULL, '{');
        dw_record__put(to, &dw_lengths_use__members, &lengths->uses[i]);
        dw_out__length(out, "length", to->job->supplies[lengths->uses[i].supply].length);
        dw_out__close(out, '{');
    }
    dw_out__close(out, '[');
    dw_out__close(out, '{');
}
