/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Help, manual and words for completion, all made from the table of commands. */
#ifndef DW_CLI_COMMANDS_MANUAL_H
#define DW_CLI_COMMANDS_MANUAL_H

#include "cli/terminal/page.h"

/* The page of a command, or with NULL that of the program: section 1, in the man macros of troff.
 */
void dw_cli__manual(struct dw_buf *out, const struct dw_cli_command *program,
                    const struct dw_cli_command *command);

/* An example of the manual. */
struct dw_cli_example {
    const char *command; /* on whose page it stands */
    const char *line;
    const char *what; /* begins small, no full stop */
};
/* The i-th; NULL past the last. */
const struct dw_cli_example *dw_cli__example(size_t i);

/* Lines "word<TAB>what it is" that may follow. topic NULL: the commands; else the options and parts
 * of that command; with an option's name, the words it takes. */
void dw_cli__words(struct dw_buf *out, const struct dw_cli_command *program, const char *topic,
                   const char *option);

/* The same for a whole line: words[0..n) that are typed, after the program's name. A line "*.yaml"
 * is an ending of files, "*" any file. What can't be read, as a shelf that is not there, gives
 * nothing. */
void dw_cli__next(struct dw_buf *out, const struct dw_cli_command *program,
                  const char *const *words, size_t n);

/* The command that "plan" or "shelf add" means; NULL if none. */
const struct dw_cli_command *dw_cli__topic(const struct dw_cli_command *program, const char *path);

/* "  -o, --output PLAN.json" */
void dw_cli__option_form(struct dw_buf *out, const struct dw_cli_option *option);

/* X(status, what it means): the exit statuses as help and manual list them. */
#define DW_CLI_STATUS_LIST(X)                                                                      \
    X(0, "done: planned, verified, no mistake")                                                    \
    X(1, "not enough tube; what is missing and what would cure it is said")                        \
    X(2, "bad input or usage; nothing was written")                                                \
    X(3, "failure: a file can't be read or written, no memory, a fault")

#endif
