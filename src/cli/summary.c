/* SPDX-License-Identifier: MIT
 * Tables over a campaign's results. Only formats; every number is in a result
 * structure. */
#include "cli/summary.h"

#include <math.h>
#include <stdio.h>

#include "base/num.h"
#include "cli/table.h"

static const double DEGREE = 180.0 / 3.14159265358979323846;

static const char *unit(const dm_campaign *c)
{
    return c->job->units == DM_UNITS_US ? "ft in" : "m";
}

void summary_model(const dm_campaign *c, dm_buf *out)
{
    dm_units units = c->job->units;
    table t;
    char head[200];
    snprintf(head, sizeof head,
             "tendon|where|>length, %s|>deviators|>faces|>fixtures|>runs",
             unit(c));
    table_init(&t, head);
    for (size_t i = 0; i < c->model->tendon_count; i++) {
        const dm_tendon *n = &c->model->tendons[i];
        size_t runs = 0;
        for (size_t k = 0; k < c->survey->run_count; k++)
            runs += c->survey->runs[k].tendon == i;
        table_text(&t, n->id);
        table_text(&t, n->where);
        table_length(&t, n->line.length, units);
        table_count(&t, n->support_count - 2);
        table_count(&t, n->face_count);
        table_count(&t, n->fixture_count);
        table_count(&t, runs);
    }
    table_print(&t, out);
}

static void percent(dm_buf *out, double part, double whole)
{
    dm_buf_fixed(out, whole > 0.0 ? 100.0 * part / whole : 0.0, 1);
    dm_buf_puts(out, " %");
}

void summary_coverage(const dm_campaign *c, dm_buf *out)
{
    double sum[DM_COVER_COUNT] = {0}, whole = 0.0;
    table t;
    char head[200];
    snprintf(head, sizeof head,
             "tendon|>length, %s|>tested|>not tested|>not valid|"
             ">not reconciled|>indications|>taps",
             unit(c));
    table_init(&t, head);
    for (size_t i = 0; i < c->model->tendon_count; i++) {
        const dm_result *r = &c->results[i];
        const dm_indications *f = r->indications;
        if (!f)
            continue;
        table_text(&t, c->model->tendons[i].id);
        table_length(&t, c->model->tendons[i].line.length, c->job->units);
        for (int k = 0; k < DM_COVER_COUNT; k++) {
            sum[k] += f->cover_sum[k];
            whole += f->cover_sum[k];
            if (k != DM_COVER_STRAND_MASKED)
                table_length(&t, f->cover_sum[k], c->job->units);
        }
        table_count(&t, f->count);
        table_count(&t, r->taps ? r->taps->count : 0);
    }
    dm_buf_puts(out, "coverage of ");
    dm_buf_fixed(out, whole, 1);
    dm_buf_puts(out, " m of duct: ");
    for (int k = 0; k < DM_COVER_COUNT; k++) {
        if (k == DM_COVER_STRAND_MASKED && sum[k] <= 0.0)
            continue;
        if (k > 0)
            dm_buf_puts(out, ", ");
        dm_buf_puts(out, dm_cover_text((dm_cover)k));
        dm_buf_putc(out, ' ');
        percent(out, sum[k], whole);
    }
    dm_buf_puts(out, "\nLength that is not tested is not sound.\n\n");
    table_print(&t, out);
}

static void clock_cell(table *t, double clock)
{
    char text[32];
    long minutes = lround(clock * DEGREE * 2.0) % 720;
    snprintf(text, sizeof text, "%ld:%02ld", minutes < 60 ? 12 : minutes / 60,
             minutes % 60);
    table_text(t, text);
}

/* "12.345 ± 0.020", with what an open end means. */
static void end_cell(table *t, const dm_campaign *c, const dm_end *end)
{
    dm_buf text = {0};
    dm_buf_fixed(&text, end->t, 3);
    dm_buf_puts(&text, " ± ");
    dm_buf_fixed(&text, c->job->settings.coverage_factor * end->u, 3);
    if (end->open)
        dm_buf_puts(&text, " open");
    table_text(t, text.failed ? NULL : text.data);
    dm_buf_free(&text);
}

