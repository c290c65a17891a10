/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where lines meet, tubes that bend, and which of them are equal. All values worked by hand. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include "drawing/sketch.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* A drawing that is written entity by entity, in millimetres. */
struct sheet {
    struct dw_buf text;
    struct dw_arena *arena;
    struct dw_report report;
    struct dw_sketch *sketch;
};

static void begin(struct sheet *sheet)
{
    *sheet = (struct sheet){.arena = dw_arena__new()};
    dw_buf__put(&sheet->text,
                "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n0\nSECTION\n2\n"
                "ENTITIES\n");
}

static void line(struct sheet *sheet, double x, double y, double z, double u, double v, double w)
{
    dw_buf__format(&sheet->text,
                   "0\nLINE\n8\na\n10\n%.9f\n20\n%.9f\n30\n%.9f\n11\n%.9f\n21\n%.9f\n31\n%.9f\n", x,
                   y, z, u, v, w);
}

/* In the plane whose extrusion is (nx, ny, nz). */
static void arc(struct sheet *sheet, double x, double y, double z, double radius, double from,
                double to, double nx, double ny, double nz)
{
    dw_buf__format(&sheet->text,
                   "0\nARC\n8\na\n10\n%.9f\n20\n%.9f\n30\n%.9f\n40\n%.9f\n50\n%.9f\n51\n%."
                   "9f\n210\n%.9f\n220\n%.9f\n"
                   "230\n%.9f\n",
                   x, y, z, radius, from, to, nx, ny, nz);
}

static void end(struct sheet *sheet, bool one_tube)
{
    dw_buf__put(&sheet->text, "0\nENDSEC\n0\nEOF\n");
    const struct dw_sketch_source source = {
        .name = "test", .text = sheet->text.text, .n = sheet->text.n, .one_tube = one_tube};
    struct dw_error error = {0};
    if (dw_sketch__read(sheet->arena, &source, &sheet->sketch, &sheet->report, &error) != DW_OK)
        fail_msg("%s", sheet->report.n_remarks ? sheet->report.remarks[0].what.text : error.text);
    assert_int_equal(dw_sketch__count(sheet->sketch, "P", &error), DW_OK);
}

static void drop(struct sheet *sheet)
{
    dw_buf__free(&sheet->text);
    dw_report_free(&sheet->report);
    dw_arena__free(sheet->arena);
}

/* A hook: along x, round into y, round into +z or -z: the one is the mirror image of the other. */
static void hook(struct sheet *sheet, double at, double up)
{
    line(sheet, at, 0, 0, at + 200, 0, 0);
    arc(sheet, at + 200, 100, 0, 100, 270, 360, 0, 0, 1);
    line(sheet, at + 300, 100, 0, at + 300, 300, 0);
    /* in the plane x = constant the axes of the extrusion (1, 0, 0) are y and z */
    if (up > 0)
        arc(sheet, 300, 80, at + 300, 80, 270, 360, 1, 0, 0);
    else
        arc(sheet, 300, -80, at + 300, 80, 0, 90, 1, 0, 0);
    line(sheet, at + 300, 380, 80 * up, at + 300, 380, 480 * up);
}

static void test_mirror_images(void **state)
{
    (void)state;
    struct sheet sheet;
    struct dw_run run;
    begin(&sheet);
    hook(&sheet, 0, 1);
    hook(&sheet, 1000, -1);
    hook(&sheet, 2000, 1);
    end(&sheet, false);
    assert_int_equal(sheet.report.n_remarks, 0);
    assert_int_equal(sheet.sketch->n_tubes, 3);
    assert_int_equal(sheet.sketch->n_parts, 2);
    int64_t turns[2] = {0};
    for (size_t i = 0; i < 2; i++) {
        const struct dw_sketch_part *part = &sheet.sketch->parts[i];
        assert_int_equal(
            dw_tube__run(sheet.sketch, &sheet.sketch->tubes[part->tube], sheet.arena, &run), DW_OK);
        assert_int_equal(run.n_bends, 2);
        assert_int_equal(run.straights[1], 200000000);
        assert_int_equal(run.angles_udeg[0], 90000000);
        turns[i] = run.turns_udeg[1];
        assert_int_equal(part->count, i == 0 ? 2 : 1);
    }
    /* first bend's axis is +z; the second's is x (up) or -x, with the tube along y: z to x is +90
     */
    assert_int_equal(turns[0], 90000000);
    assert_int_equal(turns[1], -90000000);
    drop(&sheet);
}

