/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Sessions and the passphrase, and which hosts and origins may ask. */
#include "web/gate.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define COOKIE "dropwise="

dw_err dw_gate__init(struct dw_web_gate *gate, const struct dw_web_options *options,
                     struct dw_error *error)
{
    *gate = (struct dw_web_gate){.hooks = &options->hooks};
    if (options->lan && !options->passphrase)
        return dw_error__set(error, DW_ERR_INPUT,
                             "a passphrase is needed where others on the network can reach the "
                             "page");
    if (options->passphrase && strlen(options->passphrase) < DW_WEB_PASSPHRASE_MIN)
        return dw_error__set(error, DW_ERR_INPUT, "the passphrase must have at least %d characters",
                             DW_WEB_PASSPHRASE_MIN);
    if (options->lan && strlen(options->lan) >= sizeof gate->lan)
        return dw_error__set(error, DW_ERR_INPUT, "this is no address of a computer");
    if (options->lan)
        snprintf(gate->lan, sizeof gate->lan, "%s", options->lan);
    if (pthread_mutex_init(&gate->lock, NULL) != 0)
        return dw_error__nomem(error);
    if (options->passphrase) {
        struct dw_buf copy = {0};
        dw_buf__put(&copy, options->passphrase);
        gate->passphrase = dw_buf__take(&copy);
        if (!gate->passphrase) {
            pthread_mutex_destroy(&gate->lock);
            return dw_error__nomem(error);
        }
    }
    return DW_OK;
}

void dw_gate__free(struct dw_web_gate *gate)
{
    if (!gate->hooks)
        return;
    free(gate->passphrase);
    pthread_mutex_destroy(&gate->lock);
    *gate = (struct dw_web_gate){0};
}

/* --- names ------------------------------------------------------------------------------------ */

static bool is_lower_equal(const char *text, size_t n, const char *word)
{
    if (strlen(word) != n)
        return false;
    for (size_t i = 0; i < n; i++) {
        char c = text[i];
        if ((c >= 'A' && c <= 'Z' ? c - 'A' + 'a' : c) != word[i])
            return false;
    }
    return true;
}

bool dw_gate__host(const struct dw_web_gate *gate, const char *host)
{
    if (!host)
        return false;
    const char *names[] = {"127.0.0.1", "localhost", "[::1]", gate->lan};
    const char *colon = strrchr(host, ':');
    const char *bracket = strchr(host, ']');
    if (colon && bracket && colon < bracket)
        colon = NULL;
    size_t n = colon ? (size_t)(colon - host) : strlen(host);
    char port[8];
    snprintf(port, sizeof port, "%u", (unsigned)gate->port);
    if (colon ? strcmp(colon + 1, port) != 0 : gate->port != 80)
        return false;
    for (size_t i = 0; i < DW_COUNT(names); i++)
        if (names[i][0] && is_lower_equal(host, n, names[i]))
            return true;
    return false;
}

bool dw_gate__origin(const struct dw_web_gate *gate, const struct dw_web_request *request)
{
    static const char scheme[] = "http://";
    const char *site = request->fetch_site;
    if (site && strcmp(site, "same-origin") != 0 && strcmp(site, "none") != 0)
        return false;
    if (!request->origin)
        return true;
    size_t n = sizeof scheme - 1;
    return strncmp(request->origin, scheme, n) == 0 && request->host &&
           strcmp(request->origin + n, request->host) == 0 &&
           dw_gate__host(gate, request->origin + n);
}

/* --- sessions --------------------------------------------------------------------------------- */

/* Compares without telling by its time where the texts differ. */
static bool same(const char *a, size_t n, const char *b, size_t m)
{
    unsigned char differ = n != m;
    for (size_t i = 0; i < n; i++)
        differ |= (unsigned char)(a[i] ^ (m ? b[i % m] : 0));
    return differ == 0;
}

/* The value of our cookie in "a=b; dropwise=..."; NULL if it is not there or not of our form. */
static const char *find_key(const char *cookie)
{
    for (const char *at = cookie; at && *at;) {
        while (*at == ' ' || *at == ';')
            at++;
        if (strncmp(at, COOKIE, sizeof COOKIE - 1) == 0) {
            const char *key = at + sizeof COOKIE - 1;
            return strcspn(key, "; ") == DW_WEB_KEY_TEXT - 1 ? key : NULL;
        }
        at = strchr(at, ';');
    }
    return NULL;
}

bool dw_gate__session(struct dw_web_gate *gate, const char *cookie, struct dw_web_session *out)
{
    const char *key = find_key(cookie);
    if (!key)
        return false;
    int64_t now = gate->hooks->now_ms(gate->hooks->user);
    bool found = false;
    pthread_mutex_lock(&gate->lock);
    for (size_t i = 0; i < DW_WEB_SESSIONS && !found; i++) {
        struct dw_web_session *session = &gate->sessions[i];
        if (!session->key[0] || now - session->used_ms > DW_WEB_SESSION_MS ||
            !same(session->key, DW_WEB_KEY_TEXT - 1, key, DW_WEB_KEY_TEXT - 1))
            continue;
        session->used_ms = now;
        *out = *session;
        found = true;
    }
    pthread_mutex_unlock(&gate->lock);
    return found;
}

