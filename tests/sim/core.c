/* SPDX-License-Identifier: MIT */
#include "core.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "indication/bins.h"

static void *must(void *p)
{
    if (p == NULL)
        abort();
    return p;
}

static void cells_of(dm_strip *s, const sensor_run *run)
{
    size_t most = sensor_rows_max(run), rows, bad, factor, n;
    double *x = must(malloc(most * sizeof *x));
    double *y = must(malloc(most * sizeof *y)), *columns[1] = {y};
    dm_bins bins;

    rows = sensor_walk(run, x, y);
    dm_bins_init(&bins, SENSOR_W / DM_CELLS_PER_FOOTPRINT, 1, 10000000);
    if (dm_bins_add(&bins, x, columns, rows, &bad) != DM_OK)
        abort();
    factor = dm_bins_factor(&bins, 10);
    n = dm_bins_cells_max(&bins, factor);
    memset(s, 0, sizeof *s);
    s->t = must(calloc(5 * n, sizeof(double)));
    s->x = s->t + n;
    s->index = s->x + n;
    s->smooth = s->index + n;
    s->base = s->smooth + n;
    s->bad = must(calloc(2, n));
    s->unreconciled = s->bad + n;
    columns[0] = s->index;
    s->count = dm_bins_cells(&bins, factor, s->t, columns);
    memcpy(s->x, s->t, s->count * sizeof(double));
    s->pitch = (s->t[s->count - 1] - s->t[0]) / (double)(s->count - 1);
    dm_strip_smooth(s, SENSOR_W);
    dm_bins_free(&bins);
    free(x);
    free(y);
}

void core_begin(core *c, const sensor_run *run)
{
    const dm_thresholds band = {0.25, 0.15, -0.25, -0.15};

    memset(c, 0, sizeof *c);
    cells_of(&c->strip, run);
    if (!dm_strips_clean(&c->strip, 1, SENSOR_W, &band, &c->noise))
        abort();
    c->band = band;
    c->raised = dm_thresholds_raise(&c->band, &c->noise);
    if (!dm_strip_find(&c->strip, SENSOR_W, &c->noise, &c->band, 0.02,
                       &c->list))
        abort();
}

void core_end(core *c)
{
    free(c->strip.t);
    free(c->strip.bad);
    free(c->list.items);
}

const dm_found *core_found(const core *c, double from, double to)
{
    for (size_t i = 0; i < c->list.count; i++) {
        const dm_found *f = &c->list.items[i];

        if (f->sign > 0 && f->to.t >= from && f->from.t <= to)
            return f;
    }
    return NULL;
}

size_t core_count(const core *c, double from, double to)
{
    size_t n = 0;

    for (size_t i = 0; i < c->list.count; i++)
        n += c->list.items[i].to.t >= from && c->list.items[i].from.t <= to;
    return n;
}

bool core_lifted(const core *c, double from, double to)
{
    for (size_t i = dm_strip_cell(&c->strip, from);
         i < c->strip.count && c->strip.t[i] <= to; i++)
        if (c->strip.bad[i])
            return true;
    return false;
}
