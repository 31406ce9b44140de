/* SPDX-License-Identifier: MIT
 * The bridge file: tree to structures. */
#include "model/read.h"

#include <math.h>
#include <string.h>

#include "base/diag.h"
#include "model/schemas.h"

#define MOST_NESTED_PARTS 32

bool too_many(dm_xml *xml, const dm_xml_node *node, size_t count, size_t most,
              const char *what)
{
    if (count <= most)
        return false;
    dm_xml_fault(xml, node, DM_RANGE, "more than %zu %s", most, what);
    return true;
}

size_t fault_count(const reader *r)
{
    return dm_xml_fault_count(r->xml) + r->unsaid;
}

void no_such_type(reader *r, const dm_xml_node *node, const char *what,
                  const char *id)
{
    if (r->types_missing)
        r->unsaid++;
    else
        dm_xml_fault(r->xml, node, DM_REFERENCE, "there is no %s type '%s'",
                     what, id);
}

dm_external_ids read_external_ids(reader *r, const dm_xml_node *node)
{
    dm_external_ids ids = {0};
    size_t count = dm_xml_count(node, "external-id");
    ids.items = DM_NEW_ARRAY(r->arena, dm_external_id, count);
    if (!ids.items) {
        r->out_of_memory = true;
        return ids;
    }
    for (const dm_xml_node *n = dm_xml_child(node, "external-id"); n;
         n = dm_xml_next(n, "external-id")) {
        dm_external_id *id = &ids.items[ids.count++];
        *id = (dm_external_id){dm_xml_text(r->xml, n, "scheme", ""),
                               dm_xml_text(r->xml, n, "value", "")};
        if (strcmp(id->scheme, "ifc-guid") == 0)
            check_guid(r, n, id->value);
    }
    return ids;
}

/* ---- parts
 * ------------------------------------------------------------------- */

static size_t count_parts(const dm_xml_node *node, int depth)
{
    size_t n = 0;
    if (depth > MOST_NESTED_PARTS)
        return 0;
    for (const dm_xml_node *p = dm_xml_child(node, "part"); p;
         p = dm_xml_next(p, "part"))
        n += 1 + count_parts(p, depth + 1);
    return n;
}

dm_access read_access_class(reader *r, const dm_xml_node *node,
                            const char *name, dm_access fallback)
{
    const char *const words[DM_ACCESS_COUNT + 1] = {
        dm_access_text(DM_ACCESS_FLOOR),
        dm_access_text(DM_ACCESS_LADDER),
        dm_access_text(DM_ACCESS_SCAFFOLD),
        dm_access_text(DM_ACCESS_CRAWL),
        dm_access_text(DM_ACCESS_ROPE),
        dm_access_text(DM_ACCESS_NONE),
        NULL};
    return (dm_access)dm_xml_word(r->xml, node, name, words, (int)fallback);
}

static void read_section(reader *r, const dm_xml_node *n, dm_part *part)
{
    dm_clear_section *s = &part->sections[part->section_count++];
    *s = (dm_clear_section){
        .station = dm_xml_length(r->xml, n, "station", -1e7, 1e7, 0.0),
        .left = dm_xml_length(r->xml, n, "left", -1e4, 1e4, -1.0),
        .right = dm_xml_length(r->xml, n, "right", -1e4, 1e4, 1.0),
        .bottom = dm_xml_length(r->xml, n, "bottom", -1e5, 1e5, 0.0),
        .top = dm_xml_length(r->xml, n, "top", -1e5, 1e5, 1.0)};
    if (s->left >= s->right || s->bottom >= s->top)
        dm_xml_fault(r->xml, n, DM_INCONSISTENT,
                     "expected left < right and bottom < top");
    if (part->section_count > 1 && s->station <= s[-1].station)
        dm_xml_fault(r->xml, n, DM_INCONSISTENT,
                     "the sections do not stand in the order of their "
                     "stations");
}

