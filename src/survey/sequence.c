/* SPDX-License-Identifier: MIT
 * What the schema cannot see of runs: the order of their events, rows that
 * are named twice, and parts of files that hold rows of several stretches. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/diag.h"
#include "survey/read.h"

#define ROLL_BACK 0.5 /* m a run distance may go back between two events */

/* ---- order ------------------------------------------------------------------
 */

typedef struct {
    size_t starts;
    bool early;   /* something before the start was said */
    bool unknown; /* a skip of unknown length and no tie since */
    double x;     /* of the event before; -inf: none */
} course;

/* Events that need the sensor to have a place on the tendon. */
static bool needs_start(dm_event_kind kind)
{
    return kind == DM_EVENT_READINGS || kind == DM_EVENT_TIE ||
           kind == DM_EVENT_SKIP || kind == DM_EVENT_REZERO;
}

/* Events that are written down where they happen. A turn may be taken on the
 * way back, a lift noted afterwards, a check anywhere. */
static bool is_ordered(dm_event_kind kind)
{
    return kind == DM_EVENT_START || kind == DM_EVENT_TIE ||
           kind == DM_EVENT_SKIP || kind == DM_EVENT_REZERO;
}

static void check_start(book *b, const dm_run *run, const dm_event *e,
                        const dm_xml_node *node, course *c)
{
    if (e->kind == DM_EVENT_START && c->starts++ > 0)
        dm_xml_fault(b->xml, node, DM_INCONSISTENT, "run %s has a second start",
                     run->id);
    if (!needs_start(e->kind) || c->starts > 0 || c->early)
        return;
    c->early = true;
    dm_xml_fault(b->xml, node, DM_INCONSISTENT,
                 "run %s has %s before its start", run->id,
                 e->kind == DM_EVENT_READINGS ? "readings"
                 : e->kind == DM_EVENT_TIE    ? "a tie"
                 : e->kind == DM_EVENT_SKIP   ? "a skip"
                                              : "a rezero");
}

static bool has_start(const dm_run *run)
{
    for (size_t i = 0; i < run->event_count; i++)
        if (run->events[i].kind == DM_EVENT_START)
            return true;
    return false;
}

static void check_unknown_skips(book *b, const dm_event *e,
                                const dm_xml_node *node, course *c)
{
    if (e->kind == DM_EVENT_TIE)
        c->unknown = false;
    if (e->kind != DM_EVENT_SKIP || e->length_known)
        return;
    if (c->unknown)
        dm_xml_fault(b->xml, node, DM_INCONSISTENT,
                     "a second skip of unknown length and no tie since the "
                     "first");
    c->unknown = true;
}

static void check_gap(book *b, const dm_run *run, const dm_event *e,
                      const dm_xml_node *node)
{
    const dm_instrument *in = &b->survey->instruments[run->instrument];

    if (e->kind == DM_EVENT_SKIP && e->basis == DM_SKIP_GAP &&
        in->nose + in->tail <= 0.0)
        dm_xml_fault(b->xml, node, DM_INCONSISTENT,
                     "a gap needs the body's nose and tail, but they are 0 in "
                     "instrument %s",
                     in->id);
}

static void check_order(book *b, const dm_event *e, const dm_xml_node *node,
                        course *c)
{
    if (!is_ordered(e->kind) || isnan(e->x))
        return;
    if (e->x < c->x - ROLL_BACK)
        dm_xml_fault(b->xml, node, DM_INCONSISTENT,
                     "the run distance goes back by more than 0.5 m without "
                     "a rezero");
    c->x = e->x_resume;
}

void book_check_sequence(book *b, const dm_run *run,
                         const dm_xml_node *const *nodes)
{
    course c = {0, false, false, -(double)INFINITY};

    if (!has_start(run)) {
        c.early = true; /* this says it */
        dm_xml_fault(b->xml, nodes[run->event_count], DM_INCONSISTENT,
                     "run %s has no start", run->id);
    }
    for (size_t i = 0; i < run->event_count; i++) {
        const dm_event *e = &run->events[i];

        check_start(b, run, e, nodes[i], &c);
        check_unknown_skips(b, e, nodes[i], &c);
        check_gap(b, run, e, nodes[i]);
        check_order(b, e, nodes[i], &c);
    }
}

