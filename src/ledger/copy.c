/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Copies of the ledger: into memory, into a file. */
#include "ledger/ledger.h"

#include <stdlib.h>
#include <string.h>

#define IMAGE_MOST (INT64_C(256) << 20)

/* The whole file as it is at one moment; sqlite3_free it. Bytes 18 and 19 of an SQLite file say
 * whether it wants a log beside it: 1, no (SQLite, "Database File Format", 1.3.3). */
static dw_err take_image(struct dw_ledger *ledger, unsigned char **image, size_t *n,
                         struct dw_error *error)
{
    sqlite3_int64 size = 0;
    *image = sqlite3_serialize(ledger->db, "main", &size, 0);
    if (!*image) { /* no memory, or the file can't be read: SQLite does not say which */
        dw_err err = dw_sql__exec(ledger, "SELECT count(*) FROM sqlite_schema", error);
        return err ? err : dw_error__nomem(error);
    }
    if (size > 19)
        (*image)[18] = (*image)[19] = 1;
    *n = (size_t)size;
    return DW_OK;
}

dw_err dw_ledger_image(struct dw_ledger *ledger, unsigned char **bytes, size_t *n,
                       struct dw_error *error)
{
    unsigned char *image = NULL;
    *bytes = NULL;
    *n = 0;
    dw_err err = take_image(ledger, &image, n, error);
    if (!err && *n > IMAGE_MOST)
        err = dw_error__set(error, DW_ERR_LIMIT,
                            "the shelf is over 256 MiB: use dropwise shelf backup");
    if (!err && !(*bytes = malloc(*n + 1)))
        err = dw_error__nomem(error);
    if (!err)
        memcpy(*bytes, image, *n);
    else
        *n = 0;
    sqlite3_free(image);
    return err;
}

dw_err dw_ledger__of_image(struct dw_ledger *ledger, unsigned char *image, size_t n, bool own,
                           struct dw_error *error)
{
    unsigned flags = own ? SQLITE_DESERIALIZE_FREEONCLOSE | SQLITE_DESERIALIZE_RESIZEABLE
                         : SQLITE_DESERIALIZE_READONLY;
    int rc = sqlite3_open_v2(":memory:", &ledger->db, SQLITE_OPEN_READWRITE, NULL);
    if (rc != SQLITE_OK && own)
        sqlite3_free(image);
    if (rc == SQLITE_OK)
        rc = sqlite3_deserialize(ledger->db, "main", image, (sqlite3_int64)n, (sqlite3_int64)n,
                                 flags);
    return ledger->db ? dw_sql__fail(ledger, rc, error) : dw_error__nomem(error);
}

/* A page that could not be read is all zeros in an image: it is looked through before it is a copy.
 * Cost: O(n). */
static dw_err check_image(unsigned char *image, size_t n, struct dw_error *error)
{
    struct dw_ledger copy = {0};
    dw_err err = dw_ledger__of_image(&copy, image, n, false, error);
    if (!err)
        err = dw_ledger__quick_check(&copy, error);
    sqlite3_close(copy.db);
    return err;
}

dw_err dw_ledger_backup(struct dw_ledger *ledger, const char *to, struct dw_error *error)
{
    unsigned char *image = NULL;
    size_t n = 0;
    dw_err err = take_image(ledger, &image, &n, error);
    if (!err)
        err = check_image(image, n, error);
    if (!err)
        err = dw_file__write_private(to, image, n, error);
    sqlite3_free(image);
    return err;
}
