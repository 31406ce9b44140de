/* SPDX-License-Identifier: MIT */
#define _POSIX_C_SOURCE 200809L
#include "readings_book.h"

#include <stdlib.h>
#include <unistd.h>

dm_event readings(const char *segment)
{
    return (dm_event){.kind = DM_EVENT_READINGS,
                      .place = {"book.xml", 7},
                      .segment = segment,
                      .rows_from = (double)NAN,
                      .rows_to = (double)NAN};
}

dm_event part(double from, double to)
{
    dm_event e = readings(NULL);

    e.rows_from = from;
    e.rows_to = to;
    return e;
}

/* A file of these bytes, and the layout segment,x_mm,counts. */
book *book_of(const void *bytes, size_t length)
{
    book *b = calloc(1, sizeof *b);
    FILE *f;
    int fd;

    assert_non_null(b);
    said_init(&b->said);
    strcpy(b->path, "/tmp/ductmark-csv-XXXXXX");
    fd = mkstemp(b->path);
    f = fd >= 0 ? fdopen(fd, "wb") : NULL;
    assert_non_null(f);
    assert_int_equal(fwrite(bytes, 1, length, f), length);
    assert_int_equal(fclose(f), 0);
    b->values[0] = "counts";
    b->channels[1] = 1;
    b->columns = (dm_columns){.delimiter = ',',
                              .decimal = '.',
                              .x = "x_mm",
                              .x_unit = 0.001,
                              .segment = "segment",
                              .channel = b->channels,
                              .value = b->values,
                              .value_count = 1};
    b->run = (dm_run){.id = "R1", .events = b->events};
    b->survey = (dm_survey){.columns = &b->columns,
                            .columns_count = 1,
                            .runs = &b->run,
                            .run_count = 1};
    return b;
}

book *book_text(const char *text)
{
    return book_of(text, strlen(text));
}

void book_add(book *b, dm_event event)
{
    assert_true(b->run.event_count < MOST_EVENTS);
    event.href = b->path;
    b->events[b->run.event_count++] = event;
}

void book_free(book *b)
{
    unlink(b->path);
    free(b);
}

/* What was said; the file's name, which is random, is shown as FILE. */
const char *heard(book *b)
{
    const char *name = strrchr(b->path, '/') + 1;
    char *at;

    while ((at = strstr(b->said.text, b->path)) != NULL) {
        memcpy(at, "FILE", 4);
        memmove(at + 4, at + strlen(b->path), strlen(at + strlen(b->path)) + 1);
    }
    while ((at = strstr(b->said.text, name)) != NULL) {
        memcpy(at, "FILE", 4);
        memmove(at + 4, at + strlen(name), strlen(at + strlen(name)) + 1);
    }
    return b->said.text;
}

static dm_status take_rows(book *b, dm_readings *r)
{
    for (;;) {
        dm_block block;
        dm_status status = dm_readings_next(r, &block);

        if (status != DM_OK || block.count == 0)
            return status;
        for (size_t i = 0; i < block.count; i++) {
            assert_true(b->rows < MOST_ROWS);
            b->x[b->rows] = block.x[i];
            b->line[b->rows] = block.first_line + (long)i;
            b->time[b->rows] = block.time ? block.time[i] : (double)NAN;
            for (size_t k = 0; k < b->columns.value_count; k++)
                b->value[k][b->rows] = block.value[k][i];
            b->rows++;
        }
    }
}

/* One event through a reader of its own. */
dm_status read_event(book *b, size_t event)
{
    dm_readings *r = NULL;
    dm_status status = dm_readings_open(&b->survey, &b->run, &b->events[event],
                                        &b->said.diag, &r);

    b->rows = 0;
    if (status == DM_OK)
        status = take_rows(b, r);
    else
        assert_null(r);
    dm_readings_close(r);
    return status;
}

/* All events in order through one reader, then the hash. */
dm_status read_all(book *b)
{
    dm_readings *r = NULL;
    dm_status status = DM_OK, one;

    b->rows = 0;
    for (size_t i = 0; i < b->run.event_count; i++) {
        one = r != NULL ? dm_readings_resume(r, &b->events[i])
                        : dm_readings_open(&b->survey, &b->run, &b->events[i],
                                           &b->said.diag, &r);
        if (one == DM_OK)
            one = take_rows(b, r);
        status = status == DM_OK ? one : status;
    }
    if (status == DM_OK)
        status = dm_readings_sha256(r, b->sha256);
    dm_readings_close(r);
    return status;
}

void assert_row(const book *b, size_t row, double x, double value)
{
    assert_true(row < b->rows);
    assert_near(b->x[row], x, 1e-15);
    assert_near(b->value[0][row], value, 0.0);
}
