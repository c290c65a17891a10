/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "alloc_fail.h"

#include <pthread.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/* The linker's --wrap=malloc sends calls of malloc to __wrap_malloc and calls of __real_malloc to
 * malloc. Without it the real ones are absent. */
__attribute__((weak)) void *__real_malloc(size_t size);
__attribute__((weak)) void *__real_calloc(size_t count, size_t size);
__attribute__((weak)) void *__real_realloc(void *old, size_t size);
__attribute__((weak)) char *__real_strdup(const char *text);
__attribute__((weak)) void __real_free(void *block);
void *__wrap_malloc(size_t size);
void *__wrap_calloc(size_t count, size_t size);
void *__wrap_realloc(void *old, size_t size);
char *__wrap_strdup(const char *text);
void __wrap_free(void *block);

/* Live blocks, hashed by address; open addressing, a freed place is marked. */
#define N_PLACES ((size_t)1 << 20)
#define FREED    ((uintptr_t)1)

static struct {
    pthread_mutex_t lock;
    uintptr_t places[N_PLACES];
    long live;
    long count;
    long fail_at;
    bool fail_on;
} heap = {.lock = PTHREAD_MUTEX_INITIALIZER, .fail_at = -1};

static size_t place_of(uintptr_t address)
{
    return (size_t)((address >> 4) * UINT64_C(0x9e3779b97f4a7c15) >> 44) % N_PLACES;
}

static void note(const void *block)
{
    size_t i = place_of((uintptr_t)block);
    while (heap.places[i] > FREED)
        i = (i + 1) % N_PLACES;
    heap.places[i] = (uintptr_t)block;
    heap.live++;
}

/* Blocks of a shared library are not known here. */
static void forget(const void *block)
{
    size_t i = place_of((uintptr_t)block);
    while (heap.places[i] != 0 && heap.places[i] != (uintptr_t)block)
        i = (i + 1) % N_PLACES;
    if (heap.places[i] == 0)
        return;
    heap.places[i] = FREED;
    heap.live--;
}

static bool fails(void)
{
    long k = heap.count++;
    return heap.fail_at >= 0 && (k == heap.fail_at || (heap.fail_on && k > heap.fail_at));
}

void *__wrap_malloc(size_t size)
{
    pthread_mutex_lock(&heap.lock);
    void *block = fails() ? NULL : __real_malloc(size);
    if (block)
        note(block);
    pthread_mutex_unlock(&heap.lock);
    return block;
}

void *__wrap_calloc(size_t count, size_t size)
{
    pthread_mutex_lock(&heap.lock);
    void *block = fails() ? NULL : __real_calloc(count, size);
    if (block)
        note(block);
    pthread_mutex_unlock(&heap.lock);
    return block;
}

void *__wrap_realloc(void *old, size_t size)
{
    pthread_mutex_lock(&heap.lock);
    void *block = NULL;
    if (!fails()) {
        if (old)
            forget(old);
        block = __real_realloc(old, size);
        if (block)
            note(block);
    }
    pthread_mutex_unlock(&heap.lock);
    return block;
}

char *__wrap_strdup(const char *text)
{
    pthread_mutex_lock(&heap.lock);
    char *copy = fails() ? NULL : __real_strdup(text);
    if (copy)
        note(copy);
    pthread_mutex_unlock(&heap.lock);
    return copy;
}

void __wrap_free(void *block)
{
    if (!block)
        return;
    pthread_mutex_lock(&heap.lock);
    forget(block);
    __real_free(block);
    pthread_mutex_unlock(&heap.lock);
}

void alloc_fail_at(long k, bool on)
{
    pthread_mutex_lock(&heap.lock);
    heap.count = 0;
    heap.fail_at = k;
    heap.fail_on = on;
    pthread_mutex_unlock(&heap.lock);
}

long alloc_count(void)
{
    pthread_mutex_lock(&heap.lock);
    long count = heap.count;
    pthread_mutex_unlock(&heap.lock);
    return count;
}

long alloc_live(void)
{
    pthread_mutex_lock(&heap.lock);
    long live = heap.live;
    pthread_mutex_unlock(&heap.lock);
    return live;
}

bool alloc_wrapped(void)
{
    return __real_malloc != NULL;
}
