/* SPDX-License-Identifier: MIT
 * Readings files in blocks of rows. The rows of a segment lie together: a file
 * is passed through once, segments met on the way are remembered by their
 * place, and one that goes on after another began is an error, so that no row
 * is lost unseen. What is read at the front of that way is `on_way`. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/diag.h"
#include "survey/readings.h"

/* ---- segments ----------------------------------------------------------- */

static int compare_segments(const void *a, const void *b)
{
    const dm_event *p = ((const segment *)a)->event;
    const dm_event *q = ((const segment *)b)->event;
    int order = strcmp(p->href, q->href);

    return order != 0 ? order : strcmp(p->segment, q->segment);
}

static dm_status list_segments(dm_readings *r)
{
    const dm_run *run = r->run;

    r->segments = calloc(run->event_count + 1, sizeof *r->segments);
    if (r->segments == NULL)
        return DM_NOMEM;
    for (size_t i = 0; i < run->event_count; i++)
        if (run->events[i].kind == DM_EVENT_READINGS &&
            is_segmented(r, &run->events[i]))
            r->segments[r->segment_count++].event = &run->events[i];
    qsort(r->segments, r->segment_count, sizeof *r->segments, compare_segments);
    return DM_OK;
}

segment *readings_segment(dm_readings *r, const char *name)
{
    dm_event event = {.href = r->file.path, .segment = name};
    segment key = {.event = &event};

    return bsearch(&key, r->segments, r->segment_count, sizeof key,
                   compare_segments);
}

/* ---- header ------------------------------------------------------------- */

/* "a, b, c" and so on, cut to what a message can hold. */
static void list_columns(char *list, size_t size, const csv_cell *cells,
                         size_t n)
{
    size_t used = 0;

    list[0] = '\0';
    for (size_t i = 0; i < n; i++) {
        int length = shown(&cells[i]);

        if (used + (size_t)length + 8 > size) {
            memcpy(list + used, ", ...", 6);
            return;
        }
        if (i > 0) {
            memcpy(list + used, ", ", 2);
            used += 2;
        }
        memcpy(list + used, cells[i].text, (size_t)length);
        used += (size_t)length;
        list[used] = '\0';
    }
}

/* Gives the column of that name its step. */
static dm_status need_column(dm_readings *r, const csv_cell *cells, size_t n,
                             step wanted)
{
    size_t found = 0, at = 0;
    char list[512];

    for (size_t i = n; i-- > 0;)
        if (csv_same(&cells[i], wanted.name)) {
            at = i;
            found++;
        }
    if (found == 0) {
        list_columns(list, sizeof list, cells, n);
        return dm_error(r->diag, DM_REFERENCE, here(r), NULL,
                        "no column '%s'; the columns are: %s", wanted.name,
                        list);
    }
    if (found > 1)
        return dm_error(r->diag, DM_INCONSISTENT, here(r), NULL,
                        "column '%s' is there %zu times", wanted.name, found);
    r->steps[at] = wanted;
    if (at >= r->step_count)
        r->step_count = at + 1;
    return DM_OK;
}

/* Readings are good without their times: a column that is not there once is
 * a warning. */
static void want_time(dm_readings *r, const csv_cell *cells, size_t n)
{
    const dm_columns *c = r->layout;
    size_t found = 0, at = 0;

    r->timed = false;
    r->form = TIME_NONE;
    r->bad_time = false;
    r->time_before = (double)NAN;
    if (c->time == NULL || is_turn(r->event))
        return;
    for (size_t i = 0; i < n; i++)
        if (csv_same(&cells[i], c->time)) {
            at = i;
            found++;
        }
    if (found != 1) {
        dm_warn(r->diag, here(r), NULL,
                "column '%s' is there %zu times: the speed is not known",
                c->time, found);
        return;
    }
    r->steps[at] = (step){STEP_TIME, c->time_unit, r->time, c->time};
    if (at >= r->step_count)
        r->step_count = at + 1;
    r->timed = true;
}

static dm_status need_columns(dm_readings *r, const csv_cell *cells, size_t n)
{
    const dm_columns *c = r->layout;
    bool turn = is_turn(r->event);
    step x = {STEP_X, turn ? 3.14159265358979323846 / 180.0 : c->x_unit, r->x,
              turn ? c->clock : c->x};
    dm_status status, one;

    if (x.name == NULL)
        return dm_error(r->diag, DM_REFERENCE, r->event->place, NULL,
                        "a turn, but the field book's columns name no clock "
                        "column");
    status = need_column(r, cells, n, x);
    if (is_segmented(r, r->event)) {
        one = need_column(r, cells, n,
                          (step){STEP_SEGMENT, 0.0, NULL, c->segment});
        status = status == DM_OK ? one : status;
    }
    for (size_t k = 0; k < c->value_count; k++) {
        one = need_column(r, cells, n,
                          (step){STEP_VALUE, 1.0, r->value[k], c->value[k]});
        status = status == DM_OK ? one : status;
    }
    if (status == DM_OK)
        want_time(r, cells, n);
    return status;
}

