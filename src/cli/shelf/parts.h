/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The commands under `dropwise shelf`. */
#ifndef DW_CLI_SHELF_PARTS_H
#define DW_CLI_SHELF_PARTS_H

#include "cli/shelf/shelf.h"

/* X(name): in the order that help lists them. */
#define DW_CLI_SHELF_LIST(X)                                                                       \
    X(add)                                                                                         \
    X(list)                                                                                        \
    X(find)                                                                                        \
    X(move)                                                                                        \
    X(scrap)                                                                                       \
    X(surplus)                                                                                     \
    X(count)                                                                                       \
    X(labels)                                                                                      \
    X(history)                                                                                     \
    X(hold)                                                                                        \
    X(release)                                                                                     \
    X(deliver)                                                                                     \
    X(cut)                                                                                         \
    X(undo)                                                                                        \
    X(plans)                                                                                       \
    X(material)                                                                                    \
    X(rules)                                                                                       \
    X(import)                                                                                      \
    X(export)                                                                                      \
    X(backup)                                                                                      \
    X(restore)                                                                                     \
    X(check)

#define DW_CLI_SHELF_DECLARE(name) extern const struct dw_cli_command dw_cli__shelf_##name;
DW_CLI_SHELF_LIST(DW_CLI_SHELF_DECLARE)
#undef DW_CLI_SHELF_DECLARE

#endif
