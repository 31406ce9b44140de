/* SPDX-License-Identifier: MIT
 * Instruments and calibrations of a field book, and what the survey answers
 * about them. */
#include <math.h>
#include <string.h>

#include "survey/read.h"

#define WHOLE_TURN 6.283185307179586476925
#define MOST_REFERENCES ((size_t)720)

size_t book_instrument(const book *b, const char *id)
{
    for (size_t i = b->instruments_before; i < b->survey->instrument_count; i++)
        if (strcmp(b->survey->instruments[i].id, id) == 0)
            return i;
    return DM_NONE;
}

size_t book_channel(const dm_instrument *instrument, const char *id)
{
    for (size_t i = 0; i < instrument->channel_count; i++)
        if (strcmp(instrument->channels[i].id, id) == 0)
            return i;
    return DM_NONE;
}

static void read_channels(book *b, const dm_xml_node *node, dm_instrument *in)
{
    size_t count = book_count(b, node, "channel", BOOK_MOST_CHANNELS);
    const dm_xml_node *n = dm_xml_child(node, "channel");

    in->channels = DM_NEW_ARRAY(b->arena, dm_channel, count);
    if (!in->channels) {
        b->out_of_memory = true;
        return;
    }
    for (; in->channel_count < count; n = dm_xml_next(n, "channel")) {
        dm_channel *c = &in->channels[in->channel_count++];

        c->id = dm_xml_text(b->xml, n, "id", "");
        c->clock_offset = dm_xml_angle(b->xml, n, "clock-offset", -WHOLE_TURN,
                                       WHOLE_TURN, 0.0);
        c->lead = dm_xml_length(b->xml, n, "lead", -2.0, 2.0, 0.0);
        c->footprint_along =
            dm_xml_length(b->xml, n, "footprint-along", 1e-3, 2.0, 0.1);
        c->footprint_around =
            dm_xml_length(b->xml, n, "footprint-around", 1e-3, 2.0, 0.1);
        c->depth = dm_xml_length(b->xml, n, "depth", 0.0, 0.5, 0.0);
    }
}

static void read_instrument(book *b, const dm_xml_node *node, dm_instrument *in)
{
    static const char *const per[] = {"instrument", "run", NULL};
    const dm_xml_node *encoder = dm_xml_child(node, "encoder");
    const dm_xml_node *body = dm_xml_child(node, "body");
    in->place = dm_xml_place(b->xml, node);
    in->id = dm_xml_text(b->xml, node, "id", "");
    in->scale = dm_xml_real(b->xml, encoder, "scale", 0.5, 2.0, 1.0);
    in->scale_u = dm_xml_real(b->xml, encoder, "u", 0.0, 0.1, 0.005);
    in->scale_shared = dm_xml_word(b->xml, encoder, "per", per, 0) == 0;
    in->walk = dm_xml_length(b->xml, encoder, "walk", 0.0, 0.1, 1.25e-3);
    in->quantum = dm_xml_length(b->xml, encoder, "quantum", 0.0, 0.1, 1e-3);
    in->nose = dm_xml_length(b->xml, body, "nose", 0.0, 2.0, 0.0);
    in->tail = dm_xml_length(b->xml, body, "tail", 0.0, 2.0, 0.0);
    in->body_height =
        dm_xml_length(b->xml, body, "body-height", 1e-3, 1.0, 0.0);
    read_channels(b, node, in);
}

static bool equal(double a, double b)
{
    return !(a < b) && !(a > b);
}

static bool same_channel(const dm_channel *a, const dm_channel *b)
{
    return strcmp(a->id, b->id) == 0 &&
           equal(a->clock_offset, b->clock_offset) && equal(a->lead, b->lead) &&
           equal(a->footprint_along, b->footprint_along) &&
           equal(a->footprint_around, b->footprint_around) &&
           equal(a->depth, b->depth);
}

