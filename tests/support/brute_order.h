/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reference for the money of the whole, order included: all that can be bought is tried, lot by
 * lot, and what is bought is then there as bars that cost nothing more. Written from plan.h alone.
 */
#ifndef TEST_BRUTE_ORDER_H
#define TEST_BRUTE_ORDER_H

#include <dropwise/plan.h>

enum brute_order_answer { BRUTE_ORDER_FOUND, BRUTE_ORDER_NONE, BRUTE_ORDER_TOO_LARGE };

/* The least money that a plan of the job can have. */
enum brute_order_answer brute_order(const struct dw_job *job, dw_money *money);

#endif