static dm_status read_header(dm_readings *r)
{
    csv_cell cells[CSV_MOST_COLUMNS];
    const char *line;
    size_t length, n;
    dm_status status = csv_line(&r->file, r->diag, &line, &length);

    if (status != DM_OK)
        return status;
    if (line == NULL)
        return dm_error(r->diag, DM_SYNTAX, (dm_place){r->file.path, 0}, NULL,
                        "an empty file, expected a line with column names");
    if (length >= 2 &&
        (memcmp(line, "\xFF\xFE", 2) == 0 || memcmp(line, "\xFE\xFF", 2) == 0))
        return dm_error(r->diag, DM_SYNTAX, here(r), NULL,
                        "UTF-16 text, expected UTF-8");
    n = csv_split(line, length, r->layout->delimiter, cells, CSV_MOST_COLUMNS);
    if (n > CSV_MOST_COLUMNS)
        return dm_error(r->diag, DM_SYNTAX, here(r), NULL,
                        "more than %d columns", CSV_MOST_COLUMNS);
    memset(r->steps, 0, sizeof r->steps);
    r->step_count = 0;
    status = need_columns(r, cells, n);
    r->data = r->front =
        (csv_mark){r->file.offset + r->file.begin, r->file.line};
    return status;
}

/* ---- blocks ------------------------------------------------------------- */

/* The event has ended: the way goes on from here. An event without a row is
 * an error, but for a part of a file, which may be empty. */
static dm_status end_event(dm_readings *r)
{
    const dm_event *e = r->event;

    if (r->wanted != NULL && r->on_way) {
        r->front = (csv_mark){r->file.offset + r->file.begin, r->file.line};
        r->on_way = false;
    }
    if (r->begun || r->status != DM_OK)
        return r->status;
    if (r->wanted != NULL)
        r->status =
            dm_error(r->diag, DM_REFERENCE, e->place, NULL,
                     "no rows of segment '%s' in %s", e->segment, r->file.path);
    else if (isnan(e->rows_from) && isnan(e->rows_to))
        r->status = dm_error(r->diag, DM_REFERENCE, e->place, NULL,
                             "no rows in %s", r->file.path);
    return r->status;
}

/* What was said of the file is not said again for its other events. */
static dm_status break_off(dm_readings *r, dm_status status)
{
    r->ended = true;
    return r->status = r->broken = status;
}

/* A time of day goes on past midnight: it is taken on the day on which it lies
 * nearest to the time before. */
static void add_days(dm_readings *r, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        if (isnan(r->time[i]))
            continue;
        if (!isnan(r->time_before))
            r->time[i] +=
                86400.0 * floor((r->time_before - r->time[i]) / 86400.0 + 0.5);
        r->time_before = r->time[i];
    }
}

dm_status dm_readings_next(dm_readings *r, dm_block *block)
{
    size_t n = 0, before;

    *block = (dm_block){
        .x = r->x, .value = r->value, .time = r->timed ? r->time : NULL};
    while (n < BLOCK && !r->ended) {
        dm_status status = csv_fill(&r->file, r->diag);

        if (status != DM_OK)
            return break_off(r, status);
        before = n;
        if (r->begun) {
            if (n == 0)
                block->first_line = r->file.line + 1;
            n = rows_take(r, n);
        } else if (r->wanted != NULL) {
            rows_pass(r);
        }
        if (n > before)
            continue;
        status = rows_one(r, block, &n);
        if (status != DM_OK)
            return break_off(r, status);
        if (n == before && n > 0)
            break; /* rows of a block follow each other line by line */
    }
    if (r->timed && r->form == TIME_OF_DAY)
        add_days(r, n);
    block->count = n;
    return n > 0 ? DM_OK : end_event(r);
}

/* ---- opening ------------------------------------------------------------ */

static dm_status open_file(dm_readings *r)
{
    dm_status status;

    r->bad = 0;
    r->broken = DM_OK;
    for (size_t i = 0; i < r->segment_count; i++)
        r->segments[i].state = UNSEEN;
    status = csv_open(&r->file, r->event->href, r->event->place, r->diag);
    return status == DM_OK ? read_header(r) : status;
}

