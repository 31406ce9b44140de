/* SPDX-License-Identifier: MIT
 * Sizes of a tendon's indications: which turns cross which, what is known of
 * bore, slope, strands and unread ends, and the words that go with the
 * numbers. The numbers themselves: turn_measure.c, void.c. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/num.h"
#include "ductmark/section.h"
#include "geom/chord.h"
#include "indication/find.h"
#include "indication/size.h"
#include "indication/turn.h"
#include "indication/void.h"

#define PI 3.14159265358979323846
#define ROLL                                                                   \
    0.1745 /* 10 deg: how far from the crown a void's middle may be,           \
              where no turn tells */

/* ---- turns ---- */

static int by_station(const void *a, const void *b)
{
    const dm_turn *x = a, *y = b;

    if (x->t != y->t && !isnan(x->t) && !isnan(y->t))
        return x->t < y->t ? -1 : 1;
    if (isnan(x->t) != isnan(y->t))
        return isnan(x->t) ? 1 : -1;
    if (x->run != y->run)
        return x->run < y->run ? -1 : 1;
    if (x->event != y->event)
        return x->event < y->event ? -1 : 1;
    return x->channel < y->channel ? -1 : 1;
}

/* The void-like indication that a turn lies on: its ends widened by twice
 * their uncertainty from the readings; of two the nearer middle. */
static size_t crossed(const dm_indications *out, double t)
{
    size_t found = DM_NONE;
    double least = HUGE_VAL;

    for (size_t i = 0; i < out->count; i++) {
        const dm_indication *n = &out->items[i];
        double away = fabs(t - 0.5 * (n->from.t + n->to.t));

        if (n->kind == DM_KIND_VOID_LIKE && away < least &&
            t >= n->from.t - 2.0 * n->from.u_edge &&
            t <= n->to.t + 2.0 * n->to.u_edge) {
            found = i;
            least = away;
        }
    }
    return found;
}

static bool keep_turns(dm_finder *f)
{
    dm_indications *out = f->out;

    out->turns = DM_NEW_ARRAY(f->arena, dm_turn, f->turn_count);
    if (out->turns == NULL)
        return false;
    out->turn_count = f->turn_count;
    if (f->turn_count > 0) {
        memcpy(out->turns, f->turns, f->turn_count * sizeof *f->turns);
        qsort(out->turns, out->turn_count, sizeof *out->turns, by_station);
    }
    for (size_t i = 0; i < out->turn_count; i++)
        out->turns[i].indication = crossed(out, out->turns[i].t);
    return true;
}

/* ---- what surrounds an indication ---- */

/* The first channel of the first run that shows it; its response and
 * footprint are taken for all. */
static const dm_channel *channel_of(const dm_finder *f,
                                    const dm_indication *item)
{
    const dm_run *run = &f->survey->runs[item->runs[0]];
    const dm_columns *c = &f->survey->columns[run->columns];

    return &f->survey->instruments[run->instrument].channels[c->channel[0]];
}

static const dm_profile *profile_near(const dm_indications *out, double clock)
{
    const dm_profile *best = NULL;

    for (size_t i = 0; i < out->profile_count; i++)
        if (best == NULL ||
            fabs(remainder(out->profiles[i].clock - clock, 2.0 * PI)) <
                fabs(remainder(best->clock - clock, 2.0 * PI)))
            best = &out->profiles[i];
    return best;
}

/* Unread length from t on, outwards, up to where something was read. */
static double unread_beyond(const dm_indications *out, const dm_end *end,
                            int side)
{
    double reach = end->t;

    if (!end->open)
        return 0.0;
    for (size_t n = 0; n < out->cover_count; n++) {
        size_t i = side < 0 ? out->cover_count - 1 - n : n;
        const dm_cover_length *c = &out->cover[i];
        bool read =
            c->cover == DM_COVER_TESTED || c->cover == DM_COVER_STRAND_MASKED;
        double near = side < 0 ? c->to : c->from;
        double far = side < 0 ? c->from : c->to;

        if (side * (far - end->t) <= 0.05) /* lies behind */
            continue;
        if (read && side * (near - end->t) > -0.05)
            break;
        if (!read)
            reach = far;
    }
    return side * (reach - end->t) > 0.0 ? side * (reach - end->t) : 0.0;
}

