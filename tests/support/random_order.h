/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Small random batches of several suppliers, with every kind of charge, the same for the same seed.
 */
#ifndef TEST_RANDOM_ORDER_H
#define TEST_RANDOM_ORDER_H

#include <dropwise/job.h>
#include <stdint.h>

/* A job of random_job whose new bars are of up to four suppliers, with up to three more kinds of
 * bars, and fittings of the suppliers. NULL: no memory. */
struct dw_job *random_order_job(uint64_t seed);

#endif
