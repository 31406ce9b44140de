/* SPDX-License-Identifier: MIT
 * One run: its readings, streamed into cells; cells to strips of index over
 * tendon station; strips to sightings, claims on coverage, and profiles.
 *
 * Cells are a twentieth of the footprint, joined where the readings are
 * further apart. A strip ends where half a footprint went unread, at a stated
 * lift and where the duct cannot be read. Limit: a run's cells are held at
 * once (about 200 a metre), its rows never. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/diag.h"
#include "base/num.h"
#include "indication/line.h"

#define TWO_PI 6.283185307179586476925

static void line_free(dm_run_line *l)
{
    for (size_t i = 0; i < l->count; i++) {
        free(l->strips[i].t); /* one block, see new_strip */
        free(l->strips[i].bad);
    }
    free(l->strips);
    free(l->stretch);
    free(l->extents);
}

static bool new_strip(dm_run_line *l, size_t stretch, size_t cells)
{
    dm_strip s = {0};
    size_t bytes;

    if (!dm_size_mul(cells, 5 * sizeof(double), &bytes))
        return false;
    if ((l->count == l->capacity &&
         !DM_GROW(l->strips, l->count, l->capacity)) ||
        (l->count == l->stretch_capacity &&
         !DM_GROW(l->stretch, l->count, l->stretch_capacity)))
        return false;
    s.t = malloc(bytes);
    s.bad = calloc(2, cells);
    if (s.t == NULL || s.bad == NULL) {
        free(s.t);
        free(s.bad);
        return false;
    }
    s.x = s.t + cells;
    s.index = s.x + cells;
    s.smooth = s.index + cells;
    s.base = s.smooth + cells;
    s.unreconciled = s.bad + cells;
    l->strips[l->count] = s;
    l->stretch[l->count++] = stretch;
    return true;
}

/* ---- rows to bins ---- */

static const dm_event *stretch_event(const dm_run_work *w, size_t stretch)
{
    return &w->run->events[w->stations->stretches[stretch].event];
}

static dm_status read_stretch(dm_finder *f, dm_run_work *w, size_t stretch,
                              dm_readings *readings)
{
    const dm_event *event = stretch_event(w, stretch);
    dm_status status = DM_OK;
    dm_block block;

    while (status == DM_OK) {
        size_t bad = 0;

        status = dm_readings_next(readings, &block);
        if (status != DM_OK || block.count == 0)
            break;
        status = dm_bins_add(&w->bins[stretch], block.x, block.value,
                             block.count, &bad);
        f->out->reading_count += block.count;
        if (status == DM_OK && f->watch != NULL)
            status = f->watch->rows(f->watch->user, w, stretch, &block);
        if (status == DM_RANGE) {
            char x[DM_NUM_SIZE];

            dm_num_fixed(x, block.x[bad], 3);
            dm_error(f->diag, DM_RANGE,
                     (dm_place){event->href, block.first_line + (long)bad},
                     w->columns->x,
                     "run distance %s m lies further from the first than the "
                     "tendon is long; run %s left out",
                     x, w->run->id);
        }
    }
    return status;
}

dm_status dm_hash_keep(dm_finder *f, dm_readings *readings, const char *path)
{
    char hex[65];
    dm_status status = dm_readings_sha256(readings, hex);

    if (status != DM_OK)
        return status;
    f->out->hashes[f->out->hash_count] =
        dm_arena_printf(f->arena, "%s  %s", hex, path);
    return f->out->hashes[f->out->hash_count++] != NULL ? DM_OK : DM_NOMEM;
}

/* Every stretch is read, so that all bad rows are told; one reader goes
 * through them, so that each file is read once. */
static dm_status read_stretches(dm_finder *f, dm_run_work *w)
{
    size_t n = w->stations->stretch_count;
    dm_readings *readings = NULL;
    dm_status status = DM_OK;

    for (size_t s = 0; s < n; s++) {
        const dm_event *event = stretch_event(w, s);
        dm_status one = readings != NULL
                            ? dm_readings_resume(readings, event)
                            : dm_readings_open(f->survey, w->run, event,
                                               f->diag, &readings);

        if (readings == NULL) { /* said once, not for every stretch */
            status = one;
            break;
        }
        if (one == DM_OK)
            one = read_stretch(f, w, s, readings);
        if (one == DM_OK &&
            (s + 1 == n ||
             strcmp(event->href, stretch_event(w, s + 1)->href) != 0))
            one = dm_hash_keep(f, readings, event->href);
        status = status == DM_OK ? one : status;
    }
    dm_readings_close(readings);
    return status;
}

