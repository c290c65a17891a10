/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How this shop keeps its shelf. */
#include "ledger/ledger.h"

#include <string.h>

static const struct rule {
    const char *name;
    int64_t def, least, most;
    size_t offset;
} rule_table[] = {
#define DW_RULE_ROW(name, def, least, most, help)                                                  \
    {#name, def, least, most, offsetof(struct dw_shelf_rules, name)},
    DW_SHELF_RULE_LIST(DW_RULE_ROW)
#undef DW_RULE_ROW
};

dw_err dw_ledger_rules(struct dw_ledger *ledger, struct dw_shelf_rules *out, struct dw_error *error)
{
    *out = (struct dw_shelf_rules){.currency = "XXX"};
    dw_err err = DW_OK;
    for (size_t i = 0; !err && i < DW_COUNT(rule_table); i++) {
        int64_t value = 0;
        err = dw_sql__int(ledger, &value, rule_table[i].def, error,
                          "SELECT value FROM rules WHERE name = ?", "t", rule_table[i].name);
        memcpy((char *)out + rule_table[i].offset, &value, sizeof value);
    }
    sqlite3_stmt *stmt = NULL;
    bool row = false;
    if (!err)
        err = dw_sql__open(ledger, &stmt, error, "SELECT code FROM currency", "");
    if (!err)
        err = dw_sql__next(ledger, stmt, &row, error);
    const char *code = row ? (const char *)sqlite3_column_text(stmt, 0) : NULL;
    if (code)
        memcpy(out->currency, code, 3);
    sqlite3_finalize(stmt);
    return err;
}

static dw_err set_rule(struct dw_ledger *ledger, const struct rule *rule, int64_t value,
                       struct dw_error *error)
{
    if (value < rule->least || value > rule->most)
        return dw_error__set(error, DW_ERR_RANGE, "%s must be %lld to %lld", rule->name,
                             (long long)rule->least, (long long)rule->most);
    return dw_sql__run(ledger, NULL, error,
                       "INSERT INTO rules(name, value) VALUES (?1, ?2)"
                       " ON CONFLICT(name) DO UPDATE SET value = ?2",
                       "ti", rule->name, value);
}

/* Amounts without their currency mean nothing: once there are some, it stays. */
static dw_err set_currency(struct dw_ledger *ledger, const char *code, struct dw_error *error)
{
    struct dw_shelf_rules now;
    int64_t valued = 0;
    dw_err err = dw_ledger_rules(ledger, &now, error);
    if (err || strcmp(now.currency, code) == 0)
        return err;
    if (strcmp(now.currency, "XXX") != 0)
        err = dw_sql__int(ledger, &valued, 0, error,
                          "SELECT EXISTS (SELECT 1 FROM pieces WHERE value > 0)", "");
    if (!err && valued)
        err = dw_error__set(error, DW_ERR_STATE, "the shelf's book values are in %s, not %.3s",
                            now.currency, code);
    if (!err)
        err = dw_sql__run(ledger, NULL, error,
                          "INSERT INTO currency(one, code) VALUES (1, ?1)"
                          " ON CONFLICT(one) DO UPDATE SET code = ?1",
                          "t", code);
    return err;
}

static dw_err check_seen(struct dw_ledger *ledger, const struct dw_shelf_rules *seen,
                         struct dw_error *error)
{
    struct dw_shelf_rules now;
    dw_err err = dw_ledger_rules(ledger, &now, error);
    for (size_t i = 0; !err && i < DW_COUNT(rule_table); i++)
        if (memcmp((const char *)seen + rule_table[i].offset,
                   (const char *)&now + rule_table[i].offset, sizeof(int64_t)) != 0)
            err = dw_error__set(error, DW_ERR_STATE, "the rule %s was changed in the meantime",
                                rule_table[i].name);
    if (!err && strcmp(seen->currency, now.currency) != 0)
        err = dw_error__set(error, DW_ERR_STATE,
                            "the currency was changed in the meantime: it is %s", now.currency);
    return err;
}

dw_err dw_ledger_rules_set(struct dw_ledger *ledger, const struct dw_shelf_rules *seen,
                           const struct dw_shelf_rules *rules, struct dw_error *error)
{
    dw_err err = dw_ledger__lock(ledger, error);
    if (err)
        return err;
    if (seen)
        err = check_seen(ledger, seen, error);
    for (size_t i = 0; !err && i < DW_COUNT(rule_table); i++) {
        int64_t value = 0;
        memcpy(&value, (const char *)rules + rule_table[i].offset, sizeof value);
        err = set_rule(ledger, &rule_table[i], value, error);
    }
    if (!err)
        err = set_currency(ledger, rules->currency, error);
    return dw_ledger__end(ledger, err, NULL, error);
}
