/* SPDX-License-Identifier: MIT
 * ductmark budget: what the bounds of stations are made of, at places asked
 * for or where they are greatest. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/arena.h"
#include "base/num.h"
#include "cli/budget_text.h"
#include "cli/cmd.h"
#include "cli/session.h"
#include "ductmark/locate.h"

#define MOST_STATIONS 64

typedef struct {
    const char *tendon, *run, *at;
    bool as_json;
    double stations[MOST_STATIONS]; /* of `at`, m */
    size_t station_count;
    size_t only_tendon, only_run; /* DM_NONE: all */
} options;

typedef struct {
    budget_place *items;
    size_t count, capacity;
} places;

/* ---- one place ----------------------------------------------------------- */

/* A stretch of a run under way. */
typedef struct {
    const dm_campaign *campaign;
    const dm_stations *stations;
    size_t run, stretch; /* indices into the stations */
    dm_walker *walker;
} spot;

static dm_status set_out(const dm_campaign *c, const dm_stations *st,
                         size_t run, size_t stretch, spot *out)
{
    *out = (spot){c, st, run, stretch, NULL};
    const dm_run *book = &c->survey->runs[st->runs[run].run];
    const dm_columns *columns = &c->survey->columns[book->columns];
    return dm_walker_new(st, c->model, c->survey, run, stretch,
                         columns->channel[0], &out->walker);
}

static dm_budget budget_of(const spot *s, double x, size_t face)
{
    return dm_budget_at(s->stations, s->run, s->stretch, x, face);
}

static dm_status add_place(const spot *s, double x, budget_reason why,
                           places *out)
{
    const dm_campaign *c = s->campaign;
    const dm_run_stations *r = &s->stations->runs[s->run];
    if (!DM_GROW(out->items, out->count, out->capacity))
        return DM_NOMEM;
    budget_place *p = &out->items[out->count++];
    *p = (budget_place){.tendon = &c->model->tendons[s->stations->tendon],
                        .run = &c->survey->runs[r->run],
                        .why = why,
                        .x = x,
                        .at = dm_walker_at(s->walker, x),
                        .world = budget_of(s, x, DM_NONE)};
    p->event = &p->run->events[r->stretches[s->stretch].event];
    if (p->at.face_back != DM_NONE)
        p->back = budget_of(s, x, p->at.face_back);
    if (p->at.face_ahead != DM_NONE)
        p->ahead = budget_of(s, x, p->at.face_ahead);
    return DM_OK;
}

/* ---- places asked for ---------------------------------------------------- */

static dm_status add_reading(const dm_campaign *c, const dm_stations *st,
                             const dm_locate_reading *at, places *out)
{
    for (size_t i = 0; i < st->run_count; i++)
        for (size_t k = 0;
             st->runs[i].run == at->run && k < st->runs[i].stretch_count; k++) {
            spot s;
            if (st->runs[i].stretches[k].event != at->event)
                continue;
            dm_status status = set_out(c, st, i, k, &s);
            if (status == DM_OK)
                status = add_place(&s, at->x, BUDGET_ASKED_FOR, out);
            dm_walker_free(s.walker);
            return status;
        }
    return DM_OK;
}

static dm_status add_asked(const dm_campaign *c, const options *o,
                           const dm_locate_runs *runs, size_t tendon,
                           places *out)
{
    enum { MOST = 256 };
    dm_locate_reading at[MOST];
    for (size_t k = 0; k < o->station_count; k++) {
        size_t n = dm_locate_readings(runs, tendon, o->only_run, DM_NONE,
                                      o->stations[k], at, MOST);
        for (size_t i = 0; i < n && i < MOST; i++)
            if (add_reading(c, c->results[tendon].stations, &at[i], out) !=
                DM_OK)
                return DM_NOMEM;
    }
    return DM_OK;
}

/* ---- the greatest bounds --------------------------------------------------
 */

typedef struct {
    spot spot; /* without its walker */
    double x, variance;
    bool known;
} greatest;

static void see(greatest *g, const spot *s, double x, double variance)
{
    if (g->known && !(variance > g->variance))
        return;
    *g = (greatest){*s, x, variance, true};
    g->spot.walker = NULL;
}

/* A crew tapes from the face with the smaller bound. */
static void look_at(const spot *s, double x, greatest *world, greatest *face)
{
    dm_station_point p = dm_walker_at(s->walker, x);
    double v = fmin(p.back, p.ahead); /* of one that is NAN: the other */
    if (!p.reconciled)
        return;
    see(world, s, x, p.world);
    if (!isnan(v))
        see(face, s, x, v);
}

/* A run whose file cannot be read is named and left out. */
static dm_status look_along(session *s, const dm_stations *st, size_t run,
                            greatest *world, greatest *face)
{
    const dm_run_stations *r = &st->runs[run];
    const dm_run *book = &s->campaign->survey->runs[r->run];
    dm_readings *reader = NULL;
    dm_block block = {0};
    dm_status status = DM_OK;
    for (size_t k = 0; k < r->stretch_count && status == DM_OK; k++) {
        const dm_event *event = &book->events[r->stretches[k].event];
        spot here;
        if (set_out(s->campaign, st, run, k, &here) != DM_OK) {
            dm_readings_close(reader);
            return DM_NOMEM;
        }
        status = reader ? dm_readings_resume(reader, event)
                        : dm_readings_open(s->campaign->survey, book, event,
                                           &s->diag, &reader);
        while (status == DM_OK) {
            status = dm_readings_next(reader, &block);
            if (status != DM_OK || block.count == 0)
                break;
            for (size_t i = 0; i < block.count; i++)
                look_at(&here, block.x[i], world, face);
        }
        dm_walker_free(here.walker);
    }
    dm_readings_close(reader);
    s->campaign->left_out += status != DM_OK;
    return DM_OK;
}

