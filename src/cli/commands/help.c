/* SPDX-License-Identifier: GPL-3.0-or-later */
/* dropwise help: the commands, one command, the manual, words for completion. */
#include "cli/commands/manual.h"

#include <string.h>

/* --- overview --------------------------------------------------------------------------------- */

static void add_row(struct dw_cli_table *table, const struct dw_cli_command *command,
                    const char *before)
{
    dw_cli__cell_format(table, "%s%s %s", before, command->name, command->operands);
    dw_cli__cell(table, command->summary);
}

static const struct dw_cli_column two_columns[] = {{.title = NULL},
                                                   {.fold = true, .own_line = true}};

static struct dw_cli_table new_table(void)
{
    return (struct dw_cli_table){.n_columns = 2, .columns = two_columns, .indent = 2};
}

static void put_statuses(struct dw_cli_page *page)
{
    static const char *const texts[] = {
#define STATUS_TEXT(number, text) [number] = text,
        DW_CLI_STATUS_LIST(STATUS_TEXT)
#undef STATUS_TEXT
    };
    struct dw_cli_table table = new_table();
    dw_cli__heading(page, "Exit status");
    for (size_t i = 0; i < DW_COUNT(texts); i++) {
        dw_cli__cell_format(&table, "%zu", i);
        dw_cli__cell(&table, texts[i]);
    }
    dw_cli__table_end(page, &table);
}

static void put_overview(struct dw_cli_page *page, const struct dw_cli_command *program)
{
    dw_cli__fold(page, DW_CLI_STRONG, "",
                 "dropwise plans the cutting of tube: what to take, what to buy, where to saw.");
    dw_cli__heading(page, "Commands");
    struct dw_cli_table table = new_table();
    for (size_t i = 0; i < program->n_parts; i++)
        add_row(&table, program->parts[i], "");
    dw_cli__table_end(page, &table);
    put_statuses(page);
    dw_cli__newline(page);
    dw_cli__fold(page, DW_CLI_PLAIN, "",
                 "dropwise help COMMAND says more. First steps: dropwise check JOB, then dropwise "
                 "plan JOB.");
}

/* --- one command -------------------------------------------------------------------------------
 */

static void put_about(struct dw_cli_page *page, const char *about)
{
    struct dw_buf text = {0};
    while (*about) {
        size_t n = strlen(about);
        const char *gap = strstr(about, "\n\n");
        n = gap ? (size_t)(gap - about) : n;
        dw_buf__add(&text, about, n);
        dw_cli__newline(page);
        dw_cli__fold_buf(page, DW_CLI_PLAIN, "", &text);
        about += gap ? n + 2 : n;
    }
}

static void put_options(struct dw_cli_page *page, const struct dw_cli_command *command)
{
    struct dw_cli_option option = {0};
    struct dw_cli_table table = new_table();
    for (size_t i = 0; dw_cli__option(command, i, &option); i++) {
        struct dw_buf text = {0};
        dw_cli__option_form(&text, &option);
        dw_cli__cell_buf(&table, &text);
        dw_buf__put(&text, option.help);
        if (option.choices)
            dw_buf__format(&text, " (%s)", option.choices);
        dw_cli__cell_buf(&table, &text);
    }
    if (table.n_cells > 0)
        dw_cli__heading(page, "Options");
    dw_cli__table_end(page, &table);
}

static void put_command(struct dw_cli_page *page, const struct dw_cli_command *command,
                        const char *path)
{
    char usage[256];
    struct dw_cli_option option = {0};
    snprintf(usage, sizeof usage, "dropwise %s%s%s%s%s", path,
             dw_cli__option(command, 0, &option) ? " [OPTIONS]" : "",
             command->n_parts > 0 ? " COMMAND" : "", *command->operands ? " " : "",
             command->operands);
    dw_cli__fold(page, DW_CLI_STRONG, "", usage);
    dw_cli__fold(page, DW_CLI_PLAIN, "  ", command->summary);
    put_about(page, command->about);
    if (command->n_parts > 0) {
        struct dw_cli_table table = new_table();
        dw_cli__heading(page, "Commands");
        for (size_t i = 0; i < command->n_parts; i++)
            add_row(&table, command->parts[i], "");
        dw_cli__table_end(page, &table);
    }
    put_options(page, command);
}

