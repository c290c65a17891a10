/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Words for what the person at the saw has to know: the same on every paper, page and report. */
#ifndef DW_MODEL_SAW_H
#define DW_MODEL_SAW_H

#include "base/base.h"
#include "model/model.h"

/* Degrees, with all decimals that there are: "22.5". udeg >= 0. */
#define DW_ANGLE_TEXT 32
void dw_angle__print(char out[DW_ANGLE_TEXT], int64_t udeg);

/* What a plan counts where mitred or notched ends meet; and whether a part of the job has such. */
extern const char dw_saw__what_counts[];
bool dw_saw__any_worked(const struct dw_job *job);

/* What is done to a bar before its first piece: squaring, and how a bent one is laid. A sentence or
 * two without the last full stop; nothing where there is nothing to do. */
void dw_saw__bar(struct dw_buf *buf, const struct dw_supply *supply,
                 const struct dw_length_style *style);

/* How a piece is turned and worked after the square cut, what was written, its bend; sentences.
 * Nothing for a piece that is cut square and is done. */
void dw_saw__work(struct dw_buf *buf, const struct dw_saw_piece *piece,
                  const struct dw_length_style *style);

/* The same in a few words, for a label. */
void dw_saw__brief(struct dw_buf *buf, const struct dw_saw_piece *piece,
                   const struct dw_length_style *style);

/* "planned as 1775 mm + 25 mm" of a part to be measured first. */
void dw_saw__planned_as(struct dw_buf *buf, const struct dw_saw_piece *piece,
                        const struct dw_length_style *style);

/* "desk, for Harbour Radio, due 2026-12-01": what is not NULL of it. */
void dw_saw__client(struct dw_buf *buf, const char *order, const char *client, const char *due);

/* "2" or "2 to 4": numbers of `count` pieces, the first of which has `number`. */
void dw_saw__numbers(struct dw_buf *buf, int64_t number, int64_t count);

#endif
