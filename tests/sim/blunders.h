/* SPDX-License-Identifier: MIT
 * The part of sim_distances.c about blunders. */
#ifndef BLUNDERS_H
#define BLUNDERS_H

#include <stddef.h>

/* Rows of the table, `cases` simulated sites each. */
void blunders(size_t cases);

#endif
