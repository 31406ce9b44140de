/* SPDX-License-Identifier: MIT
 * The operator carries the sensor from face to face; the truth is stepped
 * along, and the encoder shows what its wheel makes of each step:
 *   shown = (moved - random walk) / (1 + scale error) - slip.
 * The book gets what an operator writes: the encoder's whole millimetres, a
 * skip's taped length, the face he believes to stand at. */
#include "site.h"

#include <math.h>
#include <string.h>

#define STEP 0.1
#define WALK 1.25e-3 /* stated, m per root metre */
#define SKIP_U 5e-3  /* stated */
#define TIE_U 3e-3   /* stated */
#define QUANTUM 1e-3 /* of the encoder */
#define EXACT 1e-5   /* of a face that stands as drawn; 0: not stated */
#define TAPE_U 3e-3  /* a ratio */
#define TAIL 8.0     /* beyond the last tie */
#define SKIPS 3      /* taped, in an interval */
#define SLIPS_A_METRE 2.0

void site_begin(site *s, const site_terms *terms)
{
    static const char *const ids[SITE_FACES] = {"A1", "A2", "B1", "B2",
                                                "C1", "C2", "D1", "D2"};
    size_t each = terms->thick > 0.0 ? 2 : 1;
    memset(s, 0, sizeof *s);
    s->terms = *terms;
    s->scale = chance_normal(terms->scale_u);
    s->tape = terms->rich ? chance_normal(TAPE_U) : 0.0;
    s->settings = dm_settings_default();
    s->segment =
        (dm_segment){0.0, SITE_LENGTH, {0, 0, 0}, {1, 0, 0}, 0.0, {0, 0, 0}};
    s->duct = (dm_duct_type){.id = "D", .material = "hdpe", .od = 0.1};
    s->length = (dm_duct_length){.to = SITE_LENGTH};
    for (size_t i = 0; i < each * SITE_STOPS; i++) {
        bool behind = each == 2 && i % 2 == 1;
        double t = SITE_FIRST + SITE_APART * (double)(i / each) +
                   (behind ? terms->thick : 0.0) +
                   (i / each == SITE_STOPS - 1 ? terms->uneven : 0.0);
        dm_side side = behind ? DM_SIDE_AHEAD : DM_SIDE_BACK;
        s->built[i] = chance_normal(terms->face_u);
        s->faces[i] = (dm_face){.id = ids[2 * (i / each) + behind],
                                .side = side,
                                .origin = {t, 0, 0},
                                .normal = {(double)side, 0, 0},
                                .u = fmax(terms->face_u, EXACT),
                                .touchable = true,
                                .t = t};
    }
    s->tendon = (dm_tendon){
        .id = "T",
        .part = DM_NONE,
        .faces = s->faces,
        .face_count = each * SITE_STOPS,
        .ducts = &s->length,
        .duct_count = 1,
        .measured = s->taped,
        .line = {.segments = &s->segment, .count = 1, .length = SITE_LENGTH}};
    s->tendon.line.vertical_limit = 0.17;
    s->model = (dm_model){.id = "B",
                          .duct_types = &s->duct,
                          .duct_type_count = 1,
                          .tendons = &s->tendon,
                          .tendon_count = 1};
    s->channel = (dm_channel){.id = "C", .lead = 0.06};
    s->instrument = (dm_instrument){.id = "I",
                                    .scale = 1.0,
                                    .scale_u = terms->scale_u,
                                    .scale_shared = !terms->rich,
                                    .walk = WALK,
                                    .quantum = QUANTUM,
                                    .nose = 0.15,
                                    .tail = 0.1,
                                    .channels = &s->channel,
                                    .channel_count = 1};
    s->survey = (dm_survey){
        .instruments = &s->instrument, .instrument_count = 1, .runs = s->runs};
}

size_t site_face(const site *s, size_t stop)
{
    return s->terms.thick > 0.0 ? 2 * stop : stop;
}

