/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A run that may last: clock, stop on Ctrl-C, progress on standard error. */
#ifndef DW_CLI_TERMINAL_RUN_H
#define DW_CLI_TERMINAL_RUN_H

#include "cli/terminal/page.h"

#include <stdatomic.h>

struct dw_cli_run {
    const struct dw_cli_page *page; /* currency and character set */
    bool shown;                     /* standard error is a terminal */
    int64_t start_ms;
    int64_t limit_ms;      /* 0 = none */
    atomic_flag drawing;   /* one thread draws at a time */
    int64_t drawn_ms;      /* when it was drawn last; under `drawing` */
    struct dw_progress at; /* newest; under `drawing` */
    bool known;            /* `at` is filled; under `drawing` */
};

/* Starts the clock and catches SIGINT and SIGTERM: the first asks for a stop, the second ends the
 * program at once. */
void dw_cli__run_start(struct dw_cli_run *run, const struct dw_cli_page *page, int64_t limit_ms);
/* Hooks for the library that point to `run`. */
struct dw_hooks dw_cli__run_hooks(struct dw_cli_run *run);
/* Takes the progress line away and lets signals end the program again. */
void dw_cli__run_end(struct dw_cli_run *run);
/* Whether a signal asked for a stop. */
bool dw_cli__run_stopped(void);

#endif
