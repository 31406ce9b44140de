/* SPDX-License-Identifier: MIT
 *
 * Tap points: where a crew opens a duct, measured from faces it can touch.
 * After: indication. Before: scene.
 */
#ifndef DUCTMARK_TAP_H
#define DUCTMARK_TAP_H

#include "ductmark/indication.h"

/** A tape measure along one clock line of the duct from a touchable face. */
typedef struct {
    size_t face;     /* index; DM_NONE: no touchable face on that side */
    double distance; /* along the duct's outside on `line`, from where the
                        face's plane crosses that line, m */
    double u;        /* standard uncertainty relative to that face, m */
} dm_tape;

typedef enum {
    DM_ADVICE_TAP,      /* drill at the mark */
    DM_ADVICE_RESCAN,   /* aim interval empty: re-scan by hand first */
    DM_ADVICE_HAND_TOOL /* hand tool, wall only, engineer present */
} dm_advice;

typedef struct {
    char uid[37];
    const char *id;    /* "T4L-I03-A" or the request's id */
    size_t indication; /* index; DM_NONE: requested by the job */
    dm_advice advice;
    const char *why;         /* one line: why here / why no tap; never NULL */
    double t;                /* tendon station, m */
    double u_world;          /* standard, m */
    double aim_from, aim_to; /* where the hole may lie, m */
    bool has_bridge_station;
    double bridge_station; /* m */
    dm_vec3 axis;          /* on the centreline, m */
    dm_vec3 surface;       /* the mark on the duct's outside, m */
    dm_vec3 outward;       /* unit: against the drilling direction */
    double clock;          /* looking ahead, rad */
    double clock_back;     /* looking back: 12 - clock, rad */
    double line;           /* clock angle of the line taped along (0, 90, 180
                              or 270 deg), rad */
    dm_tape back, ahead;   /* from the two neighbouring touchable faces */
    double faces_apart;    /* between those two faces along `line`, m: the sum
                              check; NAN without both */
    double around;         /* along the outside from `line` to the mark,
                              clockwise positive looking ahead, m */
    double from_crown;     /* the same from the crown, m */
    double depth_stop;     /* least wall + allowance, m */
    double wall_min;       /* m, and whether it was documented */
    bool wall_assumed;     /* no least wall documented: nominal was used */
    double p_enter;        /* that the hole enters the void, if there is one */
    size_t tendon_length_rank; /* order along the tendon, from 0 */
} dm_tap;

typedef struct dm_taps {
    size_t tendon;
    dm_tap *items;
    size_t count;
} dm_taps;

dm_status dm_taps_place(const dm_model *model, const dm_survey *survey,
                        const dm_stations *stations,
                        const dm_indications *indications,
                        const dm_criteria *criteria, const dm_job *job,
                        dm_diag *diag, dm_taps **out);
void dm_taps_free(dm_taps *taps);

#endif