/* Strands within the void: the most that they may take of its section. */
static double strand_share(const dm_finder *f, const dm_indication *item,
                           double middle, double half, dm_strands_case *which)
{
    dm_section s = dm_tendon_section(f->model, f->tendon,
                                     0.5 * (item->from.t + item->to.t));
    double share = s.steel_area / s.bore_area;

    *which = DM_STRANDS_NONE;
    if (isnan(share))
        return 0.0;
    *which = DM_STRANDS_UNIFORM;
    for (size_t i = 0; i < f->tendon->strand_side_count; i++) {
        const dm_strand_side *n = &f->tendon->strand_sides[i];
        double rb = s.bundle_radius, deep, bundle;

        if (n->to < item->from.t || n->from > item->to.t ||
            fabs(remainder(n->clock - middle, 2.0 * PI)) > half + n->u)
            continue;
        /* The part of a bundle at the void's middle that lies in the void. */
        deep = dm_chord_depth(s.bore_radius, half);
        bundle = dm_chord_area(rb, dm_chord_half_of_depth(rb, deep)) *
                 s.steel_area / (PI * rb * rb);
        share = fmax(share, bundle / dm_chord_area(s.bore_radius, half));
        *which = DM_STRANDS_BUNDLE;
    }
    return fmin(share, 0.95);
}

/* ---- without a turn ---- */

/* Mean index of a line within the indication; NAN: not read. */
static double line_index(const dm_profile *p, const dm_indication *item)
{
    double mid = 0.5 * (item->from.t + item->to.t), sum = 0.0, n = 0.0;
    double quarter = 0.25 * (item->to.t - item->from.t);

    for (size_t k = 0; k < p->count; k++) {
        double t = p->from + ((double)k + 0.5) * p->pitch;

        if (fabs(t - mid) <= fmax(quarter, p->pitch) &&
            !isnan((double)p->index[k])) {
            sum += (double)p->index[k];
            n += 1.0;
        }
    }
    return n > 0.0 ? sum / n : (double)NAN;
}

/* The least and most half angle that the clock lines allow. */
static void half_limits(const dm_finder *f, const dm_indication *item,
                        const dm_void_view *v, double footprint, double *low,
                        double *high)
{
    const dm_indications *out = f->out;
    double seen = fmin(fmax(item->index, 0.0), 1.0);
    /* The index is less than 1.2 times what so deep and so wide a void gives,
     * for the quickest answer to depth. */
    double deep = -0.25 * v->layer * log(1.0 - fmin(seen / 1.2, 0.95));

    *low = fmax(0.35 * seen * footprint, dm_chord_half_of_depth(v->r, deep));
    *high = PI;
    for (size_t i = 0; i < out->profile_count; i++) {
        double at = fabs(remainder(out->profiles[i].clock, 2.0 * PI));
        double index = line_index(&out->profiles[i], item);

        if (index >= 0.5 * item->index)
            *low = fmax(*low, at - ROLL);
        else if (index < 0.25 * item->index) /* false for NAN */
            *high = fmin(*high, at + ROLL);
    }
    *low = fmin(*low, *high);
}

/* ---- words ---- */

static const char *strands_words(dm_strands_case which)
{
    return which == DM_STRANDS_NONE ? "no strands stated, none taken off"
           : which == DM_STRANDS_UNIFORM
               ? "strands: none to their share of the "
                 "bore taken off"
               : "strands: none to a bundle on that "
                 "side taken off";
}

static const char *size_words(const dm_finder *f, const dm_indication *item)
{
    const dm_size *s = &item->size;
    const char *open = item->from.open || item->to.open
                           ? "; high holds unread length beyond the open end"
                           : "";
    char slope[DM_NUM_SIZE], at[DM_NUM_SIZE], tilt[DM_NUM_SIZE];

    dm_num_fixed(slope, fabs(s->slope) * 180.0 / PI, 1);
    if (s->basis == DM_SIZE_LIMITS)
        return dm_arena_printf(
            f->arena,
            "no turn: limits from extent, clock lines and slope (%s deg) only, "
            "no best value; %s%s; assumed geometry, for planning only",
            slope, strands_words(s->strands), open);
    dm_num_fixed(tilt, f->settings->surface_tilt * 180.0 / PI, 1);
    dm_num_fixed(at, f->out->turns[s->turns[0]].t, 3);
    return dm_arena_printf(
        f->arena,
        "%zu turn%s (%s at %s m); level surface within %s deg, slope %s deg; "
        "%s%s; depth is not measured: assumed geometry, for planning only",
        s->turn_count, s->turn_count == 1 ? "" : "s",
        s->turn_count == 1 ? "it is" : "the first", at, tilt, slope,
        strands_words(s->strands), open);
}

/* ---- one indication ---- */

