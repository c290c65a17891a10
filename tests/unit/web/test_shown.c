/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What can be given in a job is shown somewhere: for every key of shared/job.schema.json the jobs
 * data/shown-*.yaml have a value that stands nowhere else, and it must be found in what the program
 * says of them: report, plan document, --json, the text of the papers, the page's replies. A key
 * that is not looked for has its reason here. */
#include "web_shop.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

enum how {
    SHOWN,    /* `text` is found in the outputs */
    COMPUTES, /* it changes what is computed alone: `text` says why that is enough */
};

static const struct {
    const char *key;
    enum how how;
    const char *text;
} keys[] = {
    {"dropwise", COMPUTES, "which version of the format it is"},
    {"name", SHOWN, "job-Q01"},
    {"date", SHOWN, "2031-01-02"},
    {"client", SHOWN, "cli-Q61"},
    {"due", SHOWN, "2031-03-05"},
    {"address", SHOWN, "adr-Q70"},
    {"reference", SHOWN, "ref-Q71"},
    {"scope", SHOWN, "sco-Q72"},
    {"language", COMPUTES, "in which language the client's paper is"},
    {"shop", SHOWN, "sho-Q73"},
    {"unit", COMPUTES, "every length is written in it"},
    {"fractions", COMPUTES, "how lengths are written"},
    {"currency", SHOWN, "NOK"},
    {"saw", COMPUTES, "its keys are below"},
    {"rules", COMPUTES, "its keys are below"},
    {"materials", COMPUTES, "its keys are below"},
    {"bars", COMPUTES, "its keys are below"},
    {"offcuts", COMPUTES, "its keys are below"},
    {"parts", COMPUTES, "its keys are below"},
    {"posts", COMPUTES, "its keys are below"},
    {"jobs", COMPUTES, "its keys are below"},
    {"fittings", COMPUTES, "its keys are below"},
    {"loose fittings", COMPUTES, "its keys are below"},
    {"sections", COMPUTES, "its keys are below"},
    {"suppliers", COMPUTES, "its keys are below"},
    {"quote", COMPUTES, "its keys are below"},

    {"file.file", COMPUTES, "its rows are shown"},
    {"file.sheet", COMPUTES, "where the rows are"},
    {"file.columns", COMPUTES, "what the columns hold"},
    {"file.material", COMPUTES, "the material of its rows is shown"},

    {"saw.kerf", SHOWN, "2.37 mm"},
    {"saw.squaring", SHOWN, "4.13 mm"},
    {"saw.grip", COMPUTES, "no piece reaches into it; dropwise check tells it"},
    {"saw.end allowance", COMPUTES, "no piece reaches into it; dropwise check tells it"},
    {"saw.cost per cut", COMPUTES, "the money of the cuts is shown, with that of their time"},
    {"saw.cost per bar", SHOWN, "3.9055"},
    {"saw.cost per offcut", SHOWN, "5.9258"},
    {"saw.seconds per cut", SHOWN, "37 s"},
    {"saw.minutes per bar", SHOWN, "3.25 min"},
    {"saw.minutes per offcut", SHOWN, "4.75 min"},
    {"saw.minutes per stop", SHOWN, "1.35 min"},
    {"saw.rate", SHOWN, "46.81 an hour"},
    {"rules.keep", SHOWN, "333.3 mm"},
    {"rules.longest scrap", COMPUTES, "which leftovers a plan may leave"},
    {"rules.leftover worth", COMPUTES, "the worth of what is left is shown"},
    {"rules.most new offcuts", SHOWN, "\"most\":37"},
    {"rules.most pieces", COMPUTES,
     "how many pieces a bar of a plan gives; dropwise check tells it"},
    {"rules.few layouts", COMPUTES, "which of several plans is taken"},
    {"worth.from", COMPUTES, "the worth of what is left is shown"},
    {"worth.worth", COMPUTES, "the worth of what is left is shown"},

    {"material.id", SHOWN, "mat-Q02"},
    {"material.name", SHOWN, "tube-Q03"},
    {"material.alloy", SHOWN, "alloy-Q04"},
    {"material.finish", SHOWN, "finish-Q05"},
    {"material.outside", SHOWN, "38.19 mm"},
    {"material.wall", SHOWN, "2.63 mm"},
    {"material.density", SHOWN, "2711000"},
    {"material.rolled radius", SHOWN, "1103.7 mm"},
    {"material.end bent", SHOWN, "\"end bent\":true"},
    {"material.keep", SHOWN, "337.7 mm"},
    {"material.leftover worth", COMPUTES, "the worth of what is left is shown"},

    {"bar.id", SHOWN, "bar-Q08"},
    {"bar.material", SHOWN, "mat-Q52"},
    {"bar.item number", SHOWN, "ite-Q78"},
    {"bar.length", SHOWN, "6007.3 mm"},
    {"bar.measured", SHOWN, "3009.1 mm"},
    {"bar.squaring", SHOWN, "5.17 mm"},
    {"bar.ends", SHOWN, "\"datum end\":\"mill\",\"far end\":\"sawn\""},
    {"bar.place", SHOWN, "rack-Q11"},
    {"bar.owner", SHOWN, "own-Q12"},
    {"bar.mark", SHOWN, "heat-Q13"},
    {"bar.date", SHOWN, "2031-01-03"},
    {"bar.price", SHOWN, "37.21"},
    {"bar.book value", SHOWN, "1.19"},
    {"bar.count", SHOWN, "\"count\":1,"},
    {"bar.pack", SHOWN, "pack of 3"},
    {"bar.price breaks", COMPUTES, "its keys are below"},
    {"bar.price breaks.from", SHOWN, "\"from\":9"},
    {"bar.price breaks.price", SHOWN, "36.17"},
    {"bar.supplier", SHOWN, "sup-Q09"},
    {"bar.source", SHOWN, "shelf bar bar-Q10"},
    {"bar.bend", SHOWN, "421.9 mm"},
    {"bar.use", COMPUTES, "none of it is taken; dropwise check tells it"},
    {"bar.tail material", SHOWN, "\"tail material\":{\"index\":0"},

    {"offcut.id", SHOWN, "off-Q20"},
    {"offcut.number", SHOWN, "off-Q16"},
    {"offcut.material", SHOWN, "mat-Q02"},
    {"offcut.length", SHOWN, "907.7 mm"},
    {"offcut.measured", SHOWN, "905.9 mm"},
    {"offcut.squaring", SHOWN, "5.29 mm"},
    {"offcut.ends", SHOWN, "\"datum end\":\"sawn\",\"far end\":\"mill\""},
    {"offcut.place", SHOWN, "bin-Q17"},
    {"offcut.owner", SHOWN, "own-Q18"},
    {"offcut.mark", SHOWN, "heat-Q19"},
    {"offcut.date", SHOWN, "2031-01-05"},
    {"offcut.book value", SHOWN, "0.17"},
    {"offcut.count", SHOWN, "\"count\":1,"},
    {"offcut.use", COMPUTES, "none of it is taken; dropwise check tells it"},

    {"end.fitting", SHOWN, "name-Q47"},
    {"end.meets", COMPUTES, "the take-off's step of the fitting that meets it is shown"},
    {"end.mitre", SHOWN, "33.5"},
    {"end.to", SHOWN, "short point"},
    {"end.notch", SHOWN, "44.47"},
    {"bend.radius", SHOWN, "222.2 mm"}, /* of the centre line: 203.1 inside + 38.19 / 2 */
    {"bend.radius of", SHOWN, "inside"},
    {"bend.of", COMPUTES, "another name of `radius of`"},
    {"bend.angle", SHOWN, "87.5"},
    {"bend.chord", COMPUTES, "the bend is told by radius and angle"},
    {"bend.rise", COMPUTES, "the bend is told by radius and angle"},
    {"bend.long way round", COMPUTES, "the bend is told by radius and angle"},
    {"bent.bend", COMPUTES, "its keys are above"},
    {"bent.bends", COMPUTES, "its keys are above"},
    {"bent.straights", SHOWN, "401.3 mm"},
    {"bent.straights to", COMPUTES, "the straights are told as they are bent"},
    {"bent.least straight", COMPUTES, "a shorter straight is refused"},

    {"part.label", SHOWN, "part-Q23"},
    {"part.material", SHOWN, "mat-Q06"},
    {"part.section", SHOWN, "sec-Q24"},
    {"part.remark", SHOWN, "rem-Q25"},
    {"part.job", SHOWN, "ord-Q39"},
    {"part.length", SHOWN, "871.3 mm"},
    {"part.count", SHOWN, "\"count\":3,\"post\":false"},
    {"part.priority", COMPUTES, "what is made where tube is short; dropwise check tells it"},
    {"part.measure first", SHOWN, "\"measure first\":true"},
    {"part.allowance", SHOWN, "23.3 mm"},
    {"part.centres", SHOWN, "1203.7 mm"},
    {"part.outside", SHOWN, "1207.1 mm"},
    {"part.clear", SHOWN, "1211.3 mm"},
    {"part.offset", COMPUTES, "its keys are below"},
    {"part.offset.set", SHOWN, "301.7 mm"},
    {"part.offset.angle", SHOWN, "31.5"},
    {"part.bent", COMPUTES, "its keys are above"},
    {"part.end 1", COMPUTES, "its keys are above"},
    {"part.end 2", COMPUTES, "its keys are above"},
    {"part.long points", SHOWN, "same side"},
    {"part.both ends", COMPUTES, "its keys are above"},
    {"post.label", SHOWN, "post-Q36"},
    {"post.material", SHOWN, "mat-Q02"},
    {"post.section", SHOWN, "sec-Q37"},
    {"post.remark", SHOWN, "rem-Q38"},
    {"post.job", SHOWN, "ord-Q39"},
    {"post.length", SHOWN, "351.7 mm"},
    {"post.at most", SHOWN, "\"count\":7,\"post\":true"},
    {"post.count", SHOWN, "\"count\":1,\"post\":true"},
    {"post.worth", SHOWN, "9.13"},

    {"job.name", SHOWN, "ord-Q21"},
    {"job.client", SHOWN, "cli-Q22"},
    {"job.address", SHOWN, "adr-Q74"},
    {"job.reference", SHOWN, "ref-Q75"},
    {"job.scope", SHOWN, "sco-Q80"},
    {"job.language", COMPUTES, "in which language the client's paper is"},
    {"job.due", SHOWN, "2031-02-03"},
    {"job.parts", COMPUTES, "its keys are above"},
    {"job.posts", COMPUTES, "its keys are above"},

    {"fitting.id", SHOWN, "fit-Q40"},
    {"fitting.name", SHOWN, "name-Q47"},
    {"fitting.take out", SHOWN, "11.3"},
    {"fitting.from", SHOWN, "outside"},
    {"fitting.insert", SHOWN, "12.7"},
    {"fitting.overhang", SHOWN, "13.9"},
    {"fitting.stops short", SHOWN, "19.1"},
    {"fitting.joins", COMPUTES, "how many are needed is shown"},
    {"fitting.fits", COMPUTES, "one that does not fit is refused"},
    {"fitting.fits with bushing", COMPUTES, "that it needs a bushing is shown"},
    {"fitting.bushing", SHOWN, "fit-Q49"},
    {"fitting.price", SHOWN, "3.57"},
    {"fitting.supplier", SHOWN, "sup-Q48"},
    {"fitting.date", SHOWN, "2031-01-06"},
    {"fitting.item number", SHOWN, "ite-Q79"},
    {"loose_fitting.fitting", SHOWN, "fit-Q49"},
    {"loose_fitting.count", SHOWN, "11 fit-Q49 ord-Q39"},
    {"loose_fitting.job", SHOWN, "ord-Q39"},

    {"section.name", SHOWN, "sec-Q24"},
    {"section.longest", SHOWN, "611.7 mm"},
    {"section.weight", SHOWN, "0.211 kg"},
    {"section.carries", SHOWN, "3031000"},
    {"section.size", SHOWN, "1231.1"},
    {"section.door", SHOWN, "307.1"},
    {"section.van", SHOWN, "1013.3"},
    {"section.riser", SHOWN, "709.1"},

    {"supplier.name", SHOWN, "sup-Q09"},
    {"supplier.address", SHOWN, "adr-Q76"},
    {"supplier.customer number", SHOWN, "cus-Q77"},
    {"supplier.least order", SHOWN, "up to the least order 700.07"}, /* 811.70 - 3 x 37.21 */
    {"supplier.small order under", COMPUTES, "whether the surcharge is charged is shown"},
    {"supplier.small order charge", SHOWN, "25.31"},
    {"supplier.cut charge", SHOWN, "2.13"},
    {"supplier.cuts a pack", COMPUTES, "how many cuts are charged is shown"},
    {"supplier.free cuts", COMPUTES, "how many cuts are charged is shown"},
    {"supplier.least cut charge", COMPUTES, "what is charged for cuts is shown"},
    {"supplier.freight", SHOWN, "31.37"},
    {"supplier.free freight from", COMPUTES, "whether freight is charged is shown"},
    {"supplier.prices of", SHOWN, "2031-01-07"},
    {"supplier.valid until", SHOWN, "2031-01-08"},

    {"quote.charge", SHOWN, "whole bars bought for the job"},
    {"quote.percentage", SHOWN, "11.7"},
    {"quote.offcuts", COMPUTES, "who keeps the offcuts decides what is credited, which is shown"},
    {"quote.waste", SHOWN, "what a bar leaves is shared"},
    {"quote.markup", SHOWN, "51.3 %"},
    {"quote.margin", SHOWN, "31.3 %"},
    {"quote.tax", SHOWN, "25.3 %"},
    {"quote.tax.tube", SHOWN, "20.1 %"},
    {"quote.tax.waste", COMPUTES, "there is no waste to charge: bars are charged whole"},
    {"quote.tax.cuts", SHOWN, "20.3 %"},
    {"quote.tax.fittings", SHOWN, "20.4 %"},
    {"quote.tax.delivery", SHOWN, "20.5 %"},
    {"quote.tax.labour", SHOWN, "20.6 %"},
    {"quote.tax name", SHOWN, "tax-Q50"},
    {"quote.round to", COMPUTES, "the prices are shown as rounded"},
    {"quote.valid days", SHOWN, "2031-02-05"},
    {"quote.labour", COMPUTES, "its keys are below"},
    {"quote.labour.work", SHOWN, "work-Q51"},
    {"quote.labour.hours", SHOWN, "2.7 h"},
    {"quote.labour.rate", SHOWN, "2.7 h 122.66"}, /* 2.7 x 45.43 = 122.661 */
    {"quote.labour.no markup", COMPUTES, "the prices are shown"},
    {"quote.labour.job", SHOWN, "ord-Q39"},
};

