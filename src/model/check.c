/* SPDX-License-Identifier: MIT
 * What a good checker of drawings would say of a tendon. Errors: geometry
 * that cannot be. Warnings: what is against a rule of practice. */
#include <math.h>
#include <string.h>

#include "base/diag.h"
#include "base/num.h"
#include "ductmark/section.h"
#include "model/tendon.h"

#define PI 3.14159265358979323846
/* Common practice, no source: an anchorage stands a little behind the end of a
 * bridge's line, and a girder is not this wide. */
#define BEYOND 2.0 /* m */
#define ASIDE 50.0 /* m */

static void check_order(reader *r, const dm_xml_node *node, const dm_tendon *t)
{
    const dm_support *a = &t->supports[0];
    const dm_support *b = &t->supports[t->support_count - 1];
    double ahead =
        dm_vec3_dot(dm_vec3_sub(b->point, a->point), r->model->direction);
    if (r->model->alignment) {
        dm_alignment_foot from = support_foot(r->model->alignment, a);
        dm_alignment_foot to = support_foot(r->model->alignment, b);
        /* Of what has no one station something else is said. */
        ahead = from.certain && to.certain ? to.s - from.s : 0.0;
    }
    /* A plumb tendon has no order to be wrong about. */
    if (ahead < -1e-9)
        dm_xml_fault(r->xml, node, DM_INCONSISTENT,
                     "its anchorages stand in the order of decreasing bridge "
                     "station, expected increasing");
}

/* Where the points stand along the alignment: a wrong unit or swapped
 * coordinates show there first. Said once a tendon. */
static void check_stations(reader *r, const dm_xml_node *const *nodes,
                           const dm_tendon *t)
{
    const dm_alignment *line = r->model->alignment;
    double beyond = BEYOND, aside = ASIDE;
    size_t far = 0, wide = 0;
    for (size_t i = 0; line && i < t->support_count; i++) {
        const dm_support *s = &t->supports[i];
        dm_alignment_foot foot = support_foot(line, s);
        double over = fmax(line->begin - foot.s, foot.s - line->end);
        if (!foot.certain) {
            dm_xml_fault(r->xml, nodes[i], DM_GEOMETRY,
                         "%s stands at a centre of the alignment's curve, or "
                         "where the alignment passes twice: it has no one "
                         "station",
                         s->id);
            return;
        }
        if (over > beyond) {
            beyond = over;
            far = i;
        }
        if (fabs(foot.offset) > aside) {
            aside = fabs(foot.offset);
            wide = i;
        }
    }
    char text[DM_NUM_SIZE];
    if (beyond > BEYOND && dm_num_fixed(text, beyond, 2))
        dm_warn(r->diag, t->supports[far].place, "point",
                "%s stands %s m beyond the end of the alignment, which is "
                "prolonged",
                t->supports[far].id, text);
    if (aside > ASIDE && dm_num_fixed(text, aside, 1))
        dm_warn(r->diag, t->supports[wide].place, "point",
                "%s stands %s m beside the alignment", t->supports[wide].id,
                text);
}

static void check_deflections(reader *r, const dm_tendon *t,
                              const dm_xml_node *node)
{
    const dm_xml_node *n = dm_xml_child(node, "deviator");
    for (size_t i = 1; i + 1 < t->support_count;
         i++, n = dm_xml_next(n, "deviator")) {
        const dm_support *s = &t->supports[i];
        const dm_deviator_type *type =
            &r->model->deviator_types[s->deviator_type];
        if (type->angle_max <= 0.0 || s->deflection <= type->angle_max + 1e-9)
            continue;
        char is[DM_NUM_SIZE], most[DM_NUM_SIZE];
        dm_num_fixed(is, s->deflection * 180.0 / PI, 2);
        dm_num_fixed(most, type->angle_max * 180.0 / PI, 2);
        dm_xml_fault(r->xml, n, DM_GEOMETRY,
                     "the tendon turns by %s deg at %s, the most of type %s "
                     "is %s deg",
                     is, s->id, type->id, most);
    }
}

/* Duct area to strand area at least 2.0: FP-96 section 553(a). */
static void check_area(reader *r, const dm_xml_node *node, const dm_tendon *t)
{
    if (t->strands == 0 || t->strand_type == DM_NONE)
        return;
    const dm_strand_type *strand = &r->model->strand_types[t->strand_type];
    for (size_t i = 0; i < t->duct_count; i++) {
        const dm_duct_type *d = &r->model->duct_types[t->ducts[i].duct_type];
        if (!(dm_duct_bore(d) > 0.0)) /* said at the type */
            continue;
        double ratio = dm_section_of(d, strand, t->strands, 0.0).area_ratio;
        char text[DM_NUM_SIZE];
        dm_num_fixed(text, ratio, 2);
        if (ratio < 1.0)
            dm_xml_fault(r->xml, node, DM_GEOMETRY,
                         "%d strands do not fit into duct type %s (area ratio "
                         "%s)",
                         t->strands, d->id, text);
        else if (ratio < 2.0)
            dm_xml_warn(r->xml, node,
                        "duct type %s has %s times the area of the strands, "
                        "practice is 2.0 or more (FP-96 section 553(a))",
                        d->id, text);
    }
}

