/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the files of the cut sheet call a bar and its material. */
#include "draw/sheet.h"

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

const char *dw_sheet__material(const struct dw_job *job, size_t material)
{
    const struct dw_material *m = &job->materials[material];
    return m->name ? m->name : m->id;
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
