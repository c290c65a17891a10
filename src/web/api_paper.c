/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A plan as files to print, to send or to keep: papers, tables, documents. */
#include "web/planned.h"

#include "job/paper.h"
#include "job/shop.h"
#include "job/tables.h"
#include <dropwise/shelf.h>
#include "job/trade.h"
#include "model/model.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

dw_err dw_planned__of_path(struct dw_web_call *call, struct dw_planned *planned)
{
    struct dw_ledger *ledger = NULL;
    dw_err err = dw_call__shelf(call, &ledger);
    if (err)
        return err;
    err = dw_planned__load(ledger, call->params[0], planned, &call->error);
    dw_call__shelf_end(call);
    return err;
}

dw_err dw_planned__for_call(struct dw_web_call *call, struct dw_planned *planned)
{
    dw_err err = dw_planned__of_path(call, planned);
    if (!err && planned->plan->status == DW_STATUS_INFEASIBLE)
        err = dw_error__set(&call->error, DW_ERR_STATE, "there is not enough tube for this plan");
    if (!err) {
        call->out.style = dw_job__style(planned->job);
        call->out.currency = planned->job->currency;
    }
    return err;
}

/* "date" of the query, else today's. */
static dw_err read_date(struct dw_web_call *call, const char **date)
{
    int64_t day = 0;
    *date = dw_web__query(call->request, "date");
    if (!*date || !**date)
        *date = call->today;
    else if (!dw_date__number(*date, &day))
        return dw_error__set(&call->error, DW_ERR_INPUT,
                             "date must be a day, written as 2026-03-01");
    return DW_OK;
}

dw_err dw_planned__order(struct dw_web_call *call, const struct dw_planned *planned,
                         struct dw_order_doc **order)
{
    const char *date = NULL;
    dw_err err = read_date(call, &date);
    return err ? err : dw_order_make(planned->job, planned->plan, date, order, &call->error);
}

dw_err dw_planned__quote(struct dw_web_call *call, const struct dw_planned *planned,
                         struct dw_quote_doc **quote)
{
    const char *date = NULL;
    if (!planned->job->quote)
        return dw_error__set(&call->error, DW_ERR_STATE,
                             "the job does not say how to charge: fill in `Quote` first");
    dw_err err = read_date(call, &date);
    return err ? err
               : dw_quote_make(planned->job, planned->plan, planned->job->quote, date, quote,
                               &call->error);
}

/* --- what was asked for ----------------------------------------------------------------------- */

#define WORD_MOST   12
#define NUMBER_MOST 40

/* "sheet.pdf" of the path, and the query. */
struct wish {
    char what[WORD_MOST];
    char form[WORD_MOST];
    char number[32];
    int64_t page; /* of a form that has one page a file; from 1 */
    bool count;   /* tell how many pages there are */
    int64_t skip; /* labels that are used up */
    int64_t client;
    struct dw_paper_request request;
};

/* A number of the query; `usual` if it is not given. */
static dw_err read_number(struct dw_web_call *call, const char *name, int64_t least, int64_t most,
                          int64_t usual, int64_t *out)
{
    const char *text = dw_web__query(call->request, name);
    char *end = NULL;
    *out = usual;
    if (!text || !*text)
        return DW_OK;
    *out = strtoll(text, &end, 10);
    if (*end || strlen(text) > 8 || *out < least || *out > most)
        return dw_error__set(&call->error, DW_ERR_INPUT,
                             "%s must be a whole number from %lld to %lld", name, (long long)least,
                             (long long)most);
    return DW_OK;
}

static dw_err no_paper(struct dw_web_call *call)
{
    return dw_error__set(&call->error, DW_ERR_NOTFOUND, "there is no paper %s", call->params[1]);
}

static dw_err read_name(struct dw_web_call *call, struct wish *wish)
{
    const char *name = call->params[1], *dot = strrchr(name, '.');
    size_t n = dot ? (size_t)(dot - name) : 0;
    if (!dot || n == 0 || n >= WORD_MOST || strlen(dot + 1) >= WORD_MOST)
        return no_paper(call);
    memcpy(wish->what, name, n);
    memcpy(wish->form, dot + 1, strlen(dot + 1) + 1);
    return DW_OK;
}

