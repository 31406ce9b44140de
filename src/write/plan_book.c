/* SPDX-License-Identifier: MIT
 * A field book of planned runs, to be completed on site (geometry/
 * fieldbook.xsd). What is expected stands where what was read must stand in the
 * end, and says so: run distances at nominal scale, skips with a standard
 * uncertainty of 50 mm, so that one that was forgotten weighs little. No check
 * is written: a reading that nobody took must not stand in a book. Without a
 * field book to take them from, the raw values of the calibration are -1e12
 * and 1e12: whatever is read comes out as an index of one half, which nobody
 * can take for a result. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/uuid.h"
#include "ductmark/ductmark.h"
#include "scene/properties.h"
#include "write/plan.h"

#define DEG(rad) ((rad) * (180.0 / 3.14159265358979323846))
#define MOST_TEXT 250 /* characters of a text, common.xsd */

typedef struct {
    const dm_plan_output *o;
    const dm_instrument *in;   /* NULL: none known */
    const dm_columns *columns; /* NULL: none known */
    dm_buf *out;
} work;

/* ---- values ------------------------------------------------------------ */

static void put_text(dm_buf *b, const char *name, const char *text)
{
    dm_buf_printf(b, " %s=\"", name);
    dm_buf_xml(b, text);
    dm_buf_putc(b, '"');
}

/* As the schema wants it: no exponent; to 1 nm, without idle noughts. */
static void put_decimal(dm_buf *b, double value)
{
    size_t first = b->length;

    dm_buf_fixed(b, value, 9);
    while (!b->failed && b->length > first + 1 && b->data[b->length - 1] == '0')
        b->data[--b->length] = '\0';
    if (!b->failed && b->data[b->length - 1] == '.')
        b->data[--b->length] = '\0';
}

static void put_real(dm_buf *b, const char *name, double value)
{
    dm_buf_printf(b, " %s=\"", name);
    put_decimal(b, value);
    dm_buf_putc(b, '"');
}

/* Exactly, for what is copied: in metres. */
static void put_metres(dm_buf *b, const char *name, double metres)
{
    dm_buf_printf(b, " %s=\"", name);
    put_decimal(b, metres);
    dm_buf_puts(b, " m\"");
}

static void put_angle(dm_buf *b, const char *name, double rad)
{
    dm_buf_printf(b, " %s=\"", name);
    put_decimal(b, DEG(rad));
    dm_buf_puts(b, " deg\"");
}

/* For people: to 1 mm, or 0.001 ft. */
static void put_expected(const work *w, const char *name, double metres)
{
    bool us = w->o->units == DM_UNITS_US;

    dm_buf_printf(w->out, " %s=\"", name);
    dm_buf_fixed(w->out, us ? metres / 0.3048 : metres, 3);
    dm_buf_puts(w->out, us ? " ft\"" : " m\"");
}

/* ---- instrument and calibration ---------------------------------------- */

static void put_channel(dm_buf *b, const dm_channel *c)
{
    dm_buf_puts(b, "    <channel");
    put_text(b, "id", c->id);
    if (c->clock_offset != 0.0)
        put_angle(b, "clock-offset", c->clock_offset);
    put_metres(b, "lead", c->lead);
    put_metres(b, "footprint-along", c->footprint_along);
    put_metres(b, "footprint-around", c->footprint_around);
    put_metres(b, "depth", c->depth);
    dm_buf_puts(b, "/>\n");
}

static void put_encoder(dm_buf *b, const dm_instrument *in)
{
    dm_buf_puts(b, "    <encoder");
    put_real(b, "scale", in->scale);
    put_real(b, "u", in->scale_u);
    put_metres(b, "walk", in->walk);
    put_metres(b, "quantum", in->quantum);
    put_text(b, "per", in->scale_shared ? "instrument" : "run");
    dm_buf_puts(b, "/>\n");
}

static void put_instrument(const work *w)
{
    const double *f = w->o->plan->factors.value;
    dm_channel planned = {.id = "CH1",
                          .lead = f[DM_FACTOR_LEAD],
                          .footprint_along = 0.1,
                          .footprint_around = 0.06,
                          .depth = 0.015};
    dm_buf *b = w->out;

    if (!w->in)
        dm_buf_puts(b,
                    "  <!-- No field book was at hand: body and lead are "
                    "those of the plan; footprint and\n       depth stand in "
                    "for those of the sensor. Put in its own. -->\n");
    dm_buf_puts(b, "  <instrument");
    put_text(b, "id", w->in ? w->in->id : "I1");
    dm_buf_puts(b, ">\n");
    if (w->in)
        put_encoder(b, w->in);
    else
        dm_buf_puts(b, "    <encoder/>\n");
    dm_buf_puts(b, "    <body");
    put_metres(b, "nose", f[DM_FACTOR_NOSE]);
    put_metres(b, "tail", f[DM_FACTOR_TAIL]);
    dm_buf_puts(b, "/>\n");
    if (!w->in)
        put_channel(b, &planned);
    for (size_t i = 0; w->in && i < w->in->channel_count; i++) {
        dm_channel c = w->in->channels[i];

        if (i == 0)
            c.lead = f[DM_FACTOR_LEAD];
        put_channel(b, &c);
    }
    dm_buf_puts(b, "  </instrument>\n");
}

