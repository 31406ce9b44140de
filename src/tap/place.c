/* SPDX-License-Identifier: MIT
 * Tap points of one tendon.
 *
 * Aim: [from + U + margin, to - U - margin], U = k u, u relative to the nearer
 * touchable face and with the crew's tape; clear of fixtures, faces, boots,
 * joints and unread lengths; at the high end for a void. An empty interval:
 * re-scan by hand. Clock angle: the one with the greatest chance to enter where
 * the strands leave room; where there is none at the high end, the nearest
 * station of the interval that has one; none anywhere: hand tool. A chance
 * under DM_ENTER_LEAST: re-scan by hand, with a turn. */
#include "tap/work.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/diag.h"
#include "base/uuid.h"

#define PI 3.14159265358979323846
/* Step in which other stations are tried where strands leave no room, m. */
#define STEP 0.025
/* Chances that differ by less are equal: the higher clock angle is taken. */
#define SAME_CHANCE 0.01

/* ---- one hole ---- */

bool dm_tap_name(const dm_placer *p, const char *id, const char *name,
                 dm_tap *tap)
{
    dm_uuid space;

    tap->id = dm_arena_strdup(p->arena, id);
    if (dm_uuid_parse(p->model->uid, &space))
        dm_uuid_text(dm_uuid_name(space, name), tap->uid);
    return tap->id != NULL;
}

/* NAN: the calibration does not tell materials apart, or the kind is open. */
static double kind_chance(const dm_indication *i)
{
    if (!i->posterior.known || i->kind == DM_KIND_UNRESOLVED)
        return (double)NAN;
    return i->posterior
        .p[i->kind == DM_KIND_VOID_LIKE ? DM_MATERIAL_VOID : DM_MATERIAL_SOFT];
}

void dm_tap_chances(const dm_placer *p, const dm_indication *i,
                    const dm_sure *s, const dm_void_arc *arc, dm_tap *tap)
{
    tap->void_clock = fmod(arc->mid + 4.0 * PI, 2.0 * PI);
    tap->void_half = arc->half;
    tap->u_void_clock = arc->u_mid;
    tap->u_void_half = arc->u_half;
    tap->p_axis = dm_tap_axis_chance(i, s, tap->t);
    tap->p_angle =
        dm_arc_probability(arc, tap->clock, dm_tap_crew(p, tap->t).u_clock);
    tap->p_enter = tap->p_axis * tap->p_angle;
    tap->p_kind = kind_chance(i);
}

static void bounds_of(const dm_indication *i, dm_tap *tap)
{
    const dm_end *a = &i->from, *b = &i->to;

    tap->u_world = sqrt(
        fmax(dm_tap_station_var(a, DM_NONE), dm_tap_station_var(b, DM_NONE)));
    tap->back.u = sqrt(fmax(dm_tap_station_var(a, tap->back.face),
                            dm_tap_station_var(b, tap->back.face)));
    tap->ahead.u = sqrt(fmax(dm_tap_station_var(a, tap->ahead.face),
                             dm_tap_station_var(b, tap->ahead.face)));
}

/* What is asked of a clock angle beside the strands. */
typedef struct {
    const dm_placer *p;
    double t;
} fixtures_at;

static bool fixtures_leave(void *user, double clock)
{
    const fixtures_at *f = user;

    return dm_tap_fixtures_leave(f->p, f->t, clock);
}

/* How the search for a clock angle ended. */
typedef enum {
    CHOSEN,
    /* No angle at which the strands leave room. */
    STRANDS_BAR,
    /* Angles that strands leave, but on or beside a fixture, or at a station
     * where no hole may be. */
    BARRED,
    NO_MEMORY
} choice;

/* The best clock angle at station t, of all extents that are known there; of
 * equals the higher one. Sets clock, extent and whether a turn told it. */
