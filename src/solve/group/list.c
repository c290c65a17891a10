/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Adding layouts to a list, and taking them off its end. */
#include "solve/group/list.h"

#include <stdlib.h>
#include <string.h>

bool dw_layout_list__add(struct dw_layout_list *list, int64_t bars,
                         const struct dw_type_count *items, size_t n)
{
    if (!dw_array__grow(&list->cuts, &list->room, list->n + 1, sizeof *list->cuts) ||
        !dw_array__grow(&list->items, &list->item_room, list->n_items + n + 1, sizeof *items))
        return false;
    if (n > 0)
        memcpy(list->items + list->n_items, items, n * sizeof *items);
    list->cuts[list->n++] = (struct dw_list_cut){bars, list->n_items, n};
    list->n_items += n;
    return true;
}

bool dw_layout_list__more(struct dw_layout_list *list, size_t type)
{
    struct dw_list_cut *last = &list->cuts[list->n - 1];
    if (last->n > 0 && list->items[list->n_items - 1].type == type) {
        list->items[list->n_items - 1].count++;
        return true;
    }
    if (!dw_array__grow(&list->items, &list->item_room, list->n_items + 1, sizeof *list->items))
        return false;
    list->items[list->n_items++] = (struct dw_type_count){type, 1};
    last->n++;
    return true;
}

void dw_layout_list__cut(struct dw_layout_list *list, size_t n)
{
    if (n < list->n) {
        list->n_items = list->cuts[n].first;
        list->n = n;
    }
}

bool dw_layout_list__copy(struct dw_layout_list *to, const struct dw_layout_list *from)
{
    dw_layout_list__cut(to, 0);
    for (size_t k = 0; k < from->n; k++)
        if (!dw_layout_list__add(to, from->cuts[k].bars, from->items + from->cuts[k].first,
                                 from->cuts[k].n))
            return false;
    return true;
}

int64_t dw_layout_list__bars(const struct dw_layout_list *list)
{
    int64_t bars = 0;
    for (size_t k = 0; k < list->n; k++)
        bars += list->cuts[k].bars;
    return bars;
}

void dw_layout_list__free(struct dw_layout_list *list)
{
    free(list->cuts);
    free(list->items);
    *list = (struct dw_layout_list){0};
}