void summary_indications(const dm_campaign *c, dm_buf *out)
{
    table t;
    table_init(&t, "indication|kind|grade|>from, m|>to, m|clock|>index|runs|"
                   "remark");
    for (size_t i = 0; i < c->model->tendon_count; i++) {
        const dm_indications *f = c->results[i].indications;
        for (size_t k = 0; f && k < f->count; k++) {
            const dm_indication *d = &f->items[k];
            table_text(&t, d->key);
            table_text(&t, dm_kind_text(d->kind));
            table_text(&t, d->grade == DM_NONE
                               ? "no rule"
                               : c->criteria->grades[d->grade].label);
            end_cell(&t, c, &d->from);
            end_cell(&t, c, &d->to);
            clock_cell(&t, d->clock);
            table_number(&t, d->index, 2);
            table_count(&t, d->run_count);
            table_text(&t, !d->reconciled ? "not reconciled"
                           : d->shorter_than_footprint
                               ? "shorter than the footprint"
                           : d->across_gap ? "across an unread gap"
                                           : "");
        }
    }
    dm_buf_puts(out, "indications: tendon stations, with expanded "
                     "uncertainty (k = ");
    dm_buf_num(out, c->job->settings.coverage_factor);
    dm_buf_puts(out, "); clock looking ahead\n\n");
    table_print(&t, out);
}

static void tape_cell(table *t, const dm_campaign *c, const dm_tendon *n,
                      const dm_tape *tape)
{
    dm_buf text = {0};
    if (tape->face == DM_NONE) {
        table_text(t, "no face");
        return;
    }
    if (c->job->units == DM_UNITS_US) {
        long eighths = lround(tape->distance / 0.0254 * 8.0);
        dm_buf_printf(&text, "%s %ld ft %ld %ld/8 in", n->faces[tape->face].id,
                      eighths / 96, eighths % 96 / 8, eighths % 8);
    } else {
        dm_buf_printf(&text, "%s ", n->faces[tape->face].id);
        dm_buf_fixed(&text, tape->distance, 3);
        dm_buf_puts(&text, " m");
    }
    table_text(t, text.failed ? NULL : text.data);
    dm_buf_free(&text);
}

void summary_taps(const dm_campaign *c, dm_buf *out)
{
    table t;
    table_init(&t, "tap|advice|back face, tape|ahead face, tape|>U, mm|clock|"
                   ">round duct, mm|>stop, mm|>p enter|why");
    static const char *const advice[] = {"tap", "re-scan", "hand tool"};
    for (size_t i = 0; i < c->model->tendon_count; i++) {
        const dm_taps *taps = c->results[i].taps;
        const dm_tendon *n = &c->model->tendons[i];
        for (size_t k = 0; taps && k < taps->count; k++) {
            const dm_tap *p = &taps->items[k];
            /* fmin passes over the NAN of a side without a face. */
            double u = fmin(p->back.u, p->ahead.u);
            table_text(&t, p->id);
            table_text(&t, advice[p->advice]);
            tape_cell(&t, c, n, &p->back);
            tape_cell(&t, c, n, &p->ahead);
            table_number(&t, 1e3 * c->job->settings.coverage_factor * u, 0);
            clock_cell(&t, p->clock);
            table_number(&t, 1e3 * p->around, 0);
            table_number(&t, 1e3 * p->depth_stop, 1);
            table_number(&t, p->p_enter, 2);
            table_text(&t, p->why);
        }
    }
    dm_buf_puts(out,
                "tap points: tapes along the line named in taps.csv; clock "
                "looking ahead; U relative to the nearer face.\nThe bit stops "
                "at the least wall: strands may touch it. Confirm from both "
                "faces before drilling,\nwith the owner's permission and under "
                "the engineer's direction.\n\n");
    table_print(&t, out);
}
