/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Papers measured: nothing off the page, no text over another, the scale bar true, every form. */
#include "paper_job.h"
#include <dropwise/draw.h>

#include <cairo.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

static struct dw_drawing *sheet(const struct paper_job *paper, enum dw_form form,
                                enum dw_paper size, enum dw_sheet_order order)
{
    const struct dw_draw_options options = {
        .form = form, .paper = size, .order = order, .plan_number = "2026-014"};
    struct dw_drawing *document = NULL;
    struct dw_error error = {0};
    if (dw_draw_sheet(paper->job, paper->plan, &options, &document, &error) != DW_OK)
        fail_msg("%s", error.text);
    return document;
}

static bool overlap(const struct dw_box *a, const struct dw_box *b)
{
    const double slack = 0.35; /* line height includes room above and below the letters */
    return a->x + slack < b->x + b->width && b->x + slack < a->x + a->width &&
           a->y + slack < b->y + b->height && b->y + slack < a->y + a->height;
}

static void expect_tidy(const struct dw_drawing *document)
{
    for (size_t i = 0; i < document->n_boxes; i++) {
        const struct dw_box *box = &document->boxes[i];
        if (box->x < -0.01 || box->y < -0.01 ||
            box->x + box->width > document->page_width_mm + 0.01 ||
            box->y + box->height > document->page_height_mm + 0.01)
            fail_msg("off the page %zu: %.1f %.1f %.1f %.1f %s", box->page + 1, box->x, box->y,
                     box->width, box->height, box->text ? box->text : "-");
        if (box->cut)
            fail_msg("page %zu: cut short: %s", box->page + 1, box->text);
        if (box->kind == DW_BOX_FRAME)
            continue;
        for (size_t j = i + 1; j < document->n_boxes; j++) {
            const struct dw_box *other = &document->boxes[j];
            if (other->page == box->page && other->kind != DW_BOX_FRAME && overlap(box, other))
                fail_msg("page %zu: \"%s\" over \"%s\"", box->page + 1,
                         box->text ? box->text : "code", other->text ? other->text : "code");
        }
    }
}

/* The text with its no-break spaces as blanks. */
static const char *plain(char *out, size_t room, const char *text)
{
    size_t n = 0;
    for (const char *c = text; *c && n + 1 < room; c++) {
        bool held = strncmp(c, "\u00A0", 2) == 0;
        out[n++] = held ? ' ' : *c;
        c += held;
    }
    out[n] = '\0';
    return out;
}

static bool says(const struct dw_drawing *document, const char *text)
{
    char box[2000], wanted[2000];
    plain(wanted, sizeof wanted, text);
    for (size_t i = 0; i < document->n_boxes; i++)
        if (document->boxes[i].text &&
            strstr(plain(box, sizeof box, document->boxes[i].text), wanted))
            return true;
    return false;
}

static void sheets_are_tidy(void **state)
{
    (void)state;
    struct paper_job papers[] = {paper_job_small(),          paper_job_many(200, true),
                                 paper_job_many(200, false), paper_job_many(1, true),
                                 paper_job_empty(),          paper_job_bars(12),
                                 paper_job_worked()};
    for (size_t p = 0; p < sizeof papers / sizeof papers[0]; p++) {
        for (int size = DW_PAPER_A4; size <= DW_PAPER_LETTER; size++)
            for (int order = DW_SHEET_PLAN; order <= DW_SHEET_STOPS; order++) {
                struct dw_drawing *document =
                    sheet(&papers[p], DW_FORM_PDF, (enum dw_paper)size, (enum dw_sheet_order)order);
                expect_tidy(document);
                dw_drawing_free(document);
            }
        paper_job_free(&papers[p]);
    }
}

static const struct dw_box *find_text(const struct dw_drawing *drawing, const char *text)
{
    for (size_t i = 0; i < drawing->n_boxes; i++)
        if (drawing->boxes[i].text && strcmp(drawing->boxes[i].text, text) == 0)
            return &drawing->boxes[i];
    fail_msg("not on the sheet: %s", text);
    return NULL;
}

/* Marks are 4.5 mm or more in each form, and end below each other; a list of what to make ends the
 * sheet. A line of letters is taller than their size. */
