/* SPDX-License-Identifier: MIT
 * One straight level tendon of 40 m along X with plumb faces, and runs on it
 * written event by event. Everything lives in the struct: keep it where it
 * is. Invented. */
#ifndef SURVEY_FIXTURE_H
#define SURVEY_FIXTURE_H

#include "ductmark/station.h"

#define SURVEY_FACES 8
#define SURVEY_RUNS 4
#define SURVEY_EVENTS 80

typedef struct {
    dm_model model;
    dm_survey survey;
    dm_settings settings;
    dm_tendon tendon;
    dm_segment segment;
    dm_face faces[SURVEY_FACES];
    dm_duct_type duct;
    dm_duct_length length;
    dm_instrument instruments[2];
    dm_channel channels[2][2];
    dm_run runs[SURVEY_RUNS];
    dm_event events[SURVEY_RUNS][SURVEY_EVENTS];
    dm_measured_length measured[SURVEY_FACES];
    dm_diag diag; /* counts; silent */
    dm_stations *stations;
} survey_fixture;

/* Faces at t[i], odd ones looking back, even ones ahead, each with standard
 * uncertainty u. Two instruments without scale error, walk, quantum or size. */
void survey_fixture_init(survey_fixture *f, const double *t, size_t count,
                         double u);
/* A run ahead, nose leading, on the crown, with instrument 0. */
dm_run *survey_fixture_run(survey_fixture *f);
/* Events of the run added last. */
dm_event *survey_fixture_event(survey_fixture *f, dm_event_kind kind, double x);
dm_event *survey_fixture_start(survey_fixture *f, double x, size_t face,
                               double u);
dm_event *survey_fixture_tie(survey_fixture *f, double x, size_t face,
                             double u);
/* Encoder stands still while the sensor is moved on; NAN: length unknown. */
dm_event *survey_fixture_skip(survey_fixture *f, double x, double length,
                              double u);
void survey_fixture_readings(survey_fixture *f);
dm_measured_length *survey_fixture_tape(survey_fixture *f, size_t from,
                                        size_t to, double value, double u);
/* Into f->stations, freed first if it is there. */
dm_status survey_fixture_solve(survey_fixture *f);
void survey_fixture_end(survey_fixture *f);
/* Channel 0 of one stretch at one run distance. DM_NOMEM fails the caller. */
dm_status survey_fixture_at(const survey_fixture *f, size_t run, size_t stretch,
                            double x, dm_station_point *out);

#endif