static choice choose_clock(const dm_placer *p, const dm_indication *i,
                           const dm_span *no, size_t no_count, double t,
                           dm_tap *tap, dm_void_arc *best)
{
    dm_section section = dm_tendon_section(p->model, p->tendon, t);
    dm_crew_angle crew = dm_tap_crew(p, t);
    double room =
        p->job->settings.stop_allowance + p->job->settings.strand_room;
    dm_void_arc arcs[DM_TAP_ARCS];
    size_t count = dm_tap_arcs(p, i, t, arcs, DM_TAP_ARCS, &tap->turned), n;
    dm_tap_side *sides;
    dm_strands_at *at;
    fixtures_at fixtures = {p, t};
    double chance = -1.0;
    bool strands_leave = false;

    *best = arcs[0];
    if (dm_span_holds(no, no_count, t))
        return BARRED;
    if (!dm_tap_sides(p, t, fmax(i->from.u, i->to.u), &sides, &n))
        return NO_MEMORY;
    at = calloc(n + 1, sizeof *at);
    for (size_t k = 0; at != NULL && k < n; k++)
        at[k] = sides[k].at;
    for (size_t k = 0; at != NULL && k < count; k++) {
        double clock, c;

        if (!dm_clock_choose(&arcs[k], &section, at, n, room, &crew, &clock,
                             &c))
            continue;
        strands_leave = true;
        if (dm_clock_choose_free(&arcs[k], &section, at, n, room, &crew,
                                 fixtures_leave, &fixtures, &clock, &c) &&
            (c > chance + SAME_CHANCE ||
             (c > chance - SAME_CHANCE && cos(clock) > cos(tap->clock)))) {
            chance = fmax(c, chance);
            tap->clock = clock;
            *best = arcs[k];
        }
    }
    free(sides);
    if (at == NULL)
        return NO_MEMORY;
    free(at);
    if (chance >= 0.0)
        return CHOSEN;
    return strands_leave ? BARRED : STRANDS_BAR;
}

bool dm_tap_room(const dm_placer *p, const dm_tap_side *sides, size_t count,
                 const dm_tap *tap)
{
    dm_section section = dm_tendon_section(p->model, p->tendon, tap->t);
    dm_crew_angle crew = dm_tap_crew(p, tap->t);
    double room =
        p->job->settings.stop_allowance + p->job->settings.strand_room;

    for (size_t i = 0; i < count; i++)
        if (!dm_strands_leave(&section, &sides[i].at, 1, tap->clock, room,
                              &crew))
            return false;
    return true;
}

/* From tap->t through the aim interval, high to low (or outwards), to the first
 * station at which a clock angle has room. Where a turn told of strands the
 * place is not left for one of which no turn tells: the strands go on there,
 * only the knowledge ends. Without such a station: what barred the first. */
static choice move_off_strands(const dm_placer *p, const dm_indication *i,
                               const dm_span *no, size_t no_count, dm_tap *tap,
                               dm_void_arc *arc)
{
    double first = tap->t;
    bool turned = dm_tap_turn_near(p, first);
    choice at_first = choose_clock(p, i, no, no_count, first, tap, arc);
    double far = fmax(first - tap->aim_from, tap->aim_to - first) + STEP;

    if (at_first == CHOSEN || at_first == NO_MEMORY)
        return at_first;
    /* One step back, one ahead, two back, ... */
    for (int n = 2; 0.5 * STEP * n <= far; n++) {
        double t = first + (n % 2 == 0 ? -STEP : STEP) * (n / 2);
        choice found;

        if (t < tap->aim_from || t > tap->aim_to ||
            (turned && !dm_tap_turn_near(p, t)))
            continue;
        found = choose_clock(p, i, no, no_count, t, tap, arc);
        if (found == CHOSEN)
            tap->t = t;
        if (found == CHOSEN || found == NO_MEMORY)
            return found;
    }
    return at_first;
}

/* What the words need of how the station was found. */
typedef struct {
    bool level, moved;
} found_how;

/* Another clock angle is looked for only where a drill is meant to be used. */
static bool clearance_of(const dm_placer *p, const dm_indication *i,
                         const dm_tap_side *sides, size_t count, dm_tap *tap)
{
    dm_void_arc arcs[DM_TAP_ARCS];
    bool turned;
    size_t n = tap->advice == DM_ADVICE_TAP
                   ? dm_tap_arcs(p, i, tap->t, arcs, DM_TAP_ARCS, &turned)
                   : 0;

    return dm_tap_clearance(p, arcs, n, sides, count, tap);
}

