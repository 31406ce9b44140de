/* SPDX-License-Identifier: MIT
 * What to be warned of at a tap: one line of what holds for what is to be done
 * there. Nothing is said of a hole where there is to be none, and of a drill's
 * stop only where a drill is meant to be used. */
#include <math.h>
#include <string.h>

#include "tap/work.h"

#define PI 3.14159265358979323846

/* What is in the drill's way, and where. */
static const char *in_the_way(const dm_placer *p, const dm_clearance *c)
{
    double half = 0.5 * p->job->settings.drill_diameter;
    bool cut = c->gap + half <= 1e-9 && c->free >= 0.0;
    const char *at = dm_tap_millimetres(p, cut ? c->free : c->gap + half);
    const char *need = dm_tap_millimetres(p, half);

    if (at == NULL || need == NULL)
        return NULL;
    return cut ? dm_arena_printf(
                     p->arena,
                     "%s stands in the drill's way %s mm from the duct",
                     c->ahead, at)
               : dm_arena_printf(p->arena,
                                 "%s is %s mm beside its axis, %s are needed",
                                 c->nearest, at, need);
}

/* "" where there is room, or no drill is meant to be used. */
static const char *no_room(const dm_placer *p, const dm_tap *tap)
{
    const dm_clearance *c = &tap->clearance;
    const char *what, *p_enter;
    int minutes;

    if (c->room != DM_ROOM_NONE || tap->advice != DM_ADVICE_TAP)
        return "";
    what = in_the_way(p, c);
    if (what == NULL)
        return NULL;
    if (!c->other)
        return dm_arena_printf(p->arena,
                               "no room for the drill: %s; no other "
                               "clock angle of the void has room; ",
                               what);
    minutes = (int)floor(c->other_clock / PI * 360.0 + 0.5) % 720;
    p_enter = dm_tap_chance(p, c->other_p_enter);
    if (p_enter == NULL)
        return NULL;
    return dm_arena_printf(p->arena,
                           "no room for the drill: %s; at %d:%02d looking "
                           "ahead there is, chance to enter %s; ",
                           what, minutes < 60 ? 12 : minutes / 60, minutes % 60,
                           p_enter);
}

static const char *unsure(const dm_placer *p, const dm_tap *tap)
{
    const char *p_enter;

    if (tap->advice == DM_ADVICE_RESCAN || !(tap->p_enter < DM_ENTER_WARN))
        return "";
    p_enter = dm_tap_chance(p, tap->p_enter);
    if (p_enter == NULL)
        return NULL;
    return dm_arena_printf(p->arena, "may miss: chance to enter %s%s; ",
                           tap->turned ? "" : "at least ", p_enter);
}

static const char *contact(const dm_placer *p, const dm_tap *tap)
{
    const char *chance = "not known";

    if (tap->advice != DM_ADVICE_TAP ||
        !(tap->depth_stop > tap->wall_min + 1e-9))
        return "";
    if (!isnan(tap->p_contact))
        chance = dm_arena_printf(p->arena, "%d %%",
                                 (int)ceil(100.0 * tap->p_contact));
    if (chance == NULL)
        return NULL;
    return dm_arena_printf(p->arena,
                           "strand may touch (chance %s): stop at the inner "
                           "face, pierce by hand; ",
                           chance);
}

/* "..." where an indication lies there of which no place is sure; "". */
static const char *unreconciled_there(const dm_placer *p, const dm_tap *tap)
{
    for (size_t i = 0; i < p->indications->count; i++) {
        const dm_indication *in = &p->indications->items[i];

        if (!in->reconciled && tap->t >= in->from.t && tap->t <= in->to.t)
            return "the distances of what was read there are not reconciled: "
                   "it may lie elsewhere; ";
    }
    return "";
}

const char *dm_tap_warning(const dm_placer *p, const dm_tap *tap)
{
    /* A place that was not asked for keeps the margins and is reconciled. */
    const char *near = tap->requested ? dm_tap_too_near(p, tap) : "";
    const char *doubt = tap->requested ? unreconciled_there(p, tap) : "";
    const char *miss = unsure(p, tap), *room = no_room(p, tap);
    const char *touch = contact(p, tap), *wall = "", *tapes = "";
    char *all;
    size_t n;

    if (tap->wall_assumed && tap->advice != DM_ADVICE_RESCAN)
        wall = "no least wall is documented: the nominal wall was taken, there "
               "may be less; ";
    if ((tap->back.face == DM_NONE) != (tap->ahead.face == DM_NONE))
        tapes = "one tape only, nothing checks it; ";
    if (near == NULL || miss == NULL || room == NULL || touch == NULL)
        return NULL;
    all = dm_arena_printf(p->arena, "%s%s%s%s%s%s%s", near, doubt, miss, room,
                          touch, wall, tapes);
    if (all == NULL)
        return NULL;
    n = strlen(all);
    if (n >= 2)
        all[n - 2] = '\0';
    return all;
}
