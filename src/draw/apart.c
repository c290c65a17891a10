/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A drawing made in a process of its own: glib, under pango, ends the process that has no memory
 * left, and cairo and fontconfig may take half of what they are told then. */
#include "draw/apart.h"

#include <errno.h>
#include <fcntl.h>
#include <glib.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/types.h>
#include <sys/wait.h>
#include <unistd.h>

#define SILENT_S  60
#define READ_STEP 65536

/* What the child sends first; then, for each file, its length and bytes, for each box the length of
 * its text, with the 0 at its end (0: none), and the text, then END. Both are one program: values
 * go as they lie in memory. */
struct head {
    dw_err err;
    struct dw_error error;
    size_t n_pages;
    double width_mm, height_mm;
    size_t n_files, n_boxes;
};
static const char END[] = "drawn";

/* --- the child ------------------------------------------------------------------------------ */

void dw_draw__goes_on(void)
{
    alarm(SILENT_S);
}

static void send_bytes(int fd, const void *bytes, size_t n)
{
    const char *at = bytes;
    while (n > 0) {
        ssize_t sent = write(fd, at, n);
        if (sent < 0 && errno == EINTR)
            continue;
        if (sent < 0)
            return;
        at += sent;
        n -= (size_t)sent;
    }
}

static void send_drawing(int fd, const struct head *head, const struct dw_drawing *drawing)
{
    send_bytes(fd, head, sizeof *head);
    for (size_t i = 0; i < head->n_files; i++) {
        send_bytes(fd, &drawing->files[i].n, sizeof drawing->files[i].n);
        send_bytes(fd, drawing->files[i].bytes, drawing->files[i].n);
    }
    for (size_t i = 0; i < head->n_boxes; i++) {
        const char *text = drawing->boxes[i].text;
        size_t n = text ? strlen(text) + 1 : 0;
        send_bytes(fd, &drawing->boxes[i], sizeof drawing->boxes[i]);
        send_bytes(fd, &n, sizeof n);
        send_bytes(fd, text, n);
    }
    send_bytes(fd, END, sizeof END);
}

static void send_error(int fd, dw_err err, const struct dw_error *error)
{
    send_drawing(fd, &(struct head){.err = err, .error = *error}, NULL);
}

/* glib is about to end the process, or pango would go on with letters that it lacks. */
static void on_complaint(const char *domain, GLogLevelFlags level, const char *text, void *user)
{
    const int *fd = user;
    struct dw_error error = {0};
    dw_err err = DW_ERR_NOMEM;
    (void)domain;
    if (level & (G_LOG_LEVEL_MESSAGE | G_LOG_LEVEL_INFO | G_LOG_LEVEL_DEBUG))
        return;
    if ((level & G_LOG_LEVEL_ERROR) || errno == ENOMEM)
        dw_error__nomem(&error);
    else
        err = dw_error__set(&error, DW_ERR_IO, "the paper could not be drawn: %s",
                            text ? text : "no reason is given");
    send_error(*fd, err, &error);
    _exit(1);
}

/* What the caller set for signals is the caller's; what libraries print in their last moment is no
 * message of this program's, and a dead child leaves no picture of its memory. */
static void settle(int *fd)
{
    int nowhere = open("/dev/null", O_WRONLY);
    if (nowhere >= 0)
        dup2(nowhere, STDERR_FILENO);
    const struct rlimit none = {0, 0};
    sigset_t alarms;
    struct sigaction usual = {.sa_handler = SIG_DFL};
    sigemptyset(&usual.sa_mask);
    sigaction(SIGALRM, &usual, NULL);
    sigaction(SIGPIPE, &usual, NULL);
    sigemptyset(&alarms);
    sigaddset(&alarms, SIGALRM);
    sigaddset(&alarms, SIGPIPE);
    pthread_sigmask(SIG_UNBLOCK, &alarms, NULL);
    setrlimit(RLIMIT_CORE, &none);
    g_log_set_default_handler(on_complaint, fd);
    dw_draw__goes_on();
}

