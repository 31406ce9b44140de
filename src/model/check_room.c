/* SPDX-License-Identifier: MIT
 * Tendons that leave their cell: the free lengths, with the duct's outside
 * radius, against the clear sections of their part or of the nearest part
 * around it that has any. Between two sections the sides are straight; before
 * the first and beyond the last nothing is known, and nothing is said.
 *
 * Steps of 2 m are passed over where the clearance at both ends is more than
 * what the curves of line and duct, h^2/8 (2 k + k), and kinks of the sides,
 * h/2 times their slope, could take from it; else it is looked at every 0.25 m.
 * Between those a duct may come out of the room by less than a millimetre (a
 * curve of 10 m radius) unseen, and by some more where a side has a kink. */
#include <math.h>
#include <string.h>

#include "base/diag.h"
#include "base/num.h"
#include "model/read.h"

#define FAR 2.0       /* m */
#define NEAR 0.25     /* m */
#define TOUCHING 1e-3 /* m; less is the drawing's rounding */

typedef enum { SIDE_LEFT, SIDE_RIGHT, SIDE_BOTTOM, SIDE_TOP, SIDES } room_side;

typedef struct {
    const dm_model *model;
    const dm_part *room;
    const dm_tendon *tendon;
    double slope;     /* greatest of a side, per metre of bridge station */
    double curvature; /* greatest of the alignment, 1/m */
    double spread;    /* of the duct's outside radii, m */
    size_t hint;      /* section before the last point */
    double by[SIDES]; /* how far out, m; 0: nowhere */
    double at[SIDES]; /* there, tendon station, m */
} watch;

static const dm_part *room_of(const dm_model *m, size_t part)
{
    while (part != DM_NONE && m->parts[part].section_count == 0)
        part = m->parts[part].parent;
    return part == DM_NONE ? NULL : &m->parts[part];
}

static double steepest(const dm_part *room)
{
    double most = 0.0;
    for (size_t i = 0; i + 1 < room->section_count; i++) {
        const dm_clear_section *a = &room->sections[i], *b = a + 1;
        double change =
            fmax(fmax(fabs(b->left - a->left), fabs(b->right - a->right)),
                 fmax(fabs(b->bottom - a->bottom), fabs(b->top - a->top)));
        most = fmax(most, change / (b->station - a->station));
    }
    return most;
}

static watch begin(const dm_model *m, const dm_part *room, const dm_tendon *t)
{
    watch w = {.model = m, .room = room, .tendon = t};
    w.slope = steepest(room);
    for (size_t i = 0; m->alignment && i < m->alignment->horizontal_count;
         i++) {
        const dm_horizontal *e = &m->alignment->horizontal[i];
        w.curvature = fmax(w.curvature, fmax(fabs(e->k0), fabs(e->k1)));
    }
    double least = (double)INFINITY, most = 0.0;
    for (size_t i = 0; i < t->duct_count; i++) {
        double od = m->duct_types[t->ducts[i].duct_type].od;
        least = fmin(least, od);
        most = fmax(most, od);
    }
    w.spread = 0.5 * (most - least);
    return w;
}

/* The section at a station; false: beyond the ends. */
static bool section_at(const dm_part *p, double s, size_t *hint,
                       dm_clear_section *out)
{
    size_t last = p->section_count - 1;
    if (!(s >= p->sections[0].station && s <= p->sections[last].station))
        return false;
    while (*hint > 0 && p->sections[*hint].station > s)
        --*hint;
    while (*hint + 1 < last && p->sections[*hint + 1].station < s)
        ++*hint;
    const dm_clear_section *a = &p->sections[*hint], *b = a + 1;
    double f = (s - a->station) / (b->station - a->station);
    *out = (dm_clear_section){s, a->left + f * (b->left - a->left),
                              a->right + f * (b->right - a->right),
                              a->bottom + f * (b->bottom - a->bottom),
                              a->top + f * (b->top - a->top)};
    return true;
}

/* How far the duct is outside each side; false: no section there. */
static bool look(watch *w, double at, double out[SIDES])
{
    dm_vec3 p = dm_centreline_point(&w->tendon->line, at);
    dm_alignment_foot foot;
    dm_clear_section s;
    if (!dm_model_station(w->model, p, &foot) ||
        !section_at(w->room, foot.s, &w->hint, &s))
        return false;
    double r = 0.5 * dm_tendon_duct(w->model, w->tendon, at)->od;
    out[SIDE_LEFT] = s.left - (foot.offset - r);
    out[SIDE_RIGHT] = foot.offset + r - s.right;
    out[SIDE_BOTTOM] = s.bottom - (p.z - r);
    out[SIDE_TOP] = p.z + r - s.top;
    for (size_t i = 0; i < SIDES; i++)
        if (out[i] > fmax(w->by[i], TOUCHING)) {
            w->by[i] = out[i];
            w->at[i] = at;
        }
    return true;
}

/* What may be nearer to a side between two places than at both. */
static double margin(const watch *w, double from, double to)
{
    const dm_centreline *line = &w->tendon->line;
    double h = to - from, bend = 0.0;
    size_t last = dm_centreline_find(line, to, 0);
    for (size_t i = dm_centreline_find(line, from, 0); i <= last; i++)
        bend = fmax(bend, line->segments[i].kappa);
    return h * h / 8.0 * (2.0 * w->curvature + bend) + 0.6 * h * w->slope +
           w->spread;
}

static void look_between(watch *w, double from, double to)
{
    double a[SIDES] = {0.0}, b[SIDES] = {0.0};
    double steps = ceil((to - from) / FAR);
    bool known = look(w, from, a);
    for (double k = 1.0; k <= steps; k++) {
        double t0 = from + (to - from) * (k - 1.0) / steps;
        double t1 = k < steps ? from + (to - from) * k / steps : to;
        bool there = look(w, t1, b), both = there && known;
        double least = -margin(w, t0, t1);
        for (size_t i = 0; both && i < SIDES; i++)
            both = a[i] < least && b[i] < least;
        double fine = both ? 1.0 : ceil((t1 - t0) / NEAR);
        for (double n = 1.0; n < fine; n++)
            look(w, t0 + (t1 - t0) * n / fine, a); /* a is not needed now */
        memcpy(a, b, sizeof a);
        known = there;
    }
}

static double face_or(const dm_tendon *t, size_t support, dm_side side)
{
    for (size_t i = 0; i < t->face_count; i++)
        if (t->faces[i].support == support && t->faces[i].side == side)
            return t->faces[i].t;
    return t->supports[support].t;
}

void check_room(reader *r, const dm_tendon *t)
{
    static const char *const words[SIDES] = {"left side", "right side", "floor",
                                             "ceiling"};
    const dm_part *room = room_of(r->model, t->part);
    if (!room || room->section_count < 2)
        return;
    watch w = begin(r->model, room, t);
    for (size_t i = 0; i + 1 < t->support_count; i++)
        look_between(&w, face_or(t, i, DM_SIDE_AHEAD),
                     face_or(t, i + 1, DM_SIDE_BACK));
    for (size_t i = 0; i < SIDES; i++) {
        char by[DM_NUM_SIZE], at[DM_NUM_SIZE];
        if (w.by[i] <= 0.0)
            continue;
        dm_num_fixed(by, w.by[i] * 1e3, 0);
        dm_num_fixed(at, w.at[i], 3);
        dm_warn(r->diag, t->place, "tendon",
                "its duct leaves the room of %s through the %s, at station %s "
                "m by %s mm",
                room->id, words[i], at, by);
    }
}
