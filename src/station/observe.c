/* SPDX-License-Identifier: MIT
 * Rows of knots and observations. What is observed are misclosures of the
 * intervals between consecutive ties of a section,
 *   d = (what tie b states - what tie a states) - (b - a by the run),
 * and taped lengths against the drawing. The first tie of a section is not
 * lost by that: the section hangs on it, with its error as an unknown. */
#include <math.h>
#include <string.h>

#include "station/system.h"

/* ---- rows of knots ------------------------------------------------------- */

/* From the run's root: length and unknowns on the way. A knot's origin
 * may stand after it in the array (left of a leg's base): false, not yet. */
static bool make_row(const station_system *s, const path *p, knot *k,
                     double *row)
{
    if (k->from == DM_NONE) {
        k->nominal = k->rolled = 0.0;
        k->row = row;
        return true;
    }
    const knot *from = &s->knots[k->from];
    if (!from->row)
        return false;
    memcpy(row, from->row, s->n * sizeof *row);
    k->nominal = from->nominal + p->dir * (k->travel + k->moved);
    k->rolled = from->rolled + k->travel;
    row[p->scale] += p->dir * k->travel;
    if (k->walk != DM_NONE)
        row[k->walk] += k->travel < 0.0 ? -p->dir : p->dir;
    if (k->skip != DM_NONE)
        row[k->skip] += p->dir;
    if (p->tape != DM_NONE)
        row[p->tape] += p->dir * k->taped;
    k->row = row;
    return true;
}

/* Legs follow each other; inside one, origins lie to the right of the knots
 * left of its base, so that one pass each way makes all. */
static dm_status make_rows(station_system *s)
{
    double *rows = DM_NEW_ARRAY(s->arena, double, s->knot_count * s->n);
    if (!rows)
        return DM_NOMEM;
    for (size_t i = 0; i < s->path_count; i++) {
        const path *p = &s->paths[i];
        size_t end = p->first_knot + p->knot_count;
        for (size_t leg = p->first_knot; leg < end;) {
            size_t next = leg;
            while (next < end && s->knots[next].leg == s->knots[leg].leg)
                next++;
            for (size_t k = leg; k < next; k++)
                make_row(s, p, &s->knots[k], rows + k * s->n);
            for (size_t k = next; k-- > leg;)
                if (!s->knots[k].row)
                    make_row(s, p, &s->knots[k], rows + k * s->n);
            leg = next;
        }
    }
    return DM_OK;
}

/* The first tie of a section states a length; on it act its face's shift and
 * its error. */
static dm_status hang(station_system *s)
{
    for (size_t q = 0; q < s->section_count; q++) {
        section *c = &s->sections[q];
        if (c->base == DM_NONE)
            continue;
        const tie *t = &s->ties[c->base];
        const knot *k = &s->knots[t->knot];
        c->row = DM_NEW_ARRAY(s->arena, double, s->n);
        if (!c->row)
            return DM_NOMEM;
        for (size_t i = 0; i < s->n; i++)
            c->row[i] = -k->row[i];
        c->row[t->face] += 1.0;
        c->row[t->noise] += 1.0;
        c->offset = t->target - k->nominal;
    }
    return DM_OK;
}

/* ---- observations -------------------------------------------------------- */

static void add_row(const station_system *s, const tie *t, double sign,
                    double *row)
{
    const knot *k = &s->knots[t->knot];
    for (size_t i = 0; i < s->n; i++)
        row[i] += sign * k->row[i];
    row[t->face] -= sign;
    row[t->noise] -= sign;
}

static dm_status observe_interval(station_system *s, size_t interval)
{
    const tie *b = &s->ties[s->interval_tie[interval]], *a = b - 1;
    const knot *ka = &s->knots[a->knot], *kb = &s->knots[b->knot];
    if (ka->section != kb->section)
        return DM_OK;
    observation *o = &s->observations[s->observation_count++];
    double dir = s->paths[b->path].dir;
    *o = (observation){.interval = interval, .tape = DM_NONE};
    o->row = DM_NEW_ARRAY(s->arena, double, s->n);
    if (!o->row)
        return DM_NOMEM;
    add_row(s, b, dir, o->row);
    add_row(s, a, -dir, o->row);
    o->value = dir * ((b->target - a->target) - (kb->nominal - ka->nominal));
    return DM_OK;
}

static dm_status observe_tape(station_system *s, size_t tape)
{
    const dm_measured_length *m = &s->tendon->measured[tape];
    const dm_outside *line = station_outside(s, m->clock);
    observation *o = &s->observations[s->observation_count++];
    *o = (observation){.interval = DM_NONE, .tape = tape};
    o->row = DM_NEW_ARRAY(s->arena, double, s->n);
    if (!o->row || !line)
        return DM_NOMEM;
    double drawn = station_face_length(s, line, m->face_to) -
                   station_face_length(s, line, m->face_from);
    double sign = drawn < 0.0 ? -1.0 : 1.0;
    double u = isnan(m->u) || m->u < 0.0 ? s->settings->tie_u : m->u;
    o->row[m->face_to] += sign;
    o->row[m->face_from] -= sign;
    o->value = m->value - fabs(drawn);
    o->variance = fmax(u * u, STATION_LEAST_U * STATION_LEAST_U);
    return DM_OK;
}

dm_status station_system_observe(station_system *s)
{
    const bool *left_out = s->given ? s->given->tape : NULL;
    dm_status status = make_rows(s);
    if (status == DM_OK) {
        station_place_missing(s);
        status = hang(s);
    }
    for (size_t i = 0; status == DM_OK && i < s->interval_count; i++)
        status = observe_interval(s, i);
    for (size_t i = 0; status == DM_OK && i < s->tendon->measured_count; i++)
        if (!left_out || !left_out[i])
            status = observe_tape(s, i);
    return status;
}
