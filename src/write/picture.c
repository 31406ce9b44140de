/* SPDX-License-Identifier: MIT
 * States are told apart by hatches that survive a black and white print and
 * by colours of the palette that the scene uses (M. Okabe and K. Ito, "Color
 * Universal Design", 2008). */
#include "write/picture.h"

#include <math.h>
#include <string.h>

#include "base/num.h"
#include "scene/colour.h"
#include "scene/properties.h"
#include "write/row.h"

#define MM 1000.0
#define INCH 0.0254

dm_picture dm_picture_of(const dm_delivery *delivery, size_t tendon)
{
    dm_picture p = {.delivery = delivery,
                    .tendon = &delivery->model->tendons[tendon],
                    .us = delivery->job->units == DM_UNITS_US,
                    .k = delivery->job->settings.coverage_factor};

    if (delivery->results != NULL) {
        p.found = delivery->results[tendon].indications;
        p.taps = delivery->results[tendon].taps;
        p.stations = delivery->results[tendon].stations;
    }
    return p;
}

/* ---- numbers in words ------------------------------------------------- */

void dm_say_clear(dm_picture *p)
{
    bool failed = p->say.failed;

    dm_buf_clear(&p->say);
    p->say.failed = failed;
}

void dm_say(dm_picture *p, const char *text)
{
    dm_buf_puts(&p->say, text);
}

const char *dm_said(dm_picture *p)
{
    return p->say.failed || p->say.data == NULL ? "" : p->say.data;
}

void dm_say_length(dm_picture *p, double metres, bool unit)
{
    if (!isfinite(metres)) {
        dm_say(p, "?");
    } else if (p->us) {
        dm_feet_text(metres, &p->say);
    } else {
        dm_buf_fixed(&p->say, metres, 3);
        dm_say(p, unit ? " m" : "");
    }
}

void dm_say_small(dm_picture *p, double metres)
{
    if (!isfinite(metres)) {
        dm_say(p, "?");
    } else if (p->us) {
        dm_buf_fixed(&p->say, metres / INCH, 1);
        dm_say(p, " in");
    } else {
        dm_buf_fixed(&p->say, metres * MM, 0);
        dm_say(p, " mm");
    }
}

void dm_say_bound(dm_picture *p, double u)
{
    if (!isfinite(u))
        return;
    dm_say(p, " \xc2\xb1 ");
    dm_say_small(p, p->k * u);
}

void dm_say_clock(dm_picture *p, double rad)
{
    char text[8];

    dm_say(p, dm_clock_text(rad, text));
}

void dm_say_percent(dm_picture *p, double part, double whole)
{
    dm_buf_fixed(&p->say, whole > 0.0 ? 100.0 * part / whole : 0.0, 1);
    dm_say(p, " %");
}

/* ---- looks ------------------------------------------------------------ */

#define NOTHING                                                                \
    {                                                                          \
        .fill = DM_NO_COLOUR, .stroke = DM_NO_COLOUR                           \
    }

dm_state_look dm_state_look_of(dm_cover cover, dm_why why)
{
    switch (cover) {
    case DM_COVER_TESTED:
        return DM_STATE_LOOK_TESTED;
    case DM_COVER_STRAND_MASKED:
        return DM_STATE_LOOK_STRAND_MASKED;
    case DM_COVER_NOT_VALID:
        return DM_STATE_LOOK_NOT_VALID;
    case DM_COVER_NOT_RECONCILED:
        return DM_STATE_LOOK_NOT_RECONCILED;
    default:
        break;
    }
    if (why == DM_WHY_SUPPORT || why == DM_WHY_DEAD_ZONE)
        return DM_STATE_LOOK_SUPPORT;
    if (why == DM_WHY_STEEL || why == DM_WHY_WRAP ||
        why == DM_WHY_LOW_CLEARANCE || why == DM_WHY_OBSTRUCTION ||
        why == DM_WHY_NO_ACCESS)
        return DM_STATE_LOOK_OBSTRUCTED;
    return DM_STATE_LOOK_LEFT_OUT;
}

const char *dm_state_look_text(dm_state_look state)
{
    static const char *const text[] = {
        [DM_STATE_LOOK_SUPPORT] = "not tested: support, dead zone",
        [DM_STATE_LOOK_OBSTRUCTED] = "not tested: obstruction, steel",
        [DM_STATE_LOOK_LEFT_OUT] = "not tested: not walked, left out",
        [DM_STATE_LOOK_NOT_VALID] = "not valid: lift-off, checks",
        [DM_STATE_LOOK_NOT_RECONCILED] = "not reconciled: place unsure",
        [DM_STATE_LOOK_STRAND_MASKED] = "strand-masked: may hide a void",
        [DM_STATE_LOOK_TESTED] = "tested"};

    return text[state];
}

