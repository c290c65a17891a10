/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Threads, processes and files without a name where a browser has none: what would run beside the
 * caller runs in its place. Linked into dropwise.html instead of base/apart.c and of the C
 * library's. */
#include "base/apart.h"

#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>

/* --- threads ---------------------------------------------------------------------------------- */

int pthread_create(pthread_t *restrict thread, const pthread_attr_t *restrict attributes,
                   void *(*work)(void *), void *restrict user)
{
    (void)attributes;
    *thread = (pthread_t)0;
    work(user);
    return 0;
}

int pthread_join(pthread_t thread, void **result)
{
    (void)thread;
    if (result)
        *result = NULL;
    return 0;
}

/* --- a process of its own --------------------------------------------------------------------- */

static struct dw_buf *sent; /* what the work at hand sends; works do not nest */

void dw_apart__send(struct dw_apart *to, const void *bytes, size_t n)
{
    (void)to;
    dw_buf__add(sent, bytes, n);
}

void dw_apart__goes_on(void)
{
}

_Noreturn void dw_apart__give_up(struct dw_apart *to, dw_err err, const struct dw_error *error)
{
    (void)to;
    (void)err;
    (void)error;
    abort();
}

dw_err dw_apart__run(dw_apart_work *work, void *user, struct dw_buf *out, struct dw_error *error)
{
    struct dw_apart to = {-1};
    struct dw_error why = {0};
    sent = out;
    dw_err err = work(&to, user, &why);
    if (!err && out->failed)
        return dw_error__nomem(error);
    if (err && error && error->code == DW_OK)
        *error = why;
    return err;
}

/* --- files ------------------------------------------------------------------------------------ */

#define SCRATCH "/tmp/scratch"

/* It keeps its name, by which a library can open it; the next one takes its place. */
FILE *tmpfile(void)
{
    remove(SCRATCH);
    return fopen(SCRATCH, "w+");
}

void dw_apart__name(FILE *file, char out[DW_APART_NAME])
{
    (void)file;
    snprintf(out, DW_APART_NAME, SCRATCH);
}
