/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "solve/search.h"
#include "solve/dive.h"

dw_err dw_search__run(struct dw_master *master, const struct dw_relax *root,
                      const struct dw_relaxed *solved, struct dw_solution *best, bool *finished,
                      struct dw_error *error)
{
    dw_err code = dw_dive__run(master, root, solved, 0, best, error);
    *finished = code == DW_OK && best->missing == 0 && solved->bound >= best->money;
    return code;
}
