/* SPDX-License-Identifier: MIT
 * Tap points of one tendon, and their measures from faces.
 *
 * Aim: [from + U + margin, to - U - margin], U = k u, u relative to the nearer
 * touchable face and with the crew's tape; clear of fixtures, faces, joints
 * and unread lengths; at the high end for a void. An empty interval: re-scan
 * by hand. The clock angle is that of the line on which the indication was
 * read: nothing is known of the others. Where a strand may lie at the wall
 * there: hand tool. A length shorter than the footprint is only known to be at
 * least 0.6 |index| footprints long (the plateau cannot exceed 1, and no kernel
 * is narrower than 0.6 of its footprint); that much about its middle is aimed
 * at. p_enter: errors along the axis alone (both ends, station relative to the
 * face, tape and pen); the angle is not in it. Limit: no strand gap yet. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/arena.h"
#include "base/diag.h"
#include "base/num.h"
#include "base/uuid.h"
#include "ductmark/tap.h"
#include "tap/aim.h"

#define PI 3.14159265358979323846

typedef struct {
    const dm_model *model;
    const dm_tendon *tendon;
    const dm_survey *survey;
    const dm_stations *stations;
    const dm_indications *indications;
    const dm_criteria *criteria;
    const dm_job *job;
    dm_arena *arena;
    dm_taps *out;
} placer;

/* ---- faces and variances ---- */

static double shift_of(const placer *p, size_t face)
{
    return p->stations->face_shift != NULL ? p->stations->face_shift[face]
                                           : 0.0;
}

static size_t face_beside(const placer *p, double t, int side)
{
    size_t best = DM_NONE;

    for (size_t i = 0; i < p->tendon->face_count; i++) {
        double at = p->tendon->faces[i].t + shift_of(p, i);

        if (!p->tendon->faces[i].touchable || (side < 0 ? at > t : at < t))
            continue;
        if (best == DM_NONE ||
            (side < 0 ? at >= p->tendon->faces[best].t + shift_of(p, best)
                      : at < p->tendon->faces[best].t + shift_of(p, best)))
            best = i;
    }
    return best;
}

/* Standard uncertainty of an end relative to a face; the world's where the
 * face is not one of its neighbours. */
static double end_u(const dm_end *e, size_t face)
{
    if (face != DM_NONE && face == e->face_back && isfinite(e->u_back))
        return e->u_back;
    if (face != DM_NONE && face == e->face_ahead && isfinite(e->u_ahead))
        return e->u_ahead;
    return e->u;
}

static double station_var(const dm_end *e, size_t face)
{
    double u = end_u(e, face);

    return fmax(0.0, u * u - e->u_edge * e->u_edge);
}

/* ---- set-out ---- */

static dm_tape tape(const placer *p, const dm_tap *tap, double r, size_t face,
                    double *at)
{
    const dm_centreline *line = &p->tendon->line;
    dm_tape out = {face, (double)NAN, (double)NAN};
    double t;

    *at = (double)NAN;
    if (face == DM_NONE)
        return out;
    const dm_face *f = &p->tendon->faces[face];
    t = dm_face_station(p->tendon, f, dm_face_radius(p->model, p->tendon, f),
                        tap->line) +
        shift_of(p, face);
    *at = dm_outside_length(line, r, tap->line, t);
    out.distance = fabs(dm_outside_length(line, r, tap->line, tap->t) - *at);
    return out;
}

/* All that follows from station and clock angle. */
static void set_out(const placer *p, dm_tap *tap)
{
    const dm_duct_type *duct = dm_tendon_duct(p->model, p->tendon, tap->t);
    double r = 0.5 * duct->od, at_back, at_ahead;
    dm_frame frame = dm_centreline_frame(&p->tendon->line, tap->t);

    tap->axis = frame.point;
    tap->bridge = dm_model_bridge_place(p->model, tap->axis);
    tap->surface = dm_frame_surface(&frame, r, tap->clock);
    tap->outward = dm_frame_direction(&frame, tap->clock);
    tap->clock_back = fmod(2.0 * PI - tap->clock, 2.0 * PI);
    tap->line = dm_tape_line(tap->clock);
    tap->around = r * dm_wrap(tap->clock - tap->line);
    tap->from_crown = r * dm_wrap(tap->clock);
    tap->back = tape(p, tap, r, face_beside(p, tap->t, -1), &at_back);
    tap->ahead = tape(p, tap, r, face_beside(p, tap->t, +1), &at_ahead);
    tap->faces_apart = at_ahead - at_back;
    tap->wall_assumed = !(duct->wall_min > 0.0);
    tap->wall_min = tap->wall_assumed ? duct->wall : duct->wall_min;
    tap->depth_stop = tap->wall_min + p->job->settings.stop_allowance;
}

