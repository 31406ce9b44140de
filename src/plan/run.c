/* SPDX-License-Identifier: MIT
 * One run: a bay on one clock line, cut into stretches, dead zones,
 * obstructions (fixtures, low clearance) and lengths without access.
 *
 * All is laid out along the outside of the duct on the clock line
 * (centreline.h) by increasing station; then it is put in the direction of
 * travel. Limits: the body is rigid and as long as its nose and tail say; a
 * fixture beside the clock line is no obstacle, whatever the body's width;
 * where access ends the body stops as at a fixture. */
#include <math.h>
#include <stdlib.h>

#include "plan/work.h"

#define LEAST 1e-9 /* m; what is shorter is rounding */
#define TWO_PI 6.283185307179586476925
#define FARTHEST 100.0 /* m a start or tie may be away from its face */
#define SAME_DEAD 1e-6 /* m; dead zones are the same */

/* What the sensor is carried over: a fixture, low clearance, or a length
 * without access. */
typedef struct {
    double from, to;     /* stations, inside the bay */
    size_t fixture, low; /* DM_NONE, both: no access */
} item;

typedef struct {
    const tendon_work *w;
    const dm_bay *bay;
    const dm_outside *line;
    dm_plan_run *run;
    double body_back, body_ahead; /* contact to the body's ends */
    double electrode;             /* contact to electrode, towards ahead */
    double stop_back, stop_ahead; /* of the bay, stations */
    item *items;                  /* by station */
    item *blocks;                 /* the same, those that touch joined */
    double *clear; /* outside lengths of the stops of stretch i, by
                      station, at [2 i] and [2 i + 1] */
    size_t item_count, block_count;
    size_t access_first, access_last; /* pieces that the bay touches */
    size_t access;                    /* one near which to look */
} layout;

static double outside_of(const layout *l, double t)
{
    size_t hint = 0;
    return dm_outside_at(l->line, t, &hint);
}

static double station_of(const layout *l, double length)
{
    size_t hint = 0;
    return dm_outside_inverse(l->line, length, &hint);
}

/* ---- what stands in the way ---------------------------------------------- */

static bool on_clock_line(const dm_fixture *x, double clock)
{
    double width = x->clock_to - x->clock_from;
    if (width <= 0.0)
        width += TWO_PI;
    if (width >= TWO_PI - 1e-9)
        return true;
    double a = fmod(clock - x->clock_from + 2.0 * TWO_PI, TWO_PI);
    return a <= width + 1e-9 || a >= TWO_PI - 1e-9;
}

static bool touches(const layout *l, double from, double to)
{
    return from < l->bay->to && to > l->bay->from;
}

static bool in_the_way(const layout *l, const dm_fixture *x)
{
    return touches(l, x->from, x->to) && on_clock_line(x, l->run->clock);
}

static size_t count_items(layout *l)
{
    const dm_tendon *n = l->w->tendon;
    size_t count = 0, a = 0;
    for (size_t i = 0; i < n->fixture_count; i++)
        count += in_the_way(l, &n->fixtures[i]);
    while (a + 1 < l->w->access_count && l->w->access[a].to <= l->bay->from)
        a++;
    l->access_first = l->access = a;
    while (a + 1 < l->w->access_count && l->w->access[a].to < l->bay->to)
        a++;
    l->access_last = a;
    for (a = l->access_first; a <= l->access_last; a++)
        count += l->w->access[a].access == DM_ACCESS_NONE;
    return count + l->run->low_count;
}

static void add_item(layout *l, double from, double to, size_t fixture,
                     size_t low)
{
    l->items[l->item_count++] =
        (item){fmax(from, l->bay->from), fmin(to, l->bay->to), fixture, low};
}

static int by_from(const void *a, const void *b)
{
    const item *x = a, *y = b;
    if (x->from != y->from)
        return x->from < y->from ? -1 : 1;
    if (x->fixture != y->fixture)
        return x->fixture > y->fixture ? 1 : -1;
    return (x->low > y->low) - (x->low < y->low);
}