static dm_status read_all(dm_finder *f, dm_run_work *w)
{
    size_t n = w->stations->stretch_count;
    double pitch = HUGE_VAL, most;
    dm_status status = DM_OK;

    for (size_t c = 0; c < w->columns->value_count; c++) {
        size_t channel = w->columns->channel[c];

        pitch = fmin(pitch, w->instrument->channels[channel].footprint_along /
                                DM_CELLS_PER_FOOTPRINT);
    }
    most = (4.0 * f->tendon->line.length + 40.0) / pitch;
    if (!(most < 2e7))
        most = 2e7;
    for (size_t s = 0; s < n; s++)
        dm_bins_init(&w->bins[s], pitch, w->columns->value_count, (size_t)most);
    status = read_stretches(f, w);
    w->factor = 1;
    for (size_t s = 0; s < n && status == DM_OK; s++) {
        size_t factor = dm_bins_factor(&w->bins[s], 10);

        w->factor = factor > w->factor ? factor : w->factor;
    }
    return status;
}

/* ---- bins to strips ---- */

typedef struct {
    double *x, *t, *v;
    unsigned char *state; /* per cell */
    size_t count;
} cells;

enum {
    CELL_GOOD = 0,
    CELL_UNRECONCILED = 1,
    CELL_LIFT = 2,
    CELL_OUT = 4,
    CELL_NO_CALIBRATION = 8,
    CELL_CUT = CELL_LIFT | CELL_OUT | CELL_NO_CALIBRATION
};

/* The readings event before a lift holds it. */
static void mark_lifts(const dm_run_work *w, size_t stretch, cells *c)
{
    size_t event = w->stations->stretches[stretch].event;

    for (size_t i = event + 1; i < w->run->event_count; i++) {
        const dm_event *e = &w->run->events[i];

        if (e->kind == DM_EVENT_READINGS)
            break;
        for (size_t k = 0; e->kind == DM_EVENT_LIFT && k < c->count; k++)
            if (c->x[k] >= fmin(e->x, e->x_to) &&
                c->x[k] <= fmax(e->x, e->x_to))
                c->state[k] |= CELL_LIFT;
    }
}

static void mark_unreconciled(const dm_stretch *s, cells *c)
{
    size_t p = 0;

    for (size_t k = 0; k < c->count && s->piece_count > 0; k++) {
        while (p + 1 < s->piece_count && c->x[k] > s->pieces[p].x1)
            p++;
        if (!s->pieces[p].reconciled)
            c->state[k] |= CELL_UNRECONCILED;
    }
}

static void reverse(double *v, size_t n)
{
    for (size_t i = 0; i < n / 2; i++) {
        double keep = v[i];

        v[i] = v[n - 1 - i];
        v[n - 1 - i] = keep;
    }
}

/* Turns the order to that of the stations; cells that fall back against it
 * (never with a sound mean of x) are left out. */
static void order_cells(cells *c, bool backwards)
{
    size_t n = 0;

    if (backwards) {
        reverse(c->x, c->count);
        reverse(c->t, c->count);
        reverse(c->v, c->count);
        for (size_t i = 0; i < c->count / 2; i++) {
            unsigned char keep = c->state[i];

            c->state[i] = c->state[c->count - 1 - i];
            c->state[c->count - 1 - i] = keep;
        }
    }
    for (size_t i = 0; i < c->count; i++) {
        if (!isfinite(c->t[i]) || (n > 0 && !(c->t[i] > c->t[n - 1])))
            continue;
        c->x[n] = c->x[i];
        c->t[n] = c->t[i];
        c->v[n] = c->v[i];
        c->state[n++] = c->state[i];
    }
    c->count = n;
}

static void no_calibration(dm_finder *f, const dm_run_work *w,
                           const dm_run_line *l, const dm_duct_type *type)
{
    if (w->said->calibration)
        return;
    w->said->calibration = true;
    dm_run_count(f, w);
    dm_error(f->diag, DM_REFERENCE, w->run->place, w->run->id,
             "no calibration of instrument %s, channel %s for duct type %s; "
             "its readings there are not valid",
             w->instrument->id, w->instrument->channels[l->channel].id,
             type->id);
}

