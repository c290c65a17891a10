/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Looking in a table of commands and in their options, and what was probably meant by a name that
 * is not there. */
#include "cli/cli.h"

#include <string.h>

static const struct dw_cli_option page_options[] = {
    {"unit", 0, "UNIT", "mm cm m in ft", "unit of printed lengths; otherwise the job's"},
    {"fractions", 0, "N", "0 2 4 8 16 32 64",
     "inches in fractions down to 1/N; 0 = decimals; otherwise the job's"},
    {"width", 0, "N", NULL, "columns to print in, 40 to 400; otherwise the terminal's"},
    {"color", 0, "WHEN", "auto always never",
     "colour; auto = on a terminal, unless NO_COLOR is set"},
};

static const struct dw_cli_option json_option = {"json", 0, NULL, NULL,
                                                 "print JSON for programs instead"};

const struct dw_cli_command *dw_cli__find(const struct dw_cli_command *parent, const char *name)
{
    for (size_t i = 0; i < parent->n_parts; i++)
        if (strcmp(parent->parts[i]->name, name) == 0)
            return parent->parts[i];
    return NULL;
}

const char *dw_cli__nearest(const struct dw_cli_command *parent, const char *name)
{
    const char *best = NULL;
    size_t best_distance = strlen(name) / 2 + 1;
    for (size_t i = 0; i < parent->n_parts; i++) {
        size_t distance = dw_cli__distance(name, parent->parts[i]->name);
        if (distance < best_distance) {
            best = parent->parts[i]->name;
            best_distance = distance;
        }
    }
    return best;
}

bool dw_cli__option(const struct dw_cli_command *command, size_t i, struct dw_cli_option *out)
{
    if (i < command->n_options) {
        *out = command->options[i];
        return true;
    }
    i -= command->n_options;
    if (command->shared & DW_CLI_SETTINGS) {
        if (i < dw_cli__n_settings()) {
            dw_cli__setting_option(i, out);
            return true;
        }
        i -= dw_cli__n_settings();
    }
    if (command->shared & DW_CLI_PAGE) {
        if (i < DW_COUNT(page_options)) {
            *out = page_options[i];
            return true;
        }
        i -= DW_COUNT(page_options);
    }
    if (!(command->shared & DW_CLI_JSON) || i > 0)
        return false;
    *out = json_option;
    return true;
}

#define DISTANCE_MAX 64

static size_t least_of(size_t a, size_t b)
{
    return a < b ? a : b;
}

/* d(i, j) = min(d(i-1, j) + 1, d(i, j-1) + 1, d(i-1, j-1) + [a_i != b_j],
 *               d(i-2, j-2) + 1 if a_i a_i-1 = b_j-1 b_j) */
size_t dw_cli__distance(const char *a, const char *b)
{
    size_t n = strlen(a);
    size_t m = strlen(b);
    if (n >= DISTANCE_MAX || m >= DISTANCE_MAX)
        return DISTANCE_MAX;
    size_t rows[3][DISTANCE_MAX] = {{0}}; /* d(i - k, .) in rows[(i - k) % 3] */
    for (size_t j = 0; j <= m; j++)
        rows[0][j] = j;
    for (size_t i = 1; i <= n; i++) {
        size_t *now = rows[i % 3];
        const size_t *before = rows[(i + 2) % 3];
        const size_t *two_before = rows[(i + 1) % 3];
        now[0] = i;
        for (size_t j = 1; j <= m; j++) {
            now[j] = least_of(least_of(before[j], now[j - 1]) + 1,
                              before[j - 1] + (a[i - 1] != b[j - 1]));
            if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1])
                now[j] = least_of(now[j], two_before[j - 2] + 1);
        }
    }
    return rows[n % 3][m];
}
