/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Random jobs and plans for the shop; shared by its two files. */
#ifndef TESTS_SUPPORT_SHOP_PLAN_H
#define TESTS_SUPPORT_SHOP_PLAN_H

#include "tests/support/shop.h"

#define MM         DW_NM_PER_MM
#define SHOP_TUBES 2

extern const struct dw_material shop_tubes[SHOP_TUBES];

dw_length shop_length(struct shop *shop, dw_length least_mm, dw_length most_mm);

/* A job of both tubes: two pieces of the list, if it has them, and new bars. */
void shop_fill_job(struct shop *shop, struct dw_job *job, const struct dw_stock_list *list);
/* A plan of some of its bars, with what it buys. */
void shop_fill_plan(struct shop *shop, const struct dw_job *job, struct dw_plan *plan);

#endif
