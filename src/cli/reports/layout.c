/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Each cut layout: the bar drawn to scale, stop settings, running marks, what is left. */
#include "cli/reports/report.h"
#include "model/caution.h"
#include "model/saw.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#define DRAWING_MOST 100 /* columns */

/* --- the drawing ---------------------------------------------------------------------------- */

/* Letters that stand for the pieces of a layout: a..z, then A..Z, then none. */
static char letter_of(size_t piece)
{
    if (piece < 26)
        return (char)('a' + piece);
    return piece < 52 ? (char)('A' + piece - 26) : ' ';
}

/* Column of a length on a bar of `width` columns: round(at width / whole). */
static size_t column_of(dw_length at, dw_length whole, size_t width)
{
    int64_t column = 0;
    if (!dw_muldiv__i64(2 * at, (int64_t)width, 2 * whole, &column))
        return 0;
    return column < 0 ? 0 : column > (int64_t)width ? width : (size_t)column;
}

/* Fills cells between two boundaries, the label in the middle, and sets the second boundary. False
 * if nothing could be seen of it. */
static bool draw_segment(char *cells, size_t from, size_t to, char fill, const char *label)
{
    size_t n = strlen(label);
    if (to < from + 2)
        return false;
    memset(cells + from + 1, fill, to - from - 1);
    cells[to] = '|';
    size_t middle = from + (to - from + 1 - n) / 2; /* used only if the label fits */
    for (size_t i = 0; n <= to - from - 1 && i < n; i++)
        cells[middle + i] = label[i];
    return true;
}

/* One row of pieces, marks[0..count): each by itself, or, where that would be too narrow, all in
 * one segment: "40c". `end` is the column of the last one's boundary. */
static bool draw_row(const struct dw_mark *marks, size_t count, dw_length usable, size_t width,
                     size_t from, size_t end, char *cells)
{
    char label[32];
    char letter = letter_of(marks[0].piece);
    size_t at = from;
    bool good = true;
    snprintf(label, sizeof label, "%c", letter);
    for (size_t i = 0; i < count && good; i++) {
        size_t to = i + 1 < count ? column_of(marks[i].running, usable, width) : end;
        good = draw_segment(cells, at, to, '-', letter == ' ' ? "" : label);
        at = to;
    }
    if (good || letter == ' ')
        return good;
    snprintf(label, sizeof label, "%zu%c", count, letter);
    return draw_segment(cells, from, end, '-', label);
}

/* Pieces in '-', an offcut to keep in '=', scrap in '.', boundaries in '|': one character a column,
 * width + 1 of them. False when a row of pieces would be too narrow to be seen. */
static bool draw_cells(const struct dw_job *job, const struct dw_layout *layout,
                       const struct dw_mark *marks, size_t n_marks, size_t width, char *cells)
{
    dw_length usable = dw_supply_usable(&job->supplies[layout->supply]);
    size_t from = 0;
    cells[0] = '|';
    for (size_t i = 0, next = 0; i < n_marks; i = next) {
        while (next < n_marks && marks[next].piece == marks[i].piece)
            next++;
        bool last = next == n_marks && layout->leftover == 0;
        size_t end = last ? width : column_of(marks[next - 1].running, usable, width);
        if (!draw_row(&marks[i], next - i, usable, width, from, end, cells))
            return false;
        from = end;
    }
    if (from < width &&
        !draw_segment(cells, from, width, layout->rest == DW_REST_KEPT ? '=' : '.', ""))
        cells[width] = '|';
    return true;
}

static const char *glyph_of(char cell, size_t i, size_t width)
{
    switch (cell) {
    case '-':
        return "─";
    case '=':
        return "═";
    case '.':
        return "░";
    case '|':
        return i == 0 ? "├" : i == width ? "┤" : "┼";
    default:
        return NULL;
    }
}

