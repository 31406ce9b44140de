/* SPDX-License-Identifier: MIT
 * Values of summary.json that several of its objects have. */
#include "write/summary_work.h"

void dm_summary_length(dm_summary_work *w, const char *key, double metres)
{
    dm_json_fixed(&w->json, key, metres, 5);
}

void dm_summary_micro(dm_summary_work *w, const char *key, double metres)
{
    dm_json_fixed(&w->json, key, metres, 6);
}

const dm_indications *dm_summary_found(const dm_summary_work *w, size_t tendon)
{
    const dm_result *r = w->delivery->results;

    return r == NULL ? NULL : r[tendon].indications;
}

void dm_summary_face(dm_summary_work *w, const char *key, const dm_tendon *t,
                     size_t face)
{
    dm_json_text(&w->json, key,
                 face < t->face_count ? t->faces[face].id : NULL);
}

void dm_summary_place(dm_summary_work *w, const dm_bridge_place *place)
{
    if (!place->known)
        return;
    dm_summary_length(w, "bridgeStation", place->station);
    dm_summary_length(w, "bridgeStationShown", place->shown);
    dm_summary_length(w, "bridgeOffset", place->offset);
}
