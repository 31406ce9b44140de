/* SPDX-License-Identifier: MIT
 * What tendons do to each other: ducts that run into each other, ids and
 * places that two things claim. Each tendon is compared with the sound ones
 * before it, so that a fault stands at the later one's line, in the order of
 * the file. Boxes of tendons, then of segments, leave few pairs to measure;
 * the number of steps is bounded whatever the file holds, and it is said where
 * the bound was reached. */
#include <math.h>
#include <stdint.h>
#include <string.h>

#include "base/diag.h"
#include "base/num.h"
#include "geom/between.h"
#include "model/read.h"

#define MOST_STEPS 20000000 /* pairs looked at, over a bridge */
#define OVERLAP 1e-3        /* m; less is the drawing's rounding */
#define THINNEST 17.0       /* outside diameter over wall */
#define ROUNDED 5e-5        /* m, of a wall given in tenths of a millimetre */

/* ---- things seen, by name ------------------------------------------------ */

typedef struct {
    const char *name; /* NULL: free */
    size_t scope;     /* what it must be new in */
    long line;
} name_entry;

typedef struct {
    name_entry *entries;
    size_t count, room; /* room: a power of two, or 0 */
} name_set;

typedef struct {
    const dm_tendon *tendon;
    geom_box box;
    geom_box *boxes; /* per segment */
    double radius;   /* greatest outside radius, m */
} track;

struct neighbours {
    track *tracks;
    size_t count;
    size_t steps; /* still allowed */
    bool gave_up;
    name_set guids, places, tags;
};

static size_t hash_of(const char *name, size_t scope)
{
    /* FNV-1a of 64 bits (Fowler, Noll, Vo). */
    uint64_t h = 14695981039346656037u ^ scope;
    for (; *name; name++)
        h = (h ^ (unsigned char)*name) * 1099511628211u;
    return (size_t)(h ^ (h >> 32));
}

static name_entry *slot(const name_set *s, const char *name, size_t scope)
{
    size_t at = hash_of(name, scope) & (s->room - 1);
    while (s->entries[at].name && (s->entries[at].scope != scope ||
                                   strcmp(s->entries[at].name, name) != 0))
        at = (at + 1) & (s->room - 1);
    return &s->entries[at];
}

static bool grow(reader *r, name_set *s)
{
    name_set more = {.room = s->room ? 2 * s->room : 64, .count = s->count};
    more.entries = DM_NEW_ARRAY(r->arena, name_entry, more.room);
    if (!more.entries) {
        r->out_of_memory = true;
        return false;
    }
    for (size_t i = 0; i < s->room; i++)
        if (s->entries[i].name)
            *slot(&more, s->entries[i].name, s->entries[i].scope) =
                s->entries[i];
    *s = more;
    return true;
}

/* The line of the first thing of that name; 0: this is the first. */
static long seen(reader *r, name_set *s, const char *name, size_t scope,
                 long line)
{
    if (2 * s->count >= s->room && !grow(r, s))
        return 0;
    name_entry *e = slot(s, name, scope);
    if (e->name)
        return e->line;
    *e = (name_entry){name, scope, line};
    s->count++;
    return 0;
}

static struct neighbours *neighbours_of(reader *r)
{
    if (!r->neighbours) {
        r->neighbours = DM_NEW(r->arena, struct neighbours);
        if (r->neighbours)
            r->neighbours->steps = MOST_STEPS;
        else
            r->out_of_memory = true;
    }
    return r->neighbours;
}

void check_guid(reader *r, const dm_xml_node *node, const char *guid)
{
    struct neighbours *near = neighbours_of(r);
    if (!near)
        return;
    long first =
        seen(r, &near->guids, guid, 0, dm_xml_place(r->xml, node).line);
    if (first > 0)
        dm_xml_fault(r->xml, node, DM_REFERENCE,
                     "the ifc-guid '%s' is that of the thing of line %ld too",
                     guid, first);
}

static void check_names(reader *r, struct neighbours *near,
                        const dm_xml_node *node, const dm_tendon *t)
{
    const char *tag = dm_external_find(&t->external, "field-tag");
    long first = 0;
    if (t->where[0])
        first = seen(r, &near->places, t->where, t->part, t->place.line);
    if (first > 0)
        dm_xml_warn(r->xml, node,
                    "the tendon of line %ld stands '%s' of the same part too: "
                    "a crew cannot tell them apart",
                    first, t->where);
    first = tag ? seen(r, &near->tags, tag, t->part, t->place.line) : 0;
    if (first > 0)
        dm_xml_warn(r->xml, node,
                    "the tendon of line %ld of the same part has the "
                    "field-tag '%s' too",
                    first, tag);
}

/* ---- collisions ---------------------------------------------------------- */

static double outside_radius(const reader *r, const dm_tendon *t, double at)
{
    return 0.5 * dm_tendon_duct(r->model, t, at)->od;
}

static bool make_track(reader *r, const dm_tendon *t, track *out)
{
    *out = (track){.tendon = t};
    out->boxes = DM_NEW_ARRAY(r->arena, geom_box, t->line.count);
    if (!out->boxes) {
        r->out_of_memory = true;
        return false;
    }
    for (size_t i = 0; i < t->line.count; i++) {
        out->boxes[i] = geom_segment_box(&t->line.segments[i]);
        out->box =
            i == 0 ? out->boxes[0] : geom_box_join(&out->box, &out->boxes[i]);
    }
    for (size_t i = 0; i < t->duct_count; i++)
        out->radius = fmax(
            out->radius, 0.5 * r->model->duct_types[t->ducts[i].duct_type].od);
    return true;
}

