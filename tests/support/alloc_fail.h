/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Lets a chosen allocation of our own code fail, and counts what is not freed. It works in programs
 * that are linked with --wrap for malloc, calloc, realloc, strdup and free (tests named
 * test_alloc_*), and on calls from our objects and static library only: shared libraries keep
 * theirs. */
#ifndef TEST_ALLOC_FAIL_H
#define TEST_ALLOC_FAIL_H

#include <stdbool.h>

/* The k-th allocation from now on fails, k from 0; with `on` every later one too. -1: none. */
void alloc_fail_at(long k, bool on);
/* Allocations asked for since alloc_fail_at. */
long alloc_count(void);
/* Blocks that our code allocated and has not freed. */
long alloc_live(void);
/* Whether this program is linked with --wrap. */
bool alloc_wrapped(void);

#endif
