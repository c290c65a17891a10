/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Ground of every module: errors, arena, growing arrays, checked integers, text buffer, files. */
#ifndef DW_BASE_H
#define DW_BASE_H

#include <dropwise/error.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define DW_COUNT(array) (sizeof(array) / sizeof((array)[0]))

/* --- errors ------------------------------------------------------------------------------- */

/* Sets *error (NULL: nothing) unless it is set already, and returns code. */
dw_err dw_error__set(struct dw_error *error, dw_err code, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
/* The same with a place; file may be NULL. */
dw_err dw_error__at(struct dw_error *error, dw_err code, const char *file, int line, int column,
                    const char *format, ...) __attribute__((format(printf, 6, 7)));
/* Here, so that an analyser of its callers sees that it is never DW_OK. */
static inline dw_err dw_error__nomem(struct dw_error *error)
{
    dw_error__set(error, DW_ERR_NOMEM, "out of memory");
    return DW_ERR_NOMEM;
}

/* Adds a remark. Past DW_REPORT_MAX it is counted only. DW_ERR_NOMEM or DW_OK. */
dw_err dw_report__add(struct dw_report *report, enum dw_severity severity, const char *file,
                      int line, int column, const char *format, ...)
    __attribute__((format(printf, 6, 7)));
/* Puts the remarks in order of file, `main_file` first, line and column. DW_ERR_NOMEM: they stay
 * as they were. Cost: O(n log n). */
dw_err dw_report__sort(struct dw_report *report, const char *main_file);

/* --- arena -------------------------------------------------------------------------------- */

/* Blocks that are freed together. */
struct dw_arena;
struct dw_arena *dw_arena__new(void);
void dw_arena__free(struct dw_arena *arena);
/* Zeroed, aligned for any type; NULL when memory or size_t is exhausted. Cost: O(count size). */
void *dw_arena__alloc(struct dw_arena *arena, size_t count, size_t size);
char *dw_arena__text(struct dw_arena *arena, const char *text);
char *dw_arena__text_n(struct dw_arena *arena, const char *text, size_t n);

/* --- arrays ------------------------------------------------------------------------------- */

/* Grows *array (heap, *capacity elements of `size`) to hold at least `need`. false: no memory,
 * nothing changed. Amortised O(1) an element. */
bool dw_array__grow(void *array, size_t *capacity, size_t need, size_t size);

/* --- checked integers ---------------------------------------------------------------------- */

/* false on overflow; *out is then untouched. */
bool dw_add__i64(int64_t a, int64_t b, int64_t *out);
bool dw_sub__i64(int64_t a, int64_t b, int64_t *out);
bool dw_mul__i64(int64_t a, int64_t b, int64_t *out);
/* Quotients for b > 0, rounded down and up. */
int64_t dw_floor__div(int64_t a, int64_t b);
int64_t dw_ceil__div(int64_t a, int64_t b);
/* a b / c rounded down, with a 128-bit product; false if c <= 0 or the result does not fit. */
bool dw_muldiv__i64(int64_t a, int64_t b, int64_t c, int64_t *out);
/* Greatest common divisor of |a| and |b|; 0 only for 0, 0. */
int64_t dw_gcd__i64(int64_t a, int64_t b);

/* --- hash ----------------------------------------------------------------------------------- */

/* SHA-256 (FIPS 180-4): begin, add any number of times, end. */
#define DW_SHA256_BYTES 32
struct dw_sha256 {
    uint32_t state[8];
    unsigned char block[64];
    uint64_t n; /* bytes added */
};
void dw_sha256__begin(struct dw_sha256 *hash);
void dw_sha256__add(struct dw_sha256 *hash, const void *bytes, size_t n);
void dw_sha256__end(struct dw_sha256 *hash, unsigned char out[DW_SHA256_BYTES]);

/* --- text buffer ---------------------------------------------------------------------------- */

/* Text that grows. The first failure sticks; check it once at the end. Zero-initialise. */
struct dw_buf {
    char *text; /* terminated when n > 0 or after dw_buf__take */
    size_t n;
    size_t capacity;
    bool failed;
};
void dw_buf__add(struct dw_buf *buf, const char *text, size_t n);
void dw_buf__put(struct dw_buf *buf, const char *text);
void dw_buf__char(struct dw_buf *buf, char c);
void dw_buf__format(struct dw_buf *buf, const char *format, ...)
    __attribute__((format(printf, 2, 3)));
/* A text as a JSON string (RFC 8259), quote marks with it; NULL as null. Bytes that are not UTF-8
 * become U+FFFD. */
void dw_buf__json(struct dw_buf *buf, const char *text);
void dw_buf__json_n(struct dw_buf *buf, const char *text, size_t n);
/* Hands the text over (free it), or NULL if anything failed. The buffer is empty afterwards. */
char *dw_buf__take(struct dw_buf *buf);
void dw_buf__free(struct dw_buf *buf);

/* --- UTF-8 ---------------------------------------------------------------------------------- */

/* Length in bytes of the well-formed character at text[0..n), 0 if it is none. *code if wanted. */
size_t dw_utf8__next(const char *text, size_t n, uint32_t *code);
/* Offset of the first byte that is not well-formed UTF-8; n if all is. */
size_t dw_utf8__check(const char *text, size_t n);
/* Terminal columns of a text, after Unicode's East Asian Width (wide = 2, combining = 0). */
size_t dw_utf8__width(const char *text, size_t n);

/* --- files ---------------------------------------------------------------------------------- */

/* Reads a whole file, at most `limit` bytes (DW_ERR_LIMIT beyond). *text is terminated, free it. */
dw_err dw_file__read(const char *path, size_t limit, char **text, size_t *n,
                     struct dw_error *error);
/* The same, but never waits: what is no regular file is refused (DW_ERR_INPUT). */
dw_err dw_file__read_regular(const char *path, size_t limit, char **text, size_t *n,
                             struct dw_error *error);
/* Whole or not at all: written and synced before it gets its name. Where the system can, it has no
 * name until then, and nothing is left of it however the program ends; elsewhere, and for the
 * moment in which it replaces another, it is PATH.XXXXXX.dropwise, which the next writer of the
 * same path removes if its own is gone. replace false: an existing file is refused with
 * DW_ERR_EXISTS and left as it is. */
dw_err dw_file__write(const char *path, const char *text, size_t n, bool replace,
                      struct dw_error *error);
/* The same for a new file that its owner alone may read (mode 0600). */
dw_err dw_file__write_private(const char *path, const void *bytes, size_t n,
                              struct dw_error *error);

/* Whether both names lead to one file, by whatever links and spellings; of files that are not
 * there, whether they would. */
bool dw_file__same(const char *a, const char *b);

/* The same in two parts, with something between them that must not happen without the file: all is
 * written but in place. End with dw_file__place or dw_file__drop; both do nothing twice. */
struct dw_file_ready {
    int fd;          /* locked as long as it is open */
    char *temporary; /* name that it has meanwhile; NULL: none */
    char *path;      /* NULL: nothing is ready */
    bool replace;
};
dw_err dw_file__ready(const char *path, const char *text, size_t n, bool replace,
                      struct dw_file_ready *out, struct dw_error *error);
dw_err dw_file__place(struct dw_file_ready *ready, struct dw_error *error);
void dw_file__drop(struct dw_file_ready *ready);

#endif