static void put_bands(dm_buf *b, const dm_calibration *c)
{
    for (size_t i = 0; i < c->band_count; i++) {
        dm_buf_puts(b, "    <band");
        put_text(b, "kind", dm_kind_text(c->bands[i].kind));
        put_real(b, "enter", c->bands[i].enter);
        put_real(b, "leave", c->bands[i].leave);
        dm_buf_puts(b, "/>\n");
    }
    for (size_t i = 0; i < c->material_count; i++) {
        dm_buf_puts(b, "    <material");
        put_text(b, "kind", c->materials[i].name);
        put_real(b, "mean", c->materials[i].mean);
        put_real(b, "sd", c->materials[i].sd);
        dm_buf_puts(b, "/>\n");
    }
}

static void put_depths(dm_buf *b, const dm_calibration *c)
{
    for (size_t i = 0; i < c->depth_count; i++) {
        dm_buf_puts(b, "    <depth");
        put_real(b, "index", c->depths[i].index);
        put_metres(b, "depth", c->depths[i].depth);
        put_metres(b, "u", c->depths[i].u);
        dm_buf_puts(b, "/>\n");
    }
}

static void put_calibration(const work *w, const dm_calibration *c)
{
    dm_buf *b = w->out;

    dm_buf_puts(b, "  <calibration");
    put_text(b, "duct-type", w->o->model->duct_types[c->duct_type].id);
    put_text(b, "instrument", w->in ? w->in->id : "I1");
    if (w->in && c->channel != DM_NONE)
        put_text(b, "channel", w->in->channels[c->channel].id);
    dm_buf_puts(b, ">\n    <air");
    put_real(b, "value", c->air);
    dm_buf_puts(b, "/>\n");
    for (size_t i = 0; i < c->reference_count; i++) {
        dm_buf_puts(b, "    <reference");
        put_real(b, "value", c->reference[i].value);
        if (!isnan(c->reference[i].clock))
            put_angle(b, "clock", c->reference[i].clock);
        dm_buf_puts(b, "/>\n");
    }
    put_bands(b, c);
    put_depths(b, c);
    dm_buf_puts(b, "  </calibration>\n");
}

static bool is_wanted(const work *w, size_t duct_type)
{
    const dm_model *m = w->o->model;

    if (strcmp(m->duct_types[duct_type].material, "steel") == 0)
        return false;
    for (size_t i = 0; i < m->tendon_count; i++)
        for (size_t k = 0; k < m->tendons[i].duct_count; k++)
            if (m->tendons[i].ducts[k].duct_type == duct_type)
                return true;
    return false;
}

/* Of the field book's, those of the instrument; for a duct type without one,
 * a stand-in. */
static void put_calibrations(const work *w)
{
    static const char stand_in[] =
        "  <!-- Values that stand in for the calibration of this duct type: "
        "every reading comes out\n       as an index of 0.5 until they are "
        "replaced. -->\n";
    dm_reference_point one = {(double)NAN, -1e12};
    const dm_survey *s = w->o->survey;

    for (size_t d = 0; d < w->o->model->duct_type_count; d++) {
        bool known = false;

        for (size_t i = 0; s && i < s->calibration_count; i++)
            if (s->calibrations[i].duct_type == d &&
                &s->instruments[s->calibrations[i].instrument] == w->in) {
                put_calibration(w, &s->calibrations[i]);
                known = true;
            }
        if (known || !is_wanted(w, d))
            continue;
        dm_buf_puts(w->out, stand_in);
        dm_calibration c = {.duct_type = d,
                            .channel = DM_NONE,
                            .air = 1e12,
                            .reference = &one,
                            .reference_count = 1};
        put_calibration(w, &c);
    }
}

static const char *unit_name(double unit)
{
    static const char *const name[] = {"m", "mm", "ft", "in", "us-ft"};
    static const double metres[] = {1.0, 0.001, 0.3048, 0.0254,
                                    1200.0 / 3937.0};
    size_t best = 0;

    for (size_t i = 1; i < 5; i++)
        if (fabs(unit - metres[i]) < fabs(unit - metres[best]))
            best = i;
    return name[best];
}

static const char *delimiter_name(char c)
{
    return c == ';'    ? "semicolon"
           : c == '\t' ? "tab"
           : c == ' '  ? "space"
                       : "comma";
}

