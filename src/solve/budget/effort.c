/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Booking work, and asking limit, clock and user whether to stop. */
#include "solve/budget/effort.h"

#define LATE_MS 300

static int64_t now_ms(const struct dw_effort *effort)
{
    const struct dw_hooks *hooks = effort->hooks;
    return hooks && hooks->now_ms ? hooks->now_ms(hooks->user) : 0;
}

static bool is_called_off(const struct dw_effort *effort)
{
    const struct dw_hooks *hooks = effort->hooks;
    return (hooks && hooks->stop && hooks->stop(hooks->user)) ||
           (effort->whole && dw_effort__spend(effort->whole, 0)) ||
           (effort->deadline_ms > 0 && now_ms(effort) >= effort->deadline_ms);
}

bool dw_effort__spend(struct dw_effort *effort, int64_t work)
{
    effort->work += work;
    if (effort->limit > 0 && effort->work >= effort->limit)
        effort->stopped = true;
    if (!effort->stopped && is_called_off(effort)) {
        effort->stopped = effort->timed = true;
        effort->stopped_ms = now_ms(effort);
    }
    return effort->stopped;
}

struct dw_effort dw_effort__part(struct dw_effort *whole, int64_t most)
{
    int64_t left = whole->limit > 0 ? whole->limit - whole->work : most;
    if (whole->limit > 0 && most > 0 && most < left)
        left = most;
    return (struct dw_effort){.whole = whole, .limit = whole->limit > 0 && left < 1 ? 1 : left};
}

bool dw_effort__late(struct dw_effort *effort)
{
    dw_effort__spend(effort, 0);
    if (!effort->timed)
        return false;
    int64_t now = now_ms(effort);
    return now - effort->stopped_ms >= LATE_MS ||
           (effort->overtime_ms > 0 && now >= effort->overtime_ms);
}

bool dw_effort__stop(void *effort)
{
    return dw_effort__spend(effort, 0);
}
