/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which cautions show, of what, and where. Weights: scaffold tube 48.3 x 4.0 of 4.37 kg/m
 * (EN 39 as reprinted: aljazera.com), so 25 kg lie between 5.72 m and 5.73 m, and 46 m weigh
 * 201.0 kg or 443.2 lb. Limits of length are common practice. */
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <setjmp.h>
#include <cmocka.h>

#include "model/caution.h"

#include <dropwise/saw.h>

#include <stdlib.h>
#include <string.h>

#define MM DW_NM_PER_MM
#define M  (1000 * MM)

static const struct dw_material tube = {.id = "s48",
                                        .name = "scaffold tube",
                                        .od = 483 * MM / 10,
                                        .wall = 4 * MM,
                                        .density_g_m3 = 7850000};
static const struct dw_length_style metric = {.unit = DW_UNIT_MM, .decimals = 3};
static const struct dw_length_style inches = {.unit = DW_UNIT_IN, .denominator = 64, .decimals = 3};

static bool shows(const struct dw_care *care, enum dw_caution caution)
{
    return dw_care__shows(care, caution, DW_AT_SAW);
}

static void expect_text(const struct dw_care *care, enum dw_caution caution,
                        const struct dw_length_style *style, const char *begin)
{
    struct dw_buf text = {0};
    dw_care__text(&text, care, caution, style);
    assert_false(text.failed);
    if (strncmp(text.text, begin, strlen(begin)) != 0)
        fail_msg("\"%s\" does not begin with \"%s\"", text.text, begin);
    dw_buf__free(&text);
}

/* --- heavy, long ----------------------------------------------------------------------------- */

static void test_heavy(void **state)
{
    (void)state;
    struct dw_care care = {0};
    dw_care__bar(&care, &tube, "light", 5720 * MM);
    assert_false(shows(&care, DW_CAUTION_HEAVY));
    dw_care__bar(&care, &tube, "just", 5730 * MM);
    assert_true(shows(&care, DW_CAUTION_HEAVY));
    expect_text(&care, DW_CAUTION_HEAVY, &metric, "Heavy bars: just (about 25 kg). Lift");
    dw_care__bar(&care, &tube, "long", 46 * M);
    dw_care__bar(&care, &tube, "short", 6 * M);
    dw_care__bar(&care, &tube, "long", 46 * M);
    expect_text(&care, DW_CAUTION_HEAVY, &metric,
                "Heavy bars: just, long, short (up to about 201 kg). Lift with help or a hoist.");
    expect_text(&care, DW_CAUTION_HEAVY, &inches,
                "Heavy bars: just, long, short (up to about 443 lb). Lift");
}

/* Without density, wall or material nobody knows the weight. */
static void test_unknown_weight(void **state)
{
    (void)state;
    struct dw_care care = {0};
    struct dw_material unknown = tube;
    unknown.density_g_m3 = 0;
    dw_care__bar(&care, &unknown, "a", 46 * M);
    unknown = tube;
    unknown.wall = 0;
    dw_care__bar(&care, &unknown, "b", 46 * M);
    dw_care__bar(&care, NULL, "c", 46 * M);
    assert_false(shows(&care, DW_CAUTION_HEAVY));
}

static void test_lift(void **state)
{
    (void)state;
    struct dw_job *job = NULL;
    assert_int_equal(dw_job_new(&job, NULL), DW_OK);
    struct dw_material material = tube;
    job->materials = &material;
    job->n_materials = 1;
    struct dw_supply bar = {.id = "b", .length = 46 * M};
    struct dw_buf text = {0};
    dw_caution__lift(&text, "each ", job, &bar);
    assert_string_equal(text.text, "each about 201 kg: lift with help or a hoist");
    dw_buf__free(&text);
    bar.measured = 5720 * MM; /* as it was measured, it is light */
    dw_caution__lift(&text, "each ", job, &bar);
    assert_int_equal(text.n, 0);
    material.density_g_m3 = 0;
    bar.measured = 0;
    dw_caution__lift(&text, "each ", job, &bar);
    assert_int_equal(text.n, 0);
    dw_job_free(job);
}

static void test_long(void **state)
{
    (void)state;
    struct dw_care care = {0};
    dw_care__bar(&care, &tube, "three", 3 * M);
    assert_false(shows(&care, DW_CAUTION_LONG));
    dw_care__bar(&care, NULL, "more", 3 * M + 1);
    expect_text(&care, DW_CAUTION_LONG, &metric, "Long bars: more (over 3 m). Support both ends");
    expect_text(&care, DW_CAUTION_LONG, &inches, "Long bars: more (over about 10 ft).");
}