static void marks_are_large_and_flush_right(void **state)
{
    (void)state;
    static const char *const firsts[] = {"46\u00A01/2", "124\u00A05/8", "209\u00A03/4"};
    struct paper_job paper = paper_job_small();
    size_t pages[3] = {0};
    for (int form = 0; form < 3; form++) {
        const struct dw_draw_options options = {
            .form = DW_FORM_PDF, .compact = form == 1, .large = form == 2};
        struct dw_drawing *drawing = NULL;
        struct dw_error error = {0};
        assert_int_equal(dw_draw_sheet(paper.job, paper.plan, &options, &drawing, &error), DW_OK);
        expect_tidy(drawing);
        const struct dw_box *first = find_text(drawing, firsts[0]);
        for (size_t i = 0; i < sizeof firsts / sizeof *firsts; i++) {
            const struct dw_box *mark = find_text(drawing, firsts[i]);
            assert_true(mark->height >= (form == 2 ? 6.5 : 4.5));
            assert_true(fabs(mark->x + mark->width - first->x - first->width) < 0.2);
        }
        find_text(drawing, "Tally");
        assert_true(says(drawing, "Cut by ....") && says(drawing, "checked by ...."));
        assert_true(says(drawing, "the flag is on the waste") == (form != 1));
        pages[form] = drawing->n_pages;
        dw_drawing_free(drawing);
    }
    assert_true(pages[1] <= pages[0] && pages[0] <= pages[2]);
    paper_job_free(&paper);
}

/* Figures worked by hand: 46 1/2 + 1/8 + 46 1/2 = 93 1/8 and so on along the bar. */
static void sheet_shows_every_mark(void **state)
{
    (void)state;
    struct paper_job paper = paper_job_small();
    struct dw_drawing *document = sheet(&paper, DW_FORM_PDF, DW_PAPER_A4, DW_SHEET_PLAN);
    static const char *const texts[] = {"46\u00A01/2",
                                        "93\u00A01/8",
                                        "124\u00A05/8",
                                        "156\u00A01/8",
                                        "187\u00A05/8",
                                        "209\u00A03/4",
                                        "31 3/8 in",
                                        "48\u00A03/4",
                                        "9 5/32 in",
                                        "Left of each bar: 29 5/8 in",
                                        "at rack B2",
                                        "mark H 4471",
                                        "Bars 1 to 3",
                                        "plan 2026-014",
                                        "page 1 of 2",
                                        "MEASURE ON SITE FIRST",
                                        "Eye and hearing protection"};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++)
        if (!says(document, texts[i]))
            fail_msg("not on the sheet: %s", texts[i]);
    dw_drawing_free(document);
    paper_job_free(&paper);
}

/* A box to tick for each bar with its number beside it, and nothing known left out. 46 1/2 in less
 * 3 in for the two short points is 43 1/2 in. */
static void sheet_shows_what_the_saw_must_know(void **state)
{
    (void)state;
    struct paper_job paper = paper_job_worked();
    struct dw_drawing *document = sheet(&paper, DW_FORM_PDF, DW_PAPER_A4, DW_SHEET_PLAN);
    static const char *const texts[] = {
        "Bars 1 to 40",
        "square both ends first, 1/4 in off each",
        "the bent end is the datum end and is not squared",
        "square the far end first, 1/4 in off",
        "mitre both ends 45° off square, long points on opposite sides",
        "Written as 43 1/2 in, short point to short point",
        "mitre end 1 (datum end) 22.5° off square, notch end 2",
        "5 in straight, 30° on radius 6 in (centre line), 4 in straight",
        "Remark: drill 6 mm from the long point before mitring, then wrap in paper: the finish is "
        "seen from the front of the stage",
        "MEASURE ON SITE FIRST, CUT LAST: planned as 16 1/4 in + 1 in,\nmeasure: ____",
        "Takes the bent end: the 31 3/8 in include the bend",
        "Tenor rack, for Carnival Traders of the Eastern Main Road, due 2026-12-18",
        "oberhalb der Halterung für den Notenständer",
        "the pallet with the blue ends",
        "bar 17: number ________ place ________",
        "from long point to long point, with one kerf between two of them"};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++)
        if (!says(document, texts[i]))
            fail_msg("not on the sheet: %s", texts[i]);
    for (int bar = 1; bar <= 40; bar++) {
        char number[16];
        snprintf(number, sizeof number, "%d", bar);
        bool ticked = false;
        for (size_t i = 1; i < document->n_boxes && !ticked; i++)
            ticked = document->boxes[i].text && strcmp(document->boxes[i].text, number) == 0 &&
                     document->boxes[i - 1].kind == DW_BOX_FRAME;
        if (!ticked)
            fail_msg("no box for bar %d", bar);
    }
    dw_drawing_free(document);
    paper_job_free(&paper);
}