static bool list_turns(dm_finder *f, dm_indication *item, size_t index,
                       dm_void_section *sections)
{
    dm_size *s = &item->size;
    size_t n = 0;

    for (size_t i = 0; i < f->out->turn_count; i++)
        n += f->out->turns[i].indication == index;
    s->turns = DM_NEW_ARRAY(f->arena, size_t, n);
    if (s->turns == NULL)
        return false;
    for (size_t i = 0; i < f->out->turn_count; i++) {
        const dm_turn *t = &f->out->turns[i];

        if (t->indication != index || isnan(t->area.best))
            continue;
        sections[s->turn_count] =
            (dm_void_section){t->t, t->area, dm_turn_common(t)};
        s->turns[s->turn_count++] = i;
    }
    return true;
}

/* Middle and half angle of the void as the turns have it; without any, of the
 * crown and the most that may be. */
static void middle_of(const dm_finder *f, const dm_size *s, double high,
                      double *middle, double *half)
{
    *middle = 0.0;
    *half = high;
    for (size_t i = 0; i < s->turn_count; i++) {
        const dm_turn *t = &f->out->turns[s->turns[i]];
        double h =
            dm_chord_half_of_fraction(t->area.best / (PI * t->bore * t->bore));

        if (i == 0 || h > *half) {
            *half = h;
            *middle =
                t->fit.valid ? t->fit.centre : dm_arc_middle(&t->arcs[t->arc]);
        }
    }
}

static dm_amount scaled(const dm_amount *a, double factor)
{
    return (dm_amount){a->low * factor, a->best * factor, a->high * factor};
}

static dm_status size_item(dm_finder *f, size_t index,
                           dm_void_section *sections)
{
    dm_indication *item = &f->out->items[index];
    dm_size *s = &item->size;
    double mid = 0.5 * (item->from.t + item->to.t), low, high, middle, half;
    const dm_duct_type *duct = dm_tendon_duct(f->model, f->tendon, mid);
    const dm_channel *channel = channel_of(f, item);
    const dm_profile *p = profile_near(f->out, item->clock);
    dm_void_view v = {.r = dm_duct_bore(duct),
                      .from = item->from.t,
                      .to = item->to.t,
                      .u_from = item->from.u_edge,
                      .u_to = item->to.u_edge,
                      .tilt = f->settings->surface_tilt,
                      .layer = channel->depth > 0.0 ? channel->depth : DM_LAYER,
                      .footprint = channel->footprint_along,
                      .least = (double)NAN,
                      .sections = sections};
    dm_void_size size;

    if (!(v.r > 0.0))
        return DM_OK;
    s->slope = asin(
        fmin(fmax(dm_centreline_tangent(&f->tendon->line, mid).z, -1.0), 1.0));
    v.slope = s->slope;
    v.beyond[0] = unread_beyond(f->out, &item->from, -1);
    v.beyond[1] = unread_beyond(f->out, &item->to, +1);
    if (item->shorter_than_footprint)
        v.least = fmin(0.6 * fabs(item->index) * v.footprint, v.to - v.from);
    if (p != NULL) {
        v.first = p->from;
        v.pitch = p->pitch;
        v.profile = p->index;
        v.profile_count = p->count;
    }
    if (!list_turns(f, item, index, sections))
        return DM_NOMEM;
    v.section_count = s->turn_count;
    half_limits(f, item, &v, channel->footprint_around / (0.5 * duct->od), &low,
                &high);
    middle_of(f, s, high, &middle, &half);
    v.share = strand_share(f, item, middle, half, &s->strands);
    s->basis = s->turn_count > 1   ? DM_SIZE_TURNS
               : s->turn_count > 0 ? DM_SIZE_ONE_TURN
                                   : DM_SIZE_LIMITS;
    if (s->turn_count == 0)
        dm_void_limits(&v, low, high, &size);
    else if (!dm_void_measure(&v, &size))
        return DM_NOMEM;
    s->bore_area = PI * v.r * v.r;
    s->area_fraction = size.fraction;
    s->largest_t = size.largest_t;
    s->volume = size.volume;
    s->grout = scaled(&size.volume, 1.0 + f->settings->grout_allowance);
    s->saturated = size.saturated;
    s->words = size_words(f, item);
    return s->words != NULL ? DM_OK : DM_NOMEM;
}

dm_status dm_sizes_build(dm_finder *f)
{
    dm_void_section *sections;
    dm_status status = DM_OK;

    if (!keep_turns(f))
        return DM_NOMEM;
    sections = calloc(f->turn_count + 1, sizeof *sections);
    if (sections == NULL)
        return DM_NOMEM;
    for (size_t i = 0; i < f->out->count && status == DM_OK; i++) {
        if (f->out->items[i].kind == DM_KIND_VOID_LIKE)
            status = size_item(f, i, sections);
        dm_volume_sum_size(&f->out->volume, &f->out->items[i].size);
    }
    free(sections);
    return status;
}
