/* SPDX-License-Identifier: MIT
 * What the library makes of runs, for tests/oracle/stations.py. Standard
 * input, repeated, numbers only: the counts of faces, tapes and runs; gate;
 * t and u per face; per instrument (two) scale, its u, shared, walk, quantum,
 * nose, tail, lead; per taped length from, to, value, u; per run instrument,
 * direction, leading, tape (-1: none), its u, and the count of events; per
 * event kind, x, x_resume, face, distance, with, u, length known, length,
 * basis; after a readings event the count of places and their x.
 * Standard output: per case chi2, dof; face shifts; per interval z; then per
 * place station, its variance, and its variances against each face. With
 * --all, for tests/oracle/blunders.py, after the z: the faces' covariance; per
 * run scale and its u; per interval misclosure, blunder, least blunder and
 * whether it closes; per blunder found the first hypothesis: kind, evidence,
 * misfit, length and its u. With --budget, for tests/oracle/budgets.py, the
 * first hypothesis is accepted where it is a skip not written down; after the z
 * its run, interval, length and, of every second case, the run distances that
 * it lies between (-1 0 0 0 0: none), and after each place the budgets against
 * the world and each face. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "ductmark/budget.h"
#include "numbers.h"
#include "survey_fixture.h"

#define PLACES 64

static int whole(void)
{
    return (int)number();
}

typedef struct {
    double x[PLACES];
    size_t count;
} places;

enum { BRIEF, ALL, BUDGET };

static places wanted[SURVEY_RUNS][SURVEY_EVENTS]; /* by readings event */
static survey_fixture fixture;

static void read_instrument(dm_instrument *in)
{
    in->scale = number();
    in->scale_u = number();
    in->scale_shared = number() != 0.0;
    in->walk = number();
    in->quantum = number();
    in->nose = number();
    in->tail = number();
    in->channels[0].lead = number();
}

static void read_event(survey_fixture *f, size_t run, size_t at)
{
    dm_event *e = survey_fixture_event(f, (dm_event_kind)whole(), 0.0);
    e->x = number();
    e->x_resume = number();
    e->face = (size_t)whole();
    e->distance = number();
    e->with = (dm_with)whole();
    e->u = number();
    e->length_known = number() != 0.0;
    e->length = number();
    e->basis = (dm_skip_basis)whole();
    if (e->kind != DM_EVENT_READINGS)
        return;
    places *p = &wanted[run][at];
    p->count = (size_t)whole();
    if (p->count > PLACES)
        exit(2);
    for (size_t i = 0; i < p->count; i++)
        p->x[i] = number();
}

static void read_run(survey_fixture *f, size_t run)
{
    static const char *const tapes[] = {"A", "B"};
    dm_run *r = survey_fixture_run(f);
    r->instrument = (size_t)whole();
    r->direction = whole() > 0 ? DM_SIDE_AHEAD : DM_SIDE_BACK;
    r->leading = whole() > 0 ? DM_LEADING_NOSE : DM_LEADING_TAIL;
    int tape = whole();
    r->tape = tape < 0 ? NULL : tapes[tape & 1];
    r->tape_u = number();
    size_t events = (size_t)whole();
    if (events > SURVEY_EVENTS)
        exit(2);
    for (size_t i = 0; i < events; i++)
        read_event(f, run, i);
}

static const dm_piece *piece_of(const dm_stretch *s, double x)
{
    size_t i = 0;
    while (i + 1 < s->piece_count && x >= s->pieces[i].x1)
        i++;
    return &s->pieces[i];
}

static void dump_budgets(const survey_fixture *f, size_t run, size_t stretch,
                         double x)
{
    for (size_t i = 0; i <= f->tendon.face_count; i++) {
        dm_budget b = dm_budget_at(f->stations, run, stretch, x,
                                   i == 0 ? DM_NONE : i - 1);
        for (int k = 0; k < DM_BUDGET_ITEMS; k++)
            printf("%.17g ", b.item[k]);
    }
    printf("\n");
}

/* The interval as a job counts it: 1, 2, ... of its run. */
static void accept_first(survey_fixture *f, bool placed)
{
    const dm_hypothesis *h = f->stations->hypotheses;
    if (f->stations->hypothesis_count == 0 ||
        h->kind != DM_BLUNDER_SKIP_MISSING) {
        printf("-1 0 0 0 0\n");
        return;
    }
    int interval = 0;
    for (size_t i = 0; i <= h->interval; i++)
        interval += f->stations->intervals[i].run == h->run;
    dm_accept a = {.run = f->runs[h->run].id,
                   .hypothesis = h->kind,
                   .interval = interval,
                   .length = h->length,
                   .by = "oracle",
                   .reason = "asked for"};
    if (placed) {
        const dm_event *tie = f->runs[h->run].events +
                              f->stations->intervals[h->interval].event_to;
        const dm_event *skip = tie;
        while (skip->kind != DM_EVENT_SKIP)
            skip--;
        a.x_from = 0.7 * skip->x_resume + 0.3 * tie->x;
        a.x_to = 0.2 * skip->x_resume + 0.8 * tie->x;
    }
    printf("%zu %d %.17g %.17g %.17g\n", h->run, interval, h->length, a.x_from,
           a.x_to);
    survey_fixture_end(f);
    if (dm_stations_solve_accepted(&f->model, &f->survey, 0, &f->settings, &a,
                                   1, &f->diag, &f->stations) != DM_OK)
        exit(2);
}

