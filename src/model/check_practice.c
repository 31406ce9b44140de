/* SPDX-License-Identifier: MIT
 * Rules of practice for one tendon: what a good checker of drawings asks back
 * about, though it could be so. Each says where its bound comes from; "common
 * practice" has no source. The list with all bounds: docs/geometry.md. */
#include <math.h>
#include <string.h>

#include "base/diag.h"
#include "base/num.h"
#include "model/read.h"

#define PI 3.14159265358979323846
#define DEGREE (PI / 180.0)

/* Common practice, all of them. */
#define MOST_KINK (0.5 * DEGREE)   /* plate against the first leg */
#define MOST_MISFIT (1.0 * DEGREE) /* pipe against the tendon's turn */
#define USUAL_TURN (15.0 * DEGREE) /* where a type states no most */
#define FLAT_FACE (45.0 * DEGREE)  /* off square */
#define FACE_U 0.015               /* as dm_settings_default, m */
#define TAPE_U 0.003               /* as its tie_u, m */
#define GATE 3.0
#define UNLIKE 3.0       /* offsets of two faces, as a ratio, */
#define UNLIKE_LEAST 0.3 /* and at least, m */
#define STEEP (10.0 * DEGREE)

static const char *degrees(char text[DM_NUM_SIZE], double rad)
{
    dm_num_fixed(text, rad / DEGREE, 2);
    return text;
}

static const char *millimetres(char text[DM_NUM_SIZE], double m)
{
    dm_num_fixed(text, m * 1e3, 0);
    return text;
}

static double angle_between(dm_vec3 a, dm_vec3 b)
{
    return atan2(dm_vec3_norm(dm_vec3_cross(a, b)), dm_vec3_dot(a, b));
}

/* A tendon leaves its plate square, for a short length. */
static void check_plate(reader *r, const dm_tendon *t, bool first)
{
    const dm_support *s = &t->supports[first ? 0 : t->support_count - 1];
    if (dm_vec3_norm(s->plate_normal) < 0.5)
        return;
    dm_vec3 leg = dm_centreline_tangent(&t->line, s->t);
    double kink =
        angle_between(s->plate_normal, dm_vec3_scale(leg, first ? 1.0 : -1.0));
    char is[DM_NUM_SIZE];
    if (kink > 0.5 * PI)
        dm_warn(r->diag, s->place, "anchorage",
                "the normal of the plate of %s points away from the free "
                "length",
                s->id);
    else if (kink > MOST_KINK)
        dm_warn(r->diag, s->place, "anchorage",
                "the duct leaves the plate of %s with a kink of %s deg, "
                "practice is 0.5 deg at most",
                s->id, degrees(is, kink));
}

/* ---- deviators ---------------------------------------------------------- */

static void check_pipe(reader *r, const dm_tendon *t, size_t i)
{
    const dm_support *s = &t->supports[i];
    if (s->pipe_angle <= 0.0)
        return;
    /* Turns as vectors square to the duct: they differ by what the duct would
     * have to bend beside the pipe. */
    double plane = dm_tendon_bend_plane(t, i);
    double is = s->deflection, pipe = s->pipe_angle, off = fabs(is - pipe);
    bool planes = !isnan(plane) && !isnan(s->pipe_plane);
    if (planes)
        off = sqrt(fmax(is * is + pipe * pipe -
                            2.0 * is * pipe * cos(plane - s->pipe_plane),
                        0.0));
    if (off <= MOST_MISFIT)
        return;
    char turn[DM_NUM_SIZE], bent[DM_NUM_SIZE], by[DM_NUM_SIZE];
    char to[DM_NUM_SIZE], pipe_to[DM_NUM_SIZE];
    if (fabs(is - pipe) > MOST_MISFIT || !planes)
        dm_warn(r->diag, s->place, "deviator",
                "the tendon turns by %s deg at %s, its pipe is bent to %s deg",
                degrees(turn, is), s->id, degrees(bent, pipe));
    else
        dm_warn(r->diag, s->place, "deviator",
                "the tendon turns towards clock angle %s deg at %s, its pipe "
                "towards %s deg: they differ by %s deg in space",
                degrees(to, plane), s->id, degrees(pipe_to, s->pipe_plane),
                degrees(by, off));
}

