/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The block of one cut layout on the sheet at the saw, to be read at arm's length. */
#include "draw/bar.h"
#include "draw/glyph.h"
#include "draw/sheet.h"
#include "model/caution.h"
#include "model/saw.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>

#define MARKS_A_ROW 24   /* more running marks go on in a row of their own */
#define TITLE_MM    50.0 /* "Bars 4 to 8" */
#define TICK_MM     4.5  /* side of a box to tick */
#define TICK_ROW_MM 6.6  /* a row of ticks with their numbers */
#define TICK_CELL   15.0 /* from one tick to the next */
#define BLANK_ROW   6.6  /* number and place of an offcut to be written in */
#define COLUMNS_MM  3.6  /* heads of the columns */

/* Columns of a row of pieces, from the left margin. */
enum {
    COL_TICK = 0,
    COL_NUMBER = 6,
    COL_COUNT = 23,
    COL_STOP = 35,
    COL_MARKS = 77,
    COL_NAME = 141
};

#define MARKS_GAP 4.0 /* between columns of marks */

static const struct dw_type plain = {.size_mm = 3.4};
static const struct dw_type name_type = {.size_mm = 3.2};
static const struct dw_type strong_type = {.size_mm = 3.6, .bold = true};

/* One layout under way. */
struct block {
    struct dw_flow *flow;
    const struct dw_cut_sheet *sheet;
    const struct dw_layout *layout;
    struct dw_mark *marks;    /* length n of dw_layout_n_marks */
    struct dw_saw_piece *saw; /* length layout->n_pieces */
    double mark_mm;           /* width of the widest mark: columns of marks are so wide */
};

static double width_of(const struct dw_flow *flow)
{
    return flow->right - flow->left;
}

/* A paragraph at x, y; draws it or only measures; returns its height, 0 without text. */
static double lay(struct dw_flow *flow, double x, double y, double width,
                  const struct dw_type *type, const struct dw_buf *buf, bool draw)
{
    if (buf->failed)
        dw_canvas__fail(flow->canvas, DW_ERR_NOMEM);
    if (buf->n == 0 || buf->failed)
        return 0;
    return dw_canvas__paragraph(flow->canvas, x, y, width, type, buf->text, draw);
}

static void put_line(struct dw_flow *flow, double x, double y, double width,
                     const struct dw_type *type, struct dw_buf *buf)
{
    if (buf->failed)
        dw_canvas__fail(flow->canvas, DW_ERR_NOMEM);
    else
        dw_canvas__line(flow->canvas, x, y, width, type, buf->text);
    dw_buf__free(buf);
}

/* --- title ----------------------------------------------------------------------------------- */

/* A box for every bar, its number beside it. Returns the height. */
static double lay_ticks(const struct block *block, double y, bool draw)
{
    struct dw_flow *flow = block->flow;
    int64_t a_row = (int64_t)(width_of(flow) / TICK_CELL);
    int64_t rows = (block->layout->count + a_row - 1) / a_row;
    const struct dw_type type = {.size_mm = 3.6, .least_mm = 2.4};
    for (int64_t i = 0; i < block->layout->count && draw; i++) {
        double x = flow->left + TICK_CELL * (double)(i % a_row);
        if (i > 0 && i % a_row == 0)
            y += TICK_ROW_MM;
        if (i % a_row == 0 && y + TICK_ROW_MM > flow->bottom) {
            dw_flow__page(flow);
            y = flow->y;
        }
        char number[24];
        snprintf(number, sizeof number, "%" PRId64, block->layout->bar + i);
        dw_canvas__frame(flow->canvas, x, y + 0.6, TICK_MM, TICK_MM, 0.3);
        dw_canvas__line(flow->canvas, x + TICK_MM + 1, y + 0.7, TICK_CELL - TICK_MM - 2, &type,
                        number);
    }
    if (draw)
        flow->y = y + TICK_ROW_MM;
    return (double)rows * TICK_ROW_MM;
}

/* What to take, of what tube, whether it is here, how to square it: a line each, as long as it is.
 */
