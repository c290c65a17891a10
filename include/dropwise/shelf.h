/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The shelf in use: planning from it, holding, deliveries, what to scrap, tables in and out.
 *
 * Threads: as of the ledger: one ledger, one thread at a time. */
#ifndef DROPWISE_SHELF_H
#define DROPWISE_SHELF_H

#include <dropwise/work.h>

#include <dropwise/ledger.h>

#ifdef __cplusplus
extern "C" {
#endif

/* --- planning from the shelf ------------------------------------------------------------------ */

struct dw_shelf_request {
    const char *today; /* ISO day: pieces are as old as from their date to this */
    int64_t replaces;  /* plan whose held pieces are free as well; 0 = none */
};

struct dw_shelf_found {
    uint64_t digest;    /* dw_job_digest of the job before the shelf was added */
    size_t n_added;     /* pieces offered to the plan */
    size_t n_foreign;   /* left out: another client owns them */
    size_t n_raised;    /* of those offered: dearer than booked, see dw_shelf_supply */
    size_t n_too_short; /* left out: shorter than the shortest part, or all squaring trim */
};

/* Adds to the job's supplies what lies on the shelf of its materials, a supply a piece, with the
 * piece's number as id. What a plan counts for a piece (its planning price) is
 *
 *   max(share book value - favour_old floor(days / 30), phi(U - shortest part - kerf), 0)
 *
 * by the shop's rules: the floor keeps a plan from cutting a piece only in order to put most of it
 * back. Beside it stand the book value, which was paid and which a quote charges, and why the two
 * differ. A piece of a client of this job counts nothing above the floor and was paid by the
 * client; one of another client is left out. A piece whose material is another tube here than in
 * the ledger is refused (DW_WRONG, DW_ERR_INPUT), and so are book values in another currency.
 *
 * A number that the job itself lists is refused as well; but for the rest of a plan that is held,
 * which has such pieces from the shelf, the shelf says what became of them: none is left of the
 * job's own. */
dw_err dw_shelf_supply(struct dw_job *job, struct dw_ledger *ledger,
                       const struct dw_shelf_request *request, struct dw_shelf_found *found,
                       struct dw_report *report, struct dw_error *error);

/* A doubt if some of the shop's whole bars are at book value 0: to a plan they cost nothing. */
dw_err dw_shelf_doubt_values(const struct dw_stock *pieces, size_t n, struct dw_report *report,
                             struct dw_error *error);

/* Holds a plan, with its document, and tells the shelf the job's currency. The plan gets its number
 * and says which it replaces. Within a step of several acts it is one of them; without one, the
 * document can be written to `path`: both happen or neither. *plan_id is set after an error too
 * where the file alone could not be put in its place. */
struct dw_shelf_hold {
    uint64_t digest; /* of dw_shelf_found */
    int64_t replaces;
    bool again;       /* see dw_hold */
    const char *path; /* NULL: nothing is written */
    bool replace;     /* an existing file may be replaced */
};
dw_err dw_shelf_hold_plan(struct dw_ledger *ledger, const struct dw_act *act,
                          const struct dw_job *job, struct dw_plan *plan,
                          const struct dw_shelf_hold *how, int64_t *plan_id, int64_t *step,
                          struct dw_error *error);

/* Which bars of a plan that is held, by plan->number, are still to be delivered: (*out)[i] is that
 * of bar i + 1, length plan->totals.n_bars; yours to free with dw_free. Of a plan that is closed
 * none is. DW_ERR_NOTFOUND: the shelf has no plan of this number with these bars; the plan has no
 * number. */
dw_err dw_shelf_to_come(struct dw_ledger *ledger, const struct dw_job *job,
                        const struct dw_plan *plan, bool **out, struct dw_error *error);

/* --- what was bought ----------------------------------------------------------------------------
 */

/* Bars of one supply that came. Money of -1 is not said. */
struct dw_deliver_row {
    const char *supply;
    int64_t n;      /* bars; 0 = all that are still to come */
    dw_money each;  /* what was paid for one bar */
    dw_money total; /* what was paid for these n together: split to the smallest coin */
};

struct dw_deliver {
    int64_t plan;
    const char *supplier; /* NULL = of any; restricts a delivery without rows */
    size_t n;             /* 0: all that is still to come */
    const struct dw_deliver_row
        *rows; /* length n; with n 0 what is said of money must be in `paid` */
    size_t n_paid;
    const struct dw_deliver_row *paid; /* length n_paid: money of supplies that come, n not used */
    const char *place;                 /* may be NULL */
    const char *mark;                  /* heat or lot mark; may be NULL */
};

/* One step. Without money said of a supply its bars are booked at what the plan counted for them.
 * DW_ERR_STATE: nothing is to come. Otherwise errors as dw_ledger_deliver. */
dw_err dw_shelf_deliver(struct dw_ledger *ledger, const struct dw_act *act,
                        const struct dw_deliver *deliver, int64_t *step, struct dw_error *error);

/* --- looking ---------------------------------------------------------------------------------- */

/* The pieces of these numbers, in this order. DW_ERR_NOTFOUND names the first that is missing. */
dw_err dw_shelf_pick(struct dw_ledger *ledger, const char *const *numbers, size_t n,
                     struct dw_stock_list **out, struct dw_error *error);

/* --- keeping it small ------------------------------------------------------------------------- */

/* Offcuts of the shop (not of its clients) on the shelf that the rules say to scrap: those over the
 * age limit, then, while there are more than the ceiling, the one of least book value, among equals
 * the oldest. *n_old of the rows are there for their age; they come first. */
dw_err dw_shelf_surplus(struct dw_ledger *ledger, const char *today, struct dw_stock_list **out,
                        size_t *n_old, struct dw_error *error);

/* --- tables ----------------------------------------------------------------------------------- */

/* A job without parts that knows the ledger's materials, currency and unit. */
dw_err dw_shelf_catalogue(struct dw_ledger *ledger, struct dw_job **out, struct dw_error *error);

/* A CSV or TSV table: its text, or the file. */
struct dw_shelf_table {
    const char *path; /* of the file, or what the text is called in messages */
    const char *text; /* length n; NULL: the file */
    size_t n;
    enum dw_unit bare; /* unit of bare numbers; DW_UNIT_NONE = the shop's */
};

/* Adds the pieces of a table, all or none; mistakes go to the report. Book value 0 where none is
 * given, date that of the step. */
dw_err dw_shelf_import(struct dw_ledger *ledger, const struct dw_act *act,
                       const struct dw_shelf_table *table, int64_t *step, struct dw_report *report,
                       struct dw_error *error);
/* What it would add; nothing is changed. */
dw_err dw_shelf_import_dry(struct dw_ledger *ledger, const struct dw_act *act,
                           const struct dw_shelf_table *table, struct dw_stock_list **out,
                           struct dw_report *report, struct dw_error *error);

/* What lies on the shelf or is held, or `all` pieces there ever were, as CSV. *text is yours to
 * free with dw_free. */
dw_err dw_shelf_export(struct dw_ledger *ledger, bool all, char **text, struct dw_error *error);

/* Reads a table of what was seen (number, length, place) and books the differences. A row of a
 * piece that is gone by the book is a doubt of the report. */
struct dw_shelf_count {
    struct dw_shelf_table table;
    bool complete;
    bool dry;
    const char *place;
    const char *material;
};
dw_err dw_shelf_count_pieces(struct dw_ledger *ledger, const struct dw_act *act,
                             const struct dw_shelf_count *count, struct dw_stock_list **differences,
                             int64_t *step, struct dw_report *report, struct dw_error *error);

#ifdef __cplusplus
}
#endif
#endif
