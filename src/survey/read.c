/* SPDX-License-Identifier: MIT
 * Field books: the schema has checked the form; here ids are resolved against
 * the bridge and quantities against their ranges. */
#include "survey/read.h"

#include <math.h>
#include <string.h>
#include <strings.h>

#include "base/diag.h"
#include "base/file.h"
#include "model/schemas.h"

static const double TWO_PI = 6.283185307179586476925;

double book_clock(book *b, const dm_xml_node *node)
{
    static const char *const view[] = {"ahead", "back", NULL};
    double clock = dm_xml_clock(b->xml, node, "clock", 0.0);
    if (dm_xml_word(b->xml, node, "clock-view", view, 0) == 1 && clock > 0.0)
        return TWO_PI - clock;
    return clock;
}

/* A tendon by id, with a fault where there is none. */
static size_t find_tendon(book *b, const dm_xml_node *node)
{
    const char *id = dm_xml_text(b->xml, node, "tendon", "");
    size_t tendon = dm_model_find_tendon(b->model, id);
    if (tendon == DM_NONE)
        dm_xml_fault(b->xml, node, DM_REFERENCE,
                     "no tendon '%s' in the bridge %s", id, b->model->id);
    return tendon;
}

static size_t find_face(book *b, const dm_xml_node *node, const char *name,
                        size_t tendon)
{
    const char *id = dm_xml_text(b->xml, node, name, "");
    if (tendon == DM_NONE)
        return DM_NONE;
    const dm_tendon *t = &b->model->tendons[tendon];
    size_t face = dm_tendon_find_face(t, id);
    if (face != DM_NONE)
        return face;
    dm_buf list = {0};
    for (size_t i = 0; i < t->face_count; i++)
        dm_buf_printf(&list, "%s%s", i ? ", " : "", t->faces[i].id);
    dm_xml_fault(b->xml, node, DM_REFERENCE,
                 "tendon %s has no face '%s'; its faces are: %s", t->id, id,
                 list.failed || !list.data ? "" : list.data);
    dm_buf_free(&list);
    return DM_NONE;
}

/* ---- tapes and columns
 * ------------------------------------------------------- */

static double tape_scale_u(book *b, const char *id)
{
    for (const dm_xml_node *n = dm_xml_child(b->tapes, "tape"); n;
         n = dm_xml_next(n, "tape"))
        if (strcmp(dm_xml_text(b->xml, n, "id", ""), id) == 0)
            return dm_xml_real(b->xml, n, "scale-u", 0.0, 0.05, 0.0);
    return 0.0; /* the schema's key has refused it */
}

static size_t find_channel(const dm_instrument *in, const char *id)
{
    for (size_t i = 0; i < in->channel_count; i++)
        if (strcmp(in->channels[i].id, id) == 0)
            return i;
    return DM_NONE;
}

/* The values of `root` that are channels of one instrument. */
static void read_values(book *b, const dm_xml_node *columns,
                        const dm_instrument *in, dm_columns *c)
{
    size_t count = dm_xml_count(columns, "value");
    c->channel = DM_NEW_ARRAY(b->arena, size_t, count);
    c->value = DM_NEW_ARRAY(b->arena, const char *, count);
    if (!c->channel || !c->value) {
        b->out_of_memory = true;
        return;
    }
    for (const dm_xml_node *v = dm_xml_child(columns, "value"); v;
         v = dm_xml_next(v, "value")) {
        const char *name = dm_xml_text(b->xml, v, "column", "");
        size_t channel =
            find_channel(in, dm_xml_text(b->xml, v, "channel", ""));
        if (channel == DM_NONE)
            continue;
        bool taken = strcmp(name, c->x) == 0 ||
                     (c->segment && strcmp(name, c->segment) == 0) ||
                     (c->clock && strcmp(name, c->clock) == 0);
        for (size_t i = 0; i < c->value_count; i++)
            taken = taken || strcmp(name, c->value[i]) == 0;
        if (taken)
            dm_xml_fault(b->xml, v, DM_INCONSISTENT,
                         "column '%s' is named twice", name);
        c->channel[c->value_count] = channel;
        c->value[c->value_count++] = name;
    }
}