static dm_status finish(dm_placer *p, const dm_indication *i, size_t face,
                        const dm_sure *s, const dm_void_arc *arc, found_how how,
                        dm_tap *tap)
{
    dm_tap_side *sides;
    size_t count;
    const char *id = dm_arena_printf(p->arena, "%s-%c", i->key,
                                     tap->role == DM_ROLE_INLET ? 'B' : 'A');
    const char *name = dm_arena_printf(p->arena, "tap/%s/%c", i->uid,
                                       tap->role == DM_ROLE_INLET ? 'B' : 'A');

    dm_tap_set_out(p, tap);
    if (face == tap->back.face || face == tap->ahead.face)
        tap->mark_face = face;
    bounds_of(i, tap);
    dm_tap_chances(p, i, s, arc, tap);
    if (!dm_tap_sides(p, tap->t, fmax(i->from.u, i->to.u), &sides, &count))
        return DM_NOMEM;
    dm_tap_strands(p, sides, count, tap);
    if (!clearance_of(p, i, sides, count, tap)) {
        free(sides);
        return DM_NOMEM;
    }
    free(sides);
    if (tap->advice == DM_ADVICE_TAP && dm_tap_contact_unknown(tap)) {
        tap->advice = DM_ADVICE_HAND_TOOL;
        tap->why = dm_tap_why_contact_unknown;
    } else if (tap->advice == DM_ADVICE_TAP && tap->p_enter < DM_ENTER_LEAST) {
        tap->advice = DM_ADVICE_RESCAN;
        tap->why = dm_tap_why_unsure(p, face, tap);
    } else if (tap->advice == DM_ADVICE_HAND_TOOL) {
        tap->why = dm_tap_why_hand_tool(p, tap);
    } else if (tap->advice == DM_ADVICE_TAP) {
        tap->why = dm_tap_why_here(p, i, tap, how.level, how.moved);
    }
    if (i->clock_doubt && tap->advice != DM_ADVICE_RESCAN) {
        tap->advice = DM_ADVICE_RESCAN;
        tap->why = "re-scan by hand first: the clock angle of a run may be "
                   "mirrored (12 - clock); no drilling before it is confirmed";
    }
    if (id == NULL || name == NULL || tap->why == NULL ||
        !dm_tap_name(p, id, name, tap))
        return DM_NOMEM;
    p->out->count++;
    return DM_OK;
}

static dm_status hole(dm_placer *p, size_t index, dm_tap_role role)
{
    const dm_indication *i = &p->indications->items[index];
    const dm_settings *set = &p->job->settings;
    double mid = 0.5 * (i->from.t + i->to.t), k = set->coverage_factor;
    size_t face = dm_tap_nearer_face(p, mid), n = 0;
    dm_sure s = dm_tap_sure(p, i, face);
    dm_tap *tap = &p->out->items[p->out->count];
    bool high = i->kind == DM_KIND_VOID_LIKE;
    double wanted = mid;
    found_how how = {false, false};
    dm_aim aim = role == DM_ROLE_INLET    ? DM_AIM_INLET
                 : role == DM_ROLE_OUTLET ? DM_AIM_OUTLET
                 : high                   ? DM_AIM_HIGH
                                          : DM_AIM_MIDDLE;
    dm_void_arc arcs[DM_TAP_ARCS], arc;
    choice found = BARRED;
    bool empty;

    *tap = (dm_tap){.indication = index, .role = role, .clock = i->clock};
    size_t arc_count = dm_tap_arcs(p, i, mid, arcs, DM_TAP_ARCS, &tap->turned);
    dm_span *no = dm_tap_barred(p, arcs, arc_count, mid, &n);
    if (no == NULL)
        return DM_NOMEM;
    arc = arcs[0];
    tap->aim_from = s.from + k * s.u_from + set->tap_margin;
    tap->aim_to = s.to - k * s.u_to - set->tap_margin;
    tap->t = mid;
    empty = tap->aim_from > tap->aim_to;
    if (!empty && dm_aim_choose(&p->tendon->line, tap->aim_from, tap->aim_to,
                                no, n, aim, &tap->t, &how.level)) {
        wanted = tap->t;
        found = i->kind == DM_KIND_UNRESOLVED
                    ? STRANDS_BAR
                    : move_off_strands(p, i, no, n, tap, &arc);
        tap->advice = found == CHOSEN ? DM_ADVICE_TAP : DM_ADVICE_HAND_TOOL;
    }
    free(no);
    if (found == NO_MEMORY)
        return DM_NOMEM;
    if (found != CHOSEN)
        tap->clock = fmod(arc.mid + 4.0 * PI, 2.0 * PI);
    if (found == BARRED) {
        tap->advice = DM_ADVICE_RESCAN;
        tap->why = dm_tap_why_rescan(
            p, i, face, k * (s.u_from + s.u_to) + 2.0 * set->tap_margin,
            !empty);
    }
    how.moved = found == CHOSEN && tap->t != wanted;
    return finish(p, i, face, &s, &arc, how, tap);
}

/* ---- which indications ---- */

/* Why the two of a pair are not two: one line behind the first one's. */
static dm_status add_why(const dm_placer *p, dm_tap *tap, const char *more,
                         const dm_tap_pair *pair)
{
    tap->why = dm_arena_printf(p->arena, "%s; %s by %s: %s", tap->why, more,
                               pair->by, pair->reason);
    return tap->why != NULL ? DM_OK : DM_NOMEM;
}