static void check_turn(reader *r, const dm_tendon *t, size_t i)
{
    const dm_support *s = &t->supports[i];
    const dm_deviator_type *type = &r->model->deviator_types[s->deviator_type];
    char is[DM_NUM_SIZE];
    if (type->angle_max <= 0.0 && s->deflection > USUAL_TURN + 1e-9)
        dm_warn(r->diag, s->place, "deviator",
                "the tendon turns by %s deg at %s, 15 deg is the most in "
                "practice, and type %s states none",
                degrees(is, s->deflection), s->id, type->id);
}

/* From support to support along the bridge: a mistyped coordinate often shows
 * as a step back. Plumb legs have no such order. False: it has been said. */
static bool check_progress(reader *r, const dm_tendon *t)
{
    for (size_t i = 0; i + 1 < t->support_count; i++) {
        const dm_support *a = &t->supports[i], *b = &t->supports[i + 1];
        dm_vec3 leg = dm_vec3_sub(b->point, a->point);
        double ahead = dm_vec3_dot(leg, dm_model_direction(r->model, a->point));
        if (hypot(leg.x, leg.y) < sin(STEEP) * dm_vec3_norm(leg) ||
            ahead >= 0.0)
            continue;
        char by[DM_NUM_SIZE];
        dm_num_fixed(by, -ahead, 3);
        dm_warn(r->diag, b->place,
                b->kind == DM_SUPPORT_DEVIATOR ? "deviator" : "anchorage",
                "%s stands %s m back along the bridge from %s", b->id, by,
                a->id);
        return false;
    }
    return true;
}

/* ---- faces and readable ends -------------------------------------------- */

static void check_face_plane(reader *r, const dm_tendon *t, const dm_face *f)
{
    double off = angle_between(dm_vec3_scale(f->normal, (double)f->side),
                               dm_centreline_tangent(&t->line, f->t));
    char by[DM_NUM_SIZE];
    if (off > FLAT_FACE)
        dm_warn(r->diag, f->place, "face",
                "the plane of %s stands %s deg off square to the duct", f->id,
                degrees(by, off));
}

static void check_face_pair(reader *r, const dm_face *a, const dm_face *b)
{
    if (a->support != b->support)
        return;
    double least = fmin(a->offset, b->offset);
    double most = fmax(a->offset, b->offset);
    if (most <= UNLIKE * least || most - least < UNLIKE_LEAST)
        return;
    char back[DM_NUM_SIZE], ahead[DM_NUM_SIZE];
    dm_warn(r->diag, b->place, "face",
            "faces %s and %s stand %s mm and %s mm from the same point", a->id,
            b->id, millimetres(back, a->offset), millimetres(ahead, b->offset));
}

static double face_or(const dm_tendon *t, const dm_support *s, dm_side side)
{
    for (size_t i = 0; i < t->face_count; i++)
        if (&t->supports[t->faces[i].support] == s && t->faces[i].side == side)
            return t->faces[i].t;
    return s->t;
}

/* A pipe cannot be read, and it takes the whole bend. Ducts run through other
 * deviators, where a sensor may follow. A face inside the arc has been named
 * itself. */
static void check_readable(reader *r, const dm_xml_node *support,
                           const dm_tendon *t, const dm_support *s)
{
    if (s->arc == DM_NONE ||
        r->model->deviator_types[s->deviator_type].kind != DM_DEVIATOR_PIPE)
        return;
    const dm_segment *arc = &t->line.segments[s->arc];
    double begin = arc->t0 + 1e-9, end = arc->t0 + arc->length - 1e-9;
    for (const dm_xml_node *n = dm_xml_child(support, "readable"); n;
         n = dm_xml_next(n, "readable")) {
        bool back = strcmp(dm_xml_text(r->xml, n, "side", ""), "back") == 0;
        double at = back ? s->readable_back : s->readable_ahead;
        double face = face_or(t, s, back ? DM_SIDE_BACK : DM_SIDE_AHEAD);
        if (at > begin && at < end && (face <= begin || face >= end))
            dm_xml_warn(r->xml, n, "the readable end lies inside the arc of %s",
                        s->id);
    }
}

