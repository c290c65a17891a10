/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Frames of letters. */
#include "draw/letter.h"

#include <stdio.h>
#include <string.h>

#define LEFT_MM  25.0 /* DIN 5008: 25 mm at the left, 20 mm at the right */
#define RIGHT_MM 20.0
#define FOOT_MM  25.0 /* height of the foot */
#define INFO_MM  75.0 /* width of what stands beside the address */
#define A4_MM    210.0
#define TITLE_MM 97.0 /* first page: where what stands behind no window begins */

struct dw_window dw_letter__window(bool letter)
{
    return letter ? (struct dw_window){25, 63.6, 86, 16.8} : (struct dw_window){25, 62.7, 80, 27.3};
}

static bool is_letter(const struct dw_flow *flow)
{
    return flow->paper_width > A4_MM + 1;
}

/* A paragraph in the largest letters from `size` down to 2 mm that keep it within `height`. */
static void fit(struct dw_flow *flow, double x, double y, double width, double height, double size,
                const char *text)
{
    struct dw_type type = {.size_mm = size};
    while (type.size_mm > 2 &&
           dw_canvas__paragraph(flow->canvas, 0, 0, width, &type, text, false) > height)
        type.size_mm -= 0.1;
    dw_canvas__paragraph(flow->canvas, x, y, width, &type, text, true);
}

/* Lines of a text as one, parted by dots in the middle. */
static void join_lines(struct dw_buf *buf, const char *text)
{
    for (const char *at = text ? text : ""; *at; at++) {
        if (*at == '\n')
            dw_buf__put(buf, " · ");
        else
            dw_buf__char(buf, *at);
    }
}

static bool sound(struct dw_flow *flow, const struct dw_buf *buf)
{
    if (buf->failed)
        dw_canvas__fail(flow->canvas, DW_ERR_NOMEM);
    return !buf->failed && buf->n > 0;
}

static void draw_sender(struct dw_flow *flow, const struct dw_letter *letter)
{
    const struct dw_shop *shop = letter->shop;
    const struct dw_type name = {.size_mm = 6.4, .least_mm = 3, .bold = true};
    double width = flow->right - flow->left, logo = shop && shop->logo.n ? 44 : 0;
    if (!shop)
        return;
    if (logo > 0)
        dw_canvas__picture(flow->canvas, flow->right - 40, 12, 40, 20, &shop->logo);
    dw_canvas__line(flow->canvas, flow->left, 15, width - logo, &name, shop->name);
    struct dw_buf line = {0};
    join_lines(&line, shop->address);
    if (shop->contact)
        dw_buf__put(&line, line.n ? "\n" : "");
    join_lines(&line, shop->contact);
    if (sound(flow, &line))
        fit(flow, flow->left, 24, width - logo, 15, 2.9, line.text);
    dw_buf__free(&line);
}

/* Behind the window: the sender in small, for mail that comes back (A4 alone: a US window is too
 * low for it), and the receiver. */
static void draw_receiver(struct dw_flow *flow, const struct dw_letter *letter)
{
    struct dw_window window = dw_letter__window(is_letter(flow));
    struct dw_buf text = {0};
    if (letter->shop && !is_letter(flow)) {
        const struct dw_type small = {.size_mm = 2.2, .least_mm = 1.6};
        dw_buf__format(&text, "%s%s", letter->shop->name, letter->shop->address ? " · " : "");
        join_lines(&text, letter->shop->address);
        if (sound(flow, &text))
            dw_canvas__line(flow->canvas, window.x, window.y - 4.4, window.width, &small,
                            text.text);
        dw_canvas__rule(flow->canvas, window.x, window.y - 0.9, window.x + window.width,
                        window.y - 0.9, 0.12);
        dw_buf__free(&text);
    }
    dw_buf__format(&text, "%s%s%s", letter->to ? letter->to : "",
                   letter->to && letter->address ? "\n" : "",
                   letter->address ? letter->address : "");
    if (sound(flow, &text))
        fit(flow, window.x, window.y, window.width, window.height, 3.9, text.text);
    dw_buf__free(&text);
}

static void draw_rows(struct dw_flow *flow, const struct dw_letter *letter)
{
    const struct dw_type label = {.size_mm = 2.9, .least_mm = 2};
    const struct dw_type value = {.size_mm = 3.1, .bold = true};
    double x = flow->right - INFO_MM + 10, y = 50;
    for (size_t i = 0; i < letter->n_rows; i++) {
        if (!letter->rows[i].text || !*letter->rows[i].text)
            continue;
        dw_canvas__line(flow->canvas, x, y + 0.3, 23, &label, letter->rows[i].label);
        y += dw_canvas__paragraph(flow->canvas, x + 24, y, flow->right - x - 24, &value,
                                  letter->rows[i].text, true) +
             1;
    }
    flow->y = y + 4 > TITLE_MM ? y + 4 : TITLE_MM;
}

