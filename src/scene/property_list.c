/* SPDX-License-Identifier: MIT
 * Named and typed values, one by one. */
#include "scene/property_list.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define DEG(rad) ((rad) * (180.0 / 3.14159265358979323846))

void dm_property_list_free(dm_property_list *list)
{
    free(list->items);
    list->items = NULL;
    list->count = list->capacity = 0;
}

dm_status dm_property_list_take(dm_property_list *list, const char *set,
                                dm_object *object)
{
    dm_property *copy = DM_NEW_ARRAY(list->arena, dm_property, list->count);

    if (list->failed || copy == NULL)
        return DM_NOMEM;
    if (list->count > 0)
        memcpy(copy, list->items, list->count * sizeof *copy);
    object->set = set;
    object->properties = copy;
    object->property_count = list->count;
    list->count = 0;
    return DM_OK;
}

static void add(dm_property_list *list, dm_property p)
{
    if (list->failed || !DM_GROW(list->items, list->count, list->capacity))
        list->failed = true;
    else
        list->items[list->count++] = p;
}

void dm_add_words(dm_property_list *list, const char *name, dm_value_kind kind,
                  const char *text)
{
    dm_property p = {name, kind, NULL, 0.0};

    if (text == NULL || text[0] == '\0')
        return;
    p.text = dm_arena_strdup(list->arena, text);
    if (p.text == NULL)
        list->failed = true;
    add(list, p);
}

void dm_add_text(dm_property_list *list, const char *name, const char *text)
{
    dm_add_words(list, name, DM_VALUE_TEXT, text);
}

void dm_add_number(dm_property_list *list, const char *name, dm_value_kind kind,
                   double number)
{
    dm_property p = {name, kind, NULL, number};

    if (isfinite(number))
        add(list, p);
}

void dm_add_bool(dm_property_list *list, const char *name, bool value)
{
    dm_add_number(list, name, DM_VALUE_BOOL, value ? 1.0 : 0.0);
}

void dm_add_int(dm_property_list *list, const char *name, long value)
{
    dm_add_number(list, name, DM_VALUE_INT, (double)value);
}

void dm_add_real(dm_property_list *list, const char *name, double value)
{
    dm_add_number(list, name, DM_VALUE_REAL, value);
}

void dm_add_length(dm_property_list *list, const char *name, double value)
{
    dm_add_number(list, name, DM_VALUE_LENGTH, value);
}

void dm_add_named(dm_property_list *list, const char *prefix, const char *name,
                  double value)
{
    const char *whole =
        prefix[0] == '\0' ? name
                          : dm_arena_printf(list->arena, "%s%s", prefix, name);

    if (whole == NULL)
        list->failed = true;
    else
        dm_add_length(list, whole, value);
}

void dm_add_angle(dm_property_list *list, const char *name, double rad)
{
    dm_add_number(list, name, DM_VALUE_ANGLE, DEG(rad));
}

void dm_add_point(dm_property_list *list, const char *const name[3], dm_vec3 p)
{
    dm_add_length(list, name[0], p.x);
    dm_add_length(list, name[1], p.y);
    dm_add_length(list, name[2], p.z);
}

const char *dm_clock_text(double rad, char text[8])
{
    double turns = rad / 6.283185307179586;
    int minutes, hour;

    memcpy(text, "12:00", 6);
    if (!isfinite(rad)) {
        text[0] = '\0';
        return text;
    }
    minutes = (int)floor((turns - floor(turns)) * 720.0 + 0.5) % 720;
    hour = minutes / 60 == 0 ? 12 : minutes / 60;
    text[0] = (char)('0' + hour / 10);
    text[1] = (char)('0' + hour % 10);
    text[3] = (char)('0' + minutes % 60 / 10);
    text[4] = (char)('0' + minutes % 10);
    return hour < 10 ? text + 1 : text;
}

void dm_add_clock(dm_property_list *list, const char *name, double rad)
{
    char text[8];

    dm_add_text(list, name, dm_clock_text(rad, text));
}

void dm_add_face(dm_property_list *list, const char *name,
                 const dm_tendon *tendon, size_t face)
{
    if (face < tendon->face_count)
        dm_add_text(list, name, tendon->faces[face].id);
}

const dm_place_names dm_bridge_names = {"BridgeStation", "BridgeStationShown",
                                        "BridgeOffset"};

void dm_add_bridge(dm_property_list *list, const dm_bridge_place *place,
                   const dm_place_names *name)
{
    if (!place->known)
        return;
    dm_add_length(list, name->station, place->station);
    dm_add_length(list, name->shown, place->shown);
    dm_add_length(list, name->offset, place->offset);
}
