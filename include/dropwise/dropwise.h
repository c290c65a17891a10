/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Everything public of libdropwise. */
#ifndef DROPWISE_DROPWISE_H
#define DROPWISE_DROPWISE_H

#include <dropwise/caution.h>
#include <dropwise/cost.h>
#include <dropwise/document.h>
#include <dropwise/draw.h>
#include <dropwise/error.h>
#include <dropwise/files.h>
#include <dropwise/job.h>
#include <dropwise/ledger.h>
#include <dropwise/length.h>
#include <dropwise/lengths.h>
#include <dropwise/money.h>
#include <dropwise/plan.h>
#include <dropwise/saw.h>
#include <dropwise/shop.h>
#include <dropwise/solve.h>
#include <dropwise/takeoff.h>
#include <dropwise/terms.h>

#define DW_VERSION "0.1.0"

#endif
