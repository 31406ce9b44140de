/* SPDX-License-Identifier: MIT
 * From an adjusted system to pieces. */
#ifndef DM_STATION_PIECES_H
#define DM_STATION_PIECES_H

#include "station/system.h"

/* The adjusted unknowns and their covariance. */
typedef struct {
    double *value; /* [n] */
    double *cov;   /* [n][n] */
} adjusted;

/* Fills out->runs from the system; memory of `arena`. */
dm_status station_pieces(const station_system *s, const adjusted *a,
                         dm_arena *arena, dm_stations *out);

#endif
