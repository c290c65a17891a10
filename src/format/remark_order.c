/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Remarks in the order in which a reader of the files meets their places. */
#include "format/reader.h"

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

/* Cost: O(n log n). */
void dw_reader__sort_remarks(struct dw_reader *reader)
{
    struct dw_report *report = reader->report;
    size_t n = report->n_remarks;
    struct entry *entries = n ? malloc(n * sizeof *entries) : NULL;
    struct dw_remark *sorted = n ? malloc(n * sizeof *sorted) : NULL;
    if (entries && sorted) {
        for (size_t i = 0; i < n; i++) {
            const struct dw_remark *remark = &report->remarks[i];
            bool main_file = strcmp(remark->what.file, reader->job->file) == 0;
            entries[i] = (struct entry){remark, i, main_file};
        }
        qsort(entries, n, sizeof *entries, compare);
        for (size_t i = 0; i < n; i++)
            sorted[i] = *entries[i].remark;
        memcpy(report->remarks, sorted, n * sizeof *sorted);
    } else if (n)
        reader->no_memory = true;
    free(entries);
    free(sorted);
}
