/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Copies of the ledger: into a file, into memory. */
#include "ledger/ledger.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static dw_err copy_pages(struct dw_ledger *ledger, sqlite3 *to, struct dw_error *error)
{
    sqlite3_backup *backup = sqlite3_backup_init(to, "main", ledger->db, "main");
    if (!backup)
        return dw_error__set(error, DW_ERR_IO, "the copy: %s", sqlite3_errmsg(to));
    int rc = SQLITE_OK;
    for (int tries = 0; tries < 500; tries++) {
        rc = sqlite3_backup_step(backup, -1);
        if (rc != SQLITE_BUSY && rc != SQLITE_LOCKED)
            break;
        sqlite3_sleep(10);
    }
    sqlite3_backup_finish(backup);
    if (rc == SQLITE_DONE) /* one file, without a log beside it */
        rc = sqlite3_exec(to, "PRAGMA journal_mode = DELETE", NULL, NULL, NULL);
    struct dw_ledger copy = {.db = to};
    return dw_sql__fail(&copy, rc, error);
}

dw_err dw_ledger_backup(struct dw_ledger *ledger, const char *to, struct dw_error *error)
{
    struct dw_error why = {0};
    struct dw_buf name = {0};
    dw_buf__format(&name, "%s.%ld.tmp", to, (long)getpid());
    char *temporary = dw_buf__take(&name);
    if (!temporary)
        return dw_error__nomem(error);
    sqlite3 *db = NULL;
    dw_err err = DW_OK;
    if (access(to, F_OK) == 0)
        err = dw_error__set(&why, DW_ERR_EXISTS, "the file exists: a copy overwrites nothing");
    else if (sqlite3_open_v2(temporary, &db, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, NULL))
        err = dw_error__set(&why, DW_ERR_IO, "the copy can't be written here");
    else
        err = copy_pages(ledger, db, &why);
    sqlite3_close(db);
    if (!err && link(temporary, to) != 0)
        err = dw_error__set(&why, errno == EEXIST ? DW_ERR_EXISTS : DW_ERR_IO,
                            "the copy can't be put in place: %s", strerror(errno));
    unlink(temporary);
    free(temporary);
    if (err)
        dw_error__at(error, err, to, 0, 0, "%s", why.text);
    return err;
}

#define IMAGE_MOST (INT64_C(256) << 20)

/* Bytes 18 and 19 of an SQLite file say whether it wants a log beside it: 1, no (SQLite, "Database
 * File Format", 1.3.3). */
dw_err dw_ledger_image(struct dw_ledger *ledger, unsigned char **bytes, size_t *n,
                       struct dw_error *error)
{
    *bytes = NULL;
    *n = 0;
    sqlite3_int64 size = 0;
    unsigned char *image = sqlite3_serialize(ledger->db, "main", &size, 0);
    dw_err err = image ? DW_OK : dw_error__nomem(error);
    if (!err && size > IMAGE_MOST)
        err = dw_error__set(error, DW_ERR_LIMIT,
                            "the shelf is over 256 MiB: use dropwise shelf backup");
    if (!err && !(*bytes = malloc((size_t)size + 1)))
        err = dw_error__nomem(error);
    if (!err) {
        memcpy(*bytes, image, (size_t)size);
        if (size > 19)
            (*bytes)[18] = (*bytes)[19] = 1;
        *n = (size_t)size;
    }
    sqlite3_free(image);
    return err;
}
