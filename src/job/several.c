/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Writes several files, all or none. */
#include "job/several.h"

#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

char *dw_several__name(const char *path, const char *part)
{
    struct dw_buf name = {0};
    const char *dot = strrchr(path, '.');
    if (!part || !dot)
        dw_buf__put(&name, path);
    else
        dw_buf__format(&name, "%.*s-%s%s", (int)(dot - path), path, part, dot);
    return dw_buf__take(&name);
}

static dw_err refuse_existing(const struct dw_several_file *files, size_t n, struct dw_error *error)
{
    struct stat there;
    for (size_t i = 0; i < n; i++)
        if (lstat(files[i].name, &there) == 0)
            return dw_error__at(error, DW_ERR_EXISTS, files[i].name, 0, 0,
                                "the file exists and is left as it is; name another or allow "
                                "replacing");
    return DW_OK;
}

dw_err dw_several__write(const struct dw_several_file *files, size_t n, bool replace,
                         struct dw_error *error)
{
    dw_err err = DW_OK;
    for (size_t i = 0; i < n; i++)
        if (!files[i].name)
            return dw_error__nomem(error);
    if (!replace)
        err = refuse_existing(files, n, error);
    size_t done = 0;
    for (; err == DW_OK && done < n; done += err == DW_OK)
        err = dw_file__write(files[done].name, files[done].bytes, files[done].n, replace, error);
    while (err != DW_OK && done > 0)
        unlink(files[--done].name);
    return err;
}
