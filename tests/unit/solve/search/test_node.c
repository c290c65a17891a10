/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which node of the search is the next, and limits of a node. */
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <setjmp.h>
#include <cmocka.h>

#include "random_job.h"
#include "solve/search/node.h"

#include <stdlib.h>

static struct dw_search_node *push(struct dw_heap *heap, const struct dw_search_node *parent,
                                   dw_money bound)
{
    const struct dw_start start = {0};
    struct dw_search_node *node = dw_search_node__new(parent, &start, NULL, bound);
    assert_non_null(node);
    assert_true(dw_heap__push(heap, node));
    return node;
}

static void pop_is(struct dw_heap *heap, const struct dw_search_node *expected)
{
    struct dw_search_node *node = dw_heap__pop(heap);
    assert_ptr_equal(node, expected);
    dw_search_node__free(node);
}

static void test_order(void **unused)
{
    (void)unused;
    struct dw_heap heap = {0};
    struct dw_search_node *root = push(&heap, NULL, 5);
    struct dw_search_node *shallow = push(&heap, root, 7);
    struct dw_search_node *deep = push(&heap, shallow, 7), *last = push(&heap, shallow, 7);
    struct dw_search_node *least = push(&heap, root, 6);
    pop_is(&heap, root);
    pop_is(&heap, least);
    pop_is(&heap, last);
    pop_is(&heap, deep);
    pop_is(&heap, shallow);
    assert_int_equal(heap.n, 0);
    dw_heap__free(&heap);
}

/* No node comes before one of a lower bound, and none is lost. */
static void test_any_order(void **unused)
{
    (void)unused;
    struct random random = {61};
    struct dw_heap heap = {0};
    size_t n_pushed = 0, n_popped = 0;
    for (int step = 0; step < 4000; step++) {
        if (heap.n == 0 || random_in(&random, 0, 2) > 0) {
            const struct dw_search_node *parent = heap.n > 0 ? heap.nodes[0] : NULL;
            push(&heap, parent, (parent ? parent->bound : 0) + random_in(&random, 0, 1));
            n_pushed++;
            continue;
        }
        struct dw_search_node *node = dw_heap__pop(&heap);
        for (size_t i = 0; i < heap.n; i++)
            assert_true(heap.nodes[i]->bound >= node->bound);
        dw_search_node__free(node);
        n_popped++;
    }
    assert_int_equal(n_pushed, n_popped + heap.n);
    assert_true(n_popped > 1000);
    dw_heap__free(&heap);
}

static void test_limits_join(void **unused)
{
    (void)unused;
    struct dw_heap heap = {0};
    bool empty = true;
    struct dw_search_node *node = push(&heap, NULL, 0);
    assert_true(dw_search_node__limit(node, (struct dw_limit){3, 1, 9, true}, &empty));
    assert_false(empty);
    assert_true(dw_search_node__limit(node, (struct dw_limit){4, 0, 2, false}, &empty));
    assert_int_equal(node->n_limits, 2);
    assert_true(dw_search_node__limit(node, (struct dw_limit){3, 0, 9, false}, &empty));
    assert_true(node->limits[0].released);
    assert_true(dw_search_node__limit(node, (struct dw_limit){3, 2, 12, false}, &empty));
    assert_int_equal(node->n_limits, 2);
    assert_int_equal(node->limits[0].lo, 2);
    assert_int_equal(node->limits[0].hi, 9);
    assert_false(node->limits[0].released);
    assert_false(empty);
    assert_true(dw_search_node__limit(node, (struct dw_limit){4, 3, 5, false}, &empty));
    assert_true(empty);
    dw_heap__free(&heap);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_order),
        cmocka_unit_test(test_any_order),
        cmocka_unit_test(test_limits_join),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
