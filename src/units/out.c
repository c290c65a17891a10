/* SPDX-License-Identifier: GPL-3.0-or-later */
/* JSON, value by value, with commas and indents where they belong. */
#include "units/out.h"

#include <inttypes.h>
#include <stdio.h>

static void new_line(struct dw_out *out)
{
    if (out->indent > 0)
        dw_buf__format(out->buf, "\n%*s", out->depth * out->indent, "");
}

static char last_of(const struct dw_out *out)
{
    return out->buf->n > 0 ? out->buf->text[out->buf->n - 1] : '{';
}

/* A comma where something stands before in the same bracket; then the key. */
static void begin(struct dw_out *out, const char *key)
{
    char last = last_of(out);
    if (last != '{' && last != '[')
        dw_buf__char(out->buf, ',');
    new_line(out);
    if (key) {
        dw_buf__json(out->buf, key);
        dw_buf__put(out->buf, out->indent > 0 ? ": " : ":");
    }
}

void dw_out__open(struct dw_out *out, const char *key, char bracket)
{
    if (out->buf->n > 0)
        begin(out, key);
    dw_buf__char(out->buf, bracket);
    out->depth++;
}

void dw_out__close(struct dw_out *out, char bracket)
{
    out->depth--;
    if (last_of(out) != bracket)
        new_line(out);
    dw_buf__char(out->buf, bracket == '{' ? '}' : ']');
}

void dw_out__text(struct dw_out *out, const char *key, const char *text)
{
    begin(out, key);
    dw_buf__json(out->buf, text);
}

void dw_out__int(struct dw_out *out, const char *key, int64_t value)
{
    bool safe = value >= -DW_SAFE_INTEGER && value <= DW_SAFE_INTEGER;
    begin(out, key);
    dw_buf__format(out->buf, safe ? "%" PRId64 : "\"%" PRId64 "\"", value);
}

bool dw_out__digits(const char *text, int64_t *out)
{
    const char *digit = text + (*text == '-');
    int64_t value = 0;
    if (*digit == '\0' || (*digit == '0' && (digit[1] || digit != text)))
        return false;
    for (; *digit; digit++) {
        if (*digit < '0' || *digit > '9' || !dw_mul__i64(value, 10, &value))
            return false;
        int64_t one = *digit - '0';
        if (!(*text == '-' ? dw_sub__i64(value, one, &value) : dw_add__i64(value, one, &value)))
            return false;
    }
    *out = value;
    return true;
}

void dw_out__yes(struct dw_out *out, const char *key, bool value)
{
    begin(out, key);
    dw_buf__put(out->buf, value ? "true" : "false");
}

void dw_out__null(struct dw_out *out, const char *key)
{
    dw_out__text(out, key, NULL);
}

void dw_out__raw(struct dw_out *out, const char *key, const char *json)
{
    begin(out, key);
    dw_buf__put(out->buf, json);
}

void dw_out__length(struct dw_out *out, const char *key, dw_length nm)
{
    char text[DW_LENGTH_TEXT];
    dw_length_print(text, nm, &out->style);
    dw_out__open(out, key, '{');
    dw_out__int(out, "nm", nm);
    dw_out__text(out, "text", text);
    dw_out__close(out, '{');
}

/* Two to four decimals. */
static void print_exact(char text[DW_MONEY_TEXT], dw_money amount)
{
    uint64_t size = amount < 0 ? -(uint64_t)amount : (uint64_t)amount;
    int n = snprintf(text, DW_MONEY_TEXT, "%s%" PRIu64 ".%04" PRIu64, amount < 0 ? "-" : "",
                     size / DW_MONEY_ONE, size % DW_MONEY_ONE);
    while (text[n - 1] == '0' && text[n - 3] != '.')
        text[--n] = '\0';
}

void dw_out__money(struct dw_out *out, const char *key, dw_money amount)
{
    char text[DW_MONEY_TEXT];
    if (out->currency)
        dw_money_print(text, amount, out->currency, true);
    else
        print_exact(text, amount);
    dw_out__text(out, key, text);
}
