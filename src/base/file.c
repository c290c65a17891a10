/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Files: read whole; written whole or not at all. */
#define _GNU_SOURCE /* O_TMPFILE, mkostemps */
#include "base/base.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <libgen.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

static dw_err io_error(struct dw_error *error, const char *path, const char *what)
{
    if (errno == ENOMEM)
        return dw_error__nomem(error);
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

/* --- before it is in its place --------------------------------------------------------------- */

#define PASSING ".dropwise" /* ends the name of a file that is on its way, after six characters */

/* Is this the name of a file on its way to `base`? */
static bool is_passing(const char *name, const char *base)
{
    size_t n = strlen(base);
    return strlen(name) == n + 7 + strlen(PASSING) && strncmp(name, base, n) == 0 &&
           name[n] == '.' && strcmp(name + n + 7, PASSING) == 0;
}

/* Removes what is left of writers of `path` that were ended: each has a lock on its file while it
 * lives. Cost: O(files in the folder). */
static void sweep(const char *path)
{
    const char *slash = strrchr(path, '/'), *base = slash ? slash + 1 : path;
    char *copy = strdup(path);
    DIR *folder = copy ? opendir(dirname(copy)) : NULL;
    free(copy);
    if (!folder)
        return;
    for (struct dirent *entry; (entry = readdir(folder)) != NULL;) {
        if (!is_passing(entry->d_name, base))
            continue;
        int fd =
            openat(dirfd(folder), entry->d_name, O_RDONLY | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC);
        if (fd >= 0 && flock(fd, LOCK_EX | LOCK_NB) == 0)
            (void)unlinkat(dirfd(folder), entry->d_name, 0);
        if (fd >= 0)
            close(fd);
    }
    closedir(folder);
}

static void path_of(int fd, char self[40])
{
    snprintf(self, 40, "/proc/self/fd/%d", fd);
}

/* A file without a name in the folder of `path` that can be given one: open(2), O_TMPFILE. < 0: the
 * system or the file system has none. */
static int open_nameless(const char *path)
{
    char self[40];
    char *copy = strdup(path);
    int fd = copy ? open(dirname(copy), O_TMPFILE | O_WRONLY | O_CLOEXEC, 0600) : -1;
    free(copy);
    path_of(fd, self);
    if (fd >= 0 && access(self, F_OK) != 0) {
        close(fd);
        return -1;
    }
    return fd;
}

/* A file under a name of its own beside `path`. The name is yours; NULL after an error. */
static int open_named(const char *path, char **name)
{
    struct dw_buf text = {0};
    struct stat there = {0};
    dw_buf__format(&text, "%s.XXXXXX" PASSING, path);
    *name = dw_buf__take(&text);
    errno = ENOMEM; /* if there is no name */
    int fd = *name ? mkostemps(*name, (int)strlen(PASSING), O_CLOEXEC) : -1;
    if (fd >= 0)
        (void)flock(fd, LOCK_EX);
    if (fd >= 0 && fstat(fd, &there) == 0 && there.st_nlink > 0)
        return fd;
    int cause = fd >= 0 ? EAGAIN : errno; /* another swept it away before it was locked */
    if (fd >= 0)
        close(fd);
    free(*name);
    *name = NULL;
    errno = cause;
    return -1;
}

static bool give_name(int fd, const char *path)
{
    char self[40];
    path_of(fd, self);
    return linkat(AT_FDCWD, self, AT_FDCWD, path, AT_SYMLINK_FOLLOW) == 0;
}

/* Only a file with a name can replace another. NULL: errno says why. */
static char *name_beside(int fd, const char *path)
{
    for (unsigned i = 0; i < 100; i++) {
        struct dw_buf text = {0};
        dw_buf__format(&text, "%s.%06x" PASSING, path, ((unsigned)getpid() * 100 + i) & 0xffffff);
        char *name = dw_buf__take(&text);
        errno = ENOMEM; /* if there is no name */
        if (!name || give_name(fd, name))
            return name;
        free(name);
        if (errno != EEXIST)
            break;
    }
    return NULL;
}

static char *copy_of(const char *path)
{
    struct dw_buf copy = {0};
    dw_buf__put(&copy, path);
    return dw_buf__take(&copy);
}

static void forget(struct dw_file_ready *ready)
{
    if (ready->path)
        close(ready->fd);
    free(ready->temporary);
    free(ready->path);
    *ready = (struct dw_file_ready){0};
}

static dw_err make_ready(const char *path, mode_t mode, const char *text, size_t n, bool replace,
                         struct dw_file_ready *out, struct dw_error *error)
{
    struct dw_file_ready ready = {.fd = open_nameless(path), .replace = replace};
    sweep(path);
    if (ready.fd >= 0)
        (void)flock(ready.fd, LOCK_EX);
    else
        ready.fd = open_named(path, &ready.temporary);
    if (ready.fd < 0)
        return io_error(error, path, "can't write the file");
    ready.path = copy_of(path);
    if (!ready.path) {
        close(ready.fd);
        if (ready.temporary)
            unlink(ready.temporary);
        free(ready.temporary);
        return dw_error__nomem(error);
    }
    *out = ready;
    if (fchmod(ready.fd, mode) == 0 && write_all(ready.fd, text, n) && fsync(ready.fd) == 0)
        return DW_OK;
    dw_err err = io_error(error, path, "can't write the file");
    dw_file__drop(out);
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

/* Devices, pipes, and whatever goes by a name of the system's own: written to, never replaced. */
static bool is_special(const char *path)
{
    struct stat there;
    static const char *const names[] = {"/dev/stdout", "/dev/stderr", "/dev/fd/", "/proc/self/fd/"};
    for (size_t i = 0; i < DW_COUNT(names); i++)
        if (strncmp(path, names[i], strlen(names[i])) == 0)
            return true;
    return stat(path, &there) == 0 && !S_ISREG(there.st_mode) && !S_ISDIR(there.st_mode);
}

dw_err dw_file__ready(const char *path, const char *text, size_t n, bool replace,
                      struct dw_file_ready *out, struct dw_error *error)
{
    *out = (struct dw_file_ready){0};
    if (is_special(path))
        return dw_error__at(error, DW_ERR_INPUT, path, 0, 0,
                            "this is a device or pipe; name a regular file");
    dw_err err = replace ? DW_OK : refuse_existing(path, "name another or allow replacing", error);
    return err ? err : make_ready(path, 0644, text, n, replace, out, error);
}

/* Neither way leaves half a file. */
static bool put_in_place(struct dw_file_ready *ready)
{
    if (!ready->temporary && !ready->replace)
        return give_name(ready->fd, ready->path);
    if (!ready->temporary)
        ready->temporary = name_beside(ready->fd, ready->path);
    return ready->temporary && (ready->replace ? rename(ready->temporary, ready->path) == 0
                                               : put_if_absent(ready->temporary, ready->path));
}

dw_err dw_file__place(struct dw_file_ready *ready, struct dw_error *error)
{
    dw_err err = DW_OK;
    if (!ready->path)
        return err;
    if (put_in_place(ready)) {
        sync_folder(ready->path);
        forget(ready);
        return err;
    }
    if (!ready->replace && errno == EEXIST)
        err = dw_error__at(error, DW_ERR_EXISTS, ready->path, 0, 0,
                           "the file exists and is left as it is; name another or allow replacing");
    else
        err = io_error(error, ready->path, "can't write the file");
    dw_file__drop(ready);
    return err;
}

void dw_file__drop(struct dw_file_ready *ready)
{
    if (ready->temporary)
        unlink(ready->temporary);
    forget(ready);
}

static dw_err write_special(const char *path, const char *text, size_t n, struct dw_error *error)
{
    int fd = open(path, O_WRONLY | O_NOCTTY | O_CLOEXEC);
    bool good = fd >= 0 && write_all(fd, text, n);
    int cause = errno;
    if (fd >= 0)
        close(fd);
    errno = cause;
    return good ? DW_OK : io_error(error, path, "can't write the file");
}

dw_err dw_file__write(const char *path, const char *text, size_t n, bool replace,
                      struct dw_error *error)
{
    if (is_special(path))
        return write_special(path, text, n, error);
    struct dw_file_ready ready;
    dw_err err = dw_file__ready(path, text, n, replace, &ready, error);
    return err ? err : dw_file__place(&ready, error);
}

dw_err dw_file__write_private(const char *path, const void *bytes, size_t n, struct dw_error *error)
{
    struct dw_file_ready ready = {0};
    dw_err err = refuse_existing(path, "name another", error);
    if (!err)
        err = make_ready(path, 0600, bytes, n, false, &ready, error);
    return err ? err : dw_file__place(&ready, error);
}

/* --- one file or two ---------------------------------------------------------------------------
 */

/* The folder that a name lies in, as the system knows it. */
static bool folder_of(const char *path, struct stat *out)
{
    const char *slash = strrchr(path, '/');
    struct dw_buf folder = {0};
    if (!slash)
        dw_buf__put(&folder, ".");
    else
        dw_buf__add(&folder, path, slash == path ? 1 : (size_t)(slash - path));
    char *name = dw_buf__take(&folder);
    bool found = name && stat(name, out) == 0;
    free(name);
    return found;
}

static const char *last_name(const char *path)
{
    const char *slash = strrchr(path, '/');
    return slash ? slash + 1 : path;
}

bool dw_file__same(const char *a, const char *b)
{
    struct stat x, y;
    bool there = stat(a, &x) == 0, other = stat(b, &y) == 0;
    if (there != other)
        return false;
    if (there)
        return S_ISREG(x.st_mode) && x.st_dev == y.st_dev && x.st_ino == y.st_ino;
    return strcmp(last_name(a), last_name(b)) == 0 && folder_of(a, &x) && folder_of(b, &y) &&
           x.st_dev == y.st_dev && x.st_ino == y.st_ino;
}
