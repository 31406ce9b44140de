/* SPDX-License-Identifier: MIT
 * Runs and their events, one by one; what the order of events must be is
 * checked in sequence.c. */
#include <math.h>
#include <string.h>

#include "survey/read.h"

#define WARN_SKIP 10.0 /* m */

/* ---- events -----------------------------------------------------------------
 */

static double run_x(book *b, const dm_xml_node *n, const char *name,
                    double fallback)
{
    return dm_xml_length(b->xml, n, name, -1e4, 1e5, fallback);
}

static void read_tie(book *b, const dm_xml_node *n, const dm_run *run,
                     dm_event *e)
{
    static const char *const words[] = {"nose", "tail", "encoder", "electrode",
                                        NULL};

    e->face = book_face(b, n, "at", run->tendon);
    e->with = (dm_with)dm_xml_word(b->xml, n, "with", words, 0);
    e->distance = dm_xml_length(b->xml, n, "distance", 0.0, 100.0, 0.0);
}

static void read_skip(book *b, const dm_xml_node *n, dm_event *e)
{
    static const char *const basis[] = {"displacement", "gap", NULL};

    e->x_resume = run_x(b, n, "x-resume", e->x);
    e->length_known = dm_xml_has(n, "length");
    e->length = dm_xml_length(b->xml, n, "length", 0.0, 1000.0, 0.0);
    e->basis = (dm_skip_basis)dm_xml_word(b->xml, n, "basis", basis, 0);
    e->reason = dm_xml_text(b->xml, n, "reason", NULL);
    if (e->length_known && e->length > WARN_SKIP)
        dm_xml_warn(b->xml, n, "a skip longer than 10 m");
}

static void read_lift(book *b, const dm_xml_node *n, dm_event *e)
{
    e->x_to = run_x(b, n, "x-to", e->x);
    e->reason = dm_xml_text(b->xml, n, "reason", NULL);
    if (e->x_to < e->x)
        dm_xml_fault(b->xml, n, DM_INCONSISTENT,
                     "the lift ends before it begins (x-to below x)");
}

static void read_readings(book *b, const dm_xml_node *n, const dm_run *run,
                          dm_event *e)
{
    e->href = book_href(b, n, "href");
    e->segment = dm_xml_text(b->xml, n, "segment", NULL);
    if (e->segment != NULL && b->survey->columns[run->columns].segment == NULL)
        dm_xml_fault(b->xml, n, DM_INCONSISTENT,
                     "a segment, but the columns name no segment column");
}

static void read_turn(book *b, const dm_xml_node *n, const dm_run *run,
                      dm_event *e)
{
    static const char *const ways[] = {"clockwise", "counterclockwise", NULL};

    e->href = book_href(b, n, "readings");
    e->counterclockwise = dm_xml_word(b->xml, n, "direction", ways, 0) == 1;
    if (b->survey->columns[run->columns].clock == NULL)
        dm_xml_fault(b->xml, n, DM_REFERENCE,
                     "a turn, but the field book's columns name no clock "
                     "column");
}

static void read_check(book *b, const dm_xml_node *n, const dm_run *run,
                       dm_event *e)
{
    static const char *const kinds[] = {"air", "reference", NULL};
    const dm_instrument *in = &b->survey->instruments[run->instrument];

    e->check = (dm_check_kind)dm_xml_word(b->xml, n, "kind", kinds, 0);
    e->value = dm_xml_real(b->xml, n, "value", -1e12, 1e12, 0.0);
    if (!dm_xml_has(n, "channel"))
        return;
    e->channel = book_channel(in, dm_xml_text(b->xml, n, "channel", ""));
    if (e->channel == DM_NONE)
        dm_xml_fault(b->xml, n, DM_REFERENCE,
                     "instrument %s has no channel '%s'", in->id,
                     dm_xml_text(b->xml, n, "channel", ""));
}

static dm_event_kind event_kind(const dm_xml_node *n)
{
    static const char *const names[] = {"readings", "start",  "tie",
                                        "skip",     "rezero", "lift",
                                        "turn",     "check",  "note"};
    int k = DM_EVENT_NOTE;

    while (k > 0 && strcmp(dm_xml_name(n), names[k]) != 0)
        k--;
    return (dm_event_kind)k;
}

