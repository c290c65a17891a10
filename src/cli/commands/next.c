/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What may come next on a command line, for the completion of a shell: commands, options, their
 * values, endings of files, and what the shelf knows: plans, their bars, pieces, materials. */
#include "cli/commands/manual.h"
#include "cli/shelf/shelf.h"

#include <stdlib.h>
#include <string.h>

#define NAME 32 /* room for the name of an operand */

/* Words typed so far, and what they have come to. */
struct typed {
    const struct dw_cli_command *program;
    const struct dw_cli_command *command;
    char path[64];
    const char *open_option; /* name of the last word, an option that waits for its value */
    const char *open_value;  /* what that value is called */
    const char *shelf;       /* --shelf FILE; NULL = not typed */
    const char *operand;     /* the last one; NULL = none */
    size_t n_operands;
};

static void put_line(struct dw_buf *out, const char *word, const char *what)
{
    dw_buf__format(out, "%s\t%s\n", word, what ? what : "");
}

/* --- what was typed --------------------------------------------------------------------------- */

static bool find_option(const struct dw_cli_command *command, const char *word,
                        struct dw_cli_option *option)
{
    for (size_t i = 0; dw_cli__option(command, i, option); i++)
        if ((strncmp(word, "--", 2) == 0 && strcmp(word + 2, option->name) == 0) ||
            (word[0] == '-' && option->letter && word[1] == option->letter && word[2] == '\0'))
            return true;
    return false;
}

static void read_word(struct typed *typed, const char *word)
{
    struct dw_cli_option option = {0};
    if (typed->open_option) {
        if (strcmp(typed->open_option, "--shelf") == 0)
            typed->shelf = word;
        typed->open_option = NULL;
    } else if (word[0] == '-' && word[1] != '\0') {
        if (strncmp(word, "--shelf=", 8) == 0)
            typed->shelf = word + 8;
        if (find_option(typed->command, word, &option) && option.value) {
            typed->open_option = word;
            typed->open_value = option.value;
        }
    } else {
        typed->operand = word;
        typed->n_operands++;
    }
}

/* --- what the shelf knows --------------------------------------------------------------------- */

static void put_plans(struct dw_buf *out, struct dw_cli_shelf *shelf)
{
    struct dw_held_list *list = NULL;
    if (dw_ledger_plans(shelf->ledger, true, &list, NULL) != DW_OK)
        return;
    for (size_t i = 0; i < list->n; i++) {
        const struct dw_held_plan *plan = &list->rows[i];
        dw_buf__format(out, "%lld\t%s, %lld of %zu bars cut\n", (long long)plan->id,
                       plan->job ? plan->job : "", (long long)plan->n_cut, plan->n_bars);
    }
    dw_held_list_free(list);
}

/* Bars of a plan that are not cut. */
static void put_bars(struct dw_buf *out, struct dw_cli_shelf *shelf, const char *plan)
{
    struct dw_held_list *list = NULL;
    if (dw_ledger_plan(shelf->ledger, strtoll(plan, NULL, 10), &list, NULL) != DW_OK)
        return;
    for (size_t i = 0; i < list->rows[0].n_bars; i++) {
        const struct dw_held_bar *bar = &list->rows[0].bars[i];
        if (!bar->cut)
            dw_buf__format(out, "%lld\t%s\n", (long long)bar->bar,
                           bar->number ? bar->number : bar->supply);
    }
    dw_held_list_free(list);
}

static void put_pieces(struct dw_buf *out, struct dw_cli_shelf *shelf)
{
    struct dw_stock_list *list = NULL;
    const struct dw_stock_query query = {0};
    if (dw_ledger_list(shelf->ledger, &query, &list, NULL) != DW_OK)
        return;
    for (size_t i = 0; i < list->n; i++) {
        const struct dw_stock *piece = &list->rows[i];
        dw_buf__format(out, "%s\t%s, %s\n", piece->number, piece->material,
                       dw_cli__length(&shelf->page, dw_stock_actual(piece)).text);
    }
    dw_stock_list_free(list);
}

static void put_of_shelf(struct dw_buf *out, const struct typed *typed, const char *name)
{
    struct dw_cli_given given = {.option = {.name = "shelf"}, .value = typed->shelf};
    struct dw_cli_args args = {.program = typed->program,
                               .command = typed->command,
                               .path = typed->path,
                               .n_given = typed->shelf ? 1 : 0,
                               .given = &given};
    struct dw_cli_shelf shelf = {0};
    if (dw_cli__usual_read(&args) == DW_CLI_DONE &&
        dw_cli__shelf_open(&args, DW_LEDGER_READ, &shelf) == DW_CLI_DONE) {
        if (strcmp(name, "PLAN") == 0)
            put_plans(out, &shelf);
        else if (strcmp(name, "BAR") == 0 && typed->operand)
            put_bars(out, &shelf, typed->operand);
        else if (strcmp(name, "NUMBER") == 0)
            put_pieces(out, &shelf);
        for (size_t i = 0; strcmp(name, "MATERIAL") == 0 && i < shelf.job->n_materials; i++)
            put_line(out, shelf.job->materials[i].id, shelf.job->materials[i].name);
    }
    dw_cli__shelf_close(&shelf);
    free(args.usual.text);
}

