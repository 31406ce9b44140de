/* SPDX-License-Identifier: MIT
 * Bytes as the events of up to three runs on the good bridge's tendon, kept
 * to what the field book's reader lets through: solved and walked. Every
 * station and variance must be finite, no variance negative. */
#include <math.h>

#include "ductmark/budget.h"
#include "fuzz.h"

#define MOST_RUNS 3
#define MOST_EVENTS 40

static double take_u(source *s)
{
    unsigned kind = take(s) % 4;
    if (kind == 0)
        return (double)NAN;
    return kind == 1 ? 0.0 : take_number(s, 0.0, kind == 2 ? 0.02 : 10.0);
}

static void take_instrument(source *s, dm_instrument *in)
{
    unsigned flags = take(s);
    in->scale = flags & 1 ? take_number(s, 0.5, 2.0) : 1.0;
    in->scale_u = flags & 2 ? take_number(s, 0.0, 0.1) : 0.005;
    in->scale_shared = flags & 4;
    in->walk = flags & 8 ? take_number(s, 0.0, 0.1) : 1.25e-3;
    in->quantum = flags & 16 ? take_number(s, 0.0, 0.1) : 1e-3;
    in->nose = flags & 32 ? take_number(s, 0.0, 2.0) : 0.14;
    in->tail = flags & 64 ? take_number(s, 0.0, 2.0) : 0.1;
    in->channels[0].lead = flags & 128 ? take_number(s, -2.0, 2.0) : 0.02;
}

/* Moves on by a sensible step, or anywhere the reader allows. */
static double take_x(source *s, double last)
{
    unsigned kind = take(s) % 8;
    double x = last;
    if (kind < 4)
        x += take_number(s, 0.0, 10.0);
    else if (kind == 4)
        x += take_number(s, -0.5, 0.0);
    else if (kind == 5)
        x += take_number(s, 0.0, 1e-8);
    else if (kind == 6)
        x = take_number(s, fmin(last, 1e5), 1e5);
    return fmin(fmax(x, -1e4), 1e5);
}

static double take_event(source *s, const dm_tendon *t, dm_event_kind kind,
                         double last, dm_event *e)
{
    *e = (dm_event){.kind = kind,
                    .place = {"fuzz", 1},
                    .face = DM_NONE,
                    .channel = DM_NONE,
                    .x = (double)NAN,
                    .x_to = (double)NAN,
                    .rows_from = (double)NAN,
                    .rows_to = (double)NAN,
                    .u = (double)NAN};
    if (kind == DM_EVENT_READINGS) {
        e->href = "none.csv";
        return last;
    }
    e->x = e->x_resume = take_x(s, last);
    if (kind == DM_EVENT_REZERO)
        return e->x_resume = take_x(s, 0.0);
    if (kind == DM_EVENT_LIFT)
        return e->x_to = e->x;
    e->u = take_u(s);
    if (kind == DM_EVENT_SKIP) {
        unsigned flags = take(s);
        e->length_known = flags & 1;
        e->length = flags & 1 ? take_number(s, 0.0, flags & 2 ? 1e3 : 3.0) : 0;
        e->basis = flags & 4 ? DM_SKIP_GAP : DM_SKIP_DISPLACEMENT;
        if (flags & 8)
            e->x_resume = take_x(s, e->x);
        return e->x_resume;
    }
    e->face = take(s) % t->face_count;
    e->with = (dm_with)(take(s) % 4);
    e->distance = take(s) % 4 == 0 ? take_number(s, 0.0, 100.0) : 0.0;
    return e->x;
}

/* One start, before any readings; of skips of unknown length at most one
 * since the last tie. */
static void take_run(source *s, const dm_tendon *t, dm_run *run)
{
    static const dm_event_kind kinds[] = {
        DM_EVENT_READINGS, DM_EVENT_TIE,  DM_EVENT_SKIP,   DM_EVENT_TIE,
        DM_EVENT_READINGS, DM_EVENT_SKIP, DM_EVENT_REZERO, DM_EVENT_LIFT};
    unsigned flags = take(s), unknown = 0;
    size_t count = take(s) % MOST_EVENTS;
    double last = 0.0;
    run->direction = flags & 1 ? DM_SIDE_BACK : DM_SIDE_AHEAD;
    run->leading = flags & 2 ? DM_LEADING_TAIL : DM_LEADING_NOSE;
    run->instrument = flags & 4 ? 1 : 0;
    run->tape = flags & 8 ? "T" : NULL;
    run->tape_u = flags & 8 ? 5e-4 : 0.0;
    run->clock = flags & 16 ? take_number(s, 0.0, 6.28) : 0.0;
    last = take_event(s, t, flags & 32 ? DM_EVENT_TIE : DM_EVENT_START, last,
                      &run->events[run->event_count++]);
    if (flags & 32)
        last = take_event(s, t, DM_EVENT_START, last,
                          &run->events[run->event_count++]);
    for (size_t i = 0; i < count && s->left > 0; i++) {
        dm_event *e = &run->events[run->event_count];
        last = take_event(s, t, kinds[take(s) % 8], last, e);
        if (e->kind == DM_EVENT_TIE)
            unknown = 0;
        if (e->kind == DM_EVENT_SKIP && !e->length_known && unknown++ > 0)
            e->length_known = true;
        run->event_count++;
    }
}

