/* SPDX-License-Identifier: MIT
 * Only formats: every number is in the remark. Lengths in metres or decimal
 * feet with two decimals: as an operator reads them off an encoder. */
#include "write/quality_words.h"

#include <math.h>

typedef struct {
    const dm_model *model;
    const dm_survey *survey;
    const dm_stations *stations;
    const dm_quality_run *run;
    const dm_remark *r;
    dm_units units;
    dm_buf *out;
} words;

/* ---- parts ----------------------------------------------------------------
 */

static void put(const words *w, const char *text)
{
    dm_buf_puts(w->out, text);
}

static void number(const words *w, double value, int decimals)
{
    dm_buf_fixed(w->out, value, decimals);
}

static const char *unit(const words *w)
{
    return w->units == DM_UNITS_US ? "ft" : "m";
}

static void bare(const words *w, double metres)
{
    number(w, w->units == DM_UNITS_US ? metres / 0.3048 : metres, 2);
}

static void length(const words *w, double metres)
{
    bare(w, metres);
    put(w, " ");
    put(w, unit(w));
}

/* "12.10 to 12.60 m", or one of them. */
static void range(const words *w, double from, double to)
{
    bare(w, from);
    if (to - from >= 0.01) {
        put(w, " to ");
        bare(w, to);
    }
    put(w, " ");
    put(w, unit(w));
}

static void at(const words *w)
{
    if (isnan(w->r->from))
        return;
    put(w, " at station ");
    range(w, w->r->from, w->r->to);
}

static void at_x(const words *w)
{
    put(w, " at run distance ");
    range(w, w->r->x_from, w->r->x_to);
}

static void face(const words *w, size_t index)
{
    const dm_tendon *n =
        &w->model->tendons[w->survey->runs[w->run->run].tendon];
    put(w, "face ");
    put(w, index == DM_NONE ? "?" : n->faces[index].id);
}

static void times(const words *w)
{
    dm_buf_printf(w->out, " %zu time%s", w->r->count,
                  w->r->count == 1 ? "" : "s");
}

static void other(const words *w)
{
    put(w, "run ");
    put(w, w->survey->runs[w->r->other].id);
}

/* Only where the instrument has more than one. */
static void channel(const words *w)
{
    const dm_run *run = &w->survey->runs[w->run->run];
    const dm_instrument *in = &w->survey->instruments[run->instrument];
    if (w->r->channel == DM_NONE || in->channel_count < 2)
        return;
    put(w, "channel ");
    put(w, in->channels[w->r->channel].id);
    put(w, ": ");
}

/* ---- kinds ----------------------------------------------------------------
 */

static void drift(const words *w)
{
    put(w, "air or reference changed by ");
    number(w, w->r->value, 2);
    put(w, " of the step between them, at most ");
    number(w, w->r->limit, 2);
    put(w, w->r->verdict == DM_VERDICT_AGAIN
               ? " is allowed: check the sensor, read the run again"
               : " is allowed");
}

static void noise(const words *w)
{
    put(w, "the noise hides an index below ");
    number(w, w->r->value, 2);
    put(w, ", the band begins at ");
    number(w, w->r->limit, 2);
    put(w, ": clean the contact, pull slower, read the run again");
}

static void sparse(const words *w)
{
    number(w, w->r->value, 1);
    put(w, " readings a footprint");
    at(w);
    put(w, ", ");
    number(w, w->r->limit, 0);
    put(w, " are wanted");
    if (w->r->verdict == DM_VERDICT_AGAIN)
        put(w, ": read the run again");
    if (isnan(w->run->speed_wanted))
        return;
    put(w,
        w->r->verdict == DM_VERDICT_AGAIN ? ", at most " : ": pull at most ");
    length(w, w->run->speed_wanted);
    put(w, "/s");
}

static void gap(const words *w)
{
    dm_buf_printf(w->out, "%zu gap%s without a reading, up to ", w->r->count,
                  w->r->count == 1 ? "" : "s");
    length(w, w->r->value);
    at(w);
}

static void roll_back(const words *w)
{
    put(w, "rolled back");
    times(w);
    put(w, ", up to ");
    length(w, w->r->value);
    at_x(w);
}

static void fast(const words *w)
{
    put(w, "pulled at ");
    length(w, w->r->value);
    put(w, "/s");
    at(w);
    put(w, ", ");
    number(w, DM_SPEED_RATIO * w->r->value / w->r->limit, 1);
    put(w, " times the run's median");
}

static void lifted(const words *w)
{
    number(w, 100.0 * w->r->value, 0);
    put(w, " % of what was read was lifted off,");
    times(w);
    put(w, "; the longest");
    at(w);
}

static void z(const words *w)
{
    put(w, " (z = ");
    number(w, w->r->value, 1);
    put(w, ")");
}

