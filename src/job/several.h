/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Several files that are written together or not at all. */
#ifndef DW_JOB_SEVERAL_H
#define DW_JOB_SEVERAL_H

#include "base/base.h"

struct dw_several_file {
    char *name; /* yours to free; NULL: no memory */
    const void *bytes;
    size_t n;
};

/* With replace false nothing is written if any of them exists: DW_ERR_EXISTS. Those that are
 * written go again where one can't be. */
dw_err dw_several__write(const struct dw_several_file *files, size_t n, bool replace,
                         struct dw_error *error);

/* "name-bars.csv" of "name.csv" and "bars"; without a `part` the path. Yours to free, NULL without
 * memory. */
char *dw_several__name(const char *path, const char *part);

#endif
