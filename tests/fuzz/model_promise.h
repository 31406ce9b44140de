/* SPDX-License-Identifier: MIT
 * What a model that is accepted must hold: later stages rely on it without
 * looking again. */
#ifndef DM_FUZZ_MODEL_PROMISE_H
#define DM_FUZZ_MODEL_PROMISE_H

#include <math.h>

#include "ductmark/layout.h"
#include "fuzz.h"
#include "model/read.h"

/* Stations are found to 1e-9 m; points may lie 1e8 m from the origin, where
 * doubles have a spacing of 1.5e-8 m. */
#define PROMISE_NEAR 1e-5

static inline void promise_line(const dm_tendon *t)
{
    const dm_centreline *line = &t->line;
    double reached = 0.0;

    for (size_t i = 0; i < line->count; i++) {
        const dm_segment *s = &line->segments[i];
        FUZZ_CHECK(s->length > 0.0 && s->t0 == reached);
        FUZZ_CHECK(fabs(dm_vec3_norm(s->tangent) - 1.0) < 1e-9);
        reached = s->t0 + s->length;
        if (i + 1 == line->count)
            break;
        /* No gap and no kink where two pieces meet. */
        const dm_segment *next = s + 1;
        dm_vec3 before = dm_centreline_tangent(line, s->t0 + s->length - 1e-9);
        dm_vec3 jump =
            dm_vec3_sub(next->begin, dm_centreline_point(line, reached - 1e-9));
        FUZZ_CHECK(dm_vec3_norm(jump) < PROMISE_NEAR);
        FUZZ_CHECK(dm_vec3_norm(dm_vec3_sub(before, next->tangent)) < 1e-6);
    }
    FUZZ_CHECK(reached == line->length);
}

static inline void promise_faces(const dm_tendon *t)
{
    for (size_t i = 0; i < t->face_count; i++) {
        const dm_face *f = &t->faces[i];
        FUZZ_CHECK(f->support < t->support_count);
        FUZZ_CHECK(fabs(dm_vec3_norm(f->normal) - 1.0) < 1e-9);
        FUZZ_CHECK(f->offset >= 0.0 && f->u >= 0.0);
        FUZZ_CHECK(f->t >= -1e-6 && f->t <= t->line.length + 1e-6);
        FUZZ_CHECK(isfinite(dm_face_station(t, f, 0.05, 1.0)));
        /* On its plane. */
        dm_vec3 p = dm_centreline_point(&t->line, f->t);
        FUZZ_CHECK(fabs(dm_vec3_dot(dm_vec3_sub(p, f->origin), f->normal)) <
                   PROMISE_NEAR);
        if (i == 0)
            continue;
        const dm_face *before = f - 1;
        FUZZ_CHECK(f->t >= before->t && f->support >= before->support);
        FUZZ_CHECK(f->support > before->support || f->side > before->side);
    }
}

static inline void promise_supports(const dm_model *m, const dm_tendon *t)
{
    double length = t->line.length;

    for (size_t i = 0; i < t->support_count; i++) {
        const dm_support *s = &t->supports[i];
        FUZZ_CHECK(isfinite(s->t) && s->t >= 0.0 && s->t <= length + 1e-6);
        FUZZ_CHECK(i == 0 || isfinite(s->readable_back));
        FUZZ_CHECK(i == 0 || s->t > t->supports[i - 1].t);
        FUZZ_CHECK(i == 0 || t->supports[i - 1].readable_ahead <=
                                 s->readable_back + 1e-6);
        FUZZ_CHECK(i + 1 == t->support_count || isfinite(s->readable_ahead));
        if (s->kind == DM_SUPPORT_ANCHORAGE)
            continue;
        FUZZ_CHECK(s->deviator_type < m->deviator_type_count);
        FUZZ_CHECK(s->radius >=
                   m->deviator_types[s->deviator_type].radius_min - 1e-9);
    }
}

