/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The sheet at the saw: a block a bar layout, to be read at arm's length. */
#include "draw/bar.h"
#include "draw/page.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MARKS_A_ROW 24   /* more running marks go on in a row of their own */
#define REST_MM     13.0 /* what is left, and room to write */
#define TICKS       12 /* boxes to tick for the bars of one layout; beyond, room to write a count */

struct sheet {
    const struct dw_job *job;
    const struct dw_plan *plan;
    enum dw_sheet_order order;
    size_t *sequence; /* length plan->n_layouts: in what order the blocks stand */
    dw_length longest;
};

/* Columns of a piece row, from the left margin. */
enum { COL_TICK = 0, COL_COUNT = 6, COL_STOP = 20, COL_MARKS = 62, COL_NAME = 122 };

/* --- order of the blocks ------------------------------------------------------------------ */

struct key {
    size_t layout;
    bool late; /* holds a part that is measured first */
    const char *section;
};

static struct key make_key(const struct sheet *sheet, size_t index)
{
    const struct dw_layout *layout = &sheet->plan->layouts[index];
    struct key key = {.layout = index, .section = ""};
    for (size_t i = 0; i < layout->n_pieces; i++) {
        if (layout->pieces[i].part == DW_NONE)
            continue;
        const struct dw_part *part = &sheet->job->parts[layout->pieces[i].part];
        key.late = key.late || part->measure_first;
        if (part->section && !*key.section)
            key.section = part->section;
    }
    return key;
}

static int by_section(const void *a, const void *b)
{
    const struct key *x = a, *y = b;
    if (x->late != y->late)
        return x->late ? 1 : -1;
    int order = strcmp(x->section, y->section);
    return order ? order : x->layout < y->layout ? -1 : x->layout > y->layout;
}

static bool follows(const struct sheet *sheet, const struct key *a, const struct key *b)
{
    const struct dw_layout *x = &sheet->plan->layouts[a->layout];
    const struct dw_layout *y = &sheet->plan->layouts[b->layout];
    return x->group == y->group && x->supply == y->supply && a->late == b->late;
}

#define LOOK_AHEAD 200 /* layouts */

/* The layout that begins with the length where the one before it ends comes next: the saw's stop
 * stays where it is. Else the order stays. Cost: O(layouts LOOK_AHEAD). */
static void chain_stops(const struct sheet *sheet, struct key *keys, size_t n)
{
    const struct dw_layout *layouts = sheet->plan->layouts;
    for (size_t i = 1; i < n; i++) {
        const struct dw_layout *before = &layouts[keys[i - 1].layout];
        dw_length stop = before->pieces[before->n_pieces - 1].length;
        size_t end = n - i < LOOK_AHEAD ? n : i + LOOK_AHEAD;
        for (size_t j = i; j < end; j++) {
            struct key next = keys[j];
            if (!follows(sheet, &keys[i - 1], &next) ||
                layouts[next.layout].pieces[0].length != stop)
                continue;
            memmove(&keys[i + 1], &keys[i], (j - i) * sizeof next);
            keys[i] = next;
            break;
        }
    }
}

static dw_err make_sequence(struct sheet *sheet)
{
    size_t n = sheet->plan->n_layouts;
    struct key *keys = calloc(n + 1, sizeof *keys);
    sheet->sequence = calloc(n + 1, sizeof *sheet->sequence);
    if (!keys || !sheet->sequence) {
        free(keys);
        return DW_ERR_NOMEM;
    }
    for (size_t j = 0; j < n; j++)
        keys[j] = make_key(sheet, j);
    if (sheet->order == DW_SHEET_SECTION)
        qsort(keys, n, sizeof *keys, by_section);
    else if (sheet->order == DW_SHEET_STOPS)
        chain_stops(sheet, keys, n);
    for (size_t j = 0; j < n; j++)
        sheet->sequence[j] = keys[j].layout;
    free(keys);
    return DW_OK;
}

