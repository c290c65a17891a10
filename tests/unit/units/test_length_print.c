/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Printing lengths. 1 in = 25.4 mm exactly (NIST SP 811, appendix B). */
#include <dropwise/length.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#define INCH       INT64_C(25400000)
#define IN64(n)    ((int64_t)(n)*396875)
#define MICRON(um) ((int64_t)(um)*1000)
#define MM(mm)     ((int64_t)(mm)*1000000)

struct printed {
    int64_t nm;
    struct dw_length_style style;
    const char *text;
};

#define MM_(d)                                                                                     \
    {                                                                                              \
        .unit = DW_UNIT_MM, .decimals = (d)                                                        \
    }
#define CM_(d)                                                                                     \
    {                                                                                              \
        .unit = DW_UNIT_CM, .decimals = (d)                                                        \
    }
#define M_(d)                                                                                      \
    {                                                                                              \
        .unit = DW_UNIT_M, .decimals = (d)                                                         \
    }
#define INF(den)                                                                                   \
    {                                                                                              \
        .unit = DW_UNIT_IN, .denominator = (den)                                                   \
    }
#define IND(d)                                                                                     \
    {                                                                                              \
        .unit = DW_UNIT_IN, .decimals = (d)                                                        \
    }
#define FTF(den)                                                                                   \
    {                                                                                              \
        .unit = DW_UNIT_FT, .denominator = (den)                                                   \
    }
#define FTD(d)                                                                                     \
    {                                                                                              \
        .unit = DW_UNIT_FT, .decimals = (d)                                                        \
    }

