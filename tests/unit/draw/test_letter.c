/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Letters measured: a language lacks no word, the receiver stands behind the window, nothing is cut
 * or over another, amounts add up. */
#include "cost/cost.h"
#include "draw/letter.h"

#include <dropwise/files.h>
#include <dropwise/solve.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

static void test_no_word_is_missing(void **state)
{
    (void)state;
    static const char *const codes[] = {"en", "de", "fr", "es"};
    static const enum dw_say filled[] = {DW_SAY_DATE,   DW_SAY_TUBE_TO_LENGTHS, DW_SAY_TAX_ON,
                                         DW_SAY_OFFCUT, DW_SAY_NO_TAX_ON,       DW_SAY_PAGE};
    for (size_t i = 0; i < DW_COUNT(codes); i++)
        assert_non_null(dw_language__find(codes[i]));
    for (size_t l = 0; dw_languages__all[l]; l++) {
        const struct dw_language *language = dw_languages__all[l];
        for (size_t w = 0; w < DW_N_SAY; w++)
            if (!language->words[w] || (!*language->words[w] && w != DW_SAY_GROUP))
                fail_msg("%s.yaml: word %zu is missing", language->code, w);
        for (size_t f = 0; f < DW_COUNT(filled); f++)
            assert_non_null(strstr(language->words[filled[f]], "{0}"));
        assert_non_null(strstr(language->words[DW_SAY_TAX_ON], "{1}"));
        assert_non_null(strstr(language->words[DW_SAY_TAX_ON], "{2}"));
        size_t months = 1;
        for (const char *c = language->words[DW_SAY_MONTHS]; *c; c++)
            months += *c == ' ';
        assert_int_equal(months, 12);
    }
    assert_null(dw_language__find("xx"));
}

static void expect_said(const char *code, const char *figure, const char *date, dw_length length,
                        enum dw_unit unit, const char *right)
{
    struct dw_buf text = {0};
    const struct dw_language *language = dw_language__find(code);
    dw_language__figure(&text, language, figure);
    dw_buf__put(&text, "|");
    dw_language__date(&text, language, date);
    dw_buf__put(&text, "|");
    dw_language__long(&text, language, length, unit);
    assert_string_equal(text.text, right);
    dw_buf__free(&text);
}

static void test_figures(void **state)
{
    (void)state;
    expect_said("en", "1234.50", "2027-05-03", 13985440000, DW_UNIT_MM,
                "1,234.50|3 May"
                " 2027|13.99\u00a0m");
    expect_said("en", "-1234567.00", "soon", 1, DW_UNIT_MM, "\u22121,234,567.00|soon|0.01\u00a0m");
    expect_said("de", "12345.50", "2027-12-31", 3 * 12 * DW_NM_PER_IN, DW_UNIT_IN,
                "12.345,50|31. Dezember"
                " 2027|3,0\u00a0ft");
    expect_said("fr", "12345.50", "2027-08-01", 0, DW_UNIT_MM,
                "12\u202f345,50|1 août 2027|0,00\u00a0m");
    expect_said("es", "0.05", "2027-01-09", 999999, DW_UNIT_M,
                "0,05|9 de enero de 2027|0,01\u00a0m");
}

/* Worked by hand: 0.3333 thrice is 0.9999, which is printed 1.00. */
static void test_amounts_add_up(void **state)
{
    (void)state;
    const dw_money amounts[] = {3333, 3333, 3333}, odd[] = {736650, 123450, 0, 50};
    dw_money shown[4], sum = 0;
    dw_cost__add_up("EUR", 3, amounts, shown, &sum);
    assert_int_equal(sum, 10000);
    assert_int_equal(shown[0], 3400);
    assert_int_equal(shown[1], 3300);
    assert_int_equal(shown[2], 3300);
    dw_cost__add_up("EUR", 4, odd, shown, &sum); /* 73.665 + 12.345 + 0 + 0.005 = 86.015 */
    assert_int_equal(sum, 860200);
    assert_int_equal(shown[0] + shown[1] + shown[2] + shown[3], sum);
    for (size_t i = 0; i < 4; i++)
        assert_int_equal(shown[i] % 100, 0);
    dw_cost__add_up("JPY", 2, odd, shown, &sum); /* 73.665 + 12.345 = 86.01: yen have no coins */
    assert_int_equal(sum, 860000);
    assert_int_equal(shown[0], 740000);
    assert_int_equal(shown[1], 120000);
}

