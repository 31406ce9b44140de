/* SPDX-License-Identifier: MIT
 * Small files for one test, in a folder of its own under /tmp. */
#ifndef DM_TEST_SCRATCH_H
#define DM_TEST_SCRATCH_H

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "near.h"

typedef struct {
    char folder[64];
    char paths[8][128];
    size_t count;
} scratch;

/* Needs _POSIX_C_SOURCE 200809L before the first include. */
static inline void scratch_init(scratch *s)
{
    s->count = 0;
    strcpy(s->folder, "/tmp/ductmark-scratch-XXXXXX");
    assert_non_null(mkdtemp(s->folder));
}

/* Writes folder/name; the path is valid until scratch_free. */
static inline const char *scratch_file(scratch *s, const char *name,
                                       const char *text)
{
    char *path;
    FILE *f;

    assert_true(s->count < 8);
    path = s->paths[s->count++];
    assert_true(strlen(s->folder) + strlen(name) + 2 <= sizeof s->paths[0]);
    strcpy(path, s->folder);
    strcat(path, "/");
    strcat(path, name);
    f = fopen(path, "wb");
    assert_non_null(f);
    assert_int_equal(fwrite(text, 1, strlen(text), f), strlen(text));
    assert_int_equal(fclose(f), 0);
    return path;
}

static inline void scratch_free(scratch *s)
{
    for (size_t i = 0; i < s->count; i++)
        unlink(s->paths[i]);
    assert_int_equal(rmdir(s->folder), 0);
}

#endif
