/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The two papers of a quote. */
#ifndef DW_DRAW_QUOTE_H
#define DW_DRAW_QUOTE_H

#include "draw/letter.h"

struct dw_quote_paper {
    const struct dw_job *job;
    const struct dw_quote_doc *quote;
    size_t client; /* index into its jobs; DW_NONE = private view of all */
    const struct dw_draw_options *options;
    const struct dw_language *language; /* of the client */
    const struct dw_shop *shop;         /* NULL = not known */
};

/* The client's: names, quantities, prices and taxes alone. */
void dw_quote__client(struct dw_flow *flow, const struct dw_quote_paper *paper);
/* The shop's own. */
void dw_quote__private(struct dw_flow *flow, const struct dw_quote_paper *paper);

#endif