/* --- pages -------------------------------------------------------------------------------------
 */

static struct dw_job *job;
static struct dw_plan *plan;

static int read_sample(void **state)
{
    (void)state;
    struct dw_report report = {0};
    struct dw_error error = {0};
    struct dw_settings settings;
    dw_settings_default(&settings);
    settings.time_ms = 2000;
    if (dw_job_read("samples/pan-stand.yaml", &job, &report, &error) != DW_OK ||
        dw_solve(job, &settings, NULL, &plan, &error) != DW_OK) {
        print_message("%s\n", error.text);
        return -1;
    }
    dw_report_free(&report);
    return 0;
}

static int free_sample(void **state)
{
    (void)state;
    dw_plan_free(plan);
    dw_job_free(job);
    return 0;
}

static bool overlap(const struct dw_box *a, const struct dw_box *b)
{
    const double slack = 0.35;
    return a->page == b->page && a->x + slack < b->x + b->width && b->x + slack < a->x + a->width &&
           a->y + slack < b->y + b->height && b->y + slack < a->y + a->height;
}

static void expect_tidy(const struct dw_drawing *drawing)
{
    for (size_t i = 0; i < drawing->n_boxes; i++) {
        const struct dw_box *box = &drawing->boxes[i];
        assert_true(box->x >= 0 && box->y >= 0);
        assert_true(box->x + box->width <= drawing->page_width_mm);
        assert_true(box->y + box->height <= drawing->page_height_mm);
        if (box->cut)
            fail_msg("cut short: %s", box->text);
        for (size_t k = i + 1; box->text && k < drawing->n_boxes; k++)
            if (drawing->boxes[k].text && overlap(box, &drawing->boxes[k]))
                fail_msg("\"%s\" over \"%s\"", box->text, drawing->boxes[k].text);
    }
}

/* The window of an envelope, in mm of the sheet. A4: DIN 5008 form B, the receiver's lines in the
 * address field, 20 mm from the left edge, 45 mm from the top, 85 x 45 mm, below its first 17.7 mm.
 * Letter: a No. 10 envelope of 241.3 x 104.8 mm, window 114.3 x 28.6 mm, 22.2 mm from its left,
 * 12.7 mm from its bottom; in it a sheet folded in three, 215.9 x 93.1 mm, that may lie against any
 * side: what is seen wherever it lies. Both from memory. */
static const double windows[2][4] = {
    {20, 45 + 17.7, 20 + 85, 45 + 45},
    {22.2, 104.8 - 12.7 - 28.6, 22.2 + 114.3 - (241.3 - 215.9), 104.8 - 12.7 - (104.8 - 93.1)}};

static void test_windows(void **state)
{
    (void)state;
    for (int letter = 0; letter < 2; letter++) {
        const struct dw_window ours = dw_letter__window(letter);
        assert_true(ours.x >= windows[letter][0] && ours.y >= windows[letter][1] - 0.05);
        assert_true(ours.x + ours.width <= windows[letter][2]);
        assert_true(ours.y + ours.height <= windows[letter][3] + 0.05);
        assert_true(ours.width > 75 && ours.height > 16);
    }
}

