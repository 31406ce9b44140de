/* SPDX-License-Identifier: MIT
 * A tap point in summary.json. */
#include "write/summary_work.h"

#include "scene/properties.h"
#include "write/summary_opened.h"

#define DEG(rad) ((rad) * (180.0 / 3.14159265358979323846))

static void put_point(dm_summary_work *w, const char *key, dm_vec3 p)
{
    dm_json_open(&w->json, key, '[');
    dm_summary_length(w, NULL, p.x);
    dm_summary_length(w, NULL, p.y);
    dm_summary_length(w, NULL, p.z);
    dm_json_close(&w->json, ']');
}

static void put_tape(dm_summary_work *w, const char *key, const dm_tendon *t,
                     const dm_tape *tape)
{
    if (tape->face >= t->face_count) {
        dm_json_text(&w->json, key, NULL);
        return;
    }
    dm_json_open(&w->json, key, '{');
    dm_summary_face(w, "face", t, tape->face);
    dm_summary_length(w, "distance", tape->distance);
    dm_summary_length(w, "U", w->k * tape->u);
    dm_json_close(&w->json, '}');
}

static void put_clearance(dm_summary_work *w, const dm_clearance *c)
{
    dm_json *j = &w->json;

    dm_json_open(j, "drillRoom", '{');
    dm_json_text(j, "room", dm_room_text(c->room));
    dm_summary_length(w, "free", c->free);
    dm_json_text(j, "ahead", c->ahead);
    dm_summary_length(w, "gap", c->gap);
    dm_json_text(j, "nearest", c->nearest);
    dm_json_fixed(j, "otherClock", DEG(c->other_clock), 2);
    dm_json_fixed(j, "otherPEnter", c->other_p_enter, 4);
    dm_json_close(j, '}');
}

void dm_summary_tap(dm_summary_work *w, size_t tendon, const dm_tap *tap)
{
    const dm_tendon *t = &w->delivery->model->tendons[tendon];
    const dm_indications *found = dm_summary_found(w, tendon);
    dm_json *j = &w->json;

    dm_json_open(j, NULL, '{');
    dm_json_text(j, "id", tap->id);
    dm_json_text(j, "uid", tap->uid);
    dm_json_text(j, "indication",
                 found != NULL && tap->indication < found->count
                     ? found->items[tap->indication].key
                     : NULL);
    dm_json_text(j, "role", dm_tap_role_text(tap->role));
    dm_json_text(j, "advice", dm_advice_text(tap->advice));
    dm_json_text(j, "why", tap->why);
    dm_json_text(j, "warning", tap->warning[0] != '\0' ? tap->warning : NULL);
    dm_summary_length(w, "t", tap->t);
    dm_summary_length(w, "U", w->k * tap->u_world);
    dm_summary_length(w, "aimFrom", tap->aim_from);
    dm_summary_length(w, "aimTo", tap->aim_to);
    dm_summary_place(w, &tap->bridge);
    put_point(w, "mark", tap->surface);
    put_point(w, "axis", tap->axis);
    put_point(w, "outward", tap->outward);
    dm_json_fixed(j, "clock", DEG(tap->clock), 2);
    dm_json_fixed(j, "tapeLine", DEG(tap->line), 2);
    put_tape(w, "fromBack", t, &tap->back);
    put_tape(w, "fromAhead", t, &tap->ahead);
    dm_json_text(j, "markFace",
                 tap->mark_face >= t->face_count ? NULL
                                                 : t->faces[tap->mark_face].id);
    dm_summary_length(w, "facesApart", tap->faces_apart);
    dm_summary_length(w, "UTapesMeet", w->k * dm_tap_meet_u(tap));
    dm_summary_length(w, "aroundFromTapeLine", tap->around);
    dm_summary_length(w, "aroundFromCrown", tap->from_crown);
    dm_summary_length(w, "depthStop", tap->depth_stop);
    dm_summary_length(w, "wallMin", tap->wall_min);
    dm_json_bool(j, "wallAssumed", tap->wall_assumed);
    dm_summary_length(w, "bit", tap->bit);
    dm_json_fixed(j, "pEnter", tap->p_enter, 4);
    dm_json_fixed(j, "pAxis", tap->p_axis, 4);
    dm_json_fixed(j, "pAngle", tap->p_angle, 4);
    dm_json_bool(j, "turnMade", tap->turned);
    dm_json_fixed(j, "pKind", tap->p_kind, 4);
    dm_json_fixed(j, "voidClock", DEG(tap->void_clock), 2);
    dm_json_fixed(j, "voidHalfAngle", DEG(tap->void_half), 2);
    dm_json_text(j, "strandSide", dm_strand_side_basis_text(tap->strands));
    dm_json_fixed(j, "strandClock", DEG(tap->strand_clock), 2);
    dm_summary_length(w, "strandGap", tap->strand_gap);
    dm_summary_length(w, "strandGapLeast", tap->strand_gap_low);
    dm_json_fixed(j, "pContact", tap->p_contact, 4);
    put_clearance(w, &tap->clearance);
    dm_summary_tap_opened(j, found, tap);
    dm_json_close(j, '}');
}