/* One description per instrument: which columns hold its channels. */
void book_read_columns(book *b, const dm_xml_node *root)
{
    static const char *const delimiters[] = {"comma", "semicolon", "tab",
                                             "space", NULL};
    static const char *const decimals[] = {"point", "comma", NULL};
    const dm_xml_node *n = dm_xml_child(root, "columns");
    dm_columns c = {0};
    c.delimiter = ",;\t "[dm_xml_word(b->xml, n, "delimiter", delimiters, 0)];
    c.decimal = ".,"[dm_xml_word(b->xml, n, "decimal", decimals, 0)];
    c.x = dm_xml_text(b->xml, n, "run-distance", "");
    c.x_unit = dm_unit_metres(dm_xml_text(b->xml, n, "unit", "m"));
    c.segment = dm_xml_text(b->xml, n, "segment", NULL);
    c.clock = dm_xml_text(b->xml, n, "clock", NULL);
    c.time = dm_xml_text(b->xml, n, "time", NULL);
    if (c.delimiter == ',' && c.decimal == ',')
        dm_xml_fault(b->xml, n, DM_INCONSISTENT,
                     "delimiter and decimal are both a comma");
    if (c.segment && strcmp(c.segment, c.x) == 0)
        dm_xml_fault(b->xml, n, DM_INCONSISTENT, "column '%s' is named twice",
                     c.x);
    if (c.time)
        dm_xml_warn(b->xml, n, "time: not used yet");
    for (size_t i = b->instruments_before; i < b->survey->instrument_count;
         i++) {
        dm_columns *own = &b->survey->columns[b->survey->columns_count++];
        *own = c;
        read_values(b, n, &b->survey->instruments[i], own);
    }
}

/* ---- runs
 * ------------------------------------------------------------------------ */

static dm_with read_with(book *b, const dm_xml_node *n)
{
    static const char *const words[] = {"nose", "tail", "encoder", "electrode",
                                        NULL};
    return (dm_with)dm_xml_word(b->xml, n, "with", words, 0);
}

static double run_x(book *b, const dm_xml_node *n, const char *name,
                    double fallback)
{
    return dm_xml_length(b->xml, n, name, -1e4, 1e5, fallback);
}

static const char *resolved(book *b, const dm_xml_node *n, const char *name)
{
    const char *href = dm_xml_text(b->xml, n, name, "");
    const char *path = dm_path_resolve(b->arena, dm_xml_file(b->xml), href);
    if (!path)
        b->out_of_memory = true;
    return path ? path : href;
}

static void read_skip(book *b, const dm_xml_node *n, dm_event *e)
{
    static const char *const basis[] = {"displacement", "gap", NULL};
    e->x_resume = run_x(b, n, "x-resume", e->x);
    e->length_known = dm_xml_has(n, "length");
    e->length = dm_xml_length(b->xml, n, "length", 0.0, 1000.0, 0.0);
    e->basis = (dm_skip_basis)dm_xml_word(b->xml, n, "basis", basis, 0);
    e->reason = dm_xml_text(b->xml, n, "reason", NULL);
    if (e->length_known && e->length > 10.0)
        dm_xml_warn(b->xml, n, "a skip longer than 10 m");
}

static void read_check_channel(book *b, const dm_xml_node *n, const dm_run *run,
                               dm_event *e)
{
    const dm_instrument *in = &b->survey->instruments[run->instrument];
    const char *id = dm_xml_text(b->xml, n, "channel", "");
    e->channel = find_channel(in, id);
    if (e->channel == DM_NONE)
        dm_xml_fault(b->xml, n, DM_REFERENCE,
                     "instrument %s has no channel '%s'", in->id, id);
}

