/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A plan as it is stored: with the job's text and the supplies as they were offered, so that it can
 * be shown, printed and held when the shelf has long changed. */
#ifndef DW_WEB_PLANNED_H
#define DW_WEB_PLANNED_H

#include "web/app.h"

#include "job/store.h"
#include "job/trade.h"
#include "model/model.h"

/* What is stored beside job and plan. Borrowed texts. */
struct dw_planned_note {
    const char *text;    /* the job as written */
    const char *job_key; /* of its document; NULL = it has none */
    int64_t job_revision;
    bool shelf;      /* the shelf's pieces were offered */
    uint64_t digest; /* of the job before they were */
    int64_t time_ms; /* settings */
    int64_t took_ms;
    int64_t replaces; /* held plan that this one took over from; 0 = none */
};

/* Stores it. *key is yours to free. */
dw_err dw_planned__save(struct dw_ledger *ledger, const struct dw_act *act,
                        const struct dw_planned_note *note, const struct dw_job *job,
                        const struct dw_plan *plan, const struct dw_cure *cures, size_t n_cures,
                        char **key, struct dw_error *error);

struct dw_planned {
    struct dw_document_list *list; /* rows[0]: the document */
    json_t *body;
    struct dw_planned_note note;
    struct dw_job *job;
    struct dw_report report; /* on the job as written */
    struct dw_plan *plan;
    int64_t held;      /* under which number; 0 = it is not */
    const char *older; /* its document, where an earlier version of the program stored it without
                          what it was made from: job and plan are then NULL */
};
/* Reads it again. Free in every case. DW_ERR_STATE: `older` is set. */
dw_err dw_planned__load(struct dw_ledger *ledger, const char *key, struct dw_planned *out,
                        struct dw_error *error);
void dw_planned__free(struct dw_planned *planned);

/* The stored plan of a held one. DW_ERR_NOTFOUND if the page did not hold it. *key is yours. */
dw_err dw_planned__of_held(struct dw_ledger *ledger, int64_t held, char **key,
                           struct dw_error *error);
/* Books that a stored plan is held. */
dw_err dw_planned__mark_held(struct dw_ledger *ledger, const struct dw_act *act, const char *key,
                             int64_t held, struct dw_error *error);

/* The records of the job that the plan's indices mean, into an object that is open. */
void dw_planned__put_job(struct dw_out *out, const struct dw_planned *planned);
/* What is squared off a bar before its first cut, into an object that is open: "squaring", as a
 * sheet says it, and "trim_nm", "far_trim_nm" for a drawing. */
void dw_planned__put_squaring(struct dw_out *out, const struct dw_supply *supply);
/* What the verifier says of a plan, into an object that is open: "good", and what is claimed beside
 * what is proved. `proven` NULL: the plan is wrong. */
void dw_planned__put_proven(struct dw_out *out, const struct dw_job *job,
                            const struct dw_plan *plan, const struct dw_plan_proven *proven);
/* The plan for the page. */
void dw_planned__put(struct dw_out *out, const struct dw_planned *planned);

/* --- for the handlers --------------------------------------------------------------------------
 */

/* Loads the plan that the path names. Free it in every case. */
dw_err dw_planned__of_path(struct dw_web_call *call, struct dw_planned *planned);
/* The same; one that lacks tube is refused, DW_ERR_STATE. The reply's
 * lengths and money become the job's. Free it in every case. */
dw_err dw_planned__for_call(struct dw_web_call *call, struct dw_planned *planned);
/* Order and quote, by its job's terms, at the date of the query or today's. DW_ERR_STATE: no terms
 * of a quote. */
dw_err dw_planned__order(struct dw_web_call *call, const struct dw_planned *planned,
                         struct dw_order_doc **order);
dw_err dw_planned__quote(struct dw_web_call *call, const struct dw_planned *planned,
                         struct dw_quote_doc **quote);

#endif
