/* SPDX-License-Identifier: MIT
 * Openings of one tendon: those of the field books and those that the earlier
 * register remembers, put on tendon stations and matched to what was found.
 *
 * The tape lies along the duct's outside on the clock angle of the opening,
 * from where the face's plane, moved by what the distances told of it, crosses
 * that line. An opening belongs to the indication whose tap it names, unless
 * it lies more than TAP_FAR outside of it; else to the one within whose ends,
 * widened by U, it lies deepest; else, by the same two rules, to an entry of
 * the register that the readings show no more. What the register has under an
 * entry stays with it. */
#include "indication/opened.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/diag.h"

/* A tap's id is not believed farther than this from its indication, m. Chosen
 * here. */
#define TAP_FAR 1.0

bool dm_opening_hollow(const dm_opening *o)
{
    return o->water || o->found == DM_FOUND_VOID ||
           o->found == DM_FOUND_WATER || o->found == DM_FOUND_SOFT;
}

static void place_opened(const dm_finder *f, const dm_opened *o, double *t,
                         double *u)
{
    const dm_face *face = &f->tendon->faces[o->face];
    const dm_stations *s = f->stations;
    double r = dm_face_radius(f->model, f->tendon, face);
    double l, at = dm_face_station(f->tendon, face, r, o->clock);
    double u_face = face->u > 0.0 ? face->u : f->settings->face_u;

    if (s->face_shift != NULL)
        at += s->face_shift[o->face];
    if (s->face_u != NULL)
        u_face = s->face_u[o->face];
    l = dm_outside_length(&f->tendon->line, r, o->clock, at);
    *t = dm_outside_station(&f->tendon->line, r, o->clock,
                            l + (double)face->side * o->distance);
    *u = hypot(f->settings->mark_u, u_face);
}

static dm_as_found blank(void)
{
    const double nan = (double)NAN;

    return (dm_as_found){.opened = DM_NONE,
                         .indication = DM_NONE,
                         .entry = DM_NONE,
                         .inside_from = nan,
                         .inside_to = nan,
                         .u_from = nan,
                         .u_to = nan,
                         .depth = {nan, nan, nan},
                         .p_found = nan,
                         .outcome = DM_OUTCOME_NEITHER,
                         .cover = "",
                         .words = ""};
}

static bool same_opening(const dm_opening *a, const dm_opening *b)
{
    return strcmp(a->id, b->id) == 0 && strcmp(a->survey, b->survey) == 0;
}

/* As the register has it, found by the same book; NULL: not yet. `entry`: under
 * which entry, DM_NONE: under none. */
static const dm_opening *recorded(const dm_register *reg, const dm_opening *o,
                                  size_t *entry)
{
    for (size_t e = 0; reg != NULL && e <= reg->count; e++) {
        bool last = e == reg->count;
        const dm_opening *list =
            last ? reg->openings : reg->entries[e].openings;
        size_t n = last ? reg->opening_count : reg->entries[e].opening_count;

        *entry = last ? DM_NONE : e;
        for (size_t i = 0; i < n; i++)
            if (same_opening(&list[i], o))
                return &list[i];
    }
    *entry = DM_NONE;
    return NULL;
}

static bool changed(const dm_opening *before, const dm_opening *now)
{
    return before == NULL || before->found != now->found ||
           before->water != now->water || strcmp(before->date, now->date) != 0;
}

static void take_book(dm_finder *f, const dm_register *reg)
{
    dm_indications *out = f->out;

    for (size_t i = 0; i < f->survey->opened_count; i++) {
        const dm_opened *o = &f->survey->opened[i];
        dm_as_found *a = &out->openings[out->opening_count];
        const dm_opening *before;
        size_t entry;

        if (o->tendon != out->tendon)
            continue;
        *a = blank();
        a->what = (dm_opening){.id = o->id,
                               .survey = f->survey->survey,
                               .tendon = f->tendon->id,
                               .clock = o->clock,
                               .found = o->found,
                               .depth = o->depth,
                               .water = o->water,
                               .strand = o->strand,
                               .pressures = o->pressures,
                               .tap = o->tap,
                               .photo = o->photo,
                               .note = o->note,
                               .date = o->date};
        place_opened(f, o, &a->what.t, &a->what.u);
        a->opened = i;
        before = recorded(reg, &a->what, &entry);
        a->fresh = changed(before, &a->what);
        a->entry = a->fresh ? DM_NONE : entry;
        out->opening_count++;
    }
}

