/* SPDX-License-Identifier: MIT
 * Pieces of summary.json about the bridge, each a key of the open object. */
#ifndef DM_WRITE_SUMMARY_BRIDGE_H
#define DM_WRITE_SUMMARY_BRIDGE_H

#include "ductmark/model.h"
#include "write/json.h"

/* externalIds: list of scheme and value, empty where there are none. */
void dm_summary_external(dm_json *json, const dm_external_ids *ids);
/* mapConversion: the numbers as written in the bridge file, in metres; null
 * where there is none. */
void dm_summary_map(dm_json *json, const dm_map_conversion *map);
/* parts, with their external ids. */
void dm_summary_parts(dm_json *json, const dm_model *model);
/* supports: anchorages and deviators of a tendon, with their external ids. */
void dm_summary_supports(dm_json *json, const dm_tendon *tendon);

#endif
