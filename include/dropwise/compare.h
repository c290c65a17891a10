/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a job would cost in other ways: one plan for each, its money alone is kept.
 *
 * Threads: as dw_solve; the job is only read. */
#ifndef DROPWISE_COMPARE_H
#define DROPWISE_COMPARE_H

#include <dropwise/work.h>

#ifdef __cplusplus
extern "C" {
#endif

/* X(name, word): the words of documents. */
#define DW_COMPARE_LIST(X)                                                                         \
    X(DW_COMPARE_ALONE, "supplier alone")       /* new bars of this supplier only */               \
    X(DW_COMPARE_WITHOUT, "without supplier")   /* no new bars of this supplier */                 \
    X(DW_COMPARE_NO_SHELF, "without the shelf") /* new bars only */                                \
    X(DW_COMPARE_ONE_LENGTH, "one length")      /* new bars of one length only, the best one */    \
    X(DW_COMPARE_NO_OFFCUTS, "no new offcuts")  /* nothing is kept */                              \
    X(DW_COMPARE_ANY_SCRAP, "without longest scrap")      /* that rule left out */                 \
    X(DW_COMPARE_ANY_OFFCUTS, "without most new offcuts") /* that rule left out */

enum dw_compare_kind {
#define DW_COMPARE_ENUM(name, word) name,
    DW_COMPARE_LIST(DW_COMPARE_ENUM)
#undef DW_COMPARE_ENUM
};
const char *dw_compare_kind_word(enum dw_compare_kind kind);

struct dw_compared {
    enum dw_compare_kind kind;
    const char *supplier; /* of ALONE and WITHOUT; borrowed from the job */
    dw_length length;     /* of ONE_LENGTH */
    bool planned;         /* false: not enough tube */
    bool known; /* nothing cheaper is possible in this way, or it is known that nothing is */
    dw_money value;
};

/* How many ways there are at most: room for the rows. */
size_t dw_job_compare_room(const struct dw_job *job);
/* Plans the job in each of its other ways that makes a difference. alone: only those of one
 * supplier alone, where several that charge sell bars. Each plan has the settings' time and work
 * for itself. rows: dw_job_compare_room entries. Errors as dw_solve; a stop ends it early. */
dw_err dw_job_compare(const struct dw_job *job, const struct dw_settings *settings,
                      const struct dw_hooks *hooks, bool alone, struct dw_compared *rows, size_t *n,
                      struct dw_error *error);

#ifdef __cplusplus
}
#endif
#endif
