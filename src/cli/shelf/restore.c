/* SPDX-License-Identifier: GPL-3.0-or-later */
/* dropwise shelf restore: going back to a copy of the shelf. */
#include "cli/shelf/parts.h"

static void say(struct dw_cli_shelf *shelf, const char *lead, const char *text, const char *tail)
{
    struct dw_buf buf = {0};
    dw_buf__put(&buf, lead);
    dw_cli__clean(&buf, text);
    dw_buf__put(&buf, tail);
    dw_cli__fold_buf(&shelf->page, DW_CLI_PLAIN, "", &buf);
}

static void say_lost(struct dw_cli_shelf *shelf, const struct dw_restored *done)
{
    char from[DW_DEED_TEXT], to[DW_DEED_TEXT];
    struct dw_buf buf = {0};
    dw_deed_print(from, &done->first_lost);
    dw_deed_print(to, &done->last_lost);
    dw_buf__format(&buf, "Lost: %s", dw_cli__count(done->n_lost, "step", "steps").text);
    dw_buf__put(&buf, done->n_lost > 1 ? ", from " : ", ");
    dw_buf__put(&buf, from);
    if (done->n_lost > 1)
        dw_buf__format(&buf, ", to %s", to);
    dw_buf__put(&buf, ".");
    dw_cli__fold_buf(&shelf->page, DW_CLI_PLAIN, "", &buf);
}

static enum dw_cli_status show(struct dw_cli_shelf *shelf, const struct dw_restored *done)
{
    const char *copy = shelf->args->operands[0];
    char tail[64];
    snprintf(tail, sizeof tail, ", up to step %lld.", (long long)done->copy_step);
    say(shelf, "Put back: ", copy, tail);
    if (done->n_lost > 0)
        say_lost(shelf, done);
    if (done->kept)
        say(shelf, "The shelf as it was is kept in ", done->kept, ".");
    json_t *document = dw_cli__shelf_document(shelf);
    json_object_set_new(document, "file", json_string(copy));
    json_object_set_new(document, "copy_step", json_integer((json_int_t)done->copy_step));
    json_object_set_new(document, "step", json_integer((json_int_t)done->step));
    json_object_set_new(document, "lost", json_integer((json_int_t)done->n_lost));
    json_object_set_new(document, "kept", dw_cli__json_text(done->kept));
    return dw_cli__shelf_end(shelf, document);
}

static enum dw_cli_status put_back(struct dw_cli_shelf *shelf)
{
    struct dw_report report = {0};
    struct dw_restored done = {0};
    struct dw_error error = {0};
    struct dw_restore how = {.path = shelf->path,
                             .copy = shelf->args->operands[0],
                             .act = shelf->act,
                             .busy_ms = shelf->busy_ms,
                             .lose_later = dw_cli__has(shelf->args, "lose-later")};
    dw_err err = dw_ledger_restore(&how, &done, &report, &error);
    dw_cli__say_report(&report, SIZE_MAX);
    dw_report_free(&report);
    enum dw_cli_status status = err ? dw_cli__shelf_said(err, &error) : show(shelf, &done);
    dw_restored_free(&done);
    return status;
}

static enum dw_cli_status run_restore(const struct dw_cli_args *args)
{
    struct dw_cli_shelf shelf = {0};
    enum dw_cli_status status = dw_cli__there(args->operands[0]);
    if (status == DW_CLI_DONE)
        status = dw_cli__shelf_ready(args, DW_LEDGER_CREATE, &shelf);
    if (status == DW_CLI_DONE)
        status = put_back(&shelf);
    dw_cli__shelf_close(&shelf);
    return status;
}

static const struct dw_cli_option restore_options[] = {
    {"lose-later", 0, NULL, NULL, "put it back though steps of the shelf are not in it"},
    DW_CLI_ACT_OPTIONS,
};

const struct dw_cli_command dw_cli__shelf_restore = {
    .name = "restore",
    .operands = "FILE",
    .summary = "go back to a copy of the shelf, also while the page runs",
    .about = "Checks the copy, all of it, then puts it back as one step. Steps that were booked "
             "after the copy are told and lost only with --lose-later; the shelf as it was is "
             "kept beside it. What was numbered since the copy keeps its number to itself: no "
             "later piece, plan or step gets it. A shelf file that can't be read is moved out of "
             "the way. Count the shelf afterwards: what was moved, cut or brought since the copy "
             "is not in it.",
    .least = 1,
    .most = 1,
    .shared = DW_CLI_PAGE | DW_CLI_JSON,
    .n_options = DW_COUNT(restore_options),
    .options = restore_options,
    .run = run_restore,
};
