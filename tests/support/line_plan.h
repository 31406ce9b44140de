/* SPDX-License-Identifier: MIT
 * Reference lines for tests, from elements in plan. */
#ifndef DM_TEST_LINE_PLAN_H
#define DM_TEST_LINE_PLAN_H

#include "ductmark/alignment.h"
#include "near.h"

#define PLAN_MOST 24

static const double PI = 3.14159265358979323846;

typedef struct {
    dm_horizontal e[PLAN_MOST];
    dm_alignment line; /* points to e: do not copy */
} plan;

/* The first `count` elements of q, from a begin. */
static inline void plan_chain(plan *q, size_t count, double s, double x,
                              double y, double bearing)
{
    assert_true(count <= PLAN_MOST);
    q->line = (dm_alignment){
        .horizontal = q->e, .horizontal_count = count, .begin = s};
    q->line.end = dm_alignment_chain(q->e, count, s, x, y, bearing);
}

#endif
