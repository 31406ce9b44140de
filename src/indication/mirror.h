/* SPDX-License-Identifier: MIT
 * The numeric core of mirrored clock angles on plain arrays: does a run's
 * index fit what others read on its line, or on the mirrored one? Knows no
 * files and no runs, so that a simulation can drive it with known truth. */
#ifndef DM_INDICATION_MIRROR_H
#define DM_INDICATION_MIRROR_H

#include <stdbool.h>
#include <stddef.h>

/* Length of a block, m: about a footprint, so that its noise is its own. */
#define DM_MIRROR_BLOCK 0.1

/* Index in cells of DM_PROFILE_PITCH over the tendon; NAN: not read. */
typedef struct {
    const float *index;
    size_t count;
    double var; /* of the noise of a block's mean */
} dm_mirror_line;

typedef enum {
    DM_MIRROR_UNKNOWN = 0, /* nothing to compare with, or nothing to see */
    DM_MIRROR_FITS,        /* its own line */
    DM_MIRROR_OTHER,       /* the mirrored line fits, its own does not */
    DM_MIRROR_APART        /* its own line does not fit, no other is there */
} dm_mirror_finding;

typedef struct {
    dm_mirror_finding finding;
    double same, other; /* normalised cross-correlations; NAN */
    double evidence;    /* see mirror.c */
    size_t blocks;      /* common to all */
} dm_mirror;

/* @param same, other  what other runs read on the run's line and on the
 *                     mirrored one; NULL: nobody did */
dm_mirror dm_mirror_test(const dm_mirror_line *run, const dm_mirror_line *same,
                         const dm_mirror_line *other);

#endif