/* The receiver, and nothing else but what sends mail back, stands in the window of page 1. */
static void expect_window(const struct dw_drawing *drawing, bool letter, const char *name)
{
    struct dw_window window = dw_letter__window(letter);
    size_t found = 0;
    for (size_t i = 0; i < drawing->n_boxes; i++) {
        const struct dw_box *box = &drawing->boxes[i];
        if (box->page > 0 || !box->text || strncmp(box->text, name, strlen(name)) != 0 ||
            box->y < window.y - 0.1 || box->y > window.y + 1)
            continue;
        found++;
        assert_true(box->x >= window.x - 0.1);
        assert_true(box->x + box->width <= window.x + window.width + 0.1);
        assert_true(box->y + box->height <= window.y + window.height + 0.1);
    }
    assert_int_equal(found, 1);
}

static struct dw_drawing *draw(bool order, bool letter, const char *language, const char *address)
{
    struct dw_draw_options options = {.form = DW_FORM_PDF,
                                      .paper = letter ? DW_PAPER_LETTER : DW_PAPER_A4,
                                      .parts = true,
                                      .paper_number = "Q-2027-001",
                                      .wanted = "2027-05-12",
                                      .date = "2027-05-03"};
    struct dw_drawing *drawing = NULL;
    struct dw_error error = {0};
    job->orders[0].language = language;
    job->orders[0].address = address;
    if (order) {
        struct dw_order_doc *doc = NULL;
        assert_int_equal(dw_order_make(job, plan, "2027-05-03", &doc, &error), DW_OK);
        if (dw_draw_order(job, doc, &options, &drawing, &error) != DW_OK)
            fail_msg("%s", error.text);
        dw_order_free(doc);
    } else {
        struct dw_quote_doc *doc = NULL;
        assert_int_equal(dw_quote_make(job, plan, job->quote, "2027-05-03", &doc, &error), DW_OK);
        if (dw_draw_quote(job, doc, 0, &options, &drawing, &error) != DW_OK)
            fail_msg("%s", error.text);
        dw_quote_free(doc);
    }
    return drawing;
}

static void test_quotes(void **state)
{
    (void)state;
    static const char *const languages[] = {"en", "de", "fr", "es"};
    static const char *const addresses[] = {
        "Pier 4\n2214 Harbour Lights",
        "Department of Travelling Steel Orchestras and Carnival Frames, second floor\nHouse of the "
        "Long Quay\nLower Quay Number Four Hundred and Eleven\n2214 Harbour Lights\nUpper Islands"};
    for (size_t l = 0; l < DW_COUNT(languages); l++)
        for (size_t a = 0; a < DW_COUNT(addresses); a++)
            for (int letter = 0; letter < 2; letter++) {
                struct dw_drawing *drawing = draw(false, letter, languages[l], addresses[a]);
                expect_tidy(drawing);
                expect_window(drawing, letter, "Harbour Lights Trio");
                dw_drawing_free(drawing);
            }
}

/* Two suppliers: two papers, each page 1 of 1, neither with the other's name. */
static void test_orders(void **state)
{
    (void)state;
    for (int letter = 0; letter < 2; letter++) {
        struct dw_drawing *drawing = draw(true, letter, "en", NULL);
        size_t first = 0;
        assert_int_equal(drawing->n_pages, 2);
        expect_tidy(drawing);
        expect_window(drawing, letter, "Northgate Tube");
        for (size_t i = 0; i < drawing->n_boxes; i++) {
            const struct dw_box *box = &drawing->boxes[i];
            first += box->text && strcmp(box->text, "Page 1 of 1") == 0;
            if (box->text && strstr(box->text, box->page == 0 ? "Quay Metals" : "Northgate"))
                fail_msg("page %zu: %s", box->page + 1, box->text);
        }
        assert_int_equal(first, 2);
        dw_drawing_free(drawing);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_no_word_is_missing),
                                       cmocka_unit_test(test_figures),
                                       cmocka_unit_test(test_amounts_add_up),
                                       cmocka_unit_test(test_windows),
                                       cmocka_unit_test(test_quotes),
                                       cmocka_unit_test(test_orders)};
    return cmocka_run_group_tests(tests, read_sample, free_sample);
}