static void steel(dm_finder *f, dm_run_work *w, const dm_duct_type *type,
                  double from, double to, double footprint)
{
    char a[DM_NUM_SIZE], b[DM_NUM_SIZE];

    if (w->said->steel || to - from < footprint)
        return;
    w->said->steel = true;
    dm_run_count(f, w);
    dm_num_fixed(a, from, 3);
    dm_num_fixed(b, to, 3);
    dm_error(f->diag, DM_UNSUPPORTED, w->run->place, w->run->id,
             "readings on duct type %s (steel) at tendon stations %s m to %s "
             "m: this kind of sensor cannot read through steel; left out",
             type->id, a, b);
}

/* Gain, offset and drift of the run, against its first calibration. */
static dm_status use_checks(dm_finder *f, dm_run_work *w, dm_run_line *l,
                            const dm_calibration *cal)
{
    dm_status status =
        dm_gain_of_run(f, w->run, l->channel, cal, l->clock, &l->gain);
    double drift, limit = f->settings->check_drift;
    char is[DM_NUM_SIZE], most[DM_NUM_SIZE];

    if (status != DM_OK)
        return status;
    l->calibration = cal;
    drift = dm_drift_of_run(w->run, l->channel, cal, l->clock, &l->gain);
    if (!(drift > limit))
        return DM_OK;
    l->drifted = true;
    dm_run_count(f, w);
    dm_num_fixed(is, drift, 3);
    dm_num_shortest(most, limit);
    dm_error(f->diag, DM_RANGE, w->run->place, w->run->id,
             "the checks of channel %s differ by %s of the step from reference "
             "to air, at most %s was expected; its readings are not valid",
             w->instrument->channels[l->channel].id, is, most);
    return DM_OK;
}

/* Raw to index, one duct type at a time. */
static dm_status to_index(dm_finder *f, dm_run_work *w, dm_run_line *l,
                          cells *c)
{
    for (size_t i = 0, d = 0; i < c->count;) {
        const dm_duct_length *duct;
        const dm_duct_type *type;
        const dm_calibration *cal;
        size_t first = i;
        double reference;

        while (d + 1 < f->tendon->duct_count &&
               c->t[i] >= f->tendon->ducts[d].to)
            d++;
        duct = &f->tendon->ducts[d];
        type = &f->model->duct_types[duct->duct_type];
        while (i < c->count &&
               (c->t[i] < duct->to || d + 1 == f->tendon->duct_count))
            i++;
        if (strcmp(type->material, "steel") == 0) {
            memset(c->state + first, CELL_OUT, i - first);
            steel(f, w, type, c->t[first], c->t[i - 1], l->footprint);
            continue;
        }
        cal = dm_survey_calibration(f->survey, duct->duct_type,
                                    w->run->instrument, l->channel);
        if (cal == NULL) {
            for (size_t k = first; k < i; k++)
                c->state[k] |= CELL_NO_CALIBRATION;
            no_calibration(f, w, l, type);
            continue;
        }
        if (l->calibration == NULL) {
            dm_status status = use_checks(f, w, l, cal);

            if (status != DM_OK)
                return status;
        }
        if (!w->said->wall && c->t[i - 1] - c->t[first] > l->footprint)
            w->said->wall = dm_wall_remark(f, w->run, cal, type);
        reference = dm_reference_at(cal, l->clock);
        for (size_t k = first; k < i; k++)
            c->v[k] = (reference - (l->gain.offset + l->gain.gain * c->v[k])) /
                      (reference - cal->air);
    }
    return DM_OK;
}

