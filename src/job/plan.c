/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Planning a job; where its plan goes. */
#include <dropwise/work.h>

#include "base/base.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* The folder that a path lies in; free it. NULL: no memory. */
static char *folder_of(const char *path)
{
    const char *slash = strrchr(path, '/');
    size_t n = slash ? (size_t)(slash - path) : 0;
    char *folder = malloc(n + 2);
    if (!folder)
        return NULL;
    if (slash && n == 0)
        memcpy(folder, "/", 2);
    else if (slash)
        snprintf(folder, n + 1, "%s", path);
    else
        memcpy(folder, ".", 2);
    return folder;
}

dw_err dw_job_target(const char *path, bool replace, struct dw_error *error)
{
    struct stat what;
    if (stat(path, &what) == 0 && !S_ISREG(what.st_mode) && !S_ISDIR(what.st_mode))
        return DW_OK; /* a device or pipe is written to as it is */
    if (lstat(path, &what) == 0) {
        if (S_ISDIR(what.st_mode))
            return dw_error__at(error, DW_ERR_INPUT, path, 0, 0,
                                "this is a folder; name a file in it for the plan");
        if (!replace)
            return dw_error__at(error, DW_ERR_EXISTS, path, 0, 0,
                                "the file exists; choose another name or say that it is to be "
                                "replaced");
    }
    char *folder = folder_of(path);
    if (!folder)
        return dw_error__nomem(error);
    dw_err err = DW_OK;
    if (stat(folder, &what) != 0 || !S_ISDIR(what.st_mode))
        err = dw_error__at(error, DW_ERR_NOTFOUND, path, 0, 0,
                           "there is no folder %s to write it to", folder);
    else if (access(folder, W_OK) != 0)
        err =
            dw_error__at(error, DW_ERR_IO, path, 0, 0, "the folder %s can't be written to", folder);
    free(folder);
    return err;
}

dw_err dw_job_plan(const struct dw_job *job, const struct dw_job_request *request,
                   struct dw_plan **out, struct dw_error *error)
{
    *out = NULL;
    dw_err err = request->path ? dw_job_target(request->path, request->replace, error) : DW_OK;
    if (err)
        return err;
    return dw_solve(job, &request->settings, &request->hooks, out, error);
}

dw_err dw_job_put_plan(const struct dw_job *job, const struct dw_job_request *request,
                       const struct dw_plan *plan, struct dw_error *error)
{
    if (!request->path || plan->status == DW_STATUS_INFEASIBLE)
        return DW_OK;
    return dw_plan_write(request->path, job, plan, request->replace, error);
}
