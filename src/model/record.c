/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Writes the records of a job and a plan from their tables of members. */
#include "model/record.h"

#include <dropwise/terms.h>
#include <dropwise/weight.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* {"index": 3, "id": "T32 6 m"} */
static void put_reference(struct dw_out *out, const char *key, size_t index, const char *name,
                          const char *text)
{
    dw_out__open(out, key, '{');
    dw_out__int(out, "index", (int64_t)index);
    dw_out__text(out, name, text);
    dw_out__close(out, '{');
}

static void put_index(const struct dw_record_out *to, const char *key, enum dw_value_kind kind,
                      size_t index)
{
    const struct dw_job *job = to->job;
    if (index == DW_NONE)
        dw_out__null(to->out, key);
    else if (kind == DW_VALUE_GROUP || kind == DW_VALUE_GROUP_OR_NONE)
        dw_out__int(to->out, key, (int64_t)index);
    else if (kind == DW_VALUE_SUPPLIER)
        put_reference(to->out, key, index, "name", job->suppliers[index].name);
    else if (kind == DW_VALUE_SUPPLY)
        put_reference(to->out, key, index, "id", job->supplies[index].id);
    else if (kind == DW_VALUE_MATERIAL)
        put_reference(to->out, key, index, "id", job->materials[index].id);
    else if (kind == DW_VALUE_PART)
        put_reference(to->out, key, index, "label", job->parts[index].label);
    else
        put_reference(to->out, key, index, "name", job->orders[index].name);
}

static void put_angle(struct dw_out *out, const char *key, int64_t udeg)
{
    char degrees[DW_ANGLE_TEXT];
    dw_angle__print(degrees, udeg);
    dw_out__text(out, key, degrees);
}

static void put_kilos(struct dw_out *out, const char *key, int64_t mg)
{
    char text[DW_WEIGHT_TEXT];
    if (mg < 0)
        dw_out__null(out, key);
    else if (dw_weight_print(text, mg, out->style.unit) > 0)
        dw_out__text(out, key, text);
}

/* Parts per million as per cent, with all decimals that there are. */
static void put_rate(struct dw_out *out, const char *key, int64_t ppm)
{
    char text[40];
    int n = snprintf(text, sizeof text, "%" PRId64 ".%04" PRId64, ppm / 10000, ppm % 10000);
    while (n > 0 && text[n - 1] == '0')
        n--;
    n -= n > 0 && text[n - 1] == '.';
    snprintf(text + n, sizeof text - (size_t)n, " %%");
    dw_out__text(out, key, ppm < 0 ? NULL : text);
}

static void put_list(const struct dw_record_out *to, const struct dw_member *member,
                     const void *row, const void *at)
{
    const struct dw_member_list *list = member->list;
    size_t n = *(const size_t *)((const char *)row + list->n_offset);
    if (member->kind == DW_VALUE_ROWS) {
        dw_record__rows(to, member->name, &list->rows, *(const void *const *)at, n, list->size);
        return;
    }
    const char *const *texts = *(const char *const *const *)at;
    dw_out__open(to->out, member->name, '[');
    for (size_t i = 0; i < n; i++)
        dw_out__text(to->out, NULL, texts[i]);
    dw_out__close(to->out, '[');
}

/* What is written and never read. */
static void put_written(const struct dw_record_out *to, const struct dw_member *member,
                        const void *row, const void *at)
{
    struct dw_out *out = to->out;
    int64_t value = 0;
    switch (member->kind) {
    case DW_VALUE_ID:
        dw_out__text(out, member->name, to->job->supplies[*(const size_t *)at].id);
        break;
    case DW_VALUE_TEXTS:
    case DW_VALUE_ROWS:
        put_list(to, member, row, at);
        break;
    case DW_VALUE_RATE:
        put_rate(out, member->name, *(const int64_t *)at);
        break;
    case DW_VALUE_KILOS:
        put_kilos(out, member->name, *(const int64_t *)at);
        break;
    default: /* a length or a weight that may not be there */
        value = *(const int64_t *)at;
        if (value <= 0 && !(member->kind == DW_VALUE_WEIGHT && value == 0))
            dw_out__null(out, member->name);
        else if (member->kind == DW_VALUE_WEIGHT)
            dw_out__int(out, member->name, value);
        else
            dw_out__length(out, member->name, value);
    }
}

