/* SPDX-License-Identifier: MIT
 * The ledger for people. Lengths are shown to 1 mm (1/8 in) and percentages to
 * 0.1, rounded by largest remainder, so that what is shown adds up to the
 * length that is shown, along each row. */
#include <math.h>
#include <string.h>

#include "cli/summary.h"
#include "cli/table.h"
#include "scene/properties.h"

#define LINE 80
#define MOST ((size_t)DM_WHY_COUNT)

static double step_of(dm_units units)
{
    return units == DM_UNITS_US ? 0.0254 / 8.0 : 0.001;
}

/* Rounds v[0..n-1] to whole steps that add up to their sum, rounded. */
static void share_out(double *v, size_t n, double step)
{
    double rest[MOST], sum = 0.0, given = 0.0;

    for (size_t i = 0; i < n; i++) {
        double whole = floor(v[i] / step);

        sum += v[i];
        rest[i] = v[i] / step - whole;
        v[i] = whole;
        given += whole;
    }
    for (double left = floor(sum / step + 0.5) - given; left > 0.5; left--) {
        size_t most = 0;

        for (size_t i = 1; i < n; i++)
            if (rest[i] > rest[most])
                most = i;
        v[most] += 1.0;
        rest[most] = -1.0;
    }
    for (size_t i = 0; i < n; i++)
        v[i] *= step;
}

/* ", tested 84.8 %", on a new line where this one is full. */
static void put_share(dm_buf *out, size_t *column, bool first, const char *word,
                      double percent)
{
    dm_buf text = {0};

    dm_buf_printf(&text, "%s ", word);
    dm_buf_fixed(&text, percent, 1);
    dm_buf_puts(&text, " %");
    if (!first) {
        dm_buf_putc(out, ',');
        if (*column + 2 + text.length + 1 > LINE) {
            dm_buf_puts(out, "\n ");
            *column = 1;
        }
        dm_buf_putc(out, ' ');
        *column += 2;
    }
    dm_buf_put(out, text.data, text.length);
    *column += text.length;
    out->failed = out->failed || text.failed;
    dm_buf_free(&text);
}

static void put_states(const double *sum, double whole, dm_buf *out)
{
    double share[DM_COVER_COUNT];
    size_t column = out->length;
    bool first = true;

    for (int k = 0; k < DM_COVER_COUNT; k++)
        share[k] = whole > 0.0 ? 100.0 * sum[k] / whole : 0.0;
    share_out(share, DM_COVER_COUNT, 0.1);
    dm_buf_puts(out, "coverage of ");
    dm_buf_fixed(out, whole, 1);
    dm_buf_puts(out, " m of duct: ");
    column = out->length - column;
    for (int k = 0; k < DM_COVER_COUNT; k++) {
        if (k == DM_COVER_STRAND_MASKED && sum[k] <= 0.0)
            continue;
        put_share(out, &column, first, dm_cover_text((dm_cover)k), share[k]);
        first = false;
    }
    dm_buf_putc(out, '\n');
}

/* The same length by reason, but for what was tested. */
static void put_whys(const double *sum, double whole, dm_buf *out)
{
    double share[DM_WHY_COUNT];
    bool first = true;
    size_t column = strlen("why: ");

    for (int k = 0; k < DM_WHY_COUNT; k++)
        share[k] = whole > 0.0 ? 100.0 * sum[k] / whole : 0.0;
    share_out(share, DM_WHY_COUNT, 0.1);
    for (int k = DM_WHY_NONE + 1; k < DM_WHY_COUNT; k++) {
        if (sum[k] <= 0.0)
            continue;
        dm_buf_puts(out, first ? "why: " : "");
        put_share(out, &column, first, dm_why_text((dm_why)k), share[k]);
        first = false;
    }
    dm_buf_puts(out, first ? "" : "\n");
}

