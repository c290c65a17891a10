/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Ground of the command line: the table of commands, their options, and what they say.
 *
 * How to add a command `name`: write commands/name.c with `const struct dw_cli_command
 * dw_cli__cmd_name` and its run function, and add X(name) to DW_CLI_COMMAND_LIST. Help, manual,
 * completion and the check of its options follow from the table. */
#ifndef DW_CLI_H
#define DW_CLI_H

#include "base/base.h"

#include <dropwise/files.h>
#include <dropwise/work.h>
#include <stdio.h>

/* Exit statuses, the same for every command. */
enum dw_cli_status {
    DW_CLI_DONE = 0,    /* planned, verified, done */
    DW_CLI_SHORT = 1,   /* not enough tube */
    DW_CLI_REFUSED = 2, /* bad input or bad usage */
    DW_CLI_FAILED = 3,  /* anything else */
};

/* The status that an error of the library ends in. */
enum dw_cli_status dw_cli__status(dw_err err);
/* The same for the error of a file: one that is not there is a failure. */
enum dw_cli_status dw_cli__file_status(dw_err err);

/* --- the table ------------------------------------------------------------------------------- */

struct dw_cli_option {
    char name[24];       /* long name, without dashes */
    char letter;         /* short name; 0 = none */
    const char *value;   /* what its value is called; NULL = a switch */
    const char *choices; /* the words that may be given, separated by blanks; NULL = anything */
    const char *help;    /* begins small, no full stop */
};

struct dw_cli_args;

/* Options that many commands share. */
enum {
    DW_CLI_SETTINGS = 1, /* those of DW_SETTING_LIST */
    DW_CLI_PAGE = 2,     /* --unit --fractions --width --color: read by dw_cli__page_init */
    DW_CLI_JSON = 4,     /* --json */
};

struct dw_cli_command {
    const char *name;
    const char *operands; /* "JOB [PLAN.json]" */
    const char *summary;  /* one line, begins small, no full stop */
    const char *about;    /* paragraphs separated by an empty line */
    int least;            /* operands */
    int most;             /* -1 = any number */
    unsigned shared;      /* DW_CLI_... */
    size_t n_options;
    const struct dw_cli_option *options; /* its own, length n_options */
    enum dw_cli_status (*run)(const struct dw_cli_args *args);
    size_t n_parts; /* `dropwise NAME PART ...`: a table of its own; run is then NULL */
    const struct dw_cli_command *const *parts; /* length n_parts */
};

/* X(name): the commands in the order that help lists them. */
#define DW_CLI_COMMAND_LIST(X)                                                                     \
    X(new)                                                                                         \
    X(list)                                                                                        \
    X(check)                                                                                       \
    X(plan)                                                                                        \
    X(verify)                                                                                      \
    X(takeoff)                                                                                     \
    X(order)                                                                                       \
    X(quote)                                                                                       \
    X(lengths)                                                                                     \
    X(sheet)                                                                                       \
    X(labels)                                                                                      \
    X(shelf)                                                                                       \
    X(shop)                                                                                        \
    X(posts)                                                                                       \
    X(miscut)                                                                                      \
    X(true)                                                                                        \
    X(serve)                                                                                       \
    X(help)                                                                                        \
    X(version)

#define DW_CLI_COMMAND_DECLARE(name) extern const struct dw_cli_command dw_cli__cmd_##name;
DW_CLI_COMMAND_LIST(DW_CLI_COMMAND_DECLARE)
#undef DW_CLI_COMMAND_DECLARE

/* The part of that name; NULL if there is none. */
const struct dw_cli_command *dw_cli__find(const struct dw_cli_command *parent, const char *name);
/* The part's name nearest to `name` if it is near enough to be meant, else NULL. */
const char *dw_cli__nearest(const struct dw_cli_command *parent, const char *name);

/* The i-th option of a command, own ones first, then shared ones: false past the last. */
bool dw_cli__option(const struct dw_cli_command *command, size_t i, struct dw_cli_option *out);

/* Damerau-Levenshtein distance, adjacent swaps counted once (Lowrance and Wagner 1975, restricted
 * to one edit a place). Texts over 63 bytes are far from everything. Cost: O(n m). */
size_t dw_cli__distance(const char *a, const char *b);

/* --- what was asked for ------------------------------------------------------------------------
 */

struct dw_cli_given {
    struct dw_cli_option option;
    const char *value; /* NULL for a switch */
};

/* X(name, key): what can be set once for all commands that have this option, as `key = value` in
 * the file of settings; the shelf by DROPWISE_SHELF too. What is given with a command goes before.
 */
#define DW_CLI_USUAL_LIST(X)                                                                       \
    X(DW_CLI_USUAL_SHELF, "shelf")                                                                 \
    X(DW_CLI_USUAL_WHO, "who")                                                                     \
    X(DW_CLI_USUAL_PAPER, "paper")                                                                 \
    X(DW_CLI_USUAL_STOCK, "stock")                                                                 \
    X(DW_CLI_USUAL_COLOR, "color")                                                                 \
    X(DW_CLI_USUAL_PORT, "port")
#define DW_CLI_USUAL_WORDS "shelf, who, paper, stock, color, port"

