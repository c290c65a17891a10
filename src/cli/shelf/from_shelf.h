/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Planning with what is on the shelf: the options --from-shelf and --hold. */
#ifndef DW_CLI_SHELF_FROM_SHELF_H
#define DW_CLI_SHELF_FROM_SHELF_H

#include "cli/shelf/shelf.h"

#define DW_CLI_FROM_SHELF_OPTIONS                                                                  \
    {"from-shelf", 0, NULL, NULL, "use what is on the shelf too"},                                 \
        {"hold", 0, NULL, NULL, "hold what the plan takes from the shelf for it"},                 \
        {"again", 0, NULL, NULL, "hold it though a plan of this job is held already"},             \
        DW_CLI_ACT_OPTIONS

struct dw_cli_from_shelf {
    bool used;
    struct dw_cli_shelf shelf;
    struct dw_shelf_found found;
    int64_t plan; /* under which it is held; 0 = it is not */
    int64_t step;
};

/* Whether the options ask for the shelf: --from-shelf, --shelf or --hold. */
bool dw_cli__from_shelf_asked(const struct dw_cli_args *args);
/* Opens the shelf, if the options ask for it, and offers its pieces to the job. */
enum dw_cli_status dw_cli__from_shelf_supply(const struct dw_cli_args *args, struct dw_job *job,
                                             struct dw_cli_from_shelf *from);
/* Whether --hold is given. */
bool dw_cli__from_shelf_holds(const struct dw_cli_from_shelf *from);
/* With --hold, holds a plan that is feasible, tells it its number, and writes its document to
 * --output: both or neither. */
enum dw_cli_status dw_cli__from_shelf_hold(struct dw_cli_from_shelf *from, const struct dw_job *job,
                                           struct dw_plan *plan);
/* What was offered and what is held. */
void dw_cli__from_shelf_report(const struct dw_cli_from_shelf *from, struct dw_cli_page *page);
void dw_cli__from_shelf_end(struct dw_cli_from_shelf *from);

#endif
