/* SPDX-License-Identifier: MIT
 * Legend, origin and cautions: on every page, because pages get apart. */
#include <math.h>
#include <string.h>

#include "ductmark/ductmark.h"
#include "scene/colour.h"
#include "write/provenance.h"
#include "write/strip.h"

#define BLACK 0x000000
#define HASH 12 /* digits of a SHA-256 that are printed */

static const dm_type small = {.size = DM_PRINT_SMALL};

/* ---- legend ------------------------------------------------------------- */

static double index_bar(dm_strip_paper *s, double y, bool draw)
{
    dm_canvas *c = s->picture.canvas;
    dm_type centre = {.size = DM_PRINT_SMALL, .align = DM_ALIGN_CENTRE};
    dm_type right = {.size = DM_PRINT_SMALL, .align = DM_ALIGN_RIGHT};
    double x = s->left + 50.0, width = 7.0, end = x + width * DM_HEAT_CLASSES;
    int k;

    if (!draw)
        return 9.0;
    dm_canvas_text(c, x - 2.0, y + 3.2, "index: soft, wet or strand", &right);
    dm_canvas_text(c, end + 2.0, y + 3.2, "void-like, 1 = air", &small);
    for (k = 0; k < DM_HEAT_CLASSES; k++) {
        dm_look look = dm_index_look(k);

        look.stroke = BLACK;
        look.width = 0.1;
        dm_canvas_rect(c, x + width * k, y, width, 4.0, &look);
    }
    for (k = 1; k < DM_HEAT_CLASSES; k += 3) {
        dm_say_clear(&s->picture);
        dm_buf_fixed(&s->picture.say, dm_heat_limit(k), 2);
        dm_canvas_text(c, x + width * k, y + 7.2, dm_said(&s->picture),
                       &centre);
    }
    dm_canvas_text(c, x + width * 5.5, y + 3.1, "sound", &centre);
    return 9.0;
}

typedef enum {
    ENTRY_STATES = DM_STATE_LOOK_COUNT,
    ENTRY_UNREAD = ENTRY_STATES,
    ENTRY_FOUND,
    ENTRY_OPEN,
    ENTRY_TAP,
    ENTRY_RESCAN,
    ENTRY_HAND,
    ENTRY_FACE,
    ENTRY_FIXTURE,
    ENTRY_STRAND,
    ENTRY_COUNT
} entry;

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
    case ENTRY_FIXTURE:
        ink.width = 0.35;
        dm_canvas_rect(c, x + 2.5, y + 0.2, 2.6, 3.0, &ink);
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
        [ENTRY_FIXTURE - ENTRY_UNREAD] = "fixture",
        [ENTRY_STRAND - ENTRY_UNREAD] = "side where strands lie"};

    return e < ENTRY_UNREAD ? dm_state_look_text((dm_state_look)e)
                            : text[e - ENTRY_UNREAD];
}

static double entries(dm_strip_paper *s, double y, bool draw)
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

/* ---- origin ------------------------------------------------------------- */

static void say_input(dm_picture *p, const char *role, const char *file,
                      const char *sha256)
{
    const char *slash = file == NULL ? NULL : strrchr(file, '/');
    size_t i;

    if (file == NULL || sha256 == NULL)
        return;
    dm_buf_printf(&p->say, ", %s ", role);
    dm_say(p, slash == NULL ? file : slash + 1);
    dm_say(p, " ");
    for (i = 0; i < HASH && sha256[i] != '\0'; i++)
        dm_buf_putc(&p->say, sha256[i]);
}

/* "sha256  path" of this tendon's readings. */
static void say_readings(dm_picture *p)
{
    const dm_indications *f = p->found;
    size_t i, k;

    for (i = 0; f != NULL && i < f->hash_count; i++) {
        const char *gap = strchr(f->hashes[i], ' ');
        bool again = false;

        for (k = 0; k < i; k++)
            again = again || strcmp(f->hashes[k], f->hashes[i]) == 0;
        while (gap != NULL && *gap == ' ')
            gap++;
        if (!again)
            say_input(p, "readings", gap, f->hashes[i]);
    }
}

static void say_origin(dm_picture *p)
{
    const dm_delivery *d = p->delivery;
    size_t i;

    dm_say_clear(p);
    dm_buf_printf(&p->say,
                  "Made by ductmark %s from (name, first %d digits of "
                  "SHA-256)",
                  dm_version(), HASH);
    say_input(p, "job", d->job->file, d->job->sha256);
    say_input(p, "bridge", d->model->file, d->model->sha256);
    for (i = 0; d->survey != NULL && i < d->survey->file_count; i++)
        say_input(p, "field book", d->survey->files[i], d->survey->sha256[i]);
    if (d->criteria != NULL)
        say_input(p, "criteria", d->criteria->file, d->criteria->sha256);
    say_readings(p);
    dm_say(p, ".");
}

static void say_cautions(dm_picture *p)
{
    const char *const *caution = dm_cautions();
    size_t i;

    dm_say_clear(p);
    for (i = 0; caution[i] != NULL; i++) {
        dm_say(p, i > 0 ? " " : "");
        dm_say(p, caution[i]);
    }
    dm_say(p, " This picture is no work sheet: stops and sum checks stand in "
              "taps.csv.");
}

static double paragraph(dm_strip_paper *s, double y, const dm_type *type,
                        bool draw)
{
    dm_picture *p = &s->picture;
    dm_buf words = {0};
    size_t n;

    dm_buf_puts(&words, dm_said(p));
    n = dm_canvas_text_block(p->canvas, s->left, y + 2.8, s->right - s->left,
                             words.failed ? "" : words.data, type, draw);
    p->say.failed = p->say.failed || words.failed;
    dm_buf_free(&words);
    return (double)n * dm_type_leading(type) + 1.0;
}

double dm_strip_foot(dm_strip_paper *s, double y, bool draw)
{
    dm_look line = dm_line_look(BLACK, 0.25, DM_DASH_SOLID);
    dm_type strong = {.size = DM_PRINT_SMALL, .bold = true};
    double at = y + 1.5;

    if (draw)
        dm_canvas_line(s->picture.canvas, s->left, y, s->right, y, &line);
    at += index_bar(s, at, draw);
    at += entries(s, at, draw);
    say_cautions(&s->picture);
    at += paragraph(s, at, &strong, draw);
    say_origin(&s->picture);
    at += paragraph(s, at, &small, draw);
    return at - y;
}
