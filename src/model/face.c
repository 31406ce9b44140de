/* SPDX-License-Identifier: MIT
 * Faces of a tendon's supports, and where its duct can be read from. */
#include <math.h>
#include <stdlib.h>

#include "model/tendon.h"

/* A plane through the corner meets the arc a little beside its middle. */
#define ASTRAY 1e-3 /* m */

static const char *const sides[] = {"back", "ahead", NULL};

static dm_side read_side(reader *r, const dm_xml_node *n)
{
    return dm_xml_word(r->xml, n, "side", sides, 0) == 0 ? DM_SIDE_BACK
                                                         : DM_SIDE_AHEAD;
}

/* ---- faces and readable ends
 * -------------------------------------------------------- */

static void read_face(reader *r, const dm_xml_node *n, dm_tendon *t,
                      size_t support)
{
    const dm_support *s = &t->supports[support];
    dm_face *f = &t->faces[t->face_count++];
    *f = (dm_face){.id = dm_xml_text(r->xml, n, "id", ""),
                   .support = support,
                   .side = read_side(r, n),
                   .offset = dm_xml_length(r->xml, n, "offset", 0.0, 20.0, 0.0),
                   .u = dm_xml_length(r->xml, n, "u", 0.0, 1.0, 0.0),
                   .touchable = dm_xml_bool(r->xml, n, "touchable", true),
                   .place = dm_xml_place(r->xml, n)};
    for (size_t i = 0; i + 1 < t->face_count; i++)
        if (t->faces[i].support == support && t->faces[i].side == f->side) {
            dm_xml_fault(r->xml, n, DM_INCONSISTENT,
                         "a second face on the %s side of %s",
                         sides[f->side == DM_SIDE_AHEAD], s->id);
            return;
        }
    dm_side wrong = support == 0 ? DM_SIDE_BACK : DM_SIDE_AHEAD;
    if (s->kind == DM_SUPPORT_ANCHORAGE && f->side == wrong) {
        dm_xml_fault(r->xml, n, DM_INCONSISTENT,
                     "the %s anchorage has its free length %s of it: expected "
                     "side=\"%s\"",
                     support == 0 ? "first" : "last",
                     support == 0 ? "ahead" : "back",
                     support == 0 ? "ahead" : "back");
        return;
    }
    const char *normal = dm_xml_text(r->xml, n, "normal", NULL);
    f->normal_assumed = !normal;
    const dm_alignment *line = r->model->alignment;
    dm_vec3 along =
        line ? dm_alignment_direction(line, support_foot(line, s).s, NULL)
             : r->model->direction;
    f->normal = dm_vec3_scale(along, (double)f->side);
    if (normal && !read_direction3(normal, &f->normal)) {
        dm_xml_fault(r->xml, n, DM_GEOMETRY, "the normal is zero");
        return;
    }
    dm_vec3 u = dm_centreline_tangent(&t->line, s->t);
    double out = (double)f->side * dm_vec3_dot(f->normal, u);
    if (out < 0.1) {
        dm_xml_fault(r->xml, n, DM_GEOMETRY,
                     "the face's normal does not point out of the concrete "
                     "along the duct");
        return;
    }
    f->origin = dm_vec3_along(s->point, f->offset, f->normal);
    double guess = s->t + (double)f->side * f->offset / out;
    if (!dm_centreline_cross(&t->line, 0.0, 0.0, f->origin, f->normal, guess,
                             &f->t)) {
        dm_xml_fault(r->xml, n, DM_GEOMETRY,
                     "the duct does not cross this face within 2 m of where "
                     "it is expected");
        return;
    }
    if (f->t < -1e-9 || f->t > t->line.length + 1e-9)
        dm_xml_fault(r->xml, n, DM_GEOMETRY,
                     "the face lies beyond the end of the tendon");
    else if ((double)f->side * (f->t - s->t) < -ASTRAY)
        dm_xml_fault(r->xml, n, DM_GEOMETRY,
                     "the duct crosses this face on the other side of %s",
                     s->id);
}

