/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What other ways to plan a job would cost, one line each. */
#include "cli/reports/report.h"

#include <dropwise/compare.h>

static void put_way(struct dw_cli_page *page, struct dw_buf *text, const struct dw_compared *way)
{
    switch (way->kind) {
    case DW_COMPARE_ALONE:
        dw_buf__put(text, "all new bars from ");
        dw_cli__clean(text, way->supplier);
        break;
    case DW_COMPARE_WITHOUT:
        dw_buf__put(text, "without ");
        dw_cli__clean(text, way->supplier);
        break;
    case DW_COMPARE_NO_SHELF:
        dw_buf__put(text, "without the shelf");
        break;
    case DW_COMPARE_ONE_LENGTH:
        dw_buf__format(text, "new bars of one length only, %s",
                       dw_cli__length(page, way->length).text);
        break;
    case DW_COMPARE_NO_OFFCUTS:
        dw_buf__put(text, "no new offcuts");
        break;
    case DW_COMPARE_ANY_SCRAP:
        dw_buf__put(text, "without the rule `longest scrap`");
        break;
    case DW_COMPARE_ANY_OFFCUTS:
        dw_buf__put(text, "without the rule `most new offcuts`");
        break;
    }
}

static void add_way(struct dw_cli_page *page, struct dw_cli_table *table, dw_money value,
                    const struct dw_compared *way)
{
    struct dw_buf text = {0};
    put_way(page, &text, way);
    dw_cli__cell_buf(table, &text);
    if (!way->planned) {
        dw_cli__cell(table, NULL);
        dw_cli__cell(table, NULL);
        dw_cli__cell(table, way->known ? "not enough tube" : "no plan was found");
        return;
    }
    dw_cli__cell(table, dw_cli__amount(page, way->value).text);
    dw_cli__cell_format(table, "%s%s", way->value > value ? "+" : "",
                        dw_cli__amount(page, way->value - value).text);
    dw_cli__cell(table, way->known ? NULL : "at most; a cheaper one may exist");
}

void dw_cli__report_compared(struct dw_cli_page *page, dw_money value,
                             const struct dw_compared *rows, size_t n)
{
    static const struct dw_cli_column columns[] = {
        {.title = NULL, .fold = true},
        {.title = "in all", .right = true, .point = true},
        {.title = "more", .right = true, .point = true},
        {.title = NULL},
    };
    struct dw_cli_table table = {.n_columns = DW_COUNT(columns), .columns = columns, .indent = 2};
    if (n == 0)
        return;
    dw_cli__heading(page, "Other ways");
    for (size_t i = 0; i < n; i++)
        add_way(page, &table, value, &rows[i]);
    dw_cli__table_end(page, &table);
}
