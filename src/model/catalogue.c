/* SPDX-License-Identifier: MIT
 * Duct, strand and deviator types: of the bridge file and of catalogues. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/diag.h"
#include "base/file.h"
#include "model/read.h"
#include "model/schemas.h"

#define MOST_CATALOGUES 64

/* A type's id must be new among its kind, over all files. */
#define IS_NEW(items, count, id) is_new((items), (count), sizeof *(items), (id))

/* `id` is the first member of each type. */
static bool is_new(const void *items, size_t count, size_t size, const char *id)
{
    const char *at = items;
    for (size_t i = 0; i < count; i++, at += size) {
        const char *other;
        memcpy(&other, at, sizeof other);
        if (strcmp(other, id) == 0)
            return false;
    }
    return true;
}

static void read_duct_type(reader *r, dm_xml *x, const dm_xml_node *n)
{
    dm_model *m = r->model;
    dm_duct_type t = {.id = dm_xml_text(x, n, "id", ""),
                      .material = dm_xml_text(x, n, "material", "other"),
                      .od = dm_xml_length(x, n, "od", 0.01, 1.0, 0.1),
                      .place = dm_xml_place(x, n)};
    t.wall = dm_xml_length(x, n, "wall", 1e-4, 0.1, 0.001);
    t.wall_min = dm_xml_length(x, n, "wall-min", 1e-4, 0.1, 0.0);
    t.wall_max = dm_xml_length(x, n, "wall-max", 1e-4, 0.1, 0.0);
    if (!IS_NEW(m->duct_types, m->duct_type_count, t.id))
        dm_xml_fault(x, n, DM_REFERENCE, "'%s' is there twice", t.id);
    if (t.wall >= 0.5 * t.od)
        dm_xml_fault(x, n, DM_GEOMETRY,
                     "the wall is at least half the outside diameter");
    if ((t.wall_min > 0.0 && t.wall_min > t.wall) ||
        (t.wall_max > 0.0 && t.wall_max < t.wall))
        dm_xml_fault(x, n, DM_INCONSISTENT,
                     "expected wall-min <= wall <= wall-max");
    m->duct_types[m->duct_type_count++] = t;
}

static void read_strand_type(reader *r, dm_xml *x, const dm_xml_node *n)
{
    dm_model *m = r->model;
    dm_strand_type t = {.id = dm_xml_text(x, n, "id", ""),
                        .diameter =
                            dm_xml_length(x, n, "diameter", 1e-3, 0.1, 0.015),
                        .area = dm_xml_area(x, n, "area", 1e-7, 1e-2, 1e-4),
                        .place = dm_xml_place(x, n)};
    if (!IS_NEW(m->strand_types, m->strand_type_count, t.id))
        dm_xml_fault(x, n, DM_REFERENCE, "'%s' is there twice", t.id);
    m->strand_types[m->strand_type_count++] = t;
}

static void read_deviator_type(reader *r, dm_xml *x, const dm_xml_node *n)
{
    static const char *const kinds[] = {"pipe", "flared", "saddle", NULL};
    dm_model *m = r->model;
    dm_deviator_type t = {
        .id = dm_xml_text(x, n, "id", ""),
        .kind = (dm_deviator_kind)dm_xml_word(x, n, "kind", kinds, 0),
        .radius = dm_xml_length(x, n, "radius", 0.1, 100.0, 3.0),
        .radius_min = dm_xml_length(x, n, "radius-min", 0.0, 100.0, 0.0),
        .angle_max = dm_xml_angle(x, n, "angle-max", 0.0, 2.5, 0.0),
        .place = dm_xml_place(x, n)};
    if (!IS_NEW(m->deviator_types, m->deviator_type_count, t.id))
        dm_xml_fault(x, n, DM_REFERENCE, "'%s' is there twice", t.id);
    if (t.radius < t.radius_min)
        dm_xml_fault(x, n, DM_INCONSISTENT, "radius is below radius-min");
    m->deviator_types[m->deviator_type_count++] = t;
}

static void *room(reader *r, const void *old, size_t count, size_t more,
                  size_t size)
{
    void *grown = dm_arena_alloc(r->arena, count + more, size);
    if (!grown)
        r->out_of_memory = true;
    else if (count > 0)
        memcpy(grown, old, count * size);
    return grown;
}

#define ROOM(r, items, count, more)                                            \
    ((items) = room((r), (items), (count), (more), sizeof *(items)))

void read_file_types(reader *r, dm_xml *x, const dm_xml_node *root)
{
    dm_model *m = r->model;
    size_t ducts = dm_xml_count(root, "duct-type");
    size_t strands = dm_xml_count(root, "strand-type");
    size_t deviators = dm_xml_count(root, "deviator-type");
    if (too_many(x, root, m->duct_type_count + ducts, MOST_TYPES,
                 "duct types") ||
        too_many(x, root, m->strand_type_count + strands, MOST_TYPES,
                 "strand types") ||
        too_many(x, root, m->deviator_type_count + deviators, MOST_TYPES,
                 "deviator types")) {
        r->types_missing = true;
        return;
    }
    ROOM(r, m->duct_types, m->duct_type_count, ducts);
    ROOM(r, m->strand_types, m->strand_type_count, strands);
    ROOM(r, m->deviator_types, m->deviator_type_count, deviators);
    if (r->out_of_memory)
        return;
    for (const dm_xml_node *n = dm_xml_child(root, "duct-type"); n;
         n = dm_xml_next(n, "duct-type"))
        read_duct_type(r, x, n);
    for (const dm_xml_node *n = dm_xml_child(root, "strand-type"); n;
         n = dm_xml_next(n, "strand-type"))
        read_strand_type(r, x, n);
    for (const dm_xml_node *n = dm_xml_child(root, "deviator-type"); n;
         n = dm_xml_next(n, "deviator-type"))
        read_deviator_type(r, x, n);
}

static void read_catalogue(reader *r, const dm_xml_node *n)
{
    dm_xml *x = NULL;
    const char *path = dm_path_resolve(r->arena, dm_xml_file(r->xml),
                                       dm_xml_text(r->xml, n, "href", ""));
    if (!path) {
        r->out_of_memory = true;
        return;
    }
    /* Read here, so that the line that names it is blamed if it is absent. */
    dm_buf text = {0};
    dm_status status = dm_file_read(path, DM_XML_LIMIT, dm_xml_place(r->xml, n),
                                    r->diag, &text);
    if (status == DM_OK)
        status = dm_xml_read_text(path, &text, "catalogue", dm_xsd_catalogue,
                                  dm_xsd_catalogue_size, r->arena, r->diag, &x);
    dm_buf_free(&text);
    if (status == DM_OK) {
        read_file_types(r, x, dm_xml_root(x));
        status = dm_xml_status(x);
    }
    dm_xml_free(x);
    if (status != DM_OK)
        r->types_missing = true;
    if (r->status == DM_OK)
        r->status = status;
}

void read_types(reader *r, const dm_xml_node *root)
{
    size_t n = 0;
    for (const dm_xml_node *c = dm_xml_child(root, "catalogue"); c;
         c = dm_xml_next(c, "catalogue")) {
        if (n++ == MOST_CATALOGUES) {
            dm_xml_fault(r->xml, c, DM_RANGE, "more than %d catalogues",
                         MOST_CATALOGUES);
            return;
        }
        read_catalogue(r, c);
        if (r->out_of_memory)
            return;
    }
    read_file_types(r, r->xml, root);
}
