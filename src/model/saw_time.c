/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How long a plan keeps the saw busy, what that is worth, and the sentence that says so. */
#include "model/model.h"

#include "base/base.h"
#include "units/out.h"

#include <inttypes.h>
#include <stdio.h>

/* Settings of the stop in one bar of a layout, the one before it being at `last`; *last: at the
 * end. */
static int64_t settings_of(const struct dw_layout *layout, dw_length *last)
{
    int64_t n = 0;
    for (size_t i = 0; i < layout->n_pieces; i++) {
        n += layout->pieces[i].length != *last;
        *last = layout->pieces[i].length;
    }
    return n;
}

/* The first bar comes behind another layout, the others behind one like themselves. */
static int64_t stops_of(const struct dw_plan *plan)
{
    int64_t stops = 0;
    dw_length last = 0;
    for (size_t i = 0; i < plan->n_layouts; i++) {
        stops += settings_of(&plan->layouts[i], &last);
        stops += (plan->layouts[i].count - 1) * settings_of(&plan->layouts[i], &last);
    }
    return stops;
}

void dw_plan_time(const struct dw_job *job, const struct dw_plan *plan, struct dw_saw_time *out)
{
    const struct dw_saw *saw = &job->saw;
    *out = (struct dw_saw_time){.n_cuts = plan->totals.n_cuts, .n_stops = stops_of(plan)};
    for (size_t i = 0; i < plan->n_layouts; i++) {
        const struct dw_layout *layout = &plan->layouts[i];
        bool offcut = job->supplies[layout->supply].source == DW_SOURCE_OFFCUT;
        *(offcut ? &out->n_offcuts : &out->n_bars) += layout->count;
    }
    const int64_t counts[] = {out->n_cuts, out->n_bars, out->n_offcuts, out->n_stops};
    const int64_t each[] = {saw->cut_ms, saw->bar_ms, saw->offcut_ms, saw->stop_ms};
    bool ok = true;
    for (size_t i = 0; i < DW_COUNT(counts); i++) {
        int64_t ms = 0;
        ok = ok && dw_mul__i64(counts[i], each[i], &ms) && dw_add__i64(out->ms, ms, &out->ms);
    }
    if (!ok || !dw_muldiv__i64(out->ms, saw->rate, INT64_C(3600000), &out->worth))
        *out = (struct dw_saw_time){0};
}

/* "40 s", "2.5 min" */
static void put_each(struct dw_buf *buf, int64_t ms)
{
    bool minutes = ms >= 60000;
    int64_t thousandths = minutes ? ms / 60 : ms;
    int digits = 3;
    int64_t part = thousandths % 1000;
    dw_buf__format(buf, "%" PRId64, thousandths / 1000);
    while (part > 0 && part % 10 == 0) {
        part /= 10;
        digits--;
    }
    if (part > 0)
        dw_buf__format(buf, ".%0*" PRId64, digits, part);
    dw_buf__put(buf, minutes ? " min" : " s");
}

static void put_sum(struct dw_buf *buf, int64_t ms)
{
    int64_t minutes = (ms + 59999) / 60000;
    if (minutes >= 60)
        dw_buf__format(buf, "%" PRId64 " h ", minutes / 60);
    dw_buf__format(buf, "%" PRId64 " min", minutes % 60);
}

static void put_row(struct dw_buf *buf, bool *first, int64_t n, const char *one, const char *many,
                    int64_t ms)
{
    if (n == 0 || ms == 0)
        return;
    dw_buf__format(buf, "%s%" PRId64 " %s at ", *first ? "" : ", ", n, n == 1 ? one : many);
    put_each(buf, ms);
    *first = false;
}

void dw_saw_time__say(struct dw_buf *buf, const struct dw_job *job, const struct dw_saw_time *time)
{
    const struct dw_saw *saw = &job->saw;
    char money[DW_MONEY_TEXT], rate[DW_MONEY_TEXT];
    bool first = true;
    if (time->ms == 0)
        return;
    put_sum(buf, time->ms);
    dw_buf__put(buf, " at the saw: ");
    put_row(buf, &first, time->n_cuts, "cut", "cuts", saw->cut_ms);
    put_row(buf, &first, time->n_bars, "bar taken up", "bars taken up", saw->bar_ms);
    put_row(buf, &first, time->n_offcuts, "offcut taken up", "offcuts taken up", saw->offcut_ms);
    put_row(buf, &first, time->n_stops, "setting of the stop", "settings of the stop",
            saw->stop_ms);
    if (saw->rate > 0) {
        dw_money_print(money, time->worth, job->currency, false);
        dw_money_print(rate, saw->rate, job->currency, true);
        dw_buf__format(buf, "; worth %s at %s an hour", money, rate);
    }
    dw_buf__put(buf, ".");
    if (saw->rate > 0 && saw->stop_ms > 0 && time->n_stops > 0)
        dw_buf__put(buf, " The stop's time is not in the plan's money.");
}

void dw_saw_time__put(struct dw_out *out, const struct dw_job *job, const struct dw_plan *plan)
{
    struct dw_saw_time time;
    struct dw_buf text = {0};
    dw_plan_time(job, plan, &time);
    if (time.ms == 0)
        return;
    dw_saw_time__say(&text, job, &time);
    dw_out__open(out, "saw time", '{');
    dw_out__int(out, "ms", time.ms);
    dw_out__int(out, "stops", time.n_stops);
    dw_out__money(out, "worth", time.worth);
    dw_out__text(out, "text", text.text);
    dw_out__close(out, '{');
    out->buf->failed = out->buf->failed || text.failed;
    dw_buf__free(&text);
}
