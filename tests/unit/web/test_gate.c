/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Who is let in: names of the server, origins (RFC 6454), sessions, the passphrase. */
#include "web_shop.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static struct web_shop shop;

static int setup(void **state)
{
    (void)state;
    web_shop_ready(&shop);
    return 0;
}

static int teardown(void **state)
{
    (void)state;
    web_shop_close(&shop);
    return 0;
}

static struct dw_web_gate *make_gate(const char *lan, const char *passphrase)
{
    struct dw_web_gate *gate = calloc(1, sizeof *gate);
    assert_non_null(gate);
    shop.options.lan = lan;
    shop.options.passphrase = passphrase;
    assert_int_equal(dw_gate__init(gate, &shop.options, NULL), DW_OK);
    gate->port = 7410;
    return gate;
}

static void drop_gate(struct dw_web_gate *gate)
{
    dw_gate__free(gate);
    free(gate);
}

static void test_hosts(void **state)
{
    (void)state;
    static const char *const ours[] = {"127.0.0.1:7410", "localhost:7410", "LOCALHOST:7410",
                                       "[::1]:7410", "192.168.7.20:7410"};
    static const char *const others[] = {"",
                                         "127.0.0.1",
                                         "localhost",
                                         "127.0.0.1:7411",
                                         "127.0.0.1:",
                                         "127.0.0.1:7410x",
                                         "127.0.0.10:7410",
                                         "shop.example:7410",
                                         "localhost.shop.example:7410",
                                         "localhost:7410.shop.example",
                                         "192.168.7.21:7410",
                                         "[::1]",
                                         ":7410"};
    struct dw_web_gate *gate = make_gate("192.168.7.20", "a long passphrase");
    for (size_t i = 0; i < DW_COUNT(ours); i++)
        if (!dw_gate__host(gate, ours[i]))
            fail_msg("%s is refused", ours[i]);
    for (size_t i = 0; i < DW_COUNT(others); i++)
        if (dw_gate__host(gate, others[i]))
            fail_msg("%s is let in", others[i]);
    assert_false(dw_gate__host(gate, NULL));
    drop_gate(gate);
    gate = make_gate(NULL, NULL);
    assert_false(dw_gate__host(gate, "192.168.7.20:7410"));
    drop_gate(gate);
}

static bool from(const struct dw_web_gate *gate, const char *origin, const char *site)
{
    struct dw_web_request request = {
        .host = "127.0.0.1:7410", .origin = origin, .fetch_site = site};
    return dw_gate__origin(gate, &request);
}

static void test_origins(void **state)
{
    (void)state;
    struct dw_web_gate *gate = make_gate(NULL, NULL);
    assert_true(from(gate, NULL, NULL)); /* a program that is no browser */
    assert_true(from(gate, "http://127.0.0.1:7410", "same-origin"));
    assert_true(from(gate, NULL, "none"));
    assert_false(from(gate, "null", NULL)); /* a file, a sandboxed frame */
    assert_false(from(gate, "https://127.0.0.1:7410", NULL));
    assert_false(
        from(gate, "http://localhost:7410", NULL)); /* another origin than the host asked */
    assert_false(from(gate, "http://127.0.0.1:7411", NULL));
    assert_false(from(gate, "http://127.0.0.1:7410.shop.example", NULL));
    assert_false(from(gate, "http://shop.example", "cross-site"));
    assert_false(from(gate, "http://127.0.0.1:7410", "cross-site"));
    assert_false(from(gate, NULL, "same-site")); /* another port of this host */
    drop_gate(gate);
}

static dw_err enter_from(struct dw_web_gate *gate, const char *from, const char *word,
                         struct dw_web_session *session)
{
    return dw_gate__open(gate, from, word, word ? strlen(word) : 0, session, NULL);
}

static dw_err enter(struct dw_web_gate *gate, const char *word, struct dw_web_session *session)
{
    return enter_from(gate, NULL, word, session);
}