static void put_columns(const work *w)
{
    const dm_columns *c = w->columns;
    dm_buf *b = w->out;

    if (!c) {
        bool us = w->o->units == DM_UNITS_US;
        dm_buf_printf(b,
                      "  <columns run-distance=\"run_%s\" unit=\"%s\" "
                      "segment=\"segment\">\n"
                      "    <value column=\"raw\" channel=\"CH1\"/>\n"
                      "  </columns>\n",
                      us ? "ft" : "mm", us ? "ft" : "mm");
        return;
    }
    dm_buf_puts(b, "  <columns");
    put_text(b, "delimiter", delimiter_name(c->delimiter));
    put_text(b, "decimal", c->decimal == ',' ? "comma" : "point");
    put_text(b, "run-distance", c->x);
    put_text(b, "unit", unit_name(c->x_unit));
    if (c->segment)
        put_text(b, "segment", c->segment);
    if (c->clock)
        put_text(b, "clock", c->clock);
    dm_buf_puts(b, ">\n");
    for (size_t i = 0; i < c->value_count; i++) {
        dm_buf_puts(b, "    <value");
        put_text(b, "column", c->value[i]);
        put_text(b, "channel", w->in->channels[c->channel[i]].id);
        dm_buf_puts(b, "/>\n");
    }
    dm_buf_puts(b, "  </columns>\n");
}

/* The tape that the field book's runs name with that instrument. */
static const dm_run *taped_run(const work *w)
{
    const dm_survey *s = w->o->survey;

    for (size_t i = 0; s && i < s->run_count; i++)
        if (s->runs[i].tape && &s->instruments[s->runs[i].instrument] == w->in)
            return &s->runs[i];
    return NULL;
}

static void put_tape(const work *w)
{
    const dm_run *r = taped_run(w);

    if (!r)
        return;
    dm_buf_puts(w->out, "  <tape");
    put_text(w->out, "id", r->tape);
    put_real(w->out, "scale-u", r->tape_u);
    dm_buf_puts(w->out, "/>\n");
}

/* ---- runs ------------------------------------------------------------- */

void dm_plan_run_id(const dm_plan_output *o, size_t run, char id[64])
{
    const dm_plan_run *r = &o->plan->runs[run];
    char clock[8];
    int length;

    dm_clock_text(r->clock, clock);
    for (char *c = clock; *c; c++)
        *c = *c == ':' ? '.' : *c;
    length = snprintf(id, 64, "%s-%zu-%s", o->model->tendons[r->tendon].id,
                      o->plan->bays[r->bay].number, clock);
    if (length < 0 || length > 63)
        snprintf(id, 64, "run-%zu", run + 1);
}

static void put_tie(const work *w, const char *name, const char *face,
                    const char *with, double x, double distance)
{
    dm_buf_printf(w->out, "    <%s", name);
    put_expected(w, "x", w->in ? x / w->in->scale : x);
    put_text(w->out, "at", face);
    put_text(w->out, "with", with);
    if (distance >= 5e-4)
        put_expected(w, "distance", distance);
    dm_buf_puts(w->out, "/>\n");
}

static void put_readings(const work *w, const char *id, size_t segment)
{
    bool segments = !w->columns || w->columns->segment;

    if (!segments && segment > 1)
        return;
    dm_buf_puts(w->out, "    <readings href=\"readings/");
    dm_buf_xml(w->out, id);
    dm_buf_puts(w->out, ".csv\"");
    if (segments)
        dm_buf_printf(w->out, " segment=\"s%zu\"", segment);
    dm_buf_puts(w->out, "/>\n");
}

/* "collar C1, wrap W2": what lies between two stretches. */
static void reason_of(const dm_tendon *n, const dm_plan_run *r, size_t stretch,
                      dm_buf *text)
{
    for (size_t i = 0; i < r->obstruction_count; i++) {
        const dm_obstruction *x = &r->obstructions[i];
        const char *kind = "no access", *id = "";

        if (x->stretch != stretch)
            continue;
        if (x->fixture != DM_NONE) {
            kind = dm_fixture_text(n->fixtures[x->fixture].kind);
            id = n->fixtures[x->fixture].id;
        }
        if (text->length + strlen(kind) + strlen(id) + 3 > MOST_TEXT)
            break;
        dm_buf_printf(text, "%s%s%s%s", text->length > 0 ? ", " : "", kind,
                      *id ? " " : "", id);
    }
}

/* From where the front stops to where the rear sets down: the gap, if the
 * body has a length to tell it by. */
