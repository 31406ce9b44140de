/* SPDX-License-Identifier: MIT
 * Tendons that leave their cell: the free lengths, with the duct's outside
 * radius, against the clear sections of their part or of the nearest part
 * around it that has any. Between two sections the sides are straight; before
 * the first and beyond the last nothing is known, and nothing is said. Looked
 * at in steps of at most 0.25 m and at both ends of a free length: between two
 * steps a duct may come out of the room by less than a millimetre (a curve of
 * 10 m radius) unseen. */
#include <math.h>
#include <string.h>

#include "base/diag.h"
#include "base/num.h"
#include "model/read.h"

#define STEP 0.25     /* m */
#define TOUCHING 1e-3 /* m; less is the drawing's rounding */

typedef enum { SIDE_LEFT, SIDE_RIGHT, SIDE_BOTTOM, SIDE_TOP, SIDES } room_side;

typedef struct {
    double by[SIDES]; /* how far out, m; 0: nowhere */
    double at[SIDES]; /* tendon station, m */
    size_t hint;      /* section before the last point */
} excess;

static const dm_part *room_of(const dm_model *m, size_t part)
{
    while (part != DM_NONE && m->parts[part].section_count == 0)
        part = m->parts[part].parent;
    return part == DM_NONE ? NULL : &m->parts[part];
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

static void look(const dm_model *m, const dm_part *room, const dm_tendon *t,
                 double at, excess *e)
{
    dm_vec3 p = dm_centreline_point(&t->line, at);
    dm_alignment_foot foot;
    dm_clear_section s;
    if (!dm_model_station(m, p, &foot) ||
        !section_at(room, foot.s, &e->hint, &s))
        return;
    double r = 0.5 * dm_tendon_duct(m, t, at)->od;
    double out[SIDES] = {
        s.left - (foot.offset - r),
        foot.offset + r - s.right,
        s.bottom - (p.z - r),
        p.z + r - s.top,
    };
    for (size_t i = 0; i < SIDES; i++)
        if (out[i] > fmax(e->by[i], TOUCHING)) {
            e->by[i] = out[i];
            e->at[i] = at;
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
    excess e = {{0.0}, {0.0}, 0};
    if (!room || room->section_count < 2)
        return;
    for (size_t i = 0; i + 1 < t->support_count; i++) {
        double from = face_or(t, i, DM_SIDE_AHEAD);
        double to = face_or(t, i + 1, DM_SIDE_BACK);
        double steps = ceil(fmax(to - from, 0.0) / STEP);
        for (double k = 0.0; k <= steps; k++)
            look(r->model, room, t,
                 k < steps ? from + (to - from) * k / steps : to, &e);
    }
    for (size_t i = 0; i < SIDES; i++) {
        char by[DM_NUM_SIZE], at[DM_NUM_SIZE];
        if (e.by[i] <= 0.0)
            continue;
        dm_num_fixed(by, e.by[i] * 1e3, 0);
        dm_num_fixed(at, e.at[i], 3);
        dm_warn(r->diag, t->place, "tendon",
                "its duct leaves the room of %s through the %s, at station %s "
                "m by %s mm",
                room->id, words[i], at, by);
    }
}