/* Cuts ordered cells into strips. */
static bool cut_strips(dm_run_line *l, size_t stretch, const cells *c)
{
    double gap = 0.5 * l->footprint;

    for (size_t i = 0; i < c->count;) {
        size_t first = i, n;
        dm_strip *s;

        if (c->state[i] & CELL_CUT) {
            i++;
            continue;
        }
        do {
            i++;
        } while (i < c->count && !(c->state[i] & CELL_CUT) &&
                 c->t[i] - c->t[i - 1] <= gap);
        n = i - first;
        if (!new_strip(l, stretch, n))
            return false;
        s = &l->strips[l->count - 1];
        s->count = n;
        memcpy(s->t, c->t + first, n * sizeof(double));
        memcpy(s->x, c->x + first, n * sizeof(double));
        memcpy(s->index, c->v + first, n * sizeof(double));
        for (size_t k = 0; k < n; k++)
            s->unreconciled[k] = c->state[first + k] & CELL_UNRECONCILED;
        s->pitch = n > 1 ? (s->t[n - 1] - s->t[0]) / (double)(n - 1)
                         : gap / DM_CELLS_PER_FOOTPRINT;
        memset(s->base, 0, n * sizeof(double));
        dm_strip_smooth(s, l->footprint);
    }
    return true;
}

static const char *lift_reason(const dm_run_work *w, size_t stretch)
{
    for (size_t i = w->stations->stretches[stretch].event + 1;
         i < w->run->event_count; i++)
        if (w->run->events[i].kind == DM_EVENT_LIFT &&
            w->run->events[i].reason != NULL)
            return w->run->events[i].reason;
    return "lift-off";
}

/* Where a claim of cells ends between two of them: in the middle, as that of
 * the strip beside it, or at the cell where none is near. */
static double between(const cells *c, size_t i, size_t other, double gap)
{
    return other < c->count && fabs(c->t[other] - c->t[i]) <= gap
               ? 0.5 * (c->t[other] + c->t[i])
               : c->t[i];
}

/* Claims the cells of a state as not valid. */
static dm_status claim_cells(dm_finder *f, const dm_run_line *l, const cells *c,
                             unsigned char state, dm_why why,
                             const char *reason)
{
    double gap = 0.5 * l->footprint;
    dm_status status = DM_OK;

    for (size_t i = 0; i < c->count && status == DM_OK; i++) {
        size_t first = i;

        /* One that lies beyond the tendon or on steel is no reading. */
        while (i < c->count && (c->state[i] & state) &&
               !(c->state[i] & CELL_OUT) &&
               (i == first || c->t[i] - c->t[i - 1] <= gap))
            i++;
        if (i == first)
            continue;
        status =
            dm_claim_add(f, l->clock_line,
                         (dm_cover_length){between(c, first, first - 1, gap),
                                           between(c, i - 1, i, gap),
                                           DM_COVER_NOT_VALID, why, reason});
        i--; /* the loop steps on */
    }
    return status;
}

static dm_status claim_not_valid(dm_finder *f, const dm_run_work *w,
                                 dm_run_line *l, size_t stretch, const cells *c)
{
    dm_status status = claim_cells(f, l, c, CELL_LIFT, DM_WHY_LIFT_OFF,
                                   lift_reason(w, stretch));

    l->extents[stretch] = c->count > 0
                              ? (dm_extent){c->t[0], c->t[c->count - 1]}
                              : (dm_extent){HUGE_VAL, -HUGE_VAL};
    if (status != DM_OK)
        return status;
    return claim_cells(f, l, c, CELL_NO_CALIBRATION, DM_WHY_NO_CALIBRATION,
                       "no calibration for this duct type");
}

static dm_status strips_of_stretch(dm_finder *f, dm_run_work *w, dm_run_line *l,
                                   size_t stretch)
{
    const dm_stretch *s = &w->stations->stretches[stretch];
    const dm_bins *bins = &w->bins[stretch];
    size_t n = dm_bins_cells_max(bins, w->factor), columns = bins->columns;
    double *block = calloc(n + 1, (2 + columns) * sizeof *block);
    double **value = calloc(columns + 1, sizeof *value);
    unsigned char *state = calloc(n + 1, 1);
    dm_walker *walker = NULL;
    dm_status status = DM_NOMEM;
    cells c = {0};

    if (block == NULL || value == NULL || state == NULL)
        goto out;
    status = DM_OK;
    if (n == 0)
        goto out;
    for (size_t k = 0; k < columns; k++)
        value[k] = block + (2 + k) * n;
    c = (cells){block, block + n, value[l->column], state, 0};
    c.count = dm_bins_cells(bins, w->factor, c.x, value);
    status = dm_walker_new(f->stations, f->model, f->survey, w->at, stretch,
                           l->channel, &walker);
    if (status != DM_OK)
        goto out;
    dm_walker_map(walker, c.x, c.count, c.t, NULL);
    if (l->column == 0 && c.count > 0)
        dm_walker_greatest(walker, w->stations->run, c.x[0], c.x[c.count - 1],
                           &f->out->greatest_world, &f->out->greatest_face);
    mark_lifts(w, stretch, &c);
    mark_unreconciled(s, &c);
    order_cells(&c, w->stations->direction == DM_SIDE_BACK);
    for (size_t k = 0; k < c.count; k++)
        if (c.t[k] < 0.0 || c.t[k] > f->tendon->line.length)
            c.state[k] |= CELL_OUT;
    status = to_index(f, w, l, &c);
    if (status == DM_OK)
        status = claim_not_valid(f, w, l, stretch, &c);
    if (status == DM_OK && !cut_strips(l, stretch, &c))
        status = DM_NOMEM;
out:
    dm_walker_free(walker);
    free(block);
    free(value);
    free(state);
    return status;
}

