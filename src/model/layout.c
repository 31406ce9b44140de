/* SPDX-License-Identifier: MIT
 * Lengths, deviators and levels of a tendon. High and low points: the
 * centreline is cut where its tangent is level, so that every piece rises,
 * falls or is level throughout; a high point is where what rose falls, with
 * any level length between. Nothing is sampled. */
#include "ductmark/layout.h"

#include <math.h>
#include <string.h>

#include "base/arena.h"
#include "ductmark/section.h"

#define PI 3.14159265358979323846

const char *dm_level_text(dm_level_kind kind)
{
    static const char *const words[] = {"low", "high", "level"};
    return words[kind];
}

static dm_bridge_place place_of(const dm_model *m, const dm_tendon *n, double t)
{
    return dm_model_bridge_place(m, dm_centreline_point(&n->line, t));
}

static dm_section section_in(const dm_model *m, const dm_tendon *n, size_t duct)
{
    const dm_strand_type *strand =
        n->strand_type == DM_NONE ? NULL : &m->strand_types[n->strand_type];
    return dm_section_of(&m->duct_types[duct], strand, n->strands, 0.0);
}

static void find_section(const dm_model *m, const dm_tendon *n, dm_layout *out)
{
    out->duct_type = n->ducts[0].duct_type;
    out->section = section_in(m, n, out->duct_type);
    for (size_t i = 1; i < n->duct_count; i++) {
        dm_section s = section_in(m, n, n->ducts[i].duct_type);
        if (s.area_ratio < out->section.area_ratio) {
            out->section = s;
            out->duct_type = n->ducts[i].duct_type;
        }
    }
}

/* ---- deviators and free lengths ----------------------------------------- */

static void find_deviators(const dm_model *m, const dm_tendon *n,
                           dm_layout *out)
{
    for (size_t i = 1; i + 1 < n->support_count; i++) {
        const dm_support *s = &n->supports[i];
        out->deviators[out->deviator_count++] =
            (dm_layout_deviator){.support = i,
                                 .t = s->t,
                                 .place = place_of(m, n, s->t),
                                 .deflection = s->deflection,
                                 .plane = dm_tendon_bend_plane(n, i),
                                 .radius = s->radius};
    }
}

static double face_or(const dm_tendon *n, size_t support, dm_side side)
{
    for (size_t i = 0; i < n->face_count; i++)
        if (n->faces[i].support == support && n->faces[i].side == side)
            return n->faces[i].t;
    return n->supports[support].t;
}

static double readable_within(const dm_model *m, const dm_tendon *n,
                              double from, double to)
{
    double sum = 0.0;
    for (size_t i = 0; i < n->duct_count; i++) {
        const dm_duct_length *d = &n->ducts[i];
        if (strcmp(m->duct_types[d->duct_type].material, "steel") != 0)
            sum += fmax(fmin(d->to, to) - fmax(d->from, from), 0.0);
    }
    return sum;
}

static void find_free_lengths(const dm_model *m, const dm_tendon *n,
                              dm_layout *out)
{
    for (size_t i = 0; i + 1 < n->support_count; i++) {
        dm_free_length *p = &out->free_lengths[out->free_count++];
        p->from = face_or(n, i, DM_SIDE_AHEAD);
        p->to = face_or(n, i + 1, DM_SIDE_BACK);
        p->free = p->to - p->from;
        /* Duct that can be read inside the concrete is not free. */
        p->readable =
            readable_within(m, n, fmax(p->from, n->supports[i].readable_ahead),
                            fmin(p->to, n->supports[i + 1].readable_back));
        out->free += p->free;
        out->readable += p->readable;
    }
}

/* ---- high and low points ------------------------------------------------ */

typedef struct {
    const dm_tendon *tendon;
    dm_layout *out;
    int before;   /* 1: rose, -1: fell, 0: nothing but level so far */
    double since; /* where what rose or fell ended, m */
} climb;

static void add_level(climb *c, dm_level_kind kind, double from, double to)
{
    c->out->levels[c->out->level_count++] = (dm_layout_level){
        .kind = kind,
        .from = from,
        .to = to,
        .z = dm_centreline_point(&c->tendon->line, 0.5 * (from + to)).z};
}

/* The centreline from t0 to t1 rises (1), falls (-1) or is level (0). */
static void take_piece(climb *c, double t0, double t1)
{
    double rise = dm_centreline_point(&c->tendon->line, t1).z -
                  dm_centreline_point(&c->tendon->line, t0).z;
    /* A micrometre a metre is level, whatever the drawing's rounding. */
    if (fabs(rise) <= 1e-6 * (t1 - t0) + 1e-9)
        return;
    int way = rise > 0.0 ? 1 : -1;
    if (way != c->before)
        add_level(c, way > 0 ? DM_LEVEL_LOW : DM_LEVEL_HIGH, c->since, t0);
    c->before = way;
    c->since = t1;
}

/* An arc is cut where its tangent, cos(a) u + sin(a) n, has no Z. */
static void take_segment(climb *c, const dm_segment *s)
{
    double end = s->t0 + s->length, turn = s->kappa * s->length;
    double level = s->kappa > 0.0 ? atan2(-s->tangent.z, s->normal.z) : -1.0;
    if (level < 0.0)
        level += PI;
    if (s->kappa > 0.0 && level > 0.0 && level < turn) {
        double at = s->t0 + level / s->kappa;
        take_piece(c, s->t0, at);
        take_piece(c, at, end);
    } else {
        take_piece(c, s->t0, end);
    }
}

static size_t support_at(const dm_tendon *n, double t)
{
    for (size_t i = 0; i < n->support_count; i++) {
        const dm_support *s = &n->supports[i];
        double half =
            s->arc == DM_NONE ? 0.0 : 0.5 * n->line.segments[s->arc].length;
        if (fabs(t - s->t) <= half + 1e-6)
            return i;
    }
    return DM_NONE;
}

static void find_levels(const dm_model *m, const dm_tendon *n, dm_layout *out)
{
    climb c = {n, out, 0, 0.0};
    for (size_t i = 0; i < n->line.count; i++)
        take_segment(&c, &n->line.segments[i]);
    if (c.before == 0)
        add_level(&c, DM_LEVEL_EVEN, 0.0, n->line.length);
    else
        add_level(&c, c.before > 0 ? DM_LEVEL_HIGH : DM_LEVEL_LOW, c.since,
                  n->line.length);
    for (size_t i = 0; i < out->level_count; i++) {
        dm_layout_level *l = &out->levels[i];
        l->place = place_of(m, n, 0.5 * (l->from + l->to));
        l->support_from = support_at(n, l->from);
        l->support_to = support_at(n, l->to);
    }
}

dm_status dm_layout_make(const dm_model *model, const dm_tendon *tendon,
                         struct dm_arena *arena, dm_layout *out)
{
    dm_layout made = {.length = tendon->line.length};
    made.deviators =
        DM_NEW_ARRAY(arena, dm_layout_deviator, tendon->support_count);
    made.free_lengths =
        DM_NEW_ARRAY(arena, dm_free_length, tendon->support_count);
    /* At most one level before each piece, and the last; two pieces a
     * segment. */
    made.levels =
        DM_NEW_ARRAY(arena, dm_layout_level, 2 * tendon->line.count + 1);
    if (!made.deviators || !made.free_lengths || !made.levels)
        return DM_NOMEM;
    find_section(model, tendon, &made);
    find_deviators(model, tendon, &made);
    find_free_lengths(model, tendon, &made);
    find_levels(model, tendon, &made);
    *out = made;
    return DM_OK;
}
