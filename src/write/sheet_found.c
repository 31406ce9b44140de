/* SPDX-License-Identifier: MIT
 * As found: every place that was opened, whether a tap is set there or not, in
 * walking order: where, what had been estimated, what was found, what follows.
 */
#include <math.h>

#include "write/sheet.h"

#define BLACK 0x000000
#define GAP 3.0  /* mm, between two places */
#define LEFT 6.0 /* mm, of the words behind the bar of their place */
/* Letters of a note; what is longer stands in the tables. */
#define NOTE_MOST 600

static const dm_type title = {.size = 13.0, .bold = true};

static const char *verdict(dm_outcome outcome)
{
    static const char *const text[] = {"CONFIRMED",
                                       "REFUTED",
                                       "NEITHER CONFIRMED NOR REFUTED",
                                       "MISSED: NOT INDICATED, NOT SOUND",
                                       "SOUND, AS READ",
                                       "NOT SOUND, NOT READ THERE"};

    return outcome < DM_OUTCOME_COUNT ? text[outcome]
                                      : text[DM_OUTCOME_NEITHER];
}

/* One place, drawn or measured line by line. */
typedef struct {
    dm_sheet_page *s;
    dm_picture *p;
    const dm_as_found *o;
    double y; /* next baseline */
    bool draw;
} place;

static void put(place *l, const dm_type *type)
{
    const dm_paper *paper = &l->s->paper;

    l->y += dm_paper_words(&l->s->paper, paper->left + LEFT, l->y,
                           paper->right - paper->left - LEFT, type, l->draw);
    dm_say_clear(l->p);
}

/* The tap that was opened there, if these sheets have it. */
static const dm_tap *tap_of(const place *l)
{
    const dm_taps *taps = l->p->taps;
    size_t opened = (size_t)(l->o - l->p->found->openings);

    for (size_t i = 0; taps != NULL && i < taps->count; i++)
        if (taps->items[i].opened == opened)
            return &taps->items[i];
    return NULL;
}

static void put_where(place *l)
{
    const dm_opening *w = &l->o->what;
    const dm_tap *tap = tap_of(l);
    dm_picture *p = l->p;

    dm_say(p, "Where: ");
    dm_say_clock(p, w->clock);
    dm_say(p, " looking ahead towards ");
    dm_sheet_say_name(p, dm_far_anchorage(p->tendon, DM_SIDE_AHEAD));
    dm_say(p, "; tendon station ");
    dm_say_length(p, w->t, true);
    dm_say(p, " \xc2\xb1 ");
    dm_sheet_say_bound(p, p->k * w->u);
    if (l->o->bridge.known) {
        dm_say(p, "; bridge station ");
        dm_say_length(p, l->o->bridge.shown, true);
    }
    dm_say(p, tap != NULL ? "; sheet of tap " : "; no tap of these sheets");
    if (tap != NULL)
        dm_sheet_say_tap(p, tap);
    dm_say(p, ".");
    put(l, &dm_sheet_text);
}

static void say_end(dm_picture *p, double inside, double u, const char *end)
{
    dm_say(p, ", ");
    dm_sheet_say_arc(p, inside);
    dm_say(p, " \xc2\xb1 ");
    dm_sheet_say_bound(p, p->k * u);
    dm_say(p, inside < 0.0 ? " beyond" : " inside");
    dm_say(p, " its ");
    dm_say(p, end);
    dm_say(p, " end");
}

static void say_depth(dm_picture *p, const dm_as_found *o)
{
    if (!isfinite(o->depth.low))
        return;
    dm_say(p, "; void depth ");
    dm_say(p, isfinite(o->depth.high) ? "" : "at least ");
    dm_sheet_say_arc(p, o->depth.low);
    if (!isfinite(o->depth.high))
        return;
    dm_say(p, " to ");
    dm_sheet_say_arc(p, o->depth.high);
}

static void put_estimate(place *l)
{
    const dm_as_found *o = l->o;
    dm_picture *p = l->p;

    dm_say(p, "Estimated: ");
    if (o->key == NULL) {
        dm_say(p, "nothing indicated; what was read there: ");
        dm_say(p, o->cover[0] != '\0' ? o->cover : "nothing");
    } else if (o->indication >= p->found->count) {
        dm_say(p, o->key);
        dm_say(p, ", which the readings show no more");
    } else {
        dm_say(p, o->key);
        dm_say(p, ", ");
        dm_say(p, dm_kind_text(p->found->items[o->indication].kind));
        if (isfinite(o->inside_from))
            say_end(p, o->inside_from, o->u_from, "back");
        if (isfinite(o->inside_to))
            say_end(p, o->inside_to, o->u_to, "ahead");
        say_depth(p, o);
        if (isfinite(o->p_found)) {
            dm_say(p, "; chance of what was found ");
            dm_sheet_say_chance(p, o->p_found);
        }
    }
    dm_say(p, ".");
    put(l, &dm_sheet_text);
}

static void put_found(place *l)
{
    const dm_opening *w = &l->o->what;
    dm_picture *p = l->p;

    dm_say(p, "Found: ");
    dm_say(p, dm_finding_text(w->found));
    if (isfinite(w->depth)) {
        dm_say(p, ", depth ");
        dm_sheet_say_arc(p, w->depth);
    }
    dm_say(p, w->water ? ". WATER CAME OUT" : ". No water");
    dm_say(p, w->strand ? ". A STRAND WAS TOUCHED." : ". No strand touched.");
    put(l, &dm_sheet_strong);
}

