/* SPDX-License-Identifier: MIT
 * What a tap says in words, one line each. Probabilities to two places, never
 * rounded up to 1. */
#include <math.h>

#include "base/num.h"
#include "tap/work.h"

#define PI 3.14159265358979323846

const char *dm_tap_role_text(dm_tap_role role)
{
    static const char *const words[] = {"single", "outlet", "inlet"};

    return (unsigned)role < 3 ? words[role] : words[0];
}

const char *dm_strand_side_basis_text(dm_strand_side_basis basis)
{
    static const char *const words[] = {"unknown", "stated", "derived", "seen"};

    return (unsigned)basis < 4 ? words[basis] : words[0];
}

static const char *millimetres(const dm_placer *p, double metres)
{
    char text[DM_NUM_SIZE];

    dm_num_fixed(text, 1000.0 * metres, 0);
    return dm_arena_strdup(p->arena, text);
}

/* Rounded down, so that 0.9996 does not read as certain. */
static const char *chance(const dm_placer *p, double value)
{
    char text[DM_NUM_SIZE];

    dm_num_fixed(text, floor(100.0 * value + 1e-9) / 100.0, 2);
    return dm_arena_strdup(p->arena, text);
}

const char *dm_tap_why_hand_tool(const dm_placer *p, const dm_tap *tap)
{
    static const char *const sides[] = {
        "a strand may lie at the wall: the kind is unresolved",
        "the strand side stated leaves no room for a drill",
        "strands at the inside of the bend (derived) leave no room for a drill",
        "a strand or soft grout was read or met there: no room for a drill"};

    return dm_arena_printf(p->arena,
                           "%s: hand tool, wall only, engineer present",
                           sides[tap->strands]);
}

const char dm_tap_why_contact_unknown[] =
    "the stop is set beyond the least wall and the chance to touch a strand is "
    "not known: hand tool, wall only, engineer present";

static const char *rescan_from(const dm_placer *p, size_t face)
{
    if (face == DM_NONE)
        return "re-scan by hand from a face that can be touched first";
    return dm_arena_printf(p->arena, "re-scan by hand from face %s first",
                           p->tendon->faces[face].id);
}

const char *dm_tap_why_rescan(const dm_placer *p, const dm_indication *i,
                              size_t face, double taken, bool blocked)
{
    const char *first = rescan_from(p, face);
    const char *length = millimetres(p, i->to.t - i->from.t);
    const char *bounds = millimetres(p, taken);

    if (first == NULL || length == NULL || bounds == NULL)
        return NULL;
    if (blocked)
        return dm_arena_printf(p->arena,
                               "%s: fixtures, faces or unread lengths leave "
                               "no place in the %s mm of the indication",
                               first, length);
    if (i->shorter_than_footprint)
        return dm_arena_printf(p->arena,
                               "%s: shorter than the sensor's footprint, at "
                               "most %s mm long",
                               first, length);
    return dm_arena_printf(p->arena,
                           "%s: %s mm long, its bounds and margins take %s mm",
                           first, length, bounds);
}

const char *dm_tap_why_unsure(const dm_placer *p, size_t face,
                              const dm_tap *tap)
{
    const char *first = rescan_from(p, face);
    const char *p_enter = chance(p, tap->p_enter);
    bool along = tap->p_axis < tap->p_angle;

    if (first == NULL || p_enter == NULL)
        return NULL;
    if (along)
        return dm_arena_printf(p->arena,
                               "%s: a hole would enter with a chance of %s "
                               "only; its ends are too uncertain",
                               first, p_enter);
    return dm_arena_printf(
        p->arena, "%s%s: a hole would enter with a chance of %s only; %s",
        first, tap->turned ? "" : ", with a turn", p_enter,
        tap->turned ? "its extent round the duct is small or uncertain"
                    : "its extent round the duct is not known");
}

const char *dm_tap_why_here(const dm_placer *p, const dm_indication *i,
                            const dm_tap *tap, bool level, bool moved)
{
    const char *place = "middle of the aim interval";
    const char *angle = "on the clock line that was read";

    if (moved)
        place = "not at the high end";
    else if (tap->role == DM_ROLE_OUTLET)
        place = "outlet, at the high end of the void-like length";
    else if (tap->role == DM_ROLE_INLET)
        place = "inlet, at the low end of the void-like length";
    else if (i->kind == DM_KIND_VOID_LIKE)
        place = level ? "middle of the void-like length (level duct)"
                      : "high end of the void-like length";
    if (tap->turned)
        angle = fabs(dm_wrap(tap->clock - tap->void_clock)) < 1e-9
                    ? "in the middle of what the turn saw"
                    : "in what the turn saw, turned away from the strands";
    else if (fabs(dm_wrap(tap->clock - tap->void_clock)) >= 1e-9)
        angle = "beside the clock line that was read, away from the strands";
    return dm_arena_printf(
        p->arena, "%s%s, %s",
        moved ? "moved along the void to where the strands leave "
                "room: "
              : "",
        place, angle);
}

/* What is in the drill's way, and where. */
static const char *in_the_way(const dm_placer *p, const dm_clearance *c)
{
    double half = 0.5 * p->job->settings.drill_diameter;
    bool cut = c->gap + half <= 1e-9 && c->free >= 0.0;
    const char *at = millimetres(p, cut ? c->free : c->gap + half);
    const char *need = millimetres(p, half);

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
    p_enter = chance(p, c->other_p_enter);
    if (p_enter == NULL)
        return NULL;
    return dm_arena_printf(p->arena,
                           "no room for the drill: %s; at %d:%02d looking "
                           "ahead there is, chance to enter %s; ",
                           what, minutes < 60 ? 12 : minutes / 60, minutes % 60,
                           p_enter);
}

const char *dm_tap_warning(const dm_placer *p, const dm_tap *tap)
{
    const char *unsure = "", *touch = "", *wall = "", *tapes = "";
    const char *room = no_room(p, tap);

    if (tap->p_enter < DM_ENTER_WARN) {
        const char *p_enter = chance(p, tap->p_enter);

        if (p_enter == NULL)
            return NULL;
        unsure = dm_arena_printf(p->arena, "may miss: chance to enter %s%s; ",
                                 tap->turned ? "" : "at least ", p_enter);
    }
    if (tap->depth_stop > tap->wall_min + 1e-9) {
        const char *contact =
            isnan(tap->p_contact)
                ? "not known"
                : dm_arena_printf(p->arena, "%d %%",
                                  (int)ceil(100.0 * tap->p_contact));

        touch = contact == NULL
                    ? NULL
                    : dm_arena_printf(
                          p->arena,
                          "strand may touch (chance %s): stop at the inner "
                          "face, pierce by hand; ",
                          contact);
    }
    if ((tap->back.face == DM_NONE) != (tap->ahead.face == DM_NONE))
        tapes = "one tape only, nothing checks it; ";
    if (tap->wall_assumed)
        wall = "no least wall is documented: the nominal wall was taken, there "
               "may be less; ";
    if (unsure == NULL || touch == NULL || room == NULL)
        return NULL;
    char *all = dm_arena_printf(p->arena, "%s%s%s%s%s", unsure, room, touch,
                                wall, tapes);
    size_t n = 0;

    if (all == NULL)
        return NULL;
    while (all[n] != '\0')
        n++;
    if (n >= 2)
        all[n - 2] = '\0';
    return all;
}
