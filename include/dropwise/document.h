/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Documents kept in the shelf file beside the shelf: jobs, plans, settings of a face.
 *
 * A document has a kind and, within it, a key. Its body is text that the ledger does not read. Each
 * save raises its revision by one, and names the revision that it was made from: a save from
 * another one is refused, so that nobody's work is overwritten unseen. Documents are no part of the
 * shelf's history and of no step.
 *
 * Threads: as of the ledger: one ledger, one thread at a time. */
#ifndef DROPWISE_DOCUMENT_H
#define DROPWISE_DOCUMENT_H

#include <dropwise/ledger.h>

#ifdef __cplusplus
extern "C" {
#endif

#define DW_DOCUMENT_MAX (16 * 1024 * 1024) /* bytes of a body */

struct dw_document {
    const char *kind;
    const char *key; /* NULL when adding: the next free number */
    const char *name;
    const char *body; /* only in dw_ledger_document */
    int64_t revision; /* 1 on */
    const char *when;
    const char *who;
};
struct dw_document_list {
    size_t n;
    struct dw_document *rows; /* length n */
    struct dw_arena *arena;
};
void dw_document_list_free(struct dw_document_list *list);

/* Documents of a kind, the one saved last first; without their bodies. */
dw_err dw_ledger_documents(struct dw_ledger *ledger, const char *kind,
                           struct dw_document_list **out, struct dw_error *error);
/* rows[0]. DW_ERR_NOTFOUND. */
dw_err dw_ledger_document(struct dw_ledger *ledger, const char *kind, const char *key,
                          struct dw_document_list **out, struct dw_error *error);

/* Saves kind, key, name and body. document->revision is the one that it was made from; 0 = it is
 * new. *saved (may be NULL): kind, key, revision and who, without body, as it then is. Errors, with
 * nothing changed: DW_ERR_STATE if it has another revision now, or exists already; DW_ERR_NOTFOUND
 * if it was removed; DW_ERR_LIMIT, DW_ERR_INPUT, DW_ERR_BUSY, DW_ERR_IO, DW_ERR_NOMEM. */
dw_err dw_ledger_document_save(struct dw_ledger *ledger, const struct dw_act *act,
                               const struct dw_document *document, struct dw_document_list **saved,
                               struct dw_error *error);
/* Removes it if it has that revision. DW_ERR_STATE, DW_ERR_NOTFOUND and as above. */
dw_err dw_ledger_document_drop(struct dw_ledger *ledger, const char *kind, const char *key,
                               int64_t revision, struct dw_error *error);

#ifdef __cplusplus
}
#endif
#endif
