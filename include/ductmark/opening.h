/* SPDX-License-Identifier: MIT
 *
 * One place that was opened, on its tendon station: what a register keeps of
 * it for the surveys to come. The field book's own element: dm_opened. What it
 * says of the indications: as_found.h.
 */
#ifndef DUCTMARK_OPENING_H
#define DUCTMARK_OPENING_H

#include "ductmark/survey.h"

DM_BEGIN_C

/** An opening.
 *  XML: `opened` in a register. */
typedef struct {
    /** Of its field book, and the name of that book's survey: the two together
     *  are unique in a register. */
    const char *id, *survey;
    /** Id. */
    const char *tendon;
    /** Tendon station, m, and its standard uncertainty against the world. */
    double t, u;
    /** Looking ahead, rad. */
    double clock;
    /** What was found. */
    dm_finding found;
    /** Of the void, m; NAN: not stated. */
    double depth;
    /** Water came out; a strand was touched. */
    bool water, strand;
    /** Of the void. A register of old may have the volume and nothing else. */
    dm_pressures pressures;
    /** Id of the tap opened, or NULL. */
    const char *tap;
    /** As written in the field book, or NULL. */
    const char *photo, *note;
    /** YYYY-MM-DD. */
    const char *date;
} dm_opening;

DM_END_C

#endif
