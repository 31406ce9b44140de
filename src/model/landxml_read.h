/* SPDX-License-Identifier: MIT
 * Reading LandXML: what the landxml*.c files share. */
#ifndef DM_MODEL_LANDXML_READ_H
#define DM_MODEL_LANDXML_READ_H

#include "model/landxml.h"
#include "model/read.h"
#include "model/xml.h"

#define LAND_WARN 1e-3                           /* m */
#define LAND_REFUSE 0.1                          /* m */
#define LAND_KINK_WARN 1.745329251994329577e-4   /* rad, 0.01 deg */
#define LAND_KINK_REFUSE 1.745329251994329577e-2 /* rad, 1 deg */

/* How angles are written. */
typedef enum { LAND_RADIANS, LAND_GRADS, LAND_DEGREES, LAND_DMS } land_angle;

typedef struct {
    dm_xml *xml;
    dm_arena *arena;
    const char *space;            /* namespace of the root */
    const dm_map_conversion *map; /* NULL: none */
    double metres;                /* per unit of the file */
    const char *unit;             /* as named in the file */
    double scale;                 /* of the map; lengths are divided by it */
    double turn;                  /* map to model bearings, rad */
    land_angle angles, directions;
    double begin;        /* staStart, m; distances from it are scaled */
    int decimals;        /* of the coordinates read so far, the most */
    double reach;        /* the largest of them, m */
    bool direction_said; /* one direction that disagrees is enough */
    bool out_of_memory;
    dm_landxml *out;
} land;

/* Elements of LandXML only; those of others' namespaces are passed over. */
const dm_xml_node *land_child(const land *l, const dm_xml_node *node,
                              const char *name);
const dm_xml_node *land_next(const land *l, const dm_xml_node *node,
                             const char *name);
size_t land_count(const land *l, const dm_xml_node *node, const char *name);

/* Quantities. What is absent gives NAN, what is wrong a fault and NAN. */
double land_real(land *l, const dm_xml_node *node, const char *name);
/* In metres of the model. Bounds in metres of the file. */
double land_length(land *l, const dm_xml_node *node, const char *name,
                   double lo, double hi);
/* As land_length, but it must be there. */
double land_needed(land *l, const dm_xml_node *node, const char *name,
                   double lo, double hi);
/* Curvature of an attribute that is a radius; 0: absent or INF. */
double land_curvature(land *l, const dm_xml_node *node, const char *name);
/* Bridge station of the model, m; must be there. */
double land_station(land *l, const dm_xml_node *node, const char *name);
/* The same of a number, and a height; `node` is to blame. */
double land_station_of(land *l, const dm_xml_node *node, double value);
double land_height_of(land *l, const dm_xml_node *node, double value);
/* rad, unsigned convention; NAN: absent. */
double land_angle_of(land *l, const dm_xml_node *node, const char *name,
                     land_angle written);
/* A child's "northing easting [elevation]" as x, y of the model. */
bool land_point(land *l, const dm_xml_node *node, const char *name,
                dm_vec3 *out);
/* The numbers in an element's text, at most `most`; SIZE_MAX: a word that is
 * none. */
size_t land_numbers(land *l, const dm_xml_node *node, double *out, size_t most);

/* A length of the model as a text in the file's unit: "98.4252 foot". */
typedef struct {
    char text[80];
} land_text;
land_text land_show(const land *l, double metres);
land_text land_gap(double metres);
land_text land_deg(double radians);
/* A stated length against the one computed: a warning or a fault. */
void land_compare(land *l, const dm_xml_node *node, const char *name,
                  double stated, double computed);

/* landxml_plan.c: CoordGeom. Reads the elements and chains them. */
void land_plan(land *l, const dm_xml_node *geometry);
/* landxml_chain.c: how the chained elements lie to what the file states. */
typedef struct {
    const dm_xml_node *node;
    dm_vec3 start, end; /* as stated, m */
    double in, out;     /* bearings there by the element's own points, rad */
    double lever;       /* how far apart the points are that give `in`, m */
    double stated;      /* length; NAN: not stated, or nothing to choose */
} land_piece;
/* What the points leave open, m: they are written with so many decimals. */
double land_doubt(const land *l);
/* The turn of the whole line about its begin, rad, that brings it nearest to
 * the stated points; no more than the first element's points leave open. */
double land_fit(const land *l, const land_piece *pieces);
void land_check_chain(land *l, const land_piece *pieces);
double land_between(double from, double to); /* -pi to pi */
/* landxml_profile.c: ProfAlign into points and line.vertical. */
void land_profile(land *l, const dm_xml_node *alignment);

#endif
