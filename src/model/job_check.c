/* SPDX-License-Identifier: GPL-3.0-or-later */
/* dw_job_check: the driver, the saw, the rules, and the sizes of the whole. */
#include "model/check.h"

#include <assert.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void check_grounds(struct dw_check *check)
{
    const struct dw_job *job = check->job;
    if (job->unit <= DW_UNIT_NONE || job->unit > DW_UNIT_FT)
        dw_check__say(check, DW_WRONG, NULL, "the job has no unit; give mm, cm, m, in or ft");
    int d = job->denominator;
    if (d < 0 || d > 64 || (d & (d - 1)) != 0)
        dw_check__say(check, DW_WRONG, NULL,
                      "fractions of 1/%d in are not used; give 2, 4, 8, 16, 32 or 64", d);
    if (strcmp(job->currency, "XXX") != 0 && !dw_currency_find(job->currency))
        dw_check__say(check, DW_WRONG, NULL,
                      "currency \"%s\" is not in ISO 4217; give a code like EUR", job->currency);
    if (job->n_orders < 1)
        dw_check__say(check, DW_WRONG, NULL, "the job belongs to no order; give one at least");
    if (job->n_parts < 1)
        dw_check__say(check, DW_WRONG, NULL, "the job has no parts; there is nothing to plan");
}

/* Circular saw blades for tube are 1.2 to 4 mm wide (a blade maker's standard list). */
#define KERF_DOUBT (6 * DW_NM_PER_MM)

void dw_check__saw(struct dw_check *check)
{
    const struct dw_saw *saw = &check->job->saw;
    const struct dw_rules *rules = &check->job->rules;
    if (dw_check__length_in(check, NULL, "kerf", NULL, saw->kerf, 0, DW_LENGTH_MAX) &&
        saw->kerf > KERF_DOUBT)
        dw_check__say(check, DW_DOUBT, NULL,
                      "a kerf of %s is wide for a tube saw; is the unit right?",
                      dw_check__length(check, saw->kerf).text);
    dw_check__length_in(check, NULL, "grip", NULL, saw->grip, 0, DW_LENGTH_MAX);
    dw_check__length_in(check, NULL, "end allowance", NULL, saw->end_allowance, 0, DW_LENGTH_MAX);
    dw_check__length_in(check, NULL, "trim of the saw", NULL, saw->trim, 0, DW_LENGTH_MAX);
    dw_check__money_in(check, NULL, "cost a cut", NULL, saw->cut_cost);
    dw_check__money_in(check, NULL, "cost of taking up a bar", NULL, saw->bar_cost);
    dw_check__money_in(check, NULL, "cost of taking up an offcut", NULL, saw->offcut_cost);
    if (rules->max_new_offcuts < 0 && rules->max_new_offcuts != DW_UNLIMITED)
        dw_check__say(check, DW_WRONG, NULL,
                      "at most %lld new offcuts can't be; give 0 or more, or no limit",
                      (long long)rules->max_new_offcuts);
    if (rules->most_pieces < 1 && rules->most_pieces != DW_UNLIMITED)
        dw_check__say(check, DW_WRONG, NULL,
                      "at most %lld pieces on a bar can't be; give 1 or more, or no limit",
                      (long long)rules->most_pieces);
    if (rules->few_layouts_ppm < 0 || rules->few_layouts_ppm > 1000000)
        dw_check__say(check, DW_WRONG, NULL,
                      "the money given up for fewer layouts must lie between 0 and 100 %%");
    if (rules->no_middling)
        dw_check__length_in(check, NULL, "longest scrap", NULL, rules->scrap_max, 0, DW_LENGTH_MAX);
}

/* What all plans of the job stay under, so that no sum of theirs passes 64 bits. */
#define SUM_MAX (INT64_C(1) << 60)

static void check_product(struct dw_check *check, const char *what, int64_t count, int64_t each)
{
    int64_t product;
    if (!dw_mul__i64(count, each, &product) || product > SUM_MAX)
        dw_check__say(check, DW_WRONG, NULL,
                      "%s can come to more than can be reckoned with; split the job or look for a "
                      "misplaced decimal mark",
                      what);
}

static int64_t larger(int64_t a, int64_t b)
{
    return a > b ? a : b;
}

static int64_t count_pieces(const struct dw_job *job, dw_money *worth)
{
    int64_t pieces = 0;
    for (size_t i = 0; i < job->n_parts; i++) {
        pieces += job->parts[i].count;
        *worth = larger(*worth, job->parts[i].worth);
    }
    return pieces;
}

