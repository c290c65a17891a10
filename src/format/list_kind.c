/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Recognises a list by its headings. */
#include "format/list_kind.h"
#include "format/heading.h"
#include "grid/grid.h"

#include <stdlib.h>
#include <string.h>

#define FIRST_LINE  "dropwise lists 1\n"
#define ROWS_LOOKED 60  /* headings stand above; see find.c */
#define KINDS_MOST  100 /* that are kept */

/* --- headings --------------------------------------------------------------------------------- */

/* "pos|teil|lange mm|stk" of a row: its cells in order, folded, blank ones too. NULL without
 * memory; nothing for a row of fewer than two words. */
static char *headings_of(const struct dw_grid_row *row)
{
    struct dw_buf text = {0};
    int column = 1;
    size_t words = 0;
    for (size_t i = 0; i < row->n_cells; i++) {
        const struct dw_cell *cell = row->cells[i];
        char folded[DW_HEADING_TEXT];
        if (cell->n == 0)
            continue;
        for (; column < cell->column; column++)
            dw_buf__char(&text, '|');
        dw_buf__put(&text, dw_heading__fold(folded, cell->text, cell->n));
        words += folded[0] != '\0' && !(folded[0] >= '0' && folded[0] <= '9');
    }
    if (words < 2)
        text.n = 0;
    if (text.n == 0)
        dw_buf__free(&text);
    dw_buf__put(&text, "");
    return text.n ? dw_buf__take(&text) : calloc(1, 1);
}

static dw_err read_grid(const struct dw_list_source *source, struct dw_arena **arena,
                        struct dw_grid **grid, struct dw_error *error)
{
    *arena = dw_arena__new();
    if (!*arena)
        return dw_error__nomem(error);
    return dw_grid__read(*arena, source->text, source->n, source->name, grid, error);
}

static bool is_wanted(const struct dw_grid_sheet *sheet, const char *name)
{
    return !name || strcmp(sheet->name, name) == 0;
}

/* --- kinds that are kept ---------------------------------------------------------------------- */

struct kept_kind {
    const char *line; /* all of it, with its end */
    size_t length;
    const char *what, *headings, *columns;
    size_t n_what, n_headings, n_columns;
};

/* The kind at *at, which moves behind it; false at the end or at what is no kind. */
static bool next_kind(const char **at, struct kept_kind *out)
{
    const char *line = *at;
    size_t n = strcspn(line, "\n");
    const char *first = memchr(line, '\t', n);
    const char *second = first ? memchr(first + 1, '\t', (size_t)(line + n - first - 1)) : NULL;
    if (!second || line[n] != '\n')
        return false;
    *out = (struct kept_kind){.line = line,
                              .length = n + 1,
                              .what = line,
                              .n_what = (size_t)(first - line),
                              .headings = first + 1,
                              .n_headings = (size_t)(second - first - 1),
                              .columns = second + 1,
                              .n_columns = (size_t)(line + n - second - 1)};
    *at = line + n + 1;
    return true;
}

static const char *begin(const char *kept)
{
    size_t n = strlen(FIRST_LINE);
    return kept && strncmp(kept, FIRST_LINE, n) == 0 ? kept + n : "";
}

static const char *word_of(enum dw_table_kind kind)
{
    static const char *const words[] = {
#define KIND_WORD(kind, key) [kind] = key,
        DW_TABLE_LIST(KIND_WORD)
#undef KIND_WORD
    };
    return words[kind];
}

static bool is_text(const char *text, size_t n, const char *other)
{
    return strlen(other) == n && memcmp(text, other, n) == 0;
}

/* Columns of the kind with these headings; NULL: none is kept, or no memory. */
static char *find_columns(const char *kept, enum dw_table_kind kind, const char *headings)
{
    struct kept_kind one;
    for (const char *at = begin(kept); next_kind(&at, &one);)
        if (is_text(one.what, one.n_what, word_of(kind)) &&
            is_text(one.headings, one.n_headings, headings))
            return strndup(one.columns, one.n_columns);
    return NULL;
}

/* The first kind that a row of the list's first rows is the headings of: those and its columns,
 * both yours; NULL, nothing. */