static void read_event(book *b, const dm_xml_node *n, const dm_run *run,
                       dm_event *e)
{
    static const char *const names[] = {"readings", "start",  "tie",
                                        "skip",     "rezero", "lift",
                                        "turn",     "check",  "note"};
    static const char *const checks[] = {"air", "reference", NULL};
    const double nan = (double)NAN;
    *e = (dm_event){.place = dm_xml_place(b->xml, n),
                    .face = DM_NONE,
                    .channel = DM_NONE,
                    .x_to = nan,
                    .rows_from = nan,
                    .rows_to = nan};
    for (int k = 0; k < 9; k++)
        if (strcmp(dm_xml_name(n), names[k]) == 0)
            e->kind = (dm_event_kind)k;
    e->x = run_x(b, n, "x", nan);
    e->x_resume = e->x;
    e->u = dm_xml_length(b->xml, n, "u", 0.0, 10.0, nan);
    switch (e->kind) {
    case DM_EVENT_READINGS:
        e->href = resolved(b, n, "href");
        e->segment = dm_xml_text(b->xml, n, "segment", NULL);
        break;
    case DM_EVENT_START:
    case DM_EVENT_TIE:
        e->face = find_face(b, n, "at", run->tendon);
        e->with = read_with(b, n);
        e->distance = dm_xml_length(b->xml, n, "distance", 0.0, 100.0, 0.0);
        break;
    case DM_EVENT_SKIP:
        read_skip(b, n, e);
        break;
    case DM_EVENT_REZERO:
        e->x_resume = run_x(b, n, "x-resume", 0.0);
        break;
    case DM_EVENT_LIFT:
        e->x_to = run_x(b, n, "x-to", e->x);
        e->reason = dm_xml_text(b->xml, n, "reason", NULL);
        if (e->x_to < e->x)
            dm_xml_fault(b->xml, n, DM_INCONSISTENT,
                         "the lift ends before it begins (x-to below x)");
        break;
    case DM_EVENT_TURN:
        e->href = resolved(b, n, "readings");
        break;
    case DM_EVENT_CHECK:
        e->check = (dm_check_kind)dm_xml_word(b->xml, n, "kind", checks, 0);
        e->value = dm_xml_real(b->xml, n, "value", -1e12, 1e12, 0.0);
        if (dm_xml_has(n, "channel"))
            read_check_channel(b, n, run, e);
        break;
    case DM_EVENT_NOTE:
        break;
    }
}

/* What the schema cannot see: one start first, order of x, unknown skips. */
static void check_sequence(book *b, const dm_run *run,
                           const dm_xml_node *const *nodes)
{
    size_t starts = 0, unknown = 0;
    double last = -1e9;
    for (size_t i = 0; i < run->event_count; i++) {
        const dm_event *e = &run->events[i];
        if (e->kind == DM_EVENT_START && starts++ > 0)
            dm_xml_fault(b->xml, nodes[i], DM_INCONSISTENT,
                         "run %s has a second start", run->id);
        if (e->kind == DM_EVENT_READINGS && starts == 0)
            dm_xml_fault(b->xml, nodes[i], DM_INCONSISTENT,
                         "run %s has readings before its start", run->id);
        if (e->kind == DM_EVENT_TIE)
            unknown = 0;
        if (e->kind == DM_EVENT_SKIP && !e->length_known && unknown++ > 0)
            dm_xml_fault(b->xml, nodes[i], DM_INCONSISTENT,
                         "a second skip of unknown length and no tie since "
                         "the first");
        bool ordered = e->kind == DM_EVENT_START || e->kind == DM_EVENT_TIE ||
                       e->kind == DM_EVENT_SKIP || e->kind == DM_EVENT_REZERO;
        if (!ordered || isnan(e->x))
            continue;
        if (e->x < last - 0.5)
            dm_xml_fault(b->xml, nodes[i], DM_INCONSISTENT,
                         "the run distance goes back by more than 0.5 m "
                         "without a rezero");
        last = e->x_resume; /* after a skip or a rezero */
    }
    if (starts == 0)
        dm_xml_fault(b->xml, nodes[run->event_count], DM_INCONSISTENT,
                     "run %s has no start", run->id);
}