/* How far down the pages the title of a block stands, 0 = nowhere. */
static double title_at(const struct dw_drawing *document, const char *title)
{
    for (size_t i = 0; i < document->n_boxes; i++)
        if (document->boxes[i].text && strcmp(document->boxes[i].text, title) == 0)
            return (double)document->boxes[i].page * document->page_height_mm +
                   document->boxes[i].y;
    return 0;
}

/* Blocks move, numbers do not: bar 4 has the part that is measured first, bar 5 is of the same
 * section without one. */
static void measured_parts_come_last_under_their_numbers(void **state)
{
    (void)state;
    struct paper_job paper = paper_job_small();
    struct dw_drawing *document = sheet(&paper, DW_FORM_PDF, DW_PAPER_A4, DW_SHEET_SECTION);
    double first = title_at(document, "Bars 1 to 3"), measured = title_at(document, "Bar 4"),
           pure = title_at(document, "Bar 5");
    assert_true(first > 0 && pure > first && measured > pure);
    dw_drawing_free(document);
    document = sheet(&paper, DW_FORM_PDF, DW_PAPER_A4, DW_SHEET_PLAN);
    assert_true(title_at(document, "Bar 5") > title_at(document, "Bar 4"));
    dw_drawing_free(document);
    paper_job_free(&paper);
}

/* Bar 1 ends with the length that bar 3 begins with. */
static void the_stop_stays_where_it_can(void **state)
{
    (void)state;
    struct paper_job paper = paper_job_bars(3);
    struct dw_layout *layouts = paper.plan->layouts;
    layouts[1].n_pieces = 2;
    layouts[2].pieces = &layouts[0].pieces[layouts[0].n_pieces - 1];
    layouts[2].n_pieces = 1;
    struct dw_drawing *document = sheet(&paper, DW_FORM_PDF, DW_PAPER_A4, DW_SHEET_STOPS);
    assert_true(title_at(document, "Bar 1") > 0);
    assert_true(title_at(document, "Bar 3") > title_at(document, "Bar 1"));
    assert_true(title_at(document, "Bar 2") > title_at(document, "Bar 3"));
    dw_drawing_free(document);
    paper_job_free(&paper);
}

static void every_page_is_framed(void **state)
{
    (void)state;
    struct paper_job paper = paper_job_bars(60);
    struct dw_drawing *document = sheet(&paper, DW_FORM_SVG, DW_PAPER_LETTER, DW_SHEET_PLAN);
    assert_true(document->n_pages > 3);
    assert_int_equal(document->n_files, document->n_pages);
    for (size_t page = 0; page < document->n_pages; page++) {
        char want[64];
        snprintf(want, sizeof want, "page %zu of %zu", page + 1, document->n_pages);
        bool job = false, number = false, paging = false, caution = false;
        for (size_t i = 0; i < document->n_boxes; i++) {
            const struct dw_box *box = &document->boxes[i];
            if (box->page != page || !box->text)
                continue;
            job = job || strcmp(box->text, "Steelpan trio, touring racks") == 0;
            number = number || strstr(box->text, "2026-11-20   plan 2026-014");
            paging = paging || strcmp(box->text, want) == 0;
            caution = caution || strstr(box->text, "Clamp the tube");
        }
        assert_true(job && number && paging && caution);
    }
    dw_drawing_free(document);
    paper_job_free(&paper);
}