static void put_pressures(place *l)
{
    const dm_pressures *x = &l->o->what.pressures;
    dm_picture *p = l->p;

    if (!isfinite(x->volume))
        return;
    dm_say(p, "Volume by pressures ");
    dm_sheet_say_volume(p, x->volume);
    dm_say(p, isfinite(x->u) ? " \xc2\xb1 " : ", U not known");
    if (isfinite(x->u))
        dm_sheet_say_volume_bound(p, p->k * x->u);
    if (isfinite(x->vessel)) {
        dm_say(p, ": vessel ");
        dm_sheet_say_volume(p, x->vessel);
        if (x->hoses > 0.0) {
            dm_say(p, ", hoses ");
            dm_sheet_say_volume(p, x->hoses);
        }
        dm_say(p, "; absolute pressure before ");
        dm_sheet_say_pressure(p, x->before);
        dm_say(p, ", after ");
        dm_sheet_say_pressure(p, x->after);
        dm_say(p, ", of the air ");
        dm_sheet_say_pressure(p, x->air);
    }
    dm_say(p, ".");
    put(l, &dm_sheet_text);
}

static void put_papers(place *l)
{
    const dm_opening *w = &l->o->what;
    dm_picture *p = l->p;

    dm_say(p, "Survey: ");
    dm_sheet_say_name(p, w->survey);
    dm_say(p, l->o->opened == DM_NONE ? ", from the register." : ".");
    if (w->photo != NULL) {
        dm_say(p, " Photo: ");
        dm_sheet_say_cut(p, w->photo, NOTE_MOST);
        dm_say(p, ".");
    }
    if (w->note != NULL) {
        dm_say(p, " Note: ");
        dm_sheet_say_cut(p, w->note, NOTE_MOST);
    }
    put(l, &dm_sheet_text);
}

/* Draws, or only measures; returns its height. */
static double put_place(dm_sheet_page *s, const dm_sheet_stop *stop, double y,
                        bool draw)
{
    place l = {.s = s, .p = &s->paper.picture, .y = y + 4.6, .draw = draw};
    dm_type right = dm_sheet_text;
    dm_look bar = dm_line_look(BLACK, 0.9, DM_DASH_SOLID);

    dm_sheet_choose(s, stop->tendon);
    l.o = &l.p->found->openings[stop->item];
    right.align = DM_ALIGN_RIGHT;
    dm_say_clear(l.p);
    dm_say(l.p, "Opening ");
    dm_sheet_say_name(l.p, l.o->what.id);
    dm_say(l.p, ": ");
    dm_say(l.p, verdict(l.o->outcome));
    if (draw) {
        dm_canvas_text_fit(l.p->canvas, s->paper.left + LEFT, l.y,
                           s->paper.right - s->paper.left - LEFT - 26.0,
                           dm_said(l.p), &title);
        dm_canvas_text(l.p->canvas, s->paper.right, l.y, l.o->what.date,
                       &right);
    }
    dm_say_clear(l.p);
    l.y += 5.4;
    dm_sheet_say_tendon(l.p);
    put(&l, &dm_sheet_strong);
    put_where(&l);
    put_estimate(&l);
    put_found(&l);
    put_pressures(&l);
    dm_say(l.p, "What it says: ");
    dm_say(l.p, l.o->words);
    dm_say(l.p, ".");
    put(&l, &dm_sheet_text);
    put_papers(&l);
    if (draw)
        dm_canvas_line(l.p->canvas, s->paper.left + 1.5, y, s->paper.left + 1.5,
                       l.y - 2.6, &bar);
    return l.y - 2.6 - y;
}

static double put_head(dm_sheet_page *s, double y, bool draw)
{
    dm_picture *p = &s->paper.picture;
    const dm_sheet_tour *t = s->tour;
    size_t count[DM_OUTCOME_COUNT] = {0};

    for (size_t i = 0; i < t->opened_count; i++) {
        dm_sheet_choose(s, t->opened[i].tendon);
        count[p->found->openings[t->opened[i].item].outcome]++;
    }
    if (draw)
        dm_sheet_put_title(s, "As found", y);
    dm_sheet_say_origin(p);
    dm_buf_printf(&p->say,
                  "%zu %s opened: %zu confirmed, %zu refuted, %zu neither, %zu "
                  "missed (not sound, not indicated), %zu sound where nothing "
                  "was indicated, %zu not sound where nothing was read. Each "
                  "estimate stands beside its finding. No second hole but on "
                  "the engineer's word.",
                  t->opened_count,
                  t->opened_count == 1 ? "place was" : "places were",
                  count[DM_OUTCOME_CONFIRMED], count[DM_OUTCOME_REFUTED],
                  count[DM_OUTCOME_NEITHER], count[DM_OUTCOME_MISSED],
                  count[DM_OUTCOME_AGREES], count[DM_OUTCOME_NOT_READ]);
    return 15.0 + dm_paper_words(&s->paper, s->paper.left, y + 15.0,
                                 s->paper.right - s->paper.left, &dm_sheet_text,
                                 draw);
}

size_t dm_sheet_found(dm_sheet_page *s, size_t from, bool draw)
{
    const dm_sheet_tour *t = s->tour;
    double end = s->paper.page_height - DM_PAPER_MARGIN, y = DM_PAPER_MARGIN;
    size_t i;

    y += put_head(s, y, draw) + 1.0;
    for (i = from; i < t->opened_count; i++) {
        double high = put_place(s, &t->opened[i], y, false);

        /* One at least: the first always has room. */
        if (i > from && y + high > end)
            break;
        if (draw)
            put_place(s, &t->opened[i], y, true);
        y += high + GAP;
    }
    return i;
}