/* Rows that two readings elements would both take. */
static void check_readings(book *b, const dm_run *run,
                           const dm_xml_node *const *nodes)
{
    const dm_columns *c = &b->survey->columns[run->columns];
    for (size_t i = 0; i < run->event_count; i++) {
        const dm_event *e = &run->events[i];
        if (e->kind != DM_EVENT_READINGS)
            continue;
        if (e->segment && !c->segment)
            dm_xml_fault(b->xml, nodes[i], DM_INCONSISTENT,
                         "a segment, but the columns name no segment column");
        for (size_t k = 0; k < i; k++) {
            const dm_event *o = &run->events[k];
            if (o->kind != DM_EVENT_READINGS || strcmp(o->href, e->href) != 0)
                continue;
            if (e->segment && o->segment && strcmp(e->segment, o->segment) != 0)
                continue;
            dm_xml_fault(b->xml, nodes[i], DM_INCONSISTENT,
                         "the run has these rows already, at line %ld",
                         o->place.line);
            break;
        }
    }
}

/* A readings element without a segment, followed by skips without readings of
 * their own: one part of its file per stretch between two skips. */
static void split_rows(book *b, dm_run *run, const dm_xml_node *const *nodes)
{
    dm_event *out = DM_NEW_ARRAY(b->arena, dm_event, 2 * run->event_count + 1);
    size_t n = 0;
    const dm_event *open = NULL;
    double from = -(double)INFINITY;
    if (!out) {
        b->out_of_memory = true;
        return;
    }
    for (size_t i = 0; i < run->event_count; i++) {
        dm_event *e = &run->events[i];
        bool whole = e->kind == DM_EVENT_READINGS && !e->segment;
        out[n++] = *e;
        if (e->kind == DM_EVENT_READINGS)
            open = whole ? e : NULL;
        if (whole)
            from = -(double)INFINITY;
        if (!open || (e->kind != DM_EVENT_SKIP && e->kind != DM_EVENT_REZERO))
            continue;
        bool more = i + 1 < run->event_count;
        for (size_t k = i + 1; k < run->event_count; k++)
            if (run->events[k].kind == DM_EVENT_READINGS)
                more = false;
        if (e->kind == DM_EVENT_REZERO)
            dm_xml_fault(b->xml, nodes[i], DM_UNSUPPORTED,
                         "a rezero needs readings with a segment before and "
                         "after it");
        else if (e->x_resume < e->x)
            dm_xml_fault(b->xml, nodes[i], DM_UNSUPPORTED,
                         "a skip after which the run distance is less needs "
                         "readings with a segment before and after it");
        for (size_t k = n; k-- > 0;)
            if (out[k].kind == DM_EVENT_READINGS) {
                out[k].rows_from = from;
                out[k].rows_to = e->x;
                break;
            }
        from = e->x;
        if (more || i + 1 == run->event_count) {
            out[n] = *open;
            out[n].rows_from = from;
            out[n++].rows_to = (double)INFINITY;
        }
    }
    run->events = out;
    run->event_count = n;
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
    bool turn = false;
    for (const dm_xml_node *n = dm_xml_child(node, NULL); n;
         n = dm_xml_next(n, NULL)) {
        nodes[run->event_count] = n;
        dm_event *e = &run->events[run->event_count++];
        read_event(b, n, run, e);
        turn = turn || e->kind == DM_EVENT_TURN;
    }
    nodes[run->event_count] = node;
    if (turn)
        dm_xml_warn(b->xml, node, "turns: not used yet");
    check_sequence(b, run, nodes);
    check_readings(b, run, nodes);
    split_rows(b, run, nodes);
}

