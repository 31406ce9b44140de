/* SPDX-License-Identifier: MIT
 * Room for a drill at a mark.
 *
 * The drill is a capsule that stands on the duct: all within half its diameter
 * of a length of its axis. Obstacles are the triangles of the meshes and the
 * ducts of other tendons, as drawn. Two things are asked: how far the axis runs
 * until it meets one (a ray from the duct's outside), and how near the nearest
 * one is to the capsule (distance to its axis less its radius). Triangles that
 * lie wholly within OWN of the tendon's duct are taken for that duct. */
#include <math.h>
#include <stdlib.h>

#include "context/distance.h"
#include "tap/work.h"

#define OWN 0.02 /* m */

const char *dm_room_text(dm_room room)
{
    static const char *const words[] = {"not known", "fits", "no room"};

    return (unsigned)room < 3 ? words[room] : words[0];
}

typedef struct {
    const dm_placer *p;
    double t;
    dm_frame frame;
    double r; /* outside of the duct */
    dm_context_skip skip;
    dm_capsule *ducts;
    size_t count;
} site;

/* An obstacle: a mesh's part by its name, or a tendon. */
typedef struct {
    double distance; /* NAN: none */
    const char *mesh;
    size_t tendon;
} obstacle;

/* The nearest one to the axis of the drill at a clock angle, within `within` of
 * it; its distance is from the axis. */
static obstacle beside(const site *s, double clock, double within)
{
    const dm_settings *set = &s->p->job->settings;
    double half = 0.5 * set->drill_diameter;
    double length = fmax(set->drill_length - half, half);
    dm_vec3 mark = dm_frame_surface(&s->frame, s->r, clock);
    dm_vec3 out = dm_frame_direction(&s->frame, clock), on;
    dm_vec3 a = dm_vec3_along(mark, half, out);
    dm_vec3 b = dm_vec3_along(mark, length, out);
    obstacle found = {(double)NAN, NULL, DM_NONE};
    dm_context_hit hit;

    for (size_t i = 0; i < s->count; i++) {
        const dm_capsule *c = &s->ducts[i];
        double d = fmax(0.0, dm_segments_apart(a, b, c->a, c->b, &on) - c->r);

        if (d <= within) {
            within = d;
            found = (obstacle){d, NULL, c->tendon};
        }
    }
    if (dm_context_near(s->p->context, a, b, within, &s->skip, &hit) &&
        !(hit.distance >= found.distance))
        found = (obstacle){hit.distance, hit.name, DM_NONE};
    return found;
}

/* The first one along the axis; from the duct's outside. */
static obstacle ahead(const site *s, double clock)
{
    dm_vec3 mark = dm_frame_surface(&s->frame, s->r, clock);
    dm_vec3 out = dm_frame_direction(&s->frame, clock);
    obstacle found = {(double)NAN, NULL, DM_NONE};
    dm_context_hit hit;

    for (size_t i = 0; i < s->count; i++) {
        const dm_capsule *c = &s->ducts[i];
        double d;

        if (dm_capsule_ahead(mark, out, c->a, c->b, c->r, &d) &&
            d <= DM_CLEARANCE_REACH && !(d >= found.distance))
            found = (obstacle){d, NULL, c->tendon};
    }
    if (dm_context_ray(s->p->context, mark, out, DM_CLEARANCE_REACH, &s->skip,
                       &hit) &&
        !(hit.distance >= found.distance))
        found = (obstacle){hit.distance, hit.name, DM_NONE};
    return found;
}

static bool fits(void *user, double clock)
{
    const site *s = user;
    double half = 0.5 * s->p->job->settings.drill_diameter;

    return dm_tap_fixtures_leave(s->p, s->t, clock) &&
           !(beside(s, clock, half).distance < half);
}

/* NULL with *bad: no memory. */
static const char *name_of(const site *s, const obstacle *o, bool *bad)
{
    const char *name = o->mesh;

    if (o->tendon != DM_NONE) {
        name = dm_arena_printf(s->p->arena, "tendon %s",
                               s->p->model->tendons[o->tendon].id);
        *bad = *bad || name == NULL;
    }
    return name;
}

/* Another clock angle of the void at which strands and obstacles leave room. */
static bool look_round(site *s, const dm_void_arc *arcs, size_t count,
                       const dm_tap_side *sides, size_t side_count,
                       const dm_tap *tap, dm_clearance *c)
{
    const dm_settings *set = &s->p->job->settings;
    dm_section section = dm_tendon_section(s->p->model, s->p->tendon, tap->t);
    dm_crew_angle crew = dm_tap_crew(s->p, tap->t);
    dm_strands_at *at = calloc(side_count + 1, sizeof *at);
    double best = DM_ENTER_LEAST;

    if (at == NULL)
        return false;
    for (size_t i = 0; i < side_count; i++)
        at[i] = sides[i].at;
    for (size_t i = 0; i < count; i++) {
        double clock, chance;

        if (!dm_clock_choose_free(&arcs[i], &section, at, side_count,
                                  set->stop_allowance + set->strand_room, &crew,
                                  fits, s, &clock, &chance) ||
            chance * tap->p_axis < best)
            continue;
        best = chance * tap->p_axis;
        c->other = true;
        c->other_clock = clock;
        c->other_p_enter = best;
    }
    free(at);
    return true;
}

bool dm_tap_clearance(const dm_placer *p, const dm_void_arc *arcs, size_t count,
                      const dm_tap_side *sides, size_t side_count, dm_tap *tap)
{
    double half = 0.5 * p->job->settings.drill_diameter;
    double reach = DM_CLEARANCE_REACH + p->job->settings.drill_length + half;
    dm_clearance *c = &tap->clearance;
    site s = {.p = p, .t = tap->t};
    obstacle near, first;
    bool bad = false;

    *c = (dm_clearance){.other_clock = (double)NAN,
                        .other_p_enter = (double)NAN};
    s.frame = dm_centreline_frame(&p->tendon->line, tap->t);
    s.r = 0.5 * dm_tendon_duct(p->model, p->tendon, tap->t)->od;
    s.skip = (dm_context_skip){&p->tendon->line, s.r + OWN};
    if (!dm_tap_ducts(p->model, p->out->tendon, tap->axis, reach + s.r,
                      &s.ducts, &s.count))
        return false;
    near = beside(&s, tap->clock, DM_CLEARANCE_REACH);
    first = ahead(&s, tap->clock);
    c->gap = near.distance - half;
    c->nearest = name_of(&s, &near, &bad);
    c->free = first.distance;
    c->ahead = name_of(&s, &first, &bad);
    c->room = near.distance < half ? DM_ROOM_NONE
              : p->context != NULL ? DM_ROOM_FITS
                                   : DM_ROOM_UNKNOWN;
    c->known = c->room != DM_ROOM_UNKNOWN;
    if (c->room == DM_ROOM_NONE)
        bad = !look_round(&s, arcs, count, sides, side_count, tap, c) || bad;
    free(s.ducts);
    return !bad;
}
