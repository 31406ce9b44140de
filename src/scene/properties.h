/* SPDX-License-Identifier: MIT
 * The property sets of the scene's objects. */
#ifndef DM_SCENE_PROPERTIES_H
#define DM_SCENE_PROPERTIES_H

#include "base/arena.h"
#include "ductmark/scene.h"
#include "ductmark/total.h"

/* Everything that properties are taken from. */
typedef struct {
    const dm_model *model;
    const dm_survey *survey;     /* may be NULL */
    const dm_criteria *criteria; /* may be NULL */
    const dm_job *job;           /* may be NULL */
    double k;                    /* coverage factor of every U */
    dm_vec3 origin;              /* of the scene */
    const dm_totals *totals;
} dm_source;

/* A list being filled. Texts are copied into the arena. */
typedef struct {
    dm_arena *arena;
    dm_property *items; /* heap */
    size_t count, capacity;
    bool failed;
} dm_property_list;

void dm_property_list_free(dm_property_list *list);
/* The list so far as the object's properties, under that set name; the list
 * is empty afterwards. */
dm_status dm_property_list_take(dm_property_list *list, const char *set,
                                dm_object *object);

/* Each fills the list for one object. */
void dm_bridge_properties(const dm_source *source, dm_property_list *list);
void dm_part_properties(const dm_source *source, size_t part,
                        dm_property_list *list);
void dm_tendon_properties(const dm_source *source, const dm_tendon *tendon,
                          const dm_indications *found, dm_property_list *list);
/* `Accepted`: the blunders that the job accepts. */
void dm_accepted_property(const dm_stations *stations, dm_property_list *list);
void dm_duct_properties(const dm_source *source, const dm_tendon *tendon,
                        double from, double to, const dm_cover_length *cover,
                        dm_property_list *list);
void dm_indication_properties(const dm_source *source, const dm_tendon *tendon,
                              const dm_indications *found,
                              const dm_indication *item,
                              dm_property_list *list);
void dm_support_properties(const dm_source *source, const dm_tendon *tendon,
                           size_t support, dm_property_list *list);
void dm_fixture_properties(const dm_fixture *fixture, dm_property_list *list);
void dm_tap_properties(const dm_source *source, const dm_tendon *tendon,
                       const dm_indications *found, const dm_tap *tap,
                       dm_property_list *list);
void dm_alignment_properties(const dm_model *model, double from, double to,
                             dm_property_list *list);
void dm_opening_properties(const dm_source *source, const dm_tendon *tendon,
                           const dm_as_found *opening, dm_property_list *list);
void dm_line_properties(const dm_tendon *tendon, dm_property_list *list);

/* "tap", "re-scan by hand first", ... */
const char *dm_advice_text(dm_advice advice);
/* Clock time "3:00" to the nearest minute of an angle in rad; the crown is
 * 12:00; not finite: "". Points into `text`. */
const char *dm_clock_text(double rad, char text[8]);

#endif
