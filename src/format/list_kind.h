/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Kinds of lists, known by their headings, and which columns were said to be which in each.
 *
 * They are kept as a text: a line "dropwise lists 1", then a line a kind, the latest first: what
 * the list holds, its headings, its columns, with tabs between. */
#ifndef DW_FORMAT_LIST_KIND_H
#define DW_FORMAT_LIST_KIND_H

#include "base/base.h"

#include <dropwise/list.h>

/* What `kept` says of the columns of a list: of the first kind whose headings are those of one of
 * its first rows. *columns is yours; NULL if no kind is like it. `kept` that is no such text knows
 * nothing. Errors are those of reading the file. */
dw_err dw_list_kind__recall(const char *kept, const struct dw_list_source *source, char **columns,
                            struct dw_error *error);

/* `kept` (NULL: nothing yet) with source->columns for lists with the headings of this one, which
 * was read. *text is yours; NULL if it stays as it is, or if the list has no headings to know it
 * by. */
dw_err dw_list_kind__keep(const char *kept, const struct dw_list_source *source,
                          const struct dw_list *list, char **text, struct dw_error *error);
/* `kept` without what dw_list_kind__recall finds; NULL if that is nothing. */
dw_err dw_list_kind__forget(const char *kept, const struct dw_list_source *source, char **text,
                            struct dw_error *error);

#endif