/* --- block -------------------------------------------------------------------------------- */

static const char *source_text(const struct dw_supply *supply)
{
    switch (supply->source) {
    case DW_SOURCE_SHELF:
        return "shelf bar";
    case DW_SOURCE_OFFCUT:
        return "offcut";
    default:
        return "new bar";
    }
}

static const char *material_name(const struct dw_job *job, size_t material)
{
    const struct dw_material *m = &job->materials[material];
    return m->name ? m->name : m->id;
}

static void draw_ticks(struct dw_flow *flow, int64_t count)
{
    const struct dw_type text = {.size_mm = 3, .align = DW_ALIGN_RIGHT};
    if (count > TICKS) {
        char line[64];
        snprintf(line, sizeof line, "cut ______ of %lld", (long long)count);
        dw_canvas__line(flow->canvas, flow->right - 60, flow->y + 2, 60, &text, line);
        return;
    }
    for (int64_t i = 0; i < count; i++)
        dw_canvas__frame(flow->canvas, flow->right - 4.5 - 6 * (double)(count - 1 - i), flow->y + 1,
                         4.5, 4.5, 0.3);
}

static void squaring_text(const struct sheet *sheet, const struct dw_supply *supply, char *text,
                          size_t n)
{
    bool near = supply->ends[0] == DW_END_MILL, far = supply->ends[1] == DW_END_MILL;
    if (dw_supply_squarings(supply) == 0)
        snprintf(text, n, "%s", supply->bend > 0 ? ", the bent end is the datum end" : "");
    else
        snprintf(text, n, "; square %s first, %s off%s",
                 near && far ? "both ends"
                 : near      ? "the datum end"
                             : "the far end",
                 dw_draw__length(sheet->job, supply->trim).text, near && far ? " each" : "");
}

/* "Bars 2 to 4" and what to take. */
static void draw_title(struct dw_flow *flow, const struct sheet *sheet,
                       const struct dw_layout *layout)
{
    const struct dw_supply *supply = &sheet->job->supplies[layout->supply];
    const struct dw_type big = {.size_mm = 5.6, .least_mm = 4, .bold = true};
    const struct dw_type small = {.size_mm = 3.4, .least_mm = 2.6};
    char text[400];
    if (layout->count == 1)
        snprintf(text, sizeof text, "Bar %lld", (long long)layout->bar);
    else
        snprintf(text, sizeof text, "Bars %lld to %lld", (long long)layout->bar,
                 (long long)(layout->bar + layout->count - 1));
    dw_canvas__line(flow->canvas, flow->left, flow->y, 58, &big, text);
    snprintf(text, sizeof text, "%lld × %s %s, %s%s%s%s%s", (long long)layout->count,
             source_text(supply), supply->id,
             dw_draw__length(sheet->job, dw_draw__bar_length(sheet->job, layout)).text,
             supply->place ? ", at " : "", supply->place ? supply->place : "",
             supply->mark ? ", mark " : "", supply->mark ? supply->mark : "");
    double width = flow->right - flow->left - 62 -
                   (layout->count > TICKS ? 62 : 6 * (double)layout->count + 2);
    dw_canvas__line(flow->canvas, flow->left + 60, flow->y, width, &small, text);
    char squaring[120];
    squaring_text(sheet, supply, squaring, sizeof squaring);
    snprintf(text, sizeof text, "%s%s", material_name(sheet->job, supply->material), squaring);
    dw_canvas__line(flow->canvas, flow->left + 60, flow->y + 4.2, width, &small, text);
    draw_ticks(flow, layout->count);
    flow->y += 9.5;
}

