/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What to take from the shelf and what to buy; where the tube goes; what it costs. */
#include "cli/reports/report.h"
#include "model/caution.h"

#include <dropwise/terms.h>

#include <inttypes.h>
#include <string.h>

void dw_cli__material(struct dw_buf *buf, const struct dw_job *job, size_t material)
{
    struct dw_buf text = {0};
    dw_material__say(&text, &job->materials[material]);
    dw_cli__clean(buf, text.text ? text.text : "");
    buf->failed = buf->failed || text.failed;
    dw_buf__free(&text);
}

void dw_cli__supply(struct dw_buf *buf, const struct dw_supply *supply)
{
    static const char *const words[] = {
        [DW_SOURCE_NEW] = "bar",
        [DW_SOURCE_SHELF] = "shelf bar",
        [DW_SOURCE_OFFCUT] = "offcut",
    };
    dw_buf__format(buf, "%s ", words[supply->source]);
    dw_cli__clean(buf, supply->id ? supply->id : "");
}

static int64_t count_parts(const struct dw_job *job)
{
    int64_t n = 0;
    for (size_t i = 0; i < job->n_parts; i++)
        n += job->parts[i].post ? 0 : job->parts[i].count;
    return n;
}

static int64_t count_posts(const struct dw_plan *plan)
{
    int64_t n = 0;
    for (size_t i = 0; i < plan->n_layouts; i++)
        for (size_t k = 0; k < plan->layouts[i].n_pieces; k++)
            if (plan->layouts[i].pieces[k].use == DW_USE_POST)
                n += plan->layouts[i].pieces[k].count * plan->layouts[i].count;
    return n;
}

void dw_cli__report_title(struct dw_cli_page *page, const struct dw_job *job,
                          const struct dw_plan *plan)
{
    const struct dw_totals *totals = &plan->totals;
    struct dw_buf line = {0};
    dw_cli__clean(&line, job->name ? job->name : "Cut plan");
    dw_cli__fold_buf(page, DW_CLI_STRONG, "", &line);
    dw_buf__put(&line, dw_cli__count(count_parts(job), "part", "parts").text);
    if (plan->status == DW_STATUS_INFEASIBLE) {
        dw_cli__fold_buf(page, DW_CLI_PLAIN, "", &line);
        return;
    }
    int64_t n_posts = count_posts(plan);
    if (n_posts > 0)
        dw_buf__format(&line, " and %s", dw_cli__count(n_posts, "post", "posts").text);
    dw_buf__format(&line, " from %s, ", dw_cli__count(totals->n_bars, "bar", "bars").text);
    dw_buf__put(&line, dw_cli__count((int64_t)plan->n_layouts, "layout", "layouts").text);
    dw_buf__format(&line, ", %s", dw_cli__count(totals->n_cuts, "cut", "cuts").text);
    if (totals->n_kept > 0)
        dw_buf__format(&line, ", %s",
                       dw_cli__count(totals->n_kept, "offcut to keep", "offcuts to keep").text);
    dw_buf__format(&line, ": %s", dw_cli__money(page, totals->value).text);
    dw_cli__fold_buf(page, DW_CLI_PLAIN, "", &line);
}

/* --- bars ---------------------------------------------------------------------------------------
 */

static void add_note(struct dw_buf *text, const char *note)
{
    if (text->n > 0)
        dw_buf__put(text, ", ");
    dw_buf__put(text, note);
}

/* "Quay Metals, 2 packs of 4, 1 stays whole" or "rack 2, bin C" */
static void put_where(struct dw_buf *text, const struct dw_supply *supply,
                      const struct dw_take *take)
{
    const char *where = supply->source == DW_SOURCE_NEW ? supply->supplier : supply->place;
    char note[128];
    if (where)
        add_note(text, where);
    if (supply->owner && strcmp(supply->owner, "shop") != 0)
        add_note(text, supply->owner);
    if (supply->pack > 1) {
        snprintf(note, sizeof note, "%s of %" PRId64,
                 dw_cli__count(take->bought / supply->pack, "pack", "packs").text, supply->pack);
        add_note(text, note);
    }
    int64_t spare = take->bought - take->used;
    snprintf(note, sizeof note, "%" PRId64 " %s whole", spare, spare == 1 ? "stays" : "stay");
    if (spare > 0)
        add_note(text, note);
}

