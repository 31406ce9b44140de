/* SPDX-License-Identifier: MIT
 *
 * One place told in other words: tendon station, bridge station, X Y Z,
 * (station, offset, height), map coordinates, tape measure from a face, run
 * distance. After: station. Nothing later needs it; commands and programs do.
 *
 * All of it hangs on the tendon station t: every way in ends in a tendon and
 * t, every way out begins there. World X Y Z and (station, offset, height) are
 * points in space and need not lie on a tendon: the nearest point of an axis
 * is taken, with its distance. In from (station, offset, height):
 * dm_alignment_point; from the map: dm_map_inverse.
 *
 * Lengths in metres, angles in radians, world axes of the model. Faces stand
 * where they are drawn, or, with a tendon's dm_stations, where the distances
 * say (dm_stations.face_shift), as for tap points. Pure functions of const
 * input; only what is named _new allocates.
 *
 * Accuracy: there and back to 1e-9 m, or four units in the last place of the
 * coordinates where that is more; across a bridge station only as well as the
 * tendon runs along the bridge (the error grows by 1 / cos of the angle
 * between them).
 *
 *     double t[4];
 *     size_t n = dm_locate_bridge_station(model, tendon, 120.0, t, 4);
 *     if (n == 1) {
 *         dm_located at = dm_locate_place(model, tendon, t[0], 0.0, NULL);
 *         // at.axis, at.back.face, at.back.measure ...
 *     }
 */
#ifndef DUCTMARK_LOCATE_H
#define DUCTMARK_LOCATE_H

#include "ductmark/station.h"

DM_BEGIN_C

/** A tape laid on the duct's outside from a face. */
typedef struct {
    /** Index into the tendon's faces; DM_NONE: there is none on that side. */
    size_t face;
    /** Along the clock line, away from the concrete of that face, m; negative
     *  on the other side of the face, where the tape would go into the
     *  concrete. NAN without a face. */
    double measure;
} dm_locate_tape;

/** A place on a tendon in all words. */
typedef struct {
    /** Index into the model's tendons. */
    size_t tendon;
    /** Tendon station, m. */
    double t;
    /** 0 <= t <= length; else the ends are prolonged. */
    bool inside;
    /** The point of the axis, world, m. */
    dm_vec3 axis;
    /** Unit, ahead. */
    dm_vec3 tangent;
    /** The clock angle as given, looking ahead, rad; NAN: none was given. */
    double clock;
    /** The point of the duct's outside at that clock angle, world, m; NAN
     *  without one, or where the section has no crown. */
    dm_vec3 outside;
    /** Of the axis, if the model has an alignment; its height is axis.z. */
    dm_bridge_place bridge;
    /** The axis in map coordinates: easting, northing, height, m. */
    dm_vec3 map;
    /** From the nearest touchable face at or before t, and after it, along the
     *  clock line given, or along the crown where none is. */
    dm_locate_tape back, ahead;
} dm_located;

/** Tells a place in all words.
 *  @param tendon    index
 *  @param t         m, any
 *  @param clock     rad, any; NAN: none
 *  @param stations  of that tendon, for where its faces stand; NULL: as drawn
 */
dm_located dm_locate_place(const dm_model *model, size_t tendon, double t,
                           double clock, const dm_stations *stations);

/** A point in space seen from a tendon. */
typedef struct {
    /** Index; DM_NONE: there is no such tendon. */
    size_t tendon;
    /** Of the nearest point of the axis, m, 0 to length. */
    double t;
    /** From the axis, m, >= 0. */
    double distance;
    /** From the duct's outside there, m; negative inside the duct. */
    double clear;
    /** Clock angle towards the point, rad; 0 for one on the axis. */
    double clock;
} dm_locate_near;

/** The nearest point on a tendon, or on any.
 *  @param tendon  index; DM_NONE: the nearest of all, by the distance from the
 *                 axis, of equals the first
 *  @param p       world, m
 *  @param second  the nearest of the other tendons; with a tendon given, or
 *                 where there is no other, DM_NONE. May be NULL */