static dw_err read_wish(struct dw_web_call *call, const struct dw_planned *planned,
                        struct wish *wish)
{
    const struct dw_web_request *request = call->request;
    const char *number = dw_web__query(request, "number"), *date = NULL;
    int64_t dpi = 0;
    dw_err err = read_name(call, wish);
    if (!err)
        err = read_date(call, &date);
    if (!err && number && strlen(number) > NUMBER_MOST)
        err = dw_error__set(&call->error, DW_ERR_INPUT, "number has at most %d characters",
                            NUMBER_MOST);
    if (!err)
        err = read_number(call, "page", 1, 100000, 1, &wish->page);
    if (!err)
        err = read_number(call, "skip", 0, 1000, 0, &wish->skip);
    if (!err)
        err = read_number(call, "client", 0, 100000, 0, &wish->client);
    if (!err)
        err = read_number(call, "dpi", 30, 300, 0, &dpi);
    snprintf(wish->number, sizeof wish->number, "%lld", (long long)planned->held);
    wish->count = dw_web__query(request, "count") != NULL;
    wish->request = (struct dw_paper_request){.form = wish->form,
                                              .paper = dw_web__query(request, "paper"),
                                              .order = dw_web__query(request, "order"),
                                              .dpi = (int)dpi,
                                              .number = number && *number ? number
                                                        : planned->held   ? wish->number
                                                                          : NULL,
                                              .date = date};
    return err;
}

/* --- papers ----------------------------------------------------------------------------------- */

static dw_err draw_order(struct dw_web_call *call, const struct dw_planned *planned,
                         const struct wish *wish, struct dw_paper_pages *pages)
{
    struct dw_order_doc *order = NULL;
    dw_err err = dw_planned__order(call, planned, &order);
    if (!err)
        err = dw_paper__order(planned->job, order, &wish->request, pages, &call->error);
    dw_order_free(order);
    return err;
}

/* Whose quote it is: the client's of the query, or DW_NONE with cost. */
static dw_err quote_client(struct dw_web_call *call, const struct dw_quote_doc *quote,
                           const struct wish *wish, size_t *client)
{
    *client = dw_web__query(call->request, "private") ? DW_NONE : (size_t)wish->client;
    if (*client != DW_NONE && *client >= quote->n_jobs)
        return dw_error__set(&call->error, DW_ERR_NOTFOUND, "the batch has no such client");
    return DW_OK;
}

static dw_err draw_quote(struct dw_web_call *call, const struct dw_planned *planned,
                         const struct wish *wish, struct dw_paper_pages *pages)
{
    struct dw_quote_doc *quote = NULL;
    size_t client = DW_NONE;
    dw_err err = dw_planned__quote(call, planned, &quote);
    if (!err)
        err = quote_client(call, quote, wish, &client);
    if (!err)
        err = dw_paper__quote(planned->job, quote, client, &wish->request, pages, &call->error);
    dw_quote_free(quote);
    return err;
}

static dw_err draw_labels(struct dw_web_call *call, const struct dw_planned *planned,
                          const struct wish *wish, struct dw_paper_pages *pages)
{
    const char *stock = dw_web__query(call->request, "stock"), *text = NULL;
    const char *which = dw_web__query(call->request, "which");
    struct dw_labels_request labels = {.stock = stock,
                                       .parts = !which || strcmp(which, "offcuts") != 0,
                                       .offcuts = !which || strcmp(which, "parts") != 0,
                                       .skip = wish->skip};
    size_t n = 0;
    if (!stock || !*stock)
        dw_paper__stock(0, &labels.stock, &text);
    dw_err err = dw_paper__labels(planned->job, planned->plan, &labels, &wish->request, &n, pages,
                                  &call->error);
    return err || n > 0 ? err
                        : dw_error__set(&call->error, DW_ERR_STATE, "there is nothing to label");
}

typedef dw_err draw_paper(struct dw_web_call *call, const struct dw_planned *planned,
                          const struct wish *wish, struct dw_paper_pages *pages);

/* Which bars of a held plan are still to come, if the shelf can tell. */
static dw_err find_to_come(struct dw_web_call *call, const struct dw_planned *planned, bool **out)
{
    struct dw_ledger *ledger = NULL;
    struct dw_error why = {0};
    dw_err err = planned->held ? dw_call__shelf(call, &ledger) : DW_OK;
    if (err || !planned->held)
        return err;
    err = dw_shelf_to_come(ledger, planned->job, planned->plan, out, &why);
    dw_call__shelf_end(call);
    if (err == DW_ERR_NOTFOUND)
        return DW_OK;
    if (err)
        call->error = why;
    return err;
}

static dw_err draw_sheet(struct dw_web_call *call, const struct dw_planned *planned,
                         const struct wish *wish, struct dw_paper_pages *pages)
{
    struct dw_paper_request request = wish->request;
    bool *to_come = NULL;
    dw_err err = find_to_come(call, planned, &to_come);
    request.to_come = to_come;
    if (!err)
        err = dw_paper__sheet(planned->job, planned->plan, &request, pages, &call->error);
    free(to_come);
    return err;
}

static const struct {
    const char *what;
    draw_paper *draw;
} papers[] = {
    {"sheet", draw_sheet}, {"labels", draw_labels}, {"order", draw_order}, {"quote", draw_quote}};

