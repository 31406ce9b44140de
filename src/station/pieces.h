/* SPDX-License-Identifier: MIT
 * From an adjusted system to pieces. */
#ifndef DM_STATION_PIECES_H
#define DM_STATION_PIECES_H

#include "station/adjust.h"

/* Fills out->runs; memory of out->arena. DM_NOMEM */
dm_status station_pieces(const station_system *s, const adjusted *a,
                         dm_stations *out);

/* The walk's variance per unit of x, m. */
double path_walk(const path *p);
/* Of two knots d of x apart: their variances and covariance, and the walk's
 * variance per unit of x between them. */
dm_quadratic piece_bridge(double va, double cab, double vb, double d,
                          double walk);
/* Of the open end at a knot, ahead of it (side +1) or before it (side -1): its
 * variance, its covariance with the scale, the scale's variance. */
dm_quadratic piece_open_end(double va, double cov_scale, double var_scale,
                            double walk, const path *p, double side);

#endif