static void read_sections(reader *r, const dm_xml_node *node, dm_part *part)
{
    const dm_xml_node *first = dm_xml_child(node, "section");
    size_t count = dm_xml_count(node, "section");
    if (!first || too_many(r->xml, node, count, MOST_SECTIONS, "sections"))
        return;
    if (!r->model->alignment && !r->alignment_missing)
        dm_xml_fault(r->xml, first, DM_REFERENCE,
                     "sections by station need an alignment");
    if (count == 1)
        dm_xml_fault(r->xml, first, DM_INCONSISTENT,
                     "one section encloses nothing: give two or more");
    part->sections = DM_NEW_ARRAY(r->arena, dm_clear_section, count);
    if (!part->sections) {
        r->out_of_memory = true;
        return;
    }
    for (const dm_xml_node *n = first; n; n = dm_xml_next(n, "section"))
        read_section(r, n, part);
}

static void read_parts(reader *r, const dm_xml_node *node, size_t parent,
                       int depth)
{
    if (depth > MOST_NESTED_PARTS) {
        dm_xml_fault(r->xml, node, DM_RANGE, "parts nested deeper than %d",
                     MOST_NESTED_PARTS);
        return;
    }
    for (const dm_xml_node *n = dm_xml_child(node, "part"); n;
         n = dm_xml_next(n, "part")) {
        size_t me = r->model->part_count++;
        const char *id = dm_xml_text(r->xml, n, "id", "");
        dm_access above = parent == DM_NONE ? DM_ACCESS_FLOOR
                                            : r->model->parts[parent].access;
        r->model->parts[me] =
            (dm_part){.id = id,
                      .kind = dm_xml_text(r->xml, n, "kind", "other"),
                      .name = dm_xml_text(r->xml, n, "name", id),
                      .parent = parent,
                      .access = read_access_class(r, n, "access", above),
                      .external = read_external_ids(r, n),
                      .place = dm_xml_place(r->xml, n)};
        read_sections(r, n, &r->model->parts[me]);
        read_parts(r, n, me, depth + 1);
    }
}

/* ---- the bridge as a whole
 * ------------------------------------------------------ */

static void read_map(reader *r, const dm_xml_node *root)
{
    dm_model *m = r->model;
    const dm_xml_node *crs = dm_xml_child(root, "crs");
    m->epsg = dm_xml_int(r->xml, crs, "epsg", 1024, 999999, 0);
    m->vertical_epsg =
        dm_xml_int(r->xml, crs, "vertical-epsg", 1024, 999999, 0);
    const dm_xml_node *n = dm_xml_child(root, "map-conversion");
    m->map = (dm_map_conversion){
        .given = n != NULL,
        .eastings = dm_xml_length(r->xml, n, "eastings", -1e9, 1e9, 0.0),
        .northings = dm_xml_length(r->xml, n, "northings", -1e9, 1e9, 0.0),
        .height = dm_xml_length(r->xml, n, "height", -1e5, 1e5, 0.0),
        .x_axis_abscissa =
            dm_xml_real(r->xml, n, "x-axis-abscissa", -1e6, 1e6, 1.0),
        .x_axis_ordinate =
            dm_xml_real(r->xml, n, "x-axis-ordinate", -1e6, 1e6, 0.0),
        .scale = dm_xml_real(r->xml, n, "scale", 0.5, 2.0, 1.0),
        .grid_factor = dm_xml_real(r->xml, n, "grid-factor", 0.9, 1.1, 0.0)};
    double length = hypot(m->map.x_axis_abscissa, m->map.x_axis_ordinate);
    if (length < 1e-6) {
        dm_xml_fault(r->xml, n, DM_GEOMETRY,
                     "the direction of the X axis is zero");
        return;
    }
    m->map.x_axis_abscissa /= length;
    m->map.x_axis_ordinate /= length;
    if (n && m->epsg == 0)
        dm_xml_warn(r->xml, n,
                    "a map conversion without a crs: the map it "
                    "leads to is not named");
}

/* Plan position of an anchorage, for the default direction. Without bounds:
 * what is wrong with it is said when its tendon is read. */
