/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From lines to tubes, stage by stage. */
#include "drawing/wire.h"

#include <math.h>
#include <stdlib.h>

static void set_flat(struct dw_sketch *sketch)
{
    sketch->flat = true;
    for (size_t w = 0; w < sketch->n_wires; w++) {
        const struct dw_wire *wire = &sketch->wires[w];
        bool lying = !wire->arc || fabsl(fabsl(wire->normal.at[2]) - 1) < 1e-6L;
        for (int e = 0; e < 2; e++)
            if (!lying ||
                llabs(wire->ends[e].at[2] - sketch->wires[0].ends[0].at[2]) > DW_SKETCH_SAME)
                sketch->flat = false;
    }
}

dw_err dw_wires__join(struct dw_sketch *sketch, bool one_tube, struct dw_report *report)
{
    struct dw_passes passes = {0};
    size_t *partners = calloc(2 * sketch->n_wires + 1, sizeof *partners);
    dw_err err = partners ? DW_OK : DW_ERR_NOMEM;
    set_flat(sketch);
    if (!err)
        err = dw_wires__short(sketch, report);
    if (!err)
        err = dw_wires__meet(sketch, report);
    if (!err)
        err = dw_wires__twice(sketch, report);
    if (!err)
        err = dw_wires__pass(sketch, &passes, report);
    if (!err)
        err = dw_meetings__make(sketch, &passes, one_tube, partners, report);
    if (!err)
        err = dw_tubes__make(sketch, partners);
    if (!err)
        err = dw_tubes__ends(sketch);
    free(passes.passes);
    free(partners);
    return err;
}
