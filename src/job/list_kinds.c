/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The shop's file of the kinds of lists. */
#include "job/list_kinds.h"
#include "format/list_kind.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define FILE_MOST ((size_t)1 << 20)

/* *kept is NULL where there is no file. */
static dw_err read_kept(const char *path, char **kept, struct dw_error *error)
{
    size_t n = 0;
    *kept = NULL;
    return access(path, F_OK) == 0 ? dw_file__read_regular(path, FILE_MOST, kept, &n, error)
                                   : DW_OK;
}

dw_err dw_list_kinds__recall(const char *path, const struct dw_list_source *source, char **columns,
                             struct dw_error *error)
{
    char *kept = NULL;
    *columns = NULL;
    dw_err err = read_kept(path, &kept, error);
    if (!err && kept)
        err = dw_list_kind__recall(kept, source, columns, error);
    free(kept);
    return err;
}

dw_err dw_list_kinds__keep(const char *path, const struct dw_list_source *source,
                           const struct dw_list *list, bool *changed, struct dw_error *error)
{
    char *kept = NULL, *text = NULL;
    *changed = false;
    dw_err err = read_kept(path, &kept, error);
    if (!err)
        err = list ? dw_list_kind__keep(kept, source, list, &text, error)
                   : dw_list_kind__forget(kept, source, &text, error);
    if (!err && text)
        err = dw_file__write(path, text, strlen(text), true, error);
    *changed = !err && text;
    free(kept);
    free(text);
    return err;
}