/* --- what the program says ---------------------------------------------------------------------
 */

static char program[512];
static char *on_paper, *on_page; /* what commands with papers and the page say */

/* Blanks of every kind as one, so that what is folded in a column can be found. */
static void squeeze(char *text)
{
    char *to = text;
    for (const char *c = text; *c; c++) {
        bool no_break = (unsigned char)c[0] == 0xC2 && (unsigned char)c[1] == 0xA0;
        bool blank = no_break || *c == ' ' || *c == '\n' || *c == '\f' || *c == '\t';
        if (!blank)
            *to++ = *c;
        else if (to == text || to[-1] != ' ')
            *to++ = ' ';
        c += no_break;
    }
    *to = '\0';
}

static void say_commands(struct dw_buf *all, const char *job)
{
    char command[1200], block[4096];
    snprintf(command, sizeof command, "sh tests/support/outputs.sh %s %s 2>&1", program, job);
    FILE *pipe = popen(command, "r");
    assert_non_null(pipe);
    size_t n = 0;
    while ((n = fread(block, 1, sizeof block, pipe)) > 0)
        dw_buf__add(all, block, n);
    if (pclose(pipe) != 0)
        fail_msg("%s: %.*s", command, 2000, all->text);
}

static void say_reply(struct dw_buf *all, enum dw_web_method method, const char *path,
                      const char *body)
{
    char *reply = NULL;
    int status = web_shop_ask(&the_shop, method, path, body, &reply);
    if (status >= 300)
        fail_msg("%s: %d %.300s", path, status, reply);
    dw_buf__put(all, reply);
    free(reply);
}

