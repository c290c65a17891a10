/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Who may ask: hosts, origins, sessions, the passphrase. */
#ifndef DW_WEB_GATE_H
#define DW_WEB_GATE_H

#include "web/http.h"
#include "web/web.h"

#include <pthread.h>

#define DW_WEB_KEY_TEXT   33 /* 128 random bits in hexadecimal */
#define DW_WEB_SESSIONS   256
#define DW_WEB_SESSION_MS (INT64_C(12) * 3600 * 1000) /* without a request */
#define DW_WEB_GUESSES    5                           /* wrong passphrases of one address ... */
#define DW_WEB_GUESS_MS   (INT64_C(60) * 1000)        /* ... within this time shut it out */
#define DW_WEB_GUESSERS   256                         /* addresses remembered at once */

struct dw_web_session {
    char key[DW_WEB_KEY_TEXT];   /* in the cookie; "" = free */
    char token[DW_WEB_KEY_TEXT]; /* to be repeated by every write */
    int64_t used_ms;
};

struct dw_web_guesser {
    char from[DW_WEB_FROM];           /* its address; "" = free */
    int64_t wrong_ms[DW_WEB_GUESSES]; /* when its last wrong passphrases came; 0 = none */
};

struct dw_web_gate {
    const struct dw_web_hooks *hooks;
    uint16_t port;
    char lan[48];     /* "" = loopback only */
    char *passphrase; /* NULL = none */
    pthread_mutex_t lock;
    struct dw_web_session sessions[DW_WEB_SESSIONS];
    struct dw_web_guesser own; /* this computer: nobody else's guesses count against it */
    struct dw_web_guesser guessers[DW_WEB_GUESSERS];
};

/* DW_ERR_INPUT for a passphrase that is too short, or none where one is needed. */
dw_err dw_gate__init(struct dw_web_gate *gate, const struct dw_web_options *options,
                     struct dw_error *error);
void dw_gate__free(struct dw_web_gate *gate);

/* Is the Host header one of this server's own names? Any other one is a page elsewhere that made
 * its name point here (DNS rebinding). */
bool dw_gate__host(const struct dw_web_gate *gate, const char *host);
/* Does the request come from a page of this server, or from no page at all? */
bool dw_gate__origin(const struct dw_web_gate *gate, const struct dw_web_request *request);

/* Copies the session of the cookie; false: there is none, or it has lapsed. */
bool dw_gate__session(struct dw_web_gate *gate, const char *cookie, struct dw_web_session *out);
/* Whether `token` is the session's. Takes the same time wherever they differ. */
bool dw_gate__token(const struct dw_web_session *session, const char *token);

/* Is `from` this computer itself? NULL is. */
bool dw_gate__is_own(const struct dw_web_gate *gate, const char *from);

/* Opens a session. DW_ERR_HELD: too many wrong passphrases from this address lately; DW_ERR_STATE:
 * this one is wrong; DW_ERR_IO: no random bytes. `passphrase` is not looked at where none is set.
 */
dw_err dw_gate__open(struct dw_web_gate *gate, const char *from, const char *passphrase, size_t n,
                     struct dw_web_session *out, struct dw_error *error);
void dw_gate__close(struct dw_web_gate *gate, const struct dw_web_session *session);

#endif
