/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Documents with revisions. */
#include "ledger/ledger.h"

#include <dropwise/document.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define KIND_MOST 32
#define KEY_MOST  64
#define NAME_MOST 200

#define HEAD "kind, key, name, revision, at, who"

void dw_document_list_free(struct dw_document_list *list)
{
    if (!list)
        return;
    dw_arena__free(list->arena);
    free(list);
}

static bool read_head(sqlite3_stmt *stmt, struct dw_arena *arena, void *row)
{
    bool failed = false;
    struct dw_document *document = row;
    *document = (struct dw_document){0};
    document->kind = dw_sql__text(stmt, 0, arena, &failed);
    document->key = dw_sql__text(stmt, 1, arena, &failed);
    document->name = dw_sql__text(stmt, 2, arena, &failed);
    document->revision = sqlite3_column_int64(stmt, 3);
    document->when = dw_sql__text(stmt, 4, arena, &failed);
    document->who = dw_sql__text(stmt, 5, arena, &failed);
    if (sqlite3_column_count(stmt) > 6)
        document->body = dw_sql__text(stmt, 6, arena, &failed);
    return !failed;
}

/* Takes over `stmt`. */
static dw_err list_rows(struct dw_ledger *ledger, sqlite3_stmt *stmt, struct dw_document_list **out,
                        struct dw_error *error)
{
    *out = NULL;
    void *rows = NULL;
    struct dw_document_list *list = calloc(1, sizeof *list);
    if (list)
        list->arena = dw_arena__new();
    dw_err err = list && list->arena ? DW_OK : dw_error__nomem(error);
    if (!err)
        err = dw_ledger__collect(ledger, stmt, list->arena, sizeof(struct dw_document), read_head,
                                 &rows, &list->n, error);
    sqlite3_finalize(stmt);
    if (err) {
        dw_document_list_free(list);
        return err;
    }
    list->rows = rows;
    *out = list;
    return DW_OK;
}

dw_err dw_ledger_documents(struct dw_ledger *ledger, const char *kind,
                           struct dw_document_list **out, struct dw_error *error)
{
    *out = NULL;
    sqlite3_stmt *stmt = NULL;
    dw_err err = dw_sql__open(
        ledger, &stmt, error,
        "SELECT " HEAD " FROM documents WHERE kind = ? ORDER BY at DESC, id DESC", "t", kind);
    return err ? err : list_rows(ledger, stmt, out, error);
}

static dw_err find(struct dw_ledger *ledger, const char *sql, const char *kind, const char *key,
                   struct dw_document_list **out, struct dw_error *error)
{
    *out = NULL;
    sqlite3_stmt *stmt = NULL;
    dw_err err = dw_sql__open(ledger, &stmt, error, sql, "tt", kind, key);
    if (!err)
        err = list_rows(ledger, stmt, out, error);
    if (!err && (*out)->n == 0) {
        dw_document_list_free(*out);
        *out = NULL;
        err = dw_error__set(error, DW_ERR_NOTFOUND, "there is no %s %s (any more)", kind, key);
    }
    return err;
}

dw_err dw_ledger_document(struct dw_ledger *ledger, const char *kind, const char *key,
                          struct dw_document_list **out, struct dw_error *error)
{
    return find(ledger, "SELECT " HEAD ", body FROM documents WHERE kind = ? AND key = ?", kind,
                key, out, error);
}

/* --- saving ----------------------------------------------------------------------------------- */

static dw_err check(const struct dw_act *act, const struct dw_document *document,
                    struct dw_error *error)
{
    if (!act->when || !document->kind || !document->body)
        return dw_error__set(error, DW_ERR_INPUT, "a document needs a time, a kind and a body");
    size_t n = strlen(document->body);
    if (n > DW_DOCUMENT_MAX)
        return dw_error__set(error, DW_ERR_LIMIT, "the document is larger than %d bytes",
                             DW_DOCUMENT_MAX);
    if (dw_utf8__check(document->body, n) != n)
        return dw_error__set(error, DW_ERR_INPUT, "the document is not UTF-8");
    dw_err err = dw_ledger__text_ok("the kind", document->kind, KIND_MOST, error);
    if (!err)
        err = dw_ledger__text_ok("the key", document->key, KEY_MOST, error);
    if (!err)
        err = dw_ledger__text_ok("the name", document->name, NAME_MOST, error);
    return err ? err : dw_ledger__text_ok("who", act->who, NAME_MOST, error);
}

