/* SPDX-License-Identifier: GPL-3.0-or-later */
/* dropwise shelf deliver: what a plan buys arrives. */
#include "cli/shelf/parts.h"
#include <dropwise/shelf.h>

#include <stdlib.h>
#include <string.h>

/* What the operands and options say; texts are copies. */
struct coming {
    struct dw_deliver_row *rows; /* of the operands, length n_rows */
    size_t n_rows;
    struct dw_deliver_row *paid; /* of --paid and --total, length n_paid */
    size_t n_paid;
    char **texts; /* length n_texts */
    size_t n_texts;
};

static void free_coming(struct coming *coming)
{
    for (size_t i = 0; i < coming->n_texts; i++)
        free(coming->texts[i]);
    free(coming->texts);
    free(coming->rows);
    free(coming->paid);
}

/* Cuts "six=4" in two at its last sign of equality: *value is NULL without one. false: no memory.
 */
static bool split(struct coming *coming, const char *text, const char **name, const char **value)
{
    const char *sign = strrchr(text, '=');
    size_t n = sign ? (size_t)(sign - text) : strlen(text);
    char *copy = calloc(n + 1, 1);
    if (!copy) {
        dw_cli__complain("out of memory");
        return false;
    }
    memcpy(copy, text, n);
    coming->texts[coming->n_texts++] = copy;
    *name = copy;
    *value = sign ? sign + 1 : NULL;
    return true;
}

/* SUPPLY or SUPPLY=BARS */
static bool read_row(struct coming *coming, const char *text)
{
    struct dw_deliver_row row = {.each = -1, .total = -1};
    const char *count = NULL;
    if (!split(coming, text, &row.supply, &count) ||
        (count && !dw_cli__shelf_number(row.supply, count, &row.n)))
        return false;
    coming->rows[coming->n_rows++] = row;
    return true;
}

/* SUPPLY=MONEY of --paid or --total */
static bool read_paid(struct dw_cli_shelf *shelf, struct coming *coming,
                      const struct dw_cli_given *given)
{
    struct dw_deliver_row row = {.each = -1, .total = -1};
    struct dw_error error = {0};
    const char *money = NULL;
    bool total = strcmp(given->option.name, "total") == 0;
    if (!split(coming, given->value, &row.supply, &money))
        return false;
    if (!money) {
        dw_cli__complain("--%s %s: wanted is SUPPLY=MONEY, as %s", given->option.name, given->value,
                         total ? "\"6 m=144.00\"" : "\"6 m=24.00\"");
        return false;
    }
    if (dw_money_parse(money, strlen(money), shelf->page.currency, total ? &row.total : &row.each,
                       &error)) {
        dw_cli__complain("--%s %s: %s", given->option.name, given->value, error.text);
        return false;
    }
    if (row.each > DW_MONEY_MAX || row.total > DW_MONEY_MAX || (row.each < 0 && row.total < 0)) {
        dw_cli__complain("--%s %s: what was paid can't be below 0", given->option.name,
                         given->value);
        return false;
    }
    coming->paid[coming->n_paid++] = row;
    return true;
}

static bool read_coming(struct dw_cli_shelf *shelf, struct coming *coming)
{
    const struct dw_cli_args *args = shelf->args;
    coming->rows = calloc(args->n_operands, sizeof *coming->rows);
    coming->paid = calloc(args->n_given + 1, sizeof *coming->paid);
    coming->texts = calloc(args->n_operands + args->n_given + 1, sizeof *coming->texts);
    bool good = coming->rows && coming->paid && coming->texts;
    if (!good)
        dw_cli__complain("out of memory");
    for (size_t i = 1; good && i < args->n_operands; i++)
        good = read_row(coming, args->operands[i]);
    for (size_t i = 0; good && i < args->n_given; i++) {
        const char *name = args->given[i].option.name;
        if (strcmp(name, "paid") == 0 || strcmp(name, "total") == 0)
            good = read_paid(shelf, coming, &args->given[i]);
    }
    if (good && coming->n_rows > 0 && dw_cli__has(args, "supplier")) {
        dw_cli__complain("shelf deliver: name what came, or its --supplier, not both");
        good = false;
    }
    return good;
}

static enum dw_cli_status book(struct dw_cli_shelf *shelf, int64_t plan,
                               const struct coming *coming)
{
    const struct dw_cli_args *args = shelf->args;
    struct dw_deliver deliver = {
        .plan = plan,
        .supplier = dw_cli__value(args, "supplier"),
        .n = coming->n_rows,
        .rows = coming->rows,
        .n_paid = coming->n_paid,
        .paid = coming->paid,
        .place = dw_cli__value(args, "place"),
        .mark = dw_cli__value(args, "mark"),
    };
    struct dw_error error = {0};
    int64_t step = 0;
    dw_err err = dw_shelf_deliver(shelf->ledger, &shelf->act, &deliver, &step, &error);
    if (err)
        return dw_cli__shelf_said(err, &error);
    char sentence[160];
    snprintf(sentence, sizeof sentence, "Came for plan %lld:", (long long)plan);
    return dw_cli__shelf_done(shelf, step, sentence, json_pack("{s:I}", "plan", (json_int_t)plan));
}

static enum dw_cli_status deliver(struct dw_cli_shelf *shelf)
{
    int64_t plan = 0;
    struct coming coming = {0};
    if (!dw_cli__shelf_number("plan", shelf->args->operands[0], &plan))
        return DW_CLI_REFUSED;
    enum dw_cli_status status =
        read_coming(shelf, &coming) ? book(shelf, plan, &coming) : DW_CLI_REFUSED;
    free_coming(&coming);
    return status;
}

static enum dw_cli_status run_deliver(const struct dw_cli_args *args)
{
    return dw_cli__shelf_run(args, DW_LEDGER_WRITE, deliver);
}

static const struct dw_cli_option deliver_options[] = {
    {"paid", 0, "SUPPLY=MONEY", NULL,
     "what one bar of it cost; otherwise what the plan counted; may be repeated"},
    {"total", 0, "SUPPLY=MONEY", NULL,
     "what the bars of it that came cost together; may be repeated"},
    {"supplier", 0, "NAME", NULL, "all that comes from this supplier"},
    {"place", 0, "PLACE", NULL, "where the bars are put"},
    {"mark", 0, "MARK", NULL, "heat or lot mark of the bars"},
    DW_CLI_ACT_OPTIONS,
};

const struct dw_cli_command dw_cli__shelf_deliver = {
    .name = "deliver",
    .operands = "PLAN [SUPPLY[=BARS]...]",
    .summary = "book that bars came which a plan buys",
    .about = "Without SUPPLY, all that PLAN buys and that has not come yet comes; SUPPLY is the "
             "name of the bar in the job. The bars that the plan cuts are held for it under the "
             "numbers that `dropwise shelf plans PLAN` shows; those that it does not cut, of a "
             "whole pack or bought for a price break, lie on the shelf. Each is booked at what was "
             "paid for it. The delivery is one step and one undo.\n\n"
             "A bar that is cut before its delivery is booked comes with its pack, and with the "
             "last one all that was bought of it, at what the plan counted.",
    .least = 1,
    .most = -1,
    .shared = DW_CLI_PAGE | DW_CLI_JSON,
    .n_options = DW_COUNT(deliver_options),
    .options = deliver_options,
    .run = run_deliver,
};