/* Blunders that the job accepts. */
static void put_accepted(const dm_campaign *c, dm_buf *out)
{
    for (size_t i = 0; i < c->model->tendon_count; i++) {
        const dm_stations *s = c->results[i].stations;
        if (s && s->accepted)
            dm_buf_printf(out, "\naccepted on tendon %s: %s\n",
                          c->model->tendons[i].id, s->accepted);
    }
}

/* One row, from the sums by reason: these are rounded, so that the ledger's
 * rows are the same. */
static void put_row(table *t, const char *id, const double *why_sum,
                    dm_units units)
{
    double part[DM_WHY_COUNT], shown[DM_COVER_COUNT] = {0}, whole = 0.0;

    memcpy(part, why_sum, sizeof part);
    share_out(part, DM_WHY_COUNT, step_of(units));
    for (int k = 0; k < DM_WHY_COUNT; k++) {
        shown[dm_why_cover((dm_why)k)] += part[k];
        whole += part[k];
    }
    table_text(t, id);
    table_length(t, whole, units);
    for (int k = 0; k < DM_COVER_COUNT; k++)
        table_length(t, shown[k], units);
}

void summary_coverage(const dm_campaign *c, dm_buf *out)
{
    double sum[DM_COVER_COUNT] = {0};
    double why[DM_WHY_COUNT] = {0}, whole = 0.0;
    dm_units units = c->job->units;
    table t;

    table_init(&t, units == DM_UNITS_US
                       ? "tendon|>length, ft in|>tested|>strand-masked|"
                         ">not tested|>not valid|>not reconciled"
                       : "tendon|>length, m|>tested|>strand-masked|"
                         ">not tested|>not valid|>not reconciled");
    for (size_t i = 0; i < c->model->tendon_count; i++) {
        const dm_indications *f = c->results[i].indications;
        if (!f)
            continue;
        for (int k = 0; k < DM_COVER_COUNT; k++) {
            sum[k] += f->cover_sum[k];
            whole += f->cover_sum[k];
        }
        for (int k = 0; k < DM_WHY_COUNT; k++)
            why[k] += f->why_sum[k];
        put_row(&t, c->model->tendons[i].id, f->why_sum, units);
    }
    put_row(&t, "all", why, units);
    put_states(sum, whole, out);
    put_whys(why, whole, out);
    dm_buf_puts(out, "Length that is not tested is not sound.\n\n");
    table_print(&t, out);
    put_accepted(c, out);
}

static void ledger_rows(table *t, const char *tendon, const char *clock,
                        const double *why_sum, dm_units units)
{
    double shown[DM_WHY_COUNT];

    memcpy(shown, why_sum, sizeof shown);
    share_out(shown, DM_WHY_COUNT, step_of(units));
    for (int k = 0; k < DM_WHY_COUNT; k++) {
        if (!(why_sum[k] > 0.0))
            continue;
        table_text(t, tendon);
        table_text(t, clock);
        table_length(t, shown[k], units);
        table_text(t, dm_cover_text(dm_why_cover((dm_why)k)));
        table_text(t, dm_why_text((dm_why)k));
    }
}

void summary_ledger(const dm_campaign *c, dm_buf *out)
{
    table t;

    table_init(&t, c->job->units == DM_UNITS_US
                       ? "tendon|clock|>length, ft in|state|why"
                       : "tendon|clock|>length, m|state|why");
    for (size_t i = 0; i < c->model->tendon_count; i++) {
        const dm_indications *f = c->results[i].indications;
        const char *id = c->model->tendons[i].id;
        if (!f)
            continue;
        ledger_rows(&t, id, "all", f->why_sum, c->job->units);
        for (size_t k = 0; k < f->cover_line_count; k++) {
            const dm_cover_line *l = &f->cover_lines[k];
            char clock[8];
            ledger_rows(&t, id, dm_clock_text(l->clock, clock), l->why_sum,
                        c->job->units);
        }
    }
    dm_buf_puts(out, "ledger: for each tendon and clock line (looking ahead) "
                     "where its length went;\nthe rows of one line add up to "
                     "the tendon; all: the best of its lines counts\n\n");
    table_print(&t, out);
}
