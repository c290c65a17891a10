/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The shop's rules as a user reads and writes them. */
#ifndef DW_JOB_RULES_H
#define DW_JOB_RULES_H

#include <dropwise/shelf.h>

enum dw_rule_form {
    DW_RULE_COUNT, /* a whole number, or `none` */
    DW_RULE_MONEY,
    DW_RULE_SHARE, /* per cent */
    DW_RULE_UNIT,
    DW_RULE_CURRENCY,
};

struct dw_rule {
    const char *name; /* "max-offcuts" */
    enum dw_rule_form form;
    const char *help;
};

#define DW_RULE_TEXT 64

/* The i-th rule; NULL past the last. */
const struct dw_rule *dw_rule__at(size_t i);
/* The rule called name[0..n), or NULL. */
const struct dw_rule *dw_rule__find(const char *name, size_t n);

/* Its value, as `dw_rule__read` takes it back: "none", "0.50 EUR", "80 %", "in", "EUR". */
void dw_rule__print(const struct dw_rule *rule, const struct dw_shelf_rules *rules,
                    char text[DW_RULE_TEXT]);
/* DW_ERR_INPUT says what would be right, with the rule's name in front. */
dw_err dw_rule__read(const struct dw_rule *rule, const char *text, struct dw_shelf_rules *rules,
                     struct dw_error *error);

#endif