enum dw_cli_usual {
#define DW_CLI_USUAL_ENUM(name, key) name,
    DW_CLI_USUAL_LIST(DW_CLI_USUAL_ENUM)
#undef DW_CLI_USUAL_ENUM
        DW_CLI_N_USUAL
};

struct dw_cli_args {
    const struct dw_cli_command *program; /* its parts are all commands */
    const struct dw_cli_command *command;
    const char *path; /* words before the operands: "plan", "shelf add" */
    size_t n_operands;
    const char **operands; /* length n_operands, borrowed from argv */
    size_t n_given;
    struct dw_cli_given *given; /* length n_given, in the order given */
    struct {
        char *text;                         /* of the file, cut into values */
        const char *values[DW_CLI_N_USUAL]; /* NULL = not set */
    } usual;
};

/* Reads argv[0..n) after the command's words. What is wrong is said on standard error. */
enum dw_cli_status dw_cli__args_read(const struct dw_cli_command *program,
                                     const struct dw_cli_command *command, const char *path,
                                     size_t n, char **argv, struct dw_cli_args *args);
void dw_cli__args_free(struct dw_cli_args *args);
/* Reads what is usual here (DW_CLI_USUAL_LIST) for a command that has such an option; says what is
 * wrong. dw_cli__usual: the value of one, NULL = not set. */
enum dw_cli_status dw_cli__usual_read(struct dw_cli_args *args);
const char *dw_cli__usual(const struct dw_cli_args *args, const char *name);
/* A key by its name name[0..n), and its name. */
bool dw_cli__usual_key(const char *name, size_t n, size_t *key);
const char *dw_cli__usual_name(size_t key);
/* Whether the option was given with the command; its last value, else the usual one, or NULL. */
bool dw_cli__has(const struct dw_cli_args *args, const char *name);
/* Whether an output of the command is the file at `path`, which is read; says so. */
bool dw_cli__writes_over(const struct dw_cli_args *args, const char *path);
const char *dw_cli__value(const struct dw_cli_args *args, const char *name);

/* Whether `value` is one of the words in `choices`. */
bool dw_cli__is_choice(const char *choices, const char *value);
/* A whole number within least..most from an option's value; says what is wrong. */
bool dw_cli__number(const char *option, const char *text, int64_t least, int64_t most,
                    int64_t *out);

/* The rows of a command that writes a file and leaves one that exists alone. */
#define DW_CLI_OUTPUT_OPTIONS(operand, help)                                                       \
    {"output", 'o', operand, NULL, help},                                                          \
    {                                                                                              \
        "replace", 0, NULL, NULL, "replace the file of --output if it exists"                      \
    }

/* --- settings as options ------------------------------------------------------------------------
 */

/* One setting of DW_SETTING_LIST as an option: time_ms is --time in seconds, few_layouts_ppm is
 * --few-layouts in percent, one with the range 0..1 is a switch. */
size_t dw_cli__n_settings(void);
void dw_cli__setting_option(size_t i, struct dw_cli_option *out);
/* Fills settings from defaults and what was given; says what is wrong. */
enum dw_cli_status dw_cli__settings(const struct dw_cli_args *args, struct dw_settings *settings);

/* --- errors on standard error --------------------------------------------------------------------
 */

/* "dropwise: text" */
void dw_cli__complain(const char *format, ...) __attribute__((format(printf, 1, 2)));
/* "file:line:column: text" or "dropwise: text" when it has no file. */
void dw_cli__say_error(const struct dw_error *error);
/* All mistakes, then at most so many doubts, then how many there are. Notes are left out. */
void dw_cli__say_report(const struct dw_report *report, size_t most_doubts);

/* --- reading and writing
 * --------------------------------------------------------------------------- */

/* A document of at most `limit` bytes: the file at `path`, or standard input for "-". The text of
 * standard input is *text, yours to free; for a file it stays NULL. */
struct dw_job_source;
dw_err dw_cli__source(const char *path, struct dw_job_source *source, char **text,
                      struct dw_error *error);
/* DW_CLI_FAILED, and said, for a file that is not there or may not be read. */
enum dw_cli_status dw_cli__there(const char *path);
/* Loads the job that the first operand names and says what is wrong and doubtful on standard error:
 * all mistakes, and so many doubts that they do not bury what else is to be read. Refuses an output
 * that is one of its lists. */
enum dw_cli_status dw_cli__load(const struct dw_cli_args *args, struct dw_job **job,
                                struct dw_report *report);
/* The same with all doubts. */
enum dw_cli_status dw_cli__load_aloud(const struct dw_cli_args *args, struct dw_job **job,
                                      struct dw_report *report);

/* Writes a text to standard output; a failure is said and ends in DW_CLI_FAILED. */
enum dw_cli_status dw_cli__write(const char *text, size_t n);
/* Whether --output, which is given once, is `-`: standard output. */
bool dw_cli__to_stdout(const struct dw_cli_args *args);
/* Writes a text to where --output says: standard output, or a file, which --replace allows to be
 * there. Failures are said. */
enum dw_cli_status dw_cli__put_out(const struct dw_cli_args *args, const char *text, size_t n);

#endif
