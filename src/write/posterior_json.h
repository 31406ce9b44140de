/* SPDX-License-Identifier: MIT
 * The keys of JSON that say how the kind of an indication came about. */
#ifndef DM_WRITE_POSTERIOR_JSON_H
#define DM_WRITE_POSTERIOR_JSON_H

#include "ductmark/kind.h"
#include "write/json.h"

/* posterior, runsSeen, runsPassed, silentLines, zeroShift: alike wherever an
 * indication is written. */
void dm_posterior_json(dm_json *json, const dm_posterior *posterior);

#endif