static dm_status find_blocks(layout *l)
{
    const dm_tendon *n = l->w->tendon;
    size_t most = count_items(l), kept = 0;
    l->items = calloc(most + 1, sizeof *l->items);
    l->blocks = calloc(most + 1, sizeof *l->blocks);
    l->clear = calloc(most + 1, 2 * sizeof *l->clear);
    if (!l->items || !l->blocks || !l->clear)
        return DM_NOMEM;
    for (size_t i = 0; i < n->fixture_count; i++)
        if (in_the_way(l, &n->fixtures[i]))
            add_item(l, n->fixtures[i].from, n->fixtures[i].to, i, DM_NONE);
    for (size_t i = 0; i < l->run->low_count; i++)
        add_item(l, l->run->low[i].from, l->run->low[i].to, DM_NONE, i);
    for (size_t a = l->access_first; a <= l->access_last; a++)
        if (l->w->access[a].access == DM_ACCESS_NONE)
            add_item(l, l->w->access[a].from, l->w->access[a].to, DM_NONE,
                     DM_NONE);
    qsort(l->items, l->item_count, sizeof *l->items, by_from);
    for (size_t i = 0; i < l->item_count; i++) {
        if (kept > 0 && l->items[i].from <= l->blocks[kept - 1].to + LEAST)
            l->blocks[kept - 1].to =
                fmax(l->blocks[kept - 1].to, l->items[i].to);
        else
            l->blocks[kept++] = l->items[i];
    }
    l->block_count = kept;
    return DM_OK;
}

/* ---- lengths ------------------------------------------------------------- */

/* Keeps from..to in that state, cut where the access changes. */
static void add_length(layout *l, double from, double to, dm_bay_state state)
{
    const tendon_work *w = l->w;
    while (l->access > 0 && w->access[l->access].from > from)
        l->access--;
    while (to > from) {
        while (l->access + 1 < w->access_count &&
               w->access[l->access].to <= from)
            l->access++;
        const access_piece *p = &w->access[l->access];
        double end = l->access + 1 < w->access_count ? fmin(to, p->to) : to;
        dm_bay_state here =
            p->access == DM_ACCESS_NONE ? DM_BAY_NO_ACCESS : state;
        dm_plan_run *r = l->run;
        r->lengths[r->length_count++] =
            (dm_bay_length){from, end, here, p->access};
        r->sum[here] += end - from;
        if (here == DM_BAY_TESTABLE)
            r->scan[p->access] += end - from;
        from = end;
    }
}

/* Between two blocks, from..to: the stretch, if the body fits, and its dead
 * zones. */
static void add_gap(layout *l, double from, double to)
{
    double back = outside_of(l, fmax(from, l->stop_back));
    double ahead = outside_of(l, fmin(to, l->stop_ahead));
    double first = back + l->body_back, last = ahead - l->body_ahead;
    if (last - first <= LEAST) {
        add_length(l, from, to, DM_BAY_DEAD_ZONE);
        return;
    }
    dm_plan_run *r = l->run;
    size_t i = r->stretch_count++;
    l->clear[2 * i] = back;
    l->clear[2 * i + 1] = ahead;
    /* An electrode outside its body would reach over the stop. */
    double begin = fmin(fmax(station_of(l, first + l->electrode), from), to);
    double end = fmin(fmax(station_of(l, last + l->electrode), begin), to);
    r->stretches[i] = (dm_plan_stretch){begin, end, first, last, 0.0};
    add_length(l, from, begin, DM_BAY_DEAD_ZONE);
    add_length(l, begin, end, DM_BAY_TESTABLE);
    add_length(l, end, to, DM_BAY_DEAD_ZONE);
}

static dm_status cut(layout *l, dm_arena *arena)
{
    dm_plan_run *r = l->run;
    size_t gaps = l->block_count + 1;
    r->stretches = DM_NEW_ARRAY(arena, dm_plan_stretch, gaps);
    r->lengths = DM_NEW_ARRAY(arena, dm_bay_length,
                              3 * gaps + l->block_count + 1 + l->access_last -
                                  l->access_first);
    if (!r->stretches || !r->lengths)
        return DM_NOMEM;
    double at = l->bay->from;
    for (size_t i = 0; i < l->block_count; i++) {
        if (l->blocks[i].from > at)
            add_gap(l, at, l->blocks[i].from);
        add_length(l, l->blocks[i].from, l->blocks[i].to, DM_BAY_OBSTRUCTION);
        at = l->blocks[i].to;
    }
    if (l->bay->to > at)
        add_gap(l, at, l->bay->to);
    return DM_OK;
}