/* Tendons that a coupler joins share a point. */
static bool joined(const dm_tendon *a, const dm_tendon *b)
{
    for (size_t i = 0; i < 4; i++) {
        const dm_support *s = &a->supports[i & 1 ? a->support_count - 1 : 0];
        const dm_support *q = &b->supports[i & 2 ? b->support_count - 1 : 0];
        if (s->anchorage_kind == DM_ANCHORAGE_COUPLER &&
            q->anchorage_kind == DM_ANCHORAGE_COUPLER &&
            dm_vec3_norm(dm_vec3_sub(s->point, q->point)) < 1.0)
            return true;
    }
    return false;
}

static geom_gap least_gap(struct neighbours *near, const track *a,
                          const track *b)
{
    geom_gap gap = {a->radius + b->radius - OVERLAP, 0.0, 0.0};
    for (size_t i = 0; i < a->tendon->line.count; i++) {
        if (!geom_boxes_near(&a->boxes[i], &b->box, gap.distance))
            continue;
        for (size_t k = 0; k < b->tendon->line.count && near->steps > 0; k++) {
            near->steps--;
            if (geom_boxes_near(&a->boxes[i], &b->boxes[k], gap.distance))
                geom_segments_between(&a->tendon->line.segments[i],
                                      &b->tendon->line.segments[k], &gap,
                                      &near->steps);
        }
    }
    return gap;
}

static void check_pair(reader *r, const dm_xml_node *node, const track *before,
                       const track *t)
{
    geom_gap gap = least_gap(r->neighbours, t, before);
    double ra = outside_radius(r, t->tendon, gap.ta);
    double rb = outside_radius(r, before->tendon, gap.tb);
    char mm[DM_NUM_SIZE], here[DM_NUM_SIZE], there[DM_NUM_SIZE];
    /* Ducts of several sizes: the greatest may be somewhere else. */
    if (gap.distance >= t->radius + before->radius - OVERLAP ||
        gap.distance >= ra + rb - OVERLAP || joined(t->tendon, before->tendon))
        return;
    dm_num_fixed(here, gap.ta, 3);
    dm_num_fixed(there, gap.tb, 3);
    if (gap.distance < fmin(ra, rb)) {
        dm_num_fixed(mm, gap.distance * 1e3, 0);
        dm_xml_fault(r->xml, node, DM_GEOMETRY,
                     "its axis at station %s m comes within %s mm of that of "
                     "%s at station %s m: two ducts cannot be there",
                     here, mm, before->tendon->id, there);
        return;
    }
    dm_num_fixed(mm, (ra + rb - gap.distance) * 1e3, 0);
    dm_xml_warn(r->xml, node,
                "its duct at station %s m overlaps that of %s at station %s m "
                "by %s mm",
                here, before->tendon->id, there, mm);
}

void check_neighbours(reader *r, const dm_xml_node *node, const dm_tendon *t)
{
    struct neighbours *near = neighbours_of(r);
    if (near && !near->tracks) {
        near->tracks = DM_NEW_ARRAY(
            r->arena, track, dm_xml_count(dm_xml_root(r->xml), "tendon"));
        r->out_of_memory = r->out_of_memory || !near->tracks;
    }
    if (r->out_of_memory)
        return;
    check_names(r, near, node, t);
    track *me = &near->tracks[near->count];
    if (r->out_of_memory || !make_track(r, t, me))
        return;
    for (size_t i = 0; i < near->count && near->steps > 0; i++) {
        near->steps--;
        if (geom_boxes_near(&me->box, &near->tracks[i].box,
                            me->radius + near->tracks[i].radius))
            check_pair(r, node, &near->tracks[i], me);
    }
    near->count++;
    if (near->steps == 0 && !near->gave_up) {
        near->gave_up = true;
        dm_xml_warn(r->xml, node,
                    "too much of this bridge lies close together: from here "
                    "on collisions are not looked for");
    }
}

/* ---- duct types ---------------------------------------------------------- */

/* External ducts: outside diameter at most 17 times the wall (OPSS 910, as
 * quoted in its comment sheet). */
static void check_wall(reader *r, const dm_duct_type *d)
{
    double wall = d->wall_min > 0.0 ? d->wall_min : d->wall;
    if ((strcmp(d->material, "hdpe") != 0 && strcmp(d->material, "pp") != 0) ||
        d->od <= THINNEST * (wall + ROUNDED))
        return;
    char ratio[DM_NUM_SIZE];
    dm_num_fixed(ratio, d->od / wall, 1);
    dm_warn(r->diag, d->place, "duct-type",
            "the outside diameter of %s is %s times its wall, practice for "
            "external ducts is 17 at most (OPSS 910)",
            d->id, ratio);
}

void check_types(reader *r)
{
    const dm_model *m = r->model;
    bool *used = DM_NEW_ARRAY(r->arena, bool, m->duct_type_count);
    if (!used) {
        r->out_of_memory = true;
        return;
    }
    for (size_t i = 0; i < m->tendon_count; i++)
        for (size_t k = 0; k < m->tendons[i].duct_count; k++)
            if (m->tendons[i].ducts[k].duct_type != DM_NONE)
                used[m->tendons[i].ducts[k].duct_type] = true;
    for (size_t i = 0; i < m->duct_type_count; i++)
        if (used[i])
            check_wall(r, &m->duct_types[i]);
}
