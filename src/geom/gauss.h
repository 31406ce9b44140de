/* SPDX-License-Identifier: MIT
 * The 8-point Gauss-Legendre rule on -1..1: nodes come in pairs +-x (NBS AMS
 * 55, Table 25.4). */
#ifndef DM_GEOM_GAUSS_H
#define DM_GEOM_GAUSS_H

#define GAUSS_PAIRS 4

static const double gauss_node[GAUSS_PAIRS] = {
    0.1834346424956498, 0.5255324099163290, 0.7966664774136267,
    0.9602898564975363};
static const double gauss_weight[GAUSS_PAIRS] = {
    0.3626837833783620, 0.3137066458778873, 0.2223810344533745,
    0.1012285362903763};

#endif
