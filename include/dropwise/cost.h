/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Weight, order and quote in one. */
#ifndef DROPWISE_COST_H
#define DROPWISE_COST_H

#include <dropwise/order.h>
#include <dropwise/quote.h>
#include <dropwise/weight.h>

#endif