/* What most likely went wrong, in words for somebody who is still there. */
static void guess(const words *w, const dm_hypothesis *h)
{
    switch (h->kind) {
    case DM_BLUNDER_SKIP_MISSING:
        put(w, "a skip of ");
        length(w, fabs(h->length));
        put(w, " looks unwritten");
        z(w);
        put(w, ": find it and write it down, or read this interval again");
        break;
    case DM_BLUNDER_SKIP_TWICE:
        put(w, "a skip of ");
        length(w, fabs(h->length));
        put(w, " looks counted twice");
        z(w);
        put(w, ": check the skips written here");
        break;
    case DM_BLUNDER_WRONG_FACE:
        put(w, "the tie ");
        if (h->event != DM_NONE) {
            const dm_event *e = &w->survey->runs[w->run->run].events[h->event];
            put(w, "at ");
            face(w, e->face);
            dm_buf_printf(w->out, " (line %ld) ", e->place.line);
        }
        put(w, "looks taken ");
        if (h->face != DM_NONE) {
            put(w, "at ");
            face(w, h->face);
        } else {
            put(w, "elsewhere or misread");
        }
        z(w);
        put(w, ": tie again");
        break;
    case DM_BLUNDER_REVERSED:
        put(w, "the run looks written in the wrong direction");
        z(w);
        put(w, ": check it");
        break;
    case DM_BLUNDER_SCALE:
        put(w, "the encoder looks off by ");
        number(w, 100.0 * h->length, 1);
        put(w, " %");
        z(w);
        put(w, ": check the wheel, read the run again");
        break;
    default:
        put(w, "a jump of ");
        length(w, h->length);
        z(w);
        put(w, ": tie at both faces again, read this interval again");
        break;
    }
    if (h->equal)
        put(w, " (other explanations fit as well)");
}

static void not_closed(const words *w)
{
    put(w, "from ");
    face(w, w->r->face_from);
    put(w, " to ");
    face(w, w->r->face_to);
    if (w->r->hypothesis != DM_NONE) {
        put(w, " ");
        guess(w, &w->stations->hypotheses[w->r->hypothesis]);
        return;
    }
    put(w, " it does not close");
    z(w);
    put(w, ": tie at both faces again, read it again");
}

static void no_tie(const words *w)
{
    put(w, "nothing but its start places it, a forgotten skip would not show");
    if (w->r->face_to == DM_NONE)
        return;
    put(w, ": tie at ");
    face(w, w->r->face_to);
}

static void open_tail(const words *w)
{
    put(w, "open tail of ");
    length(w, w->r->value);
    put(w, " behind the tie at ");
    face(w, w->r->face_from);
    put(w, ": tie again");
    if (w->r->face_to == DM_NONE)
        return;
    put(w, ", at ");
    face(w, w->r->face_to);
}

static void not_read(const words *w)
{
    length(w, w->r->value);
    put(w, " could be read and was not");
    at(w);
    if (w->r->count > 1)
        dm_buf_printf(w->out, ", the longest of %zu", w->r->count);
    put(w, ": read it, or write a skip with its reason");
}

static void differs(const words *w)
{
    put(w, "index differs from ");
    other(w);
    put(w, " by ");
    number(w, w->r->value, 2);
    at(w);
    put(w, ", ");
    number(w, w->r->limit, 2);
    put(w, " is explained: read both there again");
}

static void mirrored(const words *w)
{
    put(w, "agrees with ");
    other(w);
    put(w, " on the mirrored clock line (correlation ");
    number(w, w->r->value, 2);
    put(w, "), not with its own: which way did the operator face?");
}

static void clock_back(const words *w)
{
    put(w, "the logger's clock goes back");
    times(w);
    put(w, ": its speeds are not sure");
}

static void plain(const words *w)
{
    static const char *const text[DM_REMARK_COUNT] = {
        [DM_REMARK_LEFT_OUT] = "cannot be used, the messages say why: mend it "
                               "or read it again",
        [DM_REMARK_PART] = "a part of it cannot be used, the messages say why",
        [DM_REMARK_NO_CHECK] = "neither air nor reference was read: read both "
                               "now and write them down",
        [DM_REMARK_CHECK_ONCE] = "no check repeated after the readings, drift "
                                 "is not known: read air and reference now",
        [DM_REMARK_FALLING] = "the run distance falls: turn the encoder round, "
                              "read the run again"};
    put(w, text[w->r->kind] ? text[w->r->kind] : "");
}

void dm_remark_words(const dm_model *model, const dm_survey *survey,
                     const dm_stations *stations, const dm_quality *quality,
                     size_t q, const dm_remark *remark, dm_units units,
                     dm_buf *out)
{
    static void (*const say[DM_REMARK_COUNT])(const words *) = {
        [DM_REMARK_LEFT_OUT] = plain,    [DM_REMARK_PART] = plain,
        [DM_REMARK_NO_CHECK] = plain,    [DM_REMARK_CHECK_ONCE] = plain,
        [DM_REMARK_DRIFT] = drift,       [DM_REMARK_NOISE] = noise,
        [DM_REMARK_SPARSE] = sparse,     [DM_REMARK_GAP] = gap,
        [DM_REMARK_FALLING] = plain,     [DM_REMARK_ROLL_BACK] = roll_back,
        [DM_REMARK_FAST] = fast,         [DM_REMARK_CLOCK] = clock_back,
        [DM_REMARK_LIFTED] = lifted,     [DM_REMARK_NOT_CLOSED] = not_closed,
        [DM_REMARK_NO_TIE] = no_tie,     [DM_REMARK_OPEN_TAIL] = open_tail,
        [DM_REMARK_NOT_READ] = not_read, [DM_REMARK_DIFFERS] = differs,
        [DM_REMARK_MIRRORED] = mirrored};
    words w = {model, survey, stations, &quality->runs[q], remark, units, out};
    channel(&w);
    say[remark->kind](&w);
}
