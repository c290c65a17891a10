/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Files: read whole; written whole or not at all. */
#define _GNU_SOURCE /* O_TMPFILE */
#include "base/base.h"

#include <errno.h>
#include <fcntl.h>
#include <libgen.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* A path that leads nowhere is the caller's mistake, all else is a failure. */
static dw_err io_error(struct dw_error *error, const char *path, const char *what)
{
    if (errno == ENOENT || errno == ENOTDIR)
        return dw_error__at(error, DW_ERR_NOTFOUND, path, 0, 0, "%s: %s", what, strerror(errno));
    return dw_error__at(error, DW_ERR_IO, path, 0, 0, "%s: %s", what, strerror(errno));
}

static dw_err read_all(int fd, const char *path, size_t limit, struct dw_buf *buf,
                       struct dw_error *error)
{
    char chunk[64 * 1024];
    for (;;) {
        ssize_t got = read(fd, chunk, sizeof chunk);
        if (got < 0 && errno == EINTR)
            continue;
        if (got < 0)
            return io_error(error, path, "can't read the file");
        if (got == 0)
            return DW_OK;
        dw_buf__add(buf, chunk, (size_t)got);
        if (buf->failed)
            return dw_error__nomem(error);
        if (buf->n > limit)
            return dw_error__at(error, DW_ERR_LIMIT, path, 0, 0,
                                "the file is larger than the limit of %zu bytes", limit);
    }
}

/* Takes the descriptor. */
static dw_err read_open(int fd, const char *path, size_t limit, char **text, size_t *n,
                        struct dw_error *error)
{
    struct dw_buf buf = {0};
    dw_err err = read_all(fd, path, limit, &buf, error);
    close(fd);
    size_t length = buf.n;
    if (err == DW_OK && !(*text = dw_buf__take(&buf)))
        err = dw_error__nomem(error);
    dw_buf__free(&buf);
    if (err == DW_OK)
        *n = length;
    return err;
}

dw_err dw_file__read(const char *path, size_t limit, char **text, size_t *n, struct dw_error *error)
{
    *text = NULL;
    *n = 0;
    int fd = open(path, O_RDONLY | O_CLOEXEC);
    if (fd < 0)
        return io_error(error, path, "can't open the file");
    return read_open(fd, path, limit, text, n, error);
}

/* A pipe without a writer would be waited for when it is opened, were it not for O_NONBLOCK. */
dw_err dw_file__read_regular(const char *path, size_t limit, char **text, size_t *n,
                             struct dw_error *error)
{
    struct stat what;
    *text = NULL;
    *n = 0;
    int fd = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK);
    if (fd < 0)
        return io_error(error, path, "can't open the file");
    if (fstat(fd, &what) == 0 && S_ISREG(what.st_mode))
        return read_open(fd, path, limit, text, n, error);
    close(fd);
    return dw_error__at(error, DW_ERR_INPUT, path, 0, 0,
                        "this is a folder, pipe or device; name a regular file");
}

static bool write_all(int fd, const char *text, size_t n)
{
    while (n > 0) {
        ssize_t put = write(fd, text, n);
        if (put < 0 && errno == EINTR)
            continue;
        if (put < 0)
            return false;
        text += put;
        n -= (size_t)put;
    }
    return true;
}

