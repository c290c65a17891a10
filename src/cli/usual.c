/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a shop sets once for all commands: a file of settings, and DROPWISE_SHELF. */
#include "cli/cli.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define FILE_BYTES 65536
#define FILE_NAME  "dropwise/settings"

static bool find_option(const struct dw_cli_command *command, const char *name,
                        struct dw_cli_option *out)
{
    for (size_t i = 0; dw_cli__option(command, i, out); i++)
        if (strcmp(out->name, name) == 0)
            return true;
    return false;
}

/* --- which file ------------------------------------------------------------------------------- */

/* "FOLDER/dropwise/settings" if it is there; folder[0..n) must be absolute. */
static char *in_folder(const char *folder, size_t n, const char *below)
{
    struct dw_buf path = {0};
    if (n == 0 || folder[0] != '/')
        return NULL;
    dw_buf__add(&path, folder, n);
    dw_buf__format(&path, "%s/%s", below, FILE_NAME);
    char *text = dw_buf__take(&path);
    if (text && access(text, F_OK) == 0)
        return text;
    free(text);
    return NULL;
}

/* The first that there is, by the XDG base directory specification: of $XDG_CONFIG_HOME or
 * ~/.config, then of the folders of $XDG_CONFIG_DIRS or /etc/xdg. */
static char *find_file(void)
{
    const char *own = getenv("XDG_CONFIG_HOME");
    const char *home = getenv("HOME");
    const char *folders = getenv("XDG_CONFIG_DIRS");
    char *path = NULL;
    if (own && own[0] == '/')
        path = in_folder(own, strlen(own), "");
    else if (home)
        path = in_folder(home, strlen(home), "/.config");
    folders = folders && folders[0] ? folders : "/etc/xdg";
    while (!path && *folders) {
        size_t n = strcspn(folders, ":");
        path = in_folder(folders, n, "");
        folders += n + (folders[n] == ':');
    }
    return path;
}

/* --- what it says ------------------------------------------------------------------------------
 */

/* Cuts blanks off both ends of a line's part. */
static char *trimmed(char *from, char *to)
{
    from += strspn(from, " \t");
    while (to > from && strchr(" \t\r", to[-1]))
        to--;
    *to = '\0';
    return from;
}

/* One line, "key = value", which is taken apart in place. */
static dw_err read_line(struct dw_cli_args *args, const char *path, int number, char *line,
                        struct dw_error *error)
{
    char *end = line + strlen(line);
    char *equals = strchr(line, '=');
    char *start = trimmed(line, equals ? equals : end);
    if (*start == '#' || (*start == '\0' && !equals))
        return DW_OK;
    if (!equals)
        return dw_error__at(error, DW_ERR_INPUT, path, number, 1,
                            "`%s`: wanted is a line like `shelf = /srv/shop/shelf.db`", start);
    char *value = trimmed(equals + 1, end);
    size_t key = 0;
    if (!dw_cli__usual_key(start, strlen(start), &key))
        return dw_error__at(error, DW_ERR_INPUT, path, number, 1,
                            "`%s` can't be set here; known are " DW_CLI_USUAL_WORDS, start);
    if (*value == '\0')
        return dw_error__at(error, DW_ERR_INPUT, path, number, 1, "`%s` has no value", start);
    if (key == DW_CLI_USUAL_SHELF && value[0] != '/')
        return dw_error__at(error, DW_ERR_INPUT, path, number, 1,
                            "`%s`: name the shelf's file from the root on, `/srv/shop/shelf.db`",
                            value);
    if (!args->usual.values[key])
        args->usual.values[key] = value;
    return DW_OK;
}

static dw_err read_lines(struct dw_cli_args *args, const char *path, struct dw_error *error)
{
    dw_err err = DW_OK;
    int number = 0;
    char *next = args->usual.text;
    for (char *line = next; line && *line && !err; line = next) {
        char *end = strchr(line, '\n');
        next = end ? end + 1 : NULL;
        if (end)
            *end = '\0';
        err = read_line(args, path, ++number, line, error);
    }
    return err;
}

/* A word that an option of this command does not take. */
static bool check_choices(const struct dw_cli_args *args, const char *path)
{
    struct dw_cli_option option = {0};
    for (size_t i = 0; i < DW_CLI_N_USUAL; i++) {
        const char *value = args->usual.values[i];
        if (!value || !find_option(args->command, dw_cli__usual_name(i), &option) ||
            !option.choices || dw_cli__is_choice(option.choices, value))
            continue;
        dw_cli__complain("%s: %s = %s: wanted is one of: %s", path, dw_cli__usual_name(i), value,
                         option.choices);
        return false;
    }
    return true;
}

static bool has_usual(const struct dw_cli_command *command)
{
    struct dw_cli_option option = {0};
    for (size_t i = 0; i < DW_CLI_N_USUAL; i++)
        if (find_option(command, dw_cli__usual_name(i), &option))
            return true;
    return false;
}

enum dw_cli_status dw_cli__usual_read(struct dw_cli_args *args)
{
    if (!has_usual(args->command))
        return DW_CLI_DONE;
    const char *shelf = getenv("DROPWISE_SHELF");
    if (shelf && shelf[0])
        args->usual.values[DW_CLI_USUAL_SHELF] = shelf;
    char *path = find_file();
    if (!path)
        return DW_CLI_DONE;
    struct dw_error error = {0};
    size_t n = 0;
    dw_err err = dw_file__read_regular(path, FILE_BYTES, &args->usual.text, &n, &error);
    if (!err)
        err = read_lines(args, path, &error);
    enum dw_cli_status status = dw_cli__file_status(err);
    if (err)
        dw_cli__say_error(&error);
    else if (!check_choices(args, path))
        status = DW_CLI_REFUSED;
    free(path);
    return status;
}
