/* SPDX-License-Identifier: MIT
 * Models and surveys filled in by hand, as the readers would leave them. */
#include "survey_fixture.h"

#include <math.h>
#include <string.h>

#define LENGTH 40.0

void survey_fixture_init(survey_fixture *f, const double *t, size_t count,
                         double u)
{
    static const dm_vec3 x = {1, 0, 0};

    memset(f, 0, sizeof *f);
    f->settings = dm_settings_default();
    f->segment = (dm_segment){0.0, LENGTH, {0, 0, 0}, x, 0.0, {0, 0, 0}};
    f->duct = (dm_duct_type){.id = "D", .material = "hdpe", .od = 0.1};
    f->length = (dm_duct_length){.to = LENGTH};
    for (size_t i = 0; i < count; i++) {
        static const char *const ids[SURVEY_FACES] = {"F0", "F1", "F2", "F3",
                                                      "F4", "F5", "F6", "F7"};
        dm_side side = i % 2 ? DM_SIDE_BACK : DM_SIDE_AHEAD;
        f->faces[i] = (dm_face){.id = ids[i],
                                .side = side,
                                .origin = {t[i], 0, 0},
                                .normal = {(double)side, 0, 0},
                                .u = u,
                                .touchable = true,
                                .t = t[i]};
    }
    f->tendon = (dm_tendon){
        .id = "T",
        .part = DM_NONE,
        .faces = f->faces,
        .face_count = count,
        .ducts = &f->length,
        .duct_count = 1,
        .measured = f->measured,
        .line = {.segments = &f->segment, .count = 1, .length = LENGTH}};
    f->tendon.line.vertical_limit = 0.17;
    f->model = (dm_model){.id = "B",
                          .duct_types = &f->duct,
                          .duct_type_count = 1,
                          .tendons = &f->tendon,
                          .tendon_count = 1};
    for (size_t i = 0; i < 2; i++)
        f->instruments[i] = (dm_instrument){.id = i ? "I1" : "I0",
                                            .scale = 1.0,
                                            .channels = f->channels[i],
                                            .channel_count = 2};
    f->survey = (dm_survey){
        .instruments = f->instruments, .instrument_count = 2, .runs = f->runs};
}

dm_run *survey_fixture_run(survey_fixture *f)
{
    static const char *const ids[SURVEY_RUNS] = {"R0", "R1", "R2", "R3"};
    size_t at = f->survey.run_count++;
    dm_run *r = &f->runs[at];

    *r = (dm_run){.id = ids[at],
                  .direction = DM_SIDE_AHEAD,
                  .leading = DM_LEADING_NOSE,
                  .events = f->events[at]};
    return r;
}

dm_event *survey_fixture_event(survey_fixture *f, dm_event_kind kind, double x)
{
    dm_run *r = &f->runs[f->survey.run_count - 1];
    dm_event *e = &r->events[r->event_count++];

    *e = (dm_event){.kind = kind,
                    .place = {"book.xml", (long)r->event_count},
                    .x = x,
                    .x_resume = x,
                    .face = DM_NONE,
                    .with = DM_WITH_ENCODER,
                    .u = (double)NAN,
                    .channel = DM_NONE};
    return e;
}

dm_event *survey_fixture_start(survey_fixture *f, double x, size_t face,
                               double u)
{
    dm_event *e = survey_fixture_event(f, DM_EVENT_START, x);

    e->face = face;
    e->u = u;
    return e;
}

dm_event *survey_fixture_tie(survey_fixture *f, double x, size_t face, double u)
{
    dm_event *e = survey_fixture_event(f, DM_EVENT_TIE, x);

    e->face = face;
    e->u = u;
    return e;
}

dm_event *survey_fixture_skip(survey_fixture *f, double x, double length,
                              double u)
{
    dm_event *e = survey_fixture_event(f, DM_EVENT_SKIP, x);

    e->length_known = !isnan(length);
    e->length = e->length_known ? length : 0.0;
    e->u = u;
    return e;
}

void survey_fixture_readings(survey_fixture *f)
{
    survey_fixture_event(f, DM_EVENT_READINGS, (double)NAN);
}

dm_measured_length *survey_fixture_tape(survey_fixture *f, size_t from,
                                        size_t to, double value, double u)
{
    dm_measured_length *m = &f->measured[f->tendon.measured_count++];

    *m = (dm_measured_length){
        .face_from = from, .face_to = to, .value = value, .u = u};
    m->place = (dm_place){"bridge.xml", 1};
    return m;
}

dm_status survey_fixture_solve(survey_fixture *f)
{
    survey_fixture_end(f);
    return dm_stations_solve(&f->model, &f->survey, 0, &f->settings, &f->diag,
                             &f->stations);
}

void survey_fixture_end(survey_fixture *f)
{
    dm_stations_free(f->stations);
    f->stations = NULL;
}

dm_status survey_fixture_at(const survey_fixture *f, size_t run, size_t stretch,
                            double x, dm_station_point *out)
{
    dm_walker *w = NULL;
    dm_status status =
        dm_walker_new(f->stations, &f->model, &f->survey, run, stretch, 0, &w);

    if (status == DM_OK)
        *out = dm_walker_at(w, x);
    dm_walker_free(w);
    return status;
}
