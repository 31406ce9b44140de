/* SPDX-License-Identifier: MIT
 * Run distances: into the station by walkers, back by the same pieces. A
 * walker is kept for the last part of a run that was asked for, so that sorted
 * rows cost no more than in `map`. */
#include <math.h>
#include <string.h>

#include "base/arena.h"
#include "ductmark/locate.h"

struct dm_locate_runs {
    dm_arena *arena;
    const dm_model *model;
    const dm_survey *survey;
    const dm_stations *const *stations;
    dm_walker *walker; /* of the place asked for last, or NULL */
    size_t run, stretch, channel;
};

dm_status dm_locate_runs_new(const dm_model *model, const dm_survey *survey,
                             const dm_stations *const *stations,
                             dm_locate_runs **out)
{
    dm_arena *arena = dm_arena_new();
    *out = arena ? DM_NEW(arena, dm_locate_runs) : NULL;
    if (!*out) {
        dm_arena_free(arena);
        return DM_NOMEM;
    }
    **out = (dm_locate_runs){
        .arena = arena, .model = model, .survey = survey, .stations = stations};
    return DM_OK;
}

void dm_locate_runs_free(dm_locate_runs *runs)
{
    if (!runs)
        return;
    dm_walker_free(runs->walker);
    dm_arena_free(runs->arena);
}

/* ---- in ----------------------------------------------------------------- */

/* Index into stations->runs; DM_NONE: left out. */
static size_t solved_run(const dm_stations *s, size_t run)
{
    for (size_t i = 0; s && i < s->run_count; i++)
        if (s->runs[i].run == run)
            return s->runs[i].usable ? i : DM_NONE;
    return DM_NONE;
}

/* Whether the readings of an event may have run distance x. Both sides of a
 * skip have one x: it is left to neither. */
static bool may_hold(const dm_event *e, const char *segment, double x)
{
    if (segment && segment[0] != '\0')
        return e->segment && strcmp(e->segment, segment) == 0;
    return !(x <= e->rows_from) && !(x >= e->rows_to);
}

static dm_locate_fault find_stretch(const dm_run *run, const dm_run_stations *r,
                                    const char *segment, double x,
                                    size_t *stretch)
{
    size_t events = 0, found = 0;
    for (size_t i = 0; i < run->event_count; i++)
        events += run->events[i].kind == DM_EVENT_READINGS &&
                  may_hold(&run->events[i], segment, x);
    for (size_t i = 0; i < r->stretch_count; i++) {
        if (!may_hold(&run->events[r->stretches[i].event], segment, x))
            continue;
        /* Readings without a skip between them share their pieces. */
        if (found > 0 &&
            r->stretches[i].pieces == r->stretches[*stretch].pieces)
            events--;
        else
            found++;
        *stretch = i;
    }
    bool named = segment && segment[0] != '\0';
    if (events == 0)
        return named ? DM_LOCATE_NO_SEGMENT : DM_LOCATE_WHICH_SEGMENT;
    if (events > 1)
        return DM_LOCATE_WHICH_SEGMENT;
    return found == 1 ? DM_LOCATE_OK : DM_LOCATE_UNUSABLE;
}

static bool take_walker(dm_locate_runs *runs, const dm_stations *s, size_t run,
                        size_t stretch, size_t channel)
{
    if (runs->walker && runs->run == s->runs[run].run &&
        runs->stretch == stretch && runs->channel == channel)
        return true;
    dm_walker_free(runs->walker);
    runs->walker = NULL;
    runs->run = s->runs[run].run;
    runs->stretch = stretch;
    runs->channel = channel;
    return dm_walker_new(s, runs->model, runs->survey, run, stretch, channel,
                         &runs->walker) == DM_OK;
}

dm_locate_fault dm_locate_run_distance(dm_locate_runs *runs, size_t run,
                                       const char *segment, size_t channel,
                                       double x, dm_station_point *out)
{
    const dm_run *book = &runs->survey->runs[run];
    const dm_stations *s = runs->stations[book->tendon];
    size_t solved = solved_run(s, run), stretch = 0;
    size_t channels = runs->survey->instruments[book->instrument].channel_count;
    if (solved == DM_NONE)
        return DM_LOCATE_UNUSABLE;
    if (channel == DM_NONE && channels != 1)
        return DM_LOCATE_WHICH_CHANNEL;
    dm_locate_fault fault =
        find_stretch(book, &s->runs[solved], segment, x, &stretch);
    if (fault != DM_LOCATE_OK)
        return fault;
    if (!take_walker(runs, s, solved, stretch,
                     channel == DM_NONE ? 0 : channel))
        return DM_LOCATE_NOMEM;
    *out = dm_walker_at(runs->walker, x);
    return DM_LOCATE_OK;
}

/* ---- out ---------------------------------------------------------------- */

typedef struct {
    dm_locate_reading *out;
    size_t most, count;
} found;

/* Whether a skip or rezero ends the readings of an event: what is behind the
 * last knot of its pieces was not read then. */
static bool is_ended(const dm_run *run, size_t event)
{
    for (size_t i = event + 1; i < run->event_count; i++)
        if (run->events[i].kind == DM_EVENT_SKIP ||
            run->events[i].kind == DM_EVENT_REZERO)
            return true;
    return false;
}

static void read_at(const dm_run_stations *r, const dm_run *run,
                    const dm_stretch *stretch, double l, found *f)
{
    bool ended = is_ended(run, stretch->event);
    double before = (double)NAN;
    /* Piece 0 ends where the readings begin. */
    for (size_t i = 1; i < stretch->piece_count; i++) {
        const dm_piece *p = &stretch->pieces[i];
        double x = p->x0 + (l - p->l) / p->slope;
        bool open = isinf(p->x1);
        /* A hair over a knot is on it: the next piece would not have it. */
        if (!(x >= p->x0 - 1e-9) || (open && ended && x > p->x0 + 1e-9) ||
            x > p->x1 || x - before < 1e-9)
            continue;
        if (f->count < f->most)
            f->out[f->count] = (dm_locate_reading){r->run, stretch->event, x};
        f->count++;
        before = x;
    }
}

size_t dm_locate_readings(const dm_locate_runs *runs, size_t tendon, size_t run,
                          size_t channel, double t, dm_locate_reading *out,
                          size_t most)
{
    const dm_stations *s = runs->stations[tendon];
    const dm_centreline *line = &runs->model->tendons[tendon].line;
    found f = {out, out ? most : 0, 0};
    if (!(t >= 0.0 && t <= line->length))
        return 0;
    for (size_t i = 0; s && i < s->run_count; i++) {
        const dm_run_stations *r = &s->runs[i];
        const dm_run *book = &runs->survey->runs[r->run];
        const dm_instrument *tool =
            &runs->survey->instruments[book->instrument];
        if (!r->usable || (run != DM_NONE && r->run != run))
            continue;
        size_t c = channel < tool->channel_count ? channel : 0;
        double lead = (r->direction == DM_SIDE_BACK ? -1.0 : 1.0) *
                      (double)book->leading * tool->channels[c].lead;
        double l = dm_outside_length(line, r->radius, book->clock, t) - lead;
        for (size_t k = 0; k < r->stretch_count; k++)
            if (k == 0 || r->stretches[k].pieces != r->stretches[k - 1].pieces)
                read_at(r, book, &r->stretches[k], l, &f);
    }
    return f.count;
}