/* Along the tendon faces come support by support, back before ahead. */
static void check_face_order(reader *r, const dm_tendon *t)
{
    for (size_t i = 0; i + 1 < t->face_count; i++) {
        const dm_face *a = &t->faces[i], *b = &t->faces[i + 1];
        if (a->support > b->support ||
            (a->support == b->support && a->side > b->side))
            dm_xml_fault_at(r->xml, a->place, "face", DM_GEOMETRY,
                            "face %s of %s lies ahead of face %s of %s", b->id,
                            t->supports[b->support].id, a->id,
                            t->supports[a->support].id);
    }
}

static const char *word(const dm_support *s)
{
    return s->kind == DM_SUPPORT_DEVIATOR ? "deviator" : "anchorage";
}

static void check_faces(reader *r, const dm_tendon *t)
{
    for (size_t i = 0; i < t->face_count; i++) {
        const dm_face *f = &t->faces[i];
        const dm_support *s = &t->supports[f->support];
        if (s->arc == DM_NONE)
            continue;
        const dm_segment *arc = &t->line.segments[s->arc];
        if (f->t > arc->t0 + 1e-9 && f->t < arc->t0 + arc->length - 1e-9)
            dm_warn(r->diag, f->place, "face",
                    "%s lies inside the arc of %s: the duct bends outside "
                    "the concrete",
                    f->id, s->id);
    }
    for (size_t i = 0; i + 1 < t->support_count; i++)
        if (t->supports[i].readable_ahead >
            t->supports[i + 1].readable_back + 1e-9)
            dm_xml_fault_at(r->xml, t->supports[i].place, word(&t->supports[i]),
                            DM_GEOMETRY,
                            "nothing can be read between %s and %s: their "
                            "readable ends overlap",
                            t->supports[i].id, t->supports[i + 1].id);
}

static void check_crown(reader *r, const dm_xml_node *node, const dm_tendon *t)
{
    for (size_t i = 0; i < t->line.count; i++) {
        double mid = t->line.segments[i].t0 + 0.5 * t->line.segments[i].length;
        dm_frame f = dm_centreline_frame(&t->line, mid);
        if (f.crown_defined)
            continue;
        char limit[DM_NUM_SIZE];
        dm_num_shortest(limit, rint(t->line.vertical_limit * 180e6 / PI) / 1e6);
        dm_xml_fault(r->xml, node, DM_GEOMETRY,
                     "the duct is within %s deg of vertical, where it has no "
                     "crown: give a clock-datum",
                     limit);
        return;
    }
}

/* A joint of two sizes in a bend: the outside path takes the size of the
 * bend's middle. */
/* Sagging lengths are arcs too, but turn too little to matter. */
static bool is_bend(const dm_tendon *t, size_t segment)
{
    for (size_t i = 0; i < t->support_count; i++)
        if (t->supports[i].arc == segment)
            return true;
    return false;
}

static void check_ducts(reader *r, const dm_tendon *t)
{
    for (size_t i = 1; i < t->duct_count; i++) {
        const dm_duct_length *d = &t->ducts[i];
        double before = r->model->duct_types[d[-1].duct_type].od;
        if (before == r->model->duct_types[d->duct_type].od)
            continue;
        size_t k = dm_centreline_find(&t->line, d->from, 0);
        const dm_segment *s = &t->line.segments[k];
        if (d->from > s->t0 + 1e-9 && is_bend(t, k))
            dm_warn(r->diag, d->place, "duct-length",
                    "the outside diameter changes inside a bend: the outside "
                    "path takes the one at its middle");
    }
}

void check_line(reader *r, const dm_xml_node *node,
                const dm_xml_node *const *nodes, const dm_tendon *t)
{
    check_order(r, node, t);
    size_t before = fault_count(r);
    check_stations(r, nodes, t);
    /* A point that has no one station is mistyped: its turns are an echo. */
    if (fault_count(r) == before)
        check_deflections(r, t, node);
    check_crown(r, node, t);
}

void check_tendon(reader *r, const dm_xml_node *node, const dm_tendon *t)
{
    check_area(r, node, t);
    size_t before = fault_count(r);
    check_face_order(r, t);
    /* Readable ends of faces that cross overlap too: said once. */
    if (fault_count(r) == before)
        check_faces(r, t);
    check_ducts(r, t);
    if (fault_count(r) == before)
        check_practice(r, node, t);
}