static bool same_instrument(const dm_instrument *a, const dm_instrument *b)
{
    bool same = equal(a->scale, b->scale) && equal(a->scale_u, b->scale_u) &&
                a->scale_shared == b->scale_shared && equal(a->walk, b->walk) &&
                equal(a->quantum, b->quantum) && equal(a->nose, b->nose) &&
                equal(a->tail, b->tail) &&
                equal(a->body_height, b->body_height) &&
                a->channel_count == b->channel_count;

    for (size_t i = 0; same && i < a->channel_count; i++)
        same = same_channel(&a->channels[i], &b->channels[i]);
    return same;
}

/* One id is one instrument in all books of a survey. */
static void check_earlier_books(book *b, const dm_xml_node *n,
                                const dm_instrument *in)
{
    for (size_t i = 0; i < b->instruments_before; i++) {
        const dm_instrument *other = &b->survey->instruments[i];

        if (strcmp(other->id, in->id) != 0)
            continue;
        if (!same_instrument(in, other))
            dm_xml_fault(b->xml, n, DM_INCONSISTENT,
                         "instrument %s differs from that of %s:%ld, expected "
                         "the same values or another id",
                         in->id, other->place.file, other->place.line);
        return;
    }
}

void book_read_instruments(book *b, const dm_xml_node *root)
{
    size_t count = dm_xml_count(root, "instrument");
    const dm_xml_node *n = dm_xml_child(root, "instrument");

    if (count > BOOK_MOST_INSTRUMENTS) /* said */
        count = BOOK_MOST_INSTRUMENTS;
    for (; count > 0; count--, n = dm_xml_next(n, "instrument")) {
        dm_instrument *in =
            &b->survey->instruments[b->survey->instrument_count++];

        read_instrument(b, n, in);
        check_earlier_books(b, n, in);
    }
}

/* ---- calibrations
 * ------------------------------------------------------------ */

static size_t find_duct_type(const dm_model *model, const char *id)
{
    for (size_t i = 0; i < model->duct_type_count; i++)
        if (strcmp(model->duct_types[i].id, id) == 0)
            return i;
    return DM_NONE;
}

static void read_duct_type(book *b, const dm_xml_node *node, dm_calibration *c)
{
    const char *id = dm_xml_text(b->xml, node, "duct-type", "");
    c->duct_type = find_duct_type(b->model, id);
    if (c->duct_type == DM_NONE)
        dm_xml_fault(b->xml, node, DM_REFERENCE,
                     "no duct type '%s' in the bridge %s", id, b->model->id);
    else if (strcmp(b->model->duct_types[c->duct_type].material, "steel") == 0)
        dm_xml_fault(b->xml, node, DM_UNSUPPORTED,
                     "duct type %s is of steel: a steel duct cannot be read "
                     "by this kind of sensor",
                     id);
}

static void read_channel(book *b, const dm_xml_node *node, dm_calibration *c)
{
    const char *id = dm_xml_text(b->xml, node, "channel", NULL);

    c->channel = DM_NONE;
    if (id == NULL || c->instrument == DM_NONE)
        return;
    c->channel = book_channel(&b->survey->instruments[c->instrument], id);
    if (c->channel == DM_NONE)
        dm_xml_fault(b->xml, node, DM_REFERENCE,
                     "instrument %s has no channel '%s'",
                     b->survey->instruments[c->instrument].id, id);
}

/* Two for one thing cannot both hold. */
static void check_repeated(book *b, const dm_xml_node *node,
                           const dm_calibration *c)
{
    const dm_survey *s = b->survey;

    for (size_t i = b->calibrations_before; i + 1 < s->calibration_count; i++) {
        const dm_calibration *other = &s->calibrations[i];

        if (other->duct_type != c->duct_type || c->duct_type == DM_NONE ||
            other->instrument != c->instrument || other->channel != c->channel)
            continue;
        dm_xml_fault(b->xml, node, DM_INCONSISTENT,
                     "a second calibration for the same duct type, instrument "
                     "and channel; the first is at line %ld",
                     other->place.line);
        return;
    }
}