static dm_vec3 plan_point(reader *r, const dm_xml_node *n)
{
    return (dm_vec3){dm_xml_length(r->xml, n, "x", -1e99, 1e99, 0.0),
                     dm_xml_length(r->xml, n, "y", -1e99, 1e99, 0.0), 0.0};
}

/* Mean horizontal direction of increasing bridge station: the alignment's
 * middle, stated, or from first to last anchorage, over all tendons. */
static void read_direction(reader *r, const dm_xml_node *root)
{
    const dm_xml_node *n = dm_xml_child(root, "direction");
    dm_vec3 sum = {0.0, 0.0, 0.0};
    if (r->model->alignment) {
        const dm_alignment *line = r->model->alignment;
        r->model->direction =
            dm_alignment_direction(line, 0.5 * (line->begin + line->end), NULL);
        return;
    }
    if (n) {
        double b = dm_xml_angle(r->xml, n, "bearing", -7.0, 7.0, 0.0);
        r->model->direction = (dm_vec3){sin(b), cos(b), 0.0};
        return;
    }
    for (const dm_xml_node *t = dm_xml_child(root, "tendon"); t;
         t = dm_xml_next(t, "tendon")) {
        const dm_xml_node *a = dm_xml_child(t, "anchorage");
        const dm_xml_node *b = dm_xml_next(a, "anchorage");
        if (a && b)
            sum = dm_vec3_add(sum,
                              dm_vec3_sub(plan_point(r, b), plan_point(r, a)));
    }
    dm_vec3 unit = dm_vec3_unit(sum);
    bool found = dm_vec3_norm(unit) > 0.5;
    r->model->direction = found ? unit : (dm_vec3){1.0, 0.0, 0.0};
}

/* `rooms`: the parts are sound, tendons may be held against them. */
static void read_tendons(reader *r, const dm_xml_node *root, bool rooms)
{
    for (const dm_xml_node *n = dm_xml_child(root, "tendon");
         n && !r->out_of_memory; n = dm_xml_next(n, "tendon")) {
        dm_tendon *t = &r->model->tendons[r->model->tendon_count++];
        size_t before = fault_count(r);
        read_tendon(r, n, t);
        if (before == fault_count(r) && !r->out_of_memory)
            check_tendon(r, n, t);
        if (before == fault_count(r) && !r->out_of_memory) {
            if (rooms)
                check_room(r, t);
            check_neighbours(r, n, t);
        }
    }
}

static void read_bridge(reader *r)
{
    dm_model *m = r->model;
    const dm_xml_node *root = dm_xml_root(r->xml);
    m->file = dm_xml_file(r->xml);
    m->sha256 = dm_xml_sha256(r->xml);
    m->uid = dm_xml_text(r->xml, root, "uid", "");
    m->id = dm_xml_text(r->xml, root, "id", "");
    m->name = dm_xml_text(r->xml, root, "name", "");
    m->external = read_external_ids(r, root);
    size_t parts = count_parts(root, 0);
    size_t tendons = dm_xml_count(root, "tendon");
    if (too_many(r->xml, root, parts, MOST_PARTS, "parts") ||
        too_many(r->xml, root, tendons, MOST_TENDONS, "tendons"))
        return;
    m->parts = DM_NEW_ARRAY(r->arena, dm_part, parts);
    m->tendons = DM_NEW_ARRAY(r->arena, dm_tendon, tendons);
    if (!m->parts || !m->tendons) {
        r->out_of_memory = true;
        return;
    }
    read_map(r, root);
    read_alignment(r, root);
    read_types(r, root);
    if (r->out_of_memory)
        return;
    size_t parts_before = fault_count(r);
    read_parts(r, root, DM_NONE, 0);
    bool rooms = fault_count(r) == parts_before;
    read_direction(r, root);
    read_tendons(r, root, rooms);
    if (!r->out_of_memory)
        check_types(r);
}