static dm_status holes(dm_placer *p, size_t index)
{
    const dm_tap_pair *pair = dm_tap_pair_of(p, &p->indications->items[index]);
    size_t first = p->out->count;
    dm_tap *out = &p->out->items[first], *in = out + 1;
    dm_status status;

    if (pair == NULL)
        return hole(p, index, DM_ROLE_SINGLE);
    status = hole(p, index, DM_ROLE_OUTLET);
    if (status == DM_OK)
        status = hole(p, index, DM_ROLE_INLET);
    if (status != DM_OK)
        return status;
    if (out->advice == DM_ADVICE_TAP && in->advice == DM_ADVICE_TAP &&
        fabs(out->t - in->t) >= p->job->settings.tap_merge) {
        status = add_why(p, out, "pair requested", pair);
        return status == DM_OK ? add_why(p, in, "pair requested", pair)
                               : status;
    }
    /* No room for two holes: one, and said so. */
    p->out->count = first;
    status = hole(p, index, DM_ROLE_SINGLE);
    return status == DM_OK
               ? add_why(p, out, "no room for the pair requested", pair)
               : status;
}

/* What cannot be measured from a face cannot be marked. */
static bool settle_reach(const dm_placer *p, dm_tap *tap)
{
    if (tap->back.face != DM_NONE || tap->ahead.face != DM_NONE ||
        tap->advice == DM_ADVICE_RESCAN)
        return true;
    tap->advice = DM_ADVICE_RESCAN;
    tap->why = dm_arena_printf(p->arena,
                               "no face can be touched, nothing to measure "
                               "from: set out a reference first; %s",
                               tap->why);
    return tap->why != NULL;
}

/* Once it is known what is to be done there. */
static bool conclude(const dm_placer *p, dm_tap *tap)
{
    dm_tap_opened(p, tap);
    if (!settle_reach(p, tap))
        return false;
    tap->warning = dm_tap_warning(p, tap);
    /* Whoever reads these sets a drill by them. */
    if (tap->advice != DM_ADVICE_TAP)
        tap->depth_stop = tap->bit = tap->p_contact = (double)NAN;
    return tap->warning != NULL;
}

static dm_status place_all(dm_placer *p)
{
    const dm_job *job = p->job;
    dm_status status = dm_tap_refuse(p) ? DM_OK : DM_NOMEM;

    for (size_t i = 0; i < p->indications->count && status == DM_OK; i++) {
        if (p->out->tapped[i].why[0] == '\0')
            status = holes(p, i);
    }
    for (size_t i = 0; i < job->request_count && status == DM_OK; i++)
        if (strcmp(job->requests[i].tendon, p->tendon->id) == 0)
            status = dm_tap_requested(p, &job->requests[i]);
    if (status == DM_OK)
        status = dm_taps_merge(p);
    if (status == DM_OK && !dm_tap_assign(p))
        status = DM_NOMEM;
    for (size_t i = 0; i < p->out->count && status == DM_OK; i++)
        if (!conclude(p, &p->out->items[i]))
            status = DM_NOMEM;
    return status;
}

dm_status dm_taps_place(const dm_model *model, const dm_survey *survey,
                        const dm_stations *stations,
                        const dm_indications *indications,
                        const dm_criteria *criteria, const dm_job *job,
                        const dm_context *context, dm_diag *diag, dm_taps **out)
{
    dm_arena *arena = dm_arena_new();
    dm_taps *h = arena != NULL ? DM_NEW(arena, dm_taps) : NULL;
    dm_placer p = {.model = model,
                   .tendon = &model->tendons[stations->tendon],
                   .survey = survey,
                   .stations = stations,
                   .indications = indications,
                   .criteria = criteria,
                   .job = job,
                   .context = context,
                   .diag = diag,
                   .arena = arena,
                   .out = h};
    dm_status status = DM_NOMEM;

    *out = NULL;
    if (h != NULL) {
        h->arena = arena;
        h->tendon = stations->tendon;
        h->items = DM_NEW_ARRAY(arena, dm_tap,
                                2 * indications->count + job->request_count);
        if (h->items != NULL)
            status = place_all(&p);
    }
    if (status != DM_OK) {
        dm_arena_free(arena);
        return status == DM_NOMEM ? dm_error(diag, status, p.tendon->place,
                                             p.tendon->id, "out of memory")
                                  : status; /* said */
    }
    *out = h;
    return DM_OK;
}

void dm_taps_free(dm_taps *taps)
{
    if (taps != NULL)
        dm_arena_free(taps->arena);
}