/* An S and a C have the same bends; only the second one is turned over. */
static void test_s_and_c(void **state)
{
    (void)state;
    struct sheet sheet;
    begin(&sheet);
    for (int i = 0; i < 2; i++) {
        double y = 1000 * i;
        line(&sheet, 0, y, 0, 200, y, 0);
        arc(&sheet, 200, y + 100, 0, 100, 270, 360, 0, 0, 1);
        line(&sheet, 300, y + 100, 0, 300, y + 300, 0);
        if (i == 0) { /* back again */
            arc(&sheet, 200, y + 300, 0, 100, 0, 90, 0, 0, 1);
            line(&sheet, 200, y + 400, 0, 0, y + 400, 0);
        } else { /* onwards */
            arc(&sheet, 400, y + 300, 0, 100, 90, 180, 0, 0, 1);
            line(&sheet, 400, y + 400, 0, 600, y + 400, 0);
        }
    }
    end(&sheet, false);
    assert_int_equal(sheet.sketch->n_parts, 2);
    assert_int_equal(dw_tube__length(sheet.sketch, &sheet.sketch->tubes[0]),
                     dw_tube__length(sheet.sketch, &sheet.sketch->tubes[1]));
    assert_int_equal(dw_tube__length(sheet.sketch, &sheet.sketch->tubes[0]),
                     600000000 + 2 * 157079633);
    drop(&sheet);
}

/* Two arcs of one circle are one bend; a line that ends on it meets it in a T. */
static void test_one_circle(void **state)
{
    (void)state;
    struct sheet sheet;
    struct dw_run run;
    begin(&sheet);
    arc(&sheet, 0, 0, 0, 500, 0, 40, 0, 0, 1);
    arc(&sheet, 0, 0, 0, 500, 40, 100, 0, 0, 1);
    line(&sheet, 0, 0, 0, 500 * 0.5, 500 * 0.86602540378, 0);
    end(&sheet, false);
    assert_int_equal(sheet.report.n_remarks, 0);
    assert_int_equal(sheet.sketch->n_tubes, 2);
    assert_int_equal(dw_tube__run(sheet.sketch, &sheet.sketch->tubes[0], sheet.arena, &run), DW_OK);
    assert_int_equal(run.n_bends, 1);
    assert_int_equal(run.angles_udeg[0], 100000000);
    const struct dw_tube *line_tube = &sheet.sketch->tubes[1];
    assert_string_equal(line_tube->ends[1].text, "T on a");
    assert_int_equal(line_tube->ends[1].angle_udeg, 90000000);
    assert_string_equal(line_tube->ends[0].text, "end");
    drop(&sheet);
}

/* A line that is nearly a tangent is no part of the bend, and that is said. */
static void test_kink(void **state)
{
    (void)state;
    struct sheet sheet;
    begin(&sheet);
    arc(&sheet, 0, 0, 0, 500, 0, 90, 0, 0, 1);
    line(&sheet, 500, 0, 0, 500 + 17.4524, -499.6954, 0); /* 2 degrees off */
    end(&sheet, false);
    assert_int_equal(sheet.sketch->n_tubes, 2);
    assert_int_equal(sheet.report.n_remarks, 1);
    assert_non_null(strstr(sheet.report.remarks[0].what.text, "2.00 degrees off its tangent"));
    drop(&sheet);
}

static enum dw_meet meet_at(const struct dw_sketch *sketch, dw_length x, dw_length y)
{
    for (size_t i = 0; i < sketch->n_meetings; i++)
        if (sketch->meetings[i].at.at[0] == x * 1000000 &&
            sketch->meetings[i].at.at[1] == y * 1000000)
            return sketch->meetings[i].meet;
    fail_msg("nothing meets there");
    return DW_MEET_END;
}

