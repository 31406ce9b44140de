/* SPDX-License-Identifier: MIT
 * The quality stage of one tendon: it watches the indication stage read, then
 * holds every run against its limits. What that stage finds is let go; its
 * coverage tells what was not read. */
#include "ductmark/quality.h"

#include <math.h>
#include <stdlib.h>

#include "base/diag.h"
#include "quality/work.h"

const char *dm_verdict_text(dm_verdict verdict)
{
    static const char *const text[DM_VERDICT_COUNT] = {
        [DM_VERDICT_GOOD] = "good",
        [DM_VERDICT_USABLE] = "usable, but",
        [DM_VERDICT_AGAIN] = "do again"};
    return text[(size_t)verdict < DM_VERDICT_COUNT ? verdict
                                                   : DM_VERDICT_AGAIN];
}

const char *dm_remark_text(dm_remark_kind kind)
{
    static const char *const text[DM_REMARK_COUNT] = {
        [DM_REMARK_LEFT_OUT] = "left-out",
        [DM_REMARK_PART] = "part",
        [DM_REMARK_NO_CHECK] = "no-check",
        [DM_REMARK_CHECK_ONCE] = "check-once",
        [DM_REMARK_DRIFT] = "drift",
        [DM_REMARK_NOISE] = "noise",
        [DM_REMARK_SPARSE] = "sparse",
        [DM_REMARK_GAP] = "gap",
        [DM_REMARK_FALLING] = "falling",
        [DM_REMARK_ROLL_BACK] = "roll-back",
        [DM_REMARK_FAST] = "fast",
        [DM_REMARK_CLOCK] = "clock",
        [DM_REMARK_LIFTED] = "lifted",
        [DM_REMARK_NOT_CLOSED] = "not-closed",
        [DM_REMARK_NO_TIE] = "no-tie",
        [DM_REMARK_OPEN_TAIL] = "open-tail",
        [DM_REMARK_NOT_READ] = "not-read",
        [DM_REMARK_DIFFERS] = "differs",
        [DM_REMARK_MIRRORED] = "mirrored"};
    return (size_t)kind < DM_REMARK_COUNT ? text[kind] : "";
}

/* ---- watching -------------------------------------------------------------
 */

/* Keeps what the rows of the run before came to. */
static void end_pace(quality_work *k)
{
    quality_facts *f;

    if (k->pace_run == DM_NONE)
        return;
    pace_end(k->pace);
    f = &k->facts[k->pace_run];
    f->sparse = k->pace->sparse;
    f->gap = k->pace->gap;
    f->roll_back = k->pace->roll_back;
    f->fast = k->pace->fast;
    f->clock = k->pace->clock;
    f->falling = k->pace->fall > k->pace->rise;
    k->out->runs[k->pace_run].pace = k->pace->sum;
    k->out->runs[k->pace_run].speed_wanted = pace_speed_wanted(k->pace);
    k->pace_run = DM_NONE;
}

static dm_status see_rows(void *user, const dm_run_work *w, size_t stretch,
                          const dm_block *block)
{
    quality_work *k = user;

    if (k->pace_run != w->at) {
        double least = HUGE_VAL;

        end_pace(k);
        for (size_t c = 0; c < w->columns->value_count; c++)
            least = fmin(least, w->instrument->channels[w->columns->channel[c]]
                                    .footprint_along);
        pace_begin(k->pace, least);
        k->pace_run = w->at;
    }
    pace_rows(k->pace, stretch,
              w->run->events[w->stations->stretches[stretch].event].href,
              block);
    return DM_OK;
}

static dm_status see_line(void *user, const dm_run_work *w,
                          const dm_run_line *l)
{
    return quality_take_line(user, w, l);
}

/* ---- judging --------------------------------------------------------------
 */

static int by_gravity(const void *a, const void *b)
{
    const dm_remark *p = a, *q = b;

    if (p->verdict != q->verdict)
        return p->verdict > q->verdict ? -1 : 1;
    if (p->kind != q->kind)
        return p->kind < q->kind ? -1 : 1;
    if (p->place.line != q->place.line)
        return p->place.line < q->place.line ? -1 : 1;
    return (p->channel > q->channel) - (p->channel < q->channel);
}