/* ---- parts of files
 * ---------------------------------------------------------- */

/* What can be told apart by run distance alone must grow with it. */
static void check_part(book *b, const dm_event *e, const dm_xml_node *node)
{
    if (e->kind == DM_EVENT_REZERO)
        dm_xml_fault(b->xml, node, DM_UNSUPPORTED,
                     "a rezero needs readings with a segment before and "
                     "after it");
    else if (e->x_resume < e->x)
        dm_xml_fault(b->xml, node, DM_UNSUPPORTED,
                     "a skip after which the run distance is less needs "
                     "readings with a segment before and after it");
}

/* Is the next readings, skip or rezero event after i readings of its own? */
static bool brings_readings(const dm_run *run, size_t i)
{
    for (i++; i < run->event_count; i++) {
        dm_event_kind kind = run->events[i].kind;

        if (kind == DM_EVENT_READINGS)
            return true;
        if (kind == DM_EVENT_SKIP || kind == DM_EVENT_REZERO)
            return false;
    }
    return false;
}

/* Ends the part out[*open] at a skip and begins the next one; returns the new
 * count of events. Parts follow each other: a skip noted a little before the
 * one before it cuts where that one did. */
static size_t cut(dm_event *out, size_t n, size_t *open, double x)
{
    dm_event *part = &out[*open];

    if (isnan(part->rows_from))
        part->rows_from = -(double)INFINITY;
    part->rows_to = fmax(x, part->rows_from);
    out[n] = *part;
    out[n].rows_from = part->rows_to;
    out[n].rows_to = (double)INFINITY;
    *open = n;
    return n + 1;
}

void book_split_rows(book *b, dm_run *run, const dm_xml_node *const *nodes)
{
    dm_event *out = DM_NEW_ARRAY(b->arena, dm_event, 2 * run->event_count);
    size_t n = 0, open = DM_NONE;

    if (out == NULL) {
        b->out_of_memory = true;
        return;
    }
    for (size_t i = 0; i < run->event_count; i++) {
        const dm_event *e = &run->events[i];

        out[n++] = *e;
        if (e->kind == DM_EVENT_READINGS)
            open = e->segment == NULL ? n - 1 : DM_NONE;
        if (open == DM_NONE ||
            (e->kind != DM_EVENT_SKIP && e->kind != DM_EVENT_REZERO) ||
            brings_readings(run, i))
            continue;
        check_part(b, e, nodes[i]);
        n = cut(out, n, &open, e->x);
    }
    run->events = out;
    run->event_count = n;
}

/* ---- named twice
 * --------------------------------------------------------------- */

/* A run's id, or the file and segment of its readings. */
typedef struct {
    const char *name, *segment; /* "": of an id; whole file */
    dm_place place;
    size_t order; /* of reading */
    size_t run;
    size_t repeats; /* order of the first that it repeats; DM_NONE: none */
} named;

static int by_name(const void *p, const void *q)
{
    const named *x = p, *y = q;
    int order = strcmp(x->name, y->name);

    if (order == 0)
        order = strcmp(x->segment, y->segment);
    if (order == 0)
        order = x->order < y->order ? -1 : x->order > y->order;
    return order;
}

static int by_order(const void *p, const void *q)
{
    const named *x = p, *y = q;

    return x->order < y->order ? -1 : x->order > y->order;
}

/* The later of two repeats the earlier one. */
static void mark_pair(named *a, named *b)
{
    named *later = a->order < b->order ? b : a;

    if (later->repeats == DM_NONE)
        later->repeats = a->order < b->order ? a->order : b->order;
}

