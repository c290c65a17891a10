/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Everything public of libdropwise.
 *
 * Whose memory is it? `T **out` is the caller's, to be freed by the dw_..._free of its type; a text
 * or bytes that are "yours" by dw_free (version.h); what is borrowed, or lies in an arena, by
 * nobody but its owner. After an error nothing is left to free. NULL can be freed.
 *
 * Threads: the library has no state of its own that could change. Two calls that share nothing, or
 * only what both take as const, may run side by side; each header says what goes beyond that. It
 * never prints, exits, installs a signal handler, or reads clock and environment. */
#ifndef DROPWISE_DROPWISE_H
#define DROPWISE_DROPWISE_H

#include <dropwise/caution.h>
#include <dropwise/compare.h>
#include <dropwise/cost.h>
#include <dropwise/document.h>
#include <dropwise/draw.h>
#include <dropwise/drawn.h>
#include <dropwise/error.h>
#include <dropwise/files.h>
#include <dropwise/job.h>
#include <dropwise/ledger.h>
#include <dropwise/length.h>
#include <dropwise/lengths.h>
#include <dropwise/list.h>
#include <dropwise/miscut.h>
#include <dropwise/money.h>
#include <dropwise/order_file.h>
#include <dropwise/plan.h>
#include <dropwise/posts.h>
#include <dropwise/saw.h>
#include <dropwise/shelf.h>
#include <dropwise/shop.h>
#include <dropwise/solve.h>
#include <dropwise/takeoff.h>
#include <dropwise/terms.h>
#include <dropwise/version.h>
#include <dropwise/work.h>

#endif
