/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Face of web: a page for the shop, served by this program to a browser beside it.
 *
 * The server listens on the loopback address, or, with a passphrase, to the local network too. All
 * that it serves is compiled in; no path of a request reaches the file system.
 * Clock, calendar and random bytes come from the caller. */
#ifndef DW_WEB_H
#define DW_WEB_H

#include "base/base.h"

struct dw_progress; /* dropwise/work.h */

struct dw_web;

#define DW_WEB_WHEN           32
#define DW_WEB_PASSPHRASE_MIN 12 /* characters */

struct dw_web_hooks {
    int64_t (*now_ms)(void *user);                   /* monotonic */
    void (*when)(void *user, char out[DW_WEB_WHEN]); /* now, "2026-03-01T14:05:00Z" */
    bool (*random)(void *user, unsigned char *out, size_t n);
    /* Not NULL: there are no threads, tasks wait until the caller runs them (web/task.h), and it
     * hears how far one has come. */
    void (*progress)(void *user, const struct dw_progress *progress);
    void *user;
};

struct dw_web_options {
    const char *shelf;      /* path of the shelf file; made when it does not exist */
    uint16_t port;          /* 0 = any that is free */
    const char *lan;        /* address by which others reach this computer; NULL = loopback only */
    const char *passphrase; /* required with lan; NULL = none is asked for */
    struct dw_web_hooks hooks;
};

/* Starts serving on threads of its own. DW_ERR_INPUT: an address or passphrase that will not do;
 * DW_ERR_BUSY: the port is taken; errors of dw_ledger_open; DW_ERR_NOMEM, DW_ERR_IO. */
dw_err dw_web__start(const struct dw_web_options *options, struct dw_web **out,
                     struct dw_error *error);
uint16_t dw_web__port(const struct dw_web *web);
/* Stops the plans under way and returns when all threads have ended. NULL is fine. */
void dw_web__stop(struct dw_web *web);

/* A text as a QR code of half blocks (U+2580, U+2584, U+2588) for a terminal with light text on
 * dark ground, a quiet zone of two around it. *out is yours to free. */
dw_err dw_web__code(const char *text, char **out, struct dw_error *error);

#endif
