/* SPDX-License-Identifier: GPL-3.0-or-later */
/* dw_job_check: a right job passes; each mistake is found, with its words and place. */
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <setjmp.h>
#include <cmocka.h>

#include <dropwise/job.h>

#include <string.h>

#define MM DW_NM_PER_MM

/* Room that a mistake may write to. */
struct fixture {
    struct dw_job *job;
    struct dw_worth_class classes[3];
    struct dw_price_break breaks[2];
    size_t both[2];
    size_t bow[1];
};

/* Two materials, "tube" and end-bent "bow"; bars of both, an offcut; a leg, an arch, a post. */
static void make(struct fixture *f)
{
    static const size_t tube[] = {0};
    struct dw_job *job = NULL;
    *f = (struct fixture){.classes = {{300 * MM, 10000}, {600 * MM, 30000}, {900 * MM, 30000}},
                          .breaks = {{10, 80000}, {20, 70000}},
                          .both = {0, 1},
                          .bow = {1}};
    assert_int_equal(dw_job_new(&job, NULL), DW_OK);
    f->job = job;
    memcpy(job->currency, "EUR", 4);
    job->saw = (struct dw_saw){.kerf = 2 * MM, .cut_cost = 5000};
    job->n_orders = 1;
    job->n_materials = 2;
    job->n_supplies = job->n_parts = 3;
    job->orders = dw_job_alloc(job, 1, sizeof *job->orders);
    job->materials = dw_job_alloc(job, 2, sizeof *job->materials);
    job->supplies = dw_job_alloc(job, 3, sizeof *job->supplies);
    job->parts = dw_job_alloc(job, 3, sizeof *job->parts);
    assert_true(job->orders && job->materials && job->supplies && job->parts);
    for (size_t i = 0; i < 2; i++)
        job->materials[i] = (struct dw_material){.id = i ? "bow" : "tube",
                                                 .od = 38 * MM,
                                                 .wall = 2 * MM,
                                                 .end_bent = i == 1,
                                                 .worth = {.keep = 300 * MM},
                                                 .at = {"job.yaml", 10 + (int)i, 3}};
    job->materials[0].worth.kind = DW_WORTH_CLASSES;
    job->materials[0].worth.classes = f->classes;
    job->materials[0].worth.n_classes = 2;
    for (size_t i = 0; i < 3; i++)
        job->supplies[i] = (struct dw_supply){.id = i == 0   ? "B6"
                                                    : i == 1 ? "O1"
                                                             : "W3",
                                              .length = 6000 * MM,
                                              .price = 90000,
                                              .count = DW_UNLIMITED,
                                              .pack = 1,
                                              .tail_material = DW_NONE,
                                              .at = {"job.yaml", 20 + (int)i, 5}};
    job->supplies[0].breaks = f->breaks;
    job->supplies[0].n_breaks = 2;
    job->supplies[1].source = DW_SOURCE_OFFCUT;
    job->supplies[1].count = 1;
    job->supplies[1].length = 900 * MM;
    job->supplies[2].material = 1;
    job->supplies[2].bend = 400 * MM;
    job->supplies[2].tail_material = 0;
    for (size_t i = 0; i < 3; i++)
        job->parts[i] = (struct dw_part){.label = i == 0   ? "leg"
                                                  : i == 1 ? "arch"
                                                           : "arm",
                                         .min = 700 * MM,
                                         .max = 700 * MM,
                                         .count = 4,
                                         .n_materials = 1,
                                         .materials = i == 1 ? f->bow : tube,
                                         .at = {"job.yaml", 30 + (int)i, 7}};
    job->parts[2].post = true;
    job->parts[2].worth = 20000;
}

static void a_right_job_passes(void **state)
{
    (void)state;
    struct fixture f;
    struct dw_report report = {0};
    struct dw_error error = {0};
    make(&f);
    dw_err err = dw_job_check(f.job, &report, &error);
    for (size_t i = 0; i < report.n_remarks; i++)
        print_error("%s\n", report.remarks[i].what.text);
    assert_int_equal(err, DW_OK);
    assert_int_equal(report.n_remarks, 0);
    dw_report_free(&report);
    dw_job_free(f.job);
}

