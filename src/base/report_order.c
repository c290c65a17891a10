/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Remarks in the order in which a reader of the files meets their places. */
#include "base/base.h"

#include <stdlib.h>
#include <string.h>

struct entry {
    const struct dw_remark *remark;
    size_t index;
    bool main_file;
};

static int compare(const void *a, const void *b)
{
    const struct entry *x = a, *y = b;
    const struct dw_error *p = &x->remark->what, *q = &y->remark->what;
    if (x->main_file != y->main_file)
        return x->main_file ? -1 : 1;
    int order = strcmp(p->file, q->file);
    if (order == 0)
        order = (p->line > q->line) - (p->line < q->line);
    if (order == 0)
        order = (p->column > q->column) - (p->column < q->column);
    return order ? order : (x->index > y->index) - (x->index < y->index);
}

dw_err dw_report__sort(struct dw_report *report, const char *main_file)
{
    size_t n = report->n_remarks;
    if (n == 0)
        return DW_OK;
    struct entry *entries = malloc(n * sizeof *entries);
    struct dw_remark *sorted = malloc(n * sizeof *sorted);
    bool good = entries && sorted;
    for (size_t i = 0; good && i < n; i++) {
        const struct dw_remark *remark = &report->remarks[i];
        entries[i] = (struct entry){remark, i, strcmp(remark->what.file, main_file) == 0};
    }
    if (good)
        qsort(entries, n, sizeof *entries, compare);
    for (size_t i = 0; good && i < n; i++)
        sorted[i] = *entries[i].remark;
    if (good)
        memcpy(report->remarks, sorted, n * sizeof *sorted);
    free(entries);
    free(sorted);
    return good ? DW_OK : DW_ERR_NOMEM;
}
