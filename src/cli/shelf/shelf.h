/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the commands of the shelf share: opening it, who and when, and how pieces are shown. */
#ifndef DW_CLI_SHELF_SHELF_H
#define DW_CLI_SHELF_SHELF_H

#include "cli/terminal/json.h"
#include "cli/terminal/page.h"
#include <dropwise/shelf.h>
#include "units/out.h"

/* Of a command that reads the shelf, and of one that changes it. */
#define DW_CLI_SHELF_OPTION                                                                        \
    {                                                                                              \
        "shelf", 0, "FILE", NULL, "the shelf's file; otherwise the one in your data folder"        \
    }
#define DW_CLI_ACT_OPTIONS                                                                         \
    DW_CLI_SHELF_OPTION, {"who", 0, "NAME", NULL, "who did it; otherwise your login name"},        \
        {"when", 0, "TIME", NULL, "when, as 2026-03-31 or 2026-03-31T14:05:00Z; otherwise now"},   \
    {                                                                                              \
        "note", 0, "TEXT", NULL, "a note for the history"                                          \
    }

/* A shelf that is open, and the act that is about to be done. */
struct dw_cli_shelf {
    const struct dw_cli_args *args;
    struct dw_cli_page page;
    struct dw_ledger *ledger;
    struct dw_job *job; /* the ledger's materials, unit, currency */
    struct dw_act act;
    char when[32];
    char now[32]; /* by the clock */
    char today[11];
    char *path;
    int busy_ms;                /* wait for another process that writes */
    const struct dw_care *care; /* what dw_cli__shelf_done says of the cuts that come; NULL: none */
};

/* Opens the file of --shelf or the usual one, with its folder when it is to be made, and readies
 * the page. What is wrong is said. Close in every case. */
enum dw_cli_status dw_cli__shelf_open(const struct dw_cli_args *args, enum dw_ledger_mode mode,
                                      struct dw_cli_shelf *shelf);
/* The same without opening it: page, path, who and when. */
enum dw_cli_status dw_cli__shelf_ready(const struct dw_cli_args *args, enum dw_ledger_mode mode,
                                       struct dw_cli_shelf *shelf);
void dw_cli__shelf_close(struct dw_cli_shelf *shelf);
/* Whether --shelf names a file, or the usual one is there. */
/* A file of the shop beside the usual shelf; with `make` its folder is made. Yours to free; NULL:
 * there is no such folder. */
char *dw_cli__shop_path(const char *name, bool make);
bool dw_cli__shelf_there(const struct dw_cli_args *args);

/* Says the error and gives its status; DW_CLI_DONE for none. */
enum dw_cli_status dw_cli__shelf_said(dw_err err, const struct dw_error *error);

/* Refuses to hold a job that an open plan has already, unless --again is given. */
enum dw_cli_status dw_cli__shelf_not_twice(const struct dw_cli_shelf *shelf, uint64_t digest);
/* Says what is booked all the same where telling of it failed; gives the status back. */
enum dw_cli_status dw_cli__shelf_told(const struct dw_cli_shelf *shelf, enum dw_cli_status status,
                                      int64_t step);

/* Reads a length from an option or operand; a bare number takes the shelf's unit. Says what is
 * wrong and where. */
bool dw_cli__shelf_length(const struct dw_cli_shelf *shelf, const char *what, const char *text,
                          dw_length *out);
/* A plan's or a bar's number: "3". */
bool dw_cli__shelf_number(const char *what, const char *text, int64_t *out);

/* --- showing ---------------------------------------------------------------------------------- */

/* A table of pieces with what is known of them. */
void dw_cli__stock_table(struct dw_cli_page *page, const struct dw_stock_list *list);
/* Records written into the buffer, lengths and money as the command prints them. */
struct dw_out dw_cli__shelf_out(const struct dw_cli_shelf *shelf, struct dw_buf *buf);
json_t *dw_cli__stock_json(const struct dw_cli_shelf *shelf, const struct dw_stock *stock);
json_t *dw_cli__stocks_json(const struct dw_cli_shelf *shelf, const struct dw_stock_list *list);
json_t *dw_cli__length_json(const struct dw_cli_shelf *shelf, dw_length length);
json_t *dw_cli__money_json(const struct dw_cli_shelf *shelf, dw_money amount);

/* Shows what a step did: a sentence and the pieces it touched; as JSON with kind "dropwise PATH",
 * and `more` (may be NULL; consumed) merged into it. */
enum dw_cli_status dw_cli__shelf_done(struct dw_cli_shelf *shelf, int64_t step,
                                      const char *sentence, json_t *more);
/* Ends in the page, or in the document with --json; consumes it. */
enum dw_cli_status dw_cli__shelf_end(struct dw_cli_shelf *shelf, json_t *document);
/* {"format": "dropwise shelf add", "version": 2}, described in shared/output.schema.json */
json_t *dw_cli__shelf_document(const struct dw_cli_shelf *shelf);

/* Opens the shelf, does the work, closes it. */
enum dw_cli_status dw_cli__shelf_run(const struct dw_cli_args *args, enum dw_ledger_mode mode,
                                     enum dw_cli_status (*work)(struct dw_cli_shelf *));

#endif