static void draw_columns(struct dw_flow *flow, const struct sheet *sheet)
{
    char marks[80];
    snprintf(marks, sizeof marks, "running marks from the datum end, %s",
             sheet->job->unit == DW_UNIT_FT ? "feet and inches" : dw_unit_name(sheet->job->unit));
    const struct dw_type tiny = {.size_mm = 2.5};
    dw_canvas__line(flow->canvas, flow->left + COL_STOP, flow->y, 40, &tiny, "stop setting");
    dw_canvas__line(flow->canvas, flow->left + COL_MARKS, flow->y, 58, &tiny, marks);
    dw_canvas__line(flow->canvas, flow->left + COL_NAME, flow->y, 50, &tiny, "piece and where to");
    flow->y += 3.6;
}

static void name_text(const struct sheet *sheet, const struct dw_piece *piece, char *text, size_t n)
{
    if (piece->use == DW_USE_BEND_END) {
        snprintf(text, n, "bend end: scrap");
        return;
    }
    const struct dw_part *part = &sheet->job->parts[piece->part];
    const char *order = sheet->job->n_orders > 1 ? sheet->job->orders[part->order].name : NULL;
    snprintf(text, n, "%s%s%s%s%s%s%s%s", part->label ? part->label : "",
             piece->use == DW_USE_SURPLUS ? " (surplus: scrap)" : "",
             piece->use == DW_USE_POST ? " (post)" : "", part->section ? "\n" : "",
             part->section ? part->section : "", order ? (part->section ? ", " : "\n") : "",
             order ? order : "", part->measure_first ? "\nMEASURE ON SITE FIRST" : "");
}

/* Marks [from, to) of the layout as text. */
static void marks_text(const struct sheet *sheet, const struct dw_mark *marks, size_t from,
                       size_t to, struct dw_buf *buf)
{
    for (size_t i = from; i < to; i++)
        dw_buf__format(buf, "%s%s", i > from ? "   " : "",
                       dw_draw__mark(sheet->job, marks[i].running).text);
}

/* One row: so many pieces of a kind, their stop setting and up to MARKS_A_ROW marks. */
struct row {
    const struct dw_piece *piece;
    size_t count;
    char *marks; /* owned */
    char name[600];
    double height;
};

static const struct dw_type marks_type = {.size_mm = 3.6};
static const struct dw_type name_type = {.size_mm = 3.2};

static double name_width(const struct dw_flow *flow)
{
    return flow->right - flow->left - COL_NAME;
}

/* The row of `count` pieces whose marks begin at marks[at]. */
static struct row make_row(struct dw_flow *flow, const struct sheet *sheet,
                           const struct dw_piece *piece, const struct dw_mark *marks, size_t at,
                           size_t count)
{
    struct row row = {.piece = piece, .count = count};
    struct dw_buf buf = {0};
    marks_text(sheet, marks, at, at + count, &buf);
    row.marks = dw_buf__take(&buf);
    name_text(sheet, piece, row.name, sizeof row.name);
    double of_marks = dw_canvas__paragraph(flow->canvas, 0, 0, COL_NAME - COL_MARKS - 3,
                                           &marks_type, row.marks ? row.marks : "", false);
    double of_name =
        dw_canvas__paragraph(flow->canvas, 0, 0, name_width(flow), &name_type, row.name, false);
    row.height = of_marks > of_name ? of_marks : of_name;
    row.height = (row.height > 7 ? row.height : 7) + 1.6;
    return row;
}

static void draw_row(struct dw_flow *flow, const struct sheet *sheet, const struct row *row)
{
    const struct dw_type big = {.size_mm = 6, .least_mm = 3.6, .bold = true};
    const struct dw_type number = {.size_mm = 4.6, .least_mm = 3};
    if (dw_flow__need(flow, row->height))
        draw_columns(flow, sheet);
    double x = flow->left, y = flow->y;
    dw_canvas__frame(flow->canvas, x + COL_TICK, y + 1.2, 4.2, 4.2, 0.3);
    char times[24];
    snprintf(times, sizeof times, "%zu ×", row->count);
    dw_canvas__line(flow->canvas, x + COL_COUNT, y + 1, COL_STOP - COL_COUNT - 1, &number, times);
    dw_canvas__line(flow->canvas, x + COL_STOP, y, COL_MARKS - COL_STOP - 2, &big,
                    dw_draw__length(sheet->job, row->piece->length).text);
    dw_canvas__paragraph(flow->canvas, x + COL_MARKS, y + 1.2, COL_NAME - COL_MARKS - 3,
                         &marks_type, row->marks ? row->marks : "", true);
    dw_canvas__paragraph(flow->canvas, x + COL_NAME, y + 1.2, name_width(flow), &name_type,
                         row->name, true);
    flow->y += row->height;
    dw_canvas__rule(flow->canvas, flow->left, flow->y - 0.5, flow->right, flow->y - 0.5, 0.08);
}