/* ---- one walk ------------------------------------------------------------ */

/* The operator's state. */
typedef struct {
    site *s;
    size_t run;
    double dir;     /* +1 towards increasing station */
    double lead;    /* of the electrode before the contact, along the station */
    double front;   /* +1: nose in front */
    double contact; /* where it stands, tendon station */
    double shown;   /* by the encoder */
    double scale, drift; /* now, and its change a metre */
    double walk;         /* of this run, m per root metre */
    double slip;         /* mean of one slip, m */
    double tape;         /* scale error of the tape, a ratio */
} walk;

static double whole(double value, double unit)
{
    return unit * floor(value / unit + 0.5);
}

static dm_event *write_event(walk *w, dm_event_kind kind)
{
    dm_run *r = &w->s->runs[w->run];
    dm_event *e = &r->events[r->event_count++];
    double x = whole(w->shown, QUANTUM);
    *e = (dm_event){.kind = kind,
                    .place = {"book.xml", (long)r->event_count},
                    .x = kind == DM_EVENT_READINGS ? (double)NAN : x,
                    .x_resume = x,
                    .face = DM_NONE,
                    .u = (double)NAN,
                    .channel = DM_NONE};
    return e;
}

static void see(walk *w)
{
    site *s = w->s;
    if (s->seen_count < SITE_SIGHTINGS)
        s->seen[s->seen_count++] =
            (sighting){.run = w->run,
                       .event = s->runs[w->run].event_count - 1,
                       .interval = s->stops[w->run] - 1,
                       .x = w->shown,
                       .contact = w->contact,
                       .t = w->contact + w->lead};
}

/* Rolls on, reading. */
static void roll(walk *w, double distance)
{
    int steps = (int)ceil(distance / STEP);
    for (int i = 0; i < steps; i++) {
        double d = distance / steps, slip = 0.0;
        w->contact += w->dir * d;
        if (w->slip > 0.0 && chance_uniform(0.0, 1.0) < SLIPS_A_METRE * d)
            slip = -w->slip * log(1.0 - chance_uniform(0.0, 1.0));
        w->shown +=
            (d - chance_normal(w->walk * sqrt(d))) / (1.0 + w->scale) - slip;
        w->scale += w->drift * d;
        see(w);
    }
}

/* Error of a taped skip of that length. */
static double skip_error(const walk *w, double length)
{
    if (!w->s->terms.unlike)
        return w->tape * length + chance_normal(SKIP_U);
    double a = chance_normal(1.0), b = chance_normal(1.0),
           c = chance_normal(1.0);
    /* Student's t with three degrees of freedom has the variance 3. */
    double t = chance_normal(1.0) / sqrt((a * a + b * b + c * c) / 3.0);
    return w->tape * length + SKIP_U / sqrt(3.0) * t;
}

/* Lifted over; written down `times` times. */
static void skip(walk *w, double length, int times, bool unknown)
{
    const dm_instrument *in = &w->s->instrument;
    double stated = length + skip_error(w, length);
    bool gap = length > 0.4; /* as people write long ones */
    w->contact += w->dir * length;
    if (gap)
        stated -= in->nose + in->tail;
    if (w->s->terms.unlike)
        stated = whole(stated, 5e-3);
    if (times > 1)
        w->s->doubled = stated + (gap ? in->nose + in->tail : 0.0);
    for (int i = 0; i < times; i++) {
        dm_event *e = write_event(w, DM_EVENT_SKIP);
        e->length_known = !unknown;
        e->length = unknown ? 0.0 : stated;
        e->basis = gap ? DM_SKIP_GAP : DM_SKIP_DISPLACEMENT;
    }
    if (times > 0)
        write_event(w, DM_EVENT_READINGS);
}

static void roll_back(walk *w, double distance)
{
    w->contact -= w->dir * distance;
    w->shown -=
        (distance - chance_normal(w->walk * sqrt(distance))) / (1.0 + w->scale);
}

