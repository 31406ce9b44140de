/* SPDX-License-Identifier: MIT
 * Bytes as a readings file. Its first line may choose the layout: "#!" and
 * then letters, delimiter c s t b, decimal p or k (comma), w for the whole
 * file instead of segments, r for segments asked for in reverse, 2 for two
 * value columns, m for a column of times. A comment, so that the file itself
 * stays what it is. */
#define _POSIX_C_SOURCE 200809L
#include <math.h>
#include <unistd.h>

#include "base/file.h"
#include "ductmark/survey.h"
#include "fuzz.h"

static char path[64];
static int file = -1;

static void remove_file(void)
{
    unlink(path);
}

static void write_file(const uint8_t *data, size_t size)
{
    if (file < 0) {
        snprintf(path, sizeof path, "/tmp/fuzz_csv_XXXXXX");
        file = mkstemp(path);
        FUZZ_CHECK(file >= 0);
        atexit(remove_file);
    }
    FUZZ_CHECK(ftruncate(file, 0) == 0);
    FUZZ_CHECK(pwrite(file, data, size, 0) == (ssize_t)size);
}

static void choose(const uint8_t *data, size_t size, dm_columns *c,
                   dm_event *events)
{
    for (size_t i = 2; i < size && i < 10 && data[0] == '#' && data[1] == '!' &&
                       data[i] != '\n';
         i++)
        switch (data[i]) {
        case 's':
            c->delimiter = ';';
            break;
        case 't':
            c->delimiter = '\t';
            break;
        case 'b':
            c->delimiter = ' ';
            break;
        case 'k':
            c->decimal = ',';
            break;
        case '2':
            c->value_count = 2;
            break;
        case 'm':
            c->time = "time";
            c->time_unit = 1.0;
            break;
        case 'r':
            events[0].segment = "s2";
            events[1].segment = "s1";
            break;
        case 'w':
            events[0].segment = events[1].segment = NULL;
            events[0].rows_from = -(double)INFINITY;
            events[0].rows_to = events[1].rows_from = 20.0;
            events[1].rows_to = (double)INFINITY;
            break;
        default:
            break;
        }
}

static void check_block(const dm_columns *c, const dm_block *b)
{
    FUZZ_CHECK(b->count <= 65536 && (b->count == 0 || b->first_line > 0));
    for (size_t i = 0; i < b->count; i++) {
        FUZZ_CHECK(isfinite(b->x[i]));
        FUZZ_CHECK(!b->time || isnan(b->time[i]) || fabs(b->time[i]) <= 1e15);
        for (size_t k = 0; k < c->value_count; k++)
            FUZZ_CHECK(isfinite(b->value[k][i]));
    }
}

static void read_all(const dm_survey *s, const dm_run *run, const dm_buf *bytes)
{
    dm_readings *r = NULL;
    dm_diag diag = {0};
    char got[65], want[65];
    size_t rows = 0, lines = 1;
    dm_status status = DM_OK;

    for (size_t i = 0; i < bytes->length; i++)
        lines += bytes->data[i] == '\n';
    for (size_t k = 0; k < run->event_count; k++) {
        dm_block block = {0};
        status = r ? dm_readings_resume(r, &run->events[k])
                   : dm_readings_open(s, run, &run->events[k], &diag, &r);
        do {
            if (status == DM_OK)
                status = dm_readings_next(r, &block);
            if (status == DM_OK)
                check_block(&s->columns[0], &block);
            rows += status == DM_OK ? block.count : 0;
        } while (status == DM_OK && block.count > 0);
        FUZZ_CHECK(status == DM_OK || diag.errors > 0);
        if (!r)
            return;
    }
    /* Of the two segments, no row twice; the turn reads all of its own. */
    FUZZ_CHECK(rows <= 2 * lines);
    if (status == DM_OK && dm_readings_sha256(r, got) == DM_OK) {
        dm_sha256 *h = dm_sha256_new();
        FUZZ_CHECK(h);
        dm_sha256_update(h, bytes->data, bytes->length);
        dm_sha256_hex(h, want);
        dm_sha256_free(h);
        FUZZ_CHECK(strcmp(got, want) == 0);
    }
    dm_readings_close(r);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    size_t channels[2] = {0, 0};
    const char *values[2] = {"counts", "more"};
    dm_columns columns = {.delimiter = ',',
                          .decimal = '.',
                          .x = "run_mm",
                          .x_unit = 0.001,
                          .segment = "segment",
                          .clock = "clock_deg",
                          .channel = channels,
                          .value = values,
                          .value_count = 1};
    dm_event e = {.rows_from = (double)NAN, .rows_to = (double)NAN};
    dm_event events[3] = {e, e, e};
    dm_run run = {.id = "R", .events = events, .event_count = 3};
    dm_survey survey = {
        .columns = &columns, .columns_count = 1, .runs = &run, .run_count = 1};

    write_file(data, size);
    events[0].segment = "s1";
    events[1].segment = "s2";
    events[2].kind = DM_EVENT_TURN;
    for (int i = 0; i < 3; i++)
        events[i].href = path;
    choose(data, size, &columns, events);
    dm_buf bytes = fuzz_text(data, size);
    read_all(&survey, &run, &bytes);
    dm_buf_free(&bytes);
    return 0;
}
