/* SPDX-License-Identifier: MIT
 * Rows to columns. The plain case, no quotes and few digits, is read in one
 * pass over the line: digits into an integer and one division by a power of
 * ten, which is exact below 2^53 (Clinger 1990, "How to read floating point
 * numbers accurately"). Every other cell goes the slow way. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/diag.h"
#include "base/num.h"
#include "ductmark/survey.h"
#include "survey/csv.h"

#define BLOCK 4096
#define MOST_MESSAGES 20
#define NO_COLUMN SIZE_MAX

struct dm_readings {
    const dm_survey *survey;
    const dm_run *run;
    const dm_event *event;
    const dm_columns *layout;
    dm_diag *diag;
    csv_file file;
    bool *done; /* per event of the run: delivered already */
    size_t column_count;
    size_t *role;   /* per column of the file: what it is, see below */
    size_t segment; /* column index or NO_COLUMN */
    double scale;   /* of x: to metres or radians */
    double *x;      /* [BLOCK] */
    double *values; /* [value_count][BLOCK] */
    double **value; /* pointers into values */
    bool begun, ended, wrapped, from_start;
    bool passed; /* the whole file was seen once: its bad rows were told */
    size_t bad;  /* rows reported */
    dm_status status;
};

/* role[] : 0 not needed, 1 run distance or clock, 2 segment, 3 + k value k. */
enum { ROLE_NONE, ROLE_X, ROLE_SEGMENT, ROLE_VALUE };

static bool is_turn(const dm_readings *r)
{
    return r->event->kind == DM_EVENT_TURN;
}

static dm_place here(const dm_readings *r)
{
    return (dm_place){r->file.path, r->file.line};
}

/* ---- header
 * ------------------------------------------------------------------ */

static size_t find_column(const csv_cell *cells, size_t n, const char *name)
{
    for (size_t i = 0; i < n; i++)
        if (strlen(name) == cells[i].length &&
            memcmp(name, cells[i].text, cells[i].length) == 0)
            return i;
    return NO_COLUMN;
}

static dm_status missing_column(const dm_readings *r, const csv_cell *cells,
                                size_t n, const char *name)
{
    char list[256];
    size_t used = 0;
    list[0] = '\0';
    for (size_t i = 0; i < n && used + cells[i].length + 4 < sizeof list; i++) {
        if (used > 0) {
            memcpy(list + used, ", ", 2);
            used += 2;
        }
        memcpy(list + used, cells[i].text, cells[i].length);
        used += cells[i].length;
        list[used] = '\0';
    }
    return dm_error(r->diag, DM_REFERENCE, here(r), NULL,
                    "no column '%s'; the columns are: %s", name, list);
}

static dm_status need_column(dm_readings *r, const csv_cell *cells, size_t n,
                             const char *name, size_t role)
{
    size_t at = find_column(cells, n, name);
    if (at == NO_COLUMN)
        return missing_column(r, cells, n, name);
    r->role[at] = role;
    return DM_OK;
}

static dm_status read_header(dm_readings *r)
{
    const char *line;
    size_t length;
    csv_cell cells[CSV_MOST_COLUMNS];
    dm_status status = csv_line(&r->file, r->diag, &line, &length);
    if (status != DM_OK)
        return status;
    if (!line)
        return dm_error(r->diag, DM_SYNTAX, (dm_place){r->file.path, 0}, NULL,
                        "an empty file, expected a line with column names");
    size_t n =
        csv_split(line, length, r->layout->delimiter, cells, CSV_MOST_COLUMNS);
    r->column_count = n;
    memset(r->role, 0, CSV_MOST_COLUMNS * sizeof *r->role);
    const char *x = is_turn(r) ? r->layout->clock : r->layout->x;
    status = x ? need_column(r, cells, n, x, ROLE_X)
               : dm_error(r->diag, DM_REFERENCE, r->event->place, NULL,
                          "a turn, but the field book's columns name no "
                          "clock column");
    if (!is_turn(r) && r->event->segment && r->layout->segment &&
        need_column(r, cells, n, r->layout->segment, ROLE_SEGMENT) != DM_OK)
        status = DM_REFERENCE;
    for (size_t k = 0; k < r->layout->value_count; k++)
        if (need_column(r, cells, n, r->layout->value[k], ROLE_VALUE + k) !=
            DM_OK)
            status = DM_REFERENCE;
    return status;
}

/* ---- rows
 * --------------------------------------------------------------------- */

static const double POWER[20] = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,
                                 1e7,  1e8,  1e9,  1e10, 1e11, 1e12, 1e13,
                                 1e14, 1e15, 1e16, 1e17, 1e18, 1e19};

