/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Limits of sections, weight, order and quote in one. */
#ifndef DROPWISE_COST_H
#define DROPWISE_COST_H

#include <dropwise/limits.h>
#include <dropwise/order.h>
#include <dropwise/quote.h>
#include <dropwise/weight.h>

#endif
