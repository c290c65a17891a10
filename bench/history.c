/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A shelf with a long past: 600 pieces that lie there, and so many moves that led to it. For
 * bench/serve.py.
 *
 *   history SHELF.db [MOVES] */
#include <dropwise/dropwise.h>

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>

#define PIECES 600 /* that lie there in the end */
#define A_STEP 10  /* moves of one step */

static void fail(const struct dw_error *error)
{
    fprintf(stderr, "history: %s\n", error->text);
    exit(3);
}

/* Ten years of working days, one after the other. */
static struct dw_act act_of(int64_t step, char when[32])
{
    int64_t day = step % 3000;
    snprintf(when, 32, "20%02" PRId64 "-%02" PRId64 "-%02" PRId64 "T12:00:00Z", 14 + day / 300,
             1 + day % 300 / 25, 1 + day % 25);
    return (struct dw_act){.when = when, .who = step % 3 ? "Ida" : "Per"};
}

static void add_pieces(struct dw_ledger *ledger, const struct dw_act *act)
{
    static struct dw_stock pieces[PIECES];
    static char numbers[PIECES][16];
    struct dw_error error = {0};
    int64_t step = 0;
    for (size_t i = 0; i < PIECES; i++) {
        snprintf(numbers[i], sizeof numbers[i], "P%zu", i);
        pieces[i] = (struct dw_stock){.number = numbers[i],
                                      .material = "tube",
                                      .kind = DW_KIND_OFFCUT,
                                      .length = (300 + (int64_t)i * 7) * DW_NM_PER_MM,
                                      .ends = {DW_END_SAWN, DW_END_SAWN},
                                      .value = DW_MONEY_ONE * (1 + (int64_t)i % 20),
                                      .place = "rack 0"};
    }
    if (dw_ledger_add(ledger, act, pieces, PIECES, &step, &error) != DW_OK)
        fail(&error);
}

static void move(struct dw_ledger *ledger, const struct dw_act *act, int64_t step)
{
    char names[A_STEP][16], place[16];
    const char *numbers[A_STEP];
    struct dw_error error = {0};
    int64_t made = 0;
    for (int64_t i = 0; i < A_STEP; i++) {
        snprintf(names[i], sizeof names[i], "P%" PRId64, (step * A_STEP + i) % PIECES);
        numbers[i] = names[i];
    }
    snprintf(place, sizeof place, "rack %" PRId64, step % 7);
    if (dw_ledger_move(ledger, act, numbers, A_STEP, place, &made, &error) != DW_OK)
        fail(&error);
}

int main(int argc, char **argv)
{
    struct dw_ledger *ledger = NULL;
    struct dw_error error = {0};
    char when[32];
    int64_t moves = argc > 2 ? strtoll(argv[2], NULL, 10) : 100000;
    if (argc < 2) {
        fprintf(stderr, "usage: history SHELF.db [MOVES]\n");
        return 2;
    }
    struct dw_act act = act_of(0, when);
    struct dw_material tube = {.id = "tube", .od = 38 * DW_NM_PER_MM, .wall = 2 * DW_NM_PER_MM};
    if (dw_ledger_open(argv[1], DW_LEDGER_CREATE, 5000, &ledger, &error) != DW_OK ||
        dw_ledger_material_put(ledger, &act, &tube, &error) != DW_OK)
        fail(&error);
    add_pieces(ledger, &act);
    for (int64_t step = 1; step * A_STEP + PIECES <= moves; step++) {
        act = act_of(step, when);
        move(ledger, &act, step);
    }
    dw_ledger_close(ledger);
    return 0;
}
