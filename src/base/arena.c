/* SPDX-License-Identifier: MIT
 * A list of chunks that are filled from the front and freed together. Chunks
 * come from calloc, so that items need no clearing, and double in size up to
 * a limit; an item larger than a chunk gets a chunk of its own. Under the
 * address sanitizer every item is its own chunk: an access past its end then
 * hits a guard zone instead of the next item. */
#include "base/arena.h"

#include <assert.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define ALIGN _Alignof(max_align_t)
#define CHUNK_MIN ((size_t)4096)
#define CHUNK_MAX ((size_t)1 << 20)

#if defined(__SANITIZE_ADDRESS__)
#define ONE_ITEM_PER_CHUNK 1
#elif defined(__has_feature)
#if __has_feature(address_sanitizer)
#define ONE_ITEM_PER_CHUNK 1
#endif
#endif
#ifndef ONE_ITEM_PER_CHUNK
#define ONE_ITEM_PER_CHUNK 0
#endif

typedef struct chunk {
    struct chunk *next;
    size_t used;
    size_t capacity;
    max_align_t data[];
} chunk;

struct dm_arena {
    chunk *first; /* the chunk being filled */
    size_t next_size;
};

bool dm_size_mul(size_t a, size_t b, size_t *out)
{
    if (b != 0 && a > SIZE_MAX / b)
        return false;
    *out = a * b;
    return true;
}

bool dm_grow(void **items, size_t size, size_t count, size_t *capacity)
{
    size_t wanted, bytes;
    void *old, *grown;

    if (count < *capacity)
        return true;
    wanted = *capacity < 8 ? 8 : *capacity;
    if (*capacity >= 8 && !dm_size_mul(*capacity, 2, &wanted))
        return false;
    if (!dm_size_mul(wanted, size, &bytes))
        return false;
    /* The caller's pointer has another type than void *: copy its bytes
     * instead of reading it through the wrong type. */
    memcpy(&old, (const void *)items, sizeof old);
    grown = realloc(old, bytes);
    if (grown == NULL)
        return false;
    memcpy((void *)items, &grown, sizeof grown);
    *capacity = wanted;
    return true;
}

dm_arena *dm_arena_new(void)
{
    dm_arena *arena = calloc(1, sizeof *arena);

    if (arena != NULL)
        arena->next_size = CHUNK_MIN;
    return arena;
}

void dm_arena_free(dm_arena *arena)
{
    chunk *c, *next;

    if (arena == NULL)
        return;
    for (c = arena->first; c != NULL; c = next) {
        next = c->next;
        free(c);
    }
    free(arena);
}

/* Puts a chunk with room for `size` bytes in front, or behind the first one
 * when it is filled at once and the first still has room for others. */
static chunk *add_chunk(dm_arena *arena, size_t size)
{
    bool own = ONE_ITEM_PER_CHUNK || size > arena->next_size / 4;
    size_t capacity = own ? size : arena->next_size;
    chunk *c;

    if (capacity > SIZE_MAX - sizeof *c)
        return NULL;
    c = calloc(1, sizeof *c + capacity);
    if (c == NULL)
        return NULL;
    c->capacity = capacity;
    if (own && arena->first != NULL) {
        c->next = arena->first->next;
        arena->first->next = c;
    } else {
        c->next = arena->first;
        arena->first = c;
    }
    if (!own && arena->next_size < CHUNK_MAX)
        arena->next_size *= 2;
    return c;
}

void *dm_arena_alloc(dm_arena *arena, size_t count, size_t size)
{
    size_t bytes, rounded;
    chunk *c;
    void *item;

    assert(arena != NULL);
    if (!dm_size_mul(count, size, &bytes) || bytes > SIZE_MAX - ALIGN)
        return NULL;
    if (bytes == 0)
        bytes = 1;
    rounded = (bytes + ALIGN - 1) / ALIGN * ALIGN;
    c = arena->first;
    if (c == NULL || c->capacity - c->used < rounded) {
        /* Exact bytes under the sanitizer, so that the guard zone is near. */
        c = add_chunk(arena, ONE_ITEM_PER_CHUNK ? bytes : rounded);
        if (c == NULL)
            return NULL;
    }
    item = (unsigned char *)c->data + c->used;
    c->used += ONE_ITEM_PER_CHUNK ? c->capacity : rounded;
    return item;
}

char *dm_arena_strndup(dm_arena *arena, const char *text, size_t length)
{
    char *copy;

    if (length == SIZE_MAX)
        return NULL;
    copy = dm_arena_alloc(arena, length + 1, 1);
    if (copy != NULL && length > 0)
        memcpy(copy, text, length);
    return copy;
}

char *dm_arena_strdup(dm_arena *arena, const char *text)
{
    return dm_arena_strndup(arena, text, strlen(text));
}

char *dm_arena_printf(dm_arena *arena, const char *format, ...)
{
    va_list args;
    char *text;
    int length;

    va_start(args, format);
    length = vsnprintf(NULL, 0, format, args);
    va_end(args);
    if (length < 0)
        return NULL;
    text = dm_arena_alloc(arena, (size_t)length + 1, 1);
    if (text == NULL)
        return NULL;
    va_start(args, format);
    vsnprintf(text, (size_t)length + 1, format, args);
    va_end(args);
    return text;
}
