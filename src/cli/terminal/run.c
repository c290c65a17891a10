/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Clock, signals and the line of progress of a run that may last. */
#include "cli/terminal/run.h"

#include <inttypes.h>
#include <signal.h>
#include <string.h>
#include <sys/ioctl.h>
#include <time.h>
#include <unistd.h>

#define SHOW_AFTER_MS 1000
#define REDRAW_MS     200
#define BAR_COLUMNS   20
#define WIDTH_USUAL   80

static volatile sig_atomic_t stop_asked;

static void on_signal(int number)
{
    if (stop_asked) {
        signal(number, SIG_DFL);
        raise(number);
    }
    stop_asked = 1;
}

static void catch_signals(void (*handler)(int))
{
    struct sigaction action = {0};
    action.sa_handler = handler;
    action.sa_flags = SA_RESTART | SA_NODEFER;
    sigemptyset(&action.sa_mask);
    sigaction(SIGINT, &action, NULL);
    sigaction(SIGTERM, &action, NULL);
}

static int64_t clock_ms(void)
{
    struct timespec now = {0};
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

static int64_t hook_now(void *user)
{
    (void)user;
    return clock_ms();
}

/* Columns of the bar that are full: by groups, or by time where there is one group only. */
static int64_t full_columns(const struct dw_cli_run *run, int64_t now)
{
    int64_t part = (int64_t)run->at.groups_done;
    int64_t whole = (int64_t)run->at.n_groups;
    if (whole <= 1 && run->limit_ms > 0) {
        part = now - run->start_ms;
        whole = run->limit_ms;
    }
    if (whole <= 0 || part < 0)
        return 0;
    return part >= whole ? BAR_COLUMNS : BAR_COLUMNS * part / whole;
}

static size_t stderr_width(void)
{
    struct winsize size = {0};
    if (ioctl(STDERR_FILENO, TIOCGWINSZ, &size) != 0 || size.ws_col == 0)
        return WIDTH_USUAL;
    return size.ws_col;
}

/* Puts a word of the line if there is room for it. */
static void put_word(size_t *room, const char *text)
{
    size_t width = dw_utf8__width(text, strlen(text));
    if (width >= *room)
        return;
    fputs(text, stderr);
    *room -= width;
}

/* "████░░░░ 3 s  3 of 7 groups  146.60 EUR  Ctrl-C: best so far", over the line before it, as much
 * of it as the terminal has room for. */
static void draw(struct dw_cli_run *run, int64_t now)
{
    bool utf8 = run->page->utf8;
    int64_t full = full_columns(run, now);
    size_t room = stderr_width();
    char text[96];
    fputs("\r\033[K", stderr);
    for (int64_t i = 0; i < BAR_COLUMNS; i++)
        put_word(&room, i < full ? (utf8 ? "█" : "#") : (utf8 ? "░" : "."));
    snprintf(text, sizeof text, " %" PRId64 " s", (now - run->start_ms) / 1000);
    put_word(&room, text);
    snprintf(text, sizeof text, "  %zu of %zu groups", run->at.groups_done, run->at.n_groups);
    if (run->at.n_groups > 1)
        put_word(&room, text);
    put_word(&room, stop_asked ? "  stopping" : "  Ctrl-C: best so far");
    snprintf(text, sizeof text, "  %s", dw_cli__money(run->page, run->at.value).text);
    if (run->known && run->at.value != 0)
        put_word(&room, text);
    fflush(stderr);
}

/* Draws if it is time to; `news` may be NULL. A thread that finds another drawing goes on. */
static void show(struct dw_cli_run *run, const struct dw_progress *news)
{
    if (!run->shown || atomic_flag_test_and_set(&run->drawing))
        return;
    if (news) {
        run->at = *news;
        run->known = true;
    }
    int64_t now = clock_ms();
    if (now - run->start_ms >= SHOW_AFTER_MS && now - run->drawn_ms >= REDRAW_MS) {
        run->drawn_ms = now;
        draw(run, now);
    }
    atomic_flag_clear(&run->drawing);
}

static bool hook_stop(void *user)
{
    show(user, NULL);
    return stop_asked != 0;
}

static void hook_progress(void *user, const struct dw_progress *progress)
{
    show(user, progress);
}

void dw_cli__run_start(struct dw_cli_run *run, const struct dw_cli_page *page, int64_t limit_ms)
{
    *run = (struct dw_cli_run){.page = page, .limit_ms = limit_ms, .drawing = ATOMIC_FLAG_INIT};
    run->shown = isatty(STDERR_FILENO) != 0;
    run->start_ms = clock_ms();
    catch_signals(on_signal);
}

struct dw_hooks dw_cli__run_hooks(struct dw_cli_run *run)
{
    return (struct dw_hooks){hook_now, hook_stop, hook_progress, run};
}

void dw_cli__run_end(struct dw_cli_run *run)
{
    catch_signals(SIG_DFL);
    if (run->drawn_ms > 0)
        fputs("\r\033[K", stderr);
}

bool dw_cli__run_stopped(void)
{
    return stop_asked != 0;
}