static void dump_place(const survey_fixture *f, size_t run, size_t stretch,
                       double x)
{
    const dm_stretch *s = &f->stations->runs[run].stretches[stretch];
    const dm_piece *p = piece_of(s, x);
    double dx = x - p->x0;
    dm_station_point at;
    if (survey_fixture_at(f, run, stretch, x, &at) != DM_OK)
        exit(2);
    printf("%.17g %.17g", at.t, at.world);
    for (size_t i = 0; i < f->tendon.face_count; i++) {
        const double *c = p->face[i].c;
        printf(" %.17g", c[0] + dx * (c[1] + dx * c[2]));
    }
    printf("\n");
}

static void dump_all(const survey_fixture *f)
{
    const dm_stations *st = f->stations;
    size_t n = f->tendon.face_count;
    for (size_t i = 0; i < n * n; i++)
        printf("%.17g ", st->face_cov[i]);
    printf("\n");
    for (size_t i = 0; i < st->run_count; i++)
        printf("%.17g %.17g ", st->runs[i].scale, st->runs[i].scale_u);
    printf("\n");
    for (size_t i = 0; i < st->interval_count; i++)
        printf("%.17g %.17g %.17g %d ", st->intervals[i].misclosure,
               st->intervals[i].blunder, st->intervals[i].least_blunder,
               st->intervals[i].reconciled);
    printf("\n");
    for (size_t i = 0; i < st->hypothesis_count; i++) {
        const dm_hypothesis *h = &st->hypotheses[i];
        if (i == 0 || h->group != h[-1].group)
            printf("%d %.17g %.17g %.17g %.17g ", (int)h->kind, h->evidence,
                   h->misfit, h->length, h->length_u);
    }
    printf("\n");
}

static void dump(survey_fixture *f, int how, bool placed)
{
    const dm_stations *st = f->stations;
    printf("%.17g %d\n", st->chi2, st->dof);
    for (size_t i = 0; i < f->tendon.face_count; i++)
        printf("%.17g ", st->face_shift[i]);
    printf("\n");
    for (size_t i = 0; i < st->interval_count; i++)
        printf("%.17g ", st->intervals[i].z);
    printf("\n");
    if (how == ALL)
        dump_all(f);
    if (how == BUDGET)
        accept_first(f, placed);
    st = f->stations;
    for (size_t r = 0; r < st->run_count; r++)
        for (size_t k = 0; k < st->runs[r].stretch_count; k++) {
            const places *p = &wanted[r][st->runs[r].stretches[k].event];
            for (size_t i = 0; i < p->count; i++) {
                dump_place(f, r, k, p->x[i]);
                if (how == BUDGET)
                    dump_budgets(f, r, k, p->x[i]);
            }
        }
}

int main(int argc, char **argv)
{
    int how = argc < 2                           ? BRIEF
              : strcmp(argv[1], "--budget") == 0 ? BUDGET
                                                 : ALL;
    int faces, tapes, runs, cases = 0;
    survey_fixture *f = &fixture;
    while (scanf("%d %d %d", &faces, &tapes, &runs) == 3) {
        double t[SURVEY_FACES];
        if (faces > SURVEY_FACES || tapes > SURVEY_FACES || runs > SURVEY_RUNS)
            return 2;
        double gate = number();
        for (int i = 0; i < faces; i++)
            t[i] = number();
        survey_fixture_init(f, t, (size_t)faces, 0.0);
        f->settings.gate = gate;
        f->settings.budget = how == BUDGET;
        for (int i = 0; i < faces; i++)
            f->faces[i].u = number();
        for (int i = 0; i < 2; i++)
            read_instrument(&f->instruments[i]);
        for (int i = 0; i < tapes; i++) {
            int from = whole(), to = whole();
            double value = number();
            survey_fixture_tape(f, (size_t)from, (size_t)to, value, number());
        }
        for (int i = 0; i < runs; i++)
            read_run(f, (size_t)i);
        if (survey_fixture_solve(f) != DM_OK)
            return 2;
        dump(f, how, cases++ % 2 != 0);
        survey_fixture_end(f);
    }
    return 0;
}
