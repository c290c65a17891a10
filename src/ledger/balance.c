/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The balance of lengths. */
#include "ledger/ledger.h"

dw_err dw_ledger_balance(struct dw_ledger *ledger, struct dw_balance *out, struct dw_error *error)
{
    *out = (struct dw_balance){0};
    const struct {
        int64_t *to;
        const char *sql;
    } sums[] = {
        {&out->in, "SELECT sum(coalesce(v.to_measured, p.length)) FROM moves AS v JOIN pieces AS p"
                   " ON p.id = v.piece WHERE v.from_state IS NULL AND p.parent IS NULL AND"
                   " p.state <> 'void'"},
        {&out->corrected,
         "SELECT (SELECT coalesce(sum(length), 0) FROM live_finds WHERE was = 'used') +"
         " (SELECT coalesce(sum(coalesce(p.measured, p.length) -"
         " coalesce(v.to_measured, p.length)), 0) FROM moves AS v JOIN pieces AS p"
         " ON p.id = v.piece WHERE v.from_state IS NULL AND p.state <> 'void')"},
        {&out->parts, "SELECT sum(parts) FROM live_cuts"},
        {&out->posts, "SELECT sum(posts) FROM live_cuts"},
        {&out->on_shelf,
         "SELECT sum(coalesce(measured, length)) FROM pieces WHERE state = 'shelf'"},
        {&out->held, "SELECT sum(coalesce(measured, length)) FROM pieces WHERE state = 'held'"},
        {&out->scrap, "SELECT (SELECT coalesce(sum(scrap), 0) FROM live_cuts) +"
                      " (SELECT coalesce(sum(coalesce(measured, length)), 0) FROM pieces"
                      " WHERE state = 'scrapped')"},
        {&out->trim, "SELECT sum(trim) FROM live_cuts"},
        {&out->chips, "SELECT sum(chips) FROM live_cuts"},
        {&out->lost, "SELECT sum(coalesce(measured, length)) FROM pieces WHERE state = 'lost'"},
        {&out->kept, "SELECT sum(kept) FROM live_cuts"},
        {&out->n_shelf, "SELECT count(*) FROM pieces WHERE state = 'shelf'"},
        {&out->n_held, "SELECT count(*) FROM pieces WHERE state = 'held'"},
    };
    /* One snapshot for all of them. */
    bool own = sqlite3_get_autocommit(ledger->db) != 0;
    dw_err err = own ? dw_sql__exec(ledger, "BEGIN", error) : DW_OK;
    for (size_t i = 0; !err && i < DW_COUNT(sums); i++)
        err = dw_sql__int(ledger, sums[i].to, 0, error, sums[i].sql, "");
    if (own)
        sqlite3_exec(ledger->db, "ROLLBACK", NULL, NULL, NULL);
    return err;
}