/* A plain number that ends at `end` or at the delimiter. NULL: not plain. */
static const char *plain_number(const char *p, const char *end, char delimiter,
                                char point, double *out)
{
    bool negative = p < end && *p == '-';
    p += negative;
    const char *first = p;
    uint64_t m = 0;
    int decimals = 0;
    while (p < end && (unsigned)(*p - '0') < 10u)
        m = m * 10u + (uint64_t)(*p++ - '0');
    ptrdiff_t digits = p - first;
    if (p < end && *p == point) {
        first = ++p;
        while (p < end && (unsigned)(*p - '0') < 10u)
            m = m * 10u + (uint64_t)(*p++ - '0');
        decimals = (int)(p - first);
        digits += decimals;
    }
    if (digits == 0 || digits > 15 || (p < end && *p != delimiter))
        return NULL;
    double v = (double)m / POWER[decimals];
    *out = negative ? -v : v;
    return p;
}

static const char *column_name(const dm_readings *r, size_t role)
{
    if (role == ROLE_X)
        return is_turn(r) ? r->layout->clock : r->layout->x;
    return r->layout->value[role - ROLE_VALUE];
}

/* Says a bad cell; 20 a file are enough to know. */
static void bad_cell(dm_readings *r, size_t role, const csv_cell *cell)
{
    r->status = DM_SYNTAX;
    if (r->passed)
        return;
    if (r->bad++ < MOST_MESSAGES)
        dm_error(r->diag, DM_SYNTAX, here(r), NULL,
                 "column '%s': '%.*s' is not a number with a decimal %s",
                 column_name(r, role),
                 (int)(cell->length < 40 ? cell->length : 40), cell->text,
                 r->layout->decimal == ',' ? "comma" : "point");
    else if (r->bad == MOST_MESSAGES + 1)
        dm_error(r->diag, DM_SYNTAX, here(r), NULL, "and more rows like these");
}

typedef struct {
    csv_cell segment;
    double x;
} row_head;

static double *target(dm_readings *r, size_t role, size_t at, row_head *head)
{
    return role == ROLE_X ? &head->x
                          : &r->values[(role - ROLE_VALUE) * BLOCK + at];
}

/* The slow way: quotes, blanks, exponents, many digits. */
static bool read_cells(dm_readings *r, const char *line, size_t length,
                       size_t at, row_head *head)
{
    csv_cell cells[CSV_MOST_COLUMNS];
    size_t n =
        csv_split(line, length, r->layout->delimiter, cells, CSV_MOST_COLUMNS);
    bool good = true;
    for (size_t c = 0; c < r->column_count; c++) {
        size_t role = r->role[c];
        csv_cell cell = c < n ? cells[c] : (csv_cell){"", 0};
        if (role == ROLE_SEGMENT)
            head->segment = cell;
        else if (role != ROLE_NONE &&
                 !dm_num_parse(cell.text, cell.length, r->layout->decimal,
                               target(r, role, at, head))) {
            bad_cell(r, role, &cell);
            good = false;
        }
    }
    return good;
}

/* The quick way; false: nothing is decided, take the slow way. */
static bool read_plain(dm_readings *r, const char *line, size_t length,
                       size_t at, row_head *head)
{
    const char *p = line, *end = line + length;
    char delimiter = r->layout->delimiter, point = r->layout->decimal;
    if (delimiter == ' ')
        return false;
    for (size_t c = 0; c < r->column_count; c++) {
        size_t role = r->role[c];
        if (p > end)
            return false;
        if (role == ROLE_NONE || role == ROLE_SEGMENT) {
            const char *from = p;
            while (p < end && *p != delimiter) {
                if (*p == '"' || *p == ' ')
                    return false;
                p++;
            }
            if (role == ROLE_SEGMENT)
                head->segment = (csv_cell){from, (size_t)(p - from)};
        } else {
            p = plain_number(p, end, delimiter, point,
                             target(r, role, at, head));
            if (!p)
                return false;
        }
        p++; /* over the delimiter; one past the end after the last cell */
    }
    return true;
}

static bool same(const csv_cell *cell, const char *text)
{
    return strlen(text) == cell->length &&
           memcmp(text, cell->text, cell->length) == 0;
}

/* A row of a segment that was delivered before: it would be lost. */
static bool came_back(const dm_readings *r, const csv_cell *segment)
{
    for (size_t i = 0; i < r->run->event_count; i++) {
        const dm_event *e = &r->run->events[i];
        if (r->done[i] && e != r->event && e->segment &&
            same(segment, e->segment) && strcmp(e->href, r->file.path) == 0)
            return true;
    }
    return false;
}

/* Is this row one of the event's? It may end the event. */
typedef enum { ROW_TAKE, ROW_PASS, ROW_STOP, ROW_WRONG } row_fate;

static row_fate judge(dm_readings *r, const row_head *head)
{
    const dm_event *e = r->event;
    if (!is_turn(r) && e->segment && r->layout->segment) {
        if (same(&head->segment, e->segment))
            return ROW_TAKE;
        if (r->wrapped || !came_back(r, &head->segment))
            return r->begun ? ROW_STOP : ROW_PASS;
        r->status = dm_error(
            r->diag, DM_INCONSISTENT, here(r), NULL,
            "segment '%.*s' goes on after another one began; the rows of a "
            "segment must follow each other",
            (int)(head->segment.length < 40 ? head->segment.length : 40),
            head->segment.text);
        return ROW_WRONG;
    }
    double x = head->x * r->scale;
    if (!isnan(e->rows_to) && x > e->rows_to)
        return ROW_STOP;
    return ROW_TAKE;
}