static void put_drawing(struct dw_cli_page *page, const struct dw_job *job,
                        const struct dw_layout *layout, const struct dw_mark *marks, size_t n_marks)
{
    char cells[DRAWING_MOST + 1];
    size_t width = page->width - 5 < DRAWING_MOST ? page->width - 5 : DRAWING_MOST;
    memset(cells, '-', sizeof cells);
    if (!draw_cells(job, layout, marks, n_marks, width, cells))
        return;
    dw_cli__put(page, "    ");
    for (size_t i = 0; i <= width; i++) {
        const char *glyph = glyph_of(cells[i], i, width);
        if (glyph)
            dw_cli__put(page, glyph);
        else
            dw_buf__char(&page->buf, cells[i]);
    }
    dw_cli__newline(page);
}

/* --- the pieces ------------------------------------------------------------------------------- */

/* Running marks of one piece, held together by no-break spaces: "1200  2403  3606" */
static void add_marks(struct dw_cli_page *page, struct dw_cli_table *table,
                      const struct dw_mark *marks, size_t n_marks, size_t piece)
{
    struct dw_buf text = {0};
    for (size_t i = 0; i < n_marks; i++) {
        if (marks[i].piece != piece)
            continue;
        if (text.n > 0)
            dw_buf__put(&text, "  ");
        struct dw_cli_text figure = dw_cli__figure(page, marks[i].running);
        for (const char *c = figure.text; *c; c++)
            dw_buf__add(&text, *c == ' ' ? DW_CLI_NO_BREAK : c, *c == ' ' ? 2 : 1);
    }
    dw_cli__cell_buf(table, &text);
}

static const char *use_of(const struct dw_piece *piece, const struct dw_part *part)
{
    switch (piece->use) {
    case DW_USE_POST:
        return ", post";
    case DW_USE_SURPLUS:
        return ", beyond need";
    case DW_USE_PART:
    case DW_USE_BEND_END:
        break;
    }
    return part && part->measure_first ? ", measure first" : "";
}

static void add_piece(struct dw_cli_page *page, const struct dw_job *job,
                      const struct dw_layout *layout, size_t i, struct dw_cli_table *table)
{
    const struct dw_piece *piece = &layout->pieces[i];
    const struct dw_part *part = piece->part == DW_NONE ? NULL : &job->parts[piece->part];
    struct dw_buf text = {0};
    dw_cli__cell_format(table, "%c", letter_of(i));
    dw_cli__cell_format(table, "%" PRId64 " ×", piece->count);
    dw_cli__cell(table, dw_cli__figure(page, piece->length).text);
    dw_buf__put(&text, part && part->label ? part->label : "bend end, scrap");
    dw_buf__put(&text, use_of(piece, part));
    dw_cli__cell_buf(table, &text);
    dw_cli__cell(table, part ? part->section : NULL);
    const char *order = part ? job->orders[part->order].name : NULL;
    dw_cli__cell(table, job->n_orders > 1 ? order : NULL);
}

/* Sentences about the saw, marked as rounded where a length in them is; empties the buffer. */
static void put_words(struct dw_cli_page *page, const char *indent, struct dw_buf *text)
{
    if (text->n == 0)
        return;
    page->rounded = page->rounded || strchr(text->text, '~');
    dw_cli__fold_buf(page, DW_CLI_PLAIN, indent, text);
}

/* Below the table: what is done to the pieces of a row beyond the square cut. */
static void put_saw(struct dw_cli_page *page, const struct dw_saw_piece *piece, int64_t count,
                    char letter)
{
    struct dw_buf text = {0};
    dw_buf__format(&text, "%c, piece%s ", letter, count > 1 ? "s" : "");
    dw_saw__numbers(&text, piece->number, count);
    dw_buf__char(&text, ':');
    size_t start = text.n;
    if (piece->short_of)
        dw_buf__char(&text, ' ');
    dw_caution__hold(&text, piece, &page->length);
    size_t worked = text.n;
    dw_buf__char(&text, ' ');
    dw_saw__work(&text, piece, &page->length);
    if (text.n == worked + 1)
        text.n = worked;
    if (piece->measure_first) {
        dw_buf__put(&text, " Measure first, cut last: ");
        dw_saw__planned_as(&text, piece, &page->length);
        dw_buf__put(&text, ", measured ______.");
    }
    if (piece->remark) {
        dw_buf__put(&text, " Remark: ");
        dw_cli__clean(&text, piece->remark);
    }
    if (text.n > start)
        put_words(page, "    ", &text);
    dw_buf__free(&text);
}

