/* SPDX-License-Identifier: MIT
 * Colours that people with colour-vision deficiency can tell apart: M. Okabe
 * and K. Ito, "Color Universal Design" (2002, revised 2008), with neutral
 * greys for what is sound-like or not part of the finding. The heat map: the
 * 11-class diverging scheme PuOr of C. A. Brewer, ColorBrewer 2.0
 * (colorbrewer2.org, "colorblind safe"), orange for void-like (positive) and
 * purple for negative index. Limit: beyond three grades without a colour of
 * their own the palette turns paler yellow; such criteria should state
 * colours. */
#include "scene/colour.h"

#include <math.h>
#include <string.h>

#include "base/num.h"

#define RGB(r, g, b)                                                           \
    {                                                                          \
        {                                                                      \
            0x##r, 0x##g, 0x##b, 0xff                                          \
        }                                                                      \
    }

static const dm_rgba cover_colour[DM_COVER_COUNT] = {
    [DM_COVER_TESTED] = RGB(d4, d4, d4),
    [DM_COVER_STRAND_MASKED] = RGB(96, 96, 96),
    [DM_COVER_NOT_TESTED] = RGB(00, 72, b2),     /* blue */
    [DM_COVER_NOT_VALID] = RGB(00, 00, 00),      /* black */
    [DM_COVER_NOT_RECONCILED] = RGB(56, b4, e9), /* sky blue */
};

static const struct {
    dm_rgba colour;
    const char *text;
} paints[DM_PAINT_COUNT] = {
    [DM_PAINT_ANCHORAGE] = {RGB(5a, 5a, 5a), "anchorage"},
    [DM_PAINT_DEVIATOR] = {{{0xaa, 0xaa, 0xaa, 0x48}}, "deviator"},
    [DM_PAINT_FIXTURE] = {RGB(76, 76, 76), "fixture"},
    [DM_PAINT_TAP] = {RGB(00, 9e, 73), "tap point"}, /* bluish green */
    [DM_PAINT_TAP_OPENED] = {RGB(00, 4d, 38), "tap point, opened"},
    [DM_PAINT_OPENING] = {RGB(00, 4d, 38), "opening"},
    [DM_PAINT_CENTRELINE] = {RGB(a8, a8, a8), "centreline"},
    [DM_PAINT_ALIGNMENT] = {RGB(30, 30, 30), "alignment"},
    [DM_PAINT_NO_GRADE] = {RGB(cc, 79, a7), "no grade"}, /* reddish purple */
};

static const dm_rgba grade_colour[] = {
    RGB(d5, 5e, 00), /* vermillion */
    RGB(e6, 9f, 00), /* orange */
    RGB(f0, e4, 42), /* yellow */
};
#define GRADE_COLOURS (sizeof grade_colour / sizeof *grade_colour)

/* PuOr, 11 classes, from the purple end (index -1) to the orange end (+1). */
static const dm_rgba heat_colour[DM_HEAT_CLASSES] = {
    RGB(2d, 00, 4b), RGB(54, 27, 88), RGB(80, 73, ac), RGB(b2, ab, d2),
    RGB(d8, da, eb), RGB(f7, f7, f7), RGB(fe, e0, b6), RGB(fd, b8, 63),
    RGB(e0, 82, 14), RGB(b3, 58, 06), RGB(7f, 3b, 08),
};
static const dm_rgba not_read = RGB(80, 80, 80);

dm_rgba dm_colour_cover(dm_cover cover)
{
    return cover_colour[cover];
}

dm_rgba dm_colour_paint(dm_paint paint)
{
    return paints[paint].colour;
}

const char *dm_paint_text(dm_paint paint)
{
    return paints[paint].text;
}

static int hex_digit(char c)
{
    static const char digits[] = "0123456789abcdef0123456789ABCDEF";
    const char *at = c == '\0' ? NULL : strchr(digits, c);

    return at == NULL ? -1 : (int)(at - digits) & 15;
}

/* "#rrggbb" */
static bool parse_colour(const char *text, dm_rgba *out)
{
    int i, high, low;

    if (text == NULL || strlen(text) != 7 || text[0] != '#')
        return false;
    for (i = 0; i < 3; i++) {
        high = hex_digit(text[1 + 2 * i]);
        low = hex_digit(text[2 + 2 * i]);
        if (high < 0 || low < 0)
            return false;
        out->rgba[i] = (uint8_t)(high * 16 + low);
    }
    out->rgba[3] = 0xff;
    return true;
}

