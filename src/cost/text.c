/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Texts and sums that orders and quotes share. */
#include "cost/cost.h"
#include "units/units.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

const char *dw_cost__text(struct dw_arena *arena, const char *format, ...)
{
    va_list list;
    va_start(list, format);
    int n = vsnprintf(NULL, 0, format, list);
    va_end(list);
    char *text = n < 0 ? NULL : dw_arena__alloc(arena, (size_t)n + 1, 1);
    if (!text)
        return NULL;
    va_start(list, format);
    vsnprintf(text, (size_t)n + 1, format, list);
    va_end(list);
    return text;
}

void dw_cost__length(const struct dw_job *job, dw_length nm, char out[DW_LENGTH_TEXT])
{
    struct dw_length_style style = dw_job__style(job);
    dw_length_print(out, nm, &style);
}

/* What is bought by never rounds: finer fractions, then decimals, then millimetres. */
static void print_size(char out[DW_LENGTH_TEXT], dw_length nm, const struct dw_length_style *style,
                       bool bare)
{
    struct dw_length_style own = *style;
    own.bare = bare;
    dw_length__print_fine(out, nm, &own);
    if (out[0] != '~')
        return;
    own = (struct dw_length_style){.unit = DW_UNIT_MM, .decimals = 6};
    dw_length_print(out, nm, &own);
}

const char *dw_cost__size(struct dw_arena *arena, const struct dw_job *job,
                          const struct dw_material *material)
{
    struct dw_length_style bare = dw_job__style(job);
    bare.decimals = bare.unit == DW_UNIT_MM ? 3 : 4;
    char od[DW_LENGTH_TEXT];
    char wall[DW_LENGTH_TEXT];
    print_size(od, material->od, &bare, material->wall > 0);
    if (material->wall == 0)
        return dw_cost__text(arena, "%s", od);
    print_size(wall, material->wall, &bare, false);
    return dw_cost__text(arena, "%s x %s", od, wall);
}

/* "38.1 x 1.65 mm tube" */
static const char *size_text(struct dw_arena *arena, const struct dw_job *job,
                             const struct dw_material *material)
{
    const char *size = dw_cost__size(arena, job, material);
    return size ? dw_cost__text(arena, "%s tube", size) : NULL;
}

const char *dw_cost__material(struct dw_arena *arena, const struct dw_job *job, size_t index)
{
    const struct dw_material *material = &job->materials[index];
    const char *name = material->name ? material->name
                       : material->od ? size_text(arena, job, material)
                                      : material->id;
    struct dw_buf text = {0};
    if (!name)
        return NULL;
    dw_buf__put(&text, name);
    dw_material__say_make(&text, material, name);
    const char *out = text.failed ? NULL : dw_arena__text(arena, text.text ? text.text : "");
    dw_buf__free(&text);
    return out;
}

void dw_cost__rate(char out[32], int64_t ppm)
{
    int n = snprintf(out, 32, "%" PRId64 ".%04" PRId64, ppm / 10000, ppm % 10000);
    while (n > 0 && out[n - 1] == '0')
        n--;
    if (n > 0 && out[n - 1] == '.')
        n--;
    out[n] = '\0';
}

bool dw_cost__note(struct dw_cost_notes *list, const char *text)
{
    if (!text)
        return false;
    if (list->n == list->capacity) {
        size_t capacity = list->capacity ? 2 * list->capacity : 8;
        const char **notes = dw_arena__alloc(list->arena, capacity, sizeof *notes);
        if (!notes)
            return false;
        if (list->n)
            memcpy(notes, list->notes, list->n * sizeof *notes);
        list->notes = notes;
        list->capacity = capacity;
    }
    list->notes[list->n++] = text;
    return true;
}

void dw_cost__add(struct dw_cost_sum *sum, int64_t *to, int64_t amount)
{
    sum->overflow |= !dw_add__i64(*to, amount, to);
}

void dw_cost__add_times(struct dw_cost_sum *sum, int64_t *to, int64_t a, int64_t b)
{
    int64_t product = 0;
    if (!dw_mul__i64(a, b, &product))
        sum->overflow = true;
    else
        dw_cost__add(sum, to, product);
}

void dw_cost__exact(const struct dw_job *job, dw_length nm, char out[DW_LENGTH_TEXT])
{
    struct dw_length_style style = dw_job__style(job);
    style.decimals = style.unit == DW_UNIT_MM ? 3 : 4;
    print_size(out, nm, &style, false);
}

void dw_cost__add_up(const char *currency, size_t n, const dw_money *amounts, dw_money *shown,
                     dw_money *sum)
{
    dw_money step = dw_cost__minor(currency), all = 0, down = 0;
    for (size_t i = 0; i < n; i++) {
        shown[i] = amounts[i] - amounts[i] % step;
        all += amounts[i];
        down += shown[i];
    }
    *sum = dw_money_round(all, currency);
    for (; down < *sum; down += step) {
        size_t best = 0;
        for (size_t i = 1; i < n; i++)
            if (amounts[i] - shown[i] > amounts[best] - shown[best])
                best = i;
        shown[best] += step;
    }
}
