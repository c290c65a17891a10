/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Keeping the shop with the shelf, and numbering its papers. */
#include "job/shop.h"

#include "base/base.h"
#include "job/store.h"

#include <stdlib.h>
#include <string.h>

#define SHOP_MOST ((size_t)256 * 1024) /* bytes of a shop's file */
#define TRIES     20                   /* others may take a number at the same time */

/* --- reading -----------------------------------------------------------------------------------
 */

static dw_err read_file(const char *path, char **text, struct dw_job **out,
                        struct dw_report *report, struct dw_error *error)
{
    size_t n = 0;
    const char *slash = strrchr(path, '/');
    struct dw_buf folder = {0};
    dw_buf__add(&folder, path, slash ? (size_t)(slash - path) + 1 : 0);
    char *name = dw_buf__take(&folder);
    dw_err err =
        name ? dw_file__read_regular(path, SHOP_MOST, text, &n, error) : dw_error__nomem(error);
    if (!err)
        err = dw_shop_read_text(*text, n, path, name, out, report, error);
    free(name);
    return err;
}

dw_err dw_shop__read(const char *path, struct dw_job **out, struct dw_report *report,
                     struct dw_error *error)
{
    char *text = NULL;
    *out = NULL;
    dw_err err = read_file(path, &text, out, report, error);
    free(text);
    return err;
}

/* --- keeping -----------------------------------------------------------------------------------
 */

static char *to_hex(const unsigned char *bytes, size_t n)
{
    static const char digits[] = "0123456789abcdef";
    char *text = malloc(2 * n + 1);
    for (size_t i = 0; text && i < n; i++) {
        text[2 * i] = digits[bytes[i] >> 4];
        text[2 * i + 1] = digits[bytes[i] & 15];
    }
    if (text)
        text[2 * n] = '\0';
    return text;
}

static unsigned hex_value(char c)
{
    return (unsigned)(c <= '9' ? c - '0' : c - 'a' + 10) & 15;
}

/* The revision that is kept; 0: none. */
static dw_err find_revision(struct dw_ledger *ledger, const char *key, int64_t *revision,
                            struct dw_error *error)
{
    struct dw_document_list *list = NULL;
    *revision = 0;
    dw_err err = dw_ledger_documents(ledger, DW_STORE_SHOP, &list, error);
    for (size_t i = 0; !err && i < list->n; i++)
        if (strcmp(list->rows[i].key, key) == 0)
            *revision = list->rows[i].revision;
    dw_document_list_free(list);
    return err;
}

static dw_err save(struct dw_ledger *ledger, const struct dw_act *act, const char *key,
                   const char *name, const char *body, struct dw_error *error)
{
    struct dw_document document = {.kind = DW_STORE_SHOP, .key = key, .name = name, .body = body};
    dw_err err = find_revision(ledger, key, &document.revision, error);
    return err ? err : dw_ledger_document_save(ledger, act, &document, NULL, error);
}

dw_err dw_shop__keep(struct dw_ledger *ledger, const struct dw_act *act, const char *path,
                     struct dw_job **out, struct dw_report *report, struct dw_error *error)
{
    char *text = NULL;
    *out = NULL;
    dw_err err = read_file(path, &text, out, report, error);
    if (!err) {
        const struct dw_logo *logo = &(*out)->shop->logo;
        char *hex = to_hex(logo->bytes, logo->n);
        err = hex ? save(ledger, act, "logo", NULL, hex, error) : dw_error__nomem(error);
        if (!err)
            err = save(ledger, act, "file", (*out)->shop->name, text, error);
        free(hex);
    }
    free(text);
    if (err) {
        dw_job_free(*out);
        *out = NULL;
    }
    return err;
}

static dw_err read_logo(struct dw_ledger *ledger, struct dw_job *job, struct dw_error *error)
{
    struct dw_document_list *list = NULL;
    dw_err err = dw_ledger_document(ledger, DW_STORE_SHOP, "logo", &list, error);
    if (err)
        return err == DW_ERR_NOTFOUND ? DW_OK : err;
    const char *hex = list->rows[0].body;
    size_t n = strspn(hex, "0123456789abcdef") / 2;
    unsigned char *bytes = n ? dw_job_alloc(job, n, 1) : NULL;
    for (size_t i = 0; bytes && i < n; i++)
        bytes[i] = (unsigned char)(hex_value(hex[2 * i]) << 4 | hex_value(hex[2 * i + 1]));
    job->shop->logo = (struct dw_logo){bytes, bytes ? n : 0};
    dw_document_list_free(list);
    return n && !bytes ? dw_error__nomem(error) : DW_OK;
}