static void forms_begin_as_they_should(void **state)
{
    (void)state;
    struct paper_job paper = paper_job_small();
    static const char *const begin[] = {"%PDF-", "<?xml", "\x89PNG"};
    for (int form = DW_FORM_PDF; form <= DW_FORM_PNG; form++) {
        struct dw_drawing *document = sheet(&paper, (enum dw_form)form, DW_PAPER_A4, DW_SHEET_PLAN);
        assert_true(document->files[0].n > 1000);
        assert_memory_equal(document->files[0].bytes, begin[form], strlen(begin[form]));
        dw_drawing_free(document);
    }
    struct dw_image bar = {0}, code = {0};
    assert_int_equal(dw_draw_bar(paper.job, &paper.plan->layouts[0], 180, &bar, NULL), DW_OK);
    assert_int_equal(dw_draw_code("offcut 17", 30, &code, NULL), DW_OK);
    assert_memory_equal(bar.bytes, "<?xml", 5);
    assert_memory_equal(code.bytes, "<?xml", 5);
    free(bar.bytes);
    free(code.bytes);
    paper_job_free(&paper);
}

/* A label a piece, in the order of cutting: bar by bar, its offcut after its pieces. */
static void labels_follow_the_saw(void **state)
{
    (void)state;
    struct paper_job paper = paper_job_worked();
    paper.plan->number = 3;
    struct dw_label_list list;
    assert_int_equal(dw_label_list_make(paper.job, paper.plan, NULL, true, true, &list, NULL),
                     DW_OK);
    assert_int_equal(list.n, 40 * 7 + 2 + 4 + 1);
    assert_string_equal(list.labels[0].bar, "plan 3, bar 1, piece 1 of 6");
    assert_string_equal(list.labels[0].work, "mitre 45° / mitre 45°, long points opposite "
                                             "sides");
    assert_string_equal(
        list.labels[0].job,
        "Tenor rack, for Carnival Traders of the Eastern Main Road, due 2026-12-18");
    assert_string_equal(list.labels[1].bar, "plan 3, bar 1, piece 2 of 6");
    assert_string_equal(list.labels[6].bar, "plan 3, left of bar 1");
    assert_string_equal(list.labels[7].bar, "plan 3, bar 2, piece 1 of 6");
    assert_string_equal(list.labels[40 * 7 + 1].bar, "plan 3, bar 41, piece 2 of 2");
    assert_non_null(
        strstr(list.labels[40 * 7 + 1].work, "planned as 16\u00A01/4\u00A0in + 1\u00A0in"));
    dw_label_list_free(&list);
    paper_job_free(&paper);
}

static void labels_are_tidy(struct paper_job paper, size_t n_labels)
{
    struct dw_label_list list;
    assert_int_equal(dw_label_list_make(paper.job, paper.plan, NULL, true, true, &list, NULL),
                     DW_OK);
    assert_int_equal(list.n, n_labels);
    const struct dw_draw_options options = {.form = DW_FORM_PDF};
    for (size_t s = 0; dw_label_stock_at(s); s++) {
        const struct dw_label_stock *stock = dw_label_stock_at(s);
        assert_ptr_equal(stock, dw_label_stock_find(stock->id));
        struct dw_drawing *document = NULL;
        assert_int_equal(dw_draw_labels(list.labels, list.n, stock, 2, &options, &document, NULL),
                         DW_OK);
        expect_tidy(document);
        assert_true(says(document, "46 1/2 in"));
        dw_drawing_free(document);
    }
    dw_label_list_free(&list);
    paper_job_free(&paper);
}

static void labels_are_tidy_on_every_stock(void **state)
{
    (void)state;
    labels_are_tidy(paper_job_small(),
                    3 * 6 + 2 + 4 + 3 + 1); /* pieces of each bar, offcuts kept */
    labels_are_tidy(paper_job_worked(), 40 * 7 + 2 + 4 + 1);
}

/* Sheets that are sold: templates of Debian's glabels-data 3.4.1, by the number of the part there.
 * Makers differ by a quarter of a millimetre. Paper: ISO 216, A4; letter is 8.5 x 11 in there too.
 */
