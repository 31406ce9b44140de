/* SPDX-License-Identifier: MIT
 * Field books: the schema has checked the form; here ids are resolved against
 * the bridge and quantities against their ranges. Every fault of a book is
 * said; what hangs on a faulty value goes on with a harmless one. */
#include "survey/read.h"

#include <math.h>
#include <string.h>
#include <strings.h>

#include "base/diag.h"
#include "base/file.h"
#include "model/schemas.h"

static const double TWO_PI = 6.283185307179586476925;

/* ---- what the parts of a book share -------------------------------------- */

double book_clock(book *b, const dm_xml_node *node)
{
    static const char *const view[] = {"ahead", "back", NULL};
    double clock = dm_xml_clock(b->xml, node, "clock", 0.0);

    if (dm_xml_word(b->xml, node, "clock-view", view, 0) == 1 && clock > 0.0)
        return TWO_PI - clock;
    return clock;
}

size_t book_tendon(book *b, const dm_xml_node *node)
{
    const char *id = dm_xml_text(b->xml, node, "tendon", "");
    size_t tendon = dm_model_find_tendon(b->model, id);

    if (tendon == DM_NONE)
        dm_xml_fault(b->xml, node, DM_REFERENCE,
                     "no tendon '%s' in the bridge %s", id, b->model->id);
    return tendon;
}

size_t book_face(book *b, const dm_xml_node *node, const char *name,
                 size_t tendon)
{
    const char *id = dm_xml_text(b->xml, node, name, "");
    const dm_tendon *t;
    dm_buf list = {0};
    size_t face;

    if (tendon == DM_NONE)
        return DM_NONE;
    t = &b->model->tendons[tendon];
    face = dm_tendon_find_face(t, id);
    if (face != DM_NONE)
        return face;
    for (size_t i = 0; i < t->face_count; i++)
        dm_buf_printf(&list, "%s%s", i ? ", " : "", t->faces[i].id);
    dm_xml_fault(b->xml, node, DM_REFERENCE,
                 "tendon %s has no face '%s'; its faces are: %s", t->id, id,
                 list.failed || list.data == NULL ? "" : list.data);
    dm_buf_free(&list);
    return DM_NONE;
}

const char *book_href(book *b, const dm_xml_node *node, const char *name)
{
    const char *href = dm_xml_text(b->xml, node, name, "");
    const char *path = dm_path_resolve(b->arena, dm_xml_file(b->xml), href);

    if (path == NULL)
        b->out_of_memory = true;
    return path != NULL ? path : href;
}

void book_warn_once(book *b, const dm_xml_node *node, bool *said,
                    const char *text)
{
    if (!*said)
        dm_xml_warn(b->xml, node, "%s", text);
    *said = true;
}

size_t book_count(book *b, const dm_xml_node *root, const char *name,
                  size_t most)
{
    size_t count = dm_xml_count(root, name);

    if (count <= most)
        return count;
    dm_xml_fault(b->xml, root, DM_RANGE,
                 "%zu %s elements, expected at most %zu", count, name, most);
    return most;
}

/* ---- tapes ----------------------------------------------------------------
 */

const book_tape *book_find_tape(const book *b, const char *id)
{
    for (size_t i = b->tapes_before; i < b->tape_count; i++)
        if (strcmp(b->tapes[i].id, id) == 0)
            return &b->tapes[i];
    return NULL;
}

/* A tape is one thing in all books of a survey: its scale error is shared by
 * every skip that was measured with it. */
static void read_tapes(book *b, const dm_xml_node *root, size_t count)
{
    const dm_xml_node *n = dm_xml_child(root, "tape");

    for (size_t k = 0; k < count; k++, n = dm_xml_next(n, "tape")) {
        book_tape *t = &b->tapes[b->tape_count];

        t->id = dm_xml_text(b->xml, n, "id", "");
        t->scale_u = dm_xml_real(b->xml, n, "scale-u", 0.0, 0.05, 0.0);
        t->place = dm_xml_place(b->xml, n);
        for (size_t i = 0; i < b->tapes_before; i++)
            if (strcmp(b->tapes[i].id, t->id) == 0 &&
                (b->tapes[i].scale_u < t->scale_u ||
                 b->tapes[i].scale_u > t->scale_u)) {
                dm_xml_fault(b->xml, n, DM_INCONSISTENT,
                             "tape %s differs from that of %s:%ld, expected "
                             "the same scale-u or another id",
                             t->id, b->tapes[i].place.file,
                             b->tapes[i].place.line);
                break;
            }
        b->tape_count++;
    }
}

