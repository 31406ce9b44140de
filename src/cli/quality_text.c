/* SPDX-License-Identifier: MIT
 * At most 80 columns, as long as ids are short. What is to be done stands last,
 * where a small screen stops scrolling. Only formats: every number is in the
 * quality. */
#include "cli/quality_text.h"
#include "base/file.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/num.h"
#include "cli/table.h"
#include "scene/properties.h"
#include "write/quality_words.h"

static double in_units(double metres, dm_units units)
{
    return units == DM_UNITS_US ? metres / 0.3048 : metres;
}

static const char *unit(dm_units units)
{
    return units == DM_UNITS_US ? "ft" : "m";
}

/* ---- one row a run ---------------------------------------------------------
 */

/* The worst of the channels. */
static double worst(const dm_quality_run *q, size_t offset)
{
    double most = (double)NAN;
    for (size_t i = 0; i < q->channel_count; i++) {
        double value;
        memcpy(&value, (const char *)&q->channels[i] + offset, sizeof value);
        most = fmax(most, value);
    }
    return most;
}

static size_t lift_count(const dm_quality_run *q)
{
    size_t n = 0;
    for (size_t i = 0; i < q->channel_count; i++)
        n += q->channels[i].lift_count;
    return n;
}

static double footprint(const dm_survey *s, const dm_quality_run *q)
{
    const dm_run *run = &s->runs[q->run];
    double least = HUGE_VAL;
    for (size_t i = 0; i < q->channel_count; i++)
        least = fmin(least, s->instruments[run->instrument]
                                .channels[q->channels[i].channel]
                                .footprint_along);
    return least;
}

static void put_run(table *t, const quality_report *r, const dm_quality_run *q,
                    bool timed)
{
    const dm_run *run = &r->survey->runs[q->run];
    bool read = q->channel_count > 0;
    char clock[8];
    table_text(t, run->id);
    table_text(t, dm_clock_text(run->clock, clock));
    table_number(t, read ? in_units(q->pace.read, r->units) : (double)NAN, 2);
    table_number(
        t, read ? footprint(r->survey, q) / q->pace.spacing : (double)NAN, 0);
    if (timed)
        table_number(t,
                     q->pace.timed > 0 ? in_units(q->pace.speed, r->units)
                                       : (double)NAN,
                     2);
    table_number(t, worst(q, offsetof(dm_quality_channel, drift)), 2);
    table_number(t, worst(q, offsetof(dm_quality_channel, noise)), 3);
    if (read)
        table_count(t, lift_count(q));
    else
        table_text(t, NULL);
    table_number(t, q->z, 1);
    table_number(t,
                 isfinite(q->least_blunder)
                     ? in_units(q->least_blunder, r->units)
                     : (double)NAN,
                 2);
    table_text(t, q->verdict == DM_VERDICT_USABLE
                      ? "usable"
                      : dm_verdict_text(q->verdict));
}

static bool any_times(const quality_report *r)
{
    for (size_t t = 0; t < r->model->tendon_count; t++)
        for (size_t i = 0; i < r->quality[t]->run_count; i++)
            if (r->quality[t]->runs[i].pace.timed > 0)
                return true;
    return false;
}

static void put_table(const quality_report *r, dm_buf *out)
{
    table t;
    char head[160];
    bool timed = any_times(r);
    snprintf(head, sizeof head,
             "run|>line|>read, %s|>per fp%s%s%s|>drift|>noise|>lifts|>z|>"
             "shows|verdict",
             unit(r->units), timed ? "|>" : "", timed ? unit(r->units) : "",
             timed ? "/s" : "");
    table_init(&t, head);
    for (size_t k = 0; k < r->model->tendon_count; k++)
        for (size_t i = 0; i < r->quality[k]->run_count; i++)
            put_run(&t, r, &r->quality[k]->runs[i], timed);
    table_print(&t, out);
    dm_buf_printf(out,
                  "per fp: readings a footprint; drift, noise: of the index "
                  "(0 sound, 1 air);\nz: worst misclosure; shows: smallest "
                  "blunder that every interval shows, %s\n\n",
                  unit(r->units));
}

/* ---- runs against each other ----------------------------------------------
 */

