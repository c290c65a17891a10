/* SPDX-License-Identifier: GPL-3.0-or-later */
/* UTF-8 against RFC 3629: the syntax of its section 4, the examples of section 7. */
#include "base/base.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

/* RFC 3629, section 3: the bits of a character number spread over one to four bytes. */
static size_t encode(uint32_t code, char out[4])
{
    if (code < 0x80) {
        out[0] = (char)code;
        return 1;
    }
    size_t n = code < 0x800 ? 2 : code < 0x10000 ? 3 : 4;
    for (size_t i = n - 1; i > 0; i--, code >>= 6)
        out[i] = (char)(0x80 | (code & 0x3F));
    static const unsigned char lead[] = {0, 0, 0xC0, 0xE0, 0xF0};
    out[0] = (char)(lead[n] | code);
    return n;
}

static void test_every_character(void **state)
{
    (void)state;
    for (uint32_t code = 0; code <= 0x10FFFF; code++) {
        char text[4];
        uint32_t back = 0;
        size_t n = encode(code, text);
        bool surrogate = code >= 0xD800 && code <= 0xDFFF;
        assert_int_equal(dw_utf8__next(text, n, &back), surrogate ? 0 : n);
        if (surrogate)
            continue;
        assert_int_equal(back, code);
        assert_int_equal(dw_utf8__next(text, n - 1, &back), 0);
    }
}

/* RFC 3629, section 4, as a grammar over bytes, independent of the decoder's arithmetic. */
static bool is_tail(unsigned b)
{
    return b >= 0x80 && b <= 0xBF;
}

static size_t by_grammar(const unsigned char *s)
{
    if (s[0] <= 0x7F)
        return 1;
    if (s[0] >= 0xC2 && s[0] <= 0xDF)
        return is_tail(s[1]) ? 2 : 0;
    if (s[0] >= 0xE0 && s[0] <= 0xEF) {
        bool second = s[0] == 0xE0   ? s[1] >= 0xA0 && s[1] <= 0xBF
                      : s[0] == 0xED ? s[1] >= 0x80 && s[1] <= 0x9F
                                     : is_tail(s[1]);
        return second && is_tail(s[2]) ? 3 : 0;
    }
    if (s[0] >= 0xF0 && s[0] <= 0xF4) {
        bool second = s[0] == 0xF0   ? s[1] >= 0x90 && s[1] <= 0xBF
                      : s[0] == 0xF4 ? s[1] >= 0x80 && s[1] <= 0x8F
                                     : is_tail(s[1]);
        return second && is_tail(s[2]) && is_tail(s[3]) ? 4 : 0;
    }
    return 0;
}

static void test_every_start(void **state)
{
    (void)state;
    static const unsigned char later[] = {0x00, 0x41, 0x7F, 0x80, 0x8F, 0x90, 0x9F,
                                          0xA0, 0xBF, 0xC0, 0xC2, 0xE0, 0xFF};
    enum { N = sizeof later };
    for (unsigned a = 0; a < 256; a++)
        for (unsigned b = 0; b < 256; b++)
            for (size_t c = 0; c < N; c++)
                for (size_t d = 0; d < N; d++) {
                    const unsigned char bytes[4] = {(unsigned char)a, (unsigned char)b, later[c],
                                                    later[d]};
                    size_t want = by_grammar(bytes);
                    assert_int_equal(dw_utf8__next((const char *)bytes, 4, NULL), want);
                }
}

static void test_check(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        size_t n, good;
    } rows[] = {
        {"", 0, 0},
        {"A\xE2\x89\xA2\xCE\x91.", 7, 7},               /* RFC 3629, section 7 */
        {"\xED\x95\x9C\xEA\xB5\xAD\xEC\x96\xB4", 9, 9}, /* there */
        {"\xE6\x97\xA5\xE6\x9C\xAC\xE8\xAA\x9E", 9, 9}, /* there */
        {"\xEF\xBB\xBF\xF0\xA3\x8E\xB4", 7, 7},         /* there */
        {"24 \xC2\xBD\xFF in", 9, 5},
        {"\xC0\x80", 2, 0},    /* overlong NUL, section 10 */
        {"/\xC0\xAE./", 5, 1}, /* overlong point, section 10 */
        {"ab\xE2\x80", 4, 2},  /* cut short */
        {"a\0b", 3, 3},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        assert_int_equal(dw_utf8__check(rows[i].text, rows[i].n), rows[i].good);
}

/* Unicode Standard Annex 11: W and F take two columns; marks that combine take none. */
static void test_width(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        size_t columns;
    } rows[] = {
        {"", 0},
        {"post 24\"", 8},
        {"24 \xE2\x85\x9C\xE2\x80\xB3", 5},
        {"e\xCC\x81t\xC3\xA9", 3},
        {"\xE6\x97\xA5\xE6\x9C\xAC", 4},
        {"\xEF\xBC\xA1", 2},     /* fullwidth A */
        {"\xEA\xB0\x80", 2},     /* hangul */
        {"\xF0\x9F\x94\xA9", 2}, /* nut and bolt */
        {"a\xE2\x80\x8Bz", 2},   /* zero width space */
        {"a\xFFz", 3},           /* a broken byte is shown as one sign */
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        assert_int_equal(dw_utf8__width(rows[i].text, strlen(rows[i].text)), rows[i].columns);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_every_character),
        cmocka_unit_test(test_every_start),
        cmocka_unit_test(test_check),
        cmocka_unit_test(test_width),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