/* ---- columns --------------------------------------------------------------
 */

/* A column's name must stand for one thing to an instrument; two instruments
 * may both call theirs "counts". */
static void check_head(book *b, const dm_xml_node *n, const dm_columns *c)
{
    const char *const names[] = {c->x, c->segment, c->clock, c->time};

    for (size_t i = 1; i < 4; i++)
        for (size_t k = 0; k < i && names[i] != NULL; k++)
            if (names[k] != NULL && strcmp(names[i], names[k]) == 0)
                dm_xml_fault(b->xml, n, DM_INCONSISTENT,
                             "column '%s' is named twice", names[i]);
}

static bool is_named(const dm_columns *c, const char *name)
{
    const char *const head[] = {c->x, c->segment, c->clock, c->time};

    for (size_t k = 0; k < 4; k++)
        if (head[k] != NULL && strcmp(head[k], name) == 0)
            return true;
    for (size_t k = 0; k < c->value_count; k++)
        if (strcmp(c->value[k], name) == 0)
            return true;
    return false;
}

/* The values of the channels of one instrument. */
static void read_values(book *b, const dm_xml_node *n, dm_columns *c,
                        const dm_instrument *in, size_t count)
{
    const dm_xml_node *v = dm_xml_child(n, "value");

    c->channel = DM_NEW_ARRAY(b->arena, size_t, count);
    c->value = DM_NEW_ARRAY(b->arena, const char *, count);
    if (c->channel == NULL || c->value == NULL) {
        b->out_of_memory = true;
        return;
    }
    for (size_t k = 0; k < count; k++, v = dm_xml_next(v, "value")) {
        const char *id = dm_xml_text(b->xml, v, "channel", "");
        const char *name = dm_xml_text(b->xml, v, "column", "");
        size_t channel = book_channel(in, id);

        if (channel == DM_NONE)
            continue;
        for (size_t i = 0; i < c->value_count; i++)
            if (c->channel[i] == channel) {
                dm_xml_fault(b->xml, v, DM_INCONSISTENT,
                             "channel %s has two columns", id);
                break;
            }
        if (is_named(c, name))
            dm_xml_fault(b->xml, v, DM_INCONSISTENT,
                         "column '%s' is named twice", name);
        c->channel[c->value_count] = channel;
        c->value[c->value_count++] = name;
    }
}

void book_read_columns(book *b, const dm_xml_node *root)
{
    static const char *const delimiters[] = {"comma", "semicolon", "tab",
                                             "space", NULL};
    static const char *const decimals[] = {"point", "comma", NULL};
    static const char *const units[] = {"s", "ms", NULL};
    const dm_xml_node *n = dm_xml_child(root, "columns");
    size_t count = book_count(b, n, "value", BOOK_MOST_VALUES);
    dm_survey *s = b->survey;
    dm_columns layout = {
        .delimiter =
            ",;\t "[dm_xml_word(b->xml, n, "delimiter", delimiters, 0)],
        .decimal = ".,"[dm_xml_word(b->xml, n, "decimal", decimals, 0)],
        .x = dm_xml_text(b->xml, n, "run-distance", ""),
        .x_unit = dm_unit_metres(dm_xml_text(b->xml, n, "unit", "m")),
        .segment = dm_xml_text(b->xml, n, "segment", NULL),
        .clock = dm_xml_text(b->xml, n, "clock", NULL),
        .time = dm_xml_text(b->xml, n, "time", NULL),
        .time_unit =
            dm_xml_word(b->xml, n, "time-unit", units, 0) == 0 ? 1.0 : 0.001};

    if (layout.delimiter == ',' && layout.decimal == ',')
        dm_xml_fault(b->xml, n, DM_INCONSISTENT,
                     "delimiter and decimal are both a comma");
    check_head(b, n, &layout);
    for (size_t i = b->instruments_before; i < s->instrument_count; i++) {
        dm_columns *c = &s->columns[s->columns_count++];

        *c = layout;
        read_values(b, n, c, &s->instruments[i], count);
        if (b->out_of_memory)
            return;
    }
}

/* ---- books ------------------------------------------------------------------
 */

/* Room for what this book adds to the survey's arrays. */
static void *extended(book *b, const void *old, size_t count, size_t more,
                      size_t size)
{
    void *grown = dm_arena_alloc(b->arena, count + more, size);

    if (grown == NULL)
        b->out_of_memory = true;
    else if (count > 0)
        memcpy(grown, old, count * size);
    return grown;
}