static double lay_take(const struct block *block, double y, bool draw)
{
    struct dw_flow *flow = block->flow;
    const struct dw_job *job = block->sheet->job;
    const struct dw_supply *supply = &job->supplies[block->layout->supply];
    const struct dw_length_style style = dw_draw__style(job);
    const struct dw_type bold = {.size_mm = 3.4, .bold = true};
    const struct dw_type first = {.size_mm = 4, .bold = true}; /* what is done first */
    const struct dw_type types[] = {plain, plain, bold, first};
    struct dw_buf texts[4] = {{0}};
    dw_sheet__take(&texts[0], block->sheet, supply, block->layout->count);
    dw_material__say(&texts[1], &job->materials[supply->material]);
    if (supply->bend > 0) {
        dw_buf__put(&texts[1], "; its tail: ");
        dw_material__say(&texts[1], &job->materials[supply->tail_material]);
    }
    dw_sheet__to_come(&texts[2], block->sheet, block->layout);
    dw_saw__bar(&texts[3], supply, &style);
    dw_draw__hold(&texts[3], style.unit);
    double x = flow->left + TITLE_MM, height = 0;
    double width = flow->right - x - (block->layout->count == 1 ? TICK_MM + 2 : 0);
    for (size_t i = 0; i < DW_COUNT(texts); i++) {
        height += lay(flow, x, y + height, width, &types[i], &texts[i], draw);
        dw_buf__free(&texts[i]);
    }
    return (height > 8 ? height : 8) + 1.2;
}

static double title_height(const struct block *block)
{
    return lay_take(block, 0, false) + (block->layout->count > 1 ? lay_ticks(block, 0, false) : 0);
}

/* "Bars 4 to 8" and what to take. */
static void draw_title(const struct block *block)
{
    struct dw_flow *flow = block->flow;
    const struct dw_layout *layout = block->layout;
    const struct dw_type big = {.size_mm = 5.6, .least_mm = 3, .bold = true};
    struct dw_buf text = {0};
    dw_buf__put(&text, layout->count == 1 ? "Bar " : "Bars ");
    dw_saw__numbers(&text, layout->bar, layout->count);
    put_line(flow, flow->left, flow->y, TITLE_MM - 2, &big, &text);
    double height = lay_take(block, flow->y, true);
    if (layout->count == 1)
        dw_canvas__frame(flow->canvas, flow->right - TICK_MM, flow->y + 0.6, TICK_MM, TICK_MM, 0.3);
    flow->y += height;
    if (layout->count > 1)
        lay_ticks(block, flow->y, true);
}

/* --- rows ------------------------------------------------------------------------------------ */

static void draw_columns(const struct block *block)
{
    struct dw_flow *flow = block->flow;
    enum dw_unit unit = block->sheet->job->unit;
    char marks[80];
    snprintf(marks, sizeof marks, "running marks from the datum end, %s",
             unit == DW_UNIT_FT ? "feet and inches" : dw_unit_name(unit));
    const struct dw_type tiny = {.size_mm = 2.5, .least_mm = 1.8};
    const struct {
        int column;
        double width;
        const char *text;
    } heads[] = {{COL_NUMBER, COL_COUNT - COL_NUMBER - 1, "piece"},
                 {COL_STOP, COL_MARKS - COL_STOP - 2, "stop setting"},
                 {COL_MARKS, COL_NAME - COL_MARKS - 2, marks},
                 {COL_NAME, width_of(flow) - COL_NAME, "piece and where to"}};
    for (size_t i = 0; i < DW_COUNT(heads); i++)
        dw_canvas__line(flow->canvas, flow->left + heads[i].column, flow->y, heads[i].width, &tiny,
                        heads[i].text);
    flow->y += COLUMNS_MM;
}

static void name_text(struct dw_buf *buf, const struct dw_job *job, const struct dw_piece *piece,
                      const struct dw_saw_piece *saw)
{
    if (piece->use == DW_USE_BEND_END) {
        dw_buf__put(buf, "bend end: scrap");
        return;
    }
    const struct dw_part *part = &job->parts[piece->part];
    dw_buf__put(buf, part->label ? part->label : "");
    if (piece->use == DW_USE_SURPLUS)
        dw_buf__put(buf, " (surplus: scrap)");
    if (piece->use == DW_USE_POST)
        dw_buf__put(buf, " (post)");
    if (saw->section)
        dw_buf__format(buf, "\n%s", saw->section);
    if (job->n_orders > 1 && saw->order) {
        dw_buf__put(buf, "\n");
        dw_saw__client(buf, saw->order, saw->client, saw->due);
    }
}

/* One row: so many pieces of a kind, their numbers, their stop setting and up to MARKS_A_ROW
 * marks; below, how they are worked, what is to be measured, the remark. */
struct row {
    const struct dw_piece *piece;
    const struct dw_saw_piece *saw;
    int64_t number; /* of its first piece on the bar */
    int64_t count;
    struct dw_buf name, hold, work, measure, remark;
};

