/* SPDX-License-Identifier: MIT
 * Instruments and calibrations of a field book, and what the survey answers
 * about them. */
#include <math.h>
#include <string.h>

#include "survey/read.h"

#define WHOLE_TURN 6.283185307179586476925

size_t book_instrument(const book *b, const char *id)
{
    for (size_t i = b->instruments_before; i < b->survey->instrument_count; i++)
        if (strcmp(b->survey->instruments[i].id, id) == 0)
            return i;
    return DM_NONE;
}

static void read_channels(book *b, const dm_xml_node *node, dm_instrument *in)
{
    in->channels =
        DM_NEW_ARRAY(b->arena, dm_channel, dm_xml_count(node, "channel"));
    if (!in->channels) {
        b->out_of_memory = true;
        return;
    }
    for (const dm_xml_node *n = dm_xml_child(node, "channel"); n;
         n = dm_xml_next(n, "channel")) {
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
    read_channels(b, node, in);
}

void book_read_instruments(book *b, const dm_xml_node *root)
{
    for (const dm_xml_node *n = dm_xml_child(root, "instrument"); n;
         n = dm_xml_next(n, "instrument"))
        read_instrument(b, n,
                        &b->survey->instruments[b->survey->instrument_count++]);
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
    c->channel = DM_NONE;
    if (!dm_xml_has(node, "channel") || c->instrument == DM_NONE)
        return;
    const char *id = dm_xml_text(b->xml, node, "channel", "");
    const dm_instrument *in = &b->survey->instruments[c->instrument];
    for (size_t i = 0; i < in->channel_count; i++)
        if (strcmp(in->channels[i].id, id) == 0)
            c->channel = i;
    if (c->channel == DM_NONE)
        dm_xml_fault(b->xml, node, DM_REFERENCE,
                     "instrument %s has no channel '%s'", in->id, id);
}

static void read_references(book *b, const dm_xml_node *node, dm_calibration *c)
{
    c->air = dm_xml_real(b->xml, dm_xml_child(node, "air"), "value", -1e12,
                         1e12, 0.0);
    c->reference = DM_NEW_ARRAY(b->arena, dm_reference_point,
                                dm_xml_count(node, "reference"));
    if (!c->reference) {
        b->out_of_memory = true;
        return;
    }
    for (const dm_xml_node *n = dm_xml_child(node, "reference"); n;
         n = dm_xml_next(n, "reference")) {
        dm_reference_point *p = &c->reference[c->reference_count++];
        p->clock = dm_xml_clock(b->xml, n, "clock", (double)NAN);
        p->value = dm_xml_real(b->xml, n, "value", -1e12, 1e12, 0.0);
        if (p->value == c->air)
            dm_xml_fault(b->xml, n, DM_INCONSISTENT,
                         "the reference equals the air reading: no index can "
                         "be made of them");
    }
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
    }
}

static void read_tables(book *b, const dm_xml_node *node, dm_calibration *c)
{
    c->materials =
        DM_NEW_ARRAY(b->arena, dm_material, dm_xml_count(node, "material"));
    c->depths =
        DM_NEW_ARRAY(b->arena, dm_depth_point, dm_xml_count(node, "depth"));
    if (!c->materials || !c->depths) {
        b->out_of_memory = true;
        return;
    }
    for (const dm_xml_node *n = dm_xml_child(node, "material"); n;
         n = dm_xml_next(n, "material"))
        c->materials[c->material_count++] = (dm_material){
            .name = dm_xml_text(b->xml, n, "kind", ""),
            .mean = dm_xml_real(b->xml, n, "mean", -10.0, 10.0, 0.0),
            .sd = dm_xml_real(b->xml, n, "sd", 0.0, 10.0, 1.0)};
    for (const dm_xml_node *n = dm_xml_child(node, "depth"); n;
         n = dm_xml_next(n, "depth"))
        c->depths[c->depth_count++] = (dm_depth_point){
            .index = dm_xml_real(b->xml, n, "index", -1.0, 2.0, 0.0),
            .depth = dm_xml_length(b->xml, n, "depth", 0.0, 1.0, 0.0),
            .u = dm_xml_length(b->xml, n, "u", 0.0, 1.0, 0.0)};
    const dm_xml_node *depth = dm_xml_child(node, "depth");
    if (depth)
        dm_xml_warn(b->xml, depth, "not used yet");
}

void book_read_calibrations(book *b, const dm_xml_node *root)
{
    for (const dm_xml_node *n = dm_xml_child(root, "calibration"); n;
         n = dm_xml_next(n, "calibration")) {
        dm_calibration *c =
            &b->survey->calibrations[b->survey->calibration_count++];
        c->place = dm_xml_place(b->xml, n);
        c->instrument =
            book_instrument(b, dm_xml_text(b->xml, n, "instrument", ""));
        read_duct_type(b, n, c);
        read_channel(b, n, c);
        read_references(b, n, c);
        read_bands(b, n, c);
        read_tables(b, n, c);
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