/* Goes to where the event's rows can be met first. */
static dm_status go_to_event(dm_readings *r)
{
    const dm_event *e = r->event;

    r->begun = r->ended = r->on_way = false;
    r->other_length = 0;
    r->other[0] = '\0';
    r->wanted = is_segmented(r, e) ? readings_segment(r, e->segment) : NULL;
    if (r->wanted == NULL)
        return csv_seek(&r->file, r->data, r->diag);
    if (r->wanted->state != UNSEEN)
        return csv_seek(&r->file, r->wanted->at, r->diag);
    r->on_way = true;
    return csv_seek(&r->file, r->front, r->diag);
}

dm_status dm_readings_open(const dm_survey *survey, const dm_run *run,
                           const dm_event *event, dm_diag *diag,
                           dm_readings **out)
{
    const dm_columns *layout = &survey->columns[run->columns];
    dm_readings *r = calloc(1, sizeof *r);
    dm_status status = DM_NOMEM;

    *out = NULL;
    if (r != NULL) {
        r->run = run;
        r->event = event;
        r->layout = layout;
        r->diag = diag;
        r->file.fd = -1;
        r->x = calloc(BLOCK, sizeof *r->x);
        r->values = calloc(layout->value_count * BLOCK, sizeof *r->values);
        r->value = calloc(layout->value_count, sizeof *r->value);
        if (layout->time != NULL)
            r->time = calloc(BLOCK, sizeof *r->time);
        if (r->x != NULL && r->values != NULL && r->value != NULL &&
            (r->time != NULL || layout->time == NULL))
            status = list_segments(r);
    }
    if (status != DM_OK) {
        dm_readings_close(r);
        return dm_error(diag, DM_NOMEM, event->place, NULL, "out of memory");
    }
    for (size_t k = 0; k < layout->value_count; k++)
        r->value[k] = r->values + k * BLOCK;
    status = open_file(r);
    if (status == DM_OK)
        status = go_to_event(r);
    if (status != DM_OK) {
        dm_readings_close(r);
        return status;
    }
    *out = r;
    return DM_OK;
}

dm_status dm_readings_resume(dm_readings *r, const dm_event *event)
{
    const dm_event *before = r->event;
    bool same_file = r->file.buffer != NULL &&
                     strcmp(event->href, r->file.path) == 0 &&
                     is_turn(event) == is_turn(before) &&
                     is_segmented(r, event) == is_segmented(r, before);
    dm_status status = DM_OK;

    r->event = event;
    if (same_file && r->broken != DM_OK)
        return r->status = r->broken;
    r->status = DM_OK; /* what was wrong was said with the event before */
    if (!same_file) {
        csv_close(&r->file);
        status = open_file(r);
    } else if (before->rows_to == event->rows_from && r->ended) {
        r->begun = r->ended = false; /* the next part lies just here */
        return DM_OK;
    }
    if (status == DM_OK)
        status = go_to_event(r);
    if (status != DM_OK)
        csv_close(&r->file);
    return r->status = status;
}

/* The rest of the way is passed, so that no segment goes on in it. */
static dm_status pass_rest(dm_readings *r)
{
    dm_block block = {0};
    size_t n = 0;
    dm_status status = csv_seek(&r->file, r->front, r->diag);

    r->event = NULL;
    r->begun = r->ended = false;
    r->on_way = true;
    r->other_length = 0;
    r->other[0] = '\0';
    while (status == DM_OK && !r->ended) {
        status = csv_fill(&r->file, r->diag);
        if (status == DM_OK) {
            rows_pass(r);
            status = rows_one(r, &block, &n);
        }
    }
    return status;
}

dm_status dm_readings_sha256(dm_readings *r, char out[65])
{
    const dm_event *event = r->event;
    dm_status status = DM_OK;

    out[0] = '\0';
    if (r->file.buffer == NULL || r->broken != DM_OK)
        return r->broken != DM_OK ? r->broken : r->status;
    if (is_segmented(r, event))
        status = pass_rest(r);
    r->event = event;
    r->ended = true;
    if (status == DM_OK)
        status = csv_sha256(&r->file, r->diag, out);
    return status == DM_OK ? DM_OK : break_off(r, status);
}

void dm_readings_close(dm_readings *r)
{
    if (r == NULL)
        return;
    csv_close(&r->file);
    free(r->x);
    free(r->time);
    free(r->values);
    free(r->value);
    free(r->segments);
    free(r);
}