/* Draws, or with `draw` false only measures, the rows of a layout; returns their height. */
static double lay_rows(struct dw_flow *flow, const struct sheet *sheet,
                       const struct dw_layout *layout, const struct dw_mark *marks, bool draw)
{
    size_t at = 0;
    double height = 0;
    for (size_t i = 0; i < layout->n_pieces; i++) {
        const struct dw_piece *piece = &layout->pieces[i];
        for (int64_t done = 0; done < piece->count;) {
            size_t count = (size_t)(piece->count - done);
            count = count < MARKS_A_ROW ? count : MARKS_A_ROW;
            struct row row = make_row(flow, sheet, piece, marks, at, count);
            if (draw)
                draw_row(flow, sheet, &row);
            height += row.height;
            free(row.marks);
            at += count;
            done += (int64_t)count;
        }
    }
    return height;
}

static void draw_rest(struct dw_flow *flow, const struct sheet *sheet,
                      const struct dw_layout *layout)
{
    const struct dw_type text = {.size_mm = 3.6, .least_mm = 2.6, .bold = true};
    const struct dw_type hand = {.size_mm = 3.2};
    struct dw_text left = dw_draw__length(sheet->job, layout->leftover);
    char line[200];
    if (layout->rest == DW_REST_KEPT)
        snprintf(line, sizeof line,
                 "Left: %s. Keep: mark it before the cut. Number ________ place ________",
                 left.text);
    else if (layout->rest == DW_REST_SCRAP)
        snprintf(line, sizeof line, "Left: %s, scrap", left.text);
    else
        snprintf(line, sizeof line, "Nothing is left");
    double width = flow->right - flow->left;
    dw_flow__need(flow, REST_MM);
    dw_canvas__line(flow->canvas, flow->left, flow->y + 0.6, width, &text, line);
    dw_canvas__line(flow->canvas, flow->left, flow->y + 6.4, width, &hand,
                    "Really cut: _______________________________________________");
    flow->y += REST_MM;
    dw_canvas__rule(flow->canvas, flow->left, flow->y - 1, flow->right, flow->y - 1, 0.4);
    flow->y += 2;
}

static void draw_block(struct dw_flow *flow, const struct sheet *sheet,
                       const struct dw_layout *layout)
{
    size_t n_marks = dw_layout_n_marks(layout);
    struct dw_mark *marks = calloc(n_marks + 1, sizeof *marks);
    if (!marks)
        return;
    dw_layout_marks(sheet->job, layout, marks);
    double head = 9.5 + DW_BAR_HEIGHT_MM + 3.6, rows = lay_rows(flow, sheet, layout, marks, false);
    double whole = head + rows + REST_MM;
    bool fits = whole <= flow->bottom - DW_MARGIN_MM - 16;
    dw_flow__need(flow, fits ? whole : head + 9); /* a block stays on one page if it can */
    draw_title(flow, sheet, layout);
    double width = flow->right - flow->left;
    dw_length length = dw_draw__bar_length(sheet->job, layout);
    dw_draw__bar(flow->canvas, sheet->job, layout, flow->left, flow->y,
                 width * (double)length / (double)sheet->longest, length);
    flow->y += DW_BAR_HEIGHT_MM;
    draw_columns(flow, sheet);
    lay_rows(flow, sheet, layout, marks, true);
    draw_rest(flow, sheet, layout);
    free(marks);
}

