/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Work in a process of its own, so that a caller outlives a library that ends its process, or goes
 * wrong in silence, where memory is short. */
#ifndef DW_BASE_APART_H
#define DW_BASE_APART_H

#include "base/base.h"

#include <stdio.h>

/* Where the child's bytes go. */
struct dw_apart {
    int fd;
};

/* Runs in the child: nothing of it reaches the caller but what it sends, and its error. What the
 * libraries under it print is not shown. */
typedef dw_err dw_apart_work(struct dw_apart *to, void *user, struct dw_error *error);

/* Runs `work` and appends what it sent to *out (failed or not, the caller's to free). Its error, or
 * DW_ERR_NOMEM if the child died of its own, DW_ERR_BUSY if none can be had. Other children of the
 * caller's are not waited for. */
dw_err dw_apart__run(dw_apart_work *work, void *user, struct dw_buf *out, struct dw_error *error);

/* By what name the child can open a file of the caller's that has none, as tmpfile() makes. */
#define DW_APART_NAME 40
void dw_apart__name(FILE *file, char out[DW_APART_NAME]);

/* --- in the child --------------------------------------------------------------------------- */

void dw_apart__send(struct dw_apart *to, const void *bytes, size_t n);
/* Ends the child, from wherever it is, with an error. */
_Noreturn void dw_apart__give_up(struct dw_apart *to, dw_err err, const struct dw_error *error);
/* It goes on. One that does not say so for a minute is ended. */
void dw_apart__goes_on(void);

#endif
