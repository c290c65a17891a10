/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "web/out.h"

#include <inttypes.h>

/* A comma where something stands before in the same bracket; then the key. */
static void begin(struct dw_out *out, const char *key)
{
    struct dw_buf *buf = out->buf;
    char last = buf->n > 0 ? buf->text[buf->n - 1] : '{';
    if (last != '{' && last != '[')
        dw_buf__char(buf, ',');
    if (key) {
        dw_buf__json(buf, key);
        dw_buf__char(buf, ':');
    }
}

void dw_out__open(struct dw_out *out, const char *key, char bracket)
{
    if (out->buf->n > 0)
        begin(out, key);
    dw_buf__char(out->buf, bracket);
}

void dw_out__close(struct dw_out *out, char bracket)
{
    dw_buf__char(out->buf, bracket == '{' || bracket == '}' ? '}' : ']');
}

void dw_out__text(struct dw_out *out, const char *key, const char *text)
{
    begin(out, key);
    dw_buf__json(out->buf, text);
}

void dw_out__int(struct dw_out *out, const char *key, int64_t value)
{
    begin(out, key);
    dw_buf__format(out->buf, "%" PRId64, value);
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

void dw_out__money(struct dw_out *out, const char *key, dw_money amount)
{
    char text[DW_MONEY_TEXT];
    dw_money_print(text, amount, out->currency ? out->currency : "XXX", true);
    dw_out__text(out, key, text);
}
