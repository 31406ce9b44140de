/* SPDX-License-Identifier: MIT
 *
 * The job (`job` XML): which inputs, which settings, which outputs; the
 * owner's criteria (`criteria` XML) and the register of indications
 * (`register` XML). A job file alone makes a run reproducible.
 */
#ifndef DUCTMARK_JOB_H
#define DUCTMARK_JOB_H

#include "ductmark/survey.h"

/** Output units: what people read. Files state units beside each number. */
typedef enum { DM_UNITS_METRIC, DM_UNITS_US } dm_units;

/** Every setting; dm_settings_default gives the documented defaults. */
typedef struct {
    double face_u;          /* faces without @u: standard uncertainty, m (15 mm,
                               common practice) */
    double tie_u;           /* ties without @u, m (3 mm, common practice) */
    double skip_u;          /* skips without @u, m (5 mm, common practice) */
    double start_u;         /* starts without @u, m (3 mm) */
    double coverage_factor; /* k of the expanded uncertainty U = k u (2) */
    double gate;            /* normalised misclosure gate (3) */
    double merge_gap;       /* indications closer than this merge, m (0.15) */
    double least_length;    /* shorter indications are left out, m (0.02) */
    double tap_margin;      /* added to U on each side, m (0.025) */
    double fixture_margin; /* taps keep this off fixtures and faces, m (0.05) */
    double stop_allowance; /* added to the least wall, m (0) */
    double mark_u;         /* crew's tape and pen, standard, m (2 mm) */
    double tap_merge;      /* taps closer than this become one, m (0.1) */
    double mesh_sagitta;   /* chord error of arcs in meshes, m (0.1 mm) */
    int mesh_sides;        /* of a tube, multiple of 4 (24) */
    double vertical_limit; /* crown undefined within this of plumb, rad */
    int threads;           /* 0: one per core */
} dm_settings;
dm_settings dm_settings_default(void);

typedef struct {
    const char *label;
    bool tap;           /* indications of this grade get a tap point */
    const char *colour; /* "#rrggbb" or NULL: the tool's palette */
} dm_grade;

/** A rule gives a grade; the first that matches wins. NAN / false / NULL:
 *  not asked. */
typedef struct {
    size_t grade;
    bool has_kind;
    dm_kind kind;
    double length_min, length_max; /* m */
    double index_min;              /* plateau of the index, absolute */
    double area_fraction_min, area_fraction_max;
    double volume_min;    /* m^3 */
    bool open_ended;      /* only open-ended indications */
    const char *position; /* "anchorage", "crest", "deviator" or NULL */
    double within;        /* of that position, m */
    dm_place place;
} dm_rule;

typedef struct dm_criteria {
    struct dm_arena *arena; /* holds all of it */
    const char *file, *sha256, *owner, *date, *id;
    dm_grade *grades; /* most severe first */
    size_t grade_count;
    dm_rule *rules;
    size_t rule_count;
} dm_criteria;

dm_status dm_criteria_read(const char *path, dm_diag *diag, dm_criteria **out);
void dm_criteria_free(dm_criteria *criteria);

typedef enum {
    DM_STATE_INDICATED,
    DM_STATE_CONFIRMED,
    DM_STATE_REFUTED
} dm_state;

/** One indication that keeps its identity from survey to survey. */
typedef struct {
    const char *uid;    /* 36 characters */
    const char *key;    /* short name people use: "T4L-I03" */
    const char *tendon; /* id */
    dm_kind kind;
    double from, to;     /* tendon stations, m */
    double u_from, u_to; /* standard uncertainties, m */
    double clock;        /* rad, looking ahead */
    const char *first_survey, *last_survey;
    dm_state state;
} dm_entry;

typedef struct dm_register {
    struct dm_arena *arena; /* holds all of it */
    const char *file, *sha256;
    const char *bridge; /* uid */
    dm_entry *entries;
    size_t count;
} dm_register;

dm_status dm_register_read(const char *path, const dm_model *model,
                           dm_diag *diag, dm_register **out);
void dm_register_free(dm_register *reg);

typedef struct {
    const char *run;        /* id */
    const char *hypothesis; /* as the program named it */
    const char *by, *reason;
    dm_place place;
} dm_accept;

typedef struct {
    const char *id;
    const char *tendon;
    const char *face; /* id */
    double distance;  /* from the face, m */
    double clock;     /* rad */
    const char *by, *reason;
    dm_place place;
} dm_tap_request;

typedef struct {
    const char *indication; /* key or uid */
    const char *by, *reason;
    dm_place place;
} dm_tap_exclude;

/** A job as read: paths are resolved against the job file's folder. */
typedef struct dm_job {
    struct dm_arena *arena; /* holds all of it */
    const char *file, *sha256;
    const char *uid;
    const char *date; /* YYYY-MM-DD: the only date outputs use */
    dm_units units;
    const char *locale; /* "en" ... for people's number format; or NULL */
    const char *bridge, *criteria;
    const char *reg; /* or NULL */
    const char **fieldbooks;
    size_t fieldbook_count;
    const char **contexts;
    size_t context_count;
    const char **outputs; /* formats asked for; none: all default ones */
    size_t output_count;
    dm_settings settings;
    dm_accept *accepts;
    size_t accept_count;
    dm_tap_request *requests;
    size_t request_count;
    dm_tap_exclude *excludes;
    size_t exclude_count;
} dm_job;

dm_status dm_job_read(const char *path, dm_diag *diag, dm_job **out);
void dm_job_free(dm_job *job);

#endif