static void put_pairs(const quality_report *r, dm_buf *out)
{
    table t;
    char head[120];
    size_t n = 0;
    snprintf(head, sizeof head,
             "run|same line|>length, %s|>correlation|>rms|>expected",
             unit(r->units));
    table_init(&t, head);
    for (size_t k = 0; k < r->model->tendon_count; k++) {
        const dm_quality *q = r->quality[k];
        for (size_t i = 0; i < q->pair_count; i++) {
            const dm_agreement *g = &q->pairs[i];
            if (g->mirrored)
                continue;
            table_text(&t, r->survey->runs[q->runs[g->a].run].id);
            table_text(&t, r->survey->runs[q->runs[g->b].run].id);
            table_number(&t, in_units(g->length, r->units), 2);
            table_number(&t, g->correlation, 2);
            table_number(&t, g->rms, 3);
            table_number(&t, g->expected, 3);
            n++;
        }
    }
    dm_buf text = {0};
    table_print(&t, n > 0 ? out : &text);
    dm_buf_free(&text);
    if (n > 0)
        dm_buf_putc(out, '\n');
}

/* ---- what to do ------------------------------------------------------------
 */

static void put_remarks(const quality_report *r, size_t tendon, size_t i,
                        dm_verdict verdict, dm_buf *out)
{
    const dm_quality *quality = r->quality[tendon];
    const dm_quality_run *q = &quality->runs[i];
    for (size_t k = 0; k < q->remark_count; k++) {
        const dm_remark *m = &q->remarks[k];
        dm_buf line = {0};
        if (q->verdict != verdict)
            continue;
        dm_buf_printf(&line, "%s: ", r->survey->runs[q->run].id);
        if (q->verdict == DM_VERDICT_AGAIN && m->verdict < verdict)
            dm_buf_puts(&line, "besides, ");
        dm_remark_words(r->model, r->survey, r->results[tendon].stations,
                        quality, i, m, r->units, &line);
        if (m->place.file)
            dm_buf_printf(&line, " (%s:%ld)", dm_path_name(m->place.file),
                          m->place.line);
        dm_buf_puts(out, "  ");
        text_wrap(line.failed ? "out of memory" : line.data, 2, 4, out);
        out->failed = out->failed || line.failed;
        dm_buf_free(&line);
    }
}

static void put_list(const quality_report *r, dm_verdict verdict, dm_buf *out)
{
    if (quality_count(r, verdict) == 0)
        return;
    dm_buf_puts(out, dm_verdict_text(verdict));
    dm_buf_puts(out, ":\n");
    for (size_t t = 0; t < r->model->tendon_count; t++)
        for (size_t i = 0; i < r->quality[t]->run_count; i++)
            put_remarks(r, t, i, verdict, out);
    dm_buf_putc(out, '\n');
}

/* Where to go back to, on the lines that were walked. */
static void put_unread(const quality_report *r, dm_buf *out)
{
    size_t n = 0;
    for (size_t t = 0; t < r->model->tendon_count; t++)
        for (size_t i = 0; i < r->quality[t]->unread_count; i++) {
            const dm_unread *u = &r->quality[t]->unread[i];
            char clock[8];
            if (n++ == 0)
                dm_buf_puts(out, "not read, though nothing on the drawing "
                                 "stands in the way:\n");
            dm_buf_printf(out, "  %s at %s: station ", r->model->tendons[t].id,
                          dm_clock_text(u->clock, clock));
            dm_buf_fixed(out, in_units(u->from, r->units), 2);
            dm_buf_puts(out, " to ");
            dm_buf_fixed(out, in_units(u->to, r->units), 2);
            dm_buf_printf(out, " %s\n", unit(r->units));
        }
    if (n > 0)
        dm_buf_putc(out, '\n');
}

size_t quality_count(const quality_report *r, dm_verdict verdict)
{
    size_t n = 0;
    for (size_t t = 0; t < r->model->tendon_count; t++)
        for (size_t i = 0; i < r->quality[t]->run_count; i++)
            n += r->quality[t]->runs[i].verdict == verdict;
    return n;
}

void quality_text(const quality_report *r, dm_buf *out)
{
    size_t n = r->survey->run_count;
    put_table(r, out);
    put_pairs(r, out);
    put_unread(r, out);
    put_list(r, DM_VERDICT_USABLE, out);
    put_list(r, DM_VERDICT_AGAIN, out);
    dm_buf_printf(out, "%zu run%s: %zu good, %zu usable, %zu to do again\n", n,
                  n == 1 ? "" : "s", quality_count(r, DM_VERDICT_GOOD),
                  quality_count(r, DM_VERDICT_USABLE),
                  quality_count(r, DM_VERDICT_AGAIN));
}
