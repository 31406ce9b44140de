/* SPDX-License-Identifier: MIT
 * The chained elements against what the file states of them: do the elements
 * meet, do their tangents, and does each end where it says. What one element
 * is off is carried on to the next, so that a fault is named once. */
#include "model/landxml_read.h"

#include <float.h>
#include <math.h>

/* Where element i of the chain ends. */
static dm_vec3 end_of(const dm_alignment *line, size_t i)
{
    if (i + 1 < line->horizontal_count) {
        const dm_horizontal *next = &line->horizontal[i + 1];
        return (dm_vec3){next->x, next->y, 0.0};
    }
    dm_alignment_place at = dm_alignment_at(line, line->end);
    return (dm_vec3){at.x, at.y, 0.0};
}

double land_doubt(const land *l)
{
    /* Integers are no rounded points; coarser than 1 mm is not believed. */
    double last = l->decimals > 0 ? pow(10.0, -l->decimals) : 0.0;
    double doubles = 4.0 * DBL_EPSILON * l->reach;
    return 2.0 * fmin(last * l->metres + doubles, LAND_WARN / 2.0) / l->scale;
}

double land_fit(const land *l, const land_piece *pieces)
{
    const dm_alignment *line = &l->out->line;
    double along = 0.0, across = 0.0;
    double most = land_doubt(l) / pieces[0].lever;
    for (size_t i = 0; i < line->horizontal_count; i++) {
        dm_vec3 is = dm_vec3_sub(end_of(line, i), pieces[0].start);
        dm_vec3 stated = dm_vec3_sub(pieces[i].end, pieces[0].start);
        along += dm_vec3_dot(is, stated);
        across += is.y * stated.x - is.x * stated.y;
    }
    return fmax(-most, fmin(most, atan2(across, along)));
}

typedef struct {
    land *l;
    const land_piece *pieces;
    dm_vec3 said; /* chain less stated points, as far as spoken of */
    bool astray;  /* beyond a bad kink the chain means nothing */
} chain;

static void check_gap(chain *c, size_t i)
{
    land *l = c->l;
    const land_piece *p = &c->pieces[i];
    dm_vec3 gap = dm_vec3_sub(p[-1].end, p->start);
    double off = dm_vec3_norm(gap);
    if (!(off > LAND_WARN))
        return;
    c->said = dm_vec3_add(c->said, gap);
    if (off > LAND_REFUSE)
        dm_xml_fault(l->xml, p->node, DM_GEOMETRY,
                     "its Start lies %s from the End before it",
                     land_gap(off).text);
    else
        dm_xml_warn(l->xml, p->node, "its Start lies %s from the End before it",
                    land_gap(off).text);
}

static void check_kink(chain *c, size_t i)
{
    land *l = c->l;
    const land_piece *p = &c->pieces[i];
    double kink = fabs(land_between(p[-1].out, p->in));
    if (kink > LAND_KINK_REFUSE) {
        c->astray = true;
        dm_xml_fault(l->xml, p->node, DM_GEOMETRY,
                     "begins with a kink of %s against the element before it",
                     land_deg(kink).text);
    } else if (kink > LAND_KINK_WARN) {
        dm_xml_warn(l->xml, p->node,
                    "begins with a kink of %s against the element before it, "
                    "which is taken out",
                    land_deg(kink).text);
    }
}

static void check_end(chain *c, size_t i)
{
    land *l = c->l;
    const land_piece *p = &c->pieces[i];
    dm_vec3 off = dm_vec3_sub(end_of(&l->out->line, i), p->end);
    double more = dm_vec3_norm(dm_vec3_sub(off, c->said));
    if (c->astray || !(more > LAND_WARN))
        return;
    bool fresh = dm_vec3_norm(c->said) <= LAND_REFUSE || more > LAND_REFUSE;
    c->said = off;
    if (dm_vec3_norm(off) > LAND_REFUSE && fresh)
        dm_xml_fault(l->xml, p->node, DM_GEOMETRY,
                     "the line as computed ends %s from its End",
                     land_gap(dm_vec3_norm(off)).text);
    else
        dm_xml_warn(l->xml, p->node,
                    "the line as computed ends %s from its End",
                    land_gap(dm_vec3_norm(off)).text);
}

static void check_station(chain *c, size_t i)
{
    land *l = c->l;
    const dm_xml_node *node = c->pieces[i].node;
    double begin = l->out->line.horizontal[i].s0;
    if (!dm_xml_has(node, "staStart"))
        return;
    double off = fabs(land_station(l, node, "staStart") - begin);
    /* Often written to the centimetre, and used for nothing. */
    if (off > 10.0 * LAND_WARN)
        dm_xml_warn(l->xml, node, "staStart is %s off the lengths before it",
                    land_gap(off).text);
}

void land_check_chain(land *l, const land_piece *pieces)
{
    chain c = {.l = l, .pieces = pieces};
    for (size_t i = 0; i < l->out->line.horizontal_count; i++) {
        if (i > 0) {
            check_gap(&c, i);
            check_kink(&c, i);
        }
        check_end(&c, i);
        check_station(&c, i);
    }
}