static void put_pieces(struct dw_cli_page *page, const struct dw_job *job,
                       const struct dw_layout *layout, const struct dw_saw_piece *saw,
                       const struct dw_mark *marks, size_t n_marks)
{
    static const struct dw_cli_column columns[] = {
        {.title = NULL},
        {.title = NULL},
        {.title = "stop", .right = true, .point = true},
        {.title = "part"},
        {.title = "section"},
        {.title = "for"},
        {.title = "marks from the datum end", .fold = true, .say = "marks", .own_line = true},
    };
    struct dw_cli_table table = {.n_columns = DW_COUNT(columns), .columns = columns, .indent = 4};
    for (size_t i = 0; i < layout->n_pieces; i++) {
        add_piece(page, job, layout, i, &table);
        add_marks(page, &table, marks, n_marks, i);
    }
    dw_cli__table_end(page, &table);
    for (size_t i = 0; i < layout->n_pieces; i++)
        put_saw(page, &saw[i], layout->pieces[i].count, letter_of(i));
}

/* --- head and rest -------------------------------------------------------------------------------
 */

static void put_note(struct dw_buf *text, const char *what, const char *note)
{
    if (!note)
        return;
    dw_buf__format(text, ", %s ", what);
    dw_cli__clean(text, note);
}

/* "Bars 3 and 4: 2 × bar al38-6, 6000 mm, aluminium 38 x 2", and where it lies, its mark, whose it
 * is */
static void put_head(struct dw_cli_page *page, const struct dw_job *job,
                     const struct dw_layout *layout)
{
    const struct dw_supply *supply = &job->supplies[layout->supply];
    struct dw_buf text = {0};
    if (layout->count == 1)
        dw_buf__format(&text, "Bar %" PRId64 ": ", layout->bar);
    else
        dw_buf__format(&text, "Bars %" PRId64 " to %" PRId64 ": %" PRId64 " × ", layout->bar,
                       layout->bar + layout->count - 1, layout->count);
    dw_cli__supply(&text, supply);
    struct dw_cli_text length = dw_cli__length(page, supply->length);
    if (!supply->id || !strstr(supply->id, length.text)) /* bars without a name have it in theirs */
        dw_buf__format(&text, ", %s", length.text);
    if (supply->measured)
        dw_buf__format(&text, " (measured %s)", dw_cli__length(page, supply->measured).text);
    const struct dw_material *material = &job->materials[supply->material];
    if (job->n_materials > 1 || material->alloy || material->finish) {
        dw_buf__put(&text, ", ");
        dw_cli__material(&text, job, supply->material);
    }
    if (supply->source != DW_SOURCE_NEW)
        put_note(&text, "at", supply->place);
    put_note(&text, "mark", supply->mark);
    put_note(&text, "owner", supply->owner);
    dw_cli__newline(page);
    dw_cli__fold_buf(page, DW_CLI_STRONG, "  ", &text);
    struct dw_length_style style = page->length;
    dw_saw__bar(&text, supply, &style);
    put_words(page, "    ", &text);
}

/* What the last cut leaves: rem = U - S; r = rem - w is left, all of it chips if rem <= w. */
static void put_rest(struct dw_cli_page *page, const struct dw_job *job,
                     const struct dw_layout *layout, dw_length end)
{
    const struct dw_supply *supply = &job->supplies[layout->supply];
    dw_length remainder = dw_supply_usable(supply) - end;
    size_t material = supply->bend > 0 ? supply->tail_material : supply->material;
    struct dw_buf text = {0};
    dw_buf__put(&text, layout->count > 1 ? "left of each: " : "left: ");
    switch (layout->rest) {
    case DW_REST_NONE:
        if (remainder > 0)
            dw_buf__format(&text, "nothing, the last %s become chips",
                           dw_cli__length(page, remainder).text);
        else
            dw_buf__put(&text, "nothing, the last piece ends with the bar");
        break;
    case DW_REST_SCRAP:
        dw_buf__format(&text, "%s, scrap", dw_cli__length(page, layout->leftover).text);
        break;
    case DW_REST_KEPT:
        dw_buf__format(&text, "%s, keep as an offcut", dw_cli__length(page, layout->leftover).text);
        dw_money worth = dw_job_worth(job, material, layout->leftover);
        if (worth > 0)
            dw_buf__format(&text, " worth %s", dw_cli__money(page, worth).text);
        break;
    }
    dw_cli__fold_buf(page, layout->rest == DW_REST_KEPT ? DW_CLI_GOOD : DW_CLI_PLAIN, "    ",
                     &text);
}