/* X(name, statement on f and job, severity, line, words) */
#define MISTAKES(X)                                                                                \
    X(unit, job->unit = DW_UNIT_NONE, DW_WRONG, 0, "no unit")                                      \
    X(denominator, job->denominator = 12, DW_WRONG, 0, "1/12 in")                                  \
    X(currency, memcpy(job->currency, "EUX", 4), DW_WRONG, 0, "ISO 4217")                          \
    X(no_orders, job->n_orders = 0, DW_WRONG, 0, "no order")                                       \
    X(no_parts, job->n_parts = 0, DW_WRONG, 0, "no parts")                                         \
    X(kerf_negative, job->saw.kerf = -1, DW_WRONG, 0, "kerf is negative; give 0 or more")          \
    X(kerf_wide, job->saw.kerf = 30 * MM, DW_DOUBT, 0, "kerf of 30 mm")                            \
    X(grip, job->saw.grip = -MM, DW_WRONG, 0, "grip is negative")                                  \
    X(cut_cost, job->saw.cut_cost = DW_MONEY_MAX + 1, DW_WRONG, 0, "cost a cut is larger")         \
    X(cap, job->rules.max_new_offcuts = -2, DW_WRONG, 0, "new offcuts")                            \
    X(pieces, job->rules.most_pieces = 0, DW_WRONG, 0, "at most 0 pieces on a bar")                \
    X(few, job->rules.few_layouts_ppm = 1000001, DW_WRONG, 0, "fewer layouts")                     \
    X(scrap, (job->rules.no_middling = true, job->rules.scrap_max = 300 * MM), DW_DOUBT, 10,       \
      "no length is middling")                                                                     \
    X(material_id, job->materials[1].id = "tube", DW_WRONG, 11, "two of the material ids")         \
    X(material_name, job->materials[1].id = NULL, DW_WRONG, 11, "a material has no id")            \
    X(od, job->materials[0].od = -1, DW_WRONG, 10, "outside diameter of tube is negative")         \
    X(wall, job->materials[0].wall = 20 * MM, DW_WRONG, 10, "a wall of 20 mm does not go")         \
    X(rod, job->materials[0].wall = 19 * MM, DW_DOUBT, 10, "solid rod")                            \
    X(radius, job->materials[0].radius = 19 * MM, DW_WRONG, 10, "can't be rolled")                 \
    X(rolled_bent, job->materials[1].radius = 500 * MM, DW_WRONG, 11, "it can only be one")        \
    X(density, job->materials[0].density_g_m3 = 78500000, DW_WRONG, 10, "density of tube")         \
    X(light, job->materials[0].density_g_m3 = 7850, DW_DOUBT, 10, "lighter than any tube metal")   \
    X(keep, job->materials[0].worth.keep = 0, DW_WRONG, 10, "keeping length of tube is 0")         \
    X(classes_order, f->classes[1].from = 300 * MM, DW_WRONG, 10, "lengths must increase")         \
    X(classes_worth, f->classes[1].worth = 9999, DW_WRONG, 10, "can't be worth less")              \
    X(classes_third, (job->materials[0].worth.n_classes = 3, f->classes[2].from = 600 * MM),       \
      DW_WRONG, 10, "has 600 mm after 600 mm; lengths must increase")                              \
    X(classes_none,                                                                                \
      (job->materials[0].worth.n_classes = 0, job->materials[0].worth.classes = NULL), DW_DOUBT,   \
      10, "has no row")                                                                            \
    X(classes_short, f->classes[0].from = 100 * MM, DW_NOTE, 10, "below the keeping length")       \
    X(rate, job->materials[0].worth.kind = DW_WORTH_RATE, DW_WRONG, 10, "that the worth is for")   \
    X(share, (job->materials[1].worth.kind = DW_WORTH_SHARE, job->materials[1].worth.share = -1),  \
      DW_WRONG, 11, "0 to 100 %")                                                                  \
    X(supply_id, job->supplies[1].id = "B6", DW_WRONG, 21, "two of the supply ids are \"B6\"")     \
    X(supply_material, job->supplies[0].material = 2, DW_WRONG, 20, "no material of the job")      \
    X(length, job->supplies[0].length = 0, DW_WRONG, 20, "length of B6 is 0; give more than 0")    \
    X(long_bar, job->supplies[0].length = DW_LENGTH_MAX + 1, DW_WRONG, 20, "the most is")          \
    X(measured, job->supplies[0].measured = 600 * MM, DW_DOUBT, 20, "600 mm as measured")          \
    X(trim, job->supplies[1].trim = 450 * MM, DW_WRONG, 21, "leaves nothing of O1")                \
    X(price, job->supplies[0].price = -1, DW_WRONG, 20, "price of B6 is negative")                 \
    X(free_bar, job->supplies[2].price = 0, DW_DOUBT, 22, "costs nothing")                         \
    X(count, job->supplies[0].count = -5, DW_WRONG, 20, "count of -5")                             \
    X(count_none, job->supplies[1].count = 0, DW_DOUBT, 21, "there is none of O1")                 \
    X(count_open, job->supplies[1].count = DW_UNLIMITED, DW_DOUBT, 21, "without a count")          \
    X(pack, job->supplies[0].pack = 0, DW_WRONG, 20, "packs of 0")                                 \
    X(pack_held, job->supplies[1].pack = 2, DW_WRONG, 21, "packs are for new bars only")           \
    X(pack_broken, (job->supplies[2].count = 3, job->supplies[2].pack = 2), DW_DOUBT, 22,          \
      "no whole packs of 2")                                                                       \
    X(break_from, f->breaks[1].from = 10, DW_WRONG, 20, "it must increase")                        \
    X(break_price, f->breaks[1].price = 80000, DW_WRONG, 20, "prices must decrease")               \
    X(break_far, job->supplies[0].count = 15, DW_DOUBT, 20, "out of reach: there are 15")          \
    X(end, job->supplies[0].ends[1] = (enum dw_end)7, DW_WRONG, 20, "neither as milled nor sawn")  \
    X(source, job->supplies[0].source = (enum dw_source)7, DW_WRONG, 20, "no new bar")             \
    X(no_bend, (job->supplies[2].bend = 0, job->supplies[2].tail_material = DW_NONE), DW_WRONG,    \
      22, "say how long its bend is")                                                              \
    X(bend_long, job->supplies[2].bend = 6001 * MM, DW_WRONG, 22, "the bend of W3 takes")          \
    X(bend_straight, job->materials[1].end_bent = false, DW_WRONG, 22, "is not end-bent")          \
    X(tail_none, job->supplies[2].tail_material = DW_NONE, DW_WRONG, 22, "straight tail")          \
    X(tail_rolled, job->materials[0].radius = 800 * MM, DW_WRONG, 22, "which is not straight")     \
    X(tail_other, job->materials[0].wall = 3 * MM, DW_DOUBT, 22, "another diameter or wall")       \
    X(tail_alone, job->supplies[0].tail_material = 1, DW_WRONG, 20, "tail material but no bend")   \
    X(label, job->parts[0].label = "", DW_WRONG, 30, "a part has no label")                        \
    X(part_length, job->parts[0].min = 0, DW_WRONG, 30, "length of leg is 0")                      \
    X(part_range, job->parts[0].max = 600 * MM, DW_WRONG, 30, "from 700 mm down to 600 mm")        \
    X(part_count, job->parts[0].count = 0, DW_WRONG, 30, "wanted 0 times")                         \
    X(part_many, job->parts[0].count = DW_MAX_PIECES, DW_WRONG, 0, "the most is 2000000")          \
    X(part_worth, job->parts[0].worth = 1, DW_WRONG, 30, "only posts earn")                        \
    X(post_worth, job->parts[2].worth = -1, DW_WRONG, 32, "worth of arm is negative")              \
    X(part_order, job->parts[0].order = 1, DW_WRONG, 30, "belongs to no order")                    \
    X(part_material, f->bow[0] = 9, DW_WRONG, 31, "part arch names no material of the job")        \
    X(part_materials, job->parts[0].n_materials = 0, DW_WRONG, 30, "part leg names no material")   \
    X(part_twice,                                                                                  \
      (f->both[1] = 0, job->parts[0].materials = f->both, job->parts[0].n_materials = 2),          \
      DW_WRONG, 30, "names material tube twice")                                                   \
    X(allowance, job->parts[0].allowance = MM, DW_WRONG, 30, "not marked to be measured")          \
    X(measure, job->parts[0].measure_first = true, DW_DOUBT, 30, "has no allowance")               \
    X(allowance_long, (job->parts[0].measure_first = true, job->parts[0].allowance = 700 * MM),    \
      DW_WRONG, 30, "as long as the piece")                                                        \
    X(two_lengths, (job->parts[2].label = "leg", job->parts[2].min = 500 * MM), DW_DOUBT, 32,      \
      "stands for two lengths")                                                                    \
    X(part_long, job->parts[0].min = job->parts[0].max = 6001 * MM, DW_DOUBT, 30,                  \
      "part leg is 6001 mm long, but the longest piece that a bar gives is 6000 mm")               \
    X(part_held, (job->saw.grip = 50 * MM, job->parts[0].min = job->parts[0].max = 6000 * MM),     \
      DW_DOUBT, 30, "a bar gives is 5948 mm")                                                      \
    X(part_short, job->parts[1].min = job->parts[1].max = 399 * MM, DW_DOUBT, 31,                  \
      "shorter than the bend of each bar")                                                         \
    X(part_alone, job->n_supplies = 2, DW_DOUBT, 31, "there is no bar that part arch")             \
    X(post_long, job->parts[2].min = job->parts[2].max = 7000 * MM, DW_DOUBT, 32, "post arm is")   \
    X(measured_edge, job->supplies[0].measured = 5700 * MM - 1, DW_DOUBT, 20, "as measured")       \
    X(break_one, f->breaks[0].from = 1, DW_WRONG, 20, "it must increase")                          \
    X(break_same, f->breaks[0].price = 90000, DW_WRONG, 20, "prices must decrease")                \
    X(allowance_nm, job->parts[0].allowance = 1, DW_WRONG, 30, "not marked to be measured")        \
    X(grip_nm, (job->saw.grip = 1, job->parts[0].min = job->parts[0].max = 5998 * MM), DW_DOUBT,   \
      30, "but the longest piece that a bar gives")                                                \
    X(bars_none, job->supplies[2].count = 0, DW_DOUBT, 31, "there is no bar that part arch")       \
    X(bars_few, (job->supplies[2].count = 1, job->supplies[2].pack = 2), DW_DOUBT, 31,             \
      "there is no bar that part arch")                                                            \
    X(tail_long,                                                                                   \
      (f->breaks[0].from = 2, job->supplies[0].count = job->supplies[1].count = 0,                 \
       job->parts[0].min = job->parts[0].max = 5598 * MM + 1),                                     \
      DW_DOUBT, 30, "a bar gives is 5598 mm")                                                      \
    X(bend_nm, (job->supplies[2].bend = 1, job->materials[1].end_bent = false), DW_WRONG, 22,      \
      "is not end-bent")                                                                           \
    X(two_ranges, (job->parts[2].label = "leg", job->parts[2].max = 701 * MM), DW_DOUBT, 32,       \
      "stands for two lengths")                                                                    \
    X(on_bar,                                                                                      \
      (job->saw.kerf = 0, job->parts[0].count = 200000,                                            \
       job->parts[0].min = job->parts[0].max = 6000 * MM / (DW_MAX_ON_BAR + 1)),                   \
      DW_WRONG, 30, "fit on one bar")                                                              \
    X(hold_short, job->parts[0].min = job->parts[0].max = 150 * MM - 1, DW_DOUBT, 30,              \
      "too short to hold")                                                                         \
    X(money_large, (job->parts[0].count = 1000000, job->supplies[0].price = DW_MONEY_MAX),         \
      DW_WRONG, 0, "the bars' money can come to more")