static void name_file(struct dw_web_call *call, const char *type)
{
    call->reply->type = type;
    snprintf(call->reply->file, sizeof call->reply->file, "plan-%.20s-%.20s", call->params[0],
             call->params[1]);
}

/* The bytes become the reply, which frees them. */
static void give(struct dw_web_call *call, void *bytes, size_t n, const char *type)
{
    call->reply->own = bytes;
    call->reply->n = n;
    name_file(call, type);
}

static dw_err give_page(struct dw_web_call *call, const struct wish *wish,
                        struct dw_paper_pages *pages, const char *type)
{
    if (wish->count) {
        dw_out__open(&call->out, NULL, '{');
        dw_out__int(&call->out, "pages", (int64_t)pages->n_files);
        dw_out__close(&call->out, '{');
        return DW_OK;
    }
    if ((uint64_t)wish->page > pages->n_files)
        return dw_error__set(&call->error, DW_ERR_NOTFOUND,
                             "there is no page %lld, the last is %zu", (long long)wish->page,
                             pages->n_files);
    struct dw_paper_file *file = &pages->files[wish->page - 1];
    give(call, file->bytes, file->n, type);
    *file = (struct dw_paper_file){0};
    return DW_OK;
}

/* The shop that is kept with the shelf, for a job that names none. */
static dw_err find_shop(struct dw_web_call *call, const struct dw_planned *planned,
                        struct dw_job **kept)
{
    struct dw_ledger *ledger = NULL;
    *kept = NULL;
    if (planned->job->shop)
        return DW_OK;
    dw_err err = dw_call__shelf(call, &ledger);
    if (err)
        return err;
    err = dw_shop__kept(ledger, kept, &call->error);
    dw_call__shelf_end(call);
    return err;
}

static dw_err give_paper(struct dw_web_call *call, const struct dw_planned *planned,
                         const struct wish *wish, const char *type)
{
    struct dw_paper_pages pages = {0};
    dw_err err = DW_OK;
    size_t i = 0;
    while (i < DW_COUNT(papers) && strcmp(papers[i].what, wish->what) != 0)
        i++;
    if (i == DW_COUNT(papers))
        return no_paper(call);
    struct wish of_shop = *wish;
    struct dw_job *kept = NULL;
    err = find_shop(call, planned, &kept);
    of_shop.request.shop = kept ? kept->shop : NULL;
    if (!err)
        err = papers[i].draw(call, planned, &of_shop, &pages);
    dw_job_free(kept);
    if (!err)
        err = give_page(call, wish, &pages, type);
    dw_paper__free(&pages);
    return err;
}

/* --- tables and documents --------------------------------------------------------------------- */

static dw_err order_tables(struct dw_web_call *call, const struct dw_planned *planned,
                           const struct wish *wish, const struct dw_table_wish *form,
                           struct dw_tables *out)
{
    struct dw_order_doc *order = NULL;
    (void)wish;
    dw_err err = dw_planned__order(call, planned, &order);
    if (!err)
        err = dw_tables__order(planned->job, order, form, out, &call->error);
    dw_order_free(order);
    return err;
}

static dw_err quote_tables(struct dw_web_call *call, const struct dw_planned *planned,
                           const struct wish *wish, const struct dw_table_wish *form,
                           struct dw_tables *out)
{
    struct dw_quote_doc *quote = NULL;
    size_t client = DW_NONE;
    dw_err err = dw_planned__quote(call, planned, &quote);
    if (!err)
        err = quote_client(call, quote, wish, &client);
    if (!err)
        err = dw_tables__quote(planned->job, quote, client, form, out, &call->error);
    dw_quote_free(quote);
    return err;
}

static dw_err plan_tables(struct dw_web_call *call, const struct dw_planned *planned,
                          const struct wish *wish, const struct dw_table_wish *form,
                          struct dw_tables *out)
{
    (void)wish;
    return dw_tables__plan(planned->job, planned->plan, form, out, &call->error);
}

static dw_err takeoff_tables(struct dw_web_call *call, const struct dw_planned *planned,
                             const struct wish *wish, const struct dw_table_wish *form,
                             struct dw_tables *out)
{
    struct dw_drawn_sheet drawn = {0};
    (void)wish;
    dw_err err = dw_drawn_sheet_make(planned->job, &drawn, &call->error);
    if (!err)
        err = dw_tables__takeoff(planned->job, &drawn, form, out, &call->error);
    dw_drawn_sheet_free(&drawn);
    return err;
}