static void read_run(book *b, const dm_xml_node *n, dm_run *run)
{
    static const char *const directions[] = {"ahead", "back", NULL};
    static const char *const ends[] = {"nose", "tail", NULL};
    run->place = dm_xml_place(b->xml, n);
    run->id = dm_xml_text(b->xml, n, "id", "");
    for (size_t i = 0; i < b->survey->run_count; i++)
        if (strcmp(b->survey->runs[i].id, run->id) == 0)
            dm_xml_fault(b->xml, n, DM_REFERENCE,
                         "a second run '%s'; the first is at %s:%ld", run->id,
                         b->survey->runs[i].place.file,
                         b->survey->runs[i].place.line);
    run->tendon = find_tendon(b, n);
    run->instrument =
        book_instrument(b, dm_xml_text(b->xml, n, "instrument", ""));
    if (run->instrument == DM_NONE)
        run->instrument = b->instruments_before;
    run->direction = dm_xml_word(b->xml, n, "direction", directions, 0) == 0
                         ? DM_SIDE_AHEAD
                         : DM_SIDE_BACK;
    run->leading = dm_xml_word(b->xml, n, "leading", ends, 0) == 0
                       ? DM_LEADING_NOSE
                       : DM_LEADING_TAIL;
    run->clock = book_clock(b, n);
    run->tape = dm_xml_text(b->xml, n, "tape", NULL);
    run->tape_u = run->tape ? tape_scale_u(b, run->tape) : 0.0;
    run->time = dm_xml_text(b->xml, n, "time", NULL);
    run->temperature =
        dm_xml_temperature(b->xml, n, "temperature", -60.0, 80.0, (double)NAN);
    run->columns = b->columns + (run->instrument - b->instruments_before);
    if (b->survey->columns[run->columns].value_count == 0)
        dm_xml_fault(b->xml, n, DM_REFERENCE,
                     "no value column is of a channel of instrument %s",
                     b->survey->instruments[run->instrument].id);
    read_events(b, n, run);
}

void book_read_runs(book *b, const dm_xml_node *root)
{
    for (const dm_xml_node *n = dm_xml_child(root, "run"); n;
         n = dm_xml_next(n, "run")) {
        dm_run run = {0};
        read_run(b, n, &run);
        b->survey->runs[b->survey->run_count++] = run;
    }
}

/* ---- as found
 * ----------------------------------------------------------------------- */

void book_read_opened(book *b, const dm_xml_node *root)
{
    const dm_xml_node *first = dm_xml_child(root, "opened");
    if (first)
        dm_xml_warn(b->xml, first, "not used yet");
    for (const dm_xml_node *n = first; n; n = dm_xml_next(n, "opened")) {
        dm_opened *o = &b->survey->opened[b->survey->opened_count++];
        o->place = dm_xml_place(b->xml, n);
        o->id = dm_xml_text(b->xml, n, "id", "");
        o->tap = dm_xml_text(b->xml, n, "tap", NULL);
        o->tendon = find_tendon(b, n);
        o->face = find_face(b, n, "face", o->tendon);
        o->distance = dm_xml_length(b->xml, n, "distance", 0.0, 1e3, 0.0);
        o->clock = book_clock(b, n);
        o->depth = dm_xml_length(b->xml, n, "depth", 0.0, 1.0, (double)NAN);
        o->found = dm_xml_text(b->xml, n, "found", "other");
        o->water = dm_xml_bool(b->xml, n, "water", false);
        o->strand = dm_xml_bool(b->xml, n, "strand", false);
        o->pressure_volume = (double)NAN;
        o->photo = dm_xml_text(b->xml, n, "photo", NULL);
        o->date = dm_xml_text(b->xml, n, "date", "");
    }
}

/* ---- books
 * ----------------------------------------------------------------------------
 */

/* Room for what this book adds to the survey's arrays. */
static void *extended(book *b, const void *old, size_t count, size_t more,
                      size_t size)
{
    void *grown = dm_arena_alloc(b->arena, count + more, size);
    if (!grown)
        b->out_of_memory = true;
    else if (count > 0)
        memcpy(grown, old, count * size);
    return grown;
}

#define EXTEND(b, items, count, more)                                          \
    ((items) = extended((b), (items), (count), (more), sizeof *(items)))