static void take_records(dm_indications *out, size_t entry,
                         const dm_opening *list, size_t n)
{
    size_t books = out->opening_count;

    for (size_t i = 0; i < n; i++) {
        bool again = false;

        for (size_t k = 0; k < books && !again; k++)
            again = same_opening(&out->openings[k].what, &list[i]);
        if (again)
            continue;
        out->openings[out->opening_count] = blank();
        out->openings[out->opening_count].entry = entry;
        out->openings[out->opening_count++].what = list[i];
    }
}

static int by_station(const void *a, const void *b)
{
    const dm_opening *x = &((const dm_as_found *)a)->what;
    const dm_opening *y = &((const dm_as_found *)b)->what;
    int order;

    if (x->t != y->t)
        return x->t < y->t ? -1 : 1;
    order = strcmp(x->date, y->date);
    if (order == 0)
        order = strcmp(x->survey, y->survey);
    return order != 0 ? order : strcmp(x->id, y->id);
}

/* All of this tendon, into room for as many as there may be. */
static bool collect(dm_finder *f, const dm_register *reg)
{
    size_t most = f->survey->opened_count;

    for (size_t e = 0; reg != NULL && e < reg->count; e++)
        most += reg->entries[e].opening_count;
    most += reg != NULL ? reg->opening_count : 0;
    f->out->openings = DM_NEW_ARRAY(f->arena, dm_as_found, most);
    if (f->out->openings == NULL)
        return false;
    take_book(f, reg);
    for (size_t e = 0; reg != NULL && e < reg->count; e++)
        if (strcmp(reg->entries[e].tendon, f->tendon->id) == 0)
            take_records(f->out, e, reg->entries[e].openings,
                         reg->entries[e].opening_count);
    for (size_t i = 0; reg != NULL && i < reg->opening_count; i++)
        if (strcmp(reg->openings[i].tendon, f->tendon->id) == 0)
            take_records(f->out, DM_NONE, &reg->openings[i], 1);
    if (f->out->opening_count > 1)
        qsort(f->out->openings, f->out->opening_count, sizeof(dm_as_found),
              by_station);
    for (size_t i = 0; i < f->out->opening_count; i++) {
        dm_as_found *a = &f->out->openings[i];

        a->axis = dm_centreline_point(&f->tendon->line, a->what.t);
        a->bridge = dm_model_bridge_place(f->model, a->axis);
    }
    return true;
}

/* ---- matching ----------------------------------------------------------- */

/* Edge and tape, relative to the face taped from where that is known. */
static double u_to_end(const dm_finder *f, const dm_as_found *o,
                       const dm_end *end)
{
    double mark = f->settings->mark_u;
    size_t face =
        o->opened == DM_NONE ? DM_NONE : f->survey->opened[o->opened].face;

    if (face != DM_NONE && face == end->face_back && isfinite(end->u_back))
        return hypot(end->u_back, mark);
    if (face != DM_NONE && face == end->face_ahead && isfinite(end->u_ahead))
        return hypot(end->u_ahead, mark);
    return hypot(end->u, o->what.u);
}

/* Where an opening lies in a length. */
typedef struct {
    double from, to, u_from, u_to; /* as in dm_as_found */
    double deep; /* beyond the nearer end as widened; negative: outside */
} inside;

static inside in_length(double k, double t, double from, double to,
                        double u_from, double u_to)
{
    inside w = {t - from, to - t, u_from, u_to, 0.0};

    w.deep = fmin(w.from + k * u_from, w.to + k * u_to);
    return w;
}

static inside in_item(const dm_finder *f, const dm_as_found *o,
                      const dm_indication *i)
{
    return in_length(f->settings->coverage_factor, o->what.t, i->from.t,
                     i->to.t, u_to_end(f, o, &i->from), u_to_end(f, o, &i->to));
}

static inside in_entry(const dm_finder *f, const dm_as_found *o,
                       const dm_entry *e)
{
    return in_length(f->settings->coverage_factor, o->what.t, e->from, e->to,
                     hypot(e->u_from, o->what.u), hypot(e->u_to, o->what.u));
}