/* "paid 2.00; counted: worth as a leftover" */
static void put_counted(struct dw_cli_page *page, struct dw_buf *text,
                        const struct dw_supply *supply)
{
    char note[160];
    const char *reason = dw_supply_reason(supply);
    if (!reason)
        return;
    if (supply->by_rules)
        snprintf(note, sizeof note, "no book value; counted: %s", reason);
    else
        snprintf(note, sizeof note, "paid %s; counted: %s",
                 dw_cli__amount(page, dw_supply_paid(supply)).text, reason);
    add_note(text, note);
}

static void add_take(struct dw_cli_page *page, const struct dw_job *job, const struct dw_take *take,
                     struct dw_cli_table *table)
{
    const struct dw_supply *supply = &job->supplies[take->supply];
    struct dw_buf text = {0};
    dw_cli__cell(table, supply->source == DW_SOURCE_NEW ? "buy" : "take");
    dw_cli__cell_format(table, "%" PRId64 " ×", take->bought);
    dw_cli__cell(table, dw_cli__figure(page, supply->length).text);
    dw_cli__supply(&text, supply);
    dw_cli__cell_buf(table, &text);
    dw_cli__cell(table, job->n_materials > 1 ? job->materials[supply->material].id : NULL);
    put_where(&text, supply, take);
    put_counted(page, &text, supply);
    dw_caution__lift(&text, text.n > 0 ? ", each " : "each ", job, supply);
    dw_cli__cell_buf(table, &text);
    dw_cli__cell(table, dw_cli__amount(page, take->money).text);
}

void dw_cli__report_bars(struct dw_cli_page *page, const struct dw_job *job,
                         const struct dw_plan *plan)
{
    struct dw_cli_text title = dw_cli__length_title(page);
    const struct dw_cli_column columns[] = {
        {.title = NULL},
        {.title = "bars", .right = true},
        {.title = title.text, .right = true, .point = true},
        {.title = "name"},
        {.title = "material"},
        {.title = "where", .fold = true},
        {.title = dw_cli__money_title(page), .right = true, .point = true},
    };
    struct dw_cli_table table = {.n_columns = DW_COUNT(columns), .columns = columns, .indent = 2};
    dw_cli__heading(page, "Take and buy");
    for (int fresh = 0; fresh < 2; fresh++)
        for (size_t i = 0; i < plan->n_takes; i++)
            if ((job->supplies[plan->takes[i].supply].source == DW_SOURCE_NEW) == (fresh == 1))
                add_take(page, job, &plan->takes[i], &table);
    dw_cli__table_end(page, &table);
}

/* --- lengths and money
 * ------------------------------------------------------------------------------ */

static void add_length(struct dw_cli_page *page, struct dw_cli_table *table, const char *what,
                       dw_length length, dw_length whole)
{
    if (length == 0)
        return;
    dw_cli__cell(table, what);
    dw_cli__cell(table, dw_cli__long(page, length).text);
    dw_cli__cell(table, dw_cli__percent(length, whole).text);
}

void dw_cli__report_lengths(struct dw_cli_page *page, const struct dw_plan *plan)
{
    static const struct dw_cli_column columns[] = {
        {.title = NULL},
        {.right = true},
        {.right = true},
    };
    const struct dw_totals *totals = &plan->totals;
    struct dw_cli_table table = {.n_columns = DW_COUNT(columns), .columns = columns, .indent = 2};
    dw_cli__heading(page, "Where the tube goes");
    add_length(page, &table, "parts", totals->in_parts, totals->in);
    add_length(page, &table, "posts", totals->in_posts, totals->in);
    add_length(page, &table, "offcuts to keep", totals->in_kept, totals->in);
    add_length(page, &table, "scrap", totals->in_scrap, totals->in);
    add_length(page, &table, "squared off mill ends", totals->in_trim, totals->in);
    add_length(page, &table, "chips", totals->in_chips, totals->in);
    add_length(page, &table, "bars cut, in all", totals->in, totals->in);
    dw_cli__table_end(page, &table);
}

static void add_money(struct dw_cli_page *page, struct dw_cli_table *table, const char *what,
                      dw_money amount)
{
    if (amount == 0)
        return;
    dw_cli__cell(table, what);
    dw_cli__cell(table, dw_cli__amount(page, amount).text);
    dw_cli__cell(table, NULL);
}

