/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A quote as tables: the lines of one client's job, or a sheet a job for the shop. */
#include "job/leaf.h"

#include "cost/record.h"
#include "model/caution.h"

#define DOC(name)  .of = &dw_quote_doc__members, .member = (name)
#define JOB(name)  .of = &dw_quote_job__members, .member = (name)
#define LINE(name) .of = &dw_quote_line__members, .member = (name)

static const struct dw_leaf_column line_columns[] = {
    {JOB("job"), .title = "job", .width = 18},
    {JOB("client"), .title = "client", .width = 18},
    {LINE("kind"), .title = "kind", .width = 10, .as = DW_LEAF_WORD},
    {LINE("text"), .title = "description", .width = 44, .as = DW_LEAF_NOTE},
    {LINE("quantity"), .title = "quantity", .width = 12},
    {LINE("cost"), .title = "cost", .width = 12, .as = DW_LEAF_SUM},
    {LINE("price"), .title = "price", .width = 12, .as = DW_LEAF_SUM},
    {LINE("tax_rate"), .title = "tax", .width = 8},
    {LINE("tax"), .title = "tax amount", .width = 12, .as = DW_LEAF_SUM},
    {.title = "with tax", .width = 12, .as = DW_LEAF_SUM},
    {DOC("currency"), .title = "currency", .width = 9, .as = DW_LEAF_SAME},
    {DOC("valid_until"), .title = "valid until", .width = 12, .as = DW_LEAF_DATE},
};

static void fill_job(struct dw_leaf *leaf, const struct dw_quote_doc *quote,
                     const struct dw_quote_job *job)
{
    for (size_t i = 0; i < job->n_lines; i++) {
        const struct dw_quote_line *line = &job->lines[i];
        dw_leaf__row(leaf);
        dw_leaf__put(leaf, &dw_quote_doc__members, quote);
        dw_leaf__put(leaf, &dw_quote_job__members, job);
        dw_leaf__put(leaf, &dw_quote_line__members, line);
        dw_leaf__money(leaf, "with tax", line->price + line->tax);
    }
}

static const char *name_of(const struct dw_quote_job *job)
{
    return job->name ? job->name : "quote";
}

/* Of one job, or of all for NULL. */
static void fill_sheet(struct dw_tables *to, const char *name, const struct dw_quote_doc *quote,
                       const struct dw_quote_job *job)
{
    struct dw_leaf leaf;
    dw_leaf__begin(&leaf, to, name, line_columns, DW_COUNT(line_columns));
    for (size_t i = 0; i < quote->n_jobs; i++)
        if (!job || job == &quote->jobs[i])
            fill_job(&leaf, quote, &quote->jobs[i]);
    dw_leaf__sums(&leaf, "total");
    for (size_t i = 0; i < quote->n_notes; i++)
        dw_leaf__note(&leaf, "note", quote->notes[i]);
    dw_leaf__cautions(&leaf, &(const struct dw_care){0}, DW_AT_QUOTE);
    dw_leaf__end(&leaf);
}

/* --- all jobs, for the shop --------------------------------------------------------------------
 */

static const struct dw_leaf_column sum_columns[] = {
    {JOB("job"), .title = "job", .width = 24, .as = DW_LEAF_NOTE},
    {JOB("client"), .title = "client", .width = 24},
    {.title = "cost", .width = 14, .as = DW_LEAF_SUM | DW_LEAF_INSIDE},
    {.title = "price", .width = 14, .as = DW_LEAF_SUM},
    {.title = "tax amount", .width = 14, .as = DW_LEAF_SUM},
    {.title = "with tax", .width = 14, .as = DW_LEAF_SUM},
    {DOC("currency"), .title = "currency", .width = 9, .as = DW_LEAF_SAME},
};

static void fill_sums(struct dw_tables *to, const struct dw_quote_doc *quote)
{
    struct dw_leaf leaf;
    dw_leaf__begin(&leaf, to, "quote", sum_columns, DW_COUNT(sum_columns));
    for (size_t i = 0; i < quote->n_jobs && !to->failed; i++) {
        dw_leaf__row(&leaf);
        dw_leaf__put(&leaf, &dw_quote_doc__members, quote);
        dw_leaf__put(&leaf, &dw_quote_job__members, &quote->jobs[i]);
        for (size_t k = 2; k < 6; k++)
            dw_leaf__sum_of(&leaf, sum_columns[k].title, i);
    }
    dw_leaf__sums(&leaf, "total");
    dw_leaf__end(&leaf);
    if (!to->failed)
        dw_tables__last_first(to);
}

dw_err dw_tables__quote(const struct dw_job *job, const struct dw_quote_doc *quote, size_t client,
                        const struct dw_table_wish *wish, struct dw_tables *out,
                        struct dw_error *error)
{
    dw_err err = dw_tables__begin(out, job, wish, error);
    if (err)
        return err;
    out->client = client != DW_NONE;
    if (client != DW_NONE) {
        fill_sheet(out, "quote", quote, &quote->jobs[client]);
    } else if (out->csv || quote->n_jobs < 2) {
        fill_sheet(out, "quote", quote, NULL);
    } else {
        for (size_t i = 0; i < quote->n_jobs; i++)
            fill_sheet(out, name_of(&quote->jobs[i]), quote, &quote->jobs[i]);
        fill_sums(out, quote);
    }
    return dw_tables__end(out, error);
}
