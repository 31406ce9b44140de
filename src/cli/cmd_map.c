/* SPDX-License-Identifier: MIT
 * ductmark map: every reading on its tendon, streamed as CSV to stdout. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "cli/cmd.h"
#include "cli/opt.h"
#include "cli/session.h"
#include "ductmark/budget.h"

#define FLUSH_AT 65536

/* One value column of one stretch. */
typedef struct {
    const dm_tendon *tendon;
    const dm_run *run;
    const dm_event *event;
    const char *channel;
    dm_walker *walker;
    const dm_stations *stations; /* NULL: no budgets */
    size_t at_run, at_stretch;   /* indices into them */
} lane;

typedef struct {
    const char *only;
    session_wishes wishes;
} options;

static void face_cells(dm_buf *b, const dm_tendon *n, size_t face,
                       double variance)
{
    dm_buf_putc(b, ',');
    if (face != DM_NONE)
        dm_buf_csv(b, n->faces[face].id);
    dm_buf_putc(b, ',');
    if (face != DM_NONE && isfinite(variance))
        dm_buf_fixed(b, sqrt(variance), 4);
}

/* Of one bound: the roots of its items; empty without that face. */
static void budget_cells(dm_buf *b, const lane *l, double x, size_t face,
                         bool known)
{
    dm_budget budget =
        dm_budget_at(l->stations, l->at_run, l->at_stretch, x, face);
    for (int i = 0; i < DM_BUDGET_ITEMS; i++) {
        dm_buf_putc(b, ',');
        if (known)
            dm_buf_fixed(b, sqrt(budget.item[i]), 5);
    }
}

static void budget_head(dm_buf *b)
{
    static const char *const bounds[] = {"u", "u_back", "u_ahead"};
    for (int k = 0; k < 3; k++)
        for (int i = 0; i < DM_BUDGET_ITEMS; i++)
            dm_buf_printf(b, ",%s_%s_m", bounds[k],
                          dm_budget_text((dm_budget_item)i));
}

static void write_row(dm_buf *b, const lane *l, double x, double raw)
{
    dm_station_point p = dm_walker_at(l->walker, x);
    dm_vec3 q = dm_centreline_point(&l->tendon->line, p.t);
    dm_buf_csv(b, l->run->id);
    dm_buf_putc(b, ',');
    dm_buf_csv(b, l->tendon->id);
    dm_buf_putc(b, ',');
    dm_buf_csv(b, l->event->segment ? l->event->segment : "");
    dm_buf_putc(b, ',');
    dm_buf_csv(b, l->channel);
    const double numbers[] = {x, p.t, sqrt(p.world)};
    for (int i = 0; i < 3; i++) {
        dm_buf_putc(b, ',');
        dm_buf_fixed(b, numbers[i], 4);
    }
    face_cells(b, l->tendon, p.face_back, p.back);
    face_cells(b, l->tendon, p.face_ahead, p.ahead);
    const double place[] = {q.x, q.y, q.z};
    for (int i = 0; i < 3; i++) {
        dm_buf_putc(b, ',');
        dm_buf_fixed(b, place[i], 4);
    }
    dm_buf_puts(b, p.reconciled ? ",1," : ",0,");
    dm_buf_num(b, raw);
    if (l->stations) {
        bool back = p.face_back != DM_NONE, ahead = p.face_ahead != DM_NONE;
        budget_cells(b, l, x, DM_NONE, true);
        budget_cells(b, l, x, back ? p.face_back : DM_NONE, back);
        budget_cells(b, l, x, ahead ? p.face_ahead : DM_NONE, ahead);
    }
    dm_buf_putc(b, '\n');
}

/* All rows of one stretch, one value column after the other in each row. The
 * reader, opened if NULL, goes from stretch to stretch of a run, so that a
 * file is passed once. */
static dm_status map_rows(session *s, const lane *lanes, size_t count,
                          dm_readings **reader, dm_buf *text, int *code)
{
    dm_block block = {0};
    dm_status status = *reader
                           ? dm_readings_resume(*reader, lanes->event)
                           : dm_readings_open(s->campaign->survey, lanes->run,
                                              lanes->event, &s->diag, reader);
    while (status == DM_OK && *code == EXIT_FINE) {
        status = dm_readings_next(*reader, &block);
        if (status != DM_OK || block.count == 0)
            break;
        for (size_t i = 0; i < block.count; i++)
            for (size_t k = 0; k < count; k++)
                write_row(text, &lanes[k], block.x[i], block.value[k][i]);
        if (text->length >= FLUSH_AT) {
            *code = session_print(text);
            dm_buf_clear(text);
        }
    }
    return status;
}