static void say_page(struct dw_buf *all, const char *job)
{
    static const char *const steps[] = {"", "/order?date=2031-01-07", "/quote?private=1", "/quote"};
    char *text = NULL, path[128];
    size_t n = 0;
    assert_int_equal(dw_file__read(job, 1 << 20, &text, &n, NULL), DW_OK);
    char *body = web_shop_body("text", text, ",\"time_ms\":5000");
    say_reply(all, DW_WEB_POST, "/api/takeoff", body);
    json_t *begun = web_shop_json(&the_shop, DW_WEB_POST, "/api/plans", body, 202);
    json_t *task = web_shop_follow(&the_shop, json_integer_value(json_object_get(begun, "task")));
    const char *key = json_string_value(json_object_get(json_object_get(task, "result"), "plan"));
    assert_non_null(key);
    for (size_t i = 0; i < DW_COUNT(steps); i++) {
        snprintf(path, sizeof path, "/api/plans/%s%s", key, steps[i]);
        say_reply(all, DW_WEB_GET, path, NULL);
    }
    json_decref(task);
    json_decref(begun);
    free(body);
    free(text);
}

static int say_all(void **state)
{
    static const char *const jobs[] = {"tests/unit/web/data/shown-1.yaml",
                                       "tests/unit/web/data/shown-2.yaml"};
    struct dw_buf commands = {0}, page = {0};
    if (web_shop_setup(state) != 0)
        return -1;
    for (size_t i = 0; i < DW_COUNT(jobs); i++) {
        say_commands(&commands, jobs[i]);
        say_page(&page, jobs[i]);
    }
    on_paper = dw_buf__take(&commands);
    on_page = dw_buf__take(&page);
    if (!on_paper || !on_page)
        return -1;
    squeeze(on_paper);
    squeeze(on_page);
    return 0;
}