/* "T4L-I03-A" is a tap of T4L-I03. */
static bool tap_of(const char *tap, const char *key)
{
    size_t n = strlen(key);

    return tap != NULL && strncmp(tap, key, n) == 0 && tap[n] == '-' &&
           tap[n + 1] != '\0' && strchr(tap + n + 1, '-') == NULL;
}

static void set_inside(dm_as_found *o, const inside *w)
{
    o->inside_from = w->from;
    o->inside_to = w->to;
    o->u_from = w->u_from;
    o->u_to = w->u_to;
}

static void warn_place(const dm_finder *f, const dm_as_found *o,
                       const dm_indication *i, const inside *w, bool believed)
{
    if (o->opened == DM_NONE || w->deep >= 0.0)
        return;
    dm_warn(f->diag, f->survey->opened[o->opened].place, o->what.id,
            "by its tape it lies %.0f mm outside of %s, whose tap %s it "
            "names%s",
            -1e3 * fmin(w->from, w->to), i->key, o->what.tap,
            believed ? "" : ": its place holds, not the tap");
}

static bool match_tap(const dm_finder *f, dm_as_found *o)
{
    for (size_t i = 0; i < f->out->count; i++) {
        const dm_indication *item = &f->out->items[i];
        inside w = in_item(f, o, item);
        bool believed = fmin(w.from, w.to) >= -TAP_FAR;

        if (!tap_of(o->what.tap, item->key))
            continue;
        warn_place(f, o, item, &w, believed);
        if (!believed)
            return false;
        o->indication = i;
        o->by_tap = true;
        set_inside(o, &w);
        return true;
    }
    return false;
}

static bool match_place(const dm_finder *f, dm_as_found *o)
{
    double deepest = 0.0;

    for (size_t i = 0; i < f->out->count; i++) {
        inside w = in_item(f, o, &f->out->items[i]);

        if (w.deep < 0.0 || (o->indication != DM_NONE && w.deep <= deepest))
            continue;
        deepest = w.deep;
        o->indication = i;
        set_inside(o, &w);
    }
    return o->indication != DM_NONE;
}

static bool seen(const dm_finder *f, const dm_entry *e)
{
    for (size_t i = 0; i < f->out->count; i++)
        if (strcmp(f->out->items[i].uid, e->uid) == 0)
            return true;
    return false;
}

static void match_entry(const dm_finder *f, const dm_register *reg,
                        dm_as_found *o)
{
    double deepest = 0.0;

    for (size_t e = 0; reg != NULL && e < reg->count; e++) {
        const dm_entry *entry = &reg->entries[e];
        inside w = in_entry(f, o, entry);
        bool tap =
            tap_of(o->what.tap, entry->key) && fmin(w.from, w.to) >= -TAP_FAR;

        if (strcmp(entry->tendon, f->tendon->id) != 0 || seen(f, entry) ||
            (!tap &&
             (w.deep < 0.0 || (o->entry != DM_NONE && w.deep <= deepest))))
            continue;
        o->entry = e;
        o->by_tap = tap;
        deepest = w.deep;
        set_inside(o, &w);
        if (tap)
            return;
    }
}

/* What the register has under an entry stays with it, whatever this survey's
 * ends are. */
static bool match_home(const dm_finder *f, const dm_register *reg,
                       dm_as_found *o)
{
    const dm_entry *e = o->entry != DM_NONE ? &reg->entries[o->entry] : NULL;
    inside w;

    if (e == NULL)
        return false;
    w = in_entry(f, o, e);
    for (size_t i = 0; i < f->out->count; i++)
        if (strcmp(f->out->items[i].uid, e->uid) == 0) {
            o->indication = i;
            o->entry = DM_NONE;
            w = in_item(f, o, &f->out->items[i]);
        }
    set_inside(o, &w);
    return true;
}

dm_status dm_openings_build(dm_finder *f, const dm_register *reg)
{
    if (!collect(f, reg))
        return DM_NOMEM;
    for (size_t i = 0; i < f->out->opening_count; i++) {
        dm_as_found *o = &f->out->openings[i];

        if (!match_home(f, reg, o) && !match_tap(f, o) && !match_place(f, o))
            match_entry(f, reg, o);
        if (o->indication != DM_NONE)
            o->key = f->out->items[o->indication].key;
        else if (o->entry != DM_NONE)
            o->key = reg->entries[o->entry].key;
        dm_opened_judge(f, reg, o);
    }
    return dm_opened_settle(f, reg) ? DM_OK : DM_NOMEM;
}
