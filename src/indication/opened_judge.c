/* SPDX-License-Identifier: MIT
 * What one opening says, and the estimate of its place beside it.
 *
 * Not sound (void, water, soft grout; water besides whatever else): confirms
 * what it was matched to, missed where nothing stood out, else not read there.
 * Sound refutes only where the indication is sure to reach: between its ends
 * by U, and within its extent round the duct: the nearest turn's, without one
 * half the sensors' least footprint about its clock line. Anything else says
 * nothing for sure. */
#include <math.h>
#include <string.h>

#include "indication/opened.h"
#include "indication/turn.h"

#define PI 3.14159265358979323846

const char *dm_outcome_text(dm_outcome outcome)
{
    static const char *const text[] = {"confirmed", "refuted",
                                       "neither",   "missed",
                                       "agrees",    "not read there"};

    return (unsigned)outcome < DM_OUTCOME_COUNT ? text[outcome] : "neither";
}

static double angle_apart(double a, double b)
{
    return fabs(remainder(a - b, 2.0 * PI));
}

/* Half of the least footprint round the duct of any channel, rad. */
static double half_footprint(const dm_finder *f, double t)
{
    double least = HUGE_VAL;

    for (size_t i = 0; i < f->survey->instrument_count; i++) {
        const dm_instrument *m = &f->survey->instruments[i];

        for (size_t c = 0; c < m->channel_count; c++)
            least = fmin(least, m->channels[c].footprint_around);
    }
    return least / dm_tendon_duct(f->model, f->tendon, t)->od;
}

/* The turn of the indication nearest to the opening; NULL: none. */
static const dm_turn *nearest_turn(const dm_finder *f, const dm_as_found *o)
{
    const dm_turn *best = NULL;

    for (size_t i = 0; i < f->out->turn_count; i++) {
        const dm_turn *n = &f->out->turns[i];

        if (n->indication != o->indication || o->indication == DM_NONE ||
            n->arc == DM_NONE)
            continue;
        if (best == NULL || fabs(n->t - o->what.t) < fabs(best->t - o->what.t))
            best = n;
    }
    return best;
}

/* Within what the indication claims of the circumference. */
static bool on_clock(const dm_finder *f, const dm_turn *turn, double clock,
                     const dm_opening *what)
{
    if (turn == NULL)
        return angle_apart(what->clock, clock) <= half_footprint(f, what->t);
    if (turn->fit.valid)
        return angle_apart(what->clock, turn->fit.centre) <=
               turn->fit.half_angle;
    return angle_apart(what->clock, dm_arc_middle(&turn->arcs[turn->arc])) <=
           0.5 * dm_arc_width(&turn->arcs[turn->arc]);
}

/* The best state of a clock line that reads this place. */
static dm_cover cover_at(const dm_finder *f, const dm_opening *o)
{
    double r = 0.5 * dm_tendon_duct(f->model, f->tendon, o->t)->od;
    dm_cover best = DM_COVER_COUNT;

    for (size_t i = 0; i < f->out->cover_line_count; i++) {
        const dm_cover_line *l = &f->out->cover_lines[i];

        if (r * angle_apart(o->clock, l->clock) > 0.5 * l->width)
            continue;
        for (size_t k = 0; k < l->count; k++)
            if (o->t >= l->lengths[k].from && o->t <= l->lengths[k].to &&
                l->lengths[k].cover < best)
                best = l->lengths[k].cover;
    }
    return best == DM_COVER_COUNT ? DM_COVER_NOT_TESTED : best;
}

/* What it was matched to. */
typedef struct {
    dm_kind kind;
    double clock;
    bool open_from, open_to, reconciled;
    const dm_turn *turn; /* NULL: none */
} matched;

static matched match_of(const dm_finder *f, const dm_register *reg,
                        const dm_as_found *o)
{
    matched m = {.reconciled = true};

    if (o->indication != DM_NONE) {
        const dm_indication *i = &f->out->items[o->indication];

        m = (matched){i->kind,    i->clock,      i->from.open,
                      i->to.open, i->reconciled, nearest_turn(f, o)};
    } else if (o->entry != DM_NONE) {
        m.kind = reg->entries[o->entry].kind;
        m.clock = reg->entries[o->entry].clock;
    }
    return m;
}

