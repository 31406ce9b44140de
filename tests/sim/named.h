/* SPDX-License-Identifier: MIT
 * What is told of a site's blunders, against its truth. */
#ifndef NAMED_H
#define NAMED_H

#include "site.h"

/* Is |z| over 3 in an interval of a run? */
bool named_beyond(const site *s, size_t run, size_t at);
/* Within three of its uncertainties. */
bool named_long_as(const dm_hypothesis *h, double length);
/* The face behind the one that is written down. */
bool named_wrong_face(const site *s, const dm_hypothesis *h, size_t run,
                      size_t tie);
/* A skip not written down in an interval of a run. */
bool named_missing(const site *s, const dm_hypothesis *h, size_t run,
                   size_t at);
/* First of one of the first `groups`; with `or_equal` equal to the first will
 * do, with `length` that has to agree, too. */
bool named_in(const site *s, size_t groups, size_t run, const site_blunder *b,
              bool or_equal, bool length);

#endif