static dm_status add_greatest(const greatest *g, budget_reason why, places *out)
{
    if (!g->known)
        return DM_OK;
    spot s;
    dm_status status = set_out(g->spot.campaign, g->spot.stations, g->spot.run,
                               g->spot.stretch, &s);
    if (status == DM_OK)
        status = add_place(&s, g->x, why, out);
    dm_walker_free(s.walker);
    return status;
}

static dm_status add_extremes(session *s, const options *o,
                              const dm_stations *st, places *out)
{
    greatest world = {.known = false}, face = {.known = false};
    for (size_t i = 0; i < st->run_count; i++) {
        const dm_run_stations *r = &st->runs[i];
        if (o->only_run != DM_NONE && o->only_run != r->run)
            continue;
        if (r->usable && look_along(s, st, i, &world, &face) != DM_OK)
            return DM_NOMEM;
    }
    dm_status status = add_greatest(&world, BUDGET_WORLD, out);
    return status == DM_OK ? add_greatest(&face, BUDGET_FACE, out) : status;
}

/* ---- the command --------------------------------------------------------- */

static bool parse_stations(options *o)
{
    for (const char *at = o->at; at && *at != '\0';) {
        size_t n = strcspn(at, ",");
        double t;
        if (o->station_count == MOST_STATIONS || !dm_num_parse(at, n, '.', &t))
            return false;
        o->stations[o->station_count++] = t;
        at += n + (at[n] == ',');
    }
    return !o->at || o->station_count > 0;
}

static bool find_names(const dm_campaign *c, options *o)
{
    for (size_t i = 0; o->tendon && i < c->model->tendon_count; i++)
        if (strcmp(c->model->tendons[i].id, o->tendon) == 0)
            o->only_tendon = i;
    for (size_t i = 0; o->run && i < c->survey->run_count; i++)
        if (strcmp(c->survey->runs[i].id, o->run) == 0)
            o->only_run = i;
    if (o->tendon && o->only_tendon == DM_NONE)
        fprintf(stderr, "ductmark budget: no tendon '%s'\n", o->tendon);
    else if (o->run && o->only_run == DM_NONE)
        fprintf(stderr, "ductmark budget: no run '%s'\n", o->run);
    else
        return true;
    return false;
}

static dm_status collect(session *s, const options *o, places *out)
{
    const dm_campaign *c = s->campaign;
    size_t n = c->model->tendon_count;
    const dm_stations **stations = calloc(n, sizeof *stations);
    dm_locate_runs *runs = NULL;
    dm_status status = DM_NOMEM;
    for (size_t i = 0; stations && i < n; i++)
        stations[i] = c->results[i].stations;
    if (stations)
        status = dm_locate_runs_new(c->model, c->survey, stations, &runs);
    for (size_t i = 0; status == DM_OK && i < n; i++) {
        if (o->only_tendon != DM_NONE && o->only_tendon != i)
            continue;
        status = o->at ? add_asked(c, o, runs, i, out)
                       : add_extremes(s, o, stations[i], out);
    }
    dm_locate_runs_free(runs);
    free(stations);
    return status;
}

static int print_budgets(session *s, void *user)
{
    options *o = user;
    places found = {NULL, 0, 0};
    dm_buf text = {0};
    if (!find_names(s->campaign, o))
        return EXIT_INPUT;
    text.failed = collect(s, o, &found) != DM_OK;
    budget_report report = {s->campaign->job, found.items, found.count};
    if (o->as_json)
        dm_budget_json(&report, &text);
    else if (o->at)
        budget_text(&report, &text);
    else
        budget_table(&report, &text);
    int code = session_print(&text);
    dm_buf_free(&text);
    free(found.items);
    return code;
}

int cmd_budget(int argc, char **argv)
{
    options o = {.only_tendon = DM_NONE, .only_run = DM_NONE};
    session_wishes wishes = {.budget = true};
    const opt opts[] = {
        {"at", OPT_TEXT, "LIST", "tendon stations, m, such as 12.40,30", &o.at},
        {"tendon", OPT_TEXT, "ID", "this tendon only", &o.tendon},
        {"run", OPT_TEXT, "ID", "this run only", &o.run},
        {"json", OPT_FLAG, NULL, "print JSON", &o.as_json},
        {"threads", OPT_COUNT, "N", "0: one per core (default)",
         &wishes.threads},
    };
    const usage u = {
        "budget",
        "JOB.xml",
        "Says how far off stations may be, and what that comes of.",
        "U against the world (for models) and from each neighbouring face (for "
        "tapes):\nscale and walk of the encoder, skips, ties, faces, tapes, "
        "accepted corrections.\nWithout --at: of each tendon the readings with "
        "the greatest bounds; lengths that\nare not reconciled are passed "
        "over. "
        "Every reading: ductmark map --budget.",
        opts,
        sizeof opts / sizeof *opts,
        1,
        1};
    int code;
    if (!session_words(&u, argc, argv, &code))
        return code;
    if (!parse_stations(&o)) {
        fprintf(stderr,
                "ductmark budget: --at is a list of at most %d tendon "
                "stations in metres, such as 12.40,30, not '%s'\n",
                MOST_STATIONS, o.at);
        return EXIT_INPUT;
    }
    return session_on_job(argv[0], DM_STAGE_STATIONS, &wishes, print_budgets,
                          &o);
}
