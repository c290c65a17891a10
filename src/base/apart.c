/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A child process by fork(), what it sends by a pipe, and its end. */
#include "base/apart.h"

#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/types.h>
#include <sys/wait.h>
#include <unistd.h>

#define SILENT_S  60
#define READ_STEP 65536

/* The last that a child sends: without it, it did not come to its end. Both are one program: values
 * go as they lie in memory. */
struct tail {
    char mark[8];
    dw_err err;
    struct dw_error error;
};
static const char MARK[8] = "the end";

/* --- the child ------------------------------------------------------------------------------ */

void dw_apart__goes_on(void)
{
    alarm(SILENT_S);
}

void dw_apart__send(struct dw_apart *to, const void *bytes, size_t n)
{
    const char *at = bytes;
    while (n > 0) {
        ssize_t sent = write(to->fd, at, n);
        if (sent < 0 && errno == EINTR)
            continue;
        if (sent < 0)
            return;
        at += sent;
        n -= (size_t)sent;
    }
}

static void send_tail(struct dw_apart *to, dw_err err, const struct dw_error *error)
{
    struct tail tail = {.err = err, .error = *error};
    memcpy(tail.mark, MARK, sizeof MARK);
    dw_apart__send(to, &tail, sizeof tail);
}

_Noreturn void dw_apart__give_up(struct dw_apart *to, dw_err err, const struct dw_error *error)
{
    send_tail(to, err, error);
    _exit(1);
}

/* What the caller set for signals is the caller's; a dead child leaves no picture of its memory. */
static void settle(void)
{
    const struct rlimit none = {0, 0};
    struct sigaction usual = {.sa_handler = SIG_DFL};
    sigset_t ours;
    int nowhere = open("/dev/null", O_WRONLY);
    if (nowhere >= 0)
        dup2(nowhere, STDERR_FILENO);
    sigemptyset(&usual.sa_mask);
    sigaction(SIGALRM, &usual, NULL);
    sigaction(SIGPIPE, &usual, NULL);
    sigemptyset(&ours);
    sigaddset(&ours, SIGALRM);
    sigaddset(&ours, SIGPIPE);
    pthread_sigmask(SIG_UNBLOCK, &ours, NULL);
    setrlimit(RLIMIT_CORE, &none);
    dw_apart__goes_on();
}

static void live(int fd, dw_apart_work *work, void *user)
{
    struct dw_apart to = {fd};
    struct dw_error error = {0};
    settle();
    dw_err err = work(&to, user, &error);
    send_tail(&to, err, &error);
}

/* --- the caller ----------------------------------------------------------------------------- */

static void receive(int fd, struct dw_buf *all)
{
    ssize_t got = 1;
    while (got > 0 && dw_array__grow(&all->text, &all->capacity, all->n + READ_STEP, 1)) {
        do
            got = read(fd, all->text + all->n, READ_STEP);
        while (got < 0 && errno == EINTR);
        all->n += got > 0 ? (size_t)got : 0;
    }
    all->failed = got != 0;
}

static dw_err end_of(struct dw_buf *all, struct dw_error *error)
{
    struct tail tail;
    if (all->failed || all->n < sizeof tail)
        return dw_error__nomem(error);
    memcpy(&tail, all->text + all->n - sizeof tail, sizeof tail);
    if (memcmp(tail.mark, MARK, sizeof MARK) != 0)
        return dw_error__nomem(error);
    all->n -= sizeof tail;
    if (tail.err && error && error->code == DW_OK)
        *error = tail.error;
    return tail.err;
}

void dw_apart__name(FILE *file, char out[DW_APART_NAME])
{
    snprintf(out, DW_APART_NAME, "/proc/self/fd/%d", fileno(file));
}

dw_err dw_apart__run(dw_apart_work *work, void *user, struct dw_buf *out, struct dw_error *error)
{
    int ends[2];
    if (pipe(ends) != 0)
        return dw_error__set(error, DW_ERR_IO, "no pipe: %s", strerror(errno));
    pid_t child = fork();
    if (child == 0) {
        close(ends[0]);
        live(ends[1], work, user);
        _exit(0);
    }
    int why = errno;
    close(ends[1]);
    if (child > 0)
        receive(ends[0], out);
    close(ends[0]);
    while (child > 0 && waitpid(child, NULL, 0) < 0 && errno == EINTR)
        ;
    return child > 0 ? end_of(out, error)
           : why == ENOMEM
               ? dw_error__nomem(error)
               : dw_error__set(error, DW_ERR_BUSY, "no process can be started: %s", strerror(why));
}
