/* SPDX-License-Identifier: GPL-3.0-or-later */
/* dropwise shelf: the table of its commands. */
#include "cli/shelf/parts.h"

static const struct dw_cli_command *const parts[] = {
#define DW_CLI_SHELF_ROW(name) &dw_cli__shelf_##name,
    DW_CLI_SHELF_LIST(DW_CLI_SHELF_ROW)
#undef DW_CLI_SHELF_ROW
};

const struct dw_cli_command dw_cli__cmd_shelf = {
    .name = "shelf",
    .operands = "...",
    .summary = "keep bars and offcuts: where they are, who holds them, what became of them",
    .about = "The shelf is a ledger of whole bars and offcuts in one file. Every change is booked "
             "in a history that is never rewritten, and the last step can be undone. Several "
             "people may use it at once: a piece is promised to one plan only.\n\n"
             "A day at the shelf: `dropwise plan JOB --from-shelf --hold` plans with what lies "
             "there and holds it; `dropwise shelf cut PLAN BAR` books each bar at the saw; "
             "`dropwise miscut` when one went wrong; `dropwise shelf find LENGTH` when a piece is "
             "wanted.",
    .least = 0,
    .most = -1,
    .n_parts = DW_COUNT(parts),
    .parts = parts,
};