static void read_event(book *b, const dm_xml_node *n, const dm_run *run,
                       dm_event *e)
{
    const double nan = (double)NAN;

    *e = (dm_event){.kind = event_kind(n),
                    .place = dm_xml_place(b->xml, n),
                    .face = DM_NONE,
                    .channel = DM_NONE,
                    .x_to = nan,
                    .rows_from = nan,
                    .rows_to = nan};
    e->x = run_x(b, n, "x", nan);
    e->x_resume = e->x;
    e->u = dm_xml_length(b->xml, n, "u", 0.0, 10.0, nan);
    switch (e->kind) {
    case DM_EVENT_READINGS:
        read_readings(b, n, run, e);
        break;
    case DM_EVENT_START:
    case DM_EVENT_TIE:
        read_tie(b, n, run, e);
        break;
    case DM_EVENT_SKIP:
        read_skip(b, n, e);
        break;
    case DM_EVENT_REZERO:
        e->x_resume = run_x(b, n, "x-resume", 0.0);
        break;
    case DM_EVENT_LIFT:
        read_lift(b, n, e);
        break;
    case DM_EVENT_TURN:
        read_turn(b, n, run, e);
        break;
    case DM_EVENT_CHECK:
        read_check(b, n, run, e);
        break;
    case DM_EVENT_NOTE:
        break;
    }
}

static void read_events(book *b, const dm_xml_node *node, dm_run *run)
{
    size_t count = dm_xml_count(node, NULL);
    const dm_xml_node **nodes =
        DM_NEW_ARRAY(b->arena, const dm_xml_node *, count + 1);

    run->events = DM_NEW_ARRAY(b->arena, dm_event, count);
    if (!run->events || !nodes) {
        b->out_of_memory = true;
        return;
    }
    for (const dm_xml_node *n = dm_xml_child(node, NULL); n;
         n = dm_xml_next(n, NULL)) {
        nodes[run->event_count] = n;
        read_event(b, n, run, &run->events[run->event_count++]);
    }
    nodes[run->event_count] = node;
    book_check_sequence(b, run, nodes);
    book_split_rows(b, run, nodes);
}

/* ---- runs -------------------------------------------------------------------
 */

static void read_instrument(book *b, const dm_xml_node *n, dm_run *run)
{
    const char *id = dm_xml_text(b->xml, n, "instrument", "");

    run->instrument = book_instrument(b, id);
    if (run->instrument == DM_NONE)
        run->instrument = b->instruments_before; /* the schema has refused it */
    run->columns = b->columns_before + run->instrument - b->instruments_before;
    if (b->survey->columns[run->columns].value_count == 0)
        dm_xml_fault(b->xml, n, DM_REFERENCE,
                     "no value column is of a channel of instrument %s", id);
}

static void read_run(book *b, const dm_xml_node *n, dm_run *run)
{
    static const char *const directions[] = {"ahead", "back", NULL};
    static const char *const views[] = {"ahead", "back", NULL};
    static const char *const ends[] = {"nose", "tail", NULL};
    const book_tape *tape;

    run->place = dm_xml_place(b->xml, n);
    run->id = dm_xml_text(b->xml, n, "id", "");
    run->tendon = book_tendon(b, n);
    read_instrument(b, n, run);
    run->direction = dm_xml_word(b->xml, n, "direction", directions, 0) == 0
                         ? DM_SIDE_AHEAD
                         : DM_SIDE_BACK;
    run->leading = dm_xml_word(b->xml, n, "leading", ends, 0) == 0
                       ? DM_LEADING_NOSE
                       : DM_LEADING_TAIL;
    run->clock = book_clock(b, n);
    run->clock_back = dm_xml_word(b->xml, n, "clock-view", views, 0) == 1;
    run->tape = dm_xml_text(b->xml, n, "tape", NULL);
    tape = run->tape != NULL ? book_find_tape(b, run->tape) : NULL;
    run->tape_u = tape != NULL ? tape->scale_u : 0.0;
    run->time = dm_xml_text(b->xml, n, "time", NULL);
    if (run->time != NULL)
        book_warn_once(b, n, &b->said_time, "time: not used yet");
    run->temperature =
        dm_xml_temperature(b->xml, n, "temperature", -60.0, 80.0, (double)NAN);
    if (!isnan(run->temperature))
        book_warn_once(b, n, &b->said_temperature, "temperature: not used yet");
    read_events(b, n, run);
}

void book_read_runs(book *b, const dm_xml_node *root)
{
    for (const dm_xml_node *n = dm_xml_child(root, "run"); n;
         n = dm_xml_next(n, "run"))
        read_run(b, n, &b->survey->runs[b->survey->run_count++]);
}
