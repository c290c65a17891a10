/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the files of the cut sheet call a bar and its material. */
#include "draw/sheet.h"
#include "model/saw.h"

#include <inttypes.h>

static const char *source_text(const struct dw_supply *supply)
{
    switch (supply->source) {
    case DW_SOURCE_SHELF:
        return "shelf bar";
    case DW_SOURCE_OFFCUT:
        return "offcut";
    default:
        return "new bar";
    }
}

void dw_sheet__take(struct dw_buf *buf, const struct dw_cut_sheet *sheet,
                    const struct dw_supply *supply, int64_t count)
{
    dw_buf__format(
        buf, "%" PRId64 " × %s %s, %s%s%s%s%s%s%s", count, source_text(supply), supply->id,
        dw_draw__length(sheet->job, supply->measured ? supply->measured : supply->length).text,
        supply->place ? ", at " : "", supply->place ? supply->place : "",
        supply->mark ? ", mark " : "", supply->mark ? supply->mark : "",
        supply->owner ? ", owner " : "", supply->owner ? supply->owner : "");
}

void dw_sheet__to_come(struct dw_buf *buf, const struct dw_cut_sheet *sheet,
                       const struct dw_layout *layout)
{
    int64_t n = 0;
    for (int64_t i = 0; sheet->to_come && i < layout->count; i++)
        n += sheet->to_come[layout->bar + i - 1];
    if (n == 0)
        return;
    dw_buf__put(buf, "still to come");
    const char *lead = n == 1 ? ": bar " : ": bars ";
    for (int64_t i = 0; n < layout->count && i < layout->count; i++) {
        int64_t first = i;
        while (i < layout->count && sheet->to_come[layout->bar + i - 1])
            i++;
        if (i == first)
            continue;
        dw_buf__put(buf, lead);
        dw_saw__numbers(buf, layout->bar + first, i - first);
        lead = ", ";
    }
}