static dw_err recognise(const char *kept, const struct dw_list_source *source, char **headings,
                        char **columns, struct dw_error *error)
{
    struct dw_arena *arena = NULL;
    struct dw_grid *grid = NULL;
    *headings = *columns = NULL;
    if (!*begin(kept))
        return DW_OK;
    dw_err err = read_grid(source, &arena, &grid, error);
    for (size_t s = 0; !err && s < grid->n_sheets; s++)
        for (size_t r = 0; !err && !*columns && is_wanted(&grid->sheets[s], source->sheet) &&
                           r < grid->sheets[s].n_rows && r < ROWS_LOOKED;
             r++) {
            free(*headings);
            *headings = headings_of(&grid->sheets[s].rows[r]);
            err = *headings ? DW_OK : dw_error__nomem(error);
            if (*headings && **headings)
                *columns = find_columns(kept, source->kind, *headings);
        }
    dw_arena__free(arena);
    return err;
}

dw_err dw_list_kind__recall(const char *kept, const struct dw_list_source *source, char **columns,
                            struct dw_error *error)
{
    char *headings = NULL;
    dw_err err = recognise(kept, source, &headings, columns, error);
    free(headings);
    return err;
}

/* --- keeping ---------------------------------------------------------------------------------- */

/* The line of the headings: as it was found, else the last one above the first row that is taken.
 */
static int heading_line(const struct dw_list *list)
{
    int above = 0;
    for (size_t i = 0; i < list->n_rows; i++) {
        const char *role = list->rows[i].role;
        if (strcmp(role, dw_row_role_word(DW_ROW_HEADING)) == 0)
            return list->rows[i].line;
        if (strcmp(role, dw_row_role_word(DW_ROW_TAKEN)) == 0)
            return above;
        if (strcmp(role, dw_row_role_word(DW_ROW_ABOVE)) == 0)
            above = list->rows[i].line;
    }
    return 0;
}

static dw_err find_headings(const struct dw_list_source *source, const struct dw_list *list,
                            char **out, struct dw_error *error)
{
    struct dw_arena *arena = NULL;
    struct dw_grid *grid = NULL;
    int line = heading_line(list);
    *out = NULL;
    dw_err err = line ? read_grid(source, &arena, &grid, error) : DW_OK;
    for (size_t s = 0; line && !err && s < grid->n_sheets; s++)
        for (size_t r = 0; !err && !*out && is_wanted(&grid->sheets[s], list->sheet) &&
                           r < grid->sheets[s].n_rows;
             r++)
            if (grid->sheets[s].rows[r].number == line) {
                *out = headings_of(&grid->sheets[s].rows[r]);
                err = *out ? DW_OK : dw_error__nomem(error);
            }
    if (arena)
        dw_arena__free(arena);
    return err;
}

/* The kinds but that one, behind it. */
static void put_others(struct dw_buf *text, const char *kept, enum dw_table_kind kind,
                       const char *headings)
{
    struct kept_kind one;
    size_t n = 1;
    for (const char *at = begin(kept); n < KINDS_MOST && next_kind(&at, &one);) {
        bool same = is_text(one.what, one.n_what, word_of(kind)) &&
                    is_text(one.headings, one.n_headings, headings);
        if (!same)
            dw_buf__add(text, one.line, one.length);
        n += !same;
    }
}

/* The kinds with that one in front, or without it for columns NULL. */
static dw_err put_kinds(const char *kept, enum dw_table_kind kind, const char *headings,
                        const char *columns, char **text, struct dw_error *error)
{
    struct dw_buf buf = {0};
    dw_buf__put(&buf, FIRST_LINE);
    if (columns)
        dw_buf__format(&buf, "%s\t%s\t%s\n", word_of(kind), headings, columns);
    put_others(&buf, kept, kind, headings);
    *text = dw_buf__take(&buf);
    return *text ? DW_OK : dw_error__nomem(error);
}

dw_err dw_list_kind__keep(const char *kept, const struct dw_list_source *source,
                          const struct dw_list *list, char **text, struct dw_error *error)
{
    char *headings = NULL;
    const char *columns = source->columns;
    *text = NULL;
    dw_err err = find_headings(source, list, &headings, error);
    char *known = !err && headings ? find_columns(kept, source->kind, headings) : NULL;
    if (!err && headings && *headings && columns && !strpbrk(columns, "\t\n") &&
        !(known && strcmp(known, columns) == 0))
        err = put_kinds(kept, source->kind, headings, columns, text, error);
    free(known);
    free(headings);
    return err;
}

dw_err dw_list_kind__forget(const char *kept, const struct dw_list_source *source, char **text,
                            struct dw_error *error)
{
    char *headings = NULL, *columns = NULL;
    *text = NULL;
    dw_err err = recognise(kept, source, &headings, &columns, error);
    if (!err && columns)
        err = put_kinds(kept, source->kind, headings, NULL, text, error);
    free(headings);
    free(columns);
    return err;
}