static void set_anew(walk *w)
{
    dm_event *e = write_event(w, DM_EVENT_REZERO);
    w->shown = e->x_resume = whole(chance_uniform(0.0, 5.0), QUANTUM);
    write_event(w, DM_EVENT_READINGS);
}

/* What touches the face, and how far it is in front of the contact. */
static double part_in_front(const walk *w, dm_with with)
{
    const dm_instrument *in = &w->s->instrument;
    switch (with) {
    case DM_WITH_NOSE:
        return w->front * in->nose;
    case DM_WITH_TAIL:
        return -w->front * in->tail;
    case DM_WITH_ELECTRODE:
        return w->front * w->s->channel.lead;
    default:
        return 0.0;
    }
}

/* Goes to a face: where the contact will stand there. */
static double standing(walk *w, size_t face, dm_with with)
{
    const dm_face *f = &w->s->faces[face];
    return f->t + w->s->built[face] + chance_normal(TIE_U) -
           w->dir * part_in_front(w, with);
}

static void write_tie(walk *w, size_t face, dm_with with)
{
    site *s = w->s;
    bool start = s->stops[w->run] == 0;
    dm_event *e = write_event(w, start ? DM_EVENT_START : DM_EVENT_TIE);
    e->face = face;
    e->with = with;
    s->tie_event[w->run][s->stops[w->run]] =
        (size_t)(e - s->runs[w->run].events);
    s->stood[w->run][s->stops[w->run]++] = w->contact;
    write_event(w, DM_EVENT_READINGS);
}

static void sort(double *v, size_t n)
{
    for (size_t i = 1; i < n; i++)
        for (size_t k = i; k > 0 && v[k - 1] > v[k]; k--) {
            double keep = v[k];
            v[k] = v[k - 1];
            v[k - 1] = keep;
        }
}

/* From one tie to the next: skips at random places between. */
static void go_on(walk *w, double to, const site_blunder *b)
{
    double skips[SKIPS + 1], cut[SKIPS + 2], rest = w->dir * (to - w->contact);
    size_t n = SKIPS, odd = SKIPS + 1;
    bool rich = w->s->terms.rich;
    for (size_t i = 0; i < SKIPS; i++)
        skips[i] = chance_uniform(0.2, 0.5);
    if (b->kind == SITE_UNWRITTEN || b->kind == SITE_TWICE) {
        n += b->kind == SITE_UNWRITTEN;
        odd = chance_index(n);
        if (n > SKIPS)
            skips[SKIPS] = skips[odd];
        skips[odd] = b->length;
    }
    for (size_t i = 0; i < n; i++)
        rest -= skips[i];
    for (size_t i = 0; i < n; i++)
        cut[i] = chance_uniform(0.0, rest);
    sort(cut, n);
    cut[n] = rest;
    size_t unknown = rich && chance_index(2) == 0 ? chance_index(n) : n;
    for (size_t i = 0; i < n; i++) {
        int times = i != odd ? 1 : b->kind == SITE_TWICE ? 2 : 0;
        double back = rich && chance_index(3) == 0 ? 0.2 : 0.0;
        roll(w, back + (i > 0 ? cut[i] - cut[i - 1] : cut[0]));
        if (back > 0.0)
            roll_back(w, back);
        skip(w, skips[i], times, i == unknown);
        if (rich && chance_index(3) == 0)
            set_anew(w);
    }
    roll(w, cut[n] - cut[n - 1]);
}

