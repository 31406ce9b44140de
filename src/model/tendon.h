/* SPDX-License-Identifier: MIT
 * Reading one tendon: what its files share. */
#ifndef DM_MODEL_TENDON_H
#define DM_MODEL_TENDON_H

#include "model/read.h"

/* support.c: one anchorage or deviator; then the centreline through all of
 * them, with their stations. `nodes` are the supports' elements. */
void read_support(reader *r, const dm_xml_node *n, dm_support *s);
void build_line(reader *r, const dm_xml_node *node,
                const dm_xml_node *const *nodes, dm_tendon *t);

/* Where it stands along the alignment: as given, where it was given so short of
 * a centre of the curve there (a ramp that passes over itself has two feet
 * below each other), else the nearest foot. */
dm_alignment_foot support_foot(const dm_alignment *line, const dm_support *s);

/* sag.c: the polygon of a tendon whose free lengths sag: a corner is put into
 * each, whose arc takes up the whole length between the arcs beside it.
 *  points, radius  `count` corners, straight legs between them; sound
 *  out, out_radius arrays of 2 count - 1
 *  at              per corner, its place in *out
 * Returns the number of points, or 0 where a length sags too much: `where`,
 * and by how much. */
size_t sag_polygon(const dm_vec3 *points, const double *radius, size_t count,
                   double weight, double force, dm_vec3 *out,
                   double *out_radius, size_t *at, size_t *where, double *sag);

/* face.c: faces and readable ends of all supports. */
void read_faces(reader *r, const dm_xml_node *const *nodes, dm_tendon *t);

#endif
