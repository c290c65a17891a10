/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Shared by the files of dw_job_check: a report, and texts for lengths and money in it. */
#ifndef DW_MODEL_CHECK_H
#define DW_MODEL_CHECK_H

#include "base/base.h"
#include "model/model.h"

struct dw_check {
    const struct dw_job *job;
    struct dw_report *report;
    dw_err err; /* DW_OK, or DW_ERR_NOMEM once memory ran out: sticks */
};

/* Adds a remark with the place; NULL: none. */
void dw_check__say(struct dw_check *check, enum dw_severity severity, const struct dw_place *at,
                   const char *format, ...) __attribute__((format(printf, 4, 5)));

struct dw_check_text {
    char text[64]; /* DW_LENGTH_TEXT and DW_MONEY_TEXT are less */
};
/* id, or "?" where there is none. */
const char *dw_check__name(const char *id);
/* A length or an amount as the job's user writes it. */
struct dw_check_text dw_check__length(const struct dw_check *check, dw_length nm);
struct dw_check_text dw_check__money(const struct dw_check *check, dw_money amount);

/* true if least <= value <= most, least 0 or 1; else a DW_WRONG remark "WHAT of ID is ...; give
 * ...". id may be NULL. */
bool dw_check__length_in(struct dw_check *check, const struct dw_place *at, const char *what,
                         const char *id, dw_length value, dw_length least, dw_length most);
bool dw_check__money_in(struct dw_check *check, const struct dw_place *at, const char *what,
                        const char *id, dw_money value);

/* Remarks on ids that are empty or taken twice. Cost: O(n log n). */
struct dw_check_id {
    const char *id;
    const struct dw_place *at;
    size_t index;
};
void dw_check__ids(struct dw_check *check, const char *what, struct dw_check_id *ids, size_t n);

/* The parts of the check. Indices of a thing are looked at before they are used; things with a
 * wrong index are left out of what follows. */
void dw_check__saw(struct dw_check *check);
void dw_check__materials(struct dw_check *check);
void dw_check__supplies(struct dw_check *check);
void dw_check__parts(struct dw_check *check);
void dw_check__sizes(struct dw_check *check);
/* Parts and posts that no supply can give; only for a job without DW_WRONG. */
void dw_check__reach(struct dw_check *check);

#endif
