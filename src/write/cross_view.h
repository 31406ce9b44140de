/* SPDX-License-Identifier: MIT
 * The section square to a duct, true to scale: outside, wall, bore, what was
 * read round it, the void as it was fitted with its doubt, strands, clock, a
 * tap. For a turn, for a tap, or for both. */
#ifndef DM_WRITE_CROSS_VIEW_H
#define DM_WRITE_CROSS_VIEW_H

#include "ductmark/section.h"
#include "write/picture.h"

typedef struct {
    double x, y;  /* of the duct's centre, mm on paper */
    double scale; /* 1 : scale */
    dm_side look; /* ahead: the clock runs clockwise; back: against it */
    double od;    /* m */
    dm_section section;
    /* Clock angle of the strand side, rad; NAN: not known, no strands drawn. */
    double strand;
    const dm_turn *turn; /* NULL: none */
    const dm_tap *tap;   /* NULL: none */
} dm_cross;

/* Of a tendon's duct at t, looking ahead, without turn and tap; the strand
 * side as stated or derived there. x, y and scale are left to the caller. */
dm_cross dm_cross_at(const dm_model *model, const dm_tendon *tendon, double t);
/* The largest usual scale with which the outside is at most `diameter` mm
 * wide. */
double dm_cross_scale(double od, double diameter);
/* From the centre to the outer edge of the clock's numbers, mm. */
double dm_cross_reach(const dm_cross *cross);
void dm_cross_draw(dm_canvas *canvas, const dm_cross *cross);

/* Paper of a place r mm from the centre. */
void dm_cross_point(const dm_cross *cross, double r, double clock, double *x,
                    double *y);
/* Outside radius on paper, mm. */
double dm_cross_outside(const dm_cross *cross);
/* Duct, void about `centre` with its half-angle and the bounds of it (rad;
 * half 0 or NAN: none), strands; without clock and ring. */
void dm_cross_plain(dm_canvas *canvas, const dm_cross *cross, double centre,
                    double low, double half, double high);

#endif