static void read_book(book *b, const dm_xml_node *root)
{
    dm_survey *s = b->survey;
    const char *bridge = dm_xml_text(b->xml, root, "bridge", "");
    if (strcasecmp(bridge, b->model->uid) != 0)
        dm_xml_fault(b->xml, root, DM_INCONSISTENT,
                     "the field book is for the bridge %s, but the bridge "
                     "file is %s",
                     bridge, b->model->uid);
    EXTEND(b, s->instruments, s->instrument_count,
           dm_xml_count(root, "instrument"));
    EXTEND(b, s->calibrations, s->calibration_count,
           dm_xml_count(root, "calibration"));
    EXTEND(b, s->columns, s->columns_count, dm_xml_count(root, "instrument"));
    EXTEND(b, s->runs, s->run_count, dm_xml_count(root, "run"));
    EXTEND(b, s->opened, s->opened_count, dm_xml_count(root, "opened"));
    if (b->out_of_memory)
        return;
    b->tapes = root;
    b->instruments_before = s->instrument_count;
    b->columns = s->columns_count;
    book_read_instruments(b, root);
    book_read_columns(b, root);
    book_read_calibrations(b, root);
    if (!b->out_of_memory)
        book_read_runs(b, root);
    book_read_opened(b, root);
    s->files[s->file_count] = dm_xml_file(b->xml);
    s->sha256[s->file_count] = dm_xml_sha256(b->xml);
    if (s->file_count++ == 0) {
        s->survey = dm_xml_text(b->xml, root, "survey", "");
        s->date = dm_xml_text(b->xml, root, "date", "");
    }
}

static dm_status open_book(book *b, const char *path, const dm_buf *text,
                           dm_diag *diag)
{
    return text ? dm_xml_read_text(path, text, "fieldbook", dm_xsd_fieldbook,
                                   dm_xsd_fieldbook_size, b->arena, diag,
                                   &b->xml)
                : dm_xml_read(path, "fieldbook", dm_xsd_fieldbook,
                              dm_xsd_fieldbook_size, b->arena, diag, &b->xml);
}

/* `text`: of the only book, or NULL to read the files. */
static dm_status read_books(const char *const *paths, size_t count,
                            const dm_buf *text, const dm_model *model,
                            dm_diag *diag, dm_survey **out)
{
    *out = NULL;
    dm_arena *arena = dm_arena_new();
    dm_survey *survey = arena ? DM_NEW(arena, dm_survey) : NULL;
    dm_status status = survey ? DM_OK : DM_NOMEM;
    bool said = false;
    if (survey) {
        survey->arena = arena;
        survey->files = DM_NEW_ARRAY(arena, const char *, count);
        survey->sha256 = DM_NEW_ARRAY(arena, const char *, count);
        if (!survey->files || !survey->sha256)
            status = DM_NOMEM;
    }
    for (size_t i = 0; i < count && status != DM_NOMEM; i++) {
        book b = {.arena = arena, .model = model, .survey = survey};
        dm_status read = open_book(&b, paths[i], text, diag);
        said = read == DM_NOMEM;
        if (read == DM_OK) {
            read_book(&b, dm_xml_root(b.xml));
            read = b.out_of_memory ? DM_NOMEM : dm_xml_status(b.xml);
        }
        dm_xml_free(b.xml);
        if (status == DM_OK || read == DM_NOMEM)
            status = read;
    }
    if (status == DM_NOMEM && !said)
        dm_error(diag, DM_NOMEM, (dm_place){NULL, 0}, NULL, "out of memory");
    if (status != DM_OK) {
        dm_arena_free(arena);
        return status;
    }
    *out = survey;
    return DM_OK;
}

dm_status dm_survey_read(const char *const *paths, size_t count,
                         const dm_model *model, dm_diag *diag, dm_survey **out)
{
    return read_books(paths, count, NULL, model, diag, out);
}

dm_status dm_survey_read_text(const char *path, const dm_buf *text,
                              const dm_model *model, dm_diag *diag,
                              dm_survey **out)
{
    return read_books(&path, 1, text, model, diag, out);
}

void dm_survey_free(dm_survey *survey)
{
    if (survey)
        dm_arena_free(survey->arena);
}
