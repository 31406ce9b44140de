/* SPDX-License-Identifier: MIT
 * Volume of a void between its turns. Plain numbers in and out, so that a
 * simulation can drive it with known truth. */
#ifndef DM_INDICATION_VOID_H
#define DM_INDICATION_VOID_H

#include "ductmark/size.h"

/* What a turn said of the section at t: its area, and which part of its
 * variance is common to all sections. */
typedef struct {
    double t;
    dm_amount area;
    double common;
} dm_void_section;

typedef struct {
    double r;            /* of the bore, m */
    double from, to;     /* half heights, tendon stations, m */
    double u_from, u_to; /* of these, from the readings, m */
    double slope;        /* of the duct, rad; > 0: rises ahead */
    double tilt;         /* how far from level the surface may be: standard
                            deviation, rad */
    double layer;        /* as dm_turn_view */
    double footprint;    /* along the duct, m */
    double least;        /* shorter than the footprint: the least length, m;
                            else NAN */
    double beyond[2];    /* unread lengths that an open end may go on into,
                            before from and behind to, m */
    double share;        /* the most that strands may take of a section */
    const dm_void_section *sections;
    size_t section_count;
    double first, pitch;  /* of the profile: begin of cell 0 and length, m */
    const float *profile; /* index on one clock line; NAN: not read */
    size_t profile_count;
} dm_void_view;

typedef struct {
    dm_amount volume;   /* m^3, strands taken off by the stated part */
    dm_amount fraction; /* of the bore, at the largest section */
    double largest_t;
    bool saturated;
    double effective; /* draws that count */
} dm_void_size;

/* The part of a turn's variance that is common to all. */
double dm_turn_common(const dm_turn *turn);

/* With at least one section. False: no memory. */
bool dm_void_measure(const dm_void_view *view, dm_void_size *out);

/* Without any: limits of volume and fraction, from the least and the most half
 * angle that may be. */
void dm_void_limits(const dm_void_view *view, double half_low, double half_high,
                    dm_void_size *out);

#endif
