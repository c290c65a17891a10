/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Arena, growing arrays, text buffer. */
#include "base/base.h"

#include <setjmp.h>
#include <stdalign.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/* --- arena --------------------------------------------------------------------------------- */

/* Blocks of every size are zeroed, aligned, apart from each other, and stay where they are. */
static void test_arena_blocks(void **state)
{
    (void)state;
    enum { N = 3000 };
    static unsigned char *blocks[N];
    static size_t sizes[N];
    struct dw_arena *arena = dw_arena__new();
    assert_non_null(arena);
    for (size_t i = 0; i < N; i++) {
        sizes[i] = i % 500 == 499 ? 20000 + i : i * 7 % 300;
        blocks[i] = dw_arena__alloc(arena, sizes[i], 1);
        assert_non_null(blocks[i]);
        assert_int_equal((uintptr_t)blocks[i] % alignof(max_align_t), 0);
        for (size_t k = 0; k < sizes[i]; k++)
            assert_int_equal(blocks[i][k], 0);
        memset(blocks[i], (int)(i % 255 + 1), sizes[i]);
    }
    for (size_t i = 0; i < N; i++)
        for (size_t k = 0; k < sizes[i]; k++)
            assert_int_equal(blocks[i][k], i % 255 + 1);
    dw_arena__free(arena);
    dw_arena__free(NULL);
}

static void test_arena_limits(void **state)
{
    (void)state;
    struct dw_arena *arena = dw_arena__new();
    assert_non_null(arena);
    assert_null(dw_arena__alloc(arena, SIZE_MAX, 2));
    assert_null(dw_arena__alloc(arena, SIZE_MAX / 8 + 1, 8));
    assert_null(dw_arena__alloc(arena, SIZE_MAX, 1));
    assert_null(dw_arena__alloc(arena, SIZE_MAX - 32, 1));
    assert_null(dw_arena__text_n(arena, "", SIZE_MAX));
    void *empty = dw_arena__alloc(arena, 0, 8);
    void *other = dw_arena__alloc(arena, 8, 0);
    assert_non_null(empty);
    assert_non_null(other);
    assert_ptr_not_equal(empty, other);
    assert_non_null(dw_arena__alloc(arena, 16, 1));
    dw_arena__free(arena);
}

static void test_arena_text(void **state)
{
    (void)state;
    struct dw_arena *arena = dw_arena__new();
    char source[] = "post, left";
    char *whole = dw_arena__text(arena, source);
    char *part = dw_arena__text_n(arena, source, 4);
    char *none = dw_arena__text_n(arena, NULL, 0);
    source[0] = 'P';
    assert_string_equal(whole, "post, left");
    assert_string_equal(part, "post");
    assert_string_equal(none, "");
    dw_arena__free(arena);
}

/* --- arrays -------------------------------------------------------------------------------- */

static void test_array(void **state)
{
    (void)state;
    int64_t *array = NULL;
    size_t capacity = 0, n_grown = 0;
    for (size_t i = 0; i < 100000; i++) {
        size_t before = capacity;
        assert_true(dw_array__grow(&array, &capacity, i + 1, sizeof *array));
        assert_true(capacity > i);
        n_grown += capacity != before;
        array[i] = (int64_t)i;
    }
    assert_true(n_grown < 40); /* so that adding one costs O(1) on the whole */
    for (size_t i = 0; i < 100000; i++)
        assert_int_equal(array[i], i);
    int64_t *kept = array;
    size_t kept_capacity = capacity;
    assert_false(dw_array__grow(&array, &capacity, SIZE_MAX / 8 + 1, sizeof *array));
    assert_false(dw_array__grow(&array, &capacity, SIZE_MAX, sizeof *array));
    assert_ptr_equal(array, kept);
    assert_int_equal(capacity, kept_capacity);
    assert_true(dw_array__grow(&array, &capacity, 1, sizeof *array));
    assert_ptr_equal(array, kept);
    free(array);
}

/* --- text buffer --------------------------------------------------------------------------- */

static void test_buf(void **state)
{
    (void)state;
    struct dw_buf buf = {0};
    dw_buf__put(&buf, "bar ");
    dw_buf__char(&buf, '7');
    dw_buf__add(&buf, ": 24 in, and more", 7);
    dw_buf__format(&buf, " x %d%s", 3, "!");
    dw_buf__add(&buf, NULL, 0);
    assert_string_equal(buf.text, "bar 7: 24 in x 3!");
    assert_int_equal(buf.n, strlen(buf.text));
    char *text = dw_buf__take(&buf);
    assert_string_equal(text, "bar 7: 24 in x 3!");
    assert_true(buf.text == NULL && buf.n == 0 && buf.capacity == 0);
    free(text);
    text = dw_buf__take(&buf);
    assert_string_equal(text, "");
    free(text);
    dw_buf__free(&buf);
}

static void test_buf_long(void **state)
{
    (void)state;
    struct dw_buf buf = {0};
    char piece[701];
    memset(piece, 'x', 700);
    piece[700] = '\0';
    for (int i = 0; i < 1000; i++)
        dw_buf__format(&buf, "%s\n", piece);
    assert_false(buf.failed);
    assert_int_equal(buf.n, 701000);
    assert_int_equal(strlen(buf.text), 701000);
    dw_buf__free(&buf);
    assert_true(buf.text == NULL && buf.n == 0);
}

/* A failure sticks: what comes after is dropped, and nothing is handed over. */
static void test_buf_failure(void **state)
{
    (void)state;
    struct dw_buf buf = {0};
    dw_buf__put(&buf, "begun");
    dw_buf__add(&buf, "x", SIZE_MAX - 2);
    assert_true(buf.failed);
    dw_buf__put(&buf, "more");
    dw_buf__format(&buf, "%d", 1);
    assert_string_equal(buf.text, "begun");
    assert_null(dw_buf__take(&buf));
    assert_false(buf.failed);
    dw_buf__put(&buf, "again");
    assert_string_equal(buf.text, "again");
    dw_buf__free(&buf);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_arena_blocks), cmocka_unit_test(test_arena_limits),
        cmocka_unit_test(test_arena_text),   cmocka_unit_test(test_array),
        cmocka_unit_test(test_buf),          cmocka_unit_test(test_buf_long),
        cmocka_unit_test(test_buf_failure),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