static void check_walk(dm_walker *w, const dm_stretch *s)
{
    enum { N = 24 };
    double x[N], t[N], u[N];
    size_t n = 0;
    for (size_t i = 0; i < s->piece_count && n + 3 <= N; i++) {
        const dm_piece *p = &s->pieces[i];
        double end = isfinite(p->x1) ? p->x1 : p->x0 + 5.0;
        x[n++] = p->x0;
        x[n++] = 0.5 * (p->x0 + end);
        x[n++] = end;
    }
    dm_walker_map(w, x, n, t, u);
    for (size_t i = 0; i < n; i++) {
        dm_station_point q = dm_walker_at(w, x[i]);
        FUZZ_CHECK(isfinite(t[i]) && isfinite(u[i]) && u[i] >= 0.0);
        FUZZ_CHECK(fabs(q.t - t[i]) <= 1e-9 * (1.0 + fabs(t[i])));
        FUZZ_CHECK(isfinite(q.world) && q.world >= 0.0);
        FUZZ_CHECK(q.face_back == DM_NONE ? isnan(q.back) : q.back >= 0.0);
        FUZZ_CHECK(q.face_ahead == DM_NONE ? isnan(q.ahead) : q.ahead >= 0.0);
    }
}

/* Not what they add up to: variances lose digits to absurd priors. */
static void check_budgets(const dm_stations *st, size_t run, size_t stretch,
                          size_t faces)
{
    const dm_stretch *s = &st->runs[run].stretches[stretch];
    for (size_t i = 0; i < s->piece_count; i++)
        for (size_t f = 0; f <= faces; f++) {
            dm_budget b = dm_budget_at(st, run, stretch, s->pieces[i].x0,
                                       f < faces ? f : DM_NONE);
            FUZZ_CHECK(isfinite(dm_budget_sum(&b)));
            for (int k = 0; k < DM_BUDGET_ITEMS; k++)
                FUZZ_CHECK(b.item[k] >= 0.0);
        }
}

static void check_stations(const dm_model *m, const dm_survey *survey,
                           const dm_stations *st)
{
    size_t faces = m->tendons[0].face_count;
    FUZZ_CHECK(st->run_count == survey->run_count);
    FUZZ_CHECK(isfinite(st->chi2) && st->chi2 >= 0.0 && st->dof >= 0);
    for (size_t i = 0; i < faces; i++)
        FUZZ_CHECK(isfinite(st->face_shift[i]) && isfinite(st->face_u[i]));
    for (size_t i = 0; i < st->interval_count; i++)
        FUZZ_CHECK(isfinite(st->intervals[i].z) &&
                   isfinite(st->intervals[i].misclosure));
    for (size_t i = 0; i < st->run_count; i++) {
        const dm_run_stations *r = &st->runs[i];
        for (size_t k = 0; r->usable && k < r->stretch_count; k++) {
            dm_walker *w = NULL;
            FUZZ_CHECK(r->stretches[k].piece_count >= 1);
            FUZZ_CHECK(dm_walker_new(st, m, survey, i, k, 0, &w) == DM_OK);
            check_walk(w, &r->stretches[k]);
            dm_walker_free(w);
            check_budgets(st, i, k, faces);
        }
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static dm_model *model;
    dm_channel channels[2] = {{.id = "C1"}, {.id = "C2"}};
    dm_instrument instruments[2] = {
        {.id = "I1", .channels = &channels[0], .channel_count = 1},
        {.id = "I2", .channels = &channels[1], .channel_count = 1}};
    dm_event events[MOST_RUNS][MOST_EVENTS + 2];
    dm_run runs[MOST_RUNS] = {{.id = "R1", .events = events[0]},
                              {.id = "R2", .events = events[1]},
                              {.id = "R3", .events = events[2]}};
    dm_survey survey = {
        .instruments = instruments, .instrument_count = 2, .runs = runs};
    source s = {data, size};
    dm_settings settings = dm_settings_default();
    settings.budget = true;
    dm_stations *stations = NULL;

    if (!model)
        FUZZ_CHECK(dm_model_read(DM_TEST_DATA "/good_bridge.xml", NULL,
                                 &model) == DM_OK);
    survey.run_count = 1 + take(&s) % MOST_RUNS;
    take_instrument(&s, &instruments[0]);
    take_instrument(&s, &instruments[1]);
    for (size_t i = 0; i < survey.run_count; i++)
        take_run(&s, &model->tendons[0], &runs[i]);
    FUZZ_CHECK(dm_stations_solve(model, &survey, 0, &settings, NULL,
                                 &stations) == DM_OK);
    check_stations(model, &survey, stations);
    dm_stations_free(stations);
    return 0;
}
