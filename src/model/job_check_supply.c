/* SPDX-License-Identifier: GPL-3.0-or-later */
/* dw_job_check of supplies: bars, prices, packs, bends. */
#include "model/check.h"

#include <stdlib.h>
#include <string.h>

/* A measured length that differs from the nominal by more than a twentieth is likely a slip: mill
 * tolerances are some millimetres on several metres. */
static void check_lengths(struct dw_check *check, const struct dw_supply *s)
{
    bool fine = dw_check__length_in(check, &s->at, "length", dw_check__name(s->id), s->length, 1,
                                    DW_LENGTH_MAX);
    fine &= dw_check__length_in(check, &s->at, "measured length", dw_check__name(s->id),
                                s->measured, 0, DW_LENGTH_MAX);
    fine &= dw_check__length_in(check, &s->at, "trim", dw_check__name(s->id), s->trim, 0,
                                DW_LENGTH_MAX);
    if (!fine)
        return;
    dw_length off = s->measured > s->length ? s->measured - s->length : s->length - s->measured;
    if (s->measured > 0 && off > s->length / 20)
        dw_check__say(check, DW_DOUBT, &s->at, "%s is %s long by name and %s as measured",
                      dw_check__name(s->id), dw_check__length(check, s->length).text,
                      dw_check__length(check, s->measured).text);
    if (dw_supply_usable(s) <= 0)
        dw_check__say(check, DW_WRONG, &s->at,
                      "the squaring trim of %s an end leaves nothing of %s; give less",
                      dw_check__length(check, s->trim).text, dw_check__name(s->id));
}

static void check_ends(struct dw_check *check, const struct dw_supply *s)
{
    for (int end = 0; end < 2; end++)
        if (s->ends[end] != DW_END_MILL && s->ends[end] != DW_END_SAWN)
            dw_check__say(check, DW_WRONG, &s->at, "an end of %s is neither as milled nor sawn",
                          dw_check__name(s->id));
    if (s->source != DW_SOURCE_NEW && s->source != DW_SOURCE_SHELF && s->source != DW_SOURCE_OFFCUT)
        dw_check__say(check, DW_WRONG, &s->at, "%s is no new bar, shelf bar or offcut",
                      dw_check__name(s->id));
}

static void check_count(struct dw_check *check, const struct dw_supply *s)
{
    bool held = s->source != DW_SOURCE_NEW;
    if (s->count < 0 && s->count != DW_UNLIMITED)
        dw_check__say(check, DW_WRONG, &s->at, "%s has a count of %lld; give 0 or more",
                      dw_check__name(s->id), (long long)s->count);
    else if (s->count == 0 && s->usage != DW_USAGE_NO)
        dw_check__say(check, DW_DOUBT, &s->at, "there is none of %s: it is not used",
                      dw_check__name(s->id));
    else if (s->count == DW_UNLIMITED && held)
        dw_check__say(check, DW_DOUBT, &s->at,
                      "%s lies on the shelf without a count and is taken to be unlimited",
                      dw_check__name(s->id));
    if (s->pack < 1 || s->pack > DW_MAX_PIECES)
        dw_check__say(check, DW_WRONG, &s->at, "%s comes in packs of %lld; give 1 to %lld",
                      dw_check__name(s->id), (long long)s->pack, (long long)DW_MAX_PIECES);
    else if (held && s->pack > 1)
        dw_check__say(check, DW_WRONG, &s->at, "%s is on the shelf: packs are for new bars only",
                      dw_check__name(s->id));
    else if (s->count > 0 && s->count % s->pack != 0)
        dw_check__say(check, DW_DOUBT, &s->at,
                      "%lld of %s are no whole packs of %lld: only whole packs are bought",
                      (long long)s->count, dw_check__name(s->id), (long long)s->pack);
}

static void check_break(struct dw_check *check, const struct dw_supply *s, size_t i)
{
    const struct dw_price_break *row = &s->breaks[i];
    int64_t from_before = i > 0 ? row[-1].from : 1;
    dw_money price_before = i > 0 ? row[-1].price : s->price;
    if (row->from <= from_before || row->from > DW_MAX_PIECES)
        dw_check__say(check, DW_WRONG, &s->at,
                      "a price break of %s is from %lld bars on; it must increase, from 2 to %lld",
                      dw_check__name(s->id), (long long)row->from, (long long)DW_MAX_PIECES);
    if (dw_check__money_in(check, &s->at, "break price", dw_check__name(s->id), row->price) &&
        price_before >= 0 && row->price >= price_before)
        dw_check__say(check, DW_WRONG, &s->at,
                      "from %lld bars on %s costs %s, no less than before; prices must decrease",
                      (long long)row->from, dw_check__name(s->id),
                      dw_check__money(check, row->price).text);
    if (s->count >= 0 && row->from > s->count)
        dw_check__say(check, DW_DOUBT, &s->at,
                      "the price of %s from %lld bars on is out of reach: there are %lld",
                      dw_check__name(s->id), (long long)row->from, (long long)s->count);
}

