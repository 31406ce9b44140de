/* SPDX-License-Identifier: MIT
 * The two entry points of a fuzz target, as libFuzzer names them; and the
 * check that does not depend on NDEBUG. */
#ifndef DM_FUZZ_H
#define DM_FUZZ_H

#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/buf.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

/* A promise of the library that this input breaks: stop here. */
#define FUZZ_CHECK(condition)                                                  \
    do {                                                                       \
        if (!(condition)) {                                                    \
            fprintf(stderr, "%s:%d: broken: %s\n", __FILE__, __LINE__,         \
                    #condition);                                               \
            abort();                                                           \
        }                                                                      \
    } while (0)

/* A heap copy of exact size, so that reading past it is seen. */
static inline dm_buf fuzz_text(const uint8_t *data, size_t size)
{
    dm_buf text = {0};

    text.data = malloc(size ? size : 1);
    FUZZ_CHECK(text.data);
    if (size)
        memcpy(text.data, data, size);
    text.length = text.capacity = size;
    return text;
}

/* The input as a sequence of numbers; 0 once it is used up. */
typedef struct {
    const uint8_t *at;
    size_t left;
} source;

static inline unsigned take(source *s)
{
    if (s->left == 0)
        return 0;
    s->left--;
    return *s->at++;
}

/* A number in [lo, hi] with 16 bits; 0 gives lo. */
static inline double take_number(source *s, double lo, double hi)
{
    unsigned v = take(s) << 8;

    v |= take(s);
    return lo + (hi - lo) * v / 65535.0;
}

#endif
