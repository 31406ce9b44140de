/* SPDX-License-Identifier: MIT
 * Pieces of summary.json that tell what was opened. */
#ifndef DM_WRITE_SUMMARY_OPENED_H
#define DM_WRITE_SUMMARY_OPENED_H

#include "ductmark/tap.h"
#include "write/json.h"

/* Keys of an indication, and of a tap; k: coverage factor. `found` may be
 * NULL. */
void dm_summary_indication_opened(dm_json *json, const dm_indications *found,
                                  const dm_indication *item);
void dm_summary_tap_opened(dm_json *json, const dm_indications *found,
                           const dm_tap *tap);
/* openings, of a tendon. */
void dm_summary_openings(dm_json *json, const dm_indications *found, double k);
/* opened: the sums of one total. */
void dm_summary_opened_sum(dm_json *json, const dm_opened_sum *sum);

#endif