dm_rgba dm_colour_grade(const dm_criteria *criteria, size_t grade)
{
    dm_rgba colour;
    size_t i, step;

    if (criteria == NULL || grade >= criteria->grade_count)
        return paints[DM_PAINT_NO_GRADE].colour;
    if (parse_colour(criteria->grades[grade].colour, &colour))
        return colour;
    if (grade < GRADE_COLOURS)
        return grade_colour[grade];
    colour = grade_colour[GRADE_COLOURS - 1];
    step = grade - GRADE_COLOURS + 2; /* half, a third, ... of the colour */
    for (i = 0; i < 3; i++)
        colour.rgba[i] = (uint8_t)(255 - (255 - colour.rgba[i]) / (int)step);
    return colour;
}

double dm_heat_limit(int heat_class)
{
    return -1.0 + 2.0 * heat_class / DM_HEAT_CLASSES;
}

int dm_heat_class(double index, int before)
{
    const double width = 2.0 / DM_HEAT_CLASSES, hold = 0.1 * width;
    double at;

    if (isnan(index))
        return DM_HEAT_NOT_READ;
    if (before != DM_HEAT_NOT_READ && index >= dm_heat_limit(before) - hold &&
        index < dm_heat_limit(before + 1) + hold)
        return before;
    at = floor((index + 1.0) / width);
    if (at < 0.0)
        return 0;
    return at >= DM_HEAT_CLASSES ? DM_HEAT_CLASSES - 1 : (int)at;
}

dm_rgba dm_heat_colour(int heat_class)
{
    return heat_class == DM_HEAT_NOT_READ ? not_read : heat_colour[heat_class];
}

static void add_entry(dm_legend_entry *entries, size_t *count, const char *text,
                      dm_rgba colour)
{
    entries[*count].meaning = text;
    memcpy(entries[*count].colour, colour.rgba, 4);
    (*count)++;
}

dm_status dm_legend_build(dm_arena *arena, const dm_criteria *criteria,
                          dm_scene *scene)
{
    size_t grades = criteria == NULL ? 0 : criteria->grade_count;
    size_t i, n = 0;
    const char *label;
    dm_legend_entry *e =
        DM_NEW_ARRAY(arena, dm_legend_entry,
                     grades + (size_t)DM_COVER_COUNT + (size_t)DM_PAINT_COUNT);

    if (e == NULL)
        return DM_NOMEM;
    for (i = 0; i < DM_COVER_COUNT; i++)
        add_entry(e, &n, dm_cover_text((dm_cover)i), cover_colour[i]);
    for (i = 0; i < grades; i++) {
        label = dm_arena_strdup(arena, criteria->grades[i].label);
        if (label == NULL)
            return DM_NOMEM;
        add_entry(e, &n, label, dm_colour_grade(criteria, i));
    }
    for (i = 0; i < DM_PAINT_COUNT; i++)
        add_entry(e, &n, paints[i].text, paints[i].colour);
    scene->legend = e;
    scene->legend_count = n;
    return DM_OK;
}

dm_status dm_heat_legend_build(dm_arena *arena, dm_scene *scene)
{
    dm_legend_entry *e =
        DM_NEW_ARRAY(arena, dm_legend_entry, DM_HEAT_CLASSES + 1);
    char low[DM_NUM_SIZE], high[DM_NUM_SIZE];
    const char *text;
    size_t n = 0;
    int i;

    if (e == NULL)
        return DM_NOMEM;
    for (i = 0; i < DM_HEAT_CLASSES; i++) {
        dm_num_fixed(low, dm_heat_limit(i), 2);
        dm_num_fixed(high, dm_heat_limit(i + 1), 2);
        if (i == 0)
            text = dm_arena_printf(arena, "index below %s", high);
        else if (i == DM_HEAT_CLASSES - 1)
            text = dm_arena_printf(arena, "index %s and above", low);
        else
            text = dm_arena_printf(arena, "index %s to %s", low, high);
        if (text == NULL)
            return DM_NOMEM;
        add_entry(e, &n, text, heat_colour[i]);
    }
    add_entry(e, &n, "not read", not_read);
    scene->heat_legend = e;
    scene->heat_legend_count = n;
    return DM_OK;
}