static void draw(int fd, dw_draw_work *work, void *user)
{
    struct dw_drawing *drawing = NULL;
    struct dw_error error = {0};
    settle(&fd);
    errno = 0;
    dw_err err = work(user, &drawing, &error);
    if (err) {
        send_error(fd, err, &error);
        return;
    }
    const struct head head = {.n_pages = drawing->n_pages,
                              .width_mm = drawing->page_width_mm,
                              .height_mm = drawing->page_height_mm,
                              .n_files = drawing->n_files,
                              .n_boxes = drawing->n_boxes};
    send_drawing(fd, &head, drawing);
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

/* Bytes received that were not taken yet. */
struct rest {
    const char *at;
    size_t n;
};

static const void *take(struct rest *rest, size_t n)
{
    if (n > rest->n)
        return NULL;
    const char *bytes = rest->at;
    rest->at += n;
    rest->n -= n;
    return bytes;
}

static bool copy(struct rest *rest, void *to, size_t n)
{
    const void *bytes = take(rest, n);
    if (bytes && n > 0)
        memcpy(to, bytes, n);
    return bytes != NULL;
}

static bool read_file(struct rest *rest, struct dw_image *out)
{
    size_t n = 0;
    if (!copy(rest, &n, sizeof n) || n > rest->n)
        return false;
    *out = (struct dw_image){.bytes = malloc(n + 1), .n = n};
    return out->bytes && copy(rest, out->bytes, n);
}

static bool read_box(struct rest *rest, struct dw_arena *arena, struct dw_box *out)
{
    size_t n = 0;
    if (!copy(rest, out, sizeof *out) || !copy(rest, &n, sizeof n))
        return false;
    const char *text = take(rest, n);
    out->text = text && n > 0 ? dw_arena__text(arena, text) : NULL;
    return text && (n == 0 || out->text);
}

/* NULL: no memory, or the child did not come to its end. */
static struct dw_drawing *read_drawing(const struct head *head, struct rest rest)
{
    struct dw_drawing *drawing = calloc(1, sizeof *drawing);
    if (!drawing)
        return NULL;
    *drawing = (struct dw_drawing){.n_pages = head->n_pages,
                                   .page_width_mm = head->width_mm,
                                   .page_height_mm = head->height_mm,
                                   .files = calloc(head->n_files + 1, sizeof *drawing->files),
                                   .boxes = calloc(head->n_boxes + 1, sizeof *drawing->boxes),
                                   .arena = dw_arena__new()};
    bool good = drawing->files && drawing->boxes && drawing->arena;
    for (; good && drawing->n_files < head->n_files; drawing->n_files++)
        good = read_file(&rest, &drawing->files[drawing->n_files]);
    for (; good && drawing->n_boxes < head->n_boxes; drawing->n_boxes++)
        good = read_box(&rest, drawing->arena, &drawing->boxes[drawing->n_boxes]);
    const char *end = good ? take(&rest, sizeof END) : NULL;
    if (end && memcmp(end, END, sizeof END) == 0)
        return drawing;
    dw_drawing_free(drawing);
    return NULL;
}

static dw_err read_all(const struct dw_buf *all, struct dw_drawing **out, struct dw_error *error)
{
    struct rest rest = {all->text, all->n};
    struct head head;
    if (all->failed || !copy(&rest, &head, sizeof head))
        return dw_error__set(error, DW_ERR_NOMEM, "the paper could not be drawn: out of memory");
    if (head.err)
        return dw_error__set(error, head.err, "%s", head.error.text);
    *out = read_drawing(&head, rest);
    return *out ? DW_OK : dw_error__nomem(error);
}

dw_err dw_draw__apart(dw_draw_work *work, void *user, struct dw_drawing **out,
                      struct dw_error *error)
{
    int ends[2];
    *out = NULL;
    if (pipe(ends) != 0)
        return dw_error__set(error, DW_ERR_IO, "no pipe: %s", strerror(errno));
    pid_t child = fork();
    if (child == 0) {
        close(ends[0]);
        draw(ends[1], work, user);
        _exit(0);
    }
    int why = errno;
    close(ends[1]);
    struct dw_buf all = {0};
    if (child > 0)
        receive(ends[0], &all);
    close(ends[0]);
    while (child > 0 && waitpid(child, NULL, 0) < 0 && errno == EINTR)
        ;
    dw_err err = child > 0 ? read_all(&all, out, error)
                 : why == ENOMEM
                     ? dw_error__nomem(error)
                     : dw_error__set(error, DW_ERR_BUSY,
                                     "no process can be started for the paper: %s", strerror(why));
    dw_buf__free(&all);
    return err;
}

dw_err dw_draw__apart_single(dw_draw_work *work, void *user, struct dw_image *out,
                             struct dw_error *error)
{
    struct dw_drawing *drawing = NULL;
    *out = (struct dw_image){0};
    dw_err err = dw_draw__apart(work, user, &drawing, error);
    if (err == DW_OK) {
        *out = drawing->files[0];
        drawing->n_files = 0;
    }
    dw_drawing_free(drawing);
    return err;
}
