/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Texts in UTF-16 and Windows-1252 as UTF-8. */
#include "grid/part.h"

#include <stdlib.h>
#include <string.h>

static void put_utf8(struct dw_buf *out, uint32_t code)
{
    if (code < 0x80)
        dw_buf__char(out, (char)code);
    else if (code < 0x800) {
        dw_buf__char(out, (char)(0xC0 | code >> 6));
        dw_buf__char(out, (char)(0x80 | (code & 0x3F)));
    } else if (code < 0x10000) {
        dw_buf__char(out, (char)(0xE0 | code >> 12));
        dw_buf__char(out, (char)(0x80 | (code >> 6 & 0x3F)));
        dw_buf__char(out, (char)(0x80 | (code & 0x3F)));
    } else {
        dw_buf__char(out, (char)(0xF0 | code >> 18));
        dw_buf__char(out, (char)(0x80 | (code >> 12 & 0x3F)));
        dw_buf__char(out, (char)(0x80 | (code >> 6 & 0x3F)));
        dw_buf__char(out, (char)(0x80 | (code & 0x3F)));
    }
}

/* --- UTF-16 ---------------------------------------------------------------------------------- */

/* Shows by its mark, or by a zero byte next to the first character. */
static bool is_utf16(const unsigned char *text, size_t n, bool *big)
{
    if (n < 2)
        return false;
    *big = (text[0] == 0xFE && text[1] == 0xFF) || (text[0] == 0 && text[1] != 0);
    return *big || (text[0] == 0xFF && text[1] == 0xFE) || (text[0] != 0 && text[1] == 0);
}

static uint32_t unit_at(const unsigned char *text, size_t at, bool big)
{
    return big ? (uint32_t)text[at] << 8 | text[at + 1] : (uint32_t)text[at + 1] << 8 | text[at];
}

/* false: half a pair, half a character. */
static bool decode_utf16(struct dw_buf *out, const unsigned char *text, size_t n, bool big)
{
    if (n % 2)
        return false;
    for (size_t at = 0; at < n; at += 2) {
        uint32_t code = unit_at(text, at, big);
        if (code >= 0xDC00 && code < 0xE000)
            return false;
        if (code >= 0xD800 && code < 0xDC00) {
            uint32_t low = at + 2 < n ? unit_at(text, at + 2, big) : 0;
            if (low < 0xDC00 || low >= 0xE000)
                return false;
            code = 0x10000 + ((code - 0xD800) << 10) + (low - 0xDC00);
            at += 2;
        }
        if (code != 0xFEFF || at > 0)
            put_utf8(out, code);
    }
    return true;
}

/* --- Windows-1252 ---------------------------------------------------------------------------- */

/* Bytes 0x80 to 0x9F; 0 stands for none (Unicode's mapping table CP1252.TXT). */
static const uint16_t high[32] = {
    0x20AC, 0,      0x201A, 0x0192, 0x201E, 0x2026, 0x2020, 0x2021, 0x02C6, 0x2030, 0x0160,
    0x2039, 0x0152, 0,      0x017D, 0,      0,      0x2018, 0x2019, 0x201C, 0x201D, 0x2022,
    0x2013, 0x2014, 0x02DC, 0x2122, 0x0161, 0x203A, 0x0153, 0,      0x017E, 0x0178,
};

static bool decode_1252(struct dw_buf *out, const unsigned char *text, size_t n)
{
    for (size_t at = 0; at < n; at++) {
        uint32_t code = text[at] >= 0x80 && text[at] < 0xA0 ? high[text[at] - 0x80] : text[at];
        if (code == 0 && text[at] != 0)
            return false;
        put_utf8(out, code);
    }
    return true;
}

/* --- a text ---------------------------------------------------------------------------------- */

/* Control characters other than tab and line ends have no business in a text. */
static size_t find_control(const char *text, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        unsigned char c = (unsigned char)text[i];
        if ((c < 0x20 && c != '\t' && c != '\n' && c != '\r') || c == 0x7F)
            return i;
    }
    return n;
}

static dw_err refuse_at(const char *text, size_t n, size_t at, const char *name, bool control,
                        struct dw_error *error)
{
    int line = 1, column = 1;
    size_t from = n >= 3 && memcmp(text, "\xEF\xBB\xBF", 3) == 0 ? 3 : 0;
    while (from < at) {
        size_t length = dw_utf8__next(text + from, n - from, NULL);
        bool ends = text[from] == '\n' || (text[from] == '\r' && text[from + 1] != '\n');
        line += ends;
        column = ends ? 1 : column + 1;
        from += length ? length : 1;
    }
    unsigned byte = (unsigned char)text[at];
    if (control)
        return dw_error__at(error, DW_ERR_INPUT, name, line, column,
                            "control character 0x%02X; the file must be plain text or a workbook",
                            byte);
    return dw_error__at(error, DW_ERR_INPUT, name, line, column,
                        "not UTF-8 text (byte 0x%02X); save the file as UTF-8", byte);
}

/* Hands the decoded text over, in the arena. */
static dw_err take(struct dw_arena *arena, struct dw_buf *out, const char **text, size_t *n,
                   struct dw_error *error)
{
    size_t length = out->n;
    char *whole = dw_buf__take(out);
    char *copy = whole ? dw_arena__text_n(arena, whole, length) : NULL;
    free(whole);
    if (!copy)
        return dw_error__nomem(error);
    *text = copy;
    *n = length;
    return DW_OK;
}

dw_err dw_text__decode(struct dw_arena *arena, const char **text, size_t *n, const char *name,
                       const char **other, struct dw_error *error)
{
    struct dw_buf out = {0};
    const unsigned char *bytes = (const unsigned char *)*text;
    bool big = false;
    *other = NULL;
    if (is_utf16(bytes, *n, &big)) {
        *other = "UTF-16";
        if (!decode_utf16(&out, bytes, *n, big)) {
            dw_buf__free(&out);
            return dw_error__at(error, DW_ERR_INPUT, name, 1, 1,
                                "broken UTF-16 text; save the file as UTF-8");
        }
    } else if (dw_utf8__check(*text, *n) < *n && find_control(*text, *n) == *n) {
        *other = "Windows-1252";
        if (!decode_1252(&out, bytes, *n)) {
            dw_buf__free(&out);
            return refuse_at(*text, *n, dw_utf8__check(*text, *n), name, false, error);
        }
    }
    dw_err err = *other ? take(arena, &out, text, n, error) : DW_OK;
    size_t control = err ? 0 : find_control(*text, *n);
    if (!err && control < *n)
        err = refuse_at(*text, *n, control, name, true, error);
    return err;
}
