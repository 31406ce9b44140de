/* SPDX-License-Identifier: MIT
 * A list of properties being filled. What is not known (NAN, NULL or "", no
 * face, no place) adds nothing; lengths are metres, angles radians and become
 * degrees. Names and sets outlive the list, texts are copied. */
#ifndef DM_SCENE_PROPERTY_LIST_H
#define DM_SCENE_PROPERTY_LIST_H

#include "base/arena.h"
#include "ductmark/scene.h"

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

void dm_add_words(dm_property_list *list, const char *name, dm_value_kind kind,
                  const char *text);
void dm_add_text(dm_property_list *list, const char *name, const char *text);
/* Of any kind that is a number. */
void dm_add_number(dm_property_list *list, const char *name, dm_value_kind kind,
                   double number);
void dm_add_bool(dm_property_list *list, const char *name, bool value);
void dm_add_int(dm_property_list *list, const char *name, long value);
void dm_add_real(dm_property_list *list, const char *name, double value);
void dm_add_length(dm_property_list *list, const char *name, double value);
/* A length whose name is put together. */
void dm_add_named(dm_property_list *list, const char *prefix, const char *name,
                  double value);
void dm_add_angle(dm_property_list *list, const char *name, double rad);
void dm_add_point(dm_property_list *list, const char *const name[3], dm_vec3 p);
/* As dm_clock_text. */
void dm_add_clock(dm_property_list *list, const char *name, double rad);
/* The face's id. */
void dm_add_face(dm_property_list *list, const char *name,
                 const dm_tendon *tendon, size_t face);

/* What the three values of a place along the alignment are called. */
typedef struct {
    const char *station, *shown, *offset;
} dm_place_names;
extern const dm_place_names dm_bridge_names; /* of a thing at one place */
void dm_add_bridge(dm_property_list *list, const dm_bridge_place *place,
                   const dm_place_names *name);

/* Clock time "3:00" to the nearest minute of an angle in rad; the crown is
 * 12:00; not finite: "". Points into `text`. */
const char *dm_clock_text(double rad, char text[8]);

#endif