dm_locate_near dm_locate_nearest(const dm_model *model, size_t tendon,
                                 dm_vec3 p, dm_locate_near *second);

/** Where a tendon has a bridge station: where its axis crosses the plumb plane
 *  square to the alignment there, in so far as the alignment's foot of the
 *  crossing is that station (a curved alignment's plane has another side).
 *  Closed forms on straight lengths and arcs.
 *  @param s     bridge station, m; an end is met from up to 1e-6 m beyond it
 *  @param t     the crossings, by increasing t, m; may be NULL
 *  @param most  the room in t
 *  @return how many there are, also beyond `most`; 0: none, or no alignment. A
 *          length that lies in the plane does not cross it */
size_t dm_locate_bridge_station(const dm_model *model, size_t tendon, double s,
                                double *t, size_t most);

/** Where a tape measure from a face ends; the inverse of dm_located.back and
 *  .ahead.
 *  @param face      index into the tendon's faces
 *  @param measure   m, away from the concrete; may be negative
 *  @param clock     the line it is laid along, rad
 *  @param stations  as for dm_locate_place
 *  @return tendon station, m; may lie beyond the ends */
double dm_locate_tape_end(const dm_model *model, size_t tendon, size_t face,
                          double measure, double clock,
                          const dm_stations *stations);

/** Why a run distance has no place. */
typedef enum {
    DM_LOCATE_OK = 0,
    /** Nothing places the run, or this part of it. */
    DM_LOCATE_UNUSABLE,
    /** No readings of the run have that segment. */
    DM_LOCATE_NO_SEGMENT,
    /** Several parts of the run may have that distance: name the segment. */
    DM_LOCATE_WHICH_SEGMENT,
    /** The instrument has several channels: name one. */
    DM_LOCATE_WHICH_CHANNEL,
    /** No memory. */
    DM_LOCATE_NOMEM
} dm_locate_fault;

/** Where a run's sensor read at a place. */
typedef struct {
    /** Index into the survey's runs. */
    size_t run;
    /** Index into its events: the readings. */
    size_t event;
    /** Run distance, m. */
    double x;
} dm_locate_reading;

/** Run distances of a survey, both ways. It remembers where it was last: one
 *  for each thread. */
typedef struct dm_locate_runs dm_locate_runs;

/** @param stations  [tendon_count] as solved; a NULL: that tendon's runs are
 *                   unusable. The array and what it points to, model and
 *                   survey outlive *out
 *  @param out       free with dm_locate_runs_free; NULL on failure
 *  @return DM_OK, DM_NOMEM */
dm_status dm_locate_runs_new(const dm_model *model, const dm_survey *survey,
                             const dm_stations *const *stations,
                             dm_locate_runs **out);
/** Accepts NULL. */
void dm_locate_runs_free(dm_locate_runs *runs);

/** The place of a run distance.
 *  @param run      index into the survey's runs
 *  @param segment  as in the readings; NULL or "": not named, which does where
 *                  only one part of the run can have that distance
 *  @param channel  index into the instrument's channels, whose lead counts;
 *                  DM_NONE: the only one
 *  @param x        run distance, m
 *  @param out      with both bounds (dm_walker_at); set on DM_LOCATE_OK */
dm_locate_fault dm_locate_run_distance(dm_locate_runs *runs, size_t run,
                                       const char *segment, size_t channel,
                                       double x, dm_station_point *out);

/** The run distances at which a place was read: none in a skip, several where
 *  runs overlap or a tendon has many. Readings files are not opened: behind
 *  its last tie a run counts as going on to the tendon's end, before its start
 *  it read nothing.
 *  @param tendon   index
 *  @param run      index into the survey's runs; DM_NONE: all of the tendon
 *  @param channel  as above; DM_NONE: the first of each instrument
 *  @param t        tendon station, m
 *  @param out      in the order of the runs and of their events; may be NULL
 *  @param most     the room in out
 *  @return how many there are, also beyond `most` */
size_t dm_locate_readings(const dm_locate_runs *runs, size_t tendon, size_t run,
                          size_t channel, double t, dm_locate_reading *out,
                          size_t most);

DM_END_C

#endif
