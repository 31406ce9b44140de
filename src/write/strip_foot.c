/* SPDX-License-Identifier: MIT
 * Legend of a strip, above what every page carries. */
#include "write/strip.h"

#define BLACK 0x000000

static const dm_type small = {.size = DM_PRINT_SMALL};

/* ---- legend ------------------------------------------------------------- */

typedef enum {
    ENTRY_STATES = DM_STATE_LOOK_COUNT,
    ENTRY_UNREAD = ENTRY_STATES,
    ENTRY_FOUND,
    ENTRY_OPEN,
    ENTRY_TAP,
    ENTRY_RESCAN,
    ENTRY_HAND,
    ENTRY_FACE,
    ENTRY_TURN,
    ENTRY_STRAND,
    ENTRY_COUNT
} entry;

static void sample_turn(dm_canvas *c, double x, double y)
{
    static const int classes[] = {6, 8, 9, 7, 6};
    dm_look edge = dm_line_look(BLACK, 0.15, DM_DASH_SOLID);
    int i;

    for (i = 0; i < 5; i++) {
        dm_look look = dm_index_look(classes[i]);

        dm_canvas_rect(c, x, y + 0.7 * i, 1.4, 0.7, &look);
    }
    dm_canvas_rect(c, x, y, 1.4, 3.5, &edge);
}

static void sample(dm_canvas *c, entry e, double x, double y)
{
    dm_look ink = dm_line_look(BLACK, 0.5, DM_DASH_SOLID);
    dm_look white = dm_fill_look(0xffffff);
    const double square[] = {x + 2.8, y + 0.6, x + 5.2, y + 0.6,
                             x + 5.2, y + 3.0, x + 2.8, y + 3.0};
    const double wedge[] = {x + 4.0, y + 0.4, x + 5.5,
                            y + 3.1, x + 2.5, y + 3.1};
    const double tip[] = {x + 7.4, y + 1.7, x + 5.6, y + 0.6, x + 5.6, y + 2.8};

    white.stroke = BLACK;
    white.width = 0.45;
    switch (e) {
    case ENTRY_FOUND:
        dm_canvas_rect(c, x + 0.3, y + 0.3, 7.0, 2.8, &ink);
        break;
    case ENTRY_OPEN:
        dm_canvas_line(c, x + 0.3, y + 0.4, x + 5.0, y + 0.4, &ink);
        dm_canvas_line(c, x + 0.3, y + 3.0, x + 5.0, y + 3.0, &ink);
        ink.fill = BLACK;
        dm_canvas_polygon(c, tip, 3, &ink);
        break;
    case ENTRY_TAP:
        dm_canvas_circle(c, x + 4.0, y + 1.8, 1.3, &white);
        dm_canvas_line(c, x + 2.1, y + 1.8, x + 5.9, y + 1.8, &ink);
        dm_canvas_line(c, x + 4.0, y - 0.1, x + 4.0, y + 3.7, &ink);
        break;
    case ENTRY_RESCAN:
        dm_canvas_polygon(c, wedge, 3, &white);
        break;
    case ENTRY_HAND:
        dm_canvas_polygon(c, square, 4, &white);
        break;
    case ENTRY_FACE:
        ink.width = 0.7;
        dm_canvas_line(c, x + 4.0, y, x + 4.0, y + 3.4, &ink);
        break;
    case ENTRY_TURN:
        sample_turn(c, x + 3.3, y);
        break;
    default:
        ink.dash = DM_DASH_CHAIN;
        dm_canvas_line(c, x, y + 1.7, x + 7.6, y + 1.7, &ink);
        break;
    }
}

static const char *entry_text(entry e)
{
    static const char *const text[] = {
        [ENTRY_UNREAD - ENTRY_UNREAD] = "no line read there",
        [ENTRY_FOUND - ENTRY_UNREAD] = "indication (dashed: place unsure)",
        [ENTRY_OPEN - ENTRY_UNREAD] = "open end: goes on unread",
        [ENTRY_TAP - ENTRY_UNREAD] = "tap point",
        [ENTRY_RESCAN - ENTRY_UNREAD] = "re-scan by hand first",
        [ENTRY_HAND - ENTRY_UNREAD] = "hand tool, wall only",
        [ENTRY_FACE - ENTRY_UNREAD] = "face (dashed: not touchable)",
        [ENTRY_TURN - ENTRY_UNREAD] = "turn: index all round the duct",
        [ENTRY_STRAND - ENTRY_UNREAD] = "side where strands lie"};

    return e < ENTRY_UNREAD ? dm_state_look_text((dm_state_look)e)
                            : text[e - ENTRY_UNREAD];
}

static double entries(dm_paper *s, double y, bool draw)
{
    const size_t columns = 3, rows = (ENTRY_COUNT + columns - 1) / columns;
    double width = (s->right - s->left) / (double)columns, step = 4.3;
    dm_canvas *c = s->picture.canvas;
    size_t i;

    for (i = 0; draw && i < ENTRY_COUNT; i++) {
        double x = s->left + width * (double)(i / rows);
        double at = y + step * (double)(i % rows);
        entry e = (entry)i;

        if (e <= ENTRY_UNREAD) {
            dm_look look = e == ENTRY_UNREAD
                               ? dm_unread_look()
                               : dm_state_look_make((dm_state_look)e, false);

            look.stroke = BLACK;
            look.width = 0.15;
            dm_canvas_rect(c, x, at, 7.6, 3.4, &look);
        } else {
            sample(c, e, x, at);
        }
        dm_canvas_text(c, x + 9.4, at + 2.8, entry_text(e), &small);
    }
    return step * (double)rows + 1.0;
}

double dm_strip_foot(dm_paper *s, double y, bool draw)
{
    dm_look line = dm_line_look(BLACK, 0.25, DM_DASH_SOLID);
    double at = y + 1.5;

    if (draw)
        dm_canvas_line(s->picture.canvas, s->left, y, s->right, y, &line);
    at += dm_paper_index(s, at, draw);
    at += entries(s, at, draw);
    at += dm_paper_origin(s, at,
                          "This picture is no work sheet: stops and sum checks "
                          "stand in taps.csv.",
                          draw);
    return at - y;
}