bool dw_gate__token(const struct dw_web_session *session, const char *token)
{
    return token && same(session->token, DW_WEB_KEY_TEXT - 1, token, strlen(token));
}

static bool make_key(const struct dw_web_gate *gate, char out[DW_WEB_KEY_TEXT])
{
    unsigned char bytes[(DW_WEB_KEY_TEXT - 1) / 2] = {0};
    if (!gate->hooks->random(gate->hooks->user, bytes, sizeof bytes))
        return false;
    for (size_t i = 0; i < sizeof bytes; i++)
        snprintf(out + 2 * i, 3, "%02x", (unsigned)bytes[i]);
    return true;
}

bool dw_gate__is_own(const struct dw_web_gate *gate, const char *from)
{
    return !from || strncmp(from, "127.", 4) == 0 || strcmp(from, "::1") == 0 ||
           (gate->lan[0] && strcmp(from, gate->lan) == 0);
}

static int64_t last_wrong(const struct dw_web_guesser *guesser)
{
    int64_t last = 0;
    for (size_t i = 0; i < DW_WEB_GUESSES; i++)
        last = guesser->wrong_ms[i] > last ? guesser->wrong_ms[i] : last;
    return last;
}

/* The row of an address; of an unknown one a free row, or that of who guessed longest ago. */
static struct dw_web_guesser *guesser_of(struct dw_web_gate *gate, const char *from)
{
    if (dw_gate__is_own(gate, from))
        return &gate->own;
    struct dw_web_guesser *room = &gate->guessers[0];
    for (size_t i = 0; i < DW_WEB_GUESSERS; i++) {
        struct dw_web_guesser *row = &gate->guessers[i];
        if (strcmp(row->from, from) == 0)
            return row;
        if (last_wrong(row) < last_wrong(room))
            room = row;
    }
    *room = (struct dw_web_guesser){0};
    snprintf(room->from, sizeof room->from, "%s", from);
    return room;
}

/* Under the lock. DW_ERR_HELD, DW_ERR_STATE. */
static dw_err check_passphrase(struct dw_web_gate *gate, const char *from, const char *passphrase,
                               size_t n, int64_t now, struct dw_error *error)
{
    size_t oldest = 0, n_wrong = 0;
    if (!gate->passphrase)
        return DW_OK;
    struct dw_web_guesser *guesser = guesser_of(gate, from);
    for (size_t i = 0; i < DW_WEB_GUESSES; i++) {
        n_wrong += guesser->wrong_ms[i] > 0 && now - guesser->wrong_ms[i] < DW_WEB_GUESS_MS;
        if (guesser->wrong_ms[i] < guesser->wrong_ms[oldest])
            oldest = i;
    }
    if (n_wrong == DW_WEB_GUESSES)
        return dw_error__set(error, DW_ERR_HELD,
                             "too many wrong passphrases: wait a minute, then try again");
    if (same(passphrase ? passphrase : "", n, gate->passphrase, strlen(gate->passphrase)))
        return DW_OK;
    guesser->wrong_ms[oldest] = now > 0 ? now : 1;
    return dw_error__set(error, DW_ERR_STATE, "this is not the passphrase");
}

dw_err dw_gate__open(struct dw_web_gate *gate, const char *from, const char *passphrase, size_t n,
                     struct dw_web_session *out, struct dw_error *error)
{
    struct dw_web_session made = {.used_ms = gate->hooks->now_ms(gate->hooks->user)};
    if (!make_key(gate, made.key) || !make_key(gate, made.token))
        return dw_error__set(error, DW_ERR_IO, "this computer gives no random numbers");
    pthread_mutex_lock(&gate->lock);
    dw_err err = check_passphrase(gate, from, passphrase, n, made.used_ms, error);
    if (!err) {
        size_t oldest = 0;
        for (size_t i = 1; i < DW_WEB_SESSIONS && gate->sessions[oldest].key[0]; i++)
            if (!gate->sessions[i].key[0] ||
                gate->sessions[i].used_ms < gate->sessions[oldest].used_ms)
                oldest = i;
        gate->sessions[oldest] = made;
        *out = made;
    }
    pthread_mutex_unlock(&gate->lock);
    return err;
}

void dw_gate__close(struct dw_web_gate *gate, const struct dw_web_session *session)
{
    pthread_mutex_lock(&gate->lock);
    for (size_t i = 0; i < DW_WEB_SESSIONS; i++)
        if (strcmp(gate->sessions[i].key, session->key) == 0)
            gate->sessions[i] = (struct dw_web_session){0};
    pthread_mutex_unlock(&gate->lock);
}
