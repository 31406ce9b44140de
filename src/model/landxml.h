/* SPDX-License-Identifier: MIT
 * Alignments from LandXML 1.0, 1.1 and 1.2 files (namespaces
 * http://www.landxml.org/schema/LandXML-1.x). Read: Units; an Alignment's
 * staStart, Line, Curve, Spiral (clothoid), StaEquation; ProfAlign with PVI,
 * ParaCurve, UnsymParaCurve. All else in the file is passed over; what cannot
 * be read within the alignment is refused by name and line.
 *
 * Geometry is taken from coordinates (northing, easting), lengths, radii and
 * hands; directions and angles are only compared, because their conventions
 * differ between programs. The elements follow each other without kink from
 * the first one's Start in the first one's direction (Line: its two points,
 * Curve: square to Start and Center, Spiral: Start to PI); what the points'
 * last places leave open is used to keep stated lengths and to lie nearest to
 * all points. Where stated points lie off that by more than 1 mm, or tangents
 * meet at more than 0.01 deg, it is warned; beyond 0.1 m or 1 deg the file is
 * refused. */
#ifndef DM_MODEL_LANDXML_H
#define DM_MODEL_LANDXML_H

#include "base/arena.h"
#include "base/buf.h"
#include "ductmark/alignment.h"
#include "ductmark/model.h"

/* All of it lives in the arena of the call. */
typedef struct {
    const char *name;   /* of the Alignment */
    const char *sha256; /* of the file, 64 hex digits */
    dm_place place;     /* of the Alignment */
    /* Stations begin at staStart and are internal ones. */
    dm_alignment line;
    dm_pvi *points; /* what line.vertical is made of; count 0: no profile */
    size_t point_count;
} dm_landxml;

/* Reads one alignment of a file.
 * name: of the Alignment; NULL: the only one, and where there are several they
 *       are listed in the message.
 * map:  the file is in map coordinates, to be turned back into the model's by
 *       dm_map_inverse: lengths and distances from staStart are divided by
 *       the map's scale in plan. NULL, or not `given`: the file is in model
 * coordinates. Failure: *out is NULL and the status that of the first fault;
 * DM_REFERENCE: no such alignment, or several. */
dm_status dm_landxml_read(const char *path, const char *name,
                          const dm_map_conversion *map, dm_arena *arena,
                          dm_diag *diag, dm_landxml **out);
/* The same for a text in memory; `path` names it in messages. */
dm_status dm_landxml_read_text(const char *path, const dm_buf *text,
                               const char *name, const dm_map_conversion *map,
                               dm_arena *arena, dm_diag *diag,
                               dm_landxml **out);

#endif