static int forget(void **state)
{
    free(on_paper);
    free(on_page);
    return web_shop_teardown(state);
}

static void test_every_key_is_shown(void **state)
{
    (void)state;
    size_t n_missing = 0;
    for (size_t i = 0; i < DW_COUNT(keys); i++) {
        bool paper = strstr(on_paper, keys[i].text) != NULL;
        bool page = strstr(on_page, keys[i].text) != NULL;
        bool nowhere = keys[i].how != COMPUTES && !paper && !page;
        if (nowhere)
            print_message("%s: \"%s\" is shown nowhere\n", keys[i].key, keys[i].text);
        n_missing += nowhere;
    }
    assert_int_equal(n_missing, 0);
}

/* --- the keys that there are --------------------------------------------------------------------
 */

static bool in_table[DW_COUNT(keys)];
static size_t n_unknown;

static void meet_key(const char *path)
{
    for (size_t i = 0; i < DW_COUNT(keys); i++)
        if (strcmp(keys[i].key, path) == 0) {
            in_table[i] = true;
            return;
        }
    print_message("%s: a key of the schema that this test does not know\n", path);
    n_unknown++;
}

/* Every property of a schema and of those that stand within it; what it refers to is met by itself.
 */
static void walk(const json_t *schema, const char *path)
{
    const char *key = NULL;
    json_t *value = NULL;
    char below[256];
    json_object_foreach(json_object_get(schema, "properties"), key, value)
    {
        snprintf(below, sizeof below, "%s%s%s", path, *path ? "." : "", key);
        meet_key(below);
        walk(value, below);
    }
    json_t *inner = json_object_get(schema, "items");
    if (inner)
        walk(inner, path);
    size_t i = 0;
    json_array_foreach(json_object_get(schema, "anyOf"), i, value) walk(value, path);
}

