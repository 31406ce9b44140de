/* SPDX-License-Identifier: MIT
 * Rows to columns. Plain rows (no quotes, no exponents, at most 15 digits)
 * are read in one pass over the buffer; every other row goes the slow way,
 * cell by cell. The rows of a segment lie together: a file is passed through
 * once, segments met on the way are remembered by their place, and one that
 * goes on after another began is an error, so that no row is lost unseen. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/diag.h"
#include "base/num.h"
#include "ductmark/survey.h"
#include "survey/csv.h"
#include "survey/digits.h"

#define BLOCK ((size_t)4096)
#define MOST_MESSAGES 20
#define SHOWN 40        /* bytes of a bad cell in its message */
#define MOST_X 1e6      /* m, rad */
#define MOST_VALUE 1e15 /* raw */

/* What a column of the file is to the reader. */
typedef enum { STEP_PASS, STEP_SEGMENT, STEP_X, STEP_VALUE } step_kind;

typedef struct {
    step_kind kind;
    double scale;     /* of a number, to metres, radians or raw */
    double *to;       /* [BLOCK] where its numbers go */
    const char *name; /* of the column; NULL for STEP_PASS */
} step;

/* What became of a segment on the way through the file. */
typedef struct {
    const dm_event *event;
    enum { UNSEEN, PASSED, TAKEN } state;
    csv_mark at; /* its first row, unless UNSEEN */
} segment;

struct dm_readings {
    const dm_run *run;
    const dm_event *event; /* NULL: only passing what is left of the file */
    const dm_columns *layout;
    dm_diag *diag;
    csv_file file;
    step steps[CSV_MOST_COLUMNS]; /* up to the last column that is needed */
    size_t step_count;
    double *x;         /* [BLOCK] */
    double *values;    /* [value_count][BLOCK] */
    double **value;    /* pointers into values */
    segment *segments; /* of the run, sorted by file and name */
    size_t segment_count;
    segment *wanted; /* the event's; NULL: it has none */
    csv_mark data;   /* the line after the header */
    csv_mark front;  /* how far the way through the segments has come */
    bool on_way;     /* reading at the front, not a segment remembered */
    bool begun;      /* a row of the event was met */
    bool ended;
    char other[1024]; /* the segment that is being passed; "": none */
    size_t other_length;
    size_t bad;       /* rows of this file that were bad */
    dm_status status; /* of the event */
    dm_status broken; /* of the file: nothing more can be read */
};

static bool is_turn(const dm_event *e)
{
    return e->kind == DM_EVENT_TURN;
}

/* Is the event told from others of its file by a segment? */
static bool is_segmented(const dm_readings *r, const dm_event *e)
{
    return !is_turn(e) && e->segment != NULL && r->layout->segment != NULL;
}

static dm_place here(const dm_readings *r)
{
    return (dm_place){r->file.path, r->file.line};
}

static int shown(const csv_cell *cell)
{
    return (int)(cell->length < SHOWN ? cell->length : SHOWN);
}

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

/* The run's segment of that name in the open file; NULL: none of the run. */
static segment *find_segment(dm_readings *r, const char *name)
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

/* ---- the quick way ------------------------------------------------------ */

/* The other limit of the quick way: what the loop below keeps in registers. */
typedef struct {
    const step *steps, *end;
    char delimiter, point;
    const char *segment;
    size_t segment_length;
    uint64_t word, mask; /* the segment's first eight bytes */
    double lo, hi;       /* of x */
} quick;

static quick quick_rules(const dm_readings *r)
{
    const dm_event *e = r->event;
    quick q = {.steps = r->steps,
               .end = r->steps + r->step_count,
               .delimiter = r->layout->delimiter,
               .point = r->layout->decimal,
               .lo = -MOST_X,
               .hi = MOST_X};

    if (r->wanted != NULL) {
        char first[8] = {0};

        q.segment = e->segment;
        q.segment_length = strlen(e->segment);
        memcpy(first, q.segment, q.segment_length < 8 ? q.segment_length : 8);
        q.word = digits_load(first);
        q.mask = q.segment_length < 8
                     ? (UINT64_C(1) << 8 * q.segment_length) - 1
                     : UINT64_MAX;
    }
    if (e->rows_to < q.hi) /* false for NaN */
        q.hi = e->rows_to;
    return q;
}

