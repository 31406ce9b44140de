/* SPDX-License-Identifier: MIT
 * Outlines on paper, and hatching. Millimetres, x to the right, y down. */
#ifndef DM_DRAW_PATH_H
#define DM_DRAW_PATH_H

#include <stdbool.h>
#include <stddef.h>

typedef enum { DM_STEP_MOVE, DM_STEP_LINE, DM_STEP_CLOSE } dm_step_kind;

typedef struct {
    dm_step_kind kind;
    double x, y;
} dm_path_step;

/* On the heap. A failed allocation is remembered; later steps do nothing. */
typedef struct {
    dm_path_step *steps;
    size_t count, capacity;
    bool failed;
} dm_path;

void dm_path_free(dm_path *path);
void dm_path_clear(dm_path *path); /* keeps the memory */
void dm_path_move(dm_path *path, double x, double y);
/* A line; a move where nothing has been begun. */
void dm_path_line(dm_path *path, double x, double y);
void dm_path_close(dm_path *path);
void dm_path_rect(dm_path *path, double x, double y, double width,
                  double height);
/* Chords of an arc about (x, y), from angle a to b (rad, from the x axis,
 * clockwise on paper as y points down), within 0.01 mm of it. Goes on from the
 * last point with a line. */
void dm_path_arc(dm_path *path, double x, double y, double r, double a,
                 double b);
void dm_path_circle(dm_path *path, double x, double y, double r);

/* Adds to `lines` what of a family of parallel lines lies inside `area` (by
 * the even-odd rule, open outlines closed): direction `angle` (rad), `step`
 * mm apart, one of them through the origin, so that areas side by side have
 * one pattern. At most 4000 lines. */
void dm_path_hatch(const dm_path *area, double angle, double step,
                   dm_path *lines);

#endif