static void put_member(const struct dw_record_out *to, const struct dw_member *member,
                       const void *row)
{
    struct dw_out *out = to->out;
    const void *at = (const char *)row + member->offset;
    switch (member->kind) {
    case DW_VALUE_INTEGER:
        dw_out__int(out, member->name, *(const int64_t *)at);
        break;
    case DW_VALUE_COUNT:
        dw_out__int(out, member->name, (int64_t) * (const size_t *)at);
        break;
    case DW_VALUE_LENGTH:
        dw_out__length(out, member->name, *(const dw_length *)at);
        break;
    case DW_VALUE_MONEY:
        dw_out__money(out, member->name, *(const dw_money *)at);
        break;
    case DW_VALUE_WORD:
        dw_out__text(out, member->name, member->words->words[*(const unsigned *)at]);
        break;
    case DW_VALUE_YES:
        dw_out__yes(out, member->name, *(const bool *)at);
        break;
    case DW_VALUE_ANGLE:
        put_angle(out, member->name, *(const int64_t *)at);
        break;
    case DW_VALUE_TEXT:
        dw_out__text(out, member->name, *(const char *const *)at);
        break;
    default:
        if (member->kind >= DW_VALUE_ID)
            put_written(to, member, row, at);
        else
            put_index(to, member->name, member->kind, *(const size_t *)at);
    }
}

void dw_record__put(const struct dw_record_out *to, const struct dw_member_table *table,
                    const void *row)
{
    for (size_t i = 0; i < table->n; i++) {
        const struct dw_member *member = &table->members[i];
        if (member->since <= to->version && !(member->inside && to->client))
            put_member(to, member, row);
    }
}

static bool is_said(const struct dw_member *member, const void *at)
{
    switch (member->kind) {
    case DW_VALUE_TEXT:
        return *(const char *const *)at != NULL;
    case DW_VALUE_YES:
        return *(const bool *)at;
    case DW_VALUE_LENGTH:
    case DW_VALUE_ANGLE:
        return *(const int64_t *)at != 0;
    default:
        return true;
    }
}

void dw_record__said(const struct dw_record_out *to, const struct dw_member_table *table,
                     const void *row, const char *but)
{
    for (size_t i = 0; i < table->n; i++) {
        const struct dw_member *member = &table->members[i];
        const char *at = (const char *)row + member->offset;
        if (member->since <= to->version && is_said(member, at) &&
            !(but && strcmp(member->name, but) == 0))
            put_member(to, member, row);
    }
}

void dw_record__object(const struct dw_record_out *to, const char *key,
                       const struct dw_member_table *table, const void *row)
{
    dw_out__open(to->out, key, '{');
    dw_record__put(to, table, row);
    dw_out__close(to->out, '{');
}

void dw_record__rows(const struct dw_record_out *to, const char *key,
                     const struct dw_member_table *table, const void *rows, size_t n, size_t size)
{
    dw_out__open(to->out, key, '[');
    for (size_t i = 0; i < n; i++)
        dw_record__object(to, NULL, table, (const char *)rows + i * size);
    dw_out__close(to->out, '[');
}

static void put_materials(const struct dw_record_out *to, const size_t *materials, size_t n)
{
    dw_out__open(to->out, "materials", '[');
    for (size_t i = 0; i < n; i++)
        put_index(to, NULL, DW_VALUE_MATERIAL, materials[i]);
    dw_out__close(to->out, '[');
}

const char dw_record__paid_from[] = "paid from";

void dw_record__supply(const struct dw_record_out *to, const char *key,
                       const struct dw_supply *supply)
{
    dw_out__open(to->out, key, '{');
    dw_record__put(to, &dw_supply__members, supply);
    if (supply->paid_from)
        dw_out__text(to->out, dw_record__paid_from, supply->paid_from);
    if (to->version == DW_RECORD_ALL)
        dw_record__rows(to, "price breaks", &dw_price_break__members, supply->breaks,
                        supply->n_breaks, sizeof *supply->breaks);
    dw_out__close(to->out, '{');
}