#define EXTEND(b, items, count, more)                                          \
    ((items) = extended((b), (items), (count), (more), sizeof *(items)))

static void begin_book(book *b)
{
    const dm_survey *s = b->survey;

    b->instruments_before = s->instrument_count;
    b->columns_before = s->columns_count;
    b->calibrations_before = s->calibration_count;
    b->runs_before = s->run_count;
    b->tapes_before = b->tape_count;
    b->said_time = b->said_temperature = false;
    b->status = DM_OK;
}

static void read_head(book *b, const dm_xml_node *root)
{
    const char *bridge = dm_xml_text(b->xml, root, "bridge", "");
    dm_survey *s = b->survey;

    if (strcasecmp(bridge, b->model->uid) != 0)
        dm_xml_fault(b->xml, root, DM_INCONSISTENT,
                     "the field book is for the bridge %s, but the bridge "
                     "file is %s",
                     bridge, b->model->uid);
    s->files[s->file_count] = dm_xml_file(b->xml);
    s->sha256[s->file_count] = dm_xml_sha256(b->xml);
    if (s->file_count++ == 0) {
        s->survey = dm_xml_text(b->xml, root, "survey", "");
        s->date = dm_xml_text(b->xml, root, "date", "");
    }
}

static void read_book(book *b, const dm_xml_node *root)
{
    dm_survey *s = b->survey;
    size_t instruments =
        book_count(b, root, "instrument", BOOK_MOST_INSTRUMENTS);
    size_t tapes = book_count(b, root, "tape", BOOK_MOST_TAPES);

    begin_book(b);
    read_head(b, root);
    EXTEND(b, s->instruments, s->instrument_count, instruments);
    EXTEND(b, s->columns, s->columns_count, instruments);
    EXTEND(b, b->tapes, b->tape_count, tapes);
    EXTEND(b, s->calibrations, s->calibration_count,
           dm_xml_count(root, "calibration"));
    EXTEND(b, s->runs, s->run_count, dm_xml_count(root, "run"));
    EXTEND(b, s->opened, s->opened_count, dm_xml_count(root, "opened"));
    if (b->out_of_memory)
        return;
    book_read_instruments(b, root);
    read_tapes(b, root, tapes);
    if (!b->out_of_memory)
        book_read_columns(b, root);
    if (!b->out_of_memory)
        book_read_calibrations(b, root);
    if (!b->out_of_memory)
        book_read_runs(b, root);
    if (!b->out_of_memory)
        book_read_opened(b, root);
    if (!b->out_of_memory)
        book_check_unique(b);
}

/* `text` NULL: the file is read. */
static dm_status read_one(book *b, const char *path, const dm_buf *text)
{
    dm_status status =
        text ? dm_xml_read_text(path, text, "fieldbook", dm_xsd_fieldbook,
                                dm_xsd_fieldbook_size, b->arena, b->diag,
                                &b->xml)
             : dm_xml_read(path, "fieldbook", dm_xsd_fieldbook,
                           dm_xsd_fieldbook_size, b->arena, b->diag, &b->xml);

    if (status == DM_OK) {
        read_book(b, dm_xml_root(b->xml));
        status = dm_xml_status(b->xml);
        if (status == DM_OK)
            status = b->status;
        if (b->out_of_memory)
            status = DM_NOMEM;
    }
    dm_xml_free(b->xml);
    b->xml = NULL;
    return status;
}

/* `text`: of the only book, or NULL to read the files. */
static dm_status read_books(const char *const *paths, size_t count,
                            const dm_buf *text, const dm_model *model,
                            dm_diag *diag, dm_survey **out)
{
    dm_arena *arena = dm_arena_new();
    dm_survey *survey = arena ? DM_NEW(arena, dm_survey) : NULL;
    book b = {.arena = arena, .diag = diag, .model = model, .survey = survey};
    dm_status status = survey ? DM_OK : DM_NOMEM, one;

    *out = NULL;
    if (survey) {
        survey->arena = arena;
        survey->files = DM_NEW_ARRAY(arena, const char *, count);
        survey->sha256 = DM_NEW_ARRAY(arena, const char *, count);
        if (!survey->files || !survey->sha256)
            status = DM_NOMEM;
    }
    for (size_t i = 0; i < count && status != DM_NOMEM; i++) {
        one = read_one(&b, paths[i], text);
        if (status == DM_OK || one == DM_NOMEM)
            status = one;
    }
    if (status == DM_NOMEM)
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