static bool is_segment(const quick *q, const char *p)
{
    return ((digits_load(p) ^ q->word) & q->mask) == 0 &&
           (q->segment_length <= 8 ||
            memcmp(p, q->segment, q->segment_length) == 0);
}

static const char *after_line(const char *p, const char *end)
{
    p = memchr(p, '\n', (size_t)(end - p));
    return p != NULL ? p + 1 : NULL;
}

/* Longer lines are left to csv_line, which refuses them. */
static bool is_long(const char *line, const char *next)
{
    return (size_t)(next - line) > CSV_LONGEST_LINE;
}

/* Past an unquoted cell that is not needed, to its delimiter or line end. */
static const char *pass_cell(const char *p, char delimiter)
{
    while (*p != delimiter && *p != '\n') {
        if (*p == '"')
            return NULL;
        p++;
    }
    return p;
}

/* One row at p, in the buffer up to `end`, to index n of the columns. Returns
 * the next row; NULL: not plain, nothing is decided. */
static inline const char *quick_row(const quick *q, const char *p,
                                    const char *end, size_t n)
{
    const step *s = q->steps;

    if (*p == '#')
        return NULL;
    for (;;) {
        if (s->kind == STEP_SEGMENT) {
            if (!is_segment(q, p))
                return NULL;
            p += q->segment_length;
        } else if (s->kind == STEP_PASS) {
            p = pass_cell(p, q->delimiter);
            if (p == NULL)
                return NULL;
        } else {
            double value;

            p = digits_read(p, q->point, &value);
            if (p == NULL)
                return NULL;
            value *= s->scale;
            if (s->kind == STEP_X && !(value >= q->lo && value <= q->hi))
                return NULL;
            s->to[n] = value;
        }
        if (++s == q->end)
            break;
        if (*p++ != q->delimiter)
            return NULL;
    }
    if (*p == '\n')
        return p + 1;
    if (*p == q->delimiter)
        return after_line(p, end);
    return p[0] == '\r' && p[1] == '\n' ? p + 2 : NULL;
}

/* Takes rows while they are plain and the event's, at most to a full block.
 * Returns the new count. */
static size_t quick_rows(dm_readings *r, size_t n)
{
    const quick q = quick_rules(r);
    csv_file *f = &r->file;
    const char *p = f->buffer + f->begin, *end = f->buffer + f->whole;
    size_t before = n;

    while (n < BLOCK && p < end) {
        const char *next = quick_row(&q, p, end, n);

        if (next == NULL || is_long(p, next))
            break;
        p = next;
        n++;
    }
    f->begin = (size_t)(p - f->buffer);
    f->line += (long)(n - before);
    return n;
}

/* Passes over rows of the segment that is being passed anyway. */
static void quick_pass(dm_readings *r)
{
    csv_file *f = &r->file;
    const char *p = f->buffer + f->begin, *end = f->buffer + f->whole;
    char delimiter = r->layout->delimiter;

    while (r->other_length > 0 && p < end && *p != '#') {
        const char *cell = p;
        const step *s = r->steps;

        for (; s->kind != STEP_SEGMENT && cell != NULL; s++) {
            cell = pass_cell(cell, delimiter);
            if (cell != NULL && *cell++ != delimiter)
                cell = NULL;
        }
        if (cell == NULL || memcmp(cell, r->other, r->other_length) != 0)
            break;
        cell += r->other_length;
        if (*cell != delimiter && *cell != '\n' && *cell != '\r')
            break;
        cell = after_line(cell, end);
        if (cell == NULL || is_long(p, cell))
            break;
        p = cell;
        f->line++;
    }
    f->begin = (size_t)(p - f->buffer);
}

