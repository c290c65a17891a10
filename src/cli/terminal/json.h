/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Small JSON documents of the commands, in the manner of the plan document: "format" and "version"
 * first, money as decimal text, a length as {"nm": ..., "text": ...}. */
#ifndef DW_CLI_TERMINAL_JSON_H
#define DW_CLI_TERMINAL_JSON_H

#include "cli/cli.h"
#include "model/caution.h"
#include "units/out.h"

#include <jansson.h>

/* [{"severity": "wrong", "file": ..., "line": ..., "column": ..., "text": ...}, ...]; NULL: no
 * memory. */
json_t *dw_cli__json_remarks(const struct dw_report *report);
/* Text of the user, NULL as null. */
json_t *dw_cli__json_text(const char *text);
/* "12.50"; the currency stands once in the document. */
json_t *dw_cli__json_money(const struct dw_job *job, dw_money amount);
/* {"nm": 620000000, "text": "620 mm"}, the text in the job's unit. */
json_t *dw_cli__json_length(const struct dw_job *job, dw_length length);
/* Writes a document of a job into the buffer, which dw_cli__json_end ends: the text is yours to
 * free; NULL, said, without memory. */
struct dw_out dw_cli__json_out(const struct dw_job *job, struct dw_buf *buf);
char *dw_cli__json_end(struct dw_buf *buf);
/* The document as text, yours to free, and releases it. NULL, said, without memory for either. */
char *dw_cli__json_dump(json_t *document);
#define DW_CLI_JSON_DECIMALS 6 /* of a length's text */
/* [{"caution": "heavy bar", "text": ...}, ...]: what `place` shows; care NULL: what it always
 * shows. NULL: no memory. */
json_t *dw_cli__json_care(const struct dw_job *job, const struct dw_care *care,
                          enum dw_caution_place place);
/* What was written into the buffer, which is emptied; NULL: no memory. */
json_t *dw_cli__json_take(struct dw_buf *buf);
/* Writes the document to standard output and releases it; NULL: no memory. */
enum dw_cli_status dw_cli__json_write(json_t *document);

#endif