/* ---- what stands along it ------------------------------------------------ */

static double face_u(const dm_face *f)
{
    return f->u > 0.0 ? f->u : FACE_U;
}

/* The rule of the adjustment (docs/stations.md) before any reading is known:
 * value less drawing against what both faces and the tape may be off. */
static void check_tape(reader *r, const dm_tendon *t,
                       const dm_measured_length *m)
{
    const dm_face *a = &t->faces[m->face_from], *b = &t->faces[m->face_to];
    double radius = 0.5 * r->model->duct_types[t->ducts[0].duct_type].od;
    double from = dm_outside_length(&t->line, radius, m->clock,
                                    dm_face_station(t, a, radius, m->clock));
    double to = dm_outside_length(&t->line, radius, m->clock,
                                  dm_face_station(t, b, radius, m->clock));
    double drawn = fabs(to - from), off = m->value - drawn;
    double u = hypot(isnan(m->u) ? TAPE_U : m->u, hypot(face_u(a), face_u(b)));
    if (fabs(off) <= GATE * u)
        return;
    char mm[DM_NUM_SIZE], is[DM_NUM_SIZE], bound[DM_NUM_SIZE];
    dm_num_fixed(is, drawn, 3);
    dm_warn(r->diag, m->place, "measured-length",
            "the length taped from face %s to face %s is %s mm %s than drawn "
            "(%s m), beyond 3 times its uncertainty of %s mm",
            a->id, b->id, millimetres(mm, fabs(off)),
            off > 0.0 ? "longer" : "shorter", is, millimetres(bound, u));
}

/* A fixture between the two faces of a support cannot be reached. */
static void check_fixture(reader *r, const dm_tendon *t, const dm_fixture *x)
{
    for (size_t i = 0; i + 1 < t->face_count; i++) {
        const dm_face *a = &t->faces[i], *b = &t->faces[i + 1];
        if (a->support == b->support && x->from > a->t && x->to < b->t)
            dm_warn(r->diag, x->place, "fixture",
                    "%s lies inside the concrete of %s", x->id,
                    t->supports[a->support].id);
    }
}

/* The bundle is pulled to the inside of a bend. */
static void check_side(reader *r, const dm_tendon *t, const dm_strand_side *s)
{
    if (s->derived)
        return;
    for (size_t i = 1; i + 1 < t->support_count; i++) {
        const dm_support *d = &t->supports[i];
        double plane = dm_tendon_bend_plane(t, i);
        if (isnan(plane) || d->t < s->from || d->t > s->to ||
            d->deflection < MOST_MISFIT || cos(plane - s->clock) > -0.5)
            continue;
        char is[DM_NUM_SIZE], inside[DM_NUM_SIZE];
        dm_warn(r->diag, s->place, "strand-side",
                "the strands lie at clock angle %s deg in the bend of %s, "
                "whose inside is at %s deg",
                degrees(is, s->clock), d->id, degrees(inside, plane));
    }
}

void check_practice(reader *r, const dm_xml_node *node, const dm_tendon *t)
{
    /* A step back makes turns that are none of the deviators' fault. */
    bool onward = check_progress(r, t);
    check_plate(r, t, true);
    const dm_xml_node *n = dm_xml_child(node, "deviator");
    for (size_t i = 1; i + 1 < t->support_count; i++) {
        if (onward)
            check_turn(r, t, i);
        check_pipe(r, t, i);
        check_readable(r, n, t, &t->supports[i]);
        n = dm_xml_next(n, "deviator");
    }
    check_plate(r, t, false);
    for (size_t i = 0; i < t->face_count; i++) {
        check_face_plane(r, t, &t->faces[i]);
        if (i + 1 < t->face_count)
            check_face_pair(r, &t->faces[i], &t->faces[i + 1]);
    }
    for (size_t i = 0; i < t->fixture_count; i++)
        check_fixture(r, t, &t->fixtures[i]);
    for (size_t i = 0; i < t->strand_side_count; i++)
        check_side(r, t, &t->strand_sides[i]);
    for (size_t i = 0; i < t->measured_count; i++)
        check_tape(r, t, &t->measured[i]);
}