static dm_status finish(reader *r, dm_status read, dm_model **out)
{
    dm_status status = read;
    if (r->out_of_memory || r->status == DM_NOMEM)
        status = DM_NOMEM;
    if (status == DM_OK)
        status = dm_xml_status(r->xml);
    if (status == DM_OK)
        status = r->status;
    /* A failed read has said so itself. */
    if (status == DM_NOMEM && read == DM_OK)
        dm_error(r->diag, DM_NOMEM, (dm_place){NULL, 0}, NULL, "out of memory");
    dm_xml_free(r->xml);
    if (status != DM_OK) {
        dm_arena_free(r->arena);
        return status;
    }
    *out = r->model;
    return DM_OK;
}

static reader begin(dm_diag *diag)
{
    reader r = {.diag = diag, .arena = dm_arena_new()};
    r.model = r.arena ? DM_NEW(r.arena, dm_model) : NULL;
    if (r.model)
        r.model->arena = r.arena;
    else
        r.out_of_memory = true;
    return r;
}

dm_status dm_model_read(const char *path, dm_diag *diag, dm_model **out)
{
    *out = NULL;
    reader r = begin(diag);
    dm_status status = DM_OK;
    if (r.model)
        status = dm_xml_read(path, "bridge", dm_xsd_bridge, dm_xsd_bridge_size,
                             r.arena, diag, &r.xml);
    if (r.xml)
        read_bridge(&r);
    return finish(&r, status, out);
}

dm_status dm_model_read_text(const char *path, const dm_buf *text,
                             dm_diag *diag, dm_model **out)
{
    *out = NULL;
    reader r = begin(diag);
    dm_status status = DM_OK;
    if (r.model)
        status = dm_xml_read_text(path, text, "bridge", dm_xsd_bridge,
                                  dm_xsd_bridge_size, r.arena, diag, &r.xml);
    if (r.xml)
        read_bridge(&r);
    return finish(&r, status, out);
}

dm_status dm_catalogue_read(const char *path, dm_diag *diag, dm_model **out)
{
    *out = NULL;
    reader r = begin(diag);
    dm_status status = DM_OK;
    if (r.model)
        status = dm_xml_read(path, "catalogue", dm_xsd_catalogue,
                             dm_xsd_catalogue_size, r.arena, diag, &r.xml);
    if (r.xml) {
        r.model->file = dm_xml_file(r.xml);
        r.model->sha256 = dm_xml_sha256(r.xml);
        r.model->uid = r.model->id = r.model->name = r.model->alignment_id = "";
        read_file_types(&r, r.xml, dm_xml_root(r.xml));
    }
    return finish(&r, status, out);
}

void dm_model_free(dm_model *model)
{
    if (model)
        dm_arena_free(model->arena);
}

/* ---- answers
 * --------------------------------------------------------------------- */

size_t dm_model_find_tendon(const dm_model *model, const char *id)
{
    for (size_t i = 0; i < model->tendon_count; i++)
        if (strcmp(model->tendons[i].id, id) == 0)
            return i;
    return DM_NONE;
}

size_t dm_tendon_find_face(const dm_tendon *tendon, const char *id)
{
    for (size_t i = 0; i < tendon->face_count; i++)
        if (strcmp(tendon->faces[i].id, id) == 0)
            return i;
    return DM_NONE;
}

const dm_duct_type *dm_tendon_duct(const dm_model *model,
                                   const dm_tendon *tendon, double t)
{
    size_t i = 0;
    while (i + 1 < tendon->duct_count && t >= tendon->ducts[i].to)
        i++;
    return &model->duct_types[tendon->ducts[i].duct_type];
}

double dm_face_radius(const dm_model *model, const dm_tendon *tendon,
                      const dm_face *face)
{
    return 0.5 * dm_tendon_duct(model, tendon, face->t)->od;
}

double dm_face_station(const dm_tendon *tendon, const dm_face *face, double r,
                       double phi)
{
    double t = face->t;
    if (r > 0.0)
        dm_centreline_cross(&tendon->line, r, phi, face->origin, face->normal,
                            face->t, &t);
    return t;
}

const char *dm_external_find(const dm_external_ids *ids, const char *scheme)
{
    for (size_t i = 0; i < ids->count; i++)
        if (strcmp(ids->items[i].scheme, scheme) == 0)
            return ids->items[i].value;
    return NULL;
}