/* ---- direction ----------------------------------------------------------- */

/* The upper end first, and there the end of the body whose dead zone is
 * shorter; the nose leads where it makes no difference. */
static void choose_direction(layout *l, const dm_factors *f)
{
    double nose = f->value[DM_FACTOR_NOSE], tail = f->value[DM_FACTOR_TAIL];
    double lead = f->value[DM_FACTOR_LEAD];
    dm_plan_run *r = l->run;
    r->direction = l->bay->sloped && l->bay->upper == DM_SIDE_AHEAD
                       ? DM_SIDE_BACK
                       : DM_SIDE_AHEAD;
    bool turned = l->bay->sloped && nose - lead < tail + lead - SAME_DEAD;
    r->leading = turned ? DM_LEADING_TAIL : DM_LEADING_NOSE;
    int nose_ahead = (int)r->direction * (int)r->leading;
    l->body_back = nose_ahead > 0 ? tail : nose;
    l->body_ahead = nose_ahead > 0 ? nose : tail;
    l->electrode = nose_ahead * lead;
}

/* Stretches were laid out by station with the contact's outside lengths as x.
 */
static void turn_stretches(layout *l)
{
    dm_plan_run *r = l->run;
    size_t n = r->stretch_count;
    bool back = r->direction == DM_SIDE_BACK;
    double x = 0.0;
    for (size_t i = 0; back && i < n / 2; i++) {
        dm_plan_stretch p = r->stretches[i];
        r->stretches[i] = r->stretches[n - 1 - i];
        r->stretches[n - 1 - i] = p;
    }
    for (size_t i = 0; i < n; i++) {
        dm_plan_stretch *p = &r->stretches[i];
        size_t at = back ? n - 1 - i : i; /* by station */
        double travel = p->x_end - p->x_begin;
        *p = (dm_plan_stretch){back ? p->end : p->begin,
                               back ? p->begin : p->end, x, x + travel, 0.0};
        if (i > 0 && back)
            p->gap = l->clear[2 * at + 2] - l->clear[2 * at + 1];
        else if (i > 0)
            p->gap = l->clear[2 * at] - l->clear[2 * at - 1];
        x += travel;
    }
}

/* ---- faces --------------------------------------------------------------- */

static double face_station(const layout *l, size_t face)
{
    const dm_tendon *n = l->w->tendon;
    const dm_face *f = &n->faces[face];
    return dm_face_station(n, f, dm_face_radius(l->w->model, n, f),
                           l->line->phi);
}

static double face_outside(const layout *l, size_t face)
{
    return outside_of(l, face_station(l, face));
}

/* From a face out to an outside length; NAN: no face, or too far. */
static double from_face(const layout *l, size_t face, double length)
{
    if (face == DM_NONE)
        return (double)NAN;
    double d = (double)l->w->tendon->faces[face].side *
               (length - face_outside(l, face));
    return d >= -LEAST && d <= FARTHEST ? fmax(d, 0.0) : (double)NAN;
}

static void choose_faces(layout *l)
{
    dm_plan_run *r = l->run;
    bool back = r->direction == DM_SIDE_BACK;
    size_t near = back ? l->bay->face_ahead : l->bay->face_back;
    size_t far = back ? l->bay->face_back : l->bay->face_ahead;
    double first = l->clear[0], last = l->clear[2 * r->stretch_count - 1];
    double rear = back ? last : first, front = back ? first : last;
    r->face_start = near;
    r->start_distance = from_face(l, near, rear);
    if (isnan(r->start_distance)) {
        r->face_start = far;
        r->start_distance = from_face(l, far, rear);
    }
    if (isnan(r->start_distance))
        r->face_start = DM_NONE;
    r->face_end = far == r->face_start ? DM_NONE : far;
    r->end_distance = from_face(l, r->face_end, front);
    if (isnan(r->end_distance))
        r->face_end = DM_NONE;
}

