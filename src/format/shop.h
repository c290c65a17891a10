/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The shop that a job names, and what it lends to a job that does not say it. */
#ifndef DW_FORMAT_SHOP_H
#define DW_FORMAT_SHOP_H

#include "format/reader.h"

#include <dropwise/shop.h>

/* Sections of a job file as the shop has them; NULL: it has none. */
struct dw_shop_lent {
    const struct dw_node *saw, *rules, *suppliers, *quote;
    enum dw_unit unit; /* DW_UNIT_NONE: it says none */
    char currency[4];  /* "": it says none */
};

/* `value` is the name of a shop's file, or a shop written out. Sets job->shop; false after a
 * remark. */
bool dw_reader__shop(struct dw_reader *reader, const struct dw_node *value,
                     struct dw_shop_lent *lent);

/* The job's map with what of the shop's it does not say; either may be NULL. What depends on each
 * other is taken from one of them alone. */
const struct dw_node *dw_shop__lend(struct dw_reader *reader, const struct dw_node *of_job,
                                    const struct dw_node *of_shop, const struct dw_field *fields,
                                    size_t n_fields);
/* Suppliers of both, the job's first; of one name the job's. */
const struct dw_node *dw_shop__lend_list(struct dw_reader *reader, const struct dw_node *of_job,
                                         const struct dw_node *of_shop);

#endif