static void sheets_of_labels_are_those_sold(void **state)
{
    (void)state;
    static const struct {
        const char *id, *part;
        double paper[2], size[2], first[2], step[2]; /* mm */
        int columns, rows;
    } sheets[] = {
        {"a4-21", "0410", {210, 297}, {63.5, 38.1}, {7.2, 15.1}, {66, 38.1}, 3, 7},
        {"a4-24", "EA-700x370", {210, 297}, {70, 37}, {0, 0.5}, {70, 37}, 3, 8},
        {"a4-14", "0810", {210, 297}, {99.1, 38.1}, {4.7, 15.15}, {101.6, 38.1}, 2, 7},
        {"a4-65", "ELM023", {210, 297}, {38.1, 21.2}, {4.75, 10.92}, {40.6, 21.2}, 5, 13},
        {"letter-30",
         "WL-875",
         {8.5 * 25.4, 11 * 25.4},
         {2.625 * 25.4, 25.4},
         {0.1875 * 25.4, 12.7},
         {2.75 * 25.4, 25.4},
         3,
         10},
        {"letter-10",
         "WL-125",
         {8.5 * 25.4, 11 * 25.4},
         {101.6, 50.8},
         {0.1625 * 25.4, 12.7},
         {4.1875 * 25.4, 50.8},
         2,
         5},
    };
    for (size_t i = 0; i < sizeof sheets / sizeof *sheets; i++) {
        const struct dw_label_stock *s = dw_label_stock_find(sheets[i].id);
        assert_non_null(s);
        const double got[] = {s->page_width_mm, s->page_height_mm, s->width_mm,  s->height_mm,
                              s->left_mm,       s->top_mm,         s->step_x_mm, s->step_y_mm};
        const double *want[] = {sheets[i].paper, sheets[i].size, sheets[i].first, sheets[i].step};
        for (size_t k = 0; k < 8; k++)
            if (fabs(got[k] - want[k / 2][k % 2]) > 0.25)
                fail_msg("%s, %s: %.3f, sold as %.3f", sheets[i].id, sheets[i].part, got[k],
                         want[k / 2][k % 2]);
        assert_int_equal(s->columns, sheets[i].columns);
        assert_int_equal(s->rows, sheets[i].rows);
        /* the last label ends on the paper */
        assert_true(s->left_mm + (s->columns - 1) * s->step_x_mm + s->width_mm <=
                    s->page_width_mm + 1e-9);
        assert_true(s->top_mm + (s->rows - 1) * s->step_y_mm + s->height_mm <=
                    s->page_height_mm + 1e-9);
    }
}

struct bytes {
    const struct dw_image *file;
    size_t at;
};

static cairo_status_t feed(void *closure, unsigned char *to, unsigned int n)
{
    struct bytes *bytes = closure;
    if (n > bytes->file->n - bytes->at)
        return CAIRO_STATUS_READ_ERROR;
    memcpy(to, bytes->file->bytes + bytes->at, n);
    bytes->at += n;
    return CAIRO_STATUS_SUCCESS;
}

/* Longest run of dark dots in a row of the picture. */
static int dark_run(const unsigned char *row, int width)
{
    int best = 0, run = 0;
    for (int x = 0; x < width; x++) {
        run = row[4 * x] < 128 ? run + 1 : 0;
        best = run > best ? run : best;
    }
    return best;
}

/* At 254 dots an inch 100 mm are 1000 dots. The rules across the page are 1820 long or more; the
 * scale bar is the only other line of its length in the foot. */
static void scale_bar_is_true(void **state)
{
    (void)state;
    struct paper_job paper = paper_job_small();
    for (int size = DW_PAPER_A4; size <= DW_PAPER_LETTER; size++) {
        const struct dw_draw_options options = {
            .form = DW_FORM_PNG, .paper = (enum dw_paper)size, .dpi = 254};
        struct dw_drawing *document = NULL;
        assert_int_equal(dw_draw_sheet(paper.job, paper.plan, &options, &document, NULL), DW_OK);
        struct bytes bytes = {.file = &document->files[0]};
        cairo_surface_t *picture = cairo_image_surface_create_from_png_stream(feed, &bytes);
        assert_int_equal(cairo_surface_status(picture), CAIRO_STATUS_SUCCESS);
        int width = cairo_image_surface_get_width(picture);
        int height = cairo_image_surface_get_height(picture);
        assert_int_equal(height, (int)(document->page_height_mm * 10 + 0.5));
        int found = 0;
        for (int y = height - 300; y < height; y++) {
            int run = dark_run(cairo_image_surface_get_data(picture) +
                                   (ptrdiff_t)y * cairo_image_surface_get_stride(picture),
                               width);
            found = run > 800 && run < 1200 ? run : found;
        }
        assert_in_range(found, 998, 1003); /* the line ends are half a dot or more wide */
        cairo_surface_destroy(picture);
        dw_drawing_free(document);
    }
    paper_job_free(&paper);
}