static bool knows(struct dw_web_gate *gate, const char *form, const char *key)
{
    char cookie[200];
    struct dw_web_session found;
    snprintf(cookie, sizeof cookie, form, key);
    return dw_gate__session(gate, cookie, &found);
}

static void test_sessions(void **state)
{
    (void)state;
    struct dw_web_gate *gate = make_gate(NULL, NULL);
    struct dw_web_session one = {0}, two = {0};
    assert_int_equal(enter(gate, NULL, &one), DW_OK);
    assert_int_equal(enter(gate, NULL, &two), DW_OK);
    assert_int_equal(strlen(one.key), 32);
    assert_string_not_equal(one.key, two.key);
    assert_string_not_equal(one.key, one.token);
    assert_true(knows(gate, "dropwise=%s", one.key));
    assert_true(knows(gate, "a=b; dropwise=%s; c=d", two.key));
    assert_false(knows(gate, "dropwise=%sx", one.key));
    assert_false(knows(gate, "xdropwise=%s", one.key));
    assert_false(knows(gate, "dropwise=", ""));
    assert_false(knows(gate, "%s", ""));
    assert_false(knows(gate, "dropwise=%s", "00000000000000000000000000000000"));
    assert_true(dw_gate__token(&one, one.token));
    assert_false(dw_gate__token(&one, two.token));
    assert_false(dw_gate__token(&one, ""));
    assert_false(dw_gate__token(&one, NULL));
    assert_false(dw_gate__token(&one, one.key));
    dw_gate__close(gate, &one);
    assert_false(knows(gate, "dropwise=%s", one.key));
    shop.now_ms += DW_WEB_SESSION_MS;
    assert_true(knows(gate, "dropwise=%s", two.key));
    shop.now_ms += DW_WEB_SESSION_MS + 1;
    assert_false(knows(gate, "dropwise=%s", two.key));
    drop_gate(gate);
}

/* A full table gives the place of the session that was used longest ago. */
static void test_many_sessions(void **state)
{
    (void)state;
    struct dw_web_gate *gate = make_gate(NULL, NULL);
    struct dw_web_session first = {0}, second = {0}, more = {0};
    assert_int_equal(enter(gate, NULL, &first), DW_OK);
    shop.now_ms++;
    assert_int_equal(enter(gate, NULL, &second), DW_OK);
    shop.now_ms++;
    assert_true(knows(gate, "dropwise=%s", first.key));
    for (size_t i = 2; i <= DW_WEB_SESSIONS; i++) {
        shop.now_ms++;
        assert_int_equal(enter(gate, NULL, &more), DW_OK);
    }
    assert_true(knows(gate, "dropwise=%s", first.key));
    assert_true(knows(gate, "dropwise=%s", more.key));
    assert_false(knows(gate, "dropwise=%s", second.key));
    drop_gate(gate);
}

static void test_passphrase(void **state)
{
    (void)state;
    static const char word[] = "nine copper kettles";
    struct dw_web_gate *gate = make_gate("192.168.7.20", word);
    struct dw_web_session session = {0};
    assert_int_equal(enter(gate, word, &session), DW_OK);
    static const char *const wrong[] = {"", "nine copper kettle", "nine copper kettlesx",
                                        "Nine copper kettles"};
    for (size_t i = 0; i < DW_COUNT(wrong); i++)
        assert_int_equal(enter(gate, wrong[i], &session), DW_ERR_STATE);
    assert_int_equal(enter(gate, word, &session), DW_OK); /* four wrong ones: still open */
    assert_int_equal(enter(gate, NULL, &session), DW_ERR_STATE);
    assert_int_equal(enter(gate, word, &session), DW_ERR_HELD); /* five: shut, for the right too */
    assert_true(knows(gate, "dropwise=%s", session.key));       /* who is inside stays inside */
    shop.now_ms += DW_WEB_GUESS_MS;
    assert_int_equal(enter(gate, word, &session), DW_OK);
    drop_gate(gate);
}