/* At both folds and in the middle, for a punch: DIN 5008 form B, 105, 210 and 148.5 mm; a Letter
 * sheet in thirds. */
static void draw_folds(struct dw_flow *flow)
{
    double height = is_letter(flow) ? 279.4 : 297;
    const double a4[] = {105, 148.5, 210}, us[] = {height / 3, height / 2, 2 * height / 3};
    for (size_t i = 0; i < 3; i++) {
        double y = is_letter(flow) ? us[i] : a4[i];
        dw_canvas__rule(flow->canvas, 4, y, i == 1 ? 9 : 7, y, 0.15);
    }
}

static void draw_title(struct dw_flow *flow, const struct dw_letter *letter)
{
    const struct dw_type big = {.size_mm = 6.4, .least_mm = 3.6, .bold = true};
    struct dw_buf text = {0};
    dw_buf__format(&text, "%s%s%s", letter->title, letter->number ? " " : "",
                   letter->number ? letter->number : "");
    if (sound(flow, &text))
        flow->y += dw_canvas__line(flow->canvas, flow->left, flow->y, flow->right - flow->left,
                                   &big, text.text) +
                   2;
    dw_buf__free(&text);
}

/* Second pages: whose paper it is, in one line. */
static void draw_short_head(struct dw_flow *flow, const struct dw_letter *letter)
{
    const struct dw_type small = {.size_mm = 3.2, .least_mm = 2};
    struct dw_buf text = {0};
    if (letter->shop)
        dw_buf__format(&text, "%s   ", letter->shop->name);
    dw_buf__format(&text, "%s%s%s%s%s", letter->title, letter->number ? " " : "",
                   letter->number ? letter->number : "", letter->to ? "   " : "",
                   letter->to ? letter->to : "");
    if (sound(flow, &text))
        dw_canvas__line(flow->canvas, flow->left, 14, flow->right - flow->left, &small, text.text);
    dw_canvas__rule(flow->canvas, flow->left, 19.5, flow->right, 19.5, 0.3);
    dw_buf__free(&text);
    flow->y = 24;
}

static void draw_foot(struct dw_flow *flow, const struct dw_letter *letter)
{
    const struct dw_shop *shop = letter->shop;
    const struct dw_language *language = letter->language;
    const struct dw_type small = {.size_mm = 2.5}, page = {.size_mm = 2.9, .align = DW_ALIGN_RIGHT};
    double y = flow->bottom + 3, width = flow->right - flow->left;
    char at[24], of[24];
    size_t n = 0, pages = 0;
    struct dw_buf text = {0};
    dw_canvas__rule(flow->canvas, flow->left, y, flow->right, y, 0.2);
    if (letter->caution)
        y += dw_canvas__paragraph(flow->canvas, flow->left, y + 1.2, width, &small, letter->caution,
                                  true);
    if (shop && shop->bank)
        dw_buf__format(&text, "%s: ", language->words[DW_SAY_BANK]);
    join_lines(&text, shop ? shop->bank : NULL);
    if (shop && shop->tax_number)
        dw_buf__format(&text, "%s%s: %s", text.n ? "\n" : "", language->words[DW_SAY_TAX_NUMBER],
                       shop->tax_number);
    if (sound(flow, &text))
        fit(flow, flow->left, y + 2.2, width - 36, 9, 2.5, text.text);
    dw_buf__free(&text);
    dw_flow__place(flow, &n, &pages);
    snprintf(at, sizeof at, "%zu", n);
    snprintf(of, sizeof of, "%zu", pages);
    dw_language__fill(&text, language, DW_SAY_PAGE, at, of, NULL);
    if (sound(flow, &text))
        dw_canvas__line(flow->canvas, flow->right - 34, y + 2, 34, &page, text.text);
    dw_buf__free(&text);
}

void dw_letter__page(struct dw_flow *flow, const void *user)
{
    const struct dw_letter *letter = user;
    flow->left = LEFT_MM;
    flow->right = flow->paper_width - RIGHT_MM;
    flow->bottom = flow->paper_height - FOOT_MM - 6;
    draw_foot(flow, letter);
    if (flow->part_page > 1) {
        draw_short_head(flow, letter);
        return;
    }
    draw_sender(flow, letter);
    draw_receiver(flow, letter);
    draw_folds(flow);
    draw_rows(flow, letter);
    draw_title(flow, letter);
}
