/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A page of text for a person: width, colour, character set, units, and tables that fit. */
#ifndef DW_CLI_TERMINAL_PAGE_H
#define DW_CLI_TERMINAL_PAGE_H

#include "cli/cli.h"

enum dw_cli_tone { DW_CLI_PLAIN, DW_CLI_STRONG, DW_CLI_QUIET, DW_CLI_GOOD, DW_CLI_CARE };

#define DW_CLI_NO_BREAK "\u00a0" /* keeps words on one line; comes out as a blank */

struct dw_cli_page {
    struct dw_buf buf;
    size_t width; /* columns, 20..400 */
    bool color;
    bool utf8;                     /* the terminal's character set; else plain ASCII comes out */
    struct dw_length_style length; /* without a unit of its own in tables: .bare */
    char currency[4];
    bool rounded; /* a length was printed rounded */
};

/* Width, colour and character set from options, environment and terminal. Says what is wrong. */
enum dw_cli_status dw_cli__page_init(const struct dw_cli_args *args, struct dw_cli_page *page);
/* Units and currency from the job, unless options say otherwise. */
enum dw_cli_status dw_cli__page_job(const struct dw_cli_args *args, const struct dw_job *job,
                                    struct dw_cli_page *page);
/* The page's text as it is to be written, yours to free; NULL: no memory, which is said. */
char *dw_cli__page_take(struct dw_cli_page *page);
/* Writes the page out and frees it. */
enum dw_cli_status dw_cli__page_end(struct dw_cli_page *page);
void dw_cli__page_free(struct dw_cli_page *page);

/* Text that the program wrote, as it is. */
void dw_cli__put(struct dw_cli_page *page, const char *text);
void dw_cli__newline(struct dw_cli_page *page);
/* Begins a tone; DW_CLI_PLAIN ends it. */
void dw_cli__tone(struct dw_cli_page *page, enum dw_cli_tone tone);
void dw_cli__spaces(struct dw_cli_page *page, size_t n);
/* Bytes of text[0..n) that go on a line of `width` columns, broken at a blank where there is one;
 * at least one character. *next is where the following line begins. */
size_t dw_cli__fit(const char *text, size_t n, size_t width, size_t *next);
/* A heading with an empty line before it. */
void dw_cli__heading(struct dw_cli_page *page, const char *text);
/* A paragraph folded at blanks to the width; the first line begins with `lead`, the others are
 * indented as far. A word that is wider than the line is broken. */
void dw_cli__fold(struct dw_cli_page *page, enum dw_cli_tone tone, const char *lead,
                  const char *text);

/* The same with the other lines indented by `hang`. */
void dw_cli__hang(struct dw_cli_page *page, enum dw_cli_tone tone, const char *lead, size_t hang,
                  const char *text);
/* The same as dw_cli__fold with a text that was gathered in a buffer; empties it. */
void dw_cli__fold_buf(struct dw_cli_page *page, enum dw_cli_tone tone, const char *lead,
                      struct dw_buf *text);

/* Text of the user, made fit to print: control characters and what turns the reading direction
 * become '?', ill-formed bytes too. Appends to buf. */
void dw_cli__clean(struct dw_buf *buf, const char *text);

/* --- tables ------------------------------------------------------------------------------------
 */

#define DW_CLI_COLUMNS_MAX 8

struct dw_cli_column {
    const char *title; /* over the column; NULL = none */
    const char *say;   /* before the cell where rows are blocks; NULL = nothing */
    bool right;        /* flush right: figures */
    bool point;        /* figures stand with their decimal points in line */
    bool fold;         /* takes what is left of the width and folds; one a table */
    size_t narrow;     /* where the table does not fit, folded down to this width; 0 = never */
    bool own_line;     /* begins a line where rows are blocks */
};

/* Cells are collected, then laid out at once. */
struct dw_cli_table {
    size_t n_columns;
    const struct dw_cli_column *columns;
    size_t indent;
    size_t n_cells;
    size_t capacity;
    char **cells; /* length n_cells, row by row, owned */
    bool failed;
};

void dw_cli__cell(struct dw_cli_table *table, const char *text);
void dw_cli__cell_format(struct dw_cli_table *table, const char *format, ...)
    __attribute__((format(printf, 2, 3)));
/* Takes the text of a buffer, which is then empty. */
void dw_cli__cell_buf(struct dw_cli_table *table, struct dw_buf *text);
/* Lays the table out on the page and frees it. Columns without text are left out. Where the columns
 * do not fit, every row becomes a block of running text. */
void dw_cli__table_end(struct dw_cli_page *page, struct dw_cli_table *table);

/* --- quantities ----------------------------------------------------------------------------------
 */

/* Each returns `out`, so that it can stand in a format's arguments. */
struct dw_cli_text {
    char text[64];
};
struct dw_cli_text dw_cli__length(struct dw_cli_page *page, dw_length length); /* with unit */
/* With unit, exactly where the page's fractions do not suffice but finer ones do: for the saw. */
struct dw_cli_text dw_cli__fine(struct dw_cli_page *page, dw_length length);
struct dw_cli_text dw_cli__figure(struct dw_cli_page *page, dw_length length); /* bare */
struct dw_cli_text dw_cli__length_title(const struct dw_cli_page *page);       /* "length, mm" */
struct dw_cli_text dw_cli__long(struct dw_cli_page *page, dw_length length);   /* m or ft */
struct dw_cli_text dw_cli__money(const struct dw_cli_page *page, dw_money amount);
struct dw_cli_text dw_cli__amount(const struct dw_cli_page *page, dw_money amount); /* bare */
/* "EUR"; "money" where there is no currency. */
const char *dw_cli__money_title(const struct dw_cli_page *page);
/* part / whole in percent with one decimal. */
struct dw_cli_text dw_cli__percent(int64_t part, int64_t whole);
/* "1 bar", "3 bars" */
struct dw_cli_text dw_cli__count(int64_t n, const char *one, const char *many);

#endif
