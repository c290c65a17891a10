/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which cautions apply to bars and pieces, and their words: the same in every output. */
#ifndef DW_MODEL_CAUTION_H
#define DW_MODEL_CAUTION_H

#include "model/model.h"
#include "units/out.h"

#include <dropwise/caution.h>

#define DW_CARE_NAMES 6 /* more are told as "and others" */

/* Gathers what a caution is about. Zero-initialise; names are borrowed. */
struct dw_care {
    struct dw_care_names {
        size_t n;
        bool more;
        const char *names[DW_CARE_NAMES];
        bool wide;           /* DW_CAUTION_SHORT: a tube is wider than the limit is long */
        int64_t heaviest_mg; /* DW_CAUTION_HEAVY */
    } of[DW_N_CAUTIONS];
};
/* A bar of a material of `length` that goes by `name`; a piece of it; NULL: nothing is known. */
void dw_care__bar(struct dw_care *care, const struct dw_material *material, const char *name,
                  dw_length length);
void dw_care__piece(struct dw_care *care, const struct dw_material *material, const char *name,
                    dw_length length);
/* All bars and pieces of a plan. Cost: O(pieces). */
void dw_care__plan(struct dw_care *care, const struct dw_job *job, const struct dw_plan *plan);

/* Whether `place` shows it: it holds always, or something was gathered that it is about. */
bool dw_care__shows(const struct dw_care *care, enum dw_caution caution,
                    enum dw_caution_place place);
/* Whether it names what it is about. */
bool dw_caution__names(enum dw_caution caution);
/* Its text, with what it is about. */
void dw_care__text(struct dw_buf *buf, const struct dw_care *care, enum dw_caution caution,
                   const struct dw_length_style *style);
/* Those that hold always at a place, one after the other. */
void dw_caution__general(struct dw_buf *buf, enum dw_caution_place place);
/* "cautions": [{"caution": "heavy bar", "text": "..."}, ...]: all that `place` shows. */
void dw_care__put(struct dw_out *out, const char *key, const struct dw_care *care,
                  enum dw_caution_place place);

/* A limit as it is said: "150 mm", "about 6 in"; a diameter as it is. */
void dw_caution__limit(struct dw_buf *buf, dw_length limit, const struct dw_length_style *style);

/* "about 201 kg: lift with help or a hoist" behind `lead`, at the bar itself; nothing where it is
 * light or its weight is not known. */
void dw_caution__lift(struct dw_buf *buf, const char *lead, const struct dw_job *job,
                      const struct dw_supply *supply);
/* At the piece itself: "Under 150 mm, too short to hold by hand: ..."; nothing of a longer one. */
void dw_caution__hold(struct dw_buf *buf, const struct dw_saw_piece *piece,
                      const struct dw_length_style *style);

#endif
