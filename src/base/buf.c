/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Text that grows; its first failure sticks. */
#include "base/base.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static bool make_room(struct dw_buf *buf, size_t n)
{
    if (buf->failed || n > SIZE_MAX - buf->n - 1 ||
        !dw_array__grow(&buf->text, &buf->capacity, buf->n + n + 1, 1)) {
        buf->failed = true;
        return false;
    }
    return true;
}

void dw_buf__add(struct dw_buf *buf, const char *text, size_t n)
{
    if (!make_room(buf, n))
        return;
    if (n)
        memcpy(buf->text + buf->n, text, n);
    buf->n += n;
    buf->text[buf->n] = '\0';
}

void dw_buf__put(struct dw_buf *buf, const char *text)
{
    dw_buf__add(buf, text, strlen(text));
}

void dw_buf__char(struct dw_buf *buf, char c)
{
    dw_buf__add(buf, &c, 1);
}

void dw_buf__format(struct dw_buf *buf, const char *format, ...)
{
    va_list args, again;
    va_start(args, format);
    va_copy(again, args);
    int n = vsnprintf(NULL, 0, format, args);
    va_end(args);
    if (n < 0)
        buf->failed = true;
    else if (make_room(buf, (size_t)n)) {
        vsnprintf(buf->text + buf->n, (size_t)n + 1, format, again);
        buf->n += (size_t)n;
    }
    va_end(again);
}

char *dw_buf__take(struct dw_buf *buf)
{
    dw_buf__add(buf, "", 0);
    char *text = buf->failed ? NULL : buf->text;
    if (!text)
        free(buf->text);
    *buf = (struct dw_buf){0};
    return text;
}

void dw_buf__free(struct dw_buf *buf)
{
    free(buf->text);
    *buf = (struct dw_buf){0};
}
