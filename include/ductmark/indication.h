/* SPDX-License-Identifier: MIT
 *
 * From readings to indications and coverage, one tendon at a time.
 * After: station. Before: tap.
 *
 * Index: 0 = sound reference of this duct type, 1 = air:
 * (reference - C) / (reference - air), with offset and gain from the run's
 * own air and reference checks. Positive: void-like; negative: soft-like or a
 * strand at the wall.
 */
#ifndef DUCTMARK_INDICATION_H
#define DUCTMARK_INDICATION_H

#include "ductmark/station.h"

typedef enum {
    DM_COVER_TESTED = 0,
    DM_COVER_STRAND_MASKED,
    DM_COVER_NOT_TESTED,
    DM_COVER_NOT_VALID,
    DM_COVER_NOT_RECONCILED,
    DM_COVER_COUNT
} dm_cover;
/** "tested", "strand-masked", "not tested", "not valid", "not reconciled". */
const char *dm_cover_text(dm_cover cover);

/** A length of one state. Together they cover 0..length without gaps. */
typedef struct {
    double from, to; /* tendon stations, m */
    dm_cover cover;
    const char *reason; /* "inside deviator D1", "collar C2", "not walked",
                           "lift-off", ...; "" when tested */
} dm_cover_length;

/** Mean index in cells of equal length along one clock line: what the heat
 *  map shows. NAN: nothing valid was read there. */
typedef struct {
    double clock; /* rad, looking ahead */
    double from;  /* station of the first cell's begin, m */
    double pitch; /* m */
    float *index;
    size_t count;
} dm_profile;

/** One end of an indication. */
typedef struct {
    double t;      /* station, m */
    double u;      /* standard uncertainty against the world, m */
    double u_edge; /* part of it that comes from the readings, m */
    size_t face_back, face_ahead; /* touchable neighbours; DM_NONE */
    double u_back, u_ahead;       /* standard, relative to them; NAN without */
    bool open; /* touches untested length: the true end lies beyond */
} dm_end;

typedef struct {
    char uid[37];    /* its identity for good */
    const char *key; /* short, for people: "T4L-I03" */
    dm_kind kind;
    dm_end from, to;             /* from.t <= to.t */
    bool shorter_than_footprint; /* to - from is an upper bound only */
    double clock;                /* line it was found on (strongest), rad */
    double index;                /* plateau */
    double index_u;              /* standard uncertainty of the plateau */
    bool reconciled;
    bool across_gap; /* spans an untested length in its middle */
    size_t *runs;    /* survey indices of the runs that show it */
    size_t run_count;
    size_t grade; /* index into criteria->grades; DM_NONE: no rule */
    size_t rule;  /* the rule that matched; DM_NONE */
    dm_state state;
    bool in_register; /* matched an entry of the register given */
    const char *first_survey;
} dm_indication;

typedef struct dm_indications {
    size_t tendon;
    dm_indication *items; /* by from.t */
    size_t count;
    dm_cover_length *cover; /* all clock lines together: the best state */
    size_t cover_count;
    double cover_sum[DM_COVER_COUNT]; /* m; their sum is the length */
    dm_profile *profiles;             /* one per clock line read */
    size_t profile_count;
    size_t reading_count; /* rows read */
    size_t failed_runs;   /* runs whose readings had to be left out */
    const char **hashes;  /* "sha256  path" of each readings file read */
    size_t hash_count;
} dm_indications;

/** Reads the tendon's readings (streamed), finds and grades indications.
 *  A run whose readings cannot be used is reported, left out and counted;
 *  the others are delivered.
 *  @param reg  the earlier register, or NULL: identities are kept where
 *              tendon, kind and extent agree within the uncertainties */
dm_status dm_indications_find(const dm_model *model, const dm_survey *survey,
                              const dm_stations *stations,
                              const dm_criteria *criteria,
                              const dm_register *reg,
                              const dm_settings *settings, dm_diag *diag,
                              dm_indications **out);
void dm_indications_free(dm_indications *indications);

/** All that was computed for one tendon; NULLs where a stage was left out. */
typedef struct {
    const dm_stations *stations;
    const dm_indications *indications;
    const struct dm_taps *taps; /* see tap.h */
} dm_result;

/** The register as it stands after this survey: the entries of the earlier
 *  one in their order (found again: extent, kind and last survey renewed;
 *  state, uid and key kept; not found: as they were), then the new ones by
 *  tendon and station.
 *  @param results  one per tendon of the model; those without indications
 *                  add nothing
 *  @param reg      the earlier register, or NULL
 *  @param out      free with dm_register_free; NULL on failure
 *  @return DM_OK or DM_NOMEM */
dm_status dm_register_update(const dm_model *model, const dm_survey *survey,
                             const dm_result *results, const dm_register *reg,
                             dm_diag *diag, dm_register **out);

#endif
