/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From drawn dimensions to cut lengths, fittings and sections. */
#include "web/app.h"

#include "job/drawn.h"
#include "model/model.h"

#include <string.h>

/* {"text": job} */
dw_err dw_api__takeoff(struct dw_web_call *call)
{
    const char *text = NULL;
    struct dw_job *job = NULL;
    struct dw_drawn_sheet sheet = {0};
    dw_err err = dw_call__text(call, "text", true, &text);
    if (err)
        return err;
    struct dw_job_source source = {.path = "job", .text = text, .n = strlen(text)};
    err = dw_job_load(&source, &job, &call->report, &call->error);
    if (!err)
        err = dw_drawn_sheet_make(job, &sheet, &call->error);
    if (!err) {
        call->out.style = dw_job__style(job);
        dw_job__drawn_put(&call->out, job, &sheet);
    }
    dw_drawn_sheet_free(&sheet);
    dw_job_free(job);
    return err;
}