static size_t nearer_face(const placer *p, double t)
{
    size_t back = face_beside(p, t, -1), ahead = face_beside(p, t, +1);

    if (back == DM_NONE || ahead == DM_NONE)
        return back != DM_NONE ? back : ahead;
    return t - p->tendon->faces[back].t <= p->tendon->faces[ahead].t - t
               ? back
               : ahead;
}

/* ---- aim ---- */

static bool clock_within(const dm_fixture *x, double clock, double slack)
{
    double width = x->clock_to - x->clock_from, a;

    if (width <= 0.0)
        width += 2.0 * PI;
    if (width >= 2.0 * PI - 1e-9)
        return true;
    a = fmod(clock - x->clock_from + 4.0 * PI, 2.0 * PI);
    return a <= width + slack || a >= 2.0 * PI - slack;
}

/* Spans where no hole may be; NULL: no memory. */
static dm_span *forbidden(const placer *p, double clock, double od,
                          size_t *count)
{
    const dm_tendon *n = p->tendon;
    const dm_indications *in = p->indications;
    double m = p->job->settings.fixture_margin;
    size_t k = 0;
    dm_span *s = calloc(n->fixture_count + n->face_count + n->duct_count +
                            in->cover_count + 1,
                        sizeof *s);

    if (s == NULL)
        return NULL;
    for (size_t i = 0; i < n->fixture_count; i++)
        if (clock_within(&n->fixtures[i], clock, 2.0 * m / od))
            s[k++] = (dm_span){n->fixtures[i].from - m, n->fixtures[i].to + m};
    for (size_t i = 0; i < n->face_count; i++)
        s[k++] = (dm_span){n->faces[i].t + shift_of(p, i) - m,
                           n->faces[i].t + shift_of(p, i) + m};
    for (size_t i = 1; i < n->duct_count; i++)
        s[k++] = (dm_span){n->ducts[i].from - m, n->ducts[i].from + m};
    for (size_t i = 0; i < in->cover_count; i++)
        if (in->cover[i].cover == DM_COVER_NOT_TESTED)
            s[k++] = (dm_span){in->cover[i].from, in->cover[i].to};
    *count = k;
    return s;
}

/* What is surely part of the indication, with the uncertainty of its ends
 * relative to `face`; u < 0: open. */
typedef struct {
    double from, u_from, to, u_to;
} sure;

static double footprint_of(const placer *p, const dm_indication *i)
{
    double w = HUGE_VAL;

    for (size_t r = 0; r < i->run_count; r++) {
        const dm_run *run = &p->survey->runs[i->runs[r]];
        const dm_instrument *s = &p->survey->instruments[run->instrument];

        for (size_t c = 0; c < s->channel_count; c++)
            w = fmin(w, s->channels[c].footprint_along);
    }
    return w < HUGE_VAL ? w : 0.0;
}

static sure sure_part(const placer *p, const dm_indication *i, size_t face)
{
    double mark = p->job->settings.mark_u;
    sure s = {i->from.t, hypot(end_u(&i->from, face), mark), i->to.t,
              hypot(end_u(&i->to, face), mark)};

    if (i->shorter_than_footprint) {
        double mid = 0.5 * (i->from.t + i->to.t);
        double half = 0.3 * fabs(i->index) * footprint_of(p, i);

        s.from = mid - half;
        s.to = mid + half;
    }
    return s;
}

/* The strand side that leaves no room for a hole there; NULL: none. */
static const dm_strand_side *strands_at(const placer *p, double clock, double t)
{
    for (size_t k = 0; k < p->tendon->strand_side_count; k++) {
        const dm_strand_side *s = &p->tendon->strand_sides[k];

        /* A hole needs a quarter of an hour of room beside the strands. */
        if (s->from <= t && s->to >= t &&
            fabs(dm_wrap(clock - s->clock)) <= 2.0 * s->u + PI / 24.0)
            return s;
    }
    return NULL;
}