static void test_every_key_is_known(void **state)
{
    (void)state;
    json_t *schema = json_load_file("shared/job.schema.json", 0, NULL);
    assert_non_null(schema);
    walk(schema, "");
    const char *name = NULL;
    json_t *value = NULL;
    json_object_foreach(json_object_get(schema, "$defs"), name, value) walk(value, name);
    json_decref(schema);
    assert_int_equal(n_unknown, 0);
    for (size_t i = 0; i < DW_COUNT(keys); i++)
        if (!in_table[i])
            fail_msg("%s is no key of the schema", keys[i].key);
}

/* --- the members that forms are made of --------------------------------------------------------
 */

/* Is `path` a member that the server tells forms of, by its name or another one? */
static bool is_member(const json_t *records, const char *path)
{
    const char *dot = strrchr(path, '.');
    char record[256];
    size_t i = 0, k = 0;
    json_t *member = NULL, *also = NULL;
    snprintf(record, sizeof record, "%.*s", dot ? (int)(dot - path) : 0, path);
    const char *key = dot ? dot + 1 : path;
    json_array_foreach(json_object_get(records, record), i, member)
    {
        if (strcmp(web_shop_text(member, "name"), key) == 0)
            return true;
        json_array_foreach(json_object_get(member, "also"), k,
                           also) if (strcmp(json_string_value(also), key) == 0) return true;
    }
    return false;
}

