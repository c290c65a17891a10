/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tasks: looked at, stopped. */
#include "web/app.h"

#include <stdlib.h>

static void put_task(struct dw_out *out, const struct dw_task_view *view)
{
    static const char *const words[] = {[DW_TASK_FREE] = "unknown",
                                        [DW_TASK_WAITS] = "waits",
                                        [DW_TASK_RUNS] = "runs",
                                        [DW_TASK_DONE] = "done",
                                        [DW_TASK_FAILED] = "failed"};
    bool told = view->error.code == DW_ERR_INPUT || view->error.code == DW_ERR_LIMIT ||
                view->error.code == DW_ERR_STATE || view->error.code == DW_ERR_HELD ||
                view->error.code == DW_ERR_NOTFOUND || view->error.code == DW_ERR_BUSY ||
                view->error.code == DW_ERR_RANGE;
    dw_out__open(out, NULL, '{');
    dw_out__text(out, "state", words[view->state]);
    dw_out__yes(out, "stopping", view->stopping);
    dw_out__int(out, "elapsed_ms", view->elapsed_ms);
    if (view->known) {
        dw_out__int(out, "groups_done", (int64_t)view->progress.groups_done);
        dw_out__int(out, "n_groups", (int64_t)view->progress.n_groups);
        dw_out__money(out, "value", view->progress.value);
        dw_out__money(out, "bound", view->progress.bound);
    }
    dw_out__raw(out, "result", view->result);
    if (view->state == DW_TASK_FAILED)
        dw_out__text(out, "error", told ? view->error.text : dw_err_text(view->error.code));
    dw_out__close(out, '{');
}

dw_err dw_api__task(struct dw_web_call *call)
{
    struct dw_task_view view = {0};
    int64_t id = 0;
    dw_err err = dw_call__number(call, 0, &id);
    if (!err)
        err = dw_tasks__look(&call->app->tasks, id, &view, &call->error);
    if (!err)
        put_task(&call->out, &view);
    free(view.result);
    return err;
}

dw_err dw_api__task_stop(struct dw_web_call *call)
{
    int64_t id = 0;
    dw_err err = dw_call__number(call, 0, &id);
    if (!err)
        err = dw_tasks__stop(&call->app->tasks, id, &call->error);
    return err ? err : dw_api__task(call);
}