/* ---- the slow way ------------------------------------------------------- */

/* Counts a bad row; 20 messages a file are enough to know. */
static bool says_bad_row(dm_readings *r)
{
    r->status = DM_SYNTAX;
    r->bad++;
    if (r->bad == MOST_MESSAGES + 1)
        dm_error(r->diag, DM_SYNTAX, here(r), NULL, "and more rows like these");
    return r->bad <= MOST_MESSAGES;
}

static void bad_cell(dm_readings *r, const step *s, const csv_cell *cell,
                     const char *wrong, const char *expected)
{
    if (says_bad_row(r))
        dm_error(r->diag, DM_SYNTAX, here(r), NULL, "column '%s': '%.*s' %s%s",
                 s->name, shown(cell), cell->text, wrong, expected);
}

/* A number of a row; false: it is bad, and was said. */
static bool read_cell(dm_readings *r, const step *s, const csv_cell *cell,
                      size_t n)
{
    bool comma = r->layout->decimal == ',';
    double most = s->kind == STEP_X ? MOST_X : MOST_VALUE;
    double value;

    if (!dm_num_parse(cell->text, cell->length, r->layout->decimal, &value)) {
        bad_cell(r, s, cell, "is not a number",
                 comma ? " with a decimal comma" : " with a decimal point");
        return false;
    }
    value *= s->scale;
    if (!(fabs(value) <= most)) {
        bad_cell(r, s, cell, "is out of range",
                 s->kind == STEP_VALUE ? ", at most 1e15 was expected"
                 : is_turn(r->event)   ? ", an angle in degrees was expected"
                                       : ", at most 1000 km was expected");
        return false;
    }
    s->to[n] = value;
    return true;
}

/* The numbers of a row, quoted or not, to index n; false: the row is bad. */
static bool read_cells(dm_readings *r, const csv_cell *cells, size_t count,
                       size_t n)
{
    bool good = true;

    for (size_t c = 0; c < r->step_count; c++) {
        const step *s = &r->steps[c];

        if (s->kind != STEP_X && s->kind != STEP_VALUE)
            continue;
        if (c < count) {
            good = read_cell(r, s, &cells[c], n) && good;
            continue;
        }
        if (says_bad_row(r))
            dm_error(r->diag, DM_SYNTAX, here(r), NULL,
                     "column '%s': the row has only %zu cells", s->name, count);
        return false;
    }
    return good;
}

/* Takes the cell's text as the segment that is being passed. Names longer
 * than the schema allows are nobody's. */
static void set_other(dm_readings *r, const csv_cell *cell)
{
    size_t n = 0;

    for (size_t i = 0; i < cell->length && n + 1 < sizeof r->other; i++) {
        r->other[n++] = cell->text[i];
        if (cell->quoted && cell->text[i] == '"')
            i++; /* doubled */
    }
    r->other[n] = '\0';
    /* What stood in quotes cannot be passed over quickly. */
    r->other_length = cell->quoted || n != cell->length ? 0 : n;
}

/* On the way rows of another segment begin, or the event's own. It must not
 * have been there before. */
static dm_status meet_segment(dm_readings *r, const csv_cell *cell,
                              const char *line)
{
    segment *met;

    set_other(r, cell);
    met = r->other[0] != '\0' ? find_segment(r, r->other) : NULL;
    if (met == NULL)
        return DM_OK;
    if (met->state != UNSEEN)
        return r->status =
                   dm_error(r->diag, DM_INCONSISTENT, here(r), NULL,
                            "segment '%.*s' goes on after another one began; "
                            "the rows of a segment must follow each other",
                            shown(cell), cell->text);
    /* Where the event ends the way will go on here: it is not met yet. */
    if (r->begun)
        return DM_OK;
    met->state = met == r->wanted ? TAKEN : PASSED;
    met->at = csv_tell(&r->file, line);
    return DM_OK;
}

