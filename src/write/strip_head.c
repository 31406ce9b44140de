/* SPDX-License-Identifier: MIT
 * Head of a strip: which tendon, looking which way, on which clock lines, and
 * first of all how much of it was tested. */
#include <math.h>
#include <string.h>

#include "ductmark/ductmark.h"
#include "write/strip.h"

#define PI 3.14159265358979323846
#define DIAL 9.0 /* radius, mm */

static const dm_type text = {.size = DM_PRINT_TEXT};
static const dm_type strong = {.size = DM_PRINT_TEXT, .bold = true};

/* ---- clock dial --------------------------------------------------------- */

/* The lines that were read, as thick arcs of their footprint's width, seen
 * looking ahead. */
static void draw_dial(dm_paper *s, double x, double y)
{
    static const char *const hour[] = {"12", "3", "6", "9"};
    const dm_indications *f = s->picture.found;
    dm_look ring = dm_line_look(0x000000, 0.3, DM_DASH_SOLID);
    dm_look arc = dm_line_look(0x000000, 1.6, DM_DASH_SOLID);
    dm_type type = {.size = DM_PRINT_SMALL, .align = DM_ALIGN_CENTRE};
    dm_path path = {0};
    size_t i;
    int k;

    dm_canvas_circle(s->picture.canvas, x, y, DIAL - 1.4, &ring);
    for (i = 0; f != NULL && i < f->cover_line_count; i++) {
        double half = 0.5 * f->cover_lines[i].width / s->radius;
        double a = f->cover_lines[i].clock - 0.5 * PI;

        dm_path_clear(&path);
        dm_path_arc(&path, x, y, DIAL - 1.4, a - half, a + half);
        dm_canvas_path(s->picture.canvas, &path, &arc);
    }
    dm_path_free(&path);
    for (k = 0; k < 4; k++)
        dm_canvas_text(s->picture.canvas, x + (DIAL - 4.2) * sin(0.5 * PI * k),
                       y - (DIAL - 4.2) * cos(0.5 * PI * k) + 1.0, hour[k],
                       &type);
}

/* ---- coverage ----------------------------------------------------------- */

static double cover_of(const dm_picture *p, dm_cover cover)
{
    if (p->found != NULL)
        return p->found->cover_sum[cover];
    return cover == DM_COVER_NOT_TESTED ? p->tendon->line.length : 0.0;
}

static void say_coverage(dm_picture *p)
{
    double whole = p->tendon->line.length;
    int k;

    dm_say_clear(p);
    dm_say(p, "Tested ");
    dm_say_percent(p, cover_of(p, DM_COVER_TESTED), whole);
    dm_say(p, " of ");
    dm_say_length(p, whole, true);
    for (k = 1; k < DM_COVER_COUNT; k++) {
        if (!(cover_of(p, (dm_cover)k) > 0.0))
            continue;
        dm_say(p, ", ");
        dm_say(p, dm_cover_text((dm_cover)k));
        dm_say(p, " ");
        dm_say_percent(p, cover_of(p, (dm_cover)k), whole);
    }
    dm_say(p, ". Length that is not tested is not sound.");
}

/* What the lines claim of the circumference. */
static void say_lines(dm_picture *p)
{
    size_t i, turns = 0;

    for (i = 0; p->found != NULL && i < p->found->turn_count; i++)
        turns += isfinite(p->found->turns[i].t) ? 1 : 0;

    dm_say_clear(p);
    if (p->found == NULL || p->found->cover_line_count == 0) {
        dm_say(p, "No clock line was read.");
        return;
    }
    dm_say(p, "Read at ");
    for (i = 0; i < p->found->cover_line_count; i++) {
        dm_say(p, i > 0 ? ", " : "");
        dm_say_clock(p, p->found->cover_lines[i].clock);
        dm_say(p, " (");
        dm_say_small(p, p->found->cover_lines[i].width);
        dm_say(p, " wide)");
    }
    if (turns > 0)
        dm_buf_printf(&p->say, "; all round at %zu turn%s", turns,
                      turns == 1 ? "" : "s");
    dm_say(p, "; the rest was not read.");
}

static void say_counts(dm_picture *p)
{
    size_t n = p->found != NULL ? p->found->count : 0;
    size_t taps = p->taps != NULL ? p->taps->count : 0;

    dm_buf_printf(&p->say, ". %zu indication%s, %zu tap point%s.", n,
                  n == 1 ? "" : "s", taps, taps == 1 ? "" : "s");
}

/* ---- lines -------------------------------------------------------------- */

static void say_survey(dm_picture *p)
{
    const dm_survey *s = p->delivery->survey;

    dm_say_clear(p);
    if (s != NULL && s->survey != NULL) {
        dm_say(p, "Survey: ");
        dm_say(p, s->survey);
        if (s->date != NULL) {
            dm_say(p, ", ");
            dm_say(p, s->date);
        }
        dm_say(p, ". ");
    }
    if (p->delivery->job->date != NULL) {
        dm_say(p, "Job: ");
        dm_say(p, p->delivery->job->date);
    }
}

static void say_view(dm_paper *s)
{
    dm_picture *p = &s->picture;

    dm_say_clear(p);
    dm_say(p, "Looking towards ");
    dm_say(p, dm_far_anchorage(p->tendon, DM_SIDE_AHEAD));
    dm_say(p, " (to the right): the duct's surface from outside, cut at 6 "
              "o'clock; along 1:");
    dm_buf_num(&p->say, s->scale);
    dm_say(p, ", round it 1:");
    dm_buf_num(&p->say, s->around);
    dm_say(p, ". Stations from ");
    dm_say(p, dm_far_anchorage(p->tendon, DM_SIDE_BACK));
    dm_say(p, "; \xc2\xb1 is ");
    dm_buf_num(&p->say, p->k);
    dm_say(p, " standard uncertainties.");
}

typedef struct {
    dm_paper *s;
    double y, width;
    bool draw;
} writer;

/* What was said, as lines under each other. */
static void put(writer *w, const dm_type *type)
{
    w->y += dm_paper_words(w->s, w->s->left, w->y, w->width, type, w->draw);
}

double dm_strip_head(dm_paper *s, double y, size_t page, size_t pages,
                     bool draw)
{
    double dial = s->right - DIAL;
    writer w = {s, y, s->right - s->left - 2.0 * DIAL - 5.0, draw};
    dm_picture *p = &s->picture;

    w.y += dm_paper_title(s, y, w.width, "Tendon ", page, pages, draw);
    say_coverage(p);
    put(&w, &strong);
    say_lines(p);
    put(&w, &text);
    if (page == 1) {
        if (p->stations != NULL && p->stations->accepted != NULL) {
            dm_say_clear(p);
            dm_say(p, "Accepted: ");
            dm_say(p, p->stations->accepted);
            put(&w, &strong);
        }
        dm_paper_say_place(s);
        put(&w, &text);
        say_survey(p);
        say_counts(p);
        put(&w, &text);
        say_view(s);
        put(&w, &text);
    }
    if (draw) {
        dm_type under = {.size = DM_PRINT_SMALL, .align = DM_ALIGN_CENTRE};

        draw_dial(s, dial, y + DIAL);
        dm_canvas_text(p->canvas, dial, y + 2.0 * DIAL + 2.6, "seen towards",
                       &under);
        dm_canvas_text_fit(p->canvas, dial, y + 2.0 * DIAL + 6.0,
                           2.0 * DIAL + 4.0,
                           dm_far_anchorage(p->tendon, DM_SIDE_AHEAD), &under);
    }
    return fmax(w.y - y, 2.0 * DIAL + 8.0);
}
