/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Label stocks: those that are known by name, and any other by its measures. */
#include "base/base.h"

#include <dropwise/draw.h>
#include <string.h>

/* Sizes in common use at stationers (common practice). */
static const struct dw_label_stock stocks[] = {
    {"a4-21", "A4 sheet, 3 x 7, 63.5 x 38.1 mm", 210, 297, 3, 7, 63.5, 38.1, 7.25, 15.15, 66, 38.1},
    {"a4-24", "A4 sheet, 3 x 8, 70 x 37 mm", 210, 297, 3, 8, 70, 37, 0, 0.5, 70, 37},
    {"a4-14", "A4 sheet, 2 x 7, 99.1 x 38.1 mm", 210, 297, 2, 7, 99.1, 38.1, 4.65, 15.15, 101.6,
     38.1},
    {"a4-65", "A4 sheet, 5 x 13, 38.1 x 21.2 mm", 210, 297, 5, 13, 38.1, 21.2, 4.75, 10.7, 40.6,
     21.2},
    {"letter-30", "Letter sheet, 3 x 10, 2 5/8 x 1 in", 215.9, 279.4, 3, 10, 66.675, 25.4, 4.7625,
     12.7, 69.85, 25.4},
    {"letter-10", "Letter sheet, 2 x 5, 4 x 2 in", 215.9, 279.4, 2, 5, 101.6, 50.8, 3.96875, 12.7,
     106.3625, 50.8},
    {"roll-62x29", "Roll, 62 x 29 mm", 62, 29, 1, 1, 62, 29, 0, 0, 62, 29},
    {"roll-57x32", "Roll, 57 x 32 mm", 57, 32, 1, 1, 57, 32, 0, 0, 57, 32},
    {"roll-89x36", "Roll, 89 x 36 mm", 89, 36, 1, 1, 89, 36, 0, 0, 89, 36},
    {"roll-100x50", "Roll, 100 x 50 mm", 100, 50, 1, 1, 100, 50, 0, 0, 100, 50},
};

const struct dw_label_stock *dw_label_stock_at(size_t index)
{
    return index < DW_COUNT(stocks) ? &stocks[index] : NULL;
}

const struct dw_label_stock *dw_label_stock_find(const char *id)
{
    for (size_t i = 0; i < DW_COUNT(stocks); i++)
        if (strcmp(stocks[i].id, id) == 0)
            return &stocks[i];
    return NULL;
}

/* --- by measures -------------------------------------------------------------------------------
 */

#define LEAST_MM  10.0  /* a label is no smaller */
#define WIDEST_MM 300.0 /* nor larger */
#define SLACK_MM  0.2   /* measures of stationers are rounded */

/* The text after a word and the blanks around it; NULL: something else stands there. */
static const char *after(const char *at, const char *word)
{
    at += strspn(at, " ");
    size_t n = strlen(word);
    if (strncmp(at, word, n) != 0)
        return NULL;
    at += n;
    return at + strspn(at, " ");
}

/* A number with a point, whatever the locale of the program that asks. Returns what follows it;
 * `text` itself: there is none. */
static const char *read_number(const char *text, double *out)
{
    const char *at = text;
    double tenth = 1;
    *out = 0;
    for (; *at >= '0' && *at <= '9' && *out < 1e6; at++)
        *out = *out * 10 + (*at - '0');
    if (at > text && *at == '.')
        for (at++; *at >= '0' && *at <= '9'; at++)
            *out += (*at - '0') * (tenth /= 10);
    return at;
}

/* "66 x 38.1": two numbers with `between` between them; *at NULL stays it. */
static void read_pair(const char **at, const char *between, double *a, double *b)
{
    const char *next = *at, *end = NULL;
    if (!next)
        return;
    end = read_number(next, a);
    next = end > next ? after(end, between) : NULL;
    end = next ? read_number(next, b) : NULL;
    *at = end > next ? end + strspn(end, " ") : NULL;
}

static void skip_word(const char **at, const char *word)
{
    if (*at)
        *at = after(*at, word);
}

static const char *fault_of(const struct dw_label_stock *s)
{
    double right = s->left_mm + s->step_x_mm * (s->columns - 1) + s->width_mm;
    double low = s->top_mm + s->step_y_mm * (s->rows - 1) + s->height_mm;
    if (!(s->width_mm >= LEAST_MM && s->width_mm <= WIDEST_MM && s->height_mm >= LEAST_MM &&
          s->height_mm <= WIDEST_MM))
        return "a label is 10 to 300 mm wide and high";
    if (s->columns < 1 || s->columns > 20 || s->rows < 1 || s->rows > 40)
        return "a sheet has 1 to 20 columns and 1 to 40 rows of labels";
    if (!(s->left_mm >= 0 && s->top_mm >= 0 && right <= s->page_width_mm + SLACK_MM &&
          low <= s->page_height_mm + SLACK_MM))
        return "the labels do not lie on the paper";
    if (s->step_x_mm < s->width_mm - SLACK_MM || s->step_y_mm < s->height_mm - SLACK_MM)
        return "labels lie over each other: a step is as wide and high as a label at least";
    return NULL;
}

static const char *read_sheet(const char *text, double mm, struct dw_label_stock *out)
{
    const char *at = text;
    double columns = 0, rows = 0;
    read_pair(&at, "x", &columns, &rows);
    skip_word(&at, "of");
    read_pair(&at, "x", &out->width_mm, &out->height_mm);
    skip_word(&at, "on");
    bool letter = at && after(at, "letter");
    skip_word(&at, letter ? "letter" : "a4");
    skip_word(&at, "at");
    read_pair(&at, ",", &out->left_mm, &out->top_mm);
    skip_word(&at, "step");
    read_pair(&at, "x", &out->step_x_mm, &out->step_y_mm);
    if (!at || (*at && strcmp(at, "in") != 0) || columns != (int)columns || rows != (int)rows)
        return "write it as 3 x 7 of 63.5 x 38.1 on a4 at 7.25, 15.15 step 66 x 38.1";
    double *const lengths[] = {&out->width_mm, &out->height_mm, &out->left_mm,
                               &out->top_mm,   &out->step_x_mm, &out->step_y_mm};
    for (size_t i = 0; i < DW_COUNT(lengths); i++)
        *lengths[i] *= mm;
    out->columns = (int)columns;
    out->rows = (int)rows;
    out->page_width_mm = letter ? 215.9 : 210;
    out->page_height_mm = letter ? 279.4 : 297;
    return fault_of(out);
}

const char *dw_label_stock_read(const char *text, struct dw_label_stock *out)
{
    const char *at = text;
    size_t n = strlen(text);
    double mm = n > 3 && strcmp(text + n - 3, " in") == 0 ? 25.4 : 1;
    *out = (struct dw_label_stock){.id = text, .text = text, .columns = 1, .rows = 1};
    if (strstr(text, " of "))
        return read_sheet(text, mm, out);
    read_pair(&at, "x", &out->width_mm, &out->height_mm);
    if (!at || (*at && strcmp(at, "in") != 0 && strcmp(at, "mm") != 0))
        return "no name of a stock, nor measures such as 62 x 29";
    out->width_mm *= mm;
    out->height_mm *= mm;
    out->page_width_mm = out->step_x_mm = out->width_mm;
    out->page_height_mm = out->step_y_mm = out->height_mm;
    return fault_of(out);
}
