/* SPDX-License-Identifier: MIT
 * One turn of a sheet of sections. */
#ifndef DM_WRITE_CROSS_SHEET_H
#define DM_WRITE_CROSS_SHEET_H

#include "write/paper.h"

/* The section of a turn that has a place, with its numbers; drawn, or only
 * measured, from y on. Returns its height, mm. */
double dm_cross_turn(dm_paper *s, const dm_turn *turn, double y, bool draw);

#endif