static dw_err put_layout(struct dw_cli_page *page, const struct dw_job *job,
                         const struct dw_layout *layout)
{
    size_t n_marks = dw_layout_n_marks(layout);
    struct dw_mark *marks = calloc(n_marks ? n_marks : 1, sizeof *marks);
    struct dw_saw_piece *saw = calloc(layout->n_pieces ? layout->n_pieces : 1, sizeof *saw);
    if (marks && saw) {
        dw_layout_marks(job, layout, marks);
        dw_layout_saw(job, layout, saw);
        put_head(page, job, layout);
        put_drawing(page, job, layout, marks, n_marks);
        put_pieces(page, job, layout, saw, marks, n_marks);
        put_rest(page, job, layout, n_marks ? marks[n_marks - 1].running : 0);
    }
    dw_err err = marks && saw ? DW_OK : DW_ERR_NOMEM;
    free(saw);
    free(marks);
    return err;
}

static const char *unit_words(enum dw_unit unit)
{
    static const char *const words[] = {
        [DW_UNIT_NONE] = "millimetres", [DW_UNIT_MM] = "millimetres", [DW_UNIT_CM] = "centimetres",
        [DW_UNIT_M] = "metres",         [DW_UNIT_IN] = "inches",      [DW_UNIT_FT] = "feet",
    };
    return words[unit];
}

/* A line for each client's job of which more is known than its name. */
static void put_clients(struct dw_cli_page *page, const struct dw_job *job)
{
    for (size_t i = 0; i < job->n_orders; i++) {
        const struct dw_order *order = &job->orders[i];
        struct dw_buf line = {0}, text = {0};
        if (order->client || order->due)
            dw_saw__client(&line, order->name, order->client, order->due);
        if (line.n > 0) {
            dw_cli__clean(&text, line.text);
            dw_cli__fold_buf(page, DW_CLI_PLAIN, "  ", &text);
        }
        dw_buf__free(&line);
    }
}

dw_err dw_cli__report_layouts(struct dw_cli_page *page, const struct dw_job *job,
                              const struct dw_plan *plan)
{
    struct dw_buf text = {0};
    dw_cli__heading(page, "Cut");
    dw_buf__format(&text,
                   "Lengths in %s. Stop is the length of the piece; marks are where its far end "
                   "lies from the datum end, kerf of %s counted. Drawn: ─ piece, ═ offcut "
                   "to keep, ░ scrap.",
                   unit_words(page->length.unit), dw_cli__fine(page, job->saw.kerf).text);
    dw_cli__fold_buf(page, DW_CLI_QUIET, "  ", &text);
    if (dw_saw__any_worked(job))
        dw_cli__fold(page, DW_CLI_QUIET, "  ", dw_saw__what_counts);
    if (job->rules.most_pieces != DW_UNLIMITED) {
        dw_buf__format(&text, "A bar gives at most %s, as the rules say.",
                       dw_cli__count(job->rules.most_pieces, "piece", "pieces").text);
        dw_cli__fold_buf(page, DW_CLI_QUIET, "  ", &text);
    }
    put_clients(page, job);
    struct dw_care care = {0};
    dw_care__plan(&care, job, plan);
    dw_cli__report_care(page, &care, DW_AT_SAW);
    dw_err err = DW_OK;
    for (size_t i = 0; i < plan->n_layouts && !err; i++)
        err = put_layout(page, job, &plan->layouts[i]);
    return err;
}
