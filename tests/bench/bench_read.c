/* SPDX-License-Identifier: MIT
 * Readings CSV -> columns and SHA-256, against a newline scan of the same
 * bytes: read(2) of the file in the same run, memchr from line to line. usage:
 *     bench_read [rows]       default 2000000 rows
 * The file is made in TMPDIR (or /tmp) and removed: three columns as a logger
 * writes them, a segment every 4000 rows, x in whole millimetres with jitter,
 * raw readings with one decimal. */
#define _POSIX_C_SOURCE 200809L
#include <fcntl.h>
#include <math.h>
#include <stdint.h>
#include <string.h>
#include <unistd.h>

#include "bench.h"
#include "ductmark/survey.h"

#define ROWS_PER_SEGMENT 4000
#define SCAN_BLOCK ((size_t)256 * 1024)

typedef struct {
    char path[512];
    dm_survey survey;
    dm_run run;
    dm_event *events;
    char (*names)[24];
    dm_columns columns;
    size_t channel;
    const char *value;
    size_t rows;
    double sum; /* keeps the work from being left out */
    char sha256[65];
} bench;

static void die(const char *what)
{
    fprintf(stderr, "bench_read: %s\n", what);
    exit(1);
}

static void make_file(bench *b)
{
    const char *folder = getenv("TMPDIR");
    uint64_t state = 1;
    double x = 0.0;
    int fd;
    FILE *f;

    snprintf(b->path, sizeof b->path, "%s/bench_read_XXXXXX",
             folder != NULL ? folder : "/tmp");
    fd = mkstemp(b->path);
    f = fd >= 0 ? fdopen(fd, "w") : NULL;
    if (f == NULL)
        die("cannot make a temporary file");
    fprintf(f, "segment,x_mm,counts\n");
    for (size_t i = 0; i < b->rows; i++) {
        state = state * 6364136223846793005u + 1442695040888963407u;
        x = i % ROWS_PER_SEGMENT == 0 ? 0.0 : x + 4.0 + (double)(state >> 62);
        fprintf(f, "s%zu,%.0f,%.1f\n", i / ROWS_PER_SEGMENT + 1, x,
                800.0 + (double)(state >> 33 & 8191) / 10.0);
    }
    if (fclose(f) != 0)
        die("cannot write the temporary file");
}

static void make_events(bench *b)
{
    size_t n = (b->rows + ROWS_PER_SEGMENT - 1) / ROWS_PER_SEGMENT;

    b->events = calloc(n, sizeof *b->events);
    b->names = calloc(n, sizeof *b->names);
    if (b->events == NULL || b->names == NULL)
        die("out of memory");
    for (size_t i = 0; i < n; i++) {
        snprintf(b->names[i], sizeof b->names[i], "s%zu", i + 1);
        b->events[i] = (dm_event){.kind = DM_EVENT_READINGS,
                                  .href = b->path,
                                  .segment = b->names[i],
                                  .rows_from = (double)NAN,
                                  .rows_to = (double)NAN};
    }
    b->value = "counts";
    b->columns = (dm_columns){.delimiter = ',',
                              .decimal = '.',
                              .x = "x_mm",
                              .x_unit = 0.001,
                              .segment = "segment",
                              .channel = &b->channel,
                              .value = &b->value,
                              .value_count = 1};
    b->run = (dm_run){.id = "R1", .events = b->events, .event_count = n};
    b->survey = (dm_survey){.columns = &b->columns,
                            .columns_count = 1,
                            .runs = &b->run,
                            .run_count = 1};
}

/* The yardstick: lines are counted by memchr. */
static double scan(void *user)
{
    static char buffer[SCAN_BLOCK];
    bench *b = user;
    double begun = bench_now();
    int fd = open(b->path, O_RDONLY);
    size_t lines = 0;
    ssize_t got;

    if (fd < 0)
        die("cannot open the temporary file");
    while ((got = read(fd, buffer, sizeof buffer)) > 0) {
        const char *p = buffer, *end = buffer + got;

        while ((p = memchr(p, '\n', (size_t)(end - p))) != NULL) {
            lines++;
            p++;
        }
    }
    close(fd);
    if (lines != b->rows + 1)
        die("the scan missed lines");
    return bench_now() - begun;
}

static void take(bench *b, dm_readings *r, size_t *rows)
{
    dm_block block;

    for (;;) {
        if (dm_readings_next(r, &block) != DM_OK)
            die("a block failed");
        if (block.count == 0)
            return;
        b->sum += block.x[0] + block.value[0][block.count - 1];
        *rows += block.count;
    }
}

static double read_columns(void *user)
{
    bench *b = user;
    double begun = bench_now();
    dm_readings *r = NULL;
    size_t rows = 0;

    if (dm_readings_open(&b->survey, &b->run, &b->events[0], NULL, &r) != DM_OK)
        die("cannot open the readings");
    for (size_t i = 0; i < b->run.event_count; i++) {
        if (i > 0 && dm_readings_resume(r, &b->events[i]) != DM_OK)
            die("cannot go on to the next segment");
        take(b, r, &rows);
    }
    if (dm_readings_sha256(r, b->sha256) != DM_OK)
        die("no hash");
    dm_readings_close(r);
    if (rows != b->rows)
        die("rows were lost");
    return bench_now() - begun;
}

int main(int argc, char **argv)
{
    bench b = {.rows = argc > 1 ? strtoul(argv[1], NULL, 10) : 2000000};

    if (b.rows == 0 || b.rows > 100000000)
        die("rows: 1 to 100000000");
    make_file(&b);
    make_events(&b);
    bench_pair("readings_csv", (double)b.rows, read_columns, "newline scan",
               scan, &b);
    unlink(b.path);
    free(b.names);
    free(b.events);
    return b.sum > 0.0 ? 0 : 1;
}