static void free_row(struct row *row)
{
    dw_buf__free(&row->name);
    dw_buf__free(&row->hold);
    dw_buf__free(&row->work);
    dw_buf__free(&row->measure);
    dw_buf__free(&row->remark);
}

/* "MEASURE ON SITE FIRST, CUT LAST: planned as 1775 mm + 25 mm, measure: ____": room for each piece
 * of each bar. */
static void measure_text(struct dw_buf *buf, const struct block *block, const struct row *row,
                         const struct dw_length_style *style)
{
    const struct dw_layout *layout = block->layout;
    dw_buf__put(buf, "MEASURE ON SITE FIRST, CUT LAST: ");
    dw_saw__planned_as(buf, row->saw, style);
    dw_buf__put(buf, ",\nmeasure:");
    for (int64_t bar = 0; bar < layout->count; bar++) {
        for (int64_t c = 0; c < row->count; c++) {
            dw_buf__put(buf, bar + c > 0 ? "   " : " ");
            if (layout->count > 1)
                dw_buf__format(buf, "bar\u00a0%" PRId64 ",\u00a0", layout->bar + bar);
            if (layout->count > 1 || row->count > 1)
                dw_buf__format(buf, "piece\u00a0%" PRId64 ":\u00a0", row->number + c);
            dw_buf__put(buf, "________");
        }
    }
}

/* The row of `count` pieces of layout->pieces[i], `done` of which are in rows before it. */
static struct row make_row(const struct block *block, size_t i, int64_t done, int64_t count)
{
    const struct dw_job *job = block->sheet->job;
    const struct dw_length_style style = dw_draw__style(job);
    const struct dw_saw_piece *saw = &block->saw[i];
    struct row row = {.piece = &block->layout->pieces[i],
                      .saw = saw,
                      .number = saw->number + done,
                      .count = count};
    name_text(&row.name, job, row.piece, saw);
    if (count < row.piece->count)
        dw_buf__format(&row.name, "\n%" PRId64 " to %" PRId64 " of %" PRId64, done + 1,
                       done + count, row.piece->count);
    dw_caution__hold(&row.hold, saw, &style);
    dw_draw__hold(&row.hold, style.unit);
    dw_saw__work(&row.work, saw, &style);
    dw_draw__hold(&row.work, style.unit);
    if (saw->measure_first)
        measure_text(&row.measure, block, &row, &style);
    dw_draw__hold(&row.measure, style.unit);
    if (saw->remark)
        dw_buf__format(&row.remark, "Remark: %s", saw->remark);
    return row;
}

/* The texts below the row's line, from y on; returns their height. */
static double lay_below(struct dw_flow *flow, const struct row *row, double y, bool draw)
{
    bool glyph = dw_glyph__wanted(row->saw);
    double x = flow->left + COL_STOP, width = flow->right - x, height = 0;
    height += lay(flow, x, y, width, &strong_type, &row->hold, draw);
    height += lay(flow, x, y + height, width, &plain, &row->work, draw);
    height += lay(flow, x, y + height, width, &strong_type, &row->measure, draw);
    height += lay(flow, x, y + height, width, &plain, &row->remark, draw);
    if (glyph && draw)
        dw_glyph__draw(flow->canvas, row->saw, flow->left + COL_NUMBER, y);
    if (glyph && height < DW_GLYPH_HEIGHT_MM)
        height = DW_GLYPH_HEIGHT_MM;
    return height > 0 ? height + 1 : 0;
}

static struct dw_type marks_type(const struct block *block)
{
    return (struct dw_type){.size_mm = block->sheet->form.marks_mm, .align = DW_ALIGN_RIGHT};
}

static double widest_mark(const struct block *block)
{
    const struct dw_type type = marks_type(block);
    double widest = 0;
    for (size_t i = 0; i < dw_layout_n_marks(block->layout); i++) {
        struct dw_text mark = dw_draw__mark(block->sheet->job, block->marks[i].running);
        double width = dw_canvas__measure(block->flow->canvas, &type, mark.text);
        widest = width > widest ? width : widest;
    }
    return widest;
}

/* Marks stand below each other, flush right, in columns that are the same for all rows of a bar;
 * read from left to right. Returns their height. */