/* Makes the rename durable; a file system that can't sync folders is left at that. */
static void sync_folder(const char *path)
{
    char *copy = strdup(path);
    if (!copy)
        return;
    int fd = open(dirname(copy), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (fd >= 0) {
        (void)fsync(fd);
        close(fd);
    }
    free(copy);
}

/* link(2) refuses an existing name. Where a file system has no links (USB sticks, network shares),
 * the name is taken by an empty file, which is then replaced. */
static bool put_if_absent(const char *temporary, const char *path)
{
    if (link(temporary, path) == 0) {
        unlink(temporary);
        return true;
    }
    if (errno == EEXIST || errno == ENOENT || errno == ENOTDIR)
        return false;
    int fd = open(path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0644);
    if (fd < 0)
        return false;
    close(fd);
    if (rename(temporary, path) == 0)
        return true;
    int cause = errno;
    unlink(path);
    errno = cause;
    return false;
}

/* Neither way leaves half a file. */
static dw_err put_in_place(const char *temporary, const char *path, bool replace,
                           struct dw_error *error)
{
    bool done = replace ? rename(temporary, path) == 0 : put_if_absent(temporary, path);
    if (!done && !replace && errno == EEXIST)
        return dw_error__at(
            error, DW_ERR_EXISTS, path, 0, 0,
            "the file exists and is left as it is; name another or allow replacing");
    return done ? DW_OK : io_error(error, path, "can't write the file");
}

static dw_err write_temporary(int fd, const char *path, mode_t mode, const char *text, size_t n,
                              struct dw_error *error)
{
    dw_err err = DW_OK;
    if (fchmod(fd, mode) != 0 || !write_all(fd, text, n) || fsync(fd) != 0)
        err = io_error(error, path, "can't write the file");
    if (close(fd) != 0 && err == DW_OK)
        err = io_error(error, path, "can't write the file");
    return err;
}

static char *copy_of(const char *path)
{
    struct dw_buf copy = {0};
    dw_buf__put(&copy, path);
    return dw_buf__take(&copy);
}

static void forget(struct dw_file_ready *ready)
{
    free(ready->temporary);
    free(ready->path);
    *ready = (struct dw_file_ready){0};
}

static dw_err make_ready(const char *path, mode_t mode, const char *text, size_t n, bool replace,
                         struct dw_file_ready *out, struct dw_error *error)
{
    struct dw_buf name = {0};
    dw_buf__format(&name, "%s.XXXXXX", path);
    struct dw_file_ready ready = {dw_buf__take(&name), copy_of(path), replace};
    if (!ready.temporary || !ready.path) {
        forget(&ready);
        return dw_error__nomem(error);
    }
    int fd = mkstemp(ready.temporary);
    dw_err err = fd < 0 ? io_error(error, path, "can't write the file")
                        : write_temporary(fd, path, mode, text, n, error);
    if (err == DW_OK) {
        *out = ready;
        return DW_OK;
    }
    if (fd >= 0)
        unlink(ready.temporary);
    forget(&ready);
    return err;
}

static dw_err refuse_existing(const char *path, const char *cure, struct dw_error *error)
{
    struct stat there;
    if (lstat(path, &there) != 0)
        return DW_OK;
    return dw_error__at(error, DW_ERR_EXISTS, path, 0, 0,
                        "the file exists and is left as it is; %s", cure);
}

dw_err dw_file__ready(const char *path, const char *text, size_t n, bool replace,
                      struct dw_file_ready *out, struct dw_error *error)
{
    *out = (struct dw_file_ready){0};
    dw_err err = replace ? DW_OK : refuse_existing(path, "name another or allow replacing", error);
    return err ? err : make_ready(path, 0644, text, n, replace, out, error);
}

dw_err dw_file__place(struct dw_file_ready *ready, struct dw_error *error)
{
    if (!ready->temporary)
        return DW_OK;
    dw_err err = put_in_place(ready->temporary, ready->path, ready->replace, error);
    if (err)
        unlink(ready->temporary);
    else
        sync_folder(ready->path);
    forget(ready);
    return err;
}

void dw_file__drop(struct dw_file_ready *ready)
{
    if (ready->temporary)
        unlink(ready->temporary);
    forget(ready);
}

dw_err dw_file__write(const char *path, const char *text, size_t n, bool replace,
                      struct dw_error *error)
{
    struct dw_file_ready ready;
    dw_err err = dw_file__ready(path, text, n, replace, &ready, error);
    return err ? err : dw_file__place(&ready, error);
}

/* --- files of one's own ----------------------------------------------------------------------- */

/* A file without a name in the folder of `path`; < 0: the system or the file system has none. */
static int open_nameless(const char *path)
{
    char *copy = strdup(path);
    int fd = copy ? open(dirname(copy), O_TMPFILE | O_WRONLY | O_CLOEXEC, 0600) : -1;
    free(copy);
    return fd;
}

static dw_err write_named(const char *path, const void *bytes, size_t n, struct dw_error *error)
{
    struct dw_file_ready ready;
    dw_err err = make_ready(path, 0600, bytes, n, false, &ready, error);
    return err ? err : dw_file__place(&ready, error);
}

/* Gives a file without a name one that no file has: open(2), O_TMPFILE. */
static bool give_name(int fd, const char *path)
{
    char self[40];
    snprintf(self, sizeof self, "/proc/self/fd/%d", fd);
    return linkat(AT_FDCWD, self, AT_FDCWD, path, AT_SYMLINK_FOLLOW) == 0;
}

dw_err dw_file__write_private(const char *path, const void *bytes, size_t n, struct dw_error *error)
{
    dw_err err = refuse_existing(path, "name another", error);
    int fd = err ? -1 : open_nameless(path);
    if (err || fd < 0)
        return err ? err : write_named(path, bytes, n, error);
    if (!write_all(fd, bytes, n) || fsync(fd) != 0)
        err = io_error(error, path, "can't write the file");
    bool named = !err && give_name(fd, path);
    close(fd);
    if (err || named) {
        if (named)
            sync_folder(path);
        return err;
    }
    return write_named(path, bytes, n, error); /* it can't be named, or just was */
}
