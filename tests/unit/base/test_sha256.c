/* SPDX-License-Identifier: GPL-3.0-or-later */
/* SHA-256 against the examples of FIPS 180-2 (NIST, 2002), appendix B, and, at the lengths where
 * the padding changes, against coreutils' sha256sum. */
#include "base/base.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

static void expect(const char *hex, const void *bytes, size_t n, size_t piece)
{
    struct dw_sha256 hash;
    unsigned char out[DW_SHA256_BYTES];
    char text[2 * DW_SHA256_BYTES + 1];
    dw_sha256__begin(&hash);
    for (size_t at = 0; at < n; at += piece)
        dw_sha256__add(&hash, (const char *)bytes + at, n - at < piece ? n - at : piece);
    dw_sha256__end(&hash, out);
    for (size_t i = 0; i < DW_SHA256_BYTES; i++)
        snprintf(text + 2 * i, 3, "%02x", out[i]);
    assert_string_equal(text, hex);
}

/* B.1, B.2, and the empty text of NIST's example values. */
static void test_published_examples(void **state)
{
    (void)state;
    static const char two_blocks[] = "abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq";
    expect("ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad", "abc", 3, 1);
    expect("248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1", two_blocks, 56, 56);
    expect("e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855", "", 0, 1);
}

/* B.3: one million times "a", added in pieces that do not divide a block. */
static void test_a_million(void **state)
{
    (void)state;
    static char a[1000000];
    memset(a, 'a', sizeof a);
    expect("cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0", a, sizeof a, 1009);
    expect("cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0", a, sizeof a, 64);
}

/* printf 'a%.0s' $(seq N) | sha256sum */
static void test_around_a_block(void **state)
{
    (void)state;
    static const struct {
        size_t n;
        const char *hex;
    } rows[] = {
        {55, "9f4390f8d30c2dd92ec9f095b65e2b9ae9b0a925a5258e241c9f1e910f734318"},
        {56, "b35439a4ac6f0948b6d6f9e3c6af0f5f590ce20f1bde7090ef7970686ec6738a"},
        {63, "7d3e74a05d7db15bce4ad9ec0658ea98e3f06eeecf16b4c6fff2da457ddc2f34"},
        {64, "ffe054fe7ae0cb6dc65c3af9b61d5209f439851db43d0ba5997337df154668eb"},
        {65, "635361c48bb9eab14198e76ea8ab7f1a41685d6ad62aa9146d301d4f17eb0ae0"},
        {119, "31eba51c313a5c08226adf18d4a359cfdfd8d2e816b13f4af952f7ea6584dcfb"},
        {120, "2f3d335432c70b580af0e8e1b3674a7c020d683aa5f73aaaedfdc55af904c21c"},
        {128, "6836cf13bac400e9105071cd6af47084dfacad4e5e302c94bfed24e013afb73e"},
    };
    char a[200];
    memset(a, 'a', sizeof a);
    for (size_t i = 0; i < DW_COUNT(rows); i++)
        for (size_t piece = 1; piece < 70; piece += 7)
            expect(rows[i].hex, a, rows[i].n, piece);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_published_examples),
        cmocka_unit_test(test_a_million),
        cmocka_unit_test(test_around_a_block),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