static void refuses_what_cannot_be_drawn(void **state)
{
    (void)state;
    struct paper_job paper = paper_job_small();
    struct dw_drawing *document = NULL;
    struct dw_error error = {0};
    const struct dw_draw_options coarse = {.form = DW_FORM_PNG, .dpi = 5};
    assert_int_equal(dw_draw_sheet(paper.job, paper.plan, &coarse, &document, &error),
                     DW_ERR_RANGE);
    assert_null(document);
    paper.plan->status = DW_STATUS_INFEASIBLE;
    const struct dw_draw_options options = {.form = DW_FORM_PDF};
    assert_int_equal(dw_draw_sheet(paper.job, paper.plan, &options, &document, NULL), DW_ERR_INPUT);
    assert_null(document);
    assert_null(dw_label_stock_find("a4-0"));
    paper_job_free(&paper);
}

/* The measures of a stock that is known by name give the same stock. */
static void stocks_by_measures(void **state)
{
    (void)state;
    static const char *const bad[] = {"a4-22",
                                      "62",
                                      "62 x",
                                      "9 x 29",
                                      "62 x 301",
                                      "62 x 29 ft",
                                      "3 x 7 of 63.5 x 38.1 on a4",
                                      "3 x 7 of 63.5 x 38.1 on a4 at 7.25, 15.15 step 60 x 38.1",
                                      "3.5 x 7 of 63.5 x 38.1 on a4 at 7.25, 15.15 step 66 x 38.1",
                                      "4 x 7 of 63.5 x 38.1 on a4 at 7.25, 15.15 step 66 x 38.1",
                                      "3 x 8 of 63.5 x 38.1 on a4 at 7.25, 15.15 step 66 x 38.1",
                                      "3 x 7 of 63.5 x 38.1 on a5 at 7.25, 15.15 step 66 x 38.1",
                                      "0 x 7 of 63.5 x 38.1 on a4 at 7.25, 15.15 step 66 x 38.1"};
    const struct dw_label_stock *known = dw_label_stock_find("a4-21");
    struct dw_label_stock read;
    assert_null(
        dw_label_stock_read("3 x 7 of 63.5 x 38.1 on a4 at 7.25, 15.15 step 66 x 38.1", &read));
    assert_int_equal(read.columns, known->columns);
    assert_int_equal(read.rows, known->rows);
    const double pairs[][2] = {{read.page_width_mm, known->page_width_mm},
                               {read.page_height_mm, known->page_height_mm},
                               {read.width_mm, known->width_mm},
                               {read.height_mm, known->height_mm},
                               {read.left_mm, known->left_mm},
                               {read.top_mm, known->top_mm},
                               {read.step_x_mm, known->step_x_mm},
                               {read.step_y_mm, known->step_y_mm}};
    for (size_t i = 0; i < sizeof pairs / sizeof *pairs; i++)
        assert_true(fabs(pairs[i][0] - pairs[i][1]) < 1e-9);
    assert_null(dw_label_stock_read("2x5 of 4x2 on letter at 0.15625,0.5 step 4.1875x2 in", &read));
    assert_true(fabs(read.width_mm - 101.6) < 1e-9 && fabs(read.step_x_mm - 106.3625) < 1e-9);
    assert_null(dw_label_stock_read("62 x 29", &read));
    assert_true(read.page_width_mm == 62 && read.page_height_mm == 29 && read.rows == 1);
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
        if (!dw_label_stock_read(bad[i], &read))
            fail_msg("taken for a stock: %s", bad[i]);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sheets_are_tidy),
        cmocka_unit_test(sheet_shows_every_mark),
        cmocka_unit_test(marks_are_large_and_flush_right),
        cmocka_unit_test(stocks_by_measures),
        cmocka_unit_test(sheet_shows_what_the_saw_must_know),
        cmocka_unit_test(labels_follow_the_saw),
        cmocka_unit_test(measured_parts_come_last_under_their_numbers),
        cmocka_unit_test(the_stop_stays_where_it_can),
        cmocka_unit_test(every_page_is_framed),
        cmocka_unit_test(forms_begin_as_they_should),
        cmocka_unit_test(labels_are_tidy_on_every_stock),
        cmocka_unit_test(sheets_of_labels_are_those_sold),
        cmocka_unit_test(scale_bar_is_true),
        cmocka_unit_test(refuses_what_cannot_be_drawn),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