void dw_record__rest_part(const struct dw_record_out *to, size_t i)
{
    const struct dw_part *part = &to->job->parts[i];
    const struct dw_rest_part row = {i, part->count, part->measured};
    const struct dw_member_table others = {dw_rest_part__members.members + 1,
                                           dw_rest_part__members.n - 1};
    dw_out__open(to->out, NULL, '{');
    put_reference(to->out, dw_rest_part__members.members[0].name, to->job->part_of[i], "label",
                  part->label);
    dw_record__put(to, &others, &row);
    dw_out__close(to->out, '{');
}

void dw_record__part(const struct dw_record_out *to, const char *key, const struct dw_part *part)
{
    dw_out__open(to->out, key, '{');
    dw_record__put(to, &dw_part__members, part);
    put_materials(to, part->materials, part->n_materials);
    dw_out__close(to->out, '{');
}

/* Without them, both ends are cut square and meet no fitting. */
static void put_ends(const struct dw_record_out *to, const struct dw_saw_end ends[2])
{
    bool any = false;
    for (size_t e = 0; e < 2; e++)
        any = any || ends[e].shape != DW_SHAPE_SQUARE || ends[e].fitting;
    if (!any)
        return;
    dw_out__open(to->out, "ends", '[');
    for (size_t e = 0; e < 2; e++) {
        dw_out__open(to->out, NULL, '{');
        dw_record__said(to, &dw_saw_end__members, &ends[e],
                        ends[e].shape == DW_SHAPE_MITRE ? NULL : "point");
        dw_out__close(to->out, '{');
    }
    dw_out__close(to->out, '[');
}

static void put_bend(const struct dw_record_out *to, const struct dw_saw_piece *saw)
{
    if (saw->n_bends == 0)
        return;
    dw_out__open(to->out, "bend", '{');
    dw_record__rows(to, "bends", &dw_made_bend__members, saw->bends, saw->n_bends,
                    sizeof *saw->bends);
    dw_out__length(to->out, "last straight", saw->last_straight);
    dw_out__close(to->out, '{');
}

/* In the words of the cut sheet, where there are any. */
static void
put_words(const struct dw_record_out *to, const char *key, const struct dw_saw_piece *saw,
          void (*say)(struct dw_buf *, const struct dw_saw_piece *, const struct dw_length_style *))
{
    struct dw_buf buf = {0};
    say(&buf, saw, &to->out->style);
    if (buf.n > 0)
        dw_out__text(to->out, key, buf.text);
    to->out->buf->failed = to->out->buf->failed || buf.failed;
    dw_buf__free(&buf);
}

void dw_record__saw(const struct dw_record_out *to, const struct dw_saw_piece *saw)
{
    bool mitred = saw->ends[0].shape == DW_SHAPE_MITRE && saw->ends[1].shape == DW_SHAPE_MITRE;
    dw_record__said(to, &dw_saw_piece__members, saw, mitred ? NULL : "long points");
    put_ends(to, saw->ends);
    put_bend(to, saw);
    put_words(to, "work", saw, dw_saw__work);
    if (saw->measure_first)
        put_words(to, "measure", saw, dw_saw__planned_as);
}

static void put_pieces(const struct dw_record_out *to, const struct dw_layout *layout)
{
    struct dw_saw_piece *saw = calloc(layout->n_pieces + 1, sizeof *saw);
    if (!saw) {
        to->out->buf->failed = true;
        return;
    }
    dw_layout_saw(to->job, layout, saw);
    dw_out__open(to->out, "pieces", '[');
    for (size_t i = 0; i < layout->n_pieces; i++) {
        dw_out__open(to->out, NULL, '{');
        dw_record__put(to, &dw_piece__members, &layout->pieces[i]);
        dw_record__saw(to, &saw[i]);
        dw_out__close(to->out, '{');
    }
    dw_out__close(to->out, '[');
    free(saw);
}

void dw_record__layout(const struct dw_record_out *to, const char *key,
                       const struct dw_layout *layout)
{
    dw_out__open(to->out, key, '{');
    dw_record__put(to, &dw_layout__members, layout);
    put_pieces(to, layout);
    dw_out__close(to->out, '{');
}