/* Six are named; a seventh is told as one of others, one that was named already is not. */
static void test_names(void **state)
{
    (void)state;
    static const char *const names[] = {"a", "b", "c", "d", "e", "f", "f", "a", "g"};
    struct dw_care care = {0};
    for (size_t i = 0; i < 8; i++)
        dw_care__bar(&care, NULL, names[i], 4 * M);
    expect_text(&care, DW_CAUTION_LONG, &metric, "Long bars: a, b, c, d, e, f (over");
    dw_care__bar(&care, NULL, names[8], 4 * M);
    expect_text(&care, DW_CAUTION_LONG, &metric, "Long bars: a, b, c, d, e, f and others (over");
}

/* --- short ----------------------------------------------------------------------------------- */

static void test_short(void **state)
{
    (void)state;
    struct dw_care care = {0};
    struct dw_material wide = tube;
    wide.od = 219 * MM;
    dw_care__piece(&care, &tube, "fits", 150 * MM);
    dw_care__piece(&care, &wide, "wide fits", 219 * MM);
    assert_false(shows(&care, DW_CAUTION_SHORT));
    dw_care__piece(&care, &tube, "peg", 150 * MM - 1);
    expect_text(&care, DW_CAUTION_SHORT, &metric, "Too short to hold: peg (under 150 mm). Hold");
    expect_text(&care, DW_CAUTION_SHORT, &inches, "Too short to hold: peg (under about 6 in).");
    dw_care__piece(&care, &wide, "ring", 218 * MM);
    expect_text(&care, DW_CAUTION_SHORT, &metric,
                "Too short to hold: peg, ring (under 150 mm or the tube's width). Hold");
    struct dw_care unknown = {0};
    dw_care__piece(&unknown, NULL, "stub", 100 * MM);
    assert_true(shows(&unknown, DW_CAUTION_SHORT));
}

/* At the piece itself, by the tube that it is cut from. */
static void test_short_at_the_piece(void **state)
{
    (void)state;
    struct dw_job *job = NULL;
    assert_int_equal(dw_job_new(&job, NULL), DW_OK);
    struct dw_material material = tube;
    struct dw_supply supply = {.id = "b", .length = 6 * M};
    struct dw_part part = {.label = "peg"};
    struct dw_order order = {0};
    job->materials = &material;
    job->supplies = &supply;
    job->parts = &part;
    job->orders = &order;
    struct dw_piece pieces[] = {{DW_USE_PART, 0, 149 * MM, 2},
                                {DW_USE_PART, 0, 150 * MM, 1},
                                {DW_USE_SURPLUS, 0, 20 * MM, 1}};
    const struct dw_layout layout = {.count = 1, .bar = 1, .n_pieces = 3, .pieces = pieces};
    struct dw_saw_piece saw[3];
    dw_layout_saw(job, &layout, saw);
    assert_int_equal(saw[0].short_of, 150 * MM);
    assert_int_equal(saw[1].short_of, 0);
    assert_int_equal(saw[2].short_of, 0); /* scrap: nothing but the number is told */
    struct dw_buf text = {0};
    dw_caution__hold(&text, &saw[1], &metric);
    assert_int_equal(text.n, 0);
    dw_caution__hold(&text, &saw[0], &metric);
    assert_string_equal(text.text,
                        "Under 150 mm, too short to hold by hand: use a vise or a fixture.");
    dw_buf__free(&text);
    material.od = 1683 * MM / 10;
    dw_layout_saw(job, &layout, saw);
    assert_int_equal(saw[1].short_of, 1683 * MM / 10);
    dw_job_free(job);
}

/* --- materials ------------------------------------------------------------------------------- */