static inline void promise_tendon(const dm_model *m, const dm_tendon *t)
{
    double length = t->line.length, reached = 0.0;

    FUZZ_CHECK(t->support_count >= 2 && t->duct_count >= 1);
    FUZZ_CHECK(isfinite(length) && length > 0.0);
    FUZZ_CHECK(t->part == DM_NONE || t->part < m->part_count);
    promise_line(t);
    promise_supports(m, t);
    promise_faces(t);
    for (size_t i = 0; i < t->duct_count; i++) {
        FUZZ_CHECK(t->ducts[i].duct_type < m->duct_type_count);
        FUZZ_CHECK(t->ducts[i].from == reached);
        FUZZ_CHECK(t->ducts[i].to > reached);
        reached = t->ducts[i].to;
    }
    FUZZ_CHECK(reached == length);
    for (size_t i = 0; i < t->fixture_count; i++) {
        const dm_fixture *x = &t->fixtures[i];
        FUZZ_CHECK(x->from >= -1e-6 && x->from <= x->to);
        FUZZ_CHECK(x->to <= length + 1e-6);
        FUZZ_CHECK(i == 0 || x->from >= t->fixtures[i - 1].from);
        FUZZ_CHECK(x->clock_from != x->clock_to);
    }
    for (int i = 0; i <= 8; i++) {
        double at = length * i / 8.0;
        dm_vec3 p = dm_centreline_point(&t->line, at);
        FUZZ_CHECK(isfinite(p.x) && isfinite(p.y) && isfinite(p.z));
        FUZZ_CHECK(dm_centreline_frame(&t->line, at).crown_defined);
        FUZZ_CHECK(dm_tendon_duct(m, t, at)->od > 0.0);
    }
}

/* High and low points alternate along the tendon, and no length is free that
 * is not there. */
static inline void promise_layout(const dm_model *m, const dm_tendon *t)
{
    dm_arena *arena = dm_arena_new();
    dm_layout l;
    if (arena && dm_layout_make(m, t, arena, &l) == DM_OK) {
        /* A face may stand 1 mm on the other side of its support. */
        double slack = 1e-3 * (double)t->support_count;
        FUZZ_CHECK(l.free >= -slack && l.free <= l.length + slack);
        FUZZ_CHECK(l.readable >= 0.0 && l.readable <= l.free + 1e-6);
        FUZZ_CHECK(l.level_count > 0);
        for (size_t i = 0; i < l.level_count; i++) {
            const dm_layout_level *v = &l.levels[i];
            FUZZ_CHECK(isfinite(v->z) && v->from <= v->to);
            FUZZ_CHECK(v->from >= 0.0 && v->to <= l.length + 1e-9);
            FUZZ_CHECK(i == 0 ||
                       (v->kind != v[-1].kind && v->from >= v[-1].to));
        }
    }
    dm_arena_free(arena);
}

/* A point of the line is on it, whatever the line does. */
static inline void promise_alignment(const dm_alignment *line)
{
    FUZZ_CHECK(line->horizontal_count > 0 && line->end > line->begin);
    for (int i = -1; i <= 9; i++) {
        double s = line->begin + (line->end - line->begin) * i / 8.0;
        dm_alignment_place at = dm_alignment_at(line, s);
        FUZZ_CHECK(isfinite(at.x) && isfinite(at.y) && isfinite(at.bearing));
        FUZZ_CHECK(isfinite(at.height) == (line->vertical_count > 0));
        dm_vec3 p = dm_alignment_point(line, s, 0.0, 0.0);
        dm_alignment_foot foot = dm_alignment_nearest(line, p);
        FUZZ_CHECK(i < 0 || i > 8 || fabs(foot.offset) < PROMISE_NEAR);
        foot = dm_alignment_nearest(line, (dm_vec3){p.x + 7.0, p.y, 0.0});
        FUZZ_CHECK(isfinite(foot.s));
        FUZZ_CHECK(i < 0 || i > 8 || fabs(foot.offset) < 7.0 + PROMISE_NEAR);
        size_t zone = 0;
        double shown = dm_alignment_display(line, s, &zone), back = 0.0;
        FUZZ_CHECK(dm_alignment_undisplay(line, shown, zone, &back));
        FUZZ_CHECK(fabs(back - s) < 1e-6);
    }
}

/* Reads the text and holds the reader to its word. */
static inline void promise_model(const dm_buf *text)
{
    dm_model *m = NULL;
    dm_diag diag = {0};
    dm_status status =
        dm_model_read_text("/nowhere/bridge.xml", text, &diag, &m);

    FUZZ_CHECK((status == DM_OK) == (m != NULL));
    FUZZ_CHECK((status == DM_OK) == (diag.errors == 0));
    if (m && m->alignment)
        promise_alignment(m->alignment);
    for (size_t i = 0; m && i < m->tendon_count; i++) {
        promise_tendon(m, &m->tendons[i]);
        promise_layout(m, &m->tendons[i]);
    }
    dm_model_free(m);
}

#endif
