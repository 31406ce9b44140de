/* SPDX-License-Identifier: MIT
 * The property sets of the scene's objects. */
#ifndef DM_SCENE_PROPERTIES_H
#define DM_SCENE_PROPERTIES_H

#include "ductmark/total.h"
#include "scene/property_list.h"

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
/* `Tap`, `NoTap`: what became of it. */
void dm_tapped_properties(const dm_taps *taps, size_t indication,
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

#endif
