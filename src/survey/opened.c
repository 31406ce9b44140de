/* SPDX-License-Identifier: MIT
 * What was found where ducts were opened, out of a field book. */
#include <math.h>
#include <string.h>

#include "base/num.h"
#include "geom/chord.h"
#include "survey/read.h"

const char *const dm_finding_words[DM_FOUND_COUNT + 1] = {
    "void", "water", "soft", "sound", "strand", "other", NULL};

const char *dm_finding_text(dm_finding found)
{
    return found < DM_FOUND_COUNT ? dm_finding_words[found] : "other";
}

static double squared(double x)
{
    return x * x;
}

/* By the derivatives of Boyle's law. NAN stays: one that is not stated is not
 * known to be small. */
static double volume_u(const dm_pressures *p)
{
    double low = p->after - p->before, high = p->air - p->after;
    double of_vessel = low / high * p->u_vessel;
    double per_pressure = p->vessel * p->u_pressure / high;

    return sqrt(squared(of_vessel) + squared(p->u_hoses) +
                squared(per_pressure) *
                    (1.0 + squared((low + high) / high) + squared(low / high)));
}

dm_pressures dm_pressures_none(void)
{
    const double nan = (double)NAN;

    return (dm_pressures){nan, nan, nan, nan, nan, nan, nan, nan, nan, nan};
}

dm_pressures dm_pressures_read(dm_xml *x, const dm_xml_node *n)
{
    const double most = 1e6, nan = (double)NAN;
    dm_pressures p;

    if (n == NULL)
        return dm_pressures_none();
    p.vessel = dm_xml_volume(x, n, "vessel", 1e-6, 10.0, 0.0);
    p.hoses = dm_xml_volume(x, n, "hoses", 0.0, 10.0, 0.0);
    p.before = dm_xml_pressure(x, n, "pressure-before", 0.0, most, 0.0);
    p.after = dm_xml_pressure(x, n, "pressure-after", 0.0, most, 0.0);
    p.air = dm_xml_pressure(x, n, "pressure-air", 0.0, most, 0.0);
    p.u_vessel = dm_xml_volume(x, n, "vessel-u", 0.0, 1.0, nan);
    p.u_pressure = dm_xml_pressure(x, n, "pressure-u", 0.0, 1e5, nan);
    p.u_hoses = dm_xml_volume(x, n, "hoses-u", 0.0, 1.0, 0.0);
    if (!(p.before < p.after) || !(p.after < p.air)) {
        dm_xml_fault(x, n, DM_INCONSISTENT,
                     "the pressures must be before < after < air, absolute");
        return dm_pressures_none();
    }
    p.volume = dm_pressure_volume(p.vessel, p.before, p.after, p.air, p.hoses);
    p.u = volume_u(&p);
    if (p.volume < 0.0) {
        dm_xml_fault(x, n, DM_INCONSISTENT,
                     "the hoses hold more than the pressures say in all");
        return dm_pressures_none();
    }
    return p;
}

/* Lines and blanks as one blank: it is a line of text (the schema's). */
static void squeeze(char *text)
{
    char *to = text;

    for (const char *from = text; *from != '\0'; from++) {
        bool blank = strchr(" \t\r\n", *from) != NULL;

        if (!blank)
            *to++ = *from;
        else if (to > text && to[-1] != ' ')
            *to++ = ' ';
    }
    if (to > text && to[-1] == ' ')
        to--;
    *to = '\0';
}

bool dm_opened_note(dm_xml *x, const dm_xml_node *opened, dm_arena *arena,
                    const char **note)
{
    const dm_xml_node *n = dm_xml_child(opened, "note");
    char *text;

    *note = NULL;
    if (n == NULL)
        return true;
    text = dm_arena_strdup(arena, dm_xml_content(x, n));
    if (text == NULL)
        return false;
    squeeze(text);
    if (*text != '\0')
        *note = text;
    return true;
}

/* The schema knows one book; the register tells openings of a survey apart by
 * their ids. */
static void check_opened(book *b, const dm_xml_node *n, const dm_opened *o)
{
    for (const dm_opened *other = b->survey->opened; other < o; other++)
        if (strcmp(other->id, o->id) == 0 &&
            strcmp(other->place.file, o->place.file) != 0)
            dm_xml_fault(b->xml, n, DM_INCONSISTENT,
                         "'%s' was opened in %s already", o->id,
                         other->place.file);
    if (o->found == DM_FOUND_SOUND && o->depth > 0.0)
        dm_xml_fault(b->xml, n, DM_INCONSISTENT,
                     "sound was found, but the depth of a void is stated");
}

/* A place that is not on the tendon would stand in registers for good. As
 * drawn: what the distances tell of a face is far less than what hides duct
 * behind it. */
static void check_place(book *b, const dm_xml_node *n, const dm_opened *o)
{
    char stated[DM_NUM_SIZE], most[DM_NUM_SIZE];
    const dm_tendon *t;
    const dm_face *f;
    double r, l, whole, reach;

    if (o->tendon == DM_NONE || o->face == DM_NONE)
        return;
    t = &b->model->tendons[o->tendon];
    f = &t->faces[o->face];
    r = dm_face_radius(b->model, t, f);
    l = dm_outside_length(&t->line, r, o->clock,
                          dm_face_station(t, f, r, o->clock));
    whole = dm_outside_length(&t->line, r, o->clock, t->line.length);
    reach = f->side == DM_SIDE_AHEAD ? whole - l : l;
    if (o->distance <= reach)
        return;
    dm_num_fixed(stated, o->distance, 3);
    dm_num_fixed(most, reach, 3);
    dm_xml_fault(b->xml, n, DM_RANGE,
                 "%s m from face %s lies beyond the end of tendon %s, expected "
                 "at most %s m",
                 stated, f->id, t->id, most);
}

void book_read_opened(book *b, const dm_xml_node *root)
{
    const dm_xml_node *first = dm_xml_child(root, "opened");

    for (const dm_xml_node *n = first; n; n = dm_xml_next(n, "opened")) {
        dm_opened *o = &b->survey->opened[b->survey->opened_count++];

        o->place = dm_xml_place(b->xml, n);
        o->id = dm_xml_text(b->xml, n, "id", "");
        o->tap = dm_xml_text(b->xml, n, "tap", NULL);
        o->tendon = book_tendon(b, n);
        o->face = book_face(b, n, "face", o->tendon);
        o->distance = dm_xml_length(b->xml, n, "distance", 0.0, 1e3, 0.0);
        o->clock = book_clock(b, n);
        o->depth = dm_xml_length(b->xml, n, "depth", 0.0, 1.0, (double)NAN);
        o->found = (dm_finding)dm_xml_word(b->xml, n, "found", dm_finding_words,
                                           DM_FOUND_OTHER);
        o->water = dm_xml_bool(b->xml, n, "water", false);
        o->strand = dm_xml_bool(b->xml, n, "strand", false);
        o->pressures =
            dm_pressures_read(b->xml, dm_xml_child(n, "pressure-volume"));
        if (!dm_opened_note(b->xml, n, b->arena, &o->note))
            b->out_of_memory = true;
        o->photo = dm_xml_text(b->xml, n, "photo", NULL);
        o->date = dm_xml_text(b->xml, n, "date", "");
        check_opened(b, n, o);
        check_place(b, n, o);
    }
}
