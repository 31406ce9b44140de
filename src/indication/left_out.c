/* SPDX-License-Identifier: MIT
 * The clock lines of a run, and what a run that had to be left out claims on
 * them: somebody was there, but nothing was read that can be used. */
#include <math.h>

#include "indication/line.h"

dm_status dm_line_take(dm_finder *f, const dm_run *run, size_t channel,
                       size_t *line)
{
    const dm_instrument *in = &f->survey->instruments[run->instrument];
    const dm_channel *c = &in->channels[channel];
    double clock = fmod(run->clock + c->clock_offset, 6.283185307179586);

    clock += clock < 0.0 ? 6.283185307179586 : 0.0;
    return dm_clock_line_take(
        f,
        (dm_clock_line){clock, c->footprint_around,
                        in->nose + in->tail + c->footprint_along},
        line);
}

/* Claims one length on every line of the run. */
static dm_status claim_on_lines(dm_finder *f, const dm_run *run,
                                dm_cover_length length)
{
    const dm_columns *columns = &f->survey->columns[run->columns];
    dm_status status = DM_OK;

    for (size_t c = 0; c < columns->value_count && status == DM_OK; c++) {
        size_t line = 0;

        status = dm_line_take(f, run, columns->channel[c], &line);
        if (status == DM_OK)
            status = dm_claim_add(f, line, length);
    }
    return status;
}

dm_status dm_claim_unusable(dm_finder *f, const dm_run *run)
{
    const char *reason =
        dm_arena_printf(f->arena, "run %s left out: it has no place", run->id);

    return reason == NULL
               ? DM_NOMEM
               : claim_on_lines(f, run,
                                (dm_cover_length){0.0, f->tendon->line.length,
                                                  DM_COVER_NOT_TESTED,
                                                  DM_WHY_LEFT_OUT, reason});
}

/* Whether a place was taken after the readings of a run's last stretch. */
static bool ends_at_a_tie(const dm_run_work *w)
{
    size_t last = w->stations->stretches[w->stations->stretch_count - 1].event;

    for (size_t i = last + 1; i < w->run->event_count; i++)
        if (w->run->events[i].kind == DM_EVENT_TIE)
            return true;
    return false;
}

/* Where the readings of a stretch lay, from its first place to its last; those
 * after a run's last place may have gone on to the tendon's end. */
static dm_status stretch_extent(dm_finder *f, const dm_run_work *w, size_t s,
                                dm_cover_length *l)
{
    const dm_stretch *stretch = &w->stations->stretches[s];
    double x[2], t[2];
    dm_walker *walker = NULL;
    dm_status status;

    l->from = 0.0;
    l->to = f->tendon->line.length;
    if (stretch->piece_count < 2) /* nothing places it */
        return DM_OK;
    /* The first and the last piece are open. */
    x[0] = stretch->pieces[0].x1;
    x[1] = stretch->pieces[stretch->piece_count - 1].x0;
    status =
        dm_walker_new(f->stations, f->model, f->survey, w->at, s, 0, &walker);
    if (status != DM_OK)
        return status;
    dm_walker_map(walker, x, 2, t, NULL);
    dm_walker_free(walker);
    if (s + 1 == w->stations->stretch_count && !ends_at_a_tie(w))
        t[1] = w->stations->direction == DM_SIDE_AHEAD ? f->tendon->line.length
                                                       : 0.0;
    l->from = fmin(t[0], t[1]);
    l->to = fmax(t[0], t[1]);
    return DM_OK;
}

/* Where a run that had to be left out would have been, its skips with it. */
dm_status dm_claim_left_out(dm_finder *f, const dm_run_work *w)
{
    dm_cover_length l = {
        .from = HUGE_VAL,
        .to = -HUGE_VAL,
        .cover = DM_COVER_NOT_TESTED,
        .why = DM_WHY_LEFT_OUT,
        .reason = dm_arena_printf(f->arena, "readings of run %s left out",
                                  w->run->id)};
    dm_status status = l.reason == NULL ? DM_NOMEM : DM_OK;

    for (size_t s = 0; s < w->stations->stretch_count && status == DM_OK; s++) {
        dm_cover_length one = {0};

        status = stretch_extent(f, w, s, &one);
        l.from = fmin(l.from, one.from);
        l.to = fmax(l.to, one.to);
    }
    return status == DM_OK && l.from < l.to ? claim_on_lines(f, w->run, l)
                                            : status;
}
