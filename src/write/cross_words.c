/* SPDX-License-Identifier: MIT
 * One section with its numbers beside it: what was read, what was fitted, and
 * how sure both are. */
#include <math.h>

#include "write/cross_sheet.h"
#include "write/cross_view.h"

#define DEG(rad) ((rad) * (180.0 / 3.14159265358979323846))
#define WIDE 50.0 /* mm, of a duct on paper, at most */
#define INCH 0.0254
#define BLACK 0x000000

static const dm_type text = {.size = DM_PRINT_TEXT};
static const dm_type strong = {.size = DM_PRINT_TEXT, .bold = true};
static const dm_type small = {.size = DM_PRINT_SMALL};

/* ---- numbers ------------------------------------------------------------ */

static void say_degrees(dm_picture *p, double rad, int decimals)
{
    dm_buf_fixed(&p->say, DEG(rad), decimals);
    dm_say(p, "\xc2\xb0");
}

static void say_edge(dm_picture *p, double clock, double u, bool open)
{
    dm_say_clock(p, clock);
    if (open) {
        dm_say(p, " or beyond");
        return;
    }
    dm_say(p, " \xc2\xb1 ");
    say_degrees(p, p->k * u, 0);
}

static void say_area(dm_picture *p, double m2)
{
    if (!isfinite(m2))
        dm_say(p, "?");
    else if (p->us)
        dm_buf_fixed(&p->say, m2 / (INCH * INCH), 2);
    else
        dm_buf_fixed(&p->say, m2 * 1e4, 1);
}

static const char *area_unit(const dm_picture *p)
{
    return p->us ? " in\xc2\xb2" : " cm\xc2\xb2";
}

/* "12.3 cm2 (9.8 to 15.1)". */
static void say_amount(dm_picture *p, const dm_amount *a)
{
    if (isfinite(a->best)) {
        say_area(p, a->best);
        dm_say(p, area_unit(p));
        dm_say(p, " (");
    }
    say_area(p, a->low);
    dm_say(p, " to ");
    say_area(p, a->high);
    dm_say(p, isfinite(a->best) ? ")" : area_unit(p));
}

/* ---- one section in words ----------------------------------------------- */

typedef struct {
    dm_paper *s;
    dm_picture *p;
    const dm_turn *turn;
    double x, y, width;
    bool draw;
} cell;

/* What was said, as lines. */
static void put(cell *c, const dm_type *type)
{
    c->y += dm_paper_words(c->s, c->x, c->y, c->width, type, c->draw);
}

static void put_place(cell *c)
{
    dm_picture *p = c->p;
    const dm_survey *survey = p->delivery->survey;
    const dm_turn *t = c->turn;

    dm_say_clear(p);
    dm_say(p, "at ");
    dm_say_length(p, t->t, true);
    dm_say_bound(p, t->u);
    put(c, &strong);
    dm_say_clear(p);
    if (t->indication < p->found->count) {
        dm_say(p, p->found->items[t->indication].key);
        dm_say(p, ", ");
        dm_say(p, dm_kind_text(p->found->items[t->indication].kind));
    } else {
        dm_say(p, "crosses no indication");
    }
    if (survey != NULL && t->run < survey->run_count) {
        dm_say(p, "; run ");
        dm_say(p, survey->runs[t->run].id);
    }
    dm_say(p, ", ");
    dm_say_percent(p, t->read, 1.0);
    dm_say(p, " of the circumference read");
    put(c, &text);
    if (!t->reconciled) {
        dm_say_clear(p);
        dm_say(p, "NOT RECONCILED: its place is unsure");
        put(c, &strong);
    }
}

static void put_arc(cell *c)
{
    dm_picture *p = c->p;
    const dm_arc *a;

    dm_say_clear(p);
    if (c->turn->arc >= c->turn->arc_count) {
        dm_say(p, "Nothing void-like round the duct.");
        put(c, &text);
        return;
    }
    a = &c->turn->arcs[c->turn->arc];
    if (a->whole) {
        dm_say(p, "Void-like all round");
    } else {
        dm_say(p, "Void-like from ");
        say_edge(p, a->from, a->u_from, a->open_from);
        dm_say(p, " to ");
        say_edge(p, a->to, a->u_to, a->open_to);
    }
    dm_say(p, ", index ");
    dm_buf_fixed(&p->say, a->index, 2);
    if (a->shorter)
        dm_say(p, "; narrower than the footprint: at most that wide");
    put(c, &text);
}

static void put_fit(cell *c)
{
    dm_picture *p = c->p;
    const dm_segment_fit *f = &c->turn->fit;

    dm_say_clear(p);
    if (!f->valid) {
        dm_say(p, "No level surface could be fitted.");
        put(c, &text);
        return;
    }
    dm_say(p, "Level surface fitted: half-angle ");
    say_degrees(p, f->half_angle, 0);
    dm_say(p, " (");
    say_degrees(p, f->low, 0);
    dm_say(p, " to ");
    say_degrees(p, f->high, 0);
    dm_say(p, ") about ");
    say_edge(p, f->centre, f->centre_u, false);
    dm_say(p, "; misfit ");
    dm_buf_fixed(&p->say, f->ratio, 1);
    dm_say(p, " times the noise");
    put(c, &text);
}

