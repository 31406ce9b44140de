/* SPDX-License-Identifier: MIT
 * Pieces with their error budgets. */
#ifndef DM_STATION_BUDGET_H
#define DM_STATION_BUDGET_H

#include "ductmark/budget.h"
#include "station/adjust.h"

/* Errors of what the budgets of one tendon have in common, as adjusted_errors
 * gives them. */
typedef struct budget_base {
    double **face;  /* [faces] of their shifts */
    double **scale; /* [unknowns] of those that are scales; else NULL */
} budget_base;

/* Sets a->budget where the settings ask for it. DM_NOMEM. */
dm_status budget_prepare(const station_system *s, adjusted *a);

/* Fills piece->budget between two knots, d of x apart, whose errors are given;
 * walk: variance per unit of x. Nothing where the piece has none. */
void budget_between(const station_system *s, const adjusted *a,
                    const double *ea, const double *eb, double d, double walk,
                    dm_piece *piece);
/* Fills it at an open end of a path: ahead of the knot (side +1) or before it
 * (side -1). */
void budget_beyond(const station_system *s, const adjusted *a, const double *e,
                   const path *p, double side, dm_piece *piece);

#endif