/* End of the file before the segment was met: look from the begin once, for
 * events that do not follow the order of the rows. */
static dm_status at_end(dm_readings *r)
{
    bool segmented = !is_turn(r) && r->event->segment && r->layout->segment;
    r->passed = true;
    if (segmented && !r->begun && !r->from_start && !r->wrapped) {
        r->wrapped = true;
        dm_status status = csv_rewind(&r->file, r->diag);
        return status == DM_OK ? read_header(r) : status;
    }
    r->ended = true;
    if (segmented && !r->begun && r->bad == 0)
        return dm_error(r->diag, DM_REFERENCE, r->event->place, NULL,
                        "no rows of segment '%s' in %s", r->event->segment,
                        r->file.path);
    return DM_OK;
}

dm_status dm_readings_next(dm_readings *r, dm_block *block)
{
    size_t n = 0;
    *block = (dm_block){.x = r->x, .value = r->value};
    while (n < BLOCK && !r->ended && r->status != DM_INCONSISTENT) {
        const char *line;
        size_t length;
        dm_status status = csv_line(&r->file, r->diag, &line, &length);
        if (status == DM_OK && !line)
            status = at_end(r);
        if (status != DM_OK)
            return r->status = status;
        if (!line)
            continue;
        row_head head = {{"", 0}, 0.0};
        if (!read_plain(r, line, length, n, &head) &&
            !read_cells(r, line, length, n, &head))
            continue;
        row_fate fate = judge(r, &head);
        if (fate == ROW_STOP) {
            csv_unread(&r->file, line);
            r->ended = true;
        } else if (fate == ROW_TAKE) {
            if (n == 0)
                block->first_line = r->file.line;
            r->begun = true;
            r->x[n++] = head.x * r->scale;
        }
    }
    block->count = n;
    if (n == 0 || r->status == DM_INCONSISTENT) {
        block->count = 0;
        return r->status;
    }
    return DM_OK;
}

/* ---- opening
 * ------------------------------------------------------------------- */

static void position(dm_readings *r, const dm_event *event)
{
    r->event = event;
    r->begun = r->ended = r->wrapped = r->from_start = false;
    r->scale = event->kind == DM_EVENT_TURN ? 3.14159265358979323846 / 180.0
                                            : r->layout->x_unit;
    r->done[event - r->run->events] = true;
}

static dm_status open_file(dm_readings *r)
{
    dm_status status = csv_open(&r->file, r->event->href, r->layout->delimiter,
                                r->event->place, r->diag);
    r->from_start = true;
    r->bad = 0;
    r->passed = false;
    r->status = DM_OK;
    return status == DM_OK ? read_header(r) : status;
}

dm_status dm_readings_open(const dm_survey *survey, const dm_run *run,
                           const dm_event *event, dm_diag *diag,
                           dm_readings **out)
{
    *out = NULL;
    const dm_columns *layout = &survey->columns[run->columns];
    dm_readings *r = calloc(1, sizeof *r);
    if (!r)
        return dm_error(diag, DM_NOMEM, event->place, NULL, "out of memory");
    r->survey = survey;
    r->run = run;
    r->layout = layout;
    r->diag = diag;
    r->file.fd = -1;
    r->done = calloc(run->event_count, sizeof *r->done);
    r->role = calloc(CSV_MOST_COLUMNS, sizeof *r->role);
    r->x = calloc(BLOCK, sizeof *r->x);
    r->values = calloc(layout->value_count * BLOCK, sizeof *r->values);
    r->value = calloc(layout->value_count, sizeof *r->value);
    if (!r->done || !r->role || !r->x || !r->values || !r->value) {
        dm_readings_close(r);
        return dm_error(diag, DM_NOMEM, event->place, NULL, "out of memory");
    }
    for (size_t k = 0; k < layout->value_count; k++)
        r->value[k] = r->values + k * BLOCK;
    position(r, event);
    dm_status status = open_file(r);
    if (status != DM_OK) {
        dm_readings_close(r);
        return status;
    }
    *out = r;
    return DM_OK;
}

dm_status dm_readings_resume(dm_readings *r, const dm_event *event)
{
    bool same_file = r->file.fd >= 0 &&
                     strcmp(event->href, r->file.path) == 0 &&
                     (event->kind == DM_EVENT_TURN) == is_turn(r) &&
                     (event->segment || !isnan(event->rows_from));
    position(r, event);
    r->status = DM_OK; /* what was wrong was said with the event before */
    if (same_file)
        return DM_OK;
    csv_close(&r->file);
    return open_file(r);
}

dm_status dm_readings_sha256(dm_readings *r, char out[65])
{
    return csv_sha256(&r->file, r->diag, out);
}

void dm_readings_close(dm_readings *r)
{
    if (!r)
        return;
    csv_close(&r->file);
    free(r->done);
    free(r->role);
    free(r->x);
    free(r->values);
    free(r->value);
    free(r);
}