dw_err dw_shop__kept(struct dw_ledger *ledger, struct dw_job **out, struct dw_error *error)
{
    struct dw_document_list *list = NULL;
    struct dw_report report = {0};
    *out = NULL;
    dw_err err = dw_ledger_document(ledger, DW_STORE_SHOP, "file", &list, error);
    if (err)
        return err == DW_ERR_NOTFOUND ? DW_OK : err;
    const char *text = list->rows[0].body;
    err = dw_shop_read_text(text, strlen(text), "the shop kept with the shelf", NULL, out, &report,
                            error);
    if (!err)
        err = read_logo(ledger, *out, error);
    if (err) {
        dw_job_free(*out);
        *out = NULL;
    }
    dw_report_free(&report);
    dw_document_list_free(list);
    return err;
}

/* --- numbers -----------------------------------------------------------------------------------
 */

static const struct {
    const char *kind; /* of the documents: key a number, name what it stands on, body the subject */
    const char *key;  /* of the shop's file */
} series_of[] = {{"quote number", "quote numbers"}, {"order number", "order numbers"}};

/* A digest of the subject, as long as a name of a document may be. */
static void digest(const char *subject, char out[2 * DW_SHA256_BYTES + 1])
{
    static const char digits[] = "0123456789abcdef";
    unsigned char bytes[DW_SHA256_BYTES];
    struct dw_sha256 hash;
    dw_sha256__begin(&hash);
    dw_sha256__add(&hash, subject, strlen(subject));
    dw_sha256__end(&hash, bytes);
    for (size_t i = 0; i < DW_SHA256_BYTES; i++) {
        out[2 * i] = digits[bytes[i] >> 4];
        out[2 * i + 1] = digits[bytes[i] & 15];
    }
    out[2 * DW_SHA256_BYTES] = '\0';
}

/* The number of this subject, "" if it has none; *last the highest of the series' period. */
static dw_err find_number(struct dw_ledger *ledger, const char *kind, const char *series,
                          const char *date, const char *subject, char number[DW_SERIES_TEXT],
                          int64_t *last, struct dw_error *error)
{
    struct dw_document_list *list = NULL;
    number[0] = '\0';
    *last = 0;
    dw_err err = dw_ledger_documents(ledger, kind, &list, error);
    for (size_t i = 0; !err && i < list->n; i++) {
        const struct dw_document *row = &list->rows[i];
        int64_t place = dw_series_place(series, date, row->key);
        *last = place > *last ? place : *last;
        if (row->name && strcmp(row->name, subject) == 0 && strlen(row->key) < DW_SERIES_TEXT)
            memcpy(number, row->key, strlen(row->key) + 1);
    }
    dw_document_list_free(list);
    return err;
}

dw_err dw_shop__number(struct dw_ledger *ledger, const struct dw_act *act,
                       const struct dw_shop *shop, enum dw_numbered what, const char *date,
                       const char *subject, char number[DW_SERIES_TEXT], struct dw_error *error)
{
    const char *kind = series_of[what].kind;
    const char *series = what == DW_NUMBERED_QUOTE ? shop->quotes : shop->orders;
    char name[2 * DW_SHA256_BYTES + 1];
    dw_err err = DW_ERR_STATE;
    if (!series)
        return dw_error__set(error, DW_ERR_INPUT, "the shop has no `%s`", series_of[what].key);
    digest(subject, name);
    for (int i = 0; err == DW_ERR_STATE && i < TRIES; i++) {
        int64_t last = 0;
        err = find_number(ledger, kind, series, date, name, number, &last, error);
        if (err || number[0])
            return err;
        dw_series_number(series, date, last + 1, number);
        const struct dw_document document = {
            .kind = kind, .key = number, .name = name, .body = date};
        err = dw_ledger_document_save(ledger, act, &document, NULL, error);
    }
    return err;
}