/* --- first page: what to fetch ------------------------------------------------------------ */

static void draw_fetch(struct dw_flow *flow, const struct sheet *sheet)
{
    const struct dw_type head = {.size_mm = 4, .bold = true};
    const struct dw_type text = {.size_mm = 3.4, .least_mm = 2.6};
    char line[400];
    snprintf(line, sizeof line, "kerf %s, counted in every running mark   %lld bars   %lld cuts",
             dw_draw__length(sheet->job, sheet->job->saw.kerf).text,
             (long long)sheet->plan->totals.n_bars, (long long)sheet->plan->totals.n_cuts);
    flow->y +=
        dw_canvas__line(flow->canvas, flow->left, flow->y, flow->right - flow->left, &text, line) +
        1.5;
    flow->y += dw_canvas__line(flow->canvas, flow->left, flow->y, 80, &head, "Fetch") + 0.5;
    for (size_t t = 0; t < sheet->plan->n_takes; t++) {
        const struct dw_take *take = &sheet->plan->takes[t];
        const struct dw_supply *supply = &sheet->job->supplies[take->supply];
        snprintf(
            line, sizeof line, "%lld × %s %s, %s, %s%s%s", (long long)take->used,
            source_text(supply), supply->id, material_name(sheet->job, supply->material),
            dw_draw__length(sheet->job, supply->measured ? supply->measured : supply->length).text,
            supply->place ? ", at " : "", supply->place ? supply->place : "");
        dw_flow__need(flow, 6);
        dw_canvas__frame(flow->canvas, flow->left, flow->y + 0.5, 3.4, 3.4, 0.25);
        dw_canvas__line(flow->canvas, flow->left + 6, flow->y, flow->right - flow->left - 6, &text,
                        line);
        flow->y += 5.4;
    }
    flow->y += 2;
    dw_canvas__rule(flow->canvas, flow->left, flow->y, flow->right, flow->y, 0.4);
    flow->y += 2.5;
}

static void draw_body(struct dw_flow *flow, void *user)
{
    const struct sheet *sheet = user;
    draw_fetch(flow, sheet);
    for (size_t j = 0; j < sheet->plan->n_layouts; j++)
        draw_block(flow, sheet, &sheet->plan->layouts[sheet->sequence[j]]);
    if (sheet->plan->n_layouts == 0) {
        const struct dw_type text = {.size_mm = 4};
        dw_canvas__line(flow->canvas, flow->left, flow->y, 100, &text, "Nothing to cut.");
    }
}

dw_err dw_draw_sheet(const struct dw_job *job, const struct dw_plan *plan,
                     const struct dw_draw_options *options, struct dw_drawing **out,
                     struct dw_error *error)
{
    *out = NULL;
    if (plan->status == DW_STATUS_INFEASIBLE)
        return dw_error__set(error, DW_ERR_INPUT,
                             "the plan lacks tube for some parts: there is no sheet to cut by");
    struct sheet sheet = {.job = job, .plan = plan, .order = options->order};
    for (size_t j = 0; j < plan->n_layouts; j++) {
        dw_length length = dw_draw__bar_length(job, &plan->layouts[j]);
        sheet.longest = length > sheet.longest ? length : sheet.longest;
    }
    const struct dw_frame frame = {.job = job->name ? job->name : "Job",
                                   .title = "Cut sheet",
                                   .date = options->date ? options->date : job->date,
                                   .number = options->plan_number,
                                   .cautions = dw_draw__saw_cautions};
    dw_err err = make_sequence(&sheet);
    if (err == DW_OK)
        err = dw_flow__run(options, &frame, draw_body, &sheet, out, error);
    else
        dw_error__nomem(error);
    free(sheet.sequence);
    return err;
}