/* ---- obstructions -------------------------------------------------------- */

/* The stretch, in the direction of travel, that ends before outside length m.
 */
static size_t stretch_before(const layout *l, double m)
{
    const dm_plan_run *r = l->run;
    bool back = r->direction == DM_SIDE_BACK;
    size_t ahead_of = 0; /* stretches by station that lie before m */
    while (ahead_of < r->stretch_count &&
           l->clear[2 * ahead_of + 1] <= m + LEAST)
        ahead_of++;
    size_t done = back ? r->stretch_count - ahead_of : ahead_of;
    return done == 0 ? DM_NONE : done - 1;
}

const char *dm_obstruction_text(const dm_tendon *tendon, const dm_plan_run *run,
                                const dm_obstruction *obstruction,
                                const char **name)
{
    *name = "";
    if (obstruction->fixture != DM_NONE) {
        *name = tendon->fixtures[obstruction->fixture].id;
        return dm_fixture_text(tendon->fixtures[obstruction->fixture].kind);
    }
    if (obstruction->low == DM_NONE)
        return "no access";
    *name = run->low[obstruction->low].obstacle;
    return dm_fixture_text(DM_FIXTURE_LOW_CLEARANCE);
}

static dm_status list_obstructions(layout *l, dm_arena *arena)
{
    dm_plan_run *r = l->run;
    size_t count = l->item_count;
    bool back = r->direction == DM_SIDE_BACK;
    double face =
        r->face_start == DM_NONE ? (double)NAN : face_outside(l, r->face_start);
    r->obstructions = DM_NEW_ARRAY(arena, dm_obstruction, count);
    if (!r->obstructions)
        return DM_NOMEM;
    r->obstruction_count = count;
    for (size_t i = 0; i < count; i++) {
        const item *x = &l->items[back ? count - 1 - i : i];
        double from = outside_of(l, x->from), to = outside_of(l, x->to);
        r->obstructions[i] = (dm_obstruction){
            x->fixture, x->low, fabs((back ? to : from) - face),
            fabs((back ? from : to) - face),
            stretch_before(l, 0.5 * (from + to))};
    }
    return DM_OK;
}

/* ---- all of it ------------------------------------------------------------
 */

/* The body stops at a face that stands farther out than the readable end. */
static void find_stops(layout *l)
{
    const dm_bay *b = l->bay;
    l->stop_back = b->from;
    l->stop_ahead = b->to;
    if (b->face_back != DM_NONE)
        l->stop_back = fmax(b->from, face_station(l, b->face_back));
    if (b->face_ahead != DM_NONE)
        l->stop_ahead = fmin(b->to, face_station(l, b->face_ahead));
}

static dm_status lay_out(layout *l, const dm_factors *factors, dm_arena *arena)
{
    choose_direction(l, factors);
    find_stops(l);
    dm_status status =
        work_low(l->w, l->stop_back, l->stop_ahead, arena, l->run);
    if (status == DM_OK)
        status = find_blocks(l);
    if (status == DM_OK)
        status = cut(l, arena);
    if (status != DM_OK)
        return status;
    if (l->run->stretch_count > 0)
        choose_faces(l);
    turn_stretches(l);
    return list_obstructions(l, arena);
}

dm_status work_run(const tendon_work *w, const dm_factors *factors,
                   const dm_bay *bay, size_t bay_index, const dm_outside *line,
                   dm_arena *arena, dm_plan_run *run)
{
    layout l = {.w = w, .bay = bay, .line = line, .run = run};
    *run = (dm_plan_run){.tendon = w->index,
                         .bay = bay_index,
                         .clock = line->phi,
                         .face_start = DM_NONE,
                         .face_end = DM_NONE,
                         .start_distance = (double)NAN,
                         .end_distance = (double)NAN};
    dm_status status = lay_out(&l, factors, arena);
    free(l.items);
    free(l.blocks);
    free(l.clear);
    return status;
}