/* The most that a leftover of the supply's longest bar earns, the cap by new bars left out. */
static dw_money most_worth(const struct dw_job *job, const struct dw_supply *supply)
{
    size_t material = supply->bend > 0 ? supply->tail_material : supply->material;
    const struct dw_worth *worth = &job->materials[material].worth;
    dw_money money = 0;
    if (worth->kind == DW_WORTH_CLASSES && worth->n_classes > 0)
        money = worth->classes[worth->n_classes - 1].worth;
    if (worth->kind == DW_WORTH_RATE &&
        !dw_muldiv__i64(worth->rate, dw_supply_usable(supply), worth->per, &money))
        money = INT64_MAX;
    return money;
}

/* A bar of more pieces than anyone cuts: a slip of the unit, most likely. */
static void check_on_bar(struct dw_check *check, dw_length longest)
{
    const struct dw_job *job = check->job;
    for (size_t i = 0; i < job->n_parts; i++) {
        const struct dw_part *part = &job->parts[i];
        dw_length each = part->min + job->saw.kerf;
        int64_t fit = longest / each < part->count ? longest / each : part->count;
        if (fit > DW_MAX_ON_BAR)
            dw_check__say(check, DW_WRONG, &part->at,
                          "%lld of %s fit on one bar; the most is %lld, is its length right?",
                          (long long)fit, part->label, (long long)DW_MAX_ON_BAR);
    }
}

/* A plan has at most as many bars as pieces and posts; it buys at most a pack or up to a break
 * more of each supply; a bar has two squaring cuts besides one a piece and a bend end. */
void dw_check__sizes(struct dw_check *check)
{
    const struct dw_job *job = check->job;
    dw_money worth = 0, price = 0;
    dw_length length = 0;
    int64_t extra = 0;
    int64_t pieces = count_pieces(job, &worth);
    if (pieces > DW_MAX_PIECES) {
        dw_check__say(check, DW_WRONG, NULL, "the job has %lld pieces; the most is %lld, split it",
                      (long long)pieces, (long long)DW_MAX_PIECES);
        return;
    }
    for (size_t i = 0; i < job->n_supplies; i++) {
        const struct dw_supply *supply = &job->supplies[i];
        price = larger(price, larger(supply->price, most_worth(job, supply)));
        length = larger(length, larger(supply->length, supply->measured));
        extra += supply->pack;
        if (supply->n_breaks > 0)
            extra += supply->breaks[supply->n_breaks - 1].from;
    }
    check_on_bar(check, length);
    check_product(check, "the bars' money", pieces + extra, price);
    check_product(check, "what taking bars up costs", pieces,
                  larger(job->saw.bar_cost, job->saw.offcut_cost));
    check_product(check, "the bars' length", pieces + extra, length);
    check_product(check, "the cuts' money", 4 * pieces, job->saw.cut_cost);
    check_product(check, "the posts' worth", pieces, worth);
}

static bool too_many(struct dw_check *check, const char *what, size_t n, size_t most)
{
    if (n <= most)
        return false;
    dw_check__say(check, DW_WRONG, NULL, "%zu %s; the most is %zu", n, what, most);
    return true;
}

dw_err dw_job_check(const struct dw_job *job, struct dw_report *report, struct dw_error *error)
{
    struct dw_check check = {.job = job, .report = report};
    size_t wrong_before = report->n_wrong;
    check_grounds(&check);
    bool many = too_many(&check, "materials", job->n_materials, DW_MAX_MATERIALS);
    many |= too_many(&check, "supplies", job->n_supplies, DW_MAX_ROWS);
    many |= too_many(&check, "rows of parts", job->n_parts, DW_MAX_ROWS);
    if (!many) {
        dw_check__saw(&check);
        dw_check__materials(&check);
        dw_check__supplies(&check);
        dw_check__parts(&check);
    }
    if (dw_terms_check(job, report, NULL) == DW_ERR_NOMEM)
        check.err = DW_ERR_NOMEM;
    if (report->n_wrong == wrong_before)
        dw_check__sizes(&check);
    if (report->n_wrong == wrong_before)
        dw_check__reach(&check);
    if (check.err != DW_OK)
        return dw_error__nomem(error);
    if (report->n_wrong > wrong_before)
        return dw_error__set(error, DW_ERR_INPUT, "the job has %zu mistake%s",
                             report->n_wrong - wrong_before,
                             report->n_wrong - wrong_before == 1 ? "" : "s");
    return DW_OK;
}