/* What a job says of a list's file: the page takes the list itself, pasted or dropped. */
static bool is_of_a_file(const char *path)
{
    return strncmp(path, "file.", 5) == 0;
}

/* Whatever the schema lets a job say, the server tells the page's forms, and nothing else. */
static void test_every_key_is_in_forms(void **state)
{
    (void)state;
    json_t *reply = web_shop_json(&the_shop, DW_WEB_GET, "/api/members", NULL, 200);
    json_t *records = json_object_get(reply, "records"), *members = NULL, *member = NULL;
    const char *record = NULL;
    size_t i = 0, n = 0, n_wrong = 0;
    for (size_t k = 0; k < DW_COUNT(keys); k++)
        if (!is_of_a_file(keys[k].key) && !is_member(records, keys[k].key)) {
            print_message("%s: no form is told of it\n", keys[k].key);
            n_wrong++;
        }
    json_object_foreach(records, record, members) json_array_foreach(members, i, member)
    {
        char path[256];
        snprintf(path, sizeof path, "%s%s%s", record, *record ? "." : "",
                 web_shop_text(member, "name"));
        bool found = false;
        for (size_t k = 0; k < DW_COUNT(keys); k++)
            found = found || strcmp(keys[k].key, path) == 0;
        if (!found) {
            print_message("%s: told to forms, and no key of the schema\n", path);
            n_wrong++;
        }
        n++;
    }
    json_decref(reply);
    assert_true(n > 130);
    assert_int_equal(n_wrong, 0);
}

/* build/tests/unit/web/test_shown -> build/dropwise */
int main(int argc, char **argv)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_every_key_is_known),
        cmocka_unit_test(test_every_key_is_shown),
        cmocka_unit_test(test_every_key_is_in_forms),
    };
    const char *end = argc > 0 ? strstr(argv[0], "/tests/unit/web/") : NULL;
    snprintf(program, sizeof program, "%.*s/dropwise", end ? (int)(end - argv[0]) : 5,
             end ? argv[0] : "build");
    return cmocka_run_group_tests(tests, say_all, forget);
}