static bool like(dm_kind kind, const dm_opening *what)
{
    if (kind == DM_KIND_VOID_LIKE)
        return what->found == DM_FOUND_VOID || what->found == DM_FOUND_WATER;
    return what->found == DM_FOUND_SOFT;
}

static void judge_hollow(const dm_finder *f, const matched *m, dm_as_found *o)
{
    double k = f->settings->coverage_factor;

    o->outcome = DM_OUTCOME_CONFIRMED;
    o->against_end = (!m->open_from && o->inside_from < -k * o->u_from) ||
                     (!m->open_to && o->inside_to < -k * o->u_to);
    if (o->against_end)
        o->words = "not sound beyond the end by more than U";
    else if (o->what.water && o->what.found >= DM_FOUND_SOUND)
        o->words = "water came out";
    else
        o->words = like(m->kind, &o->what) ? "as it read"
                                           : "not sound, but not as it read";
}

static void judge_sound(const dm_finder *f, const matched *m, dm_as_found *o)
{
    double k = f->settings->coverage_factor;

    o->outcome = DM_OUTCOME_NEITHER;
    if (!m->reconciled)
        o->words = "sound; where the indication lies is not sure";
    else if (!(o->inside_from > (m->open_from ? 0.0 : k * o->u_from) &&
               o->inside_to > (m->open_to ? 0.0 : k * o->u_to)))
        o->words = "sound, but within U of an end or beyond it";
    else if (!on_clock(f, m->turn, m->clock, &o->what))
        o->words = "sound, but beside the clock angles that were indicated";
    else {
        o->outcome = DM_OUTCOME_REFUTED;
        o->words = "sound between the ends by more than U";
    }
}

static void judge_elsewhere(dm_cover cover, dm_as_found *o)
{
    bool hollow = dm_opening_hollow(&o->what);
    bool read = cover == DM_COVER_TESTED || cover == DM_COVER_STRAND_MASKED;

    if (!read) {
        o->outcome = DM_OUTCOME_NOT_READ;
        o->words = hollow ? "not sound where nothing was read to use"
                          : "nothing was read to use there";
    } else if (hollow) {
        o->outcome = DM_OUTCOME_MISSED;
        o->words = cover == DM_COVER_TESTED
                       ? "not sound where nothing was indicated"
                       : "not sound where a strand may have hidden it";
    } else if (o->what.found == DM_FOUND_SOUND) {
        o->outcome = DM_OUTCOME_AGREES;
        o->words = "sound, as nothing was indicated";
    } else {
        o->outcome = DM_OUTCOME_NEITHER;
        o->words = "no indication; neither sound nor not was seen";
    }
}

static double probability_of(const dm_finder *f, const dm_as_found *o)
{
    static const dm_material_kind material[] = {
        [DM_FOUND_VOID] = DM_MATERIAL_VOID,
        [DM_FOUND_WATER] = DM_MATERIAL_COUNT,
        [DM_FOUND_SOFT] = DM_MATERIAL_SOFT,
        [DM_FOUND_SOUND] = DM_MATERIAL_SOUND,
        [DM_FOUND_STRAND] = DM_MATERIAL_STRAND,
        [DM_FOUND_OTHER] = DM_MATERIAL_COUNT};
    dm_material_kind m = material[o->what.found];
    const dm_posterior *p;

    if (o->indication == DM_NONE || m == DM_MATERIAL_COUNT)
        return (double)NAN;
    p = &f->out->items[o->indication].posterior;
    return p->known ? p->p[m] : (double)NAN;
}

void dm_opened_judge(const dm_finder *f, const dm_register *reg, dm_as_found *o)
{
    matched m = match_of(f, reg, o);
    dm_cover cover = cover_at(f, &o->what);

    o->cover = dm_cover_text(cover);
    o->p_found = probability_of(f, o);
    if (m.turn != NULL) {
        o->depth = m.turn->depth;
        o->depth_at_least = m.turn->depth_at_least;
    }
    if (o->key == NULL)
        judge_elsewhere(cover, o);
    else if (dm_opening_hollow(&o->what))
        judge_hollow(f, &m, o);
    else if (o->what.found == DM_FOUND_SOUND)
        judge_sound(f, &m, o);
    else
        o->words = o->what.found == DM_FOUND_STRAND
                       ? "a strand at the wall: what is beside it was not seen"
                       : "what was found says nothing of it";
}