/* Marks what repeats something, and sorts by order again. A whole file (the
 * first of its name, since "" sorts first) holds every segment of it. */
static void mark_repeated(named *list, size_t n)
{
    size_t file = 0, same = 0;

    if (n > 1)
        qsort(list, n, sizeof *list, by_name);
    for (size_t i = 1; i < n; i++) {
        if (strcmp(list[i].name, list[file].name) != 0) {
            file = same = i;
            continue;
        }
        if (strcmp(list[i].segment, list[same].segment) == 0)
            mark_pair(&list[same], &list[i]);
        else
            same = i;
        if (list[file].segment[0] == '\0' && i != file)
            mark_pair(&list[file], &list[i]);
    }
    if (n > 1)
        qsort(list, n, sizeof *list, by_order);
}

static void keep_first(book *b, dm_status status)
{
    if (b->status == DM_OK)
        b->status = status;
}

/* Ids of runs, over all books; a book's own are the schema's matter. Sets
 * second[i] where run i bears the id of another. */
static void check_run_ids(book *b, named *list, bool *second)
{
    const dm_survey *s = b->survey;

    for (size_t i = 0; i < s->run_count; i++)
        list[i] = (named){.name = s->runs[i].id,
                          .segment = "",
                          .place = s->runs[i].place,
                          .order = i,
                          .run = i,
                          .repeats = DM_NONE};
    mark_repeated(list, s->run_count);
    for (size_t i = b->runs_before; i < s->run_count; i++) {
        const named *r = &list[i];

        second[i] = r->repeats != DM_NONE;
        if (second[i])
            keep_first(b, dm_error(b->diag, DM_REFERENCE, r->place, "run",
                                   "a second run '%s'; the first is at %s:%ld",
                                   r->name, list[r->repeats].place.file,
                                   list[r->repeats].place.line));
    }
}

/* `list` NULL: only counts. */
static size_t list_rows(const dm_survey *s, named *list)
{
    size_t n = 0;

    for (size_t i = 0; i < s->run_count; i++)
        for (size_t k = 0; k < s->runs[i].event_count; k++) {
            const dm_event *e = &s->runs[i].events[k];
            bool later_part = e->rows_from > -(double)INFINITY;

            if (e->kind != DM_EVENT_READINGS || later_part)
                continue;
            if (list != NULL)
                list[n] =
                    (named){.name = e->href,
                            .segment = e->segment != NULL ? e->segment : "",
                            .place = e->place,
                            .order = n,
                            .run = i,
                            .repeats = DM_NONE};
            n++;
        }
    return n;
}

/* The same rows for two events would count twice. Of a second run of one id
 * enough was said. */
static void check_rows(book *b, const named *list, size_t n, const bool *second)
{
    for (size_t i = 0; i < n; i++) {
        const named *r = &list[i], *first;

        if (r->run < b->runs_before || r->repeats == DM_NONE || second[r->run])
            continue;
        first = &list[r->repeats];
        if (first->run == r->run)
            keep_first(b,
                       dm_error(b->diag, DM_INCONSISTENT, r->place, "readings",
                                "the run has these rows already, at line "
                                "%ld",
                                first->place.line));
        else
            keep_first(b,
                       dm_error(b->diag, DM_INCONSISTENT, r->place, "readings",
                                "run %s has these rows already, at %s:%ld",
                                b->survey->runs[first->run].id,
                                first->place.file, first->place.line));
    }
}

void book_check_unique(book *b)
{
    size_t rows = list_rows(b->survey, NULL);
    size_t most = rows > b->survey->run_count ? rows : b->survey->run_count;
    named *list = calloc(most + 1, sizeof *list);
    bool *second = calloc(b->survey->run_count + 1, sizeof *second);

    if (list != NULL && second != NULL) {
        check_run_ids(b, list, second);
        list_rows(b->survey, list);
        mark_repeated(list, rows);
        check_rows(b, list, rows, second);
    } else {
        b->out_of_memory = true;
    }
    free(second);
    free(list);
}