static void put_certificate(const struct dw_record_out *to, const char *key,
                            const struct dw_certificate *certificate)
{
    dw_out__open(to->out, key, '{');
    dw_record__put(to, &dw_certificate__members, certificate);
    dw_out__open(to->out, "duals", '[');
    for (size_t i = 0; i < certificate->n_duals; i++) {
        struct dw_dual dual = {certificate->parts[i], certificate->duals[i]};
        dw_record__object(to, NULL, &dw_dual__members, &dual);
    }
    dw_out__close(to->out, '[');
    dw_out__close(to->out, '{');
}

static void put_group(const struct dw_record_out *to, const struct dw_group *group)
{
    dw_out__open(to->out, NULL, '{');
    dw_record__put(to, &dw_group__members, group);
    put_materials(to, group->materials, group->n_materials);
    put_certificate(to, "certificate", &group->certificate);
    dw_record__rows(to, "shortages", &dw_shortage__members, group->shortages, group->n_shortages,
                    sizeof *group->shortages);
    dw_out__close(to->out, '{');
}

/* What suppliers charge; a plan that nothing is charged for has no such member. */
static void put_charges(const struct dw_record_out *to, const struct dw_plan *plan)
{
    if (plan->n_charges == 0)
        return;
    dw_out__open(to->out, "order", '{');
    dw_record__put(to, &dw_order_totals__members, &plan->totals);
    dw_record__rows(to, "suppliers", &dw_charge__members, plan->charges, plan->n_charges,
                    sizeof *plan->charges);
    dw_out__close(to->out, '{');
}

void dw_record__plan(const struct dw_record_out *to, const struct dw_plan *plan)
{
    dw_record__put(to, &dw_plan__members, plan);
    dw_record__object(to, "totals", &dw_totals__members, &plan->totals);
    dw_record__rows(to, "takes", &dw_take__members, plan->takes, plan->n_takes,
                    sizeof *plan->takes);
    put_charges(to, plan);
    dw_out__open(to->out, "layouts", '[');
    for (size_t i = 0; i < plan->n_layouts; i++)
        dw_record__layout(to, NULL, &plan->layouts[i]);
    dw_out__close(to->out, '[');
    dw_out__open(to->out, "groups", '[');
    for (size_t i = 0; i < plan->n_groups; i++)
        put_group(to, &plan->groups[i]);
    dw_out__close(to->out, '[');
}

/* --- claimed and proved ------------------------------------------------------------------------
 */

static void put_proven(const struct dw_record_out *to, const dw_money *bound, bool settled)
{
    if (bound)
        dw_out__money(to->out, "proven bound", *bound);
    else
        dw_out__null(to->out, "proven bound");
    dw_out__yes(to->out, "settled", settled);
}

static void put_claim(const struct dw_record_out *to, const struct dw_group *group,
                      const struct dw_group_proven *proven)
{
    dw_out__open(to->out, NULL, '{');
    put_materials(to, group->materials, group->n_materials);
    dw_out__money(to->out, "value", group->value);
    dw_out__open(to->out, "claimed", '{');
    dw_out__text(to->out, "status", dw_status_word(group->status));
    dw_out__text(to->out, "proof", dw_proof_word(group->proof));
    dw_out__money(to->out, "bound", group->bound);
    dw_out__close(to->out, '{');
    put_proven(to, proven ? &proven->bound : NULL, proven && proven->settled);
    dw_out__close(to->out, '{');
}

void dw_record__proven(const struct dw_record_out *to, const struct dw_plan *plan,
                       const struct dw_plan_proven *proven)
{
    dw_out__open(to->out, "claimed", '{');
    dw_out__text(to->out, "status", dw_status_word(plan->status));
    dw_out__money(to->out, "bound", plan->bound);
    dw_out__close(to->out, '{');
    put_proven(to, proven ? &proven->bound : NULL, proven && proven->settled);
    dw_out__open(to->out, "groups", '[');
    for (size_t g = 0; g < plan->n_groups; g++)
        put_claim(to, &plan->groups[g], proven ? &proven->groups[g] : NULL);
    dw_out__close(to->out, '[');
}
