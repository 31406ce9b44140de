/* SPDX-License-Identifier: MIT
 * What the files that deal with openings share. */
#ifndef DM_INDICATION_OPENED_H
#define DM_INDICATION_OPENED_H

#include "indication/find.h"

/* Not sound: void, water or soft grout, or water whatever else. */
bool dm_opening_hollow(const dm_opening *o);

/* opened_judge.c: outcome, words, estimates beside it. */
void dm_opened_judge(const dm_finder *f, const dm_register *reg,
                     dm_as_found *o);

/* opened_state.c: states of items and of entries that are not seen any more,
 * from the outcomes; sums. False: no memory. */
bool dm_opened_settle(dm_finder *f, const dm_register *reg);

#endif
