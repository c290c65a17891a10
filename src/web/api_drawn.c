/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From drawn dimensions to cut lengths, fittings and sections; drawings as pictures. */
#include "web/app.h"

#include "job/drawn.h"
#include "job/paper.h"
#include "model/model.h"

#include <stdlib.h>
#include <string.h>

/* {"text": job} */
dw_err dw_api__takeoff(struct dw_web_call *call)
{
    struct dw_job *job = NULL;
    struct dw_drawn_sheet sheet = {0};
    dw_err err = dw_call__job(call, &job);
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

#define PICTURE_MM 240

static dw_err put_picture(struct dw_web_call *call, const struct dw_picture *picture)
{
    struct dw_paper_file file = {0};
    struct dw_buf svg = {0};
    dw_err err = dw_paper__picture(picture, PICTURE_MM, &file, &call->error);
    if (!err) {
        dw_buf__add(&svg, (const char *)file.bytes, file.n);
        dw_out__open(&call->out, NULL, '{');
        dw_out__text(&call->out, "name", picture->name);
        dw_out__text(&call->out, "svg", svg.failed ? "" : svg.text);
        dw_out__close(&call->out, '{');
        call->out.buf->failed |= svg.failed;
    }
    dw_buf__free(&svg);
    free(file.bytes);
    return err;
}

/* {"text": job}: each drawing of it, with the labels of its parts. */
dw_err dw_api__pictures(struct dw_web_call *call)
{
    struct dw_job *job = NULL;
    dw_err err = dw_call__job(call, &job);
    if (!err) {
        dw_out__open(&call->out, NULL, '{');
        dw_out__open(&call->out, "pictures", '[');
        for (size_t i = 0; i < job->n_pictures && !err; i++)
            err = put_picture(call, &job->pictures[i]);
        dw_out__close(&call->out, '[');
        dw_out__close(&call->out, '{');
    }
    dw_job_free(job);
    return err;
}
