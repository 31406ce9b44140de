/* SPDX-License-Identifier: MIT
 * One panel of the developed map: the duct's surface cut open at 6 o'clock and
 * rolled out as seen from outside, 12 o'clock in the middle, the far anchorage
 * to the right. Along and round the duct to scale (the two scales differ and
 * are both stated). What no line passed has a look of its own: it is not
 * known, and must not look sound. */
#include <math.h>

#include "scene/colour.h"
#include "write/strip_draw.h"

#define PI 3.14159265358979323846
#define TURN (2.0 * PI)
#define SAME_LINE 0.02 /* rad */
#define INK 0x000000
#define GREY 0x505050

/* ---- places ------------------------------------------------------------ */

double dm_map_y(const dm_map *m, double from_crown)
{
    return m->top + (from_crown + PI) / TURN * m->height;
}

double dm_from_crown(double clock)
{
    double a = fmod(clock, TURN);

    return a > PI ? a - TURN : a < -PI ? a + TURN : a;
}

double dm_map_x(const dm_map *m, double t)
{
    double x = dm_panel_x(&m->panel, t);

    return fmin(fmax(x, m->panel.x), m->panel.x + m->panel.width);
}

bool dm_map_holds(const dm_map *m, double from, double to)
{
    return to >= m->panel.from && from <= m->panel.to;
}

void dm_map_rect(const dm_map *m, double from, double to, double low,
                 double high, const dm_look *look)
{
    double x = dm_map_x(m, from), width = dm_map_x(m, to) - x, shift;
    int k;

    if (!(width > 0.0) || !(high > low))
        return;
    for (k = -1; k <= 1; k++) {
        double a, b;

        shift = TURN * k;
        a = fmax(low + shift, -PI);
        b = fmin(high + shift, PI);
        if (b - a > 1e-9)
            dm_canvas_rect(m->c, x, dm_map_y(m, a), width,
                           dm_map_y(m, b) - dm_map_y(m, a), look);
    }
}

/* ---- bands -------------------------------------------------------------- */

dm_swath dm_swath_of(const dm_map *m, size_t i)
{
    const dm_indications *f = m->p->found;
    const dm_cover_line *l = &f->cover_lines[i];
    size_t n = f->cover_line_count;
    double half = 0.5 * l->width / m->s->radius;
    double before = n > 1 ? f->cover_lines[(i + n - 1) % n].clock : 0.0;
    double after = n > 1 ? f->cover_lines[(i + 1) % n].clock : 0.0;
    double clock = l->clock, back, ahead;
    dm_swath b;

    half = half > 0.0 ? fmin(half, PI) : 0.1;
    back = n > 1 ? fmod(clock - before + 2.0 * TURN, TURN) : TURN;
    ahead = n > 1 ? fmod(after - clock + 2.0 * TURN, TURN) : TURN;
    b.low = dm_from_crown(clock) - fmin(half, 0.5 * back);
    b.high = dm_from_crown(clock) + fmin(half, 0.5 * ahead);
    return b;
}

static const dm_profile *profile_of(const dm_indications *f, double clock)
{
    size_t i;

    for (i = 0; i < f->profile_count; i++)
        if (fabs(dm_from_crown(f->profiles[i].clock - clock)) < SAME_LINE)
            return &f->profiles[i];
    return NULL;
}

/* The index over from..to, cells of one colour as one. */
static void index_cells(const dm_map *m, const dm_profile *p, dm_swath b,
                        double from, double to)
{
    double begin = from, t;
    int before = DM_HEAT_NOT_READ, now;
    dm_look look;
    size_t i;

    if (p == NULL || p->count == 0 || !(p->pitch > 0.0)) {
        look = dm_unread_look();
        dm_map_rect(m, from, to, b.low, b.high, &look);
        return;
    }
    i = (size_t)fmin(fmax(floor((from - p->from) / p->pitch), 0.0),
                     (double)(p->count - 1));
    before = dm_heat_class((double)p->index[i], DM_HEAT_NOT_READ);
    for (i++; i <= p->count; i++) {
        t = p->from + (double)i * p->pitch;
        now = i < p->count ? dm_heat_class((double)p->index[i], before)
                           : DM_HEAT_NOT_READ;
        if (now == before && t < to)
            continue;
        look = before == DM_HEAT_NOT_READ ? dm_unread_look()
                                          : dm_index_look(before);
        dm_map_rect(m, begin, fmin(t, to), b.low, b.high, &look);
        begin = t;
        before = now;
        if (t >= to)
            return;
    }
    look = dm_unread_look();
    dm_map_rect(m, begin, to, b.low, b.high, &look);
}