/* Several references lie at clock angles of their own, on one side of air. */
static void check_references(book *b, const dm_xml_node *node,
                             const dm_calibration *c)
{
    const dm_xml_node *n = dm_xml_child(node, "reference");

    for (size_t i = 0; i < c->reference_count;
         i++, n = dm_xml_next(n, "reference")) {
        const dm_reference_point *p = &c->reference[i];
        double first = c->reference[0].value - c->air;

        if (equal(p->value, c->air))
            dm_xml_fault(b->xml, n, DM_INCONSISTENT,
                         "the reference equals the air reading: no index can "
                         "be made of them");
        else if ((p->value - c->air) * first < 0.0)
            dm_xml_fault(b->xml, n, DM_INCONSISTENT,
                         "the references lie on both sides of the air reading");
        if (c->reference_count > 1 && isnan(p->clock))
            dm_xml_fault(b->xml, n, DM_INCONSISTENT,
                         "several references, but this one has no clock");
        for (size_t k = 0; k < i; k++)
            if (equal(p->clock, c->reference[k].clock) && !isnan(p->clock)) {
                dm_xml_fault(b->xml, n, DM_INCONSISTENT,
                             "a second reference at this clock angle");
                break;
            }
    }
}

static void read_references(book *b, const dm_xml_node *node, dm_calibration *c)
{
    size_t count = book_count(b, node, "reference", MOST_REFERENCES);
    const dm_xml_node *n = dm_xml_child(node, "reference");

    c->air = dm_xml_real(b->xml, dm_xml_child(node, "air"), "value", -1e12,
                         1e12, 0.0);
    c->reference = DM_NEW_ARRAY(b->arena, dm_reference_point, count);
    if (!c->reference) {
        b->out_of_memory = true;
        return;
    }
    for (; c->reference_count < count; n = dm_xml_next(n, "reference"))
        c->reference[c->reference_count++] = (dm_reference_point){
            .clock = dm_xml_clock(b->xml, n, "clock", (double)NAN),
            .value = dm_xml_real(b->xml, n, "value", -1e12, 1e12, 0.0)};
    check_references(b, node, c);
}

static void read_bands(book *b, const dm_xml_node *node, dm_calibration *c)
{
    static const char *const kinds[] = {"void-like", "soft-like", NULL};
    c->bands = DM_NEW_ARRAY(b->arena, dm_band, dm_xml_count(node, "band"));
    if (!c->bands) {
        b->out_of_memory = true;
        return;
    }
    for (const dm_xml_node *n = dm_xml_child(node, "band"); n;
         n = dm_xml_next(n, "band")) {
        dm_band *band = &c->bands[c->band_count++];
        bool is_void = dm_xml_word(b->xml, n, "kind", kinds, 0) == 0;
        band->kind = is_void ? DM_KIND_VOID_LIKE : DM_KIND_SOFT_LIKE;
        band->enter = dm_xml_real(b->xml, n, "enter", -3.0, 3.0, 0.0);
        band->leave = dm_xml_real(b->xml, n, "leave", -3.0, 3.0, 0.0);
        if (is_void && !(band->enter > band->leave && band->leave > 0.0))
            dm_xml_fault(b->xml, n, DM_RANGE,
                         "a void-like band needs enter > leave > 0");
        if (!is_void && !(band->enter < band->leave && band->leave < 0.0))
            dm_xml_fault(b->xml, n, DM_RANGE,
                         "a soft-like band needs enter < leave < 0");
        for (size_t i = 0; i + 1 < c->band_count; i++)
            if (c->bands[i].kind == band->kind)
                dm_xml_fault(b->xml, n, DM_INCONSISTENT, "a second %s band",
                             dm_kind_text(band->kind));
    }
}

