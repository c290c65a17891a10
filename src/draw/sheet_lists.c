/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The lists of the cut sheet: what to fetch before the first bar, and the tally after the last. */
#include "draw/ruled.h"
#include "draw/sheet.h"
#include "model/saw.h"

#include <dropwise/weight.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* --- fetch -------------------------------------------------------------------------------------
 */

static int64_t count_to_come(const struct dw_cut_sheet *sheet, size_t supply)
{
    int64_t n = 0;
    for (size_t j = 0; sheet->to_come && j < sheet->plan->n_layouts; j++) {
        const struct dw_layout *layout = &sheet->plan->layouts[j];
        for (int64_t i = 0; layout->supply == supply && i < layout->count; i++)
            n += sheet->to_come[layout->bar + i - 1];
    }
    return n;
}

#define WEIGHT_MM 22.0 /* a column of weights */
#define LINE_MM   4.0  /* a line of the list */

/* Weights at the right of a line of the list: of one bar, and of all. */
static void draw_weights(struct dw_flow *flow, const struct dw_cut_sheet *sheet,
                         const struct dw_take *take, double y)
{
    const struct dw_type type = {.size_mm = 3.4, .least_mm = 2, .align = DW_ALIGN_RIGHT};
    const struct dw_supply *supply = &sheet->job->supplies[take->supply];
    dw_length length = supply->measured ? supply->measured : supply->length;
    int64_t mg = -1, all = 0;
    char text[DW_WEIGHT_TEXT];
    if (dw_material_weight(&sheet->job->materials[supply->material], length, &mg, NULL) != DW_OK ||
        mg < 0 || !dw_mul__i64(mg, take->used, &all))
        return;
    dw_weight_print(text, mg, sheet->job->unit);
    dw_canvas__line(flow->canvas, flow->right - 2 * WEIGHT_MM - 2, y, WEIGHT_MM, &type, text);
    dw_weight_print(text, all, sheet->job->unit);
    dw_canvas__line(flow->canvas, flow->right - WEIGHT_MM, y, WEIGHT_MM, &type, text);
}

static void draw_take(struct dw_flow *flow, const struct dw_cut_sheet *sheet,
                      const struct dw_take *take)
{
    const struct dw_type type = {.size_mm = 3.4};
    const struct dw_supply *supply = &sheet->job->supplies[take->supply];
    int64_t to_come = count_to_come(sheet, take->supply);
    double width = flow->right - flow->left - 8 - 2 * WEIGHT_MM - 2;
    struct dw_buf buf = {0};
    dw_sheet__take(&buf, sheet, supply, take->used);
    dw_buf__put(&buf, ", ");
    dw_material__say(&buf, &sheet->job->materials[supply->material]);
    dw_caution__lift(&buf, ", each ", sheet->job, supply);
    if (to_come > 0 && to_come < take->used)
        dw_buf__format(&buf, ", %" PRId64 " of them", to_come);
    if (to_come > 0)
        dw_buf__format(&buf, "%s still to come", to_come < take->used ? "" : ",");
    if (buf.failed) {
        dw_canvas__fail(flow->canvas, DW_ERR_NOMEM);
        return;
    }
    double height = dw_canvas__paragraph(flow->canvas, 0, 0, width, &type, buf.text, false) + 1.6;
    dw_flow__need(flow, height);
    dw_canvas__frame(flow->canvas, flow->left, flow->y + 0.5, 3.4, 3.4, 0.25);
    dw_canvas__paragraph(flow->canvas, flow->left + 6, flow->y, width, &type, buf.text, true);
    draw_weights(flow, sheet, take, flow->y + height - 1.6 - LINE_MM); /* beside its last line */
    flow->y += height;
    dw_canvas__rule(flow->canvas, flow->left, flow->y - 0.7, flow->right, flow->y - 0.7, 0.08);
    dw_buf__free(&buf);
}

void dw_sheet__fetch(struct dw_flow *flow, const struct dw_cut_sheet *sheet)
{
    const struct dw_type tiny = {.size_mm = 2.5, .align = DW_ALIGN_RIGHT};
    dw_flow__need(flow, 12);
    double y = flow->y + 1.8;
    dw_flow__say(flow, 4, true, "Fetch");
    dw_canvas__line(flow->canvas, flow->right - 2 * WEIGHT_MM - 2, y, WEIGHT_MM, &tiny, "each");
    dw_canvas__line(flow->canvas, flow->right - WEIGHT_MM, y, WEIGHT_MM, &tiny, "together");
    dw_canvas__rule(flow->canvas, flow->left, flow->y, flow->right, flow->y, 0.2);
    flow->y += 0.9;
    for (size_t t = 0; t < sheet->plan->n_takes; t++)
        if (sheet->plan->takes[t].used > 0) /* else bought for the shelf: it is not cut here */
            draw_take(flow, sheet, &sheet->plan->takes[t]);
    flow->y += 1;
    dw_canvas__rule(flow->canvas, flow->left, flow->y, flow->right, flow->y, 0.4);
    flow->y += 2.5;
}