static double lay_marks(const struct block *block, const struct row *row, double y, bool draw)
{
    const struct dw_type type = marks_type(block);
    double room = COL_NAME - COL_MARKS - 2, column = block->mark_mm + MARKS_GAP;
    double line = type.size_mm * 1.25;
    int64_t a_line = (int64_t)((room + MARKS_GAP) / column);
    if (a_line < 1)
        a_line = 1;
    for (int64_t c = 0; draw && c < row->count; c++) {
        struct dw_text mark =
            dw_draw__mark(block->sheet->job, block->marks[row->number - 1 + c].running);
        double x = block->flow->left + COL_MARKS + column * (double)(c % a_line);
        dw_canvas__line(block->flow->canvas, x, y + line * (double)(c / a_line),
                        block->mark_mm + 0.1, &type, mark.text);
    }
    return line * (double)((row->count + a_line - 1) / a_line);
}

/* Marks and name beside each other; the taller one counts. */
static double lay_line(const struct block *block, const struct row *row, double y, bool draw)
{
    struct dw_flow *flow = block->flow;
    double least = block->sheet->form.row_mm;
    double of_marks = lay_marks(block, row, y + 0.9, draw);
    double of_name = lay(flow, flow->left + COL_NAME, y + 1.2, width_of(flow) - COL_NAME,
                         &name_type, &row->name, draw);
    double height = of_marks > of_name ? of_marks : of_name;
    return (height > least ? height : least) + (block->sheet->form.pictures ? 2.4 : 1.4);
}

static double row_height(const struct block *block, const struct row *row)
{
    return lay_line(block, row, 0, false) + lay_below(block->flow, row, 0, false);
}

/* What is still to be measured is not offered to the eye as a length to cut to. */
static void draw_stop(const struct block *block, const struct row *row, double y)
{
    const struct dw_type big = {
        .size_mm = block->sheet->form.stop_mm, .least_mm = 3.6, .bold = true};
    const struct dw_type small = {.size_mm = 4, .least_mm = 2.8};
    const struct dw_flow *flow = block->flow;
    bool open = row->saw->measure_first;
    struct dw_buf text = {0};
    dw_buf__format(&text, "%s%s", open ? "plan " : "",
                   dw_draw__length(block->sheet->job, row->piece->length).text);
    put_line(block->flow, flow->left + COL_STOP, open ? y + 1.2 : y, COL_MARKS - COL_STOP - 4,
             open ? &small : &big, &text);
}

static void draw_row(const struct block *block, const struct row *row)
{
    struct dw_flow *flow = block->flow;
    const struct dw_type count_type = {.size_mm = 4.6, .least_mm = 2.4};
    const struct dw_type number_type = {.size_mm = 3.6, .least_mm = 2};
    if (dw_flow__need(flow, row_height(block, row)))
        draw_columns(block);
    double x = flow->left, y = flow->y;
    if (block->layout->count == 1)
        dw_canvas__frame(flow->canvas, x + COL_TICK, y + 1.2, 4.2, 4.2, 0.3);
    struct dw_buf numbers = {0};
    dw_saw__numbers(&numbers, row->number, row->count);
    put_line(flow, x + COL_NUMBER, y + 1.6, COL_COUNT - COL_NUMBER - 1, &number_type, &numbers);
    char times[32];
    snprintf(times, sizeof times, "%" PRId64 " ×", row->count);
    dw_canvas__line(flow->canvas, x + COL_COUNT, y + 1, COL_STOP - COL_COUNT - 1, &count_type,
                    times);
    draw_stop(block, row, y);
    double height = lay_line(block, row, y, true);
    flow->y += height + lay_below(flow, row, y + height, true);
    dw_canvas__rule(flow->canvas, flow->left, flow->y - 0.5, flow->right, flow->y - 0.5, 0.08);
}

/* Draws, or with `draw` false only measures, the rows of a layout; returns their height. */
static double lay_rows(const struct block *block, bool draw)
{
    double height = 0;
    for (size_t i = 0; i < block->layout->n_pieces; i++) {
        int64_t all = block->layout->pieces[i].count;
        for (int64_t done = 0; done < all; done += MARKS_A_ROW) {
            int64_t count = all - done < MARKS_A_ROW ? all - done : MARKS_A_ROW;
            struct row row = make_row(block, i, done, count);
            if (draw)
                draw_row(block, &row);
            else
                height += row_height(block, &row);
            free_row(&row);
        }
    }
    return height;
}

/* --- what is left ---------------------------------------------------------------------------- */