static const dm_face *face_of(const dm_tendon *t, size_t support, dm_side side)
{
    for (size_t i = 0; i < t->face_count; i++)
        if (t->faces[i].support == support && t->faces[i].side == side)
            return &t->faces[i];
    return NULL;
}

const char *dm_hidden_text(dm_hidden hidden)
{
    static const char *const text[] = {"hidden", "trumpet", "boot", "pipe",
                                       "sleeve"};

    return text[hidden];
}

static void read_readable(reader *r, const dm_xml_node *n, dm_tendon *t,
                          size_t support)
{
    static const char *const hidden[] = {"trumpet", "boot", "pipe", "sleeve",
                                         NULL};
    dm_side side = read_side(r, n);
    double offset = dm_xml_length(r->xml, n, "offset", -20.0, 20.0, 0.0);
    const dm_face *f = face_of(t, support, side);
    if (!f) {
        dm_xml_fault(r->xml, n, DM_INCONSISTENT,
                     "%s has no face on its %s side to count from",
                     t->supports[support].id, sides[side == DM_SIDE_AHEAD]);
        return;
    }
    double at = f->t + (double)side * offset;
    double *end = side == DM_SIDE_AHEAD ? &t->supports[support].readable_ahead
                                        : &t->supports[support].readable_back;
    if (!isnan(*end)) {
        dm_xml_fault(r->xml, n, DM_INCONSISTENT,
                     "a second readable end on the %s side of %s",
                     sides[side == DM_SIDE_AHEAD], t->supports[support].id);
        return;
    }
    *end = at;
    dm_hidden *by = side == DM_SIDE_AHEAD ? &t->supports[support].hidden_ahead
                                          : &t->supports[support].hidden_back;
    *by = (dm_hidden)(1 + dm_xml_word(r->xml, n, "hidden-by", hidden, -1));
    if ((double)side * (at - t->supports[support].t) < -1e-9)
        dm_xml_fault(r->xml, n, DM_GEOMETRY,
                     "the readable end lies on the other side of %s",
                     t->supports[support].id);
}

/* Where nothing is stated duct can be read from the face on, or from the
 * support itself where there is no face. */
static void default_readable(dm_tendon *t, size_t i)
{
    dm_support *s = &t->supports[i];
    const dm_face *back = face_of(t, i, DM_SIDE_BACK);
    const dm_face *ahead = face_of(t, i, DM_SIDE_AHEAD);
    if (i > 0 && isnan(s->readable_back))
        s->readable_back = back ? back->t : s->t;
    if (i + 1 < t->support_count && isnan(s->readable_ahead))
        s->readable_ahead = ahead ? ahead->t : s->t;
}

static int by_station(const void *a, const void *b)
{
    const dm_face *x = a, *y = b;
    if (x->t != y->t)
        return x->t < y->t ? -1 : 1;
    if (x->support != y->support)
        return x->support < y->support ? -1 : 1;
    return (int)x->side - (int)y->side;
}

void read_faces(reader *r, const dm_xml_node *const *nodes, dm_tendon *t)
{
    size_t count = 0, before = fault_count(r);
    for (size_t i = 0; i < t->support_count; i++)
        count += dm_xml_count(nodes[i], "face");
    t->faces = DM_NEW_ARRAY(r->arena, dm_face, count);
    if (!t->faces) {
        r->out_of_memory = true;
        return;
    }
    for (size_t i = 0; i < t->support_count; i++)
        for (const dm_xml_node *n = dm_xml_child(nodes[i], "face"); n;
             n = dm_xml_next(n, "face"))
            read_face(r, n, t, i);
    if (fault_count(r) != before)
        return;
    if (t->face_count > 1)
        qsort(t->faces, t->face_count, sizeof *t->faces, by_station);
    for (size_t i = 0; i < t->support_count; i++) {
        for (const dm_xml_node *n = dm_xml_child(nodes[i], "readable"); n;
             n = dm_xml_next(n, "readable"))
            read_readable(r, n, t, i);
        default_readable(t, i);
    }
}