dm_look dm_state_look_make(dm_state_look state, bool over)
{
    static const struct {
        uint32_t fill;
        dm_hatch hatch;
        uint32_t colour;
        double step, width;
    } looks[] = {
        [DM_STATE_LOOK_SUPPORT] = {0xffffff, DM_HATCH_RISING, 0x303030, 1.3,
                                   0.25},
        [DM_STATE_LOOK_OBSTRUCTED] = {0xffffff, DM_HATCH_CROSS, 0x0072b2, 1.4,
                                      0.25},
        [DM_STATE_LOOK_LEFT_OUT] = {0xffffff, DM_HATCH_LEVEL, 0x0072b2, 0.9,
                                    0.3},
        [DM_STATE_LOOK_NOT_VALID] = {0xffffff, DM_HATCH_GRID, 0x000000, 1.1,
                                     0.2},
        [DM_STATE_LOOK_NOT_RECONCILED] = {0xffffff, DM_HATCH_FALLING, 0x005a8c,
                                          1.0, 0.35},
        [DM_STATE_LOOK_STRAND_MASKED] = {0xffffff, DM_HATCH_DOTS, 0x000000, 1.0,
                                         0.35},
    };
    dm_look look = NOTHING;

    if (state >= DM_STATE_LOOK_COUNT)
        return look;
    look.fill = over ? DM_NO_COLOUR : looks[state].fill;
    look.hatch = looks[state].hatch;
    look.hatch_colour = looks[state].colour;
    look.hatch_step = looks[state].step;
    look.hatch_width = looks[state].width;
    return look;
}

dm_look dm_unread_look(void)
{
    return (dm_look){.fill = 0xd9d9d9,
                     .stroke = DM_NO_COLOUR,
                     .hatch = DM_HATCH_DOTS,
                     .hatch_colour = 0x8c8c8c,
                     .hatch_step = 2.0,
                     .hatch_width = 0.3};
}

dm_look dm_index_look(int heat_class)
{
    const dm_rgba c = dm_heat_colour(heat_class);
    dm_look look = NOTHING;

    look.fill = (uint32_t)c.rgba[0] << 16 | (uint32_t)c.rgba[1] << 8 |
                (uint32_t)c.rgba[2];
    if (heat_class != DM_HEAT_NOT_READ &&
        heat_class < DM_HEAT_CLASSES / 2 - 1) {
        look.hatch = DM_HATCH_UPRIGHT;
        look.hatch_colour = heat_class < 2 ? 0xffffff : 0x2d004b;
        look.hatch_step = 0.8;
        look.hatch_width = 0.2;
    }
    return look;
}

dm_look dm_line_look(uint32_t colour, double width, dm_dash dash)
{
    dm_look look = NOTHING;

    look.stroke = colour;
    look.width = width;
    look.dash = dash;
    return look;
}

dm_look dm_fill_look(uint32_t colour)
{
    dm_look look = NOTHING;

    look.fill = colour;
    return look;
}

/* ---- names and places -------------------------------------------------- */

void dm_say_tendon(dm_picture *p)
{
    const dm_tendon *t = p->tendon;

    dm_say(p, t->id);
    if (t->name != NULL && t->name[0] != '\0' && strcmp(t->name, t->id) != 0) {
        dm_say(p, "  ");
        dm_say(p, t->name);
    }
}

const char *dm_far_anchorage(const dm_tendon *tendon, dm_side side)
{
    const dm_support *s;

    if (tendon->support_count == 0)
        return side == DM_SIDE_AHEAD ? "its end" : "its origin";
    s = &tendon
             ->supports[side == DM_SIDE_AHEAD ? tendon->support_count - 1 : 0];
    return s->name != NULL && s->name[0] != '\0' ? s->name : s->id;
}

const char *dm_grade_label(const dm_picture *p, const dm_indication *item)
{
    const dm_criteria *c = p->delivery->criteria;

    return c == NULL || item->grade >= c->grade_count
               ? "no grade"
               : c->grades[item->grade].label;
}

double dm_face_shown(const dm_picture *p, size_t face, double clock)
{
    const dm_face *f = &p->tendon->faces[face];
    double r = dm_face_radius(p->delivery->model, p->tendon, f);
    double t = dm_face_station(p->tendon, f, r, clock);

    if (p->stations != NULL && p->stations->face_shift != NULL)
        t += p->stations->face_shift[face];
    return t;
}