/* "Quay Metals: freight" */
static void add_charge(struct dw_cli_page *page, struct dw_cli_table *table, const char *supplier,
                       const char *what, dw_money amount)
{
    if (amount == 0)
        return;
    struct dw_buf text = {0};
    dw_cli__clean(&text, supplier);
    dw_buf__format(&text, ": %s", what);
    dw_cli__cell_buf(table, &text);
    dw_cli__cell(table, dw_cli__amount(page, amount).text);
    dw_cli__cell(table, NULL);
}

/* In the words of the order. */
static void add_charges(struct dw_cli_page *page, struct dw_cli_table *table,
                        const struct dw_job *job, const struct dw_plan *plan)
{
    for (size_t i = 0; i < plan->n_charges; i++) {
        const struct dw_charge *charge = &plan->charges[i];
        const char *name = job->suppliers[charge->supplier].name;
        add_charge(page, table, name, "cuts by the supplier", charge->cutting);
        add_charge(page, table, name, "up to the least order", charge->minimum);
        add_charge(page, table, name, "small-order surcharge", charge->small);
        add_charge(page, table, name, "freight", charge->freight);
        add_charge(page, table, name, "bars for the shelf, worth", -charge->spare);
    }
}

static void add_row_of_work(struct dw_cli_page *page, struct dw_cli_table *table, int64_t n,
                            const char *one, const char *many, dw_money each)
{
    char text[160];
    snprintf(text, sizeof text, "%s at %s", dw_cli__count(n, one, many).text,
             dw_cli__amount(page, each).text);
    add_money(page, table, text, n * each);
}

/* What the saw's work costs. */
static void add_work(struct dw_cli_page *page, struct dw_cli_table *table, const struct dw_job *job,
                     const struct dw_saw_time *time)
{
    const struct dw_saw *saw = &job->saw;
    add_row_of_work(page, table, time->n_cuts, "cut", "cuts", saw->cut_cost);
    add_row_of_work(page, table, time->n_bars, "bar taken up", "bars taken up", saw->bar_cost);
    add_row_of_work(page, table, time->n_offcuts, "offcut taken up", "offcuts taken up",
                    saw->offcut_cost);
}

void dw_cli__report_money(struct dw_cli_page *page, const struct dw_job *job,
                          const struct dw_plan *plan)
{
    static const struct dw_cli_column columns[] = {
        {.title = NULL},
        {.right = true, .point = true},
        {.title = NULL},
    };
    const struct dw_totals *totals = &plan->totals;
    struct dw_cli_table table = {.n_columns = DW_COUNT(columns), .columns = columns, .indent = 2};
    dw_money paid = 0;
    bool differs = dw_plan__paid(job, plan, &paid) && paid != totals->taken;
    struct dw_saw_time time;
    dw_plan_time(job, plan, &time);
    dw_cli__heading(page, "Money");
    add_money(page, &table, "new bars", totals->bars);
    add_charges(page, &table, job, plan);
    add_money(page, &table,
              differs ? "shelf bars and offcuts, as the plan counts them"
                      : "shelf bars and offcuts, book value",
              totals->taken);
    add_work(page, &table, job, &time);
    add_money(page, &table, "offcuts kept, worth", -totals->kept);
    add_money(page, &table, "posts made, worth", -totals->posts);
    dw_cli__cell(&table, "in all");
    dw_cli__cell(&table, dw_cli__amount(page, totals->value).text);
    dw_cli__cell(&table, strcmp(page->currency, "XXX") == 0 ? NULL : page->currency);
    dw_cli__table_end(page, &table);
    struct dw_buf busy = {0};
    dw_saw_time__say(&busy, job, &time);
    if (busy.n > 0)
        dw_cli__fold_buf(page, DW_CLI_PLAIN, "  ", &busy);
    dw_buf__free(&busy);
    if (!differs)
        return;
    bool given = true;
    for (size_t i = 0; i < plan->n_takes; i++)
        given = given && !job->supplies[plan->takes[i].supply].by_rules;
    struct dw_buf text = {0};
    dw_buf__format(&text, "Book value of the shelf bars and offcuts%s: %s. That is what %s.",
                   given ? "" : ", where one is given", dw_cli__amount(page, paid).text,
                   given ? "was paid for them and what a quote charges" : "a quote charges");
    dw_cli__fold_buf(page, DW_CLI_PLAIN, "", &text);
}
