/* SPDX-License-Identifier: MIT
 * The blunders of one tendon. */
#ifndef DM_STATION_SEARCH_H
#define DM_STATION_SEARCH_H

#include "station/closure.h"

typedef struct {
    const dm_accept *accepts;
    size_t accept_count;
    bool *used;                   /* [accept_count] */
    correction *corrections;      /* accepted */
    size_t correction_count;      /* of them */
    dm_hypothesis *hypotheses;    /* of accepted groups, then of the others */
    size_t kept, count, capacity; /* kept: of accepted groups */
    size_t kept_groups;
    dm_arena *arena; /* of the hypotheses */
} search;

/* The accepts and the arena are set; what lives no longer than the search is
 * of `scratch`. DM_NOMEM */
dm_status search_begin(search *w, dm_arena *scratch);
/* Nothing free but what was accepted. DM_NOMEM */
dm_status search_freedom(const search *w, const station_system *s,
                         station_freedom *given);
/* Fills the intervals of `s`, the hypotheses, and what is `given` its freedom;
 * *again: one was accepted, the system is to be built anew with its
 * correction. DM_NOMEM */
dm_status search_blunders(search *w, station_system *s, const closure *booked,
                          station_freedom *given, bool *again);
/* Takes the first accept that names one of `all`, and adds its correction;
 * true: there is one (accept.c). */
bool search_accept(search *w, const station_system *s, dm_hypothesis *all,
                   size_t count);
/* Every accept of a run of this tendon has to have matched: DM_REFERENCE,
 * reported. */
dm_status search_unmatched(const search *w, const station_system *s,
                           dm_diag *diag);

#endif