/* --- key ---------------------------------------------------------------------------------------
 */

void dw_sheet__key(struct dw_flow *flow)
{
    const struct dw_type tiny = {.size_mm = 2.6};
    static const char *const texts[] = {"datum end: marks begin here",
                                        "cut; the flag is on the waste", "scrap", "keep"};
    static const double widths[] = {52, 54, 22, 20};
    double x = flow->left, y = flow->y;
    struct dw_canvas *canvas = flow->canvas;
    dw_flow__need(flow, 6);
    for (size_t i = 0; i < DW_COUNT(texts); i++) {
        double text_x = x + 9;
        y = flow->y;
        if (i == 0) {
            dw_canvas__rule(canvas, x + 3, y - 0.4, x + 3, y + 3.8, 0.6);
            dw_canvas__frame(canvas, x + 3, y + 0.4, 4, 2.6, 0.15);
        } else if (i == 1) {
            dw_canvas__rule(canvas, x + 3, y - 0.8, x + 3, y + 3.6, 0.4);
            dw_canvas__triangle(canvas, x + 3, y - 1, 1.6, 2);
        } else if (i == 2) {
            dw_canvas__frame(canvas, x + 1, y + 0.4, 6, 2.6, 0.12);
            dw_canvas__hatch(canvas, x + 1, y + 0.4, 6, 2.6, 1.2);
        } else {
            dw_canvas__dashed(canvas, x + 1, y + 0.4, x + 7, y + 0.4, 0.3);
            dw_canvas__dashed(canvas, x + 1, y + 3, x + 7, y + 3, 0.3);
            dw_canvas__dashed(canvas, x + 7, y + 0.4, x + 7, y + 3, 0.3);
        }
        dw_canvas__line(canvas, text_x, y, widths[i], &tiny, texts[i]);
        x += widths[i];
    }
    flow->y += 6;
}

/* --- tally -------------------------------------------------------------------------------------
 */

/* How many pieces of each part the plan has. */
static void count_parts(const struct dw_plan *plan, int64_t *counts)
{
    for (size_t j = 0; j < plan->n_layouts; j++) {
        const struct dw_layout *layout = &plan->layouts[j];
        for (size_t i = 0; i < layout->n_pieces; i++) {
            const struct dw_piece *piece = &layout->pieces[i];
            if (piece->use == DW_USE_PART || piece->use == DW_USE_POST)
                counts[piece->part] += layout->count * piece->count;
        }
    }
}

/* A part's length; one that may come out anywhere in a range has none of its own. */
static struct dw_text length_of(const struct dw_cut_sheet *sheet, const struct dw_part *part)
{
    struct dw_text text = {{0}};
    return part->min == part->max ? dw_draw__length(sheet->job, part->min) : text;
}

void dw_sheet__tally(struct dw_flow *flow, const struct dw_cut_sheet *sheet)
{
    static const struct dw_ruled_column columns[] = {{"part", 0, DW_ALIGN_LEFT},
                                                     {"section", 34, DW_ALIGN_LEFT},
                                                     {"length", 34, DW_ALIGN_RIGHT},
                                                     {"to be made", 20, DW_ALIGN_RIGHT},
                                                     {"made", 24, DW_ALIGN_RIGHT}};
    const struct dw_ruled table = {flow, columns, DW_COUNT(columns)};
    const struct dw_type plain = {.size_mm = 3.4};
    int64_t *counts = calloc(sheet->job->n_parts + 1, sizeof *counts);
    if (!counts) {
        dw_canvas__fail(flow->canvas, DW_ERR_NOMEM);
        return;
    }
    count_parts(sheet->plan, counts);
    dw_flow__need(flow, 30);
    dw_flow__say(flow, 4, true, "Tally");
    dw_ruled__head(&table);
    for (size_t i = 0; i < sheet->job->n_parts; i++) {
        const struct dw_part *part = &sheet->job->parts[i];
        char count[24];
        if (counts[i] == 0)
            continue;
        snprintf(count, sizeof count, "%" PRId64, counts[i]);
        struct dw_text length = length_of(sheet, part);
        const char *const cells[] = {part->label ? part->label : "", part->section, length.text,
                                     count, "................"};
        dw_ruled__row(&table, cells, false);
    }
    free(counts);
    dw_flow__need(flow, 12);
    flow->y += 6;
    dw_canvas__line(flow->canvas, flow->left, flow->y, flow->right - flow->left, &plain,
                    "Cut by ..............................................   on "
                    "..............................   checked by ..............................");
    flow->y += 6;
}