/* A title under the pointer: "not tested 3.214 to 3.870 m: collar C2". */
static void begin_length(const dm_map *m, const dm_cover_length *l)
{
    dm_say_clear(m->p);
    dm_say(m->p, dm_cover_text(l->cover));
    dm_say(m->p, " ");
    dm_say_length(m->p, l->from, false);
    dm_say(m->p, " to ");
    dm_say_length(m->p, l->to, true);
    if (l->reason != NULL && l->reason[0] != '\0') {
        dm_say(m->p, ": ");
        dm_say(m->p, l->reason);
    }
    dm_canvas_group(m->c, dm_said(m->p));
}

static void one_length(const dm_map *m, const dm_cover_length *l,
                       const dm_profile *p, dm_swath b)
{
    dm_state_look state = dm_state_look_of(l->cover, l->why);
    bool read = l->cover == DM_COVER_TESTED ||
                l->cover == DM_COVER_STRAND_MASKED ||
                l->cover == DM_COVER_NOT_RECONCILED;
    double from = fmax(l->from, m->panel.from), to = fmin(l->to, m->panel.to);
    dm_look look = dm_state_look_make(state, read);

    if (!(to > from))
        return;
    begin_length(m, l);
    if (read)
        index_cells(m, p, b, from, to);
    dm_map_rect(m, from, to, b.low, b.high, &look);
    dm_canvas_group_end(m->c);
}

static void band_edges(const dm_map *m, dm_swath b)
{
    dm_look line = dm_line_look(GREY, 0.15, DM_DASH_SOLID);
    double x = m->panel.x, edge;
    int k;

    for (k = 0; k < 2; k++) {
        edge = dm_from_crown(k == 0 ? b.low : b.high);
        dm_canvas_line(m->c, x, dm_map_y(m, edge), x + m->panel.width,
                       dm_map_y(m, edge), &line);
    }
}

/* Lengths of all lines together; without results one that was not walked. */
static const dm_cover_length *together(const dm_map *m, dm_cover_length *none,
                                       size_t *count)
{
    const dm_indications *f = m->p->found;

    if (f != NULL && f->cover_count > 0) {
        *count = f->cover_count;
        return f->cover;
    }
    *none =
        (dm_cover_length){0.0, m->p->tendon->line.length, DM_COVER_NOT_TESTED,
                          DM_WHY_NOT_WALKED, "not walked"};
    *count = 1;
    return none;
}

/* Without a line: one band all round. */
static void whole_surface(const dm_map *m)
{
    const dm_swath round = {-PI, PI};
    dm_cover_length none;
    size_t i, n;
    const dm_cover_length *lengths = together(m, &none, &n);

    for (i = 0; i < n; i++)
        one_length(m, &lengths[i], NULL, round);
}

void dm_map_bands(const dm_map *m)
{
    const dm_indications *f = m->p->found;
    dm_look look = dm_unread_look();
    size_t i, k;

    if (f == NULL || f->cover_line_count == 0) {
        whole_surface(m);
        return;
    }
    dm_map_rect(m, m->panel.from, m->panel.to, -PI, PI, &look);
    for (i = 0; i < f->cover_line_count; i++) {
        const dm_cover_line *l = &f->cover_lines[i];
        const dm_profile *p = profile_of(f, l->clock);
        dm_swath b = dm_swath_of(m, i);

        for (k = 0; k < l->count; k++)
            one_length(m, &l->lengths[k], p, b);
        band_edges(m, b);
    }
}

dm_swath dm_swath_at(const dm_map *m, double clock)
{
    const dm_indications *f = m->p->found;
    double c = dm_from_crown(clock), best = SAME_LINE;
    dm_swath b = {c - 0.2, c + 0.2};
    size_t i;

    for (i = 0; i < f->cover_line_count; i++) {
        double off = fabs(dm_from_crown(f->cover_lines[i].clock - clock));

        if (off < best) {
            best = off;
            b = dm_swath_of(m, i);
        }
    }
    return b;
}

/* ---- turns -------------------------------------------------------------- */

/* Along the duct, m; what a turn's channel sees. */
static double turn_width(const dm_map *m, const dm_turn *t)
{
    const dm_survey *survey = m->p->delivery->survey;
    double least = 1.0 / m->panel.mm_per_m; /* to be seen */
    const dm_instrument *i;

    if (survey == NULL || t->run >= survey->run_count)
        return least;
    i = &survey->instruments[survey->runs[t->run].instrument];
    return t->channel < i->channel_count
               ? fmax(i->channels[t->channel].footprint_along, least)
               : least;
}