static void test_kinds(void **state)
{
    (void)state;
    struct sheet sheet;
    begin(&sheet);
    line(&sheet, 0, 0, 0, 1000, 0, 0);    /* passes (500, 0) */
    line(&sheet, 500, 0, 0, 500, 700, 0); /* T */
    line(&sheet, 0, 0, 0, 0, 700, 0);     /* corner */
    line(&sheet, 1000, 0, 0, 2000, 0, 0); /* splice */
    line(&sheet, 2000, 0, 0, 2500, 0, 0); /* with the next three a cross */
    line(&sheet, 2000, 0, 0, 2000, 400, 0);
    line(&sheet, 2000, 0, 0, 2000, -400, 0);
    end(&sheet, false);
    assert_int_equal(meet_at(sheet.sketch, 500, 0), DW_MEET_T);
    assert_int_equal(meet_at(sheet.sketch, 0, 0), DW_MEET_CORNER);
    assert_int_equal(meet_at(sheet.sketch, 1000, 0), DW_MEET_SPLICE);
    assert_int_equal(meet_at(sheet.sketch, 2000, 0), DW_MEET_CROSS);
    assert_int_equal(meet_at(sheet.sketch, 2500, 0), DW_MEET_END);
    assert_int_equal(sheet.sketch->n_tubes, 7);
    drop(&sheet);
}

/* What is closer than 2 mm meets, what is 2 mm away does not. */
static void test_gap(void **state)
{
    (void)state;
    static const double gaps[] = {0.009, 1.99, 2.0};
    for (size_t i = 0; i < 3; i++) {
        struct sheet sheet;
        begin(&sheet);
        line(&sheet, 0, 0, 0, 1000, 0, 0);
        line(&sheet, 1000 + gaps[i], 0, 0, 1000 + gaps[i], 500, 0);
        line(&sheet, 300, gaps[i], 0, 300, 500, 0);
        end(&sheet, false);
        assert_int_equal(sheet.report.n_remarks, i == 1 ? 2 : 0);
        assert_int_equal(meet_at(sheet.sketch, 1000, 0), i < 2 ? DW_MEET_CORNER : DW_MEET_END);
        assert_string_equal(sheet.sketch->tubes[2].ends[0].text, i < 2 ? "T on a" : "end");
        drop(&sheet);
    }
}

/* Mitred ends: a side of a frame has its long points on one side, a step on opposite ones, a tube
 * in space a quarter turn apart. */
static void test_facing(void **state)
{
    (void)state;
    struct sheet sheet;
    begin(&sheet);
    line(&sheet, 0, 500, 0, 0, 0, 0);
    line(&sheet, 0, 0, 0, 1000, 0, 0);
    line(&sheet, 1000, 0, 0, 1000, 500, 0);
    line(&sheet, 1000, 500, 0, 1700, 500, 0);
    line(&sheet, 1700, 500, 0, 1700, 500, 300);
    end(&sheet, false);
    assert_int_equal(sheet.sketch->tubes[1].facing_udeg, 0);
    assert_int_equal(llabs(sheet.sketch->tubes[2].facing_udeg), 180000000);
    /* sides +y (away from -y) and -z (away from +z), along +x: y to -z is -90 */
    assert_int_equal(sheet.sketch->tubes[3].facing_udeg, -90000000);
    assert_true(sheet.sketch->tubes[0].facing_udeg == DW_UNTURNED);
    drop(&sheet);
}

static void test_crossing_in_space(void **state)
{
    (void)state;
    struct sheet sheet;
    begin(&sheet);
    line(&sheet, 0, 0, 0, 1000, 1000, 0);
    line(&sheet, 0, 1000, 1.9, 1000, 0, 1.9); /* over it within a gap */
    line(&sheet, 0, 500, 40, 1000, 500, 40);  /* over both, as tubes cross */
    arc(&sheet, 500, 0, 0, 400, 0, 180, 0, 0, 1);
    end(&sheet, false);
    size_t crossings = 0;
    for (size_t i = 0; i < sheet.report.n_remarks; i++)
        crossings += strstr(sheet.report.remarks[i].what.text, "without a joint") != NULL;
    /* the two diagonals, and each of them with the arc */
    assert_int_equal(crossings, 3);
    drop(&sheet);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_mirror_images), cmocka_unit_test(test_s_and_c),
        cmocka_unit_test(test_one_circle),    cmocka_unit_test(test_kink),
        cmocka_unit_test(test_kinds),         cmocka_unit_test(test_gap),
        cmocka_unit_test(test_facing),        cmocka_unit_test(test_crossing_in_space),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