static void read_materials(book *b, const dm_xml_node *node, dm_calibration *c)
{
    size_t count = dm_xml_count(node, "material");

    c->materials = DM_NEW_ARRAY(b->arena, dm_material, count);
    if (!c->materials) {
        b->out_of_memory = true;
        return;
    }
    for (const dm_xml_node *n = dm_xml_child(node, "material"); n;
         n = dm_xml_next(n, "material")) {
        dm_material m = {.name = dm_xml_text(b->xml, n, "kind", ""),
                         .mean =
                             dm_xml_real(b->xml, n, "mean", -10.0, 10.0, 0.0),
                         .sd = dm_xml_real(b->xml, n, "sd", 1e-6, 10.0, 1.0)};
        bool repeated = false;

        for (size_t i = 0; i < c->material_count && !repeated; i++)
            repeated = strcmp(c->materials[i].name, m.name) == 0;
        if (repeated)
            dm_xml_fault(b->xml, n, DM_INCONSISTENT,
                         "a second material of the kind %s", m.name);
        else
            c->materials[c->material_count++] = m;
    }
}

static void read_depths(book *b, const dm_xml_node *node, dm_calibration *c)
{
    const dm_xml_node *first = dm_xml_child(node, "depth");

    c->depths =
        DM_NEW_ARRAY(b->arena, dm_depth_point, dm_xml_count(node, "depth"));
    if (!c->depths) {
        b->out_of_memory = true;
        return;
    }
    for (const dm_xml_node *n = first; n; n = dm_xml_next(n, "depth")) {
        dm_depth_point *p = &c->depths[c->depth_count++];

        p->index = dm_xml_real(b->xml, n, "index", -1.0, 2.0, 0.0);
        p->depth = dm_xml_length(b->xml, n, "depth", 0.0, 1.0, 0.0);
        p->u = dm_xml_length(b->xml, n, "u", 0.0, 1.0, 0.0);
        if (n != first && !(p->index > p[-1].index && p->depth >= p[-1].depth))
            dm_xml_fault(b->xml, n, DM_INCONSISTENT,
                         "the index must grow from row to row of the depth "
                         "table, and the depth with it");
    }
}

void book_read_calibrations(book *b, const dm_xml_node *root)
{
    size_t count = book_count(b, root, "calibration", BOOK_MOST_CALIBRATIONS);
    const dm_xml_node *n = dm_xml_child(root, "calibration");

    for (; count > 0; count--, n = dm_xml_next(n, "calibration")) {
        dm_calibration *c =
            &b->survey->calibrations[b->survey->calibration_count++];

        c->place = dm_xml_place(b->xml, n);
        c->instrument =
            book_instrument(b, dm_xml_text(b->xml, n, "instrument", ""));
        read_duct_type(b, n, c);
        read_channel(b, n, c);
        c->wall = dm_xml_length(b->xml, n, "wall", 1e-4, 0.1, 0.0);
        c->wall_slope = 1000.0 * dm_xml_real(b->xml, n, "wall-slope-per-mm",
                                             -1.0, 1.0, (double)NAN);
        check_repeated(b, n, c);
        read_references(b, n, c);
        if (!b->out_of_memory)
            read_bands(b, n, c);
        if (!b->out_of_memory)
            read_materials(b, n, c);
        if (!b->out_of_memory)
            read_depths(b, n, c);
    }
}

const dm_calibration *dm_survey_calibration(const dm_survey *survey,
                                            size_t duct_type, size_t instrument,
                                            size_t channel)
{
    const dm_calibration *all = NULL;
    for (size_t i = 0; i < survey->calibration_count; i++) {
        const dm_calibration *c = &survey->calibrations[i];
        if (c->duct_type != duct_type || c->instrument != instrument)
            continue;
        if (c->channel == channel)
            return c;
        if (c->channel == DM_NONE && !all)
            all = c;
    }
    return all;
}

const char *dm_kind_text(dm_kind kind)
{
    static const char *const text[DM_KIND_COUNT] = {"sound-like", "void-like",
                                                    "soft-like", "unresolved"};
    return (unsigned)kind < DM_KIND_COUNT ? text[kind] : "unresolved";
}