static dm_status build_line(dm_finder *f, dm_run_work *w, size_t column,
                            dm_run_line *l)
{
    size_t channel = w->columns->channel[column];
    const dm_channel *c = &w->instrument->channels[channel];
    dm_status status = dm_line_take(f, w->run, channel, &l->clock_line);

    l->channel = channel;
    l->column = column;
    l->clock = fmod(w->run->clock + c->clock_offset, TWO_PI);
    l->clock += l->clock < 0.0 ? TWO_PI : 0.0;
    l->footprint = c->footprint_along;
    l->extents = calloc(w->stations->stretch_count + 1, sizeof *l->extents);
    if (l->extents == NULL)
        return DM_NOMEM;
    for (size_t s = 0; s < w->stations->stretch_count; s++)
        l->extents[s] = (dm_extent){HUGE_VAL, -HUGE_VAL};
    for (size_t s = 0; s < w->stations->stretch_count && status == DM_OK; s++)
        status = strips_of_stretch(f, w, l, s);
    return status;
}

/* All channels are built before any is searched: a fault in one leaves the
 * whole run out. */
static dm_status lines_of_run(dm_finder *f, dm_run_work *w)
{
    size_t n = w->columns->value_count;
    dm_run_line *lines = calloc(n + 1, sizeof *lines);
    dm_status status = lines != NULL ? DM_OK : DM_NOMEM;

    for (size_t c = 0; c < n && status == DM_OK; c++)
        status = build_line(f, w, c, &lines[c]);
    for (size_t c = 0; c < n && status == DM_OK; c++)
        status = dm_line_search(f, w, &lines[c]);
    for (size_t c = 0; c < n && status == DM_OK && f->watch != NULL; c++)
        status = f->watch->line(f->watch->user, w, &lines[c]);
    if (status == DM_OK)
        status = dm_turns_of_run(f, w, lines);
    for (size_t c = 0; c < n && lines != NULL; c++)
        line_free(&lines[c]);
    free(lines);
    return status;
}

dm_status dm_find_in_run(dm_finder *f, size_t at)
{
    dm_run_said said = {false, false, false, false};
    const dm_run_stations *stations = &f->stations->runs[at];
    const dm_run *run = &f->survey->runs[stations->run];
    dm_run_work w = {.run = run,
                     .stations = stations,
                     .at = at,
                     .instrument = &f->survey->instruments[run->instrument],
                     .columns = &f->survey->columns[run->columns],
                     .factor = 1,
                     .said = &said};
    size_t sightings = f->sightings.count, claims = f->claims.count;
    dm_greatest world = f->out->greatest_world, face = f->out->greatest_face;
    size_t turns = f->turn_count;
    dm_status status;

    w.bins = calloc(stations->stretch_count + 1, sizeof *w.bins);
    if (w.bins == NULL)
        return DM_NOMEM;
    status = read_all(f, &w);
    if (status == DM_OK)
        status = lines_of_run(f, &w);
    if (status != DM_OK && status != DM_NOMEM) {
        /* Said where it was found; nothing of this run is kept. */
        f->sightings.count = sightings;
        f->claims.count = claims;
        f->out->greatest_world = world;
        f->out->greatest_face = face;
        f->turn_count = turns;
        dm_run_count(f, &w);
        status = dm_claim_left_out(f, &w);
    }
    for (size_t s = 0; s < stations->stretch_count; s++)
        dm_bins_free(&w.bins[s]);
    free(w.bins);
    return status;
}
