/* SPDX-License-Identifier: MIT
 * Lines to numbers. Plain rows (no quotes, no exponents, at most 15 digits)
 * are read in one pass over the buffer; every other row goes the slow way,
 * cell by cell, and only there are faults said. Both ways give the same. */
#include <math.h>

#include "base/diag.h"
#include "base/num.h"
#include "survey/digits.h"
#include "survey/readings.h"

#define MOST_MESSAGES 20
#define MOST_VALUE 1e15 /* raw; 15 digits cannot pass it */

/* ---- the quick way ------------------------------------------------------ */

/* What the loop keeps in registers. */
typedef struct {
    const step *steps, *end;
    char delimiter, point;
    const char *segment;
    size_t segment_length;
    uint64_t word, mask; /* the segment's first eight bytes */
    double lo, hi;       /* of x */
    time_form form;
} quick;

static quick quick_rules(const dm_readings *r)
{
    const dm_event *e = r->event;
    quick q = {.steps = r->steps,
               .end = r->steps + r->step_count,
               .delimiter = r->layout->delimiter,
               .point = r->layout->decimal,
               .form = r->form,
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
    /* What lies at the limit goes the slow way, see judge_part. */
    if (e->rows_to - 2e-6 < q.hi) /* false for NaN */
        q.hi = e->rows_to - 2e-6;
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

/* A time of the form that the file's times have; its cell is not trimmed. */
static const char *quick_time(const quick *q, const step *s, const char *p,
                              size_t n)
{
    const char *end;
    size_t length;
    time_form form;

    if (q->form == TIME_COUNT) {
        p = digits_read(p, q->point, &s->to[n]);
        s->to[n] *= s->scale;
        return p;
    }
    end = pass_cell(p, q->delimiter);
    if (end == NULL)
        return NULL;
    length = (size_t)(end - p);
    if (length > 0 && *end == '\n' && end[-1] == '\r')
        length--;
    return times_parse(p, length, q->point, s->scale, &form, &s->to[n]) &&
                   form == q->form
               ? p + length
               : NULL;
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
        } else if (s->kind == STEP_TIME) {
            p = quick_time(q, s, p, n);
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

size_t rows_take(dm_readings *r, size_t n)
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

void rows_pass(dm_readings *r)
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

/* A time of a row. One that cannot be read is no reason to leave the reading
 * out: it is not known, and said once a file. */
static void read_time(dm_readings *r, const step *s, const csv_cell *cell,
                      size_t n)
{
    time_form form;
    bool good = times_parse(cell->text, cell->length, r->layout->decimal,
                            s->scale, &form, &s->to[n]);

    if (good &&
        (form == TIME_NONE || r->form == TIME_NONE || form == r->form)) {
        r->form = form != TIME_NONE ? form : r->form;
        return;
    }
    s->to[n] = (double)NAN;
    if (r->bad_time)
        return;
    r->bad_time = true;
    dm_warn(r->diag, here(r), NULL,
            good ? "column '%s': '%.*s' is written in another way than the "
                   "times before it"
                 : "column '%s': '%.*s' is not a time such as 12.5 (seconds), "
                   "10:15:00.5 or 2026-03-02T10:15:00.5Z; there the speed is "
                   "not known",
            s->name, shown(cell), cell->text);
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

        if (s->kind == STEP_TIME) {
            const csv_cell none = {"", 0, false};

            read_time(r, s, c < count ? &cells[c] : &none, n);
            continue;
        }
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
    met = r->other[0] != '\0' ? readings_segment(r, r->other) : NULL;
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
 * the last before the first one beyond rows_to. A row at the limit itself may
 * have been read on either side of the skip: it is left out, one reading not
 * tested rather than one a whole skip away from its place. The micrometre
 * covers what two ways of rounding the same text leave. */
static fate judge_part(const dm_readings *r, double x)
{
    const dm_event *e = r->event;

    if (x > e->rows_to + 1e-6)
        return ROW_STOP;
    if (x >= e->rows_to - 1e-6)
        return ROW_PASS;
    if (!r->begun && x <= e->rows_from + 1e-6)
        return ROW_PASS;
    return ROW_TAKE;
}

dm_status rows_one(dm_readings *r, dm_block *block, size_t *n)
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