/* --- what an operand or a value may be ----------------------------------------------------------
 */

/* X(what it is called, endings or * for any file) */
#define FILES_LIST(X)                                                                              \
    X("JOB", "*.yaml *.yml")                                                                       \
    X("JOB.yaml", "*.yaml *.yml")                                                                  \
    X("PLAN.json", "*.json")                                                                       \
    X("TABLE.csv", "*.csv *.tsv")                                                                  \
    X("LIST", "*.csv *.tsv *.txt *.xlsx *.ods")                                                    \
    X("FILE", "*")

static void put_named(struct dw_buf *out, const struct typed *typed, const char *name)
{
#define ENDINGS(called, endings) {called, endings},
    static const struct {
        const char *called, *endings;
    } files[] = {FILES_LIST(ENDINGS)};
#undef ENDINGS
    for (size_t i = 0; i < DW_COUNT(files); i++) {
        if (strcmp(files[i].called, name) != 0)
            continue;
        for (const char *at = files[i].endings; *at; at += strspn(at, " ")) {
            size_t n = strcspn(at, " ");
            dw_buf__add(out, at, n);
            dw_buf__put(out, "\tfile\n");
            at += n;
        }
        return;
    }
    bool material = strcmp(name, "ID") == 0;
    if (material || strcmp(name, "PLAN") == 0 || strcmp(name, "BAR") == 0 ||
        strcmp(name, "NUMBER") == 0 || strcmp(name, "MATERIAL") == 0)
        put_of_shelf(out, typed, material ? "MATERIAL" : name);
    for (size_t i = 0; strcmp(name, "COMMAND") == 0 && i < typed->program->n_parts; i++)
        put_line(out, typed->program->parts[i]->name, typed->program->parts[i]->summary);
}

/* The operand at `index` of "JOB [PLAN.json]" or "PLAN [BAR...]", bare; "" past the last. */
static void name_operand(const char *operands, size_t n, size_t index, char name[NAME])
{
    name[0] = '\0';
    const char *end = operands + n;
    for (size_t i = 0; operands < end; i++) {
        operands += strspn(operands, " [");
        size_t length = strcspn(operands, " []|");
        length = operands + length > end ? (size_t)(end - operands) : length;
        size_t bare = length;
        bool again = bare > 3 && memcmp(operands + bare - 3, "...", 3) == 0;
        bare -= again ? 3 : 0;
        if ((i == index || (again && i < index)) && bare < NAME) {
            memcpy(name, operands, bare);
            name[bare] = '\0';
            return;
        }
        operands += length;
        operands += strspn(operands, " ]");
    }
}

static void put_operand(struct dw_buf *out, const struct typed *typed)
{
    char name[NAME];
    for (const char *at = typed->command->operands; *at;) {
        size_t n = strcspn(at, "|");
        name_operand(at, n, typed->n_operands, name);
        put_named(out, typed, name);
        at += n + (at[n] == '|');
    }
}

static void put_options(struct dw_buf *out, const struct typed *typed)
{
    struct dw_cli_option option = {0};
    for (size_t i = 0; dw_cli__option(typed->command, i, &option); i++)
        dw_buf__format(out, "--%s\t%s\n", option.name, option.help);
}

static void put_value(struct dw_buf *out, const struct typed *typed)
{
    struct dw_cli_option option = {0};
    if (!find_option(typed->command, typed->open_option, &option))
        return;
    for (const char *at = option.choices ? option.choices : ""; *at; at += strspn(at, " ")) {
        size_t n = strcspn(at, " ");
        dw_buf__add(out, at, n);
        dw_buf__format(out, "\t%s\n", option.value);
        at += n;
    }
    if (!option.choices)
        put_named(out, typed, option.value);
}

void dw_cli__next(struct dw_buf *out, const struct dw_cli_command *program,
                  const char *const *words, size_t n)
{
    struct typed typed = {.program = program, .command = program};
    size_t at = 0;
    for (; at < n && typed.command && typed.command->n_parts > 0; at++) {
        typed.command = dw_cli__find(typed.command, words[at]);
        size_t used = strlen(typed.path);
        snprintf(typed.path + used, sizeof typed.path - used, "%s%s", used ? " " : "", words[at]);
    }
    if (!typed.command)
        return;
    for (size_t i = 0; i < typed.command->n_parts; i++)
        put_line(out, typed.command->parts[i]->name, typed.command->parts[i]->summary);
    if (typed.command->n_parts > 0)
        return;
    for (; at < n; at++)
        read_word(&typed, words[at]);
    if (typed.open_option) {
        put_value(out, &typed);
        return;
    }
    put_operand(out, &typed);
    put_options(out, &typed);
}
