/* SPDX-License-Identifier: MIT
 * What is said of hypotheses, and what a job says of them. */
#ifndef DM_STATION_REPORT_H
#define DM_STATION_REPORT_H

#include "station/hypothesis.h"

/* Fills `text` of each, in the stations' arena, and their `accepted`.
 * DM_NOMEM. */
dm_status station_words(const station_system *s, dm_hypothesis *all,
                        size_t count, dm_stations *out);
/* A warning for each group without an accepted hypothesis, and the lines that
 * would accept the first and its equals; a note for each accepted one. */
void station_report(const station_system *s, const dm_hypothesis *all,
                    size_t count, dm_diag *diag);
/* An error for each section without a tie. */
void station_report_loose(const station_system *s, dm_diag *diag);
/* Whether an `accept` names that hypothesis. */
bool station_accepts(const station_system *s, const dm_accept *a,
                     const dm_hypothesis *h);

#endif