static void put_skip(const work *w, const dm_tendon *n, const dm_plan_run *r,
                     size_t stretch)
{
    const double *f = w->o->plan->factors.value;
    double body = f[DM_FACTOR_NOSE] + f[DM_FACTOR_TAIL];
    double x = r->stretches[stretch].x_end, gap = r->stretches[stretch + 1].gap;
    dm_buf reason = {0};

    reason_of(n, r, stretch, &reason);
    dm_buf_puts(w->out, "    <skip");
    put_expected(w, "x", w->in ? x / w->in->scale : x);
    put_expected(w, "length", gap);
    put_text(w->out, "basis", body > 0.0 ? "gap" : "displacement");
    put_expected(w, "u", 0.05);
    if (reason.length > 0)
        put_text(w->out, "reason", reason.data);
    dm_buf_puts(w->out, "/>\n");
    w->out->failed = w->out->failed || reason.failed;
    dm_buf_free(&reason);
}

static void put_run_head(const work *w, const dm_plan_run *r, const char *id)
{
    const dm_run *taped = taped_run(w);
    dm_buf *b = w->out;

    dm_buf_puts(b, "  <run");
    put_text(b, "id", id);
    put_text(b, "tendon", w->o->model->tendons[r->tendon].id);
    put_text(b, "instrument", w->in ? w->in->id : "I1");
    put_text(b, "direction", r->direction == DM_SIDE_AHEAD ? "ahead" : "back");
    put_text(b, "leading", r->leading == DM_LEADING_NOSE ? "nose" : "tail");
    put_angle(b, "clock", r->clock);
    if (taped)
        put_text(b, "tape", taped->tape);
    dm_buf_puts(b,
                ">\n    <note>PLANNED, to be completed: every x, skip length "
                "and distance is from the drawings; put in what was read "
                "and taped, take out u of the skips, add the checks of air "
                "and reference.</note>\n");
}

static void put_run(const work *w, size_t i)
{
    const dm_plan_run *r = &w->o->plan->runs[i];
    const dm_tendon *n = &w->o->model->tendons[r->tendon];
    bool nose = r->leading == DM_LEADING_NOSE;
    double end = r->stretches[r->stretch_count - 1].x_end;
    char id[64];

    dm_plan_run_id(w->o, i, id);
    put_run_head(w, r, id);
    put_tie(w, "start", n->faces[r->face_start].id, nose ? "tail" : "nose", 0.0,
            r->start_distance);
    for (size_t k = 0; k < r->stretch_count; k++) {
        put_readings(w, id, k + 1);
        if (k + 1 < r->stretch_count)
            put_skip(w, n, r, k);
    }
    if (r->face_end != DM_NONE)
        put_tie(w, "tie", n->faces[r->face_end].id, nose ? "nose" : "tail", end,
                r->end_distance);
    dm_buf_puts(w->out, "  </run>\n");
}

/* ---- all of it ---------------------------------------------------------- */

static void put_head(const work *w, const dm_plan_book *book)
{
    const dm_model *m = w->o->model;
    char uid[37] = "";
    dm_buf *b = w->out;
    dm_uuid space;

    if (!book->uid && dm_uuid_parse(m->uid, &space)) {
        dm_buf name = {0};
        dm_buf_printf(&name, "fieldbook/%s/%s", book->survey, book->date);
        dm_uuid_text(dm_uuid_name(space, name.failed ? "" : name.data), uid);
        b->failed = b->failed || name.failed;
        dm_buf_free(&name);
    }
    dm_buf_printf(b,
                  "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
                  "<!-- A plan to be completed on site, no record yet. Made by "
                  "ductmark %s from a bridge file with\n     SHA-256 %s.\n",
                  dm_version(), m->sha256 ? m->sha256 : "");
    for (const char *const *c = dm_plan_cautions(); *c; c++)
        dm_buf_printf(b, "     %s\n", *c);
    dm_buf_puts(b, "-->\n<fieldbook version=\"1\"");
    put_text(b, "uid", book->uid ? book->uid : uid);
    put_text(b, "survey", book->survey);
    put_text(b, "date", book->date);
    put_text(b, "bridge", m->uid);
    dm_buf_puts(b, ">\n");
}

size_t dm_fieldbook_plan(const dm_plan_output *o, const dm_plan_book *book,
                         size_t *left_out, dm_buf *out)
{
    work w = {.o = o, .out = out};
    size_t count = 0;

    if (o->survey) { /* one description of columns for each instrument */
        w.in = &o->survey->instruments[o->instrument];
        w.columns = &o->survey->columns[o->instrument];
    }
    put_head(&w, book);
    put_instrument(&w);
    put_tape(&w);
    put_calibrations(&w);
    put_columns(&w);
    *left_out = 0;
    for (size_t i = 0; i < o->plan->run_count; i++) {
        const dm_plan_run *r = &o->plan->runs[i];
        bool starts = r->stretch_count > 0 && r->face_start != DM_NONE;

        if (starts)
            put_run(&w, i);
        count += starts;
        *left_out += r->stretch_count > 0 && !starts;
    }
    dm_buf_puts(out, "</fieldbook>\n");
    return count;
}