static dm_status map_stretch(session *s, const dm_stations *stations,
                             size_t run, size_t stretch, dm_readings **reader,
                             dm_buf *text, int *code)
{
    enum { MOST = 16 };
    const dm_campaign *c = s->campaign;
    const dm_run_stations *r = &stations->runs[run];
    const dm_run *book = &c->survey->runs[r->run];
    const dm_columns *columns = &c->survey->columns[book->columns];
    lane lanes[MOST];
    size_t n = columns->value_count < MOST ? columns->value_count : MOST;
    dm_status status = DM_OK;
    size_t made = 0;
    for (; made < n && status == DM_OK; made++) {
        size_t channel = columns->channel[made];
        lanes[made] = (lane){
            .tendon = &c->model->tendons[stations->tendon],
            .run = book,
            .event = &book->events[r->stretches[stretch].event],
            .channel =
                c->survey->instruments[book->instrument].channels[channel].id,
            .stations = c->job->settings.budget ? stations : NULL,
            .at_run = run,
            .at_stretch = stretch};
        status = dm_walker_new(stations, c->model, c->survey, run, stretch,
                               channel, &lanes[made].walker);
    }
    if (status == DM_OK)
        status = map_rows(s, lanes, n, reader, text, code);
    for (size_t i = 0; i < made; i++)
        dm_walker_free(lanes[i].walker);
    return status;
}

/* A run that cannot be read is named and left out; what follows its last
 * stretch in a file is looked at too (dm_readings_sha256). */
static void map_run(session *s, const dm_stations *t, size_t run, dm_buf *text,
                    int *code)
{
    const dm_run_stations *r = &t->runs[run];
    dm_readings *reader = NULL;
    dm_status status = DM_OK;
    char hash[65];
    for (size_t j = 0; j < r->stretch_count && status == DM_OK; j++)
        status = map_stretch(s, t, run, j, &reader, text, code);
    if (status == DM_OK && reader && *code == EXIT_FINE)
        status = dm_readings_sha256(reader, hash);
    if (status != DM_OK)
        s->campaign->left_out++;
    dm_readings_close(reader);
}

static int map_all(session *s, void *user)
{
    const options *o = user;
    const char *only = o->only;
    dm_buf text = {0};
    int code = EXIT_FINE;
    bool found = !only;
    dm_buf_puts(&text,
                "run,tendon,segment,channel,run_distance_m,station_m,u_m,"
                "face_back,u_back_m,face_ahead,u_ahead_m,x_m,y_m,z_m,"
                "reconciled,raw");
    if (o->wishes.budget)
        budget_head(&text);
    dm_buf_putc(&text, '\n');
    for (size_t i = 0; i < s->campaign->model->tendon_count; i++) {
        const dm_stations *t = s->campaign->results[i].stations;
        for (size_t k = 0; k < t->run_count; k++) {
            const dm_run_stations *r = &t->runs[k];
            if (only && strcmp(s->campaign->survey->runs[r->run].id, only) != 0)
                continue;
            found = true;
            if (r->usable)
                map_run(s, t, k, &text, &code);
        }
    }
    if (!found) {
        fprintf(stderr, "ductmark map: no run '%s'\n", only);
        code = EXIT_INPUT;
    }
    if (code == EXIT_FINE)
        code = session_print(&text);
    dm_buf_free(&text);
    return code;
}

int cmd_map(int argc, char **argv)
{
    options o = {0};
    const opt opts[] = {
        {"run", OPT_TEXT, "ID", "this run only", &o.only},
        {"budget", OPT_FLAG, NULL, "columns of what each bound is made of",
         &o.wishes.budget},
        {"threads", OPT_COUNT, "N", "0: one per core (default)",
         &o.wishes.threads},
    };
    const usage u = {"map",
                     "JOB.xml",
                     "Prints every reading with its tendon station, X Y Z and "
                     "bounds as CSV.",
                     "u_m is the standard uncertainty against the world; "
                     "u_back_m and u_ahead_m\nare relative to the nearest "
                     "touchable faces. Lengths in metres.",
                     opts,
                     sizeof opts / sizeof *opts,
                     1,
                     1};
    return session_command(&u, argc, argv, DM_STAGE_STATIONS, &o.wishes,
                           map_all, &o);
}
