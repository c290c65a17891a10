/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A step that is tried and taken back: what it would have written. */
#include "ledger/ledger.h"

dw_err dw_ledger__end_dry(struct dw_ledger *ledger, dw_err err, struct dw_stock_list **out,
                          struct dw_error *error)
{
    struct dw_stock_query query = {.step = ledger->step};
    if (!err && out)
        err = dw_ledger_list(ledger, &query, out, error);
    ledger->step = ledger->seen = 0;
    dw_err undone = dw_sql__exec(ledger, "ROLLBACK", error);
    return err ? err : undone;
}