/* `side` may be NULL: the kind alone says that it may be a strand. */
static const char *why_hand_tool(const dm_strand_side *side)
{
    if (side != NULL && side->derived)
        return "strands at the inside of the bend (derived, not stated): hand "
               "tool, wall only, engineer present";
    return "a strand may lie at the wall at this clock angle: hand tool, wall "
           "only, engineer present";
}

static const char *millimetres(const placer *p, double metres)
{
    char text[DM_NUM_SIZE];

    dm_num_fixed(text, 1000.0 * metres, 0);
    return dm_arena_strdup(p->arena, text);
}

static const char *why_rescan(const placer *p, const dm_indication *i,
                              size_t face, double taken, bool blocked)
{
    const char *from = face != DM_NONE ? p->tendon->faces[face].id : NULL;
    const char *length = millimetres(p, i->to.t - i->from.t);
    const char *bounds = millimetres(p, taken);

    if (length == NULL || bounds == NULL)
        return NULL;
    if (blocked)
        return dm_arena_printf(
            p->arena,
            "re-scan by hand %s%s first: fixtures, faces or unread lengths "
            "leave no place in the %s mm of the indication",
            from != NULL ? "from face " : "from a face that can be touched",
            from != NULL ? from : "", length);
    if (i->shorter_than_footprint)
        return dm_arena_printf(
            p->arena,
            "re-scan by hand %s%s first: shorter than the sensor's footprint, "
            "at most %s mm long",
            from != NULL ? "from face " : "from a face that can be touched",
            from != NULL ? from : "", length);
    return dm_arena_printf(
        p->arena,
        "re-scan by hand %s%s first: %s mm long, its bounds and margins take "
        "%s mm",
        from != NULL ? "from face " : "from a face that can be touched",
        from != NULL ? from : "", length, bounds);
}

static const char *why_here(const dm_indication *i, bool level)
{
    if (i->kind != DM_KIND_VOID_LIKE)
        return "middle of the aim interval, on the clock line that was read";
    return level ? "middle of the void-like length (level duct), on the clock "
                   "line that was read"
                 : "high end of the void-like length, on the clock line that "
                   "was read";
}

static bool name_tap(const placer *p, const dm_indication *i, dm_tap *tap)
{
    dm_uuid space;
    char *id = dm_arena_printf(p->arena, "%s-A", i->key);
    char *name = dm_arena_printf(p->arena, "tap/%s/A", i->uid);

    if (id == NULL || name == NULL)
        return false;
    tap->id = id;
    if (dm_uuid_parse(p->model->uid, &space))
        dm_uuid_text(dm_uuid_name(space, name), tap->uid);
    return true;
}

static void bounds_of(const dm_indication *i, dm_tap *tap)
{
    const dm_end *a = &i->from, *b = &i->to;

    tap->u_world = sqrt(fmax(station_var(a, DM_NONE), station_var(b, DM_NONE)));
    tap->back.u = sqrt(
        fmax(station_var(a, tap->back.face), station_var(b, tap->back.face)));
    tap->ahead.u = sqrt(
        fmax(station_var(a, tap->ahead.face), station_var(b, tap->ahead.face)));
}

static double enter(const dm_indication *i, const sure *s, double t)
{
    return dm_enter_probability(t, s->from, i->from.open ? -1.0 : s->u_from,
                                s->to, i->to.open ? -1.0 : s->u_to);
}

static dm_status tap_indication(placer *p, size_t index)
{
    const dm_indication *i = &p->indications->items[index];
    const dm_settings *set = &p->job->settings;
    double mid = 0.5 * (i->from.t + i->to.t), k = set->coverage_factor;
    size_t face = nearer_face(p, mid), n = 0;
    sure s = sure_part(p, i, face);
    dm_tap *tap = &p->out->items[p->out->count];
    const dm_strand_side *side = NULL;
    bool high = i->kind == DM_KIND_VOID_LIKE, found;
    dm_span *no = forbidden(p, i->clock,
                            dm_tendon_duct(p->model, p->tendon, mid)->od, &n);

    if (no == NULL)
        return DM_NOMEM;
    tap->indication = index;
    tap->clock = i->clock;
    tap->aim_from = s.from + k * s.u_from + set->tap_margin;
    tap->aim_to = s.to - k * s.u_to - set->tap_margin;
    found = tap->aim_from <= tap->aim_to &&
            dm_aim_choose(&p->tendon->line, tap->aim_from, tap->aim_to, no, n,
                          high, &tap->t);
    free(no);
    if (!found) {
        tap->advice = DM_ADVICE_RESCAN;
        tap->t = mid;
        tap->why = why_rescan(p, i, face,
                              k * (s.u_from + s.u_to) + 2.0 * set->tap_margin,
                              tap->aim_from <= tap->aim_to);
    } else if ((side = strands_at(p, tap->clock, tap->t)) != NULL ||
               i->kind == DM_KIND_UNRESOLVED) {
        tap->advice = DM_ADVICE_HAND_TOOL;
        tap->why = why_hand_tool(side);
    } else {
        tap->advice = DM_ADVICE_TAP;
        tap->why =
            why_here(i, high && tap->t > tap->aim_from && tap->t < tap->aim_to);
    }
    set_out(p, tap);
    bounds_of(i, tap);
    tap->p_enter = enter(i, &s, tap->t);
    if (tap->why == NULL || !name_tap(p, i, tap))
        return DM_NOMEM;
    p->out->count++;
    return DM_OK;
}

