/* SPDX-License-Identifier: MIT
 * What the parts of the tap stage share for one tendon. */
#ifndef DM_TAP_WORK_H
#define DM_TAP_WORK_H

#include <math.h>

#include "base/arena.h"
#include "ductmark/section.h"
#include "ductmark/tap.h"
#include "tap/aim.h"
#include "tap/angle.h"

/* A tap too close to one that stays. */
typedef struct {
    const char *id, *by; /* its own; of the one that stays */
    size_t indication;   /* DM_NONE: none */
    size_t slot;         /* of the one that stays, while they are merged */
} dm_tap_gone;

typedef struct {
    const dm_model *model;
    const dm_tendon *tendon;
    const dm_survey *survey;
    const dm_stations *stations;
    const dm_indications *indications;
    const dm_criteria *criteria;
    const dm_job *job;
    const dm_context *context; /* may be NULL */
    dm_diag *diag;
    dm_arena *arena; /* the result's */
    dm_taps *out;
    dm_tap_gone *gone;
    size_t gone_count;
} dm_placer;

/* ---- face.c: touchable faces and what is known relative to them ---- */

/* The face's station with what the distances told of it, m. */
double dm_tap_face_t(const dm_placer *p, size_t face);
/* The nearest touchable face at that side of t (-1 back, +1 ahead) that a tape
 * reaches without passing through concrete, and of both sides; DM_NONE. */
size_t dm_tap_face_beside(const dm_placer *p, double t, int side);
size_t dm_tap_nearer_face(const dm_placer *p, double t);
/* Standard uncertainty of an end relative to a face; the world's where the
 * face is not one of its neighbours. Then without the edge: variance of the
 * station alone. */
double dm_tap_end_u(const dm_end *end, size_t face);
double dm_tap_station_var(const dm_end *end, size_t face);

/* ---- set_out.c: all that follows from station and clock angle ---- */
void dm_tap_set_out(const dm_placer *p, dm_tap *tap);

/* ---- strands.c ---- */

/* A strand side at a station and where it is known from. */
typedef struct {
    dm_strands_at at;
    dm_strand_side_basis basis;
} dm_tap_side;

/* Whether a turn tells where strands lie at t. */
bool dm_tap_turn_near(const dm_placer *p, double t);
/* Strand sides that may hold at t, whose standard uncertainty is u; those
 * stated or derived reach beyond their ends by the coverage factor times u, the
 * job's tap margin and half the bit. free(*sides). False: no memory. */
bool dm_tap_sides(const dm_placer *p, double t, double u, dm_tap_side **sides,
                  size_t *count);
/* Fills what a tap says of strands at its mark, and its chance of contact. */
void dm_tap_strands(const dm_placer *p, const dm_tap_side *sides, size_t count,
                    dm_tap *tap);
/* Whether the stop is set beyond the least wall, and nothing tells how likely
 * the bit then touches a strand. */
static inline bool dm_tap_contact_unknown(const dm_tap *tap)
{
    return tap->depth_stop > tap->wall_min + 1e-9 && isnan(tap->p_contact);
}
/* What the crew adds round the duct at station t. */
dm_crew_angle dm_tap_crew(const dm_placer *p, double t);
/* Whether every strand side leaves the room that a drill needs at the tap. */
bool dm_tap_room(const dm_placer *p, const dm_tap_side *sides, size_t count,
                 const dm_tap *tap);

/* Extents round the duct that are looked at, at most. */
#define DM_TAP_ARCS 8

/* ---- extent.c: what is surely inside an indication ---- */

/* Along the axis, with the uncertainty of its ends relative to a face and the
 * crew's tape. */
typedef struct {
    double from, u_from, to, u_to;
} dm_sure;

dm_sure dm_tap_sure(const dm_placer *p, const dm_indication *i, size_t face);
double dm_tap_axis_chance(const dm_indication *i, const dm_sure *s, double t);
/* Mean index of a clock line over an indication, off its ends; NAN: not read.
 */
double dm_tap_line_index(const dm_placer *p, const dm_indication *i,
                         double clock);
/* Extents of the void round the duct near t, the widest first: one for each arc
 * of the nearest turn inside the indication; without a turn one for each clock
 * line that read it. At least one; at most `most`. @return how many */
size_t dm_tap_arcs(const dm_placer *p, const dm_indication *i, double t,
                   dm_void_arc *arcs, size_t most, bool *turned);

