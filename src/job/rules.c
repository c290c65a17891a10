/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reading and printing the shop's rules one by one. */
#include "job/rules.h"

#include "base/base.h"

#include <inttypes.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

#define COUNT_MOST   1000000
#define PPM_PER_CENT 10000

static const struct row {
    struct dw_rule rule;
    size_t offset;
} rows[] = {
    {{"max-offcuts", DW_RULE_COUNT, "keep at most so many offcuts"},
     offsetof(struct dw_shelf_rules, max_offcuts)},
    {{"max-age-days", DW_RULE_COUNT, "scrap offcuts that are older"},
     offsetof(struct dw_shelf_rules, max_age_days)},
    {{"favour-old", DW_RULE_MONEY,
      "money by which a plan counts a piece cheaper for each 30 days it has lain"},
     offsetof(struct dw_shelf_rules, favour_old)},
    {{"book-share", DW_RULE_SHARE, "per cent of the book value that a plan counts"},
     offsetof(struct dw_shelf_rules, book_share_ppm)},
    {{"unit", DW_RULE_UNIT, "unit of lengths"}, offsetof(struct dw_shelf_rules, unit)},
    {{"currency", DW_RULE_CURRENCY, "of book values; XXX: not said yet"},
     offsetof(struct dw_shelf_rules, currency)},
};

const struct dw_rule *dw_rule__at(size_t i)
{
    return i < DW_COUNT(rows) ? &rows[i].rule : NULL;
}

const struct dw_rule *dw_rule__find(const char *name, size_t n)
{
    for (size_t i = 0; i < DW_COUNT(rows); i++)
        if (strlen(rows[i].rule.name) == n && strncmp(rows[i].rule.name, name, n) == 0)
            return &rows[i].rule;
    return NULL;
}

static size_t offset_of(const struct dw_rule *rule)
{
    return ((const struct row *)(const void *)rule)->offset;
}

void dw_rule__print(const struct dw_rule *rule, const struct dw_shelf_rules *rules,
                    char text[DW_RULE_TEXT])
{
    char money[DW_MONEY_TEXT];
    int64_t value = 0;
    if (rule->form == DW_RULE_CURRENCY) {
        snprintf(text, DW_RULE_TEXT, "%.3s", rules->currency);
        return;
    }
    memcpy(&value, (const char *)rules + offset_of(rule), sizeof value);
    if (rule->form == DW_RULE_MONEY) {
        dw_money_print(money, value, rules->currency, false);
        snprintf(text, DW_RULE_TEXT, "%s", money);
    } else if (rule->form == DW_RULE_UNIT) {
        snprintf(text, DW_RULE_TEXT, "%s", dw_unit_name((enum dw_unit)value));
    } else if (rule->form == DW_RULE_SHARE) {
        snprintf(text, DW_RULE_TEXT, "%" PRId64 " %%", value / PPM_PER_CENT);
    } else if (value < 0) {
        snprintf(text, DW_RULE_TEXT, "none");
    } else {
        snprintf(text, DW_RULE_TEXT, "%" PRId64, value);
    }
}

/* A whole number, with the sign of per cent after it where that is meant. */
static dw_err read_number(const struct dw_rule *rule, const char *text, int64_t *out,
                          struct dw_error *error)
{
    int64_t most = rule->form == DW_RULE_SHARE ? 100 : COUNT_MOST;
    int64_t value = 0;
    size_t i = 0;
    for (; text[i] >= '0' && text[i] <= '9' && value <= most; i++)
        value = value * 10 + (text[i] - '0');
    const char *rest = text + i + strspn(text + i, " ");
    if (rule->form == DW_RULE_SHARE && *rest == '%')
        rest++;
    if (i == 0 || *rest || value > most)
        return dw_error__set(error, DW_ERR_INPUT,
                             "%s must be a whole number from 0 to %" PRId64 ", not \"%.40s\"",
                             rule->name, most, text);
    *out = value;
    return DW_OK;
}

static dw_err read_currency(const char *text, struct dw_shelf_rules *rules, struct dw_error *error)
{
    if (strlen(text) != 3 || !dw_currency_find(text))
        return dw_error__set(error, DW_ERR_INPUT,
                             "currency=%.40s: wanted is a currency of ISO 4217, as currency=EUR",
                             text);
    memcpy(rules->currency, text, sizeof rules->currency);
    return DW_OK;
}

static dw_err read_value(const struct dw_rule *rule, const char *text, const char *currency,
                         int64_t *value, struct dw_error *error)
{
    struct dw_error why = {0};
    dw_err err = DW_OK;
    switch (rule->form) {
    case DW_RULE_MONEY:
        if (dw_money_parse(text, strlen(text), currency, value, &why) != DW_OK)
            err = dw_error__set(error, DW_ERR_INPUT, "%s=%.40s: %s", rule->name, text, why.text);
        break;
    case DW_RULE_UNIT:
        *value = dw_unit_find(text, strlen(text));
        if (*value == DW_UNIT_NONE)
            err = dw_error__set(error, DW_ERR_INPUT, "unit=%.40s: wanted is one of: mm cm m in ft",
                                text);
        break;
    case DW_RULE_COUNT:
        *value = -1;
        if (strcmp(text, "none") != 0)
            err = read_number(rule, text, value, error);
        break;
    default:
        err = read_number(rule, text, value, error);
        *value *= PPM_PER_CENT;
    }
    return err;
}

dw_err dw_rule__read(const struct dw_rule *rule, const char *text, struct dw_shelf_rules *rules,
                     struct dw_error *error)
{
    int64_t value = 0;
    if (rule->form == DW_RULE_CURRENCY)
        return read_currency(text, rules, error);
    dw_err err = read_value(rule, text, rules->currency, &value, error);
    if (!err)
        memcpy((char *)rules + offset_of(rule), &value, sizeof value);
    return err;
}