static void test_words_of_materials(void **state)
{
    (void)state;
    static const struct {
        struct dw_material material;
        bool zinc, stainless;
    } rows[] = {
        {{.id = "st", .name = "steel 32 x 2, galvanised"}, true, false},
        {{.id = "st", .finish = "GALVANIZED"}, true, false},
        {{.id = "st", .finish = "hot-dip"}, true, false},
        {{.id = "st", .name = "pre-galv tube"}, true, false},
        {{.id = "st", .finish = "zinc plated"}, true, false},
        {{.id = "st", .finish = "ungalvanised"}, false, false},
        {{.id = "st", .name = "steel 32 x 2", .alloy = "S235"}, false, false},
        {{.id = "inox-25"}, false, true},
        {{.id = "a", .name = "Stainless 25 x 1.5"}, false, true},
        {{.id = "a", .alloy = "316L"}, false, true},
        {{.id = "a", .alloy = "304"}, false, true},
        {{.id = "a", .alloy = "1.4301"}, false, true},
        {{.id = "a", .alloy = "6061-T6"}, false, false},
        {{.id = "304", .name = "bundle 316"}, false, false}, /* a number that is no alloy */
        {{.id = "a", .alloy = "1.0308"}, false, false},      /* E235, a carbon steel */
        {{.id = "st", .finish = "aquagalv"}, false, false},  /* within a word, whatever letter */
        {{.id = "st", .finish = "AQUAGALV"}, false, false},  /* stands before it */
        {{.id = "st", .finish = "kreuzinox"}, false, false},
        {{.id = "st", .finish = "KREUZINOX"}, false, false},
    };
    for (size_t i = 0; i < DW_COUNT(rows); i++) {
        struct dw_care care = {0};
        dw_care__bar(&care, &rows[i].material, "bar", 1 * M);
        if (shows(&care, DW_CAUTION_ZINC) != rows[i].zinc ||
            shows(&care, DW_CAUTION_STAINLESS) != rows[i].stainless)
            fail_msg("row %zu", i);
    }
    struct dw_care care = {0};
    dw_care__bar(&care, &rows[0].material, "bar", 1 * M);
    expect_text(&care, DW_CAUTION_ZINC, &metric, "Galvanised: steel 32 x 2, galvanised. Grinding");
    dw_care__bar(&care, &rows[7].material, "bar", 1 * M);
    expect_text(&care, DW_CAUTION_STAINLESS, &metric, "Stainless: inox-25. Its dust");
}

/* --- where ----------------------------------------------------------------------------------- */

/* Written out by hand: what is shown where although nothing was gathered. */
static void test_places(void **state)
{
    (void)state;
    static const struct {
        enum dw_caution_place place;
        const char *says[2], *lacks;
    } rows[] = {
        {DW_AT_SAW, {"Eye and hearing protection; guards on", "local codes"}, "estimates"},
        {DW_AT_BUY, {"Weights are estimates", "local codes and licensed"}, "Eye and"},
        {DW_AT_DRAWN, {"Weights are estimates", "local codes and licensed"}, "Eye and"},
        {DW_AT_QUOTE, {"No overhead or load-bearing", "local codes"}, "Eye and"},
        {DW_AT_CUT, {"Eye and hearing protection; guards on", "hands clear"}, "local codes"},
        {DW_AT_LOAD, {"the tube's own weight, holes", "Follow local codes"}, "Eye and"},
    };
    for (size_t i = 0; i < DW_COUNT(rows); i++) {
        struct dw_buf text = {0};
        dw_caution__general(&text, rows[i].place);
        for (size_t k = 0; k < 2; k++)
            if (!strstr(text.text, rows[i].says[k]))
                fail_msg("place %d lacks %s", rows[i].place, rows[i].says[k]);
        assert_null(strstr(text.text, rows[i].lacks));
        assert_null(strstr(text.text, "%s"));
        dw_buf__free(&text);
    }
    struct dw_buf none = {0};
    dw_caution__general(&none, DW_AT_BAR);
    assert_int_equal(none.n, 0);
}

static void test_json(void **state)
{
    (void)state;
    struct dw_care care = {0};
    struct dw_buf buf = {0};
    struct dw_out out = {.buf = &buf, .style = metric};
    dw_care__put(&out, NULL, &care, DW_AT_BAR);
    assert_string_equal(buf.text, "[]");
    dw_buf__free(&buf);
    dw_care__bar(&care, &tube, "b1", 46 * M);
    dw_care__put(&out, NULL, &care, DW_AT_BAR); /* that it is long stands above all bars */
    assert_string_equal(buf.text, "[{\"caution\":\"heavy bar\",\"text\":\"Heavy bars: b1 (about "
                                  "201 kg). Lift with help or a hoist.\"}]");
    dw_buf__free(&buf);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_heavy),
        cmocka_unit_test(test_unknown_weight),
        cmocka_unit_test(test_lift),
        cmocka_unit_test(test_long),
        cmocka_unit_test(test_names),
        cmocka_unit_test(test_short),
        cmocka_unit_test(test_short_at_the_piece),
        cmocka_unit_test(test_words_of_materials),
        cmocka_unit_test(test_places),
        cmocka_unit_test(test_json),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
