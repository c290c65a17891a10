/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What was said of the columns of a kind of list, kept in a file of the shop. */
#ifndef DW_JOB_LIST_KINDS_H
#define DW_JOB_LIST_KINDS_H

#include "base/base.h"

#include <dropwise/list.h>

/* What the file at `path` has of the columns of such a list; a file that is not there has nothing.
 * *columns is yours; NULL = nothing is known. */
dw_err dw_list_kinds__recall(const char *path, const struct dw_list_source *source, char **columns,
                             struct dw_error *error);
/* Keeps source->columns for lists with the headings of this one, which was read; without a list,
 * forgets what is kept for such. *changed: the file was written. */
dw_err dw_list_kinds__keep(const char *path, const struct dw_list_source *source,
                           const struct dw_list *list, bool *changed, struct dw_error *error);

#endif
