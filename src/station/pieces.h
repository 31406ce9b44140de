/* SPDX-License-Identifier: MIT
 * From an adjusted system to pieces. */
#ifndef DM_STATION_PIECES_H
#define DM_STATION_PIECES_H

#include "station/adjust.h"

/* Fills out->runs; memory of out->arena. DM_NOMEM */
dm_status station_pieces(const station_system *s, const adjusted *a,
                         dm_stations *out);

#endif