static const struct printed printed[] = {
    /* in lowest terms, and no fraction of 0: the wishes seen at pcreview.co.uk 3794764, 3681610,
     * 3854181 and excel-formulas.blogspot.com 2009/07 */
    {IN64(40), INF(64), "5/8 in"},
    {IN64(35 * 64 + 40), FTF(16), "2'-11 5/8\""},
    {24 * INCH, INF(64), "24 in"},
    {0, INF(64), "0 in"},
    {IN64(32), INF(64), "1/2 in"},
    {IN64(63), INF(64), "63/64 in"},
    {IN64(24 * 64 + 24), INF(8), "24 3/8 in"},
    {IN64(24 * 64 + 24), INF(64), "24 3/8 in"},
    {IN64(24 * 64 + 25), INF(64), "24 25/64 in"},
    /* read as 100.625 in by a spreadsheet user; it is 8 ft and 5/8 in */
    {IN64(96 * 64 + 40), FTF(64), "8'-5/8\""},
    {IN64(96 * 64 + 40), INF(64), "96 5/8 in"},
    {IN64(96 * 64 + 40), IND(3), "96.625 in"},
    {IN64(100 * 64 + 40), FTF(64), "8'-4 5/8\""},
    /* rounded figures say so. 3 cm is 1.181 in, no 1 1/4 (news.ycombinator.com 24575330) */
    {MM(30), IND(3), "~1.181 in"},
    {MM(30), INF(64), "~1 3/16 in"},
    {MM(30), INF(4), "~1 1/4 in"},
    {MM(6000), INF(32), "~236 7/32 in"},
    {MM(6000), IND(1), "~236.2 in"},
    {MM(6000), FTF(32), "~19'-8 7/32\""},
    /* 24-3/4 in = 628.65 mm, 629 in whole mm (woodworkingnetwork.com, achieving accuracy) */
    {IN64(24 * 64 + 48), MM_(2), "628.65 mm"},
    {IN64(24 * 64 + 48), MM_(0), "~629 mm"},
    /* 1-3/8 in shown as 34.92 mm, exactly 34.925 (onlinemetals.com/metrics.cfm) */
    {MICRON(34925), MM_(3), "34.925 mm"},
    {MICRON(34925), MM_(2), "~34.93 mm"},
    {MICRON(34925), INF(8), "1 3/8 in"},
    /* decimals: at most so many, no zeros at the end */
    {MM(619), MM_(3), "619 mm"},
    {MICRON(619500), MM_(3), "619.5 mm"},
    {MICRON(619050), MM_(3), "619.05 mm"},
    {MM(1200), M_(3), "1.2 m"},
    {MM(15), CM_(1), "1.5 cm"},
    {MM(15), CM_(0), "~2 cm"},
    {1, MM_(6), "0.000001 mm"},
    {1, MM_(9), "0.000001 mm"},
    {1, M_(9), "0.000000001 m"},
    {1, MM_(5), "~0 mm"},
    {1, MM_(0), "~0 mm"},
    {0, MM_(3), "0 mm"},
    {0, FTF(16), "0\""},
    {MM(1000000), MM_(0), "1000000 mm"},
    /* a carry goes all the way up */
    {IN64(12 * 64 - 1), FTF(64), "11 63/64\""},
    {IN64(12 * 64 - 1), FTF(32), "~1'-0\""},
    {IN64(12 * 64 - 1), INF(32), "~12 in"},
    {IN64(24 * 64 - 1), FTF(16), "~2'-0\""},
    {MICRON(999999), MM_(2), "~1000 mm"},
    {MICRON(999), M_(3), "~0.001 m"},
    /* halves go away from zero */
    {IN64(1), INF(32), "~1/32 in"},
    {IN64(3), INF(32), "~1/16 in"},
    {IN64(1) - 1, INF(32), "~0 in"},
    {MICRON(500), MM_(0), "~1 mm"},
    {MICRON(1500), MM_(0), "~2 mm"},
    {MICRON(2500), MM_(0), "~3 mm"},
    {MICRON(499), MM_(0), "~0 mm"},
    /* differences may be negative */
    {-IN64(40), INF(64), "-5/8 in"},
    {-IN64(96 * 64 + 40), FTF(64), "-8'-5/8\""},
    {-MICRON(619500), MM_(1), "-619.5 mm"},
    {-MICRON(500), MM_(0), "~-1 mm"},
    {-MICRON(1500), MM_(0), "~-2 mm"},
    {-MICRON(499), MM_(0), "~0 mm"},
    {-IN64(1), INF(32), "~-1/32 in"},
    /* feet and inches */
    {96 * INCH, FTF(16), "8'-0\""},
    {6 * INCH, FTF(16), "6\""},
    {IN64(30 * 64 + 32), FTF(2), "2'-6 1/2\""},
    {IN64(30 * 64 + 32), FTD(3), "2'-6.5\""},
    {IN64(30 * 64 + 32), FTD(0), "~2'-7\""},
    {24 * INCH, FTD(3), "2'-0\""},
    /* the other fields of the style */
    {MICRON(619500), {.unit = DW_UNIT_MM, .decimals = 3, .decimal_mark = ','}, "619,5 mm"},
    {MICRON(619500), {.unit = DW_UNIT_MM, .decimals = 3, .bare = true}, "619.5"},
    {IN64(40), {.unit = DW_UNIT_IN, .denominator = 64, .bare = true}, "5/8"},
    {IN64(96 * 64 + 40), {.unit = DW_UNIT_FT, .denominator = 64, .bare = true}, "8'-5/8\""},
    /* 619,125 mm could be thousands, 0,125 and 1250,125 can't, nor can inches */
    {MICRON(619125), {.unit = DW_UNIT_MM, .decimals = 3, .decimal_mark = ','}, "619,1250 mm"},
    {MICRON(125), {.unit = DW_UNIT_MM, .decimals = 3, .decimal_mark = ','}, "0,125 mm"},
    {MICRON(1250125), {.unit = DW_UNIT_MM, .decimals = 3, .decimal_mark = ','}, "1250,125 mm"},
    {IN64(24 * 64 + 24), {.unit = DW_UNIT_IN, .decimals = 3, .decimal_mark = ','}, "24,375 in"},
    {MM(1250) + 1, {.unit = DW_UNIT_M, .decimals = 3, .decimal_mark = ','}, "~1,25 m"},
    /* what a style does not mean */
    {IN64(24 * 64 + 24), INF(7), "~24 1/2 in"},
    {IN64(24 * 64 + 25), INF(128), "24 25/64 in"},
    {IN64(24 * 64 + 24), INF(1), "~24 in"},
    {IN64(24 * 64 + 24), INF(-8), "~24 in"},
    {IN64(24 * 64 + 24), IND(-1), "~24 in"},
    {MM(619), {.unit = DW_UNIT_MM, .denominator = 16}, "619 mm"},
    {MM(619), {.unit = DW_UNIT_NONE, .decimals = 1}, "619 mm"},
    /* the ends of the type */
    {INT64_MAX, MM_(9), "9223372036854.775807 mm"},
    {INT64_MIN, MM_(6), "-9223372036854.775808 mm"},
    {INT64_MIN, M_(9), "-9223372036.854775808 m"},
    {INT64_MAX, CM_(9), "922337203685.4775807 cm"},
};

static void test_printed(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof printed / sizeof printed[0]; i++) {
        char text[DW_LENGTH_TEXT];
        size_t n = dw_length_print(text, printed[i].nm, &printed[i].style);
        if (strcmp(text, printed[i].text) != 0)
            fail_msg("%lld nm: %s, not %s", (long long)printed[i].nm, text, printed[i].text);
        assert_int_equal(n, strlen(text));
    }
}

/* No style makes a text that the buffer does not hold. */
static void test_longest(void **state)
{
    (void)state;
    const int64_t ends[] = {INT64_MIN, INT64_MIN + 1, INT64_MAX, INT64_MAX - 1, DW_LENGTH_MAX};
    size_t longest = 0;
    for (size_t e = 0; e < sizeof ends / sizeof ends[0]; e++)
        for (int unit = DW_UNIT_NONE; unit <= DW_UNIT_FT; unit++)
            for (int denominator = 0; denominator <= 64; denominator++)
                for (int decimals = 0; decimals <= 12; decimals++) {
                    struct dw_length_style style = {.unit = (enum dw_unit)unit,
                                                    .denominator = denominator,
                                                    .decimals = decimals};
                    char text[DW_LENGTH_TEXT];
                    size_t n = dw_length_print(text, ends[e], &style);
                    assert_int_equal(n, strlen(text));
                    longest = n > longest ? n : longest;
                }
    assert_true(longest + 8 < DW_LENGTH_TEXT);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_printed),
        cmocka_unit_test(test_longest),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