/* Cells of one colour as one, round the clock. */
static void draw_turn(const dm_map *m, const dm_turn *t)
{
    double half = 0.5 * turn_width(m, t), step = TURN / (double)t->cell_count;
    dm_look edge = dm_line_look(GREY, 0.15, DM_DASH_SOLID);
    int before = dm_heat_class(t->index[0], DM_HEAT_NOT_READ), now;
    size_t i, begin = 0;

    for (i = 1; i <= t->cell_count; i++) {
        dm_look look = before == DM_HEAT_NOT_READ ? dm_unread_look()
                                                  : dm_index_look(before);
        double low;

        now = i < t->cell_count ? dm_heat_class(t->index[i], before) : -2;
        if (now == before)
            continue;
        low = dm_from_crown(((double)begin - 0.5) * step);
        dm_map_rect(m, t->t - half, t->t + half, low,
                    low + (double)(i - begin) * step, &look);
        begin = i;
        before = now;
    }
    dm_map_rect(m, t->t - half, t->t + half, -PI, PI, &edge);
}

static void draw_turns(const dm_map *m)
{
    const dm_indications *f = m->p->found;
    size_t i;

    for (i = 0; f != NULL && i < f->turn_count; i++)
        if (isfinite(f->turns[i].t) && f->turns[i].cell_count > 0 &&
            dm_map_holds(m, f->turns[i].t, f->turns[i].t))
            draw_turn(m, &f->turns[i]);
}

/* ---- the panel ---------------------------------------------------------- */

/* In words below the bands, where a length that is not simply tested is long
 * enough to have them. */
static void write_reasons(const dm_map *m)
{
    const dm_indications *f = m->p->found;
    const dm_type type = {
        .size = DM_PRINT_SMALL, .align = DM_ALIGN_CENTRE, .halo = 0.5};
    dm_cover_length none;
    size_t i, n;
    const dm_cover_length *lengths = together(m, &none, &n);
    double low = f != NULL && f->cover_line_count > 0 ? -PI : 0.0, y;

    for (i = 0; f != NULL && i < f->cover_line_count; i++)
        low = fmax(low, dm_swath_of(m, i).high);
    y = fmin(dm_map_y(m, low) + 3.4, m->top + m->height - 1.0);
    for (i = 0; i < n; i++) {
        const dm_cover_length *l = &lengths[i];
        double from = dm_map_x(m, l->from), to = dm_map_x(m, l->to);

        if (l->cover == DM_COVER_TESTED || to - from < 16.0)
            continue;
        dm_say_clear(m->p);
        dm_say(m->p, dm_cover_text(l->cover));
        if (l->reason != NULL && l->reason[0] != '\0') {
            dm_say(m->p, ": ");
            dm_say(m->p, l->reason);
        }
        dm_canvas_text_fit(m->c, 0.5 * (from + to), y, to - from - 1.0,
                           dm_said(m->p), &type);
    }
}

double dm_strip_map(dm_paper *s, size_t index, double y, bool draw)
{
    dm_map m = {.s = s,
                .p = &s->picture,
                .c = s->picture.canvas,
                .panel = dm_strip_panel(s, index),
                .height = TURN * s->radius * 1000.0 / s->around};
    dm_look frame = dm_line_look(INK, 0.25, DM_DASH_SOLID);
    dm_type number = {.size = 11.0, .bold = true};
    double line;

    m.top = y + dm_map_found_labels(&m, y, false) + 1.5;
    if (draw) {
        dm_map_bands(&m);
        draw_turns(&m);
        dm_map_clock(&m);
        write_reasons(&m);
        dm_map_things(&m);
        dm_canvas_rect(m.c, m.panel.x, m.top, m.panel.width, m.height, &frame);
        dm_map_indications(&m);
        dm_map_taps(&m);
        dm_map_found_labels(&m, y, true);
        dm_say_clear(m.p);
        dm_buf_printf(&m.p->say, "%zu", index + 1);
        dm_canvas_text(m.c, s->left, m.top + 3.8, dm_said(m.p), &number);
    }
    line = m.top + m.height + dm_map_stations(&m, draw) + 4.2;
    if (draw)
        dm_map_dimensions(&m, line);
    return line + 1.6 + dm_map_tap_labels(&m, line, line + 1.6, draw) - y;
}