/* ---- the job's requests and exclusions ---- */

static bool excluded(const placer *p, const dm_indication *i)
{
    for (size_t k = 0; k < p->job->exclude_count; k++)
        if (strcmp(p->job->excludes[k].indication, i->key) == 0 ||
            strcmp(p->job->excludes[k].indication, i->uid) == 0)
            return true;
    return false;
}

static double request_station(const placer *p, const dm_tap_request *q,
                              size_t face, double r)
{
    const dm_face *f = &p->tendon->faces[face];
    double t = dm_face_station(p->tendon, f, r, q->clock) + shift_of(p, face);
    double l = dm_outside_length(&p->tendon->line, r, q->clock, t);

    return dm_outside_station(&p->tendon->line, r, q->clock,
                              l + (double)f->side * q->distance);
}

static void request_bounds(const placer *p, size_t face, dm_tap *tap)
{
    const dm_stations *s = p->stations;
    double mark = p->job->settings.mark_u;
    size_t n = p->tendon->face_count;
    dm_tape *tapes[2] = {&tap->back, &tap->ahead};

    tap->u_world = hypot(mark, s->face_u[face]);
    for (int i = 0; i < 2; i++) {
        size_t other = tapes[i]->face;

        if (other == DM_NONE)
            continue;
        tapes[i]->u = mark;
        if (other != face)
            tapes[i]->u =
                sqrt(mark * mark +
                     fmax(0.0, s->face_cov[face * n + face] +
                                   s->face_cov[other * n + other] -
                                   2.0 * s->face_cov[face * n + other]));
    }
}

/* Nothing is asked of a request but this: is it where strands lie? */
static const char *why_requested(const placer *p, const dm_tap_request *q,
                                 dm_tap *tap)
{
    const dm_strand_side *side = strands_at(p, tap->clock, tap->t);

    tap->advice = side != NULL ? DM_ADVICE_HAND_TOOL : DM_ADVICE_TAP;
    return dm_arena_printf(p->arena, "requested by %s: %s%s%s", q->by,
                           q->reason, side != NULL ? "; " : "",
                           side != NULL ? why_hand_tool(side) : "");
}

static dm_status tap_request(placer *p, const dm_tap_request *q, dm_diag *diag)
{
    size_t face = dm_tendon_find_face(p->tendon, q->face);
    dm_tap *tap = &p->out->items[p->out->count];
    dm_uuid space;
    char *name;
    double od;

    if (face == DM_NONE) {
        dm_error(diag, DM_REFERENCE, q->place, q->id,
                 "tendon %s has no face '%s'", q->tendon, q->face);
        return DM_OK;
    }
    od = dm_tendon_duct(p->model, p->tendon, p->tendon->faces[face].t)->od;
    tap->t = request_station(p, q, face, 0.5 * od);
    if (!(tap->t >= 0.0 && tap->t <= p->tendon->line.length)) {
        dm_error(diag, DM_RANGE, q->place, q->id,
                 "the tap requested lies beyond the tendon's end");
        return DM_OK;
    }
    tap->indication = DM_NONE;
    tap->clock = fmod(fmod(q->clock, 2.0 * PI) + 2.0 * PI, 2.0 * PI);
    tap->aim_from = tap->aim_to = tap->t;
    tap->p_enter = (double)NAN;
    set_out(p, tap);
    request_bounds(p, face, tap);
    for (size_t i = 0; i < p->indications->count; i++) {
        const dm_indication *in = &p->indications->items[i];
        sure s = sure_part(p, in, face);

        if (tap->t >= in->from.t && tap->t <= in->to.t) {
            tap->indication = i;
            tap->p_enter = enter(in, &s, tap->t);
        }
    }
    tap->id = dm_arena_strdup(p->arena, q->id);
    tap->why = why_requested(p, q, tap);
    name = dm_arena_printf(p->arena, "tap/request/%s", q->id);
    if (tap->id == NULL || tap->why == NULL || name == NULL)
        return DM_NOMEM;
    if (dm_uuid_parse(p->model->uid, &space))
        dm_uuid_text(dm_uuid_name(space, name), tap->uid);
    p->out->count++;
    return DM_OK;
}