/* --- the command ---------------------------------------------------------------------------------
 */

static enum dw_cli_status print_raw(struct dw_buf *text)
{
    if (text->failed) {
        dw_buf__free(text);
        dw_cli__complain("out of memory");
        return DW_CLI_FAILED;
    }
    enum dw_cli_status status = dw_cli__write(text->n ? text->text : "", text->n);
    dw_buf__free(text);
    return status;
}

static enum dw_cli_status refuse_topic(const struct dw_cli_command *program, const char *topic)
{
    const char *near = dw_cli__nearest(program, topic);
    if (near)
        dw_cli__complain("there is no command %s; the nearest is %s", topic, near);
    else
        dw_cli__complain("there is no command %s; see dropwise help", topic);
    return DW_CLI_REFUSED;
}

/* "shelf add" out of the operands shelf and add. */
static void join_topic(const struct dw_cli_args *args, char *topic, size_t n)
{
    snprintf(topic, n, "%s%s%s", args->operands[0], args->n_operands > 1 ? " " : "",
             args->n_operands > 1 ? args->operands[1] : "");
}

static enum dw_cli_status print_manual(const struct dw_cli_args *args)
{
    struct dw_buf raw = {0};
    const struct dw_cli_command *command = NULL;
    if (args->n_operands > 0)
        command = dw_cli__find(args->program, args->operands[0]);
    if (args->n_operands > 0 && !command)
        return refuse_topic(args->program, args->operands[0]);
    dw_cli__manual(&raw, args->program, command);
    return print_raw(&raw);
}

/* What the tests run: every example of the manual, one a line. */
static enum dw_cli_status print_examples(void)
{
    struct dw_buf raw = {0};
    const struct dw_cli_example *example = NULL;
    for (size_t i = 0; (example = dw_cli__example(i)) != NULL; i++)
        dw_buf__format(&raw, "%s\n", example->line);
    return print_raw(&raw);
}

static enum dw_cli_status print_next(const struct dw_cli_args *args)
{
    struct dw_buf raw = {0};
    dw_cli__next(&raw, args->program, args->operands, args->n_operands);
    return print_raw(&raw);
}

static enum dw_cli_status run(const struct dw_cli_args *args)
{
    if (dw_cli__has(args, "next"))
        return print_next(args);
    if (args->n_operands > 2) {
        dw_cli__complain("help: one operand too many: %s; usage: dropwise help [COMMAND]",
                         args->operands[2]);
        return DW_CLI_REFUSED;
    }
    if (dw_cli__has(args, "manual"))
        return print_manual(args);
    if (dw_cli__has(args, "examples"))
        return print_examples();
    if (dw_cli__has(args, "words")) {
        struct dw_buf raw = {0};
        dw_cli__words(&raw, args->program, args->n_operands > 0 ? args->operands[0] : NULL,
                      args->n_operands > 1 ? args->operands[1] : NULL);
        return print_raw(&raw);
    }
    struct dw_cli_page page = {0};
    enum dw_cli_status status = dw_cli__page_init(args, &page);
    if (status != DW_CLI_DONE)
        return status;
    char topic[64] = {0};
    if (args->n_operands > 0)
        join_topic(args, topic, sizeof topic);
    const struct dw_cli_command *command = *topic ? dw_cli__topic(args->program, topic) : NULL;
    if (*topic && !command) {
        dw_cli__page_free(&page);
        return refuse_topic(args->program, topic);
    }
    if (command)
        put_command(&page, command, topic);
    else
        put_overview(&page, args->program);
    return dw_cli__page_end(&page);
}

static const struct dw_cli_option options[] = {
    {"manual", 0, NULL, NULL, "print the manual page of the program or a command as troff source"},
    {"examples", 0, NULL, NULL, "print the examples of the manual, one a line"},
    {"words", 0, NULL, NULL, "print commands, or options of a command, with what they are"},
    {"next", 0, NULL, NULL, "print what may follow the words behind --, for a shell's completion"},
};

const struct dw_cli_command dw_cli__cmd_help = {
    .name = "help",
    .operands = "[COMMAND]",
    .summary = "explain the program or one command",
    .about = "Lists the commands, or explains one of them with its options.",
    .least = 0,
    .most = -1,
    .shared = DW_CLI_PAGE,
    .n_options = DW_COUNT(options),
    .options = options,
    .run = run,
};
