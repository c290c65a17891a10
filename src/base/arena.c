/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Memory that is given out piece by piece and taken back as a whole. */
#include "base/base.h"

#include <stdalign.h>
#include <stdlib.h>
#include <string.h>

#define BLOCK_SIZE ((size_t)16 * 1024)

/* Under AddressSanitizer each piece is a block of its own and no longer than asked for, so that
 * reading or writing past its end is seen. */
#if defined(__SANITIZE_ADDRESS__)
#define APART 1
#elif defined(__has_feature)
#if __has_feature(address_sanitizer)
#define APART 1
#endif
#endif
#ifndef APART
#define APART 0
#endif

struct block {
    struct block *next;
    size_t used;
    size_t size;
    alignas(max_align_t) unsigned char bytes[];
};

struct dw_arena {
    struct block *blocks; /* the first one has room */
};

struct dw_arena *dw_arena__new(void)
{
    return calloc(1, sizeof(struct dw_arena));
}

void dw_arena__free(struct dw_arena *arena)
{
    if (!arena)
        return;
    for (struct block *block = arena->blocks; block;) {
        struct block *next = block->next;
        free(block);
        block = next;
    }
    free(arena);
}

/* A block for a large piece goes behind the first, so that the first keeps its room. */
static struct block *add_block(struct dw_arena *arena, size_t need)
{
    size_t size = APART || need > BLOCK_SIZE / 4 ? need : BLOCK_SIZE;
    if (size > PTRDIFF_MAX - sizeof(struct block)) /* no object is larger */
        return NULL;
    struct block *block = calloc(1, sizeof *block + size);
    if (!block)
        return NULL;
    block->size = size;
    if (size != BLOCK_SIZE && arena->blocks) {
        block->next = arena->blocks->next;
        arena->blocks->next = block;
    } else {
        block->next = arena->blocks;
        arena->blocks = block;
    }
    return block;
}

void *dw_arena__alloc(struct dw_arena *arena, size_t count, size_t size)
{
    const size_t align = APART ? 1 : alignof(max_align_t);
    if (size && count > (SIZE_MAX - align) / size)
        return NULL;
    size_t need = (count * size + align - 1) / align * align;
    if (need == 0)
        need = align;
    struct block *block = APART ? NULL : arena->blocks;
    if (!block || block->size - block->used < need)
        block = add_block(arena, need);
    if (!block)
        return NULL;
    void *room = block->bytes + block->used;
    block->used += need;
    return room;
}

char *dw_arena__text_n(struct dw_arena *arena, const char *text, size_t n)
{
    char *copy = n < SIZE_MAX ? dw_arena__alloc(arena, n + 1, 1) : NULL;
    if (copy && n)
        memcpy(copy, text, n);
    return copy;
}

char *dw_arena__text(struct dw_arena *arena, const char *text)
{
    return dw_arena__text_n(arena, text, strlen(text));
}