/* ---- order and merging ---- */

static int by_station(const void *a, const void *b)
{
    const dm_tap *x = a, *y = b;

    if (x->t != y->t)
        return x->t < y->t ? -1 : 1;
    return strcmp(x->id, y->id);
}

/* Requests first, then the more severe grade. */
static size_t severity(const placer *p, const dm_tap *tap)
{
    size_t grade;

    if (strncmp(tap->why, "requested by", 12) == 0)
        return 0;
    grade = p->indications->items[tap->indication].grade;
    return grade == DM_NONE ? DM_NONE : grade + 1;
}

/* Of two taps (not advices to re-scan) too close to each other one stays. */
static dm_status merge(placer *p)
{
    dm_taps *taps = p->out;
    size_t kept = 0;

    for (size_t i = 0; i < taps->count; i++) {
        dm_tap *last = kept > 0 ? &taps->items[kept - 1] : NULL;
        dm_tap *tap = &taps->items[i];

        if (last != NULL && last->advice != DM_ADVICE_RESCAN &&
            tap->advice != DM_ADVICE_RESCAN &&
            tap->t - last->t < p->job->settings.tap_merge) {
            bool later = severity(p, tap) < severity(p, last);
            dm_tap stays = later ? *tap : *last;
            const dm_tap *goes = later ? last : tap;

            stays.why = dm_arena_printf(p->arena, "%s; serves %s too",
                                        stays.why, goes->id);
            if (stays.why == NULL)
                return DM_NOMEM;
            *last = stays;
            continue;
        }
        taps->items[kept++] = *tap;
    }
    taps->count = kept;
    for (size_t i = 0; i < kept; i++)
        taps->items[i].tendon_length_rank = i;
    return DM_OK;
}

static dm_status place_all(placer *p, dm_diag *diag)
{
    const dm_job *job = p->job;
    dm_status status = DM_OK;

    for (size_t i = 0; i < p->indications->count && status == DM_OK; i++) {
        const dm_indication *in = &p->indications->items[i];

        if (in->grade != DM_NONE && p->criteria->grades[in->grade].tap &&
            in->reconciled && !excluded(p, in))
            status = tap_indication(p, i);
    }
    for (size_t i = 0; i < job->request_count && status == DM_OK; i++)
        if (strcmp(job->requests[i].tendon, p->tendon->id) == 0)
            status = tap_request(p, &job->requests[i], diag);
    if (p->out->count > 0)
        qsort(p->out->items, p->out->count, sizeof *p->out->items, by_station);
    return status == DM_OK ? merge(p) : status;
}

dm_status dm_taps_place(const dm_model *model, const dm_survey *survey,
                        const dm_stations *stations,
                        const dm_indications *indications,
                        const dm_criteria *criteria, const dm_job *job,
                        dm_diag *diag, dm_taps **out)
{
    dm_arena *arena = dm_arena_new();
    dm_taps *h = arena != NULL ? DM_NEW(arena, dm_taps) : NULL;
    placer p = {model,
                &model->tendons[stations->tendon],
                survey,
                stations,
                indications,
                criteria,
                job,
                arena,
                h};
    dm_status status = DM_NOMEM;

    *out = NULL;
    if (h != NULL) {
        h->arena = arena;
        h->tendon = stations->tendon;
        h->items = DM_NEW_ARRAY(arena, dm_tap,
                                indications->count + job->request_count);
        if (h->items != NULL)
            status = place_all(&p, diag);
    }
    if (status != DM_OK) {
        dm_arena_free(arena);
        return dm_error(diag, status, p.tendon->place, p.tendon->id, "%s",
                        dm_status_text(status));
    }
    *out = h;
    return DM_OK;
}

void dm_taps_free(dm_taps *taps)
{
    if (taps != NULL)
        dm_arena_free(taps->arena);
}
