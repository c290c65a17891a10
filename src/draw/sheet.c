/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The sheet at the saw: in what order the blocks stand, and the first page. */
#include "draw/bar.h"
#include "draw/sheet.h"
#include "model/saw.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

/* --- order of the blocks ------------------------------------------------------------------ */

struct key {
    size_t layout;
    bool late; /* holds a part that is measured first */
    const char *section;
};

static struct key make_key(const struct dw_cut_sheet *sheet, size_t index)
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

static bool follows(const struct dw_cut_sheet *sheet, const struct key *a, const struct key *b)
{
    const struct dw_layout *x = &sheet->plan->layouts[a->layout];
    const struct dw_layout *y = &sheet->plan->layouts[b->layout];
    return x->group == y->group && x->supply == y->supply && a->late == b->late;
}

#define LOOK_AHEAD 200 /* layouts */

/* The layout that begins with the length where the one before it ends comes next: the saw's stop
 * stays where it is. Else the order stays. Cost: O(layouts LOOK_AHEAD). */
static void chain_stops(const struct dw_cut_sheet *sheet, struct key *keys, size_t n)
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

static dw_err make_sequence(struct dw_cut_sheet *sheet)
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

/* --- first page --------------------------------------------------------------------------- */

/* In a frame: whose jobs these are and when they are due, the tube, the kerf and what is counted at
 * mitres. */
static void draw_intro(struct dw_flow *flow, const struct dw_cut_sheet *sheet)
{
    const struct dw_job *job = sheet->job;
    const struct dw_totals *totals = &sheet->plan->totals;
    const struct dw_type bold = {.size_mm = 4.2, .bold = true}, plain = {.size_mm = 3.4};
    struct dw_buf whose = {0}, what = {0};
    double top = flow->y, x = flow->left + 3, width = flow->right - flow->left - 6;
    for (size_t i = 0; i < job->n_orders; i++) {
        const struct dw_order *order = &job->orders[i];
        if (!order->client && !order->due)
            continue;
        dw_buf__put(&whose, whose.n ? "\n" : "");
        dw_saw__client(&whose, order->name, order->client, order->due);
    }
    dw_buf__format(&what,
                   "kerf %s, counted in every running mark   %" PRId64 " bar%s   %" PRId64 " cut%s",
                   dw_draw__length(job, job->saw.kerf).text, totals->n_bars,
                   totals->n_bars == 1 ? "" : "s", totals->n_cuts, totals->n_cuts == 1 ? "" : "s");
    if (dw_saw__any_worked(job))
        dw_buf__format(&what, "\n%s", dw_saw__what_counts);
    flow->y += 2;
    if (whose.n > 0)
        flow->y +=
            dw_canvas__paragraph(flow->canvas, x, flow->y, width, &bold, whose.text, true) + 1;
    if (what.failed || whose.failed)
        dw_canvas__fail(flow->canvas, DW_ERR_NOMEM);
    else
        flow->y += dw_canvas__paragraph(flow->canvas, x, flow->y, width, &plain, what.text, true);
    flow->y += 2;
    dw_canvas__frame(flow->canvas, flow->left, top, flow->right - flow->left, flow->y - top, 0.5);
    flow->y += 2.5;
    dw_buf__free(&whose);
    dw_buf__free(&what);
}

/* What this job is to be cut with care for, before the first bar. */
static void draw_care(struct dw_flow *flow, const struct dw_cut_sheet *sheet)
{
    const struct dw_length_style style = dw_draw__style(sheet->job);
    struct dw_care care = {0};
    dw_care__plan(&care, sheet->job, sheet->plan);
    for (unsigned i = 0; i < DW_N_CAUTIONS; i++) {
        enum dw_caution caution = (enum dw_caution)i;
        if (!dw_caution__names(caution) || !dw_care__shows(&care, caution, DW_AT_SAW))
            continue;
        struct dw_buf text = {0};
        dw_care__text(&text, &care, caution, &style);
        dw_draw__hold(&text, style.unit);
        if (text.failed)
            dw_canvas__fail(flow->canvas, DW_ERR_NOMEM);
        else
            dw_flow__say(flow, 3.4, true, text.text);
        dw_buf__free(&text);
    }
    flow->y += 1;
}

static void draw_body(struct dw_flow *flow, void *user)
{
    const struct dw_cut_sheet *sheet = user;
    draw_intro(flow, sheet);
    draw_care(flow, sheet);
    dw_sheet__fetch(flow, sheet);
    if (sheet->form.pictures)
        dw_sheet__key(flow);
    for (size_t j = 0; j < sheet->plan->n_layouts; j++)
        dw_sheet__block(flow, sheet, &sheet->plan->layouts[sheet->sequence[j]]);
    if (sheet->plan->n_layouts == 0) {
        const struct dw_type text = {.size_mm = 4};
        dw_canvas__line(flow->canvas, flow->left, flow->y, 100, &text, "Nothing to cut.");
        return;
    }
    dw_sheet__tally(flow, sheet);
}

dw_err dw_draw_sheet(const struct dw_job *job, const struct dw_plan *plan,
                     const struct dw_draw_options *options, struct dw_drawing **out,
                     struct dw_error *error)
{
    *out = NULL;
    if (plan->status == DW_STATUS_INFEASIBLE)
        return dw_error__set(error, DW_ERR_INPUT,
                             "the plan lacks tube for some parts: there is no sheet to cut by");
    struct dw_buf client = {0};
    if (job->n_orders == 1)
        dw_saw__client(&client, NULL, job->orders[0].client, job->orders[0].due);
    struct dw_cut_sheet sheet = {
        .job = job, .plan = plan, .order = options->order, .to_come = options->to_come};
    sheet.form = options->compact ? (struct dw_sheet_form){4.5, 5, 5.6, false}
                 : options->large ? (struct dw_sheet_form){6.5, 9, 9, true}
                                  : (struct dw_sheet_form){4.5, 6, 6.4, true};
    for (size_t j = 0; j < plan->n_layouts; j++) {
        dw_length length = dw_draw__bar_length(job, &plan->layouts[j]);
        sheet.longest = length > sheet.longest ? length : sheet.longest;
    }
    const struct dw_frame frame = {
        .job = job->name ? job->name : "Job",
        .title = "Cut sheet",
        .date = options->date ? options->date : job->date,
        .number = options->plan_number,
        .client = client.text,
        .place = DW_AT_SAW,
        .about = {.title = job->name ? job->name : "Cut sheet", .date = dw_draw__stamp(options)}};
    dw_err err = client.failed ? DW_ERR_NOMEM : make_sequence(&sheet);
    if (err == DW_OK)
        err = dw_flow__run(options, &frame, draw_body, &sheet, out, error);
    else
        dw_error__nomem(error);
    free(sheet.sequence);
    dw_buf__free(&client);
    return err;
}