/* A book by its name; of a CSV, which holds one table, that too: "pieces.csv" of a plan. */
static const struct {
    const char *what;
    const char *table; /* NULL = the whole of it */
    dw_err (*make)(struct dw_web_call *call, const struct dw_planned *planned,
                   const struct wish *wish, const struct dw_table_wish *form,
                   struct dw_tables *out);
} books[] = {
    {"order", NULL, order_tables},
    {"quote", NULL, quote_tables},
    {"plan", NULL, plan_tables},
    {"takeoff", NULL, takeoff_tables},
    {"bars", "bars", plan_tables},
    {"pieces", "pieces", plan_tables},
    {"take", "take", plan_tables},
    {"money", "money", plan_tables},
    {"parts", "parts", takeoff_tables},
    {"steps", "steps", takeoff_tables},
    {"fittings", "fittings", takeoff_tables},
    {"sections", "sections", takeoff_tables},
};

static dw_err give_table(struct dw_web_call *call, const struct dw_planned *planned,
                         const struct wish *wish, const char *type)
{
    struct dw_tables tables = {0};
    const struct dw_table_wish form = {
        .form = wish->form, .paper = wish->request.paper, .date = wish->request.date};
    char *bytes = NULL;
    size_t n = 0, i = 0;
    while (i < DW_COUNT(books) && strcmp(books[i].what, wish->what) != 0)
        i++;
    if (i == DW_COUNT(books) || (books[i].table && strcmp(wish->form, "csv") != 0))
        return no_paper(call);
    dw_err err = books[i].make(call, planned, wish, &form, &tables);
    if (!err)
        err = dw_tables__bytes(&tables, books[i].table, &bytes, &n, &call->error);
    if (!err)
        give(call, bytes, n, type);
    dw_tables__free(&tables);
    return err;
}

/* The plan document, as `dropwise verify` reads it. */
static dw_err give_plan(struct dw_web_call *call, const struct dw_planned *planned,
                        const struct wish *wish, const char *type)
{
    char *text = NULL;
    if (strcmp(wish->what, "plan") != 0)
        return no_paper(call);
    dw_err err = dw_plan_to_json(planned->job, planned->plan, &text, &call->error);
    if (!err)
        give(call, text, strlen(text), type);
    return err;
}

/* The job as it was when it was planned. */
static dw_err give_job(struct dw_web_call *call, const struct dw_planned *planned,
                       const struct wish *wish, const char *type)
{
    if (strcmp(wish->what, "job") != 0)
        return no_paper(call);
    dw_buf__put(&call->reply->buf, planned->note.text);
    name_file(call, type);
    return DW_OK;
}

/* Of a plan that an earlier version stored, its document and its job as they are; nothing else. */
static dw_err give_older(struct dw_web_call *call, const struct dw_planned *planned)
{
    bool plan = strcmp(call->params[1], "plan.json") == 0;
    const char *text = plan                                       ? planned->older
                       : strcmp(call->params[1], "job.yaml") == 0 ? planned->note.text
                                                                  : NULL;
    if (!text)
        return DW_ERR_STATE;
    call->error = (struct dw_error){0};
    dw_buf__put(&call->reply->buf, text);
    name_file(call, plan ? "application/json" : "application/yaml");
    return DW_OK;
}

static const struct {
    const char *form;
    const char *type;
    dw_err (*give)(struct dw_web_call *call, const struct dw_planned *planned,
                   const struct wish *wish, const char *type);
} forms[] = {
    {"pdf", "application/pdf", give_paper},
    {"svg", "image/svg+xml", give_paper},
    {"png", "image/png", give_paper},
    {"csv", "text/csv; charset=utf-8", give_table},
    {"xlsx", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", give_table},
    {"json", "application/json", give_plan},
    {"yaml", "application/yaml", give_job},
};

dw_err dw_api__plan_paper(struct dw_web_call *call)
{
    struct dw_planned planned = {0};
    struct wish wish = {0};
    dw_err err = dw_planned__for_call(call, &planned);
    if (err && planned.older) {
        err = give_older(call, &planned);
        dw_planned__free(&planned);
        return err;
    }
    if (!err)
        err = read_wish(call, &planned, &wish);
    if (!err) {
        size_t i = 0;
        while (i < DW_COUNT(forms) && strcmp(forms[i].form, wish.form) != 0)
            i++;
        err = i < DW_COUNT(forms) ? forms[i].give(call, &planned, &wish, forms[i].type)
                                  : no_paper(call);
    }
    dw_planned__free(&planned);
    return err;
}

dw_err dw_api__stocks(struct dw_web_call *call)
{
    const char *id = NULL, *text = NULL;
    dw_out__open(&call->out, NULL, '{');
    dw_out__open(&call->out, "stocks", '[');
    for (size_t i = 0; dw_paper__stock(i, &id, &text); i++) {
        dw_out__open(&call->out, NULL, '{');
        dw_out__text(&call->out, "id", id);
        dw_out__text(&call->out, "text", text);
        dw_out__close(&call->out, '{');
    }
    dw_out__close(&call->out, '[');
    dw_out__close(&call->out, '{');
    return DW_OK;
}