/* ---- ducts.c: the ducts of the other tendons, as capsules ---- */

typedef struct {
    dm_vec3 a, b;
    double r;
    size_t tendon;
} dm_capsule;

/* Those within `reach` of a point, of all tendons but `own`; free(*list).
 * False: no memory. */
bool dm_tap_ducts(const dm_model *model, size_t own, dm_vec3 centre,
                  double reach, dm_capsule **list, size_t *count);

/* ---- clearance.c ---- */

/* Fills tap->clearance; the arcs are the extents in which another clock angle
 * may lie (0: none is looked for). False: no memory. */
bool dm_tap_clearance(const dm_placer *p, const dm_void_arc *arcs, size_t count,
                      const dm_tap_side *sides, size_t side_count, dm_tap *tap);

/* ---- barred.c: where no hole may be ---- */

/* Whether a fixture reaches a clock angle, give or take a slack, rad. */
bool dm_tap_clock_within(const dm_fixture *x, double clock, double slack);
/* Whether every fixture keeps the job's margin, along or round the duct, from
 * a clock angle at t. */
bool dm_tap_fixtures_leave(const dm_placer *p, double t, double clock);
/* Lengths in which no hole may be at the middle of any extent (those of the
 * indication about t); free(). NULL: no memory. */
dm_span *dm_tap_barred(const dm_placer *p, const dm_void_arc *arcs,
                       size_t arc_count, double t, size_t *count);
bool dm_span_holds(const dm_span *spans, size_t count, double t);

/* ---- place.c ---- */

/* Fills extent and chances of a tap in indication i from its clock angle and
 * station. */
void dm_tap_chances(const dm_placer *p, const dm_indication *i,
                    const dm_sure *s, const dm_void_arc *arc, dm_tap *tap);
/* False: no memory. */
bool dm_tap_name(const dm_placer *p, const char *id, const char *name,
                 dm_tap *tap);

/* ---- tapped.c: which indications get a tap, and what became of each ---- */

/* The pair that the job asks for; NULL: none. */
const dm_tap_pair *dm_tap_pair_of(const dm_placer *p, const dm_indication *i);
/* Makes out->tapped: why each one is to have no tap, "" where it is. False: no
 * memory. */
bool dm_tap_refuse(dm_placer *p);
/* Fills in which tap each one has, when all are merged. False: no memory. */
bool dm_tap_assign(dm_placer *p);

/* ---- around.c: what stands round a place that was asked for ---- */

/* The anchorage or deviator between whose faces, at its clock angle, the tap
 * would lie; NULL: none. */
const dm_support *dm_tap_concrete_at(const dm_placer *p, const dm_tap *tap,
                                     double r);
/* What lies over the duct at the tap, or that it is no plastic duct; NULL: it
 * is bare. */
const char *dm_tap_covered_by(const dm_placer *p, const dm_tap *tap);
/* Which of the job's margins is not kept, as "...; "; "": all are. NULL: no
 * memory. */
const char *dm_tap_too_near(const dm_placer *p, const dm_tap *tap);

/* ---- request.c ---- */
dm_status dm_tap_requested(dm_placer *p, const dm_tap_request *request);

/* ---- merge.c ---- */
/* Sorts by station; of two holes too close to each other one stays. */
dm_status dm_taps_merge(dm_placer *p);

/* ---- words.c: one line each, in the arena; NULL: no memory ---- */
extern const char dm_tap_why_contact_unknown[];
const char *dm_tap_why_hand_tool(const dm_placer *p, const dm_tap *tap);
const char *dm_tap_why_rescan(const dm_placer *p, const dm_indication *i,
                              size_t face, double taken, bool blocked);
const char *dm_tap_why_unsure(const dm_placer *p, size_t face,
                              const dm_tap *tap);
const char *dm_tap_why_here(const dm_placer *p, const dm_indication *i,
                            const dm_tap *tap, bool level, bool moved);
/* Without a fraction. */
const char *dm_tap_millimetres(const dm_placer *p, double metres);
/* Two places, rounded down. */
const char *dm_tap_chance(const dm_placer *p, double value);

/* ---- warning.c ---- */
/* What to be warned of where its advice is done; "" for nothing. In the arena;
 * NULL: no memory. */
const char *dm_tap_warning(const dm_placer *p, const dm_tap *tap);

/* ---- opened.c ---- */
/* Sets what is known of its opening. */
void dm_tap_opened(const dm_placer *p, dm_tap *tap);

#endif
