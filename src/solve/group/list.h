/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Layouts as lists of how many pieces of each type: the form of all methods that know lengths and
 * counts alone; plain.h makes columns of them. */
#ifndef DW_SOLVE_GROUP_LIST_H
#define DW_SOLVE_GROUP_LIST_H

#include "base/base.h"

/* Limits of all methods that know lengths and counts alone. */
#define DW_LIST_MAX_CAPACITY (INT64_C(1) << 46)
#define DW_LIST_MAX_PIECES   (INT64_C(1) << 21)

/* a_i = count of type `type` (an index into size); in order of decreasing length. */
struct dw_type_count {
    size_t type;
    int64_t count;
};

struct dw_list_cut {
    int64_t bars;
    size_t first; /* index into items */
    size_t n;
};

/* Layouts in one block of memory. Zero-initialise; end with dw_layout_list__free. */
struct dw_layout_list {
    size_t n, room;
    struct dw_list_cut *cuts; /* length n */
    size_t n_items, item_room;
    struct dw_type_count *items; /* length n_items */
};

bool dw_layout_list__add(struct dw_layout_list *list, int64_t bars,
                         const struct dw_type_count *items, size_t n);
/* One more piece on the last layout. */
bool dw_layout_list__more(struct dw_layout_list *list, size_t type);
/* Keeps the first n layouts. */
void dw_layout_list__cut(struct dw_layout_list *list, size_t n);
bool dw_layout_list__copy(struct dw_layout_list *to, const struct dw_layout_list *from);
int64_t dw_layout_list__bars(const struct dw_layout_list *list);
void dw_layout_list__free(struct dw_layout_list *list);

#endif
