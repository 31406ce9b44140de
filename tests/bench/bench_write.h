/* SPDX-License-Identifier: MIT
 * The yardstick of the writers: fwrite of as many bytes from one array. */
#ifndef DM_BENCH_WRITE_H
#define DM_BENCH_WRITE_H

#include "bench.h"

#include <string.h>
#include <sys/resource.h>
#include <unistd.h>

/* First member of a writer's job. */
typedef struct {
    char path[256]; /* the yardstick's file */
    char *bytes;    /* made at the first use */
    size_t size;    /* as many as the writer wrote */
} same_bytes;

static double write_same(void *user)
{
    same_bytes *j = user;
    double start;
    FILE *file;

    if (j->bytes == NULL) {
        j->bytes = malloc(j->size);
        if (j->bytes == NULL)
            exit(2);
        memset(j->bytes, 7, j->size);
    }
    start = bench_now();
    file = fopen(j->path, "wb");
    if (file == NULL || fwrite(j->bytes, 1, j->size, file) != j->size ||
        fclose(file) != 0)
        exit(2);
    start = bench_now() - start;
    unlink(j->path);
    return start;
}

static long peak_kib(void)
{
    struct rusage use;

    getrusage(RUSAGE_SELF, &use);
    return use.ru_maxrss;
}

#endif