static dm_status judge(quality_work *k, size_t run)
{
    dm_quality_run *q = &k->out->runs[run];
    dm_status status;

    if (k->facts[run].read && q->pace.rows > 0) {
        status = quality_judge_readings(k, run);
    } else {
        q->pace = (dm_pace){0};
        q->channel_count = 0;
        status =
            quality_remark(k, run,
                           quality_blank(DM_REMARK_LEFT_OUT, DM_VERDICT_AGAIN,
                                         k->survey->runs[q->run].place));
    }
    if (status == DM_OK)
        status = quality_judge_places(k, run);
    for (size_t i = 0; i < q->remark_count; i++)
        if (q->remarks[i].verdict > q->verdict)
            q->verdict = q->remarks[i].verdict;
    if (q->remark_count > 0)
        qsort(q->remarks, q->remark_count, sizeof *q->remarks, by_gravity);
    return status;
}

static dm_status judge_all(quality_work *k)
{
    dm_status status = quality_list_unread(k);

    if (status == DM_OK)
        status = quality_compare(k);
    for (size_t i = 0; i < k->out->run_count && status == DM_OK; i++)
        status = judge(k, i);
    return status;
}

/* ---- */

static dm_status begin(quality_work *k, dm_quality *out)
{
    const double nan = (double)NAN;
    size_t n = k->stations->run_count;

    k->out = out;
    out->arena = k->arena;
    out->tendon = k->stations->tendon;
    out->runs = DM_NEW_ARRAY(k->arena, dm_quality_run, n);
    k->facts = calloc(n + 1, sizeof *k->facts);
    k->pace = calloc(1, sizeof *k->pace);
    k->cells = (size_t)ceil(k->tendon->line.length / QUALITY_PITCH - 1e-9);
    if (out->runs == NULL || k->facts == NULL || k->pace == NULL)
        return DM_NOMEM;
    for (size_t i = 0; i < n; i++)
        out->runs[out->run_count++] =
            (dm_quality_run){.run = k->stations->runs[i].run,
                             .from = nan,
                             .to = nan,
                             .z = nan,
                             .least_blunder = nan,
                             .speed_wanted = nan};
    return DM_OK;
}

static dm_status work(quality_work *k, dm_quality *out, dm_diag *diag)
{
    dm_watch watch = {k, see_rows, see_line};
    dm_indications *found = NULL;
    dm_status status = begin(k, out);

    if (status == DM_OK)
        status = dm_find_watched(k->model, k->survey, k->stations, NULL, NULL,
                                 k->settings, &watch, diag, &found);
    if (status == DM_OK) {
        end_pace(k);
        k->found = found;
        out->failed_runs = found->failed_runs;
        status = judge_all(k);
    }
    dm_indications_free(found);
    for (size_t i = 0; i < k->line_count; i++)
        free(k->lines[i].index);
    free(k->lines);
    free(k->facts);
    free(k->pace);
    return status;
}

dm_status dm_quality_of(const dm_model *model, const dm_survey *survey,
                        const dm_stations *stations,
                        const dm_settings *settings, dm_diag *diag,
                        dm_quality **out)
{
    dm_arena *arena = dm_arena_new();
    dm_quality *q = arena != NULL ? DM_NEW(arena, dm_quality) : NULL;
    quality_work k = {.model = model,
                      .survey = survey,
                      .stations = stations,
                      .tendon = &model->tendons[stations->tendon],
                      .settings = settings,
                      .arena = arena,
                      .pace_run = DM_NONE};
    dm_status status = q != NULL ? work(&k, q, diag) : DM_NOMEM;

    *out = NULL;
    if (status != DM_OK) {
        dm_arena_free(arena);
        return dm_error(diag, status, k.tendon->place, k.tendon->id,
                        "out of memory");
    }
    *out = q;
    return DM_OK;
}

void dm_quality_free(dm_quality *quality)
{
    if (quality != NULL)
        dm_arena_free(quality->arena);
}