#define MISTAKE_FUNCTION(name, statement, severity, line, words)                                   \
    static void make_##name(struct fixture *f, struct dw_job *job)                                 \
    {                                                                                              \
        (void)f;                                                                                   \
        (void)job;                                                                                 \
        (void)(statement);                                                                         \
    }
MISTAKES(MISTAKE_FUNCTION)

static const struct {
    const char *name;
    void (*make)(struct fixture *f, struct dw_job *job);
    enum dw_severity severity;
    int line;
    const char *words;
} mistakes[] = {
#define MISTAKE_ROW(name, statement, severity, line, words)                                        \
    {#name, make_##name, severity, line, words},
    MISTAKES(MISTAKE_ROW)};

static bool found(const struct dw_report *report, size_t i)
{
    for (size_t j = 0; j < report->n_remarks; j++) {
        const struct dw_remark *remark = &report->remarks[j];
        if (strstr(remark->what.text, mistakes[i].words) &&
            remark->severity == mistakes[i].severity && remark->what.line == mistakes[i].line)
            return true;
    }
    print_error("%s:\n", mistakes[i].name);
    for (size_t j = 0; j < report->n_remarks; j++)
        print_error("  %d:%d: %s\n", (int)report->remarks[j].severity, report->remarks[j].what.line,
                    report->remarks[j].what.text);
    return false;
}

static void each_mistake_is_found(void **state)
{
    (void)state;
    int n_missed = 0;
    for (size_t i = 0; i < sizeof mistakes / sizeof *mistakes; i++) {
        struct fixture f;
        struct dw_report report = {0};
        struct dw_error error = {0};
        make(&f);
        mistakes[i].make(&f, f.job);
        dw_err err = dw_job_check(f.job, &report, &error);
        n_missed += !found(&report, i);
        assert_int_equal(err, report.n_wrong > 0 ? DW_ERR_INPUT : DW_OK);
        for (size_t j = 0; j < report.n_remarks; j++)
            assert_null(strchr(report.remarks[j].what.text, '\n'));
        if (mistakes[i].severity != DW_WRONG)
            assert_int_equal(err, DW_OK);
        dw_report_free(&report);
        dw_job_free(f.job);
    }
    assert_int_equal(n_missed, 0);
}

/* X(name, statement on f and job, words that nothing says): the last value that is right. */
#define EDGES(X)                                                                                   \
    X(unit, job->unit = DW_UNIT_FT, "no unit")                                                     \
    X(denominator, job->denominator = 64, "fractions of")                                          \
    X(kerf, job->saw.kerf = 6 * MM, "is wide for a tube saw")                                      \
    X(cut_cost, job->saw.cut_cost = DW_MONEY_MAX, "cost a cut")                                    \
    X(cap, job->rules.max_new_offcuts = 0, "new offcuts")                                          \
    X(pieces, job->rules.most_pieces = 1, "pieces on a bar")                                       \
    X(few, job->rules.few_layouts_ppm = 1000000, "fewer layouts")                                  \
    X(scrap, (job->rules.no_middling = true, job->rules.scrap_max = 300 * MM - 1), "middling")     \
    X(rod, job->materials[0].wall = 19 * MM, "does not go into")                                   \
    X(radius, job->materials[0].radius = 19 * MM + 1, "can't be rolled")                           \
    X(heavy, job->materials[0].density_g_m3 = 23000000, "density of")                              \
    X(light, job->materials[0].density_g_m3 = 500000, "lighter than")                              \
    X(class_worth, f->classes[1].worth = 10000, "worth less")                                      \
    X(class_third, job->materials[0].worth.n_classes = 3, "the worth table")                       \
    X(share_none,                                                                                  \
      (job->materials[1].worth.kind = DW_WORTH_SHARE, job->materials[1].worth.share = 0),          \
      "0 to 100 %")                                                                                \
    X(share_all,                                                                                   \
      (job->materials[1].worth.kind = DW_WORTH_SHARE, job->materials[1].worth.share = 1000000),    \
      "0 to 100 %")                                                                                \
    X(keep, (job->materials[1].worth.keep = 1), "keeping length")                                  \
    X(length, job->supplies[1].length = 1, "length of O1")                                         \
    X(long_bar, job->supplies[0].length = DW_LENGTH_MAX, "length of B6")                           \
    X(measured_less, job->supplies[0].measured = 5700 * MM, "as measured")                         \
    X(measured_more, job->supplies[0].measured = 6300 * MM, "as measured")                         \
    X(trim, job->supplies[1].trim = 450 * MM - 1, "leaves nothing")                                \
    X(pack, job->supplies[0].pack = DW_MAX_PIECES, "in packs of")                                  \
    X(packs, (job->supplies[2].count = 4, job->supplies[2].pack = 2), "no whole packs")            \
    X(pack_there, (job->supplies[2].count = 2, job->supplies[2].pack = 2), "there is no bar")      \
    X(break_two, f->breaks[0].from = 2, "must increase")                                           \
    X(break_last, f->breaks[1].from = DW_MAX_PIECES, "must increase")                              \
    X(break_reached, job->supplies[0].count = 20, "out of reach")                                  \
    X(break_less, f->breaks[0].price = 89999, "must decrease")                                     \
    X(bend_all, job->supplies[2].bend = 6000 * MM, "the bend of W3 takes")                         \
    X(bend_nm, job->supplies[2].bend = 1, "W3")                                                    \
    X(count_all, job->parts[0].count = DW_MAX_PIECES, "is wanted")                                 \
    X(pieces_all, job->parts[0].count = DW_MAX_PIECES - 8, "the most is 2000000")                  \
    X(allowance, (job->parts[0].measure_first = true, job->parts[0].allowance = 700 * MM - 1),     \
      "allowance")                                                                                 \
    X(part_bar, job->parts[0].min = job->parts[0].max = 6000 * MM, "the longest piece")            \
    X(part_grip, (job->saw.grip = 1, job->parts[0].min = job->parts[0].max = 5998 * MM - 1),       \
      "the longest piece")                                                                         \
    X(part_tail,                                                                                   \
      (job->supplies[0].count = job->supplies[1].count = 0,                                        \
       job->parts[0].min = job->parts[0].max = 5598 * MM),                                         \
      "the longest piece")                                                                         \
    X(part_bend, job->parts[1].min = job->parts[1].max = 400 * MM, "shorter than the bend")        \
    X(part_in_bend, (job->parts[1].min = 100 * MM, job->parts[1].max = 400 * MM),                  \
      "shorter than the bend")                                                                     \
    X(same_lengths, job->parts[2].label = "leg", "two lengths")                                    \
    X(on_bar,                                                                                      \
      (job->saw.kerf = 0, job->parts[0].count = 200000,                                            \
       job->parts[0].min = job->parts[0].max = 6000 * MM / DW_MAX_ON_BAR),                         \
      "fit on one bar")                                                                            \
    X(hold, job->parts[0].min = job->parts[0].max = 150 * MM, "too short to hold")

#define EDGE_FUNCTION(name, statement, words)                                                      \
    static void edge_##name(struct fixture *f, struct dw_job *job)                                 \
    {                                                                                              \
        (void)f;                                                                                   \
        (void)job;                                                                                 \
        (void)(statement);                                                                         \
    }
EDGES(EDGE_FUNCTION)

static const struct {
    const char *name;
    void (*make)(struct fixture *f, struct dw_job *job);
    const char *words;
} edges[] = {
#define EDGE_ROW(name, statement, words) {#name, edge_##name, words},
    EDGES(EDGE_ROW)};

static void each_edge_is_right(void **state)
{
    (void)state;
    int n_wrong = 0;
    for (size_t i = 0; i < sizeof edges / sizeof *edges; i++) {
        struct fixture f;
        struct dw_report report = {0};
        make(&f);
        edges[i].make(&f, f.job);
        dw_job_check(f.job, &report, NULL);
        for (size_t j = 0; j < report.n_remarks; j++)
            if (strstr(report.remarks[j].what.text, edges[i].words)) {
                print_error("%s: %s\n", edges[i].name, report.remarks[j].what.text);
                n_wrong++;
            }
        dw_report_free(&report);
        dw_job_free(f.job);
    }
    assert_int_equal(n_wrong, 0);
}

/* All mistakes of a job in one go. */
static void many_mistakes_at_once(void **state)
{
    (void)state;
    struct fixture f;
    struct dw_report report = {0};
    struct dw_error one = {0}, many = {0};
    make(&f);
    f.job->saw.kerf = -1;
    assert_int_equal(dw_job_check(f.job, &report, &one), DW_ERR_INPUT);
    assert_string_equal(one.text, "the job has 1 mistake");
    dw_report_free(&report);
    f.job->materials[0].worth.keep = 0;
    f.job->supplies[2].price = -1;
    f.job->parts[0].count = 0;
    assert_int_equal(dw_job_check(f.job, &report, &many), DW_ERR_INPUT);
    assert_string_equal(many.text, "the job has 4 mistakes");
    assert_int_equal(report.n_wrong, 4);
    dw_report_free(&report);
    dw_job_free(f.job);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_right_job_passes),
        cmocka_unit_test(each_mistake_is_found),
        cmocka_unit_test(each_edge_is_right),
        cmocka_unit_test(many_mistakes_at_once),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
