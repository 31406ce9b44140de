/* SPDX-License-Identifier: MIT
 * What stands before the runs of a planned field book: instrument, tape,
 * calibrations, columns, copied from the field book that was planned with. What
 * nobody knows is stood in for: the raw values of a calibration are 0 and 0,
 * which the reader of field books refuses at their line until they are
 * replaced. */
#include <math.h>
#include <string.h>

#include "write/plan_book.h"

#define DEG(rad) ((rad) * (180.0 / 3.14159265358979323846))

/* ---- values ------------------------------------------------------------ */

void book_put_text(dm_buf *b, const char *name, const char *text)
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

void book_put_real(dm_buf *b, const char *name, double value)
{
    dm_buf_printf(b, " %s=\"", name);
    put_decimal(b, value);
    dm_buf_putc(b, '"');
}

/* Exactly, for what is copied: in metres. */
void book_put_metres(dm_buf *b, const char *name, double metres)
{
    dm_buf_printf(b, " %s=\"", name);
    put_decimal(b, metres);
    dm_buf_puts(b, " m\"");
}

void book_put_angle(dm_buf *b, const char *name, double rad)
{
    dm_buf_printf(b, " %s=\"", name);
    put_decimal(b, DEG(rad));
    dm_buf_puts(b, " deg\"");
}

/* ---- instrument and calibration ---------------------------------------- */

static void put_channel(dm_buf *b, const dm_channel *c)
{
    dm_buf_puts(b, "    <channel");
    book_put_text(b, "id", c->id);
    if (c->clock_offset != 0.0)
        book_put_angle(b, "clock-offset", c->clock_offset);
    book_put_metres(b, "lead", c->lead);
    book_put_metres(b, "footprint-along", c->footprint_along);
    book_put_metres(b, "footprint-around", c->footprint_around);
    book_put_metres(b, "depth", c->depth);
    dm_buf_puts(b, "/>\n");
}

static void put_encoder(dm_buf *b, const dm_instrument *in)
{
    dm_buf_puts(b, "    <encoder");
    book_put_real(b, "scale", in->scale);
    book_put_real(b, "u", in->scale_u);
    book_put_metres(b, "walk", in->walk);
    book_put_metres(b, "quantum", in->quantum);
    book_put_text(b, "per", in->scale_shared ? "instrument" : "run");
    dm_buf_puts(b, "/>\n");
}

void book_put_instrument(const book_work *w)
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
    book_put_text(b, "id", w->in ? w->in->id : "I1");
    dm_buf_puts(b, ">\n");
    if (w->in)
        put_encoder(b, w->in);
    else
        dm_buf_puts(b, "    <encoder/>\n");
    dm_buf_puts(b, "    <body");
    book_put_metres(b, "nose", f[DM_FACTOR_NOSE]);
    book_put_metres(b, "tail", f[DM_FACTOR_TAIL]);
    if (w->in && w->in->body_height > 0.0)
        book_put_metres(b, "body-height", w->in->body_height);
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
        book_put_text(b, "kind", dm_kind_text(c->bands[i].kind));
        book_put_real(b, "enter", c->bands[i].enter);
        book_put_real(b, "leave", c->bands[i].leave);
        dm_buf_puts(b, "/>\n");
    }
    for (size_t i = 0; i < c->material_count; i++) {
        dm_buf_puts(b, "    <material");
        book_put_text(b, "kind", c->materials[i].name);
        book_put_real(b, "mean", c->materials[i].mean);
        book_put_real(b, "sd", c->materials[i].sd);
        dm_buf_puts(b, "/>\n");
    }
}

static void put_depths(dm_buf *b, const dm_calibration *c)
{
    for (size_t i = 0; i < c->depth_count; i++) {
        dm_buf_puts(b, "    <depth");
        book_put_real(b, "index", c->depths[i].index);
        book_put_metres(b, "depth", c->depths[i].depth);
        book_put_metres(b, "u", c->depths[i].u);
        dm_buf_puts(b, "/>\n");
    }
}

static void put_calibration(const book_work *w, const dm_calibration *c)
{
    dm_buf *b = w->out;

    dm_buf_puts(b, "  <calibration");
    book_put_text(b, "duct-type", w->o->model->duct_types[c->duct_type].id);
    book_put_text(b, "instrument", w->in ? w->in->id : "I1");
    if (w->in && c->channel != DM_NONE)
        book_put_text(b, "channel", w->in->channels[c->channel].id);
    dm_buf_puts(b, ">\n    <air");
    book_put_real(b, "value", c->air);
    dm_buf_puts(b, "/>\n");
    for (size_t i = 0; i < c->reference_count; i++) {
        dm_buf_puts(b, "    <reference");
        book_put_real(b, "value", c->reference[i].value);
        if (!isnan(c->reference[i].clock))
            book_put_angle(b, "clock", c->reference[i].clock);
        dm_buf_puts(b, "/>\n");
    }
    put_bands(b, c);
    put_depths(b, c);
    dm_buf_puts(b, "  </calibration>\n");
}

static bool is_wanted(const book_work *w, size_t duct_type)
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
void book_put_calibrations(const book_work *w)
{
    static const char stand_in[] =
        "  <!-- The calibration of this duct type is to be put in: with the "
        "values below the field\n       book is refused. -->\n";
    dm_reference_point one = {(double)NAN, 0.0};
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
                            .air = 0.0,
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

void book_put_columns(const book_work *w)
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
    book_put_text(b, "delimiter", delimiter_name(c->delimiter));
    book_put_text(b, "decimal", c->decimal == ',' ? "comma" : "point");
    book_put_text(b, "run-distance", c->x);
    book_put_text(b, "unit", unit_name(c->x_unit));
    if (c->segment)
        book_put_text(b, "segment", c->segment);
    if (c->clock)
        book_put_text(b, "clock", c->clock);
    dm_buf_puts(b, ">\n");
    for (size_t i = 0; i < c->value_count; i++) {
        dm_buf_puts(b, "    <value");
        book_put_text(b, "column", c->value[i]);
        book_put_text(b, "channel", w->in->channels[c->channel[i]].id);
        dm_buf_puts(b, "/>\n");
    }
    dm_buf_puts(b, "  </columns>\n");
}

/* The tape that the field book's runs name with that instrument. */
const dm_run *book_taped_run(const book_work *w)
{
    const dm_survey *s = w->o->survey;

    for (size_t i = 0; s && i < s->run_count; i++)
        if (s->runs[i].tape && &s->instruments[s->runs[i].instrument] == w->in)
            return &s->runs[i];
    return NULL;
}

void book_put_tape(const book_work *w)
{
    const dm_run *r = book_taped_run(w);

    if (!r)
        return;
    dm_buf_puts(w->out, "  <tape");
    book_put_text(w->out, "id", r->tape);
    book_put_real(w->out, "scale-u", r->tape_u);
    dm_buf_puts(w->out, "/>\n");
}