static void set_off(walk *w, site *s, bool ahead)
{
    bool unlike = s->terms.unlike, nose = chance_uniform(0.0, 1.0) < 0.5;
    double q = unlike ? chance_uniform(0.5e-3, 2e-3) : WALK;
    *w = (walk){.s = s,
                .run = s->survey.run_count++,
                .dir = ahead ? 1.0 : -1.0,
                .front = nose ? 1.0 : -1.0,
                .shown = chance_uniform(0.0, 5.0),
                .scale = s->scale,
                .walk = q};
    w->lead = w->dir * part_in_front(w, DM_WITH_ELECTRODE);
    if (unlike) {
        /* Exponential slips of mean m have the variance 2 m^2 each. */
        w->walk = q / sqrt(2.0);
        w->slip = q / sqrt(4.0 * SLIPS_A_METRE);
        w->tape = chance_normal(TAPE_U);
        w->drift = chance_normal(5e-4) / (SITE_APART * (SITE_STOPS - 1));
    }
    if (s->terms.rich) {
        w->scale = chance_normal(s->terms.scale_u);
        w->tape = s->tape;
    }
    static const char *const ids[SITE_RUNS] = {"R0", "R1", "R2", "R3",
                                               "R4", "R5", "R6", "R7"};
    s->runs[w->run] =
        (dm_run){.id = ids[w->run],
                 .direction = ahead ? DM_SIDE_AHEAD : DM_SIDE_BACK,
                 .leading = nose ? DM_LEADING_NOSE : DM_LEADING_TAIL,
                 .tape = s->terms.rich ? "tape" : NULL,
                 .tape_u = s->terms.rich ? TAPE_U : 0.0,
                 .events = s->events[w->run]};
}

static const site_blunder none = {SITE_RIGHT, 0, 0.0, NULL};

static const site_blunder *within(const site_blunder *b, size_t interval)
{
    for (; b; b = b->also)
        if (b->at == interval)
            return b;
    return &none;
}

void site_run(site *s, size_t from, size_t to, bool tail,
              const site_blunder *blunder)
{
    const site_blunder *b = blunder ? blunder : &none;
    bool ahead = to > from;
    size_t ties = 1 + (ahead ? to - from : from - to);
    walk w;
    set_off(&w, s, ahead);
    for (size_t i = 0; i < ties; i++) {
        dm_with with = (dm_with)chance_index(4);
        size_t stop = ahead ? from + i : from - i;
        size_t face = site_face(s, stop);
        bool wrong = b->kind == SITE_WRONG_FACE && b->at == i;
        double at = standing(&w, wrong ? face + 1 : face, with);
        if (i == 0)
            w.contact = at;
        else
            go_on(&w, at, within(b, i - 1));
        if (b->kind == SITE_MIRRORED)
            face = site_face(s, SITE_STOPS - 1 - stop);
        write_tie(&w, face, with);
    }
    if (tail)
        roll(&w, TAIL);
    if (b->kind == SITE_REVERSED || b->kind == SITE_MIRRORED)
        s->runs[w.run].direction = ahead ? DM_SIDE_BACK : DM_SIDE_AHEAD;
}

void site_tape(site *s, size_t from, size_t to)
{
    size_t a = site_face(s, from), b = site_face(s, to);
    double length = s->faces[b].t + s->built[b] - s->faces[a].t - s->built[a];
    s->taped[s->tendon.measured_count++] =
        (dm_measured_length){.face_from = a,
                             .face_to = b,
                             .value = fabs(length) + chance_normal(TIE_U),
                             .u = TIE_U,
                             .place = {"bridge.xml", 1}};
}

/* ---- the library --------------------------------------------------------- */

dm_status site_solve(site *s)
{
    site_end(s);
    return dm_stations_solve(&s->model, &s->survey, 0, &s->settings, &s->diag,
                             &s->stations);
}

bool site_ask(const site *s, const sighting *of, dm_station_point *out)
{
    const dm_run_stations *r = &s->stations->runs[of->run];
    dm_walker *w = NULL;
    for (size_t k = 0; k < r->stretch_count; k++)
        if (r->stretches[k].event == of->event &&
            dm_walker_new(s->stations, &s->model, &s->survey, of->run, k, 0,
                          &w) == DM_OK) {
            *out = dm_walker_at(w, of->x);
            dm_walker_free(w);
            return true;
        }
    return false;
}

void site_end(site *s)
{
    dm_stations_free(s->stations);
    s->stations = NULL;
}
