/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "solve/effort.h"

bool dw_effort__spend(struct dw_effort *effort, int64_t work)
{
    const struct dw_hooks *hooks = effort->hooks;
    effort->work += work;
    if (effort->limit > 0 && effort->work >= effort->limit)
        effort->stopped = true;
    if (!effort->stopped && hooks && hooks->stop && hooks->stop(hooks->user))
        effort->stopped = true;
    if (!effort->stopped && effort->deadline_ms > 0 && hooks && hooks->now_ms &&
        hooks->now_ms(hooks->user) >= effort->deadline_ms)
        effort->stopped = true;
    return effort->stopped;
}

bool dw_effort__stop(void *effort)
{
    return dw_effort__spend(effort, 0);
}