/* Says why nothing was changed: removed, or saved by somebody else. */
static dw_err stale(struct dw_ledger *ledger, const char *kind, const char *key,
                    struct dw_error *error)
{
    struct dw_document_list *now = NULL;
    dw_err err = find(ledger, "SELECT " HEAD " FROM documents WHERE kind = ? AND key = ?", kind,
                      key, &now, error);
    if (err || !now)
        return err;
    const char *who = now->rows[0].who;
    err = dw_error__set(error, DW_ERR_STATE,
                        "%s %s was saved by %s in the meantime (revision %lld): look at what "
                        "changed first",
                        kind, key, who ? who : "somebody else", (long long)now->rows[0].revision);
    dw_document_list_free(now);
    return err;
}

static dw_err insert(struct dw_ledger *ledger, const struct dw_act *act,
                     const struct dw_document *document, struct dw_error *error)
{
    int changes = 0;
    dw_err err = dw_sql__run(ledger, &changes, error,
                             "INSERT OR IGNORE INTO documents(kind, key, name, revision, at, who,"
                             " body) VALUES (?1, ?2, ?3, 1, ?4, ?5, ?6)",
                             "tttttt", document->kind, document->key, document->name, act->when,
                             act->who, document->body);
    return err || changes ? err : stale(ledger, document->kind, document->key, error);
}

static dw_err update(struct dw_ledger *ledger, const struct dw_act *act,
                     const struct dw_document *document, struct dw_error *error)
{
    int changes = 0;
    dw_err err =
        dw_sql__run(ledger, &changes, error,
                    "UPDATE documents SET name = ?3, revision = revision + 1, at = ?4, who = ?5,"
                    " body = ?6 WHERE kind = ?1 AND key = ?2 AND revision = ?7",
                    "tttttti", document->kind, document->key, document->name, act->when, act->who,
                    document->body, document->revision);
    return err || changes ? err : stale(ledger, document->kind, document->key, error);
}

/* The next number among the keys of a kind that are numbers. Numbers of removed documents do not
 * come back. */
static dw_err next_key(struct dw_ledger *ledger, const char *kind, char out[24],
                       struct dw_error *error)
{
    int64_t next = 0;
    dw_err err = dw_sql__run(ledger, NULL, error,
                             "INSERT INTO document_numbers(kind, last) VALUES (?1, 1)"
                             " ON CONFLICT(kind) DO UPDATE SET last = last + 1",
                             "t", kind);
    if (!err)
        err = dw_sql__int(ledger, &next, 0, error,
                          "SELECT last FROM document_numbers WHERE kind = ?1", "t", kind);
    snprintf(out, 24, "%lld", (long long)next);
    return err;
}

static dw_err save(struct dw_ledger *ledger, const struct dw_act *act, struct dw_document *document,
                   struct dw_document_list **saved, struct dw_error *error)
{
    char key[24];
    dw_err err = DW_OK;
    if (!document->key) {
        err = next_key(ledger, document->kind, key, error);
        document->key = key;
    }
    if (!err)
        err = document->revision == 0 ? insert(ledger, act, document, error)
                                      : update(ledger, act, document, error);
    if (!err && saved)
        err = find(ledger, "SELECT " HEAD " FROM documents WHERE kind = ? AND key = ?",
                   document->kind, document->key, saved, error);
    return err;
}

static dw_err finish(struct dw_ledger *ledger, dw_err err, struct dw_error *error)
{
    if (!err)
        err = dw_sql__exec(ledger, "COMMIT", error);
    if (err)
        sqlite3_exec(ledger->db, "ROLLBACK", NULL, NULL, NULL);
    return err;
}

dw_err dw_ledger_document_save(struct dw_ledger *ledger, const struct dw_act *act,
                               const struct dw_document *document, struct dw_document_list **saved,
                               struct dw_error *error)
{
    if (saved)
        *saved = NULL;
    struct dw_document copy = *document;
    dw_err err = check(act, document, error);
    if (!err)
        err = dw_ledger__lock(ledger, error);
    if (err)
        return err;
    err = finish(ledger, save(ledger, act, &copy, saved, error), error);
    if (err && saved) {
        dw_document_list_free(*saved);
        *saved = NULL;
    }
    return err;
}

dw_err dw_ledger_document_drop(struct dw_ledger *ledger, const char *kind, const char *key,
                               int64_t revision, struct dw_error *error)
{
    int changes = 0;
    dw_err err = dw_ledger__lock(ledger, error);
    if (err)
        return err;
    err = dw_sql__run(ledger, &changes, error,
                      "DELETE FROM documents WHERE kind = ?1 AND key = ?2 AND revision = ?3", "tti",
                      kind, key, revision);
    if (!err && !changes)
        err = stale(ledger, kind, key, error);
    return finish(ledger, err, error);
}
