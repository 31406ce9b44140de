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

const char *dm_tap_millimetres(const dm_placer *p, double metres)
{
    char text[DM_NUM_SIZE];

    dm_num_fixed(text, 1000.0 * metres, 0);
    return dm_arena_strdup(p->arena, text);
}

/* Rounded down, so that 0.9996 does not read as certain. */
const char *dm_tap_chance(const dm_placer *p, double value)
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
    const char *length = dm_tap_millimetres(p, i->to.t - i->from.t);
    const char *bounds = dm_tap_millimetres(p, taken);

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
    const char *p_enter = dm_tap_chance(p, tap->p_enter);
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