/* Who guesses is shut out alone: neither others of the network nor this computer, by whatever name.
 */
static void test_guesses_are_counted_by_address(void **state)
{
    (void)state;
    static const char word[] = "nine copper kettles";
    static const char *const own[] = {NULL, "127.0.0.1", "127.0.0.9", "::1", "192.168.7.20"};
    struct dw_web_gate *gate = make_gate("192.168.7.20", word);
    struct dw_web_session session;
    for (int i = 0; i < DW_WEB_GUESSES; i++)
        assert_int_equal(enter_from(gate, "192.168.7.66", "a guess", &session), DW_ERR_STATE);
    assert_int_equal(enter_from(gate, "192.168.7.66", word, &session), DW_ERR_HELD);
    assert_int_equal(enter_from(gate, "192.168.7.67", "a typing mistake", &session), DW_ERR_STATE);
    assert_int_equal(enter_from(gate, "192.168.7.67", word, &session), DW_OK);
    for (size_t i = 0; i < DW_COUNT(own); i++)
        assert_int_equal(enter_from(gate, own[i], word, &session), DW_OK);
    for (int i = 0; i < DW_WEB_GUESSES; i++) /* this computer's own guesses count together */
        assert_int_equal(enter_from(gate, own[i], "a guess", &session), DW_ERR_STATE);
    assert_int_equal(enter_from(gate, NULL, word, &session), DW_ERR_HELD);
    assert_int_equal(enter_from(gate, "192.168.7.67", word, &session), DW_OK);
    drop_gate(gate);
}

/* More addresses than are remembered: who guessed longest ago is forgotten, and nobody who did not
 * guess is shut out. */
static void test_many_guessers(void **state)
{
    (void)state;
    static const char word[] = "nine copper kettles";
    struct dw_web_gate *gate = make_gate("192.168.7.20", word);
    struct dw_web_session session;
    char from[DW_WEB_FROM];
    for (int i = 0; i <= DW_WEB_GUESSERS; i++) {
        snprintf(from, sizeof from, "10.0.%d.%d", i / 256, i % 256);
        shop.now_ms++;
        for (int k = 0; k < DW_WEB_GUESSES; k++)
            assert_int_equal(enter_from(gate, from, "a guess", &session), DW_ERR_STATE);
    }
    assert_int_equal(enter_from(gate, "10.0.1.0", word, &session), DW_ERR_HELD);
    assert_int_equal(enter_from(gate, "10.0.0.1", word, &session), DW_ERR_HELD);
    assert_int_equal(enter_from(gate, "10.0.0.0", word, &session), DW_OK);
    assert_int_equal(enter_from(gate, "10.9.9.9", word, &session), DW_OK);
    assert_int_equal(enter_from(gate, NULL, word, &session), DW_OK);
    drop_gate(gate);
}

static void test_passphrase_is_required(void **state)
{
    (void)state;
    struct dw_web_gate gate;
    struct dw_error error = {0};
    shop.options.lan = "192.168.7.20";
    shop.options.passphrase = NULL;
    assert_int_equal(dw_gate__init(&gate, &shop.options, &error), DW_ERR_INPUT);
    assert_non_null(strstr(error.text, "a passphrase is needed"));
    shop.options.passphrase = "elevenchars";
    error = (struct dw_error){0};
    assert_int_equal(dw_gate__init(&gate, &shop.options, &error), DW_ERR_INPUT);
    assert_string_equal(error.text, "the passphrase must have at least 12 characters");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_hosts),         cmocka_unit_test(test_origins),
        cmocka_unit_test(test_sessions),      cmocka_unit_test(test_many_sessions),
        cmocka_unit_test(test_passphrase),    cmocka_unit_test(test_guesses_are_counted_by_address),
        cmocka_unit_test(test_many_guessers), cmocka_unit_test(test_passphrase_is_required),
    };
    return cmocka_run_group_tests(tests, setup, teardown);
}
