/* SPDX-License-Identifier: MIT
 * One arena per result: everything a result holds is allocated here and freed
 * at once. Memory is zeroed and aligned for any type. */
#ifndef DM_BASE_ARENA_H
#define DM_BASE_ARENA_H

#include <stdbool.h>
#include <stddef.h>

typedef struct dm_arena dm_arena;

dm_arena *dm_arena_new(void);        /* NULL: no memory */
void dm_arena_free(dm_arena *arena); /* accepts NULL */

/* count * size zeroed bytes, overflow-checked; NULL: no memory. A request of
 * zero bytes returns a valid pointer. */
void *dm_arena_alloc(dm_arena *arena, size_t count, size_t size);
char *dm_arena_strdup(dm_arena *arena, const char *text);
char *dm_arena_strndup(dm_arena *arena, const char *text, size_t length);
char *dm_arena_printf(dm_arena *arena, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

#define DM_NEW(arena, type) ((type *)dm_arena_alloc((arena), 1, sizeof(type)))
#define DM_NEW_ARRAY(arena, type, n)                                           \
    ((type *)dm_arena_alloc((arena), (n), sizeof(type)))

/* a * b into *out; false on overflow. */
bool dm_size_mul(size_t a, size_t b, size_t *out);

/* Growable array on the heap: doubles *capacity so that one more element fits.
 * Returns false and leaves all unchanged when memory runs out. Free with
 * free(). Use: if (!DM_GROW(v, n, cap)) return DM_NOMEM; v[n++] = e; */
bool dm_grow(void **items, size_t size, size_t count, size_t *capacity);
#define DM_GROW(items, count, capacity)                                        \
    dm_grow((void **)&(items), sizeof *(items), (count), &(capacity))

#endif
