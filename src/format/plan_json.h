/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Shared by writer and reader of the plan document. */
#ifndef DW_FORMAT_PLAN_JSON_H
#define DW_FORMAT_PLAN_JSON_H

#include "base/base.h"
#include "model/record.h"

#define DW_PLAN_FORMAT  "dropwise plan"
#define DW_PLAN_VERSION 2

#define DW_PLAN_DECIMALS 6 /* of a length that no fraction holds */

/* Whether a text is the length: it reads as that, or is what is printed of it where it is rounded
 * or longer than what is read. By any unit and denominator, for a job may be given other ones after
 * its plan was made. */
bool dw_plan__is_text_of(const char *text, dw_length nm);
/* Whether the job has pieces of a shelf already. */
bool dw_plan__has_brought(const struct dw_job *job);

struct json_t;
/* The first piece of a document's layout that says other than the job. What does not bear
 * on the cut (who wants it, by when, remarks, words) is not compared. false: no memory. */
struct dw_saw_difference {
    size_t piece;
    const char *name; /* one of dw_record__saw_names; NULL = they say the same */
    char *says;       /* what the job says, for a message; yours to free */
};
bool dw_plan__saw_compare(const struct dw_job *job, const struct dw_layout *layout,
                          const struct json_t *pieces, struct dw_saw_difference *out);

#endif