/* Where number and place of each offcut are written, two bars a row. */
static void draw_blanks(const struct block *block)
{
    struct dw_flow *flow = block->flow;
    const struct dw_layout *layout = block->layout;
    if (layout->rest != DW_REST_KEPT || layout->count == 1)
        return;
    double half = width_of(flow) / 2;
    for (int64_t i = 0; i < layout->count; i++) {
        if (i % 2 == 0)
            dw_flow__need(flow, BLANK_ROW);
        char text[80];
        snprintf(text, sizeof text, "bar %" PRId64 ": number ________ place ________",
                 layout->bar + i);
        dw_canvas__line(flow->canvas, flow->left + half * (double)(i % 2), flow->y + 0.8, half - 2,
                        &plain, text);
        if (i % 2 == 1 || i + 1 == layout->count)
            flow->y += BLANK_ROW;
    }
}

#define REST_MM 13.0 /* what is left, and room to write */

static void draw_rest(const struct block *block)
{
    struct dw_flow *flow = block->flow;
    const struct dw_layout *layout = block->layout;
    const struct dw_type type = {.size_mm = 3.6, .least_mm = 2.6, .bold = true};
    struct dw_text left = dw_draw__length(block->sheet->job, layout->leftover);
    const char *each = layout->count > 1 ? " of each bar" : "";
    char line[200];
    if (layout->rest == DW_REST_KEPT)
        snprintf(line, sizeof line, "Left%s: %s. Keep: mark it before the cut.%s", each, left.text,
                 layout->count > 1 ? "" : " Number ________ place ________");
    else if (layout->rest == DW_REST_SCRAP)
        snprintf(line, sizeof line, "Left%s: %s, scrap", each, left.text);
    else
        snprintf(line, sizeof line, "Nothing is left");
    dw_flow__need(flow, REST_MM);
    dw_canvas__line(flow->canvas, flow->left, flow->y + 0.6, width_of(flow), &type, line);
    flow->y += 5.8;
    draw_blanks(block);
    dw_flow__need(flow, REST_MM - 5.8);
    dw_canvas__line(flow->canvas, flow->left, flow->y + 0.6, width_of(flow), &name_type,
                    "Really cut: _______________________________________________");
    flow->y += REST_MM - 5.8;
    dw_canvas__rule(flow->canvas, flow->left, flow->y - 1, flow->right, flow->y - 1, 0.4);
    flow->y += 2;
}

/* --- block ----------------------------------------------------------------------------------- */

static void draw_bar(const struct block *block)
{
    struct dw_flow *flow = block->flow;
    const struct dw_job *job = block->sheet->job;
    dw_length length = dw_draw__bar_length(job, block->layout);
    dw_flow__need(flow, DW_BAR_HEIGHT_MM + COLUMNS_MM + 9);
    dw_draw__bar(flow->canvas, job, block->layout, flow->left, flow->y,
                 width_of(flow) * (double)length / (double)block->sheet->longest, length);
    flow->y += DW_BAR_HEIGHT_MM;
}

static void draw_block(const struct block *block)
{
    struct dw_flow *flow = block->flow;
    double picture = block->sheet->form.pictures ? DW_BAR_HEIGHT_MM : 0;
    double head = title_height(block) + picture + COLUMNS_MM;
    double whole = head + lay_rows(block, false) + REST_MM;
    double page = flow->bottom - DW_MARGIN_MM - 16;
    if (whole <= page)
        dw_flow__need(flow, whole); /* stays on one page if it can, save the room to write */
    else if (head + 9 <= page)
        dw_flow__need(flow, head + 9);
    draw_title(block);
    if (block->sheet->form.pictures)
        draw_bar(block);
    draw_columns(block);
    lay_rows(block, true);
    draw_rest(block);
}

void dw_sheet__block(struct dw_flow *flow, const struct dw_cut_sheet *sheet,
                     const struct dw_layout *layout)
{
    struct block block = {.flow = flow,
                          .sheet = sheet,
                          .layout = layout,
                          .marks = calloc(dw_layout_n_marks(layout) + 1, sizeof *block.marks),
                          .saw = calloc(layout->n_pieces + 1, sizeof *block.saw)};
    if (block.marks && block.saw) {
        dw_layout_marks(sheet->job, layout, block.marks);
        dw_layout_saw(sheet->job, layout, block.saw);
        block.mark_mm = widest_mark(&block);
        draw_block(&block);
    } else {
        dw_canvas__fail(flow->canvas, DW_ERR_NOMEM);
    }
    free(block.marks);
    free(block.saw);
}