static void check_money(struct dw_check *check, const struct dw_supply *s)
{
    bool held = s->source != DW_SOURCE_NEW;
    const char *what = held ? "book value" : "price";
    if (dw_check__money_in(check, &s->at, what, dw_check__name(s->id), s->price) && s->price == 0 &&
        !held)
        dw_check__say(check, DW_DOUBT, &s->at, "a new bar of %s costs nothing",
                      dw_check__name(s->id));
    if (s->source == DW_SOURCE_SHELF && s->price == 0 &&
        (!s->owner || strcmp(s->owner, "shop") == 0))
        dw_check__say(check, DW_DOUBT, &s->at,
                      "%s is a whole bar at book value 0: a plan takes bars that cost nothing "
                      "rather than fill others; say what was paid",
                      dw_check__name(s->id));
    if (held && s->n_breaks > 0)
        dw_check__say(check, DW_WRONG, &s->at,
                      "%s is on the shelf: price breaks are for new bars only",
                      dw_check__name(s->id));
    if (s->n_breaks > DW_MAX_BREAKS)
        dw_check__say(check, DW_WRONG, &s->at, "%s has %zu price breaks; the most is %d",
                      dw_check__name(s->id), s->n_breaks, DW_MAX_BREAKS);
    for (size_t i = 0; i < s->n_breaks && s->n_breaks <= DW_MAX_BREAKS; i++)
        check_break(check, s, i);
}

static void check_tail(struct dw_check *check, const struct dw_supply *s)
{
    const struct dw_job *job = check->job;
    const struct dw_material *bent = &job->materials[s->material];
    if (s->tail_material >= job->n_materials || s->tail_material == s->material) {
        dw_check__say(check, DW_WRONG, &s->at,
                      "end-bent bar %s names no material that its straight tail is of",
                      dw_check__name(s->id));
        return;
    }
    const struct dw_material *tail = &job->materials[s->tail_material];
    if (tail->end_bent || tail->radius > 0)
        dw_check__say(check, DW_WRONG, &s->at, "the tail of %s is of %s, which is not straight",
                      dw_check__name(s->id), dw_check__name(tail->id));
    if ((bent->od > 0 && tail->od > 0 && bent->od != tail->od) ||
        (bent->wall > 0 && tail->wall > 0 && bent->wall != tail->wall))
        dw_check__say(check, DW_DOUBT, &s->at,
                      "the tail of %s has another diameter or wall than %s", dw_check__name(s->id),
                      dw_check__name(bent->id));
}

static void check_bend(struct dw_check *check, const struct dw_supply *s)
{
    const struct dw_material *m = &check->job->materials[s->material];
    if (!dw_check__length_in(check, &s->at, "bend", dw_check__name(s->id), s->bend, 0,
                             DW_LENGTH_MAX))
        return;
    if (s->bend == 0 && m->end_bent)
        dw_check__say(check, DW_WRONG, &s->at, "%s is of end-bent %s; say how long its bend is",
                      dw_check__name(s->id), dw_check__name(m->id));
    if (s->bend == 0 && s->tail_material != DW_NONE)
        dw_check__say(check, DW_WRONG, &s->at, "%s has a tail material but no bend",
                      dw_check__name(s->id));
    if (s->bend == 0)
        return;
    if (!m->end_bent)
        dw_check__say(check, DW_WRONG, &s->at, "%s has a bend, but its material %s is not end-bent",
                      dw_check__name(s->id), dw_check__name(m->id));
    if (s->bend > dw_supply_usable(s))
        dw_check__say(check, DW_WRONG, &s->at, "the bend of %s takes %s, the bar has only %s",
                      dw_check__name(s->id), dw_check__length(check, s->bend).text,
                      dw_check__length(check, dw_supply_usable(s)).text);
    check_tail(check, s);
}

void dw_check__supplies(struct dw_check *check)
{
    const struct dw_job *job = check->job;
    struct dw_check_id *ids = calloc(job->n_supplies + 1, sizeof *ids);
    if (!ids) {
        check->err = DW_ERR_NOMEM;
        return;
    }
    for (size_t i = 0; i < job->n_supplies; i++) {
        const struct dw_supply *s = &job->supplies[i];
        ids[i] = (struct dw_check_id){.id = s->id, .at = &s->at, .index = i};
        check_lengths(check, s);
        check_ends(check, s);
        check_count(check, s);
        check_money(check, s);
        if (s->material < job->n_materials)
            check_bend(check, s);
        else
            dw_check__say(check, DW_WRONG, &s->at, "%s is of no material of the job",
                          dw_check__name(s->id));
    }
    dw_check__ids(check, "supply", ids, job->n_supplies);
    free(ids);
}