typedef enum { ROW_TAKE, ROW_PASS, ROW_STOP, ROW_FAILED } fate;

/* Whose row is it? */
static fate judge_segment(dm_readings *r, const csv_cell *cells, size_t count,
                          const char *line)
{
    const csv_cell none = {"", 0, false};
    const csv_cell *cell = &none;
    bool own, news;

    for (size_t c = 0; c < count && c < r->step_count; c++)
        if (r->steps[c].kind == STEP_SEGMENT)
            cell = &cells[c];
    own = r->event != NULL && csv_same(cell, r->event->segment);
    /* While the event's rows are taken `other` is its own name. */
    news = r->on_way && !csv_same(cell, r->other);
    if (news && meet_segment(r, cell, line) != DM_OK)
        return ROW_FAILED;
    if (own)
        return ROW_TAKE;
    return r->begun ? ROW_STOP : ROW_PASS;
}

/* Parts of a file without segments: from the first row beyond rows_from up to
 * the last before the first one beyond rows_to. The micrometre covers what
 * two ways of rounding the same text leave. */
static fate judge_part(const dm_readings *r, double x)
{
    const dm_event *e = r->event;

    if (x > e->rows_to + 1e-6)
        return ROW_STOP;
    if (!r->begun && x <= e->rows_from + 1e-6)
        return ROW_PASS;
    return ROW_TAKE;
}

/* One line the slow way; *n grows when it is the event's. */
static dm_status slow_row(dm_readings *r, dm_block *block, size_t *n)
{
    csv_cell cells[CSV_MOST_COLUMNS];
    const char *line;
    size_t length, count;
    bool segmented = r->event == NULL || is_segmented(r, r->event);
    fate what = ROW_TAKE;
    dm_status status = csv_line(&r->file, r->diag, &line, &length);

    if (status != DM_OK || line == NULL) {
        r->ended = true;
        return status;
    }
    if (*n > 0 && r->file.line != block->first_line + (long)*n)
        return csv_seek(&r->file, csv_tell(&r->file, line), r->diag);
    count =
        csv_split(line, length, r->layout->delimiter, cells, CSV_MOST_COLUMNS);
    count = count < CSV_MOST_COLUMNS ? count : CSV_MOST_COLUMNS;
    if (segmented)
        what = judge_segment(r, cells, count, line);
    if (what == ROW_TAKE) {
        r->begun = r->begun || segmented;
        if (!read_cells(r, cells, count, *n))
            return DM_OK;
        if (!segmented)
            what = judge_part(r, r->x[*n]);
    }
    if (what == ROW_STOP) {
        r->ended = true;
        return csv_seek(&r->file, csv_tell(&r->file, line), r->diag);
    }
    if (what == ROW_TAKE) {
        if (*n == 0)
            block->first_line = r->file.line;
        r->begun = true;
        ++*n;
    }
    return what == ROW_FAILED ? r->status : DM_OK;
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

dm_status dm_readings_next(dm_readings *r, dm_block *block)
{
    size_t n = 0, before;

    *block = (dm_block){.x = r->x, .value = r->value};
    while (n < BLOCK && !r->ended) {
        dm_status status = csv_fill(&r->file, r->diag);

        if (status != DM_OK)
            return break_off(r, status);
        before = n;
        if (r->begun) {
            if (n == 0)
                block->first_line = r->file.line + 1;
            n = quick_rows(r, n);
        } else if (r->wanted != NULL) {
            quick_pass(r);
        }
        if (n > before)
            continue;
        status = slow_row(r, block, &n);
        if (status != DM_OK)
            return break_off(r, status);
        if (n == before && n > 0)
            break; /* rows of a block follow each other line by line */
    }
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
    r->wanted = is_segmented(r, e) ? find_segment(r, e->segment) : NULL;
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
        if (r->x != NULL && r->values != NULL && r->value != NULL)
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
            quick_pass(r);
            status = slow_row(r, &block, &n);
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
    free(r->values);
    free(r->value);
    free(r->segments);
    free(r);
}