static void put_areas(cell *c)
{
    dm_picture *p = c->p;
    const dm_turn *t = c->turn;
    double bore = 3.14159265358979323846 * t->bore * t->bore;

    if (!isfinite(t->area.low) && !isfinite(t->area.high))
        return;
    dm_say_clear(p);
    dm_say(p, "Area of the void: ");
    say_amount(p, &t->area);
    if (isfinite(t->area.best)) {
        dm_say(p, ", ");
        dm_say_percent(p, t->area.best, bore);
        dm_say(p, " of the bore");
    }
    put(c, &strong);
    dm_say_clear(p);
    dm_say(p, "fitted ");
    say_area(p, t->fitted.best);
    dm_say(p, ", from the edges ");
    say_area(p, t->direct.best);
    dm_say(p, area_unit(p));
    if (isfinite(t->apart)) {
        dm_say(p, ": ");
        dm_buf_fixed(&p->say, t->apart, 1);
        dm_say(p, " standard deviations apart");
        if (t->apart > 2.0)
            dm_say(p, "; NOT A LEVEL SURFACE, or badly read");
    }
    put(c, &text);
}

static void put_depth(cell *c)
{
    dm_picture *p = c->p;
    const dm_turn *t = c->turn;

    dm_say_clear(p);
    if (t->depth_at_least) {
        dm_say(p, "Depth at its middle: at least ");
        dm_say_small(p, t->depth.low);
    } else if (isfinite(t->depth.best)) {
        dm_say(p, "Depth at its middle: ");
        dm_say_small(p, t->depth.best);
        dm_say(p, " (");
        dm_say_small(p, t->depth.low);
        dm_say(p, " to ");
        dm_say_small(p, t->depth.high);
        dm_say(p, ")");
    } else {
        dm_say(p, "No depth was measured");
    }
    dm_say(p, isfinite(t->strand) ? ". Strands lie at "
                                  : ". Side of the "
                                    "strands not known");
    if (isfinite(t->strand))
        dm_say_clock(p, t->strand);
    dm_say(p, ".");
    put(c, &text);
}

/* The first tap of the turn's indication. */
static const dm_tap *tap_of(const dm_picture *p, const dm_turn *t)
{
    size_t i;

    for (i = 0; p->taps != NULL && i < p->taps->count; i++)
        if (t->indication != DM_NONE &&
            p->taps->items[i].indication == t->indication)
            return &p->taps->items[i];
    return NULL;
}

static void put_tap(cell *c, const dm_tap *tap)
{
    dm_picture *p = c->p;

    if (tap == NULL)
        return;
    dm_say_clear(p);
    dm_say(p, "Mark: ");
    dm_say(p, tap->id);
    dm_say(p, " at ");
    dm_say_clock(p, tap->clock);
    dm_say(p, ", ");
    dm_say_small(p, fabs(tap->t - c->turn->t));
    dm_say(p, tap->t < c->turn->t ? " back of this section"
                                  : " ahead of this section");
    put(c, &text);
}

/* ---- one section --------------------------------------------------------- */

double dm_cross_turn(dm_paper *s, const dm_turn *turn, double y, bool draw)
{
    dm_picture *p = &s->picture;
    dm_cross view = dm_cross_at(p->delivery->model, p->tendon, turn->t);
    const dm_tap *tap = tap_of(p, turn);
    dm_look line = dm_line_look(BLACK, 0.15, DM_DASH_SOLID);
    cell c = {.s = s, .p = p, .turn = turn, .draw = draw};
    double reach;

    view.scale = dm_cross_scale(view.od, WIDE);
    view.strand = turn->strand;
    view.turn = turn;
    view.tap = tap;
    reach = dm_cross_reach(&view);
    view.x = s->left + reach;
    view.y = y + reach + 1.0;
    c.x = s->left + fmax(2.0 * reach, 60.0) + 5.0;
    c.y = y + 5.0;
    c.width = s->right - c.x;
    put_place(&c);
    put_arc(&c);
    put_fit(&c);
    put_areas(&c);
    put_depth(&c);
    put_tap(&c, tap);
    dm_say_clear(p);
    dm_say(p, "1:");
    dm_buf_num(&p->say, view.scale);
    dm_say(p, ", looking towards ");
    dm_say(p, dm_far_anchorage(p->tendon, DM_SIDE_AHEAD));
    put(&c, &small);
    if (draw) {
        dm_cross_draw(p->canvas, &view);
        dm_canvas_line(p->canvas, s->left, y, s->right, y, &line);
    }
    return fmax(c.y - y, 2.0 * reach + 2.0) + 2.0;
}
