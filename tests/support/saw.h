/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A shop's saw with a shelf of its own, where plans are held and cuts go wrong. */
#ifndef TESTS_SAW_H
#define TESTS_SAW_H

#include <dropwise/miscut.h>

/* Kerf 2, squaring 5 a mill end, a cut 0.50; leftovers from 300 mm on at half of 8 a metre. */
#define SAW_JOB                                                                                    \
    "dropwise: 1\n"                                                                                \
    "name: stall\n"                                                                                \
    "unit: mm\n"                                                                                   \
    "currency: EUR\n"                                                                              \
    "saw: {kerf: 2, squaring: 5, cost per cut: 0.50}\n"                                            \
    "rules: {keep: 300, leftover worth: 50 %}\n"                                                   \
    "materials:\n"                                                                                 \
    "  - {id: S48, outside: 48.3 mm, wall: 3.2 mm}\n"                                              \
    "bars:\n"                                                                                      \
    "  - {id: new, material: S48, length: 3 m, price: 24}\n"                                       \
    "parts:\n"                                                                                     \
    "  - {label: leg, length: 1200, count: 4}\n"                                                   \
    "  - {label: brace, length: 500, count: 2}\n"

/* The stall with a lintel that is measured first; three bars at most. */
#define SAW_BOOTH                                                                                  \
    "dropwise: 1\n"                                                                                \
    "name: booth\n"                                                                                \
    "unit: mm\n"                                                                                   \
    "currency: EUR\n"                                                                              \
    "saw: {kerf: 2, squaring: 5, cost per cut: 0.50}\n"                                            \
    "rules: {keep: 300, leftover worth: 50 %}\n"                                                   \
    "materials: [{id: S48}]\n"                                                                     \
    "bars: [{id: new, length: 6 m, price: 48, count: 3}]\n"                                        \
    "parts:\n"                                                                                     \
    "  - {label: leg, length: 1200, count: 4}\n"                                                   \
    "  - {label: lintel, length: 1775, count: 2,"                                                  \
    " measure first: yes, allowance: 25}\n"                                                        \
    "  - {label: brace, length: 500, count: 2}\n"

struct saw {
    char folder[64];
    struct dw_ledger *ledger;
    struct dw_report report;
};

extern const struct dw_act saw_act;

/* Before and after each test: *state is the saw, whose shelf is checked at the end. */
int saw_setup(void **state);
int saw_teardown(void **state);

struct dw_job *saw_load(struct saw *saw, const char *text);
/* Plans from the shelf and holds; the plan's number. */
int64_t saw_plan_and_hold(struct saw *saw, const char *text);
dw_err saw_miscut(struct saw *saw, const char *text, const struct dw_miscut *what,
                  struct dw_miscut_result *result, struct dw_error *error);
/* An offcut of S48 with sawn ends. */
void saw_add(struct saw *saw, const char *number, dw_length length, dw_money value);
/* The number of a bar of the plan whose first piece is the part, and its pieces. */
int64_t saw_bar_with(struct saw *saw, int64_t plan, const char *label, int64_t *n_pieces);
int64_t saw_last_step(struct saw *saw);
void saw_undo(struct saw *saw);
struct dw_balance saw_balance(struct saw *saw);
/* With its document at `path` (NULL: none) and hooks. */
dw_err saw_redo(struct saw *saw, const char *text, const struct dw_miscut *what, const char *path,
                const struct dw_hooks *hooks, struct dw_job **job, struct dw_miscut_result *result,
                struct dw_error *error);
/* Open, none of its bars cut, held as before. */
void saw_is_untouched(struct saw *saw, int64_t plan);

#define SAW(name) cmocka_unit_test_setup_teardown(name, saw_setup, saw_teardown)

#endif
