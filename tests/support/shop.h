/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A shop that does one random thing after another with its shelf. */
#ifndef TESTS_SUPPORT_SHOP_H
#define TESTS_SUPPORT_SHOP_H

#include <dropwise/ledger.h>

#define SHOP_UNDO_DEPTH 4000

/* What the shop knows of its shelf by its own book-keeping, with the state before each step. */
struct shop_book {
    struct dw_balance now;
    size_t n_before;
    struct dw_balance before[SHOP_UNDO_DEPTH];
};

struct shop {
    struct dw_ledger *ledger;
    uint64_t seed;
    struct shop_book *book; /* NULL: others work on the same shelf, nothing is foretold */
    const char *last;       /* name of the last thing tried */
};

/* One random step. DW_OK also when there was nothing to do it on. Refusals that a shop must live
 * with (held, busy, no longer in that state, not found) are returned as they are. */
dw_err shop_step(struct shop *shop, struct dw_error *error);

/* Enters the shop's two materials. */
dw_err shop_prepare(struct shop *shop, struct dw_error *error);

/* A number below n, n > 0. */
uint64_t shop_draw(struct shop *shop, uint64_t n);

#endif
