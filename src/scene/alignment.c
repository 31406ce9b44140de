/* SPDX-License-Identifier: MIT
 * The bridge's reference line, as long as its tendons and a little more: a
 * polygon whose chords are within 1 mm of the line, in plan (an arc's rise is
 * c^2 k / 8, FM 5-233 chapter 3) and in height. Without a profile it lies at
 * the scene's zero and says so. */
#include <stdlib.h>
#include <string.h>

#include "scene/builder.h"
#include "scene/colour.h"

#define CHORD_ERROR 1e-3 /* m, of each of the two */
#define BEYOND 5.0       /* m past the outermost supports */
#define MOST_POINTS 100000

/* Bridge stations between which it is drawn. */
static void find_range(const dm_model *m, double *from, double *to)
{
    const dm_alignment *line = m->alignment;

    *from = line->end;
    *to = line->begin;
    for (size_t i = 0; i < m->tendon_count; i++)
        for (size_t k = 0; k < m->tendons[i].support_count; k++) {
            double s =
                dm_alignment_nearest(line, m->tendons[i].supports[k].point).s;
            *from = fmin(*from, s - BEYOND);
            *to = fmax(*to, s + BEYOND);
        }
    *from = fmax(*from, line->begin);
    *to = fmin(*to, line->end);
}

/* How far a chord from s may go. */
static double step_at(const dm_alignment *line, double s)
{
    double bend = 1e-6, ahead = s + 1.0;
    dm_alignment_place a = dm_alignment_at(line, s);
    dm_alignment_place b = dm_alignment_at(line, ahead);

    bend = fmax(bend, fmax(fabs(a.curvature), fabs(b.curvature)));
    if (line->vertical_count > 0)
        bend = fmax(bend, fabs(b.grade - a.grade));
    return fmin(1.0, sqrt(8.0 * CHORD_ERROR / bend));
}

static dm_vec3 point_at(const dm_builder *b, double s)
{
    const dm_alignment *line = b->source.model->alignment;
    dm_alignment_place p = dm_alignment_at(line, s);
    double z = line->vertical_count > 0 ? p.height : b->source.origin.z;

    return dm_vec3_sub((dm_vec3){p.x, p.y, z}, b->source.origin);
}

/* Points of the polygon into `out` (NULL: the count only). */
static size_t sample(const dm_builder *b, double from, double to, dm_vec3 *out)
{
    size_t n = 0;

    for (double s = from; n < MOST_POINTS;) {
        if (out != NULL)
            out[n] = point_at(b, s);
        n++;
        if (s >= to)
            break;
        double next = s + step_at(b->source.model->alignment, s);
        s = next > to - 0.1 ? to : next;
    }
    return n;
}

static dm_status make_line(dm_builder *b, const dm_vec3 *p, size_t n,
                           dm_mesh *mesh)
{
    memset(mesh, 0, sizeof *mesh);
    mesh->mode = DM_MESH_LINES;
    mesh->vertex_count = n;
    mesh->index_count = 2 * (n - 1);
    mesh->position = dm_arena_alloc(b->arena, n, 3 * sizeof(float));
    mesh->index = DM_NEW_ARRAY(b->arena, uint32_t, mesh->index_count);
    if (mesh->position == NULL || mesh->index == NULL)
        return DM_NOMEM;
    for (size_t i = 0; i < n; i++) {
        mesh->position[3 * i] = (float)p[i].x;
        mesh->position[3 * i + 1] = (float)p[i].y;
        mesh->position[3 * i + 2] = (float)p[i].z;
    }
    for (size_t i = 0; i + 1 < n; i++) {
        mesh->index[2 * i] = (uint32_t)i;
        mesh->index[2 * i + 1] = (uint32_t)i + 1;
    }
    return DM_OK;
}

dm_status dm_add_alignment(dm_builder *b)
{
    const dm_model *m = b->source.model;
    size_t n, mesh_index;
    double from, to;
    dm_curve curve = {0};
    dm_mesh mesh;

    if (m->alignment == NULL)
        return DM_OK;
    find_range(m, &from, &to);
    if (!(to - from > 0.2))
        return DM_OK; /* no tendon beside it */
    n = sample(b, from, to, NULL);
    curve.point = DM_NEW_ARRAY(b->arena, dm_vec3, n);
    curve.arc = DM_NEW_ARRAY(b->arena, bool, n);
    if (curve.point == NULL || curve.arc == NULL)
        return DM_NOMEM;
    curve.point_count = sample(b, from, to, curve.point);
    curve.piece_count = n - 1;
    dm_status status = make_line(b, curve.point, n, &mesh);
    if (status == DM_OK)
        status = dm_add_mesh(b, &mesh, &mesh_index);
    if (status != DM_OK)
        return status;
    if (!DM_GROW(b->curves, b->curve_count, b->curve_capacity))
        return DM_NOMEM;
    b->curves[b->curve_count] = curve;
    dm_object *o = dm_add_object(
        b, DM_OBJECT_ALIGNMENT, 0,
        dm_arena_printf(b->arena, "alignment %s", m->alignment_id),
        "alignment");
    if (o == NULL)
        return DM_NOMEM;
    o->mesh = mesh_index;
    o->curve = b->curve_count++;
    memcpy(o->colour, dm_colour_paint(DM_PAINT_ALIGNMENT).rgba, 4);
    o->colour_name = dm_paint_text(DM_PAINT_ALIGNMENT);
    dm_alignment_properties(m, from, to, &b->list);
    return dm_property_list_take(&b->list, "DM_Alignment", o);
}
