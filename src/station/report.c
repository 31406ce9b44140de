/* SPDX-License-Identifier: MIT
 * Blunders in words, and as lines for the job file. What is counted in those
 * lines (interval, skip, tie) counts from 1 within the run, in the order of the
 * field book. */
#include "station/report.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/diag.h"
#include "base/num.h"

#define TEXT 320

/* Lengths in an accept line are written to this, m. */
#define WRITTEN 5e-4

const char *dm_blunder_text(dm_blunder kind)
{
    static const char *const text[DM_BLUNDER_COUNT] = {
        [DM_BLUNDER_SKIP_MISSING] = "skip-not-written",
        [DM_BLUNDER_SKIP_TWICE] = "skip-counted-twice",
        [DM_BLUNDER_WRONG_FACE] = "tie-at-wrong-face",
        [DM_BLUNDER_REVERSED] = "run-reversed",
        [DM_BLUNDER_SCALE] = "scale",
        [DM_BLUNDER_JUMP] = "jump",
        [DM_BLUNDER_MEASURED] = "measured-length"};
    return text[kind];
}

/* ---- counting ------------------------------------------------------------ */

static bool is_tie(const dm_event *e)
{
    return e->kind == DM_EVENT_START || e->kind == DM_EVENT_TIE;
}

static int interval_number(const station_system *s, const dm_hypothesis *h)
{
    int n = 1;
    for (size_t i = 0; i < h->interval; i++)
        n += s->intervals[i].run == h->run;
    return n;
}

static int event_number(const station_system *s, const dm_hypothesis *h)
{
    const dm_run *run = s->paths[h->run].run;
    const dm_event *e = &run->events[h->event];
    int n = 1;
    for (size_t i = 0; i < h->event; i++)
        n += e->kind == DM_EVENT_SKIP ? run->events[i].kind == DM_EVENT_SKIP
                                      : is_tie(&run->events[i]);
    return n;
}

/* ---- an accept ----------------------------------------------------------- */

static bool same_face(const station_system *s, const dm_accept *a,
                      const dm_hypothesis *h)
{
    const char *face = h->face == DM_NONE ? NULL : s->tendon->faces[h->face].id;
    return a->face && face ? strcmp(a->face, face) == 0 : a->face == face;
}

bool station_accepts(const station_system *s, const dm_accept *a,
                     const dm_hypothesis *h)
{
    if (h->kind == DM_BLUNDER_MEASURED || a->hypothesis != h->kind ||
        strcmp(a->run, s->paths[h->run].run->id) != 0)
        return false;
    double u = fmax(s->settings->gate * h->length_u, WRITTEN);
    if (!isnan(a->length) && fabs(a->length - h->length) > u)
        return false;
    switch (h->kind) {
    case DM_BLUNDER_SKIP_MISSING:
    case DM_BLUNDER_JUMP:
        return a->interval == interval_number(s, h) && !isnan(a->length) &&
               (!(a->x_to > a->x_from) ||
                station_place_met(s, &s->intervals[h->interval], a->x_from,
                                  a->x_to));
    case DM_BLUNDER_SKIP_TWICE:
        return a->skip == event_number(s, h);
    case DM_BLUNDER_WRONG_FACE:
        return a->tie == event_number(s, h) && same_face(s, a, h) &&
               h->face != DM_NONE;
    default:
        return true;
    }
}

/* The line to paste; by and reason are for a person to fill in. False: there
 * is nothing to accept. */
static bool accept_line(const station_system *s, const dm_hypothesis *h,
                        char out[TEXT])
{
    char length[DM_NUM_SIZE], place[TEXT / 2] = "";
    dm_num_fixed(length, h->length, 3);
    switch (h->kind) {
    case DM_BLUNDER_SKIP_MISSING:
    case DM_BLUNDER_JUMP:
        snprintf(place, sizeof place, " interval=\"%d\" length=\"%s m\"",
                 interval_number(s, h), length);
        break;
    case DM_BLUNDER_SKIP_TWICE:
        snprintf(place, sizeof place, " skip=\"%d\" length=\"%s m\"",
                 event_number(s, h), length);
        break;
    case DM_BLUNDER_WRONG_FACE:
        if (h->face == DM_NONE)
            return false;
        snprintf(place, sizeof place, " tie=\"%d\" face=\"%s\" length=\"%s m\"",
                 event_number(s, h), s->tendon->faces[h->face].id, length);
        break;
    case DM_BLUNDER_MEASURED:
        return false;
    default:
        break;
    }
    snprintf(out, TEXT,
             "<accept run=\"%s\" hypothesis=\"%s\"%s by=\"\" reason=\"\"/>",
             s->paths[h->run].run->id, dm_blunder_text(h->kind), place);
    return true;
}

/* ---- words --------------------------------------------------------------- */

static void event_words(const station_system *s, const dm_hypothesis *h,
                        const char *mm, char out[TEXT])
{
    const dm_event *e = &s->paths[h->run].run->events[h->event];
    if (h->kind == DM_BLUNDER_SKIP_TWICE) {
        char moved[DM_NUM_SIZE];
        dm_num_fixed(moved, station_skip_moved(&s->paths[h->run], e) * 1e3, 0);
        snprintf(out, TEXT, "a skip counted twice (the one of %s mm, line %ld)",
                 moved, e->place.line);
    } else if (h->face == DM_NONE) {
        snprintf(out, TEXT,
                 "a tie misread (at face %s, line %ld), or taken %s mm away "
                 "where no face is",
                 s->tendon->faces[e->face].id, e->place.line, mm);
    } else {
        snprintf(out, TEXT,
                 "a tie at another face (face %s, line %ld, taken at face %s)",
                 s->tendon->faces[e->face].id, e->place.line,
                 s->tendon->faces[h->face].id);
    }
}

/* What may have happened. */
static void words(const station_system *s, const dm_hypothesis *h,
                  char out[TEXT])
{
    char mm[DM_NUM_SIZE], percent[DM_NUM_SIZE];
    dm_num_fixed(mm, fabs(h->length) * 1e3, 0);
    dm_num_fixed(percent, h->length * 1e2, 2);
    switch (h->kind) {
    case DM_BLUNDER_SKIP_MISSING:
        snprintf(out, TEXT, "a skip of %s mm not written down", mm);
        break;
    case DM_BLUNDER_REVERSED:
        snprintf(out, TEXT, "the run's direction entered the wrong way round%s",
                 h->mirrored ? ", and its faces in the opposite order" : "");
        break;
    case DM_BLUNDER_SCALE:
        snprintf(out, TEXT, "the encoder's scale off by %s %%", percent);
        break;
    case DM_BLUNDER_JUMP:
        snprintf(out, TEXT, "a jump of %s mm that nothing in the book explains",
                 mm);
        break;
    case DM_BLUNDER_MEASURED:
        snprintf(out, TEXT, "the taped length wrong by %s mm", mm);
        break;
    default:
        event_words(s, h, mm, out);
    }
}

/* " interval before it": where an equal one of another interval lies. */
static void say_equals(const station_system *s, const dm_hypothesis *group,
                       size_t count, char *out, size_t size)
{
    size_t used = 0;
    out[0] = '\0';
    for (size_t i = 1; i < count; i++) {
        char text[TEXT], where[TEXT] = "";
        if (!group[i].equal)
            continue;
        words(s, &group[i], text);
        if (group[i].kind == DM_BLUNDER_SKIP_MISSING &&
            group[i].interval != group[0].interval) {
            const dm_interval *v = &s->intervals[group[i].interval];
            const dm_run *run = s->paths[group[i].run].run;
            snprintf(where, sizeof where, " before line %ld",
                     run->events[v->event_to].place.line);
        }
        int n = snprintf(out + used, size - used,
                         "; or, the data cannot tell, "
                         "%s%s",
                         text, where);
        if (n < 0 || (size_t)n >= size - used)
            return;
        used += (size_t)n;
    }
}

static void warn_measured(const station_system *s, const dm_hypothesis *h,
                          const char *equals, dm_diag *diag)
{
    const dm_measured_length *m = &s->tendon->measured[h->measured];
    char mm[DM_NUM_SIZE], z[DM_NUM_SIZE], gate[DM_NUM_SIZE];
    dm_num_fixed(mm, fabs(h->length) * 1e3, 0);
    dm_num_fixed(z, h->length / h->length_u, 1);
    dm_num_shortest(gate, s->settings->gate);
    dm_warn(diag, m->place, s->tendon->id,
            "the length taped from face %s to face %s is %s mm %s than it "
            "should be (z = %s, gate %s): it is left out%s",
            s->tendon->faces[m->face_from].id, s->tendon->faces[m->face_to].id,
            mm, h->length > 0.0 ? "longer" : "shorter", z, gate, equals);
}

static void warn_interval(const station_system *s, const dm_hypothesis *h,
                          const char *equals, dm_diag *diag)
{
    const dm_interval *v = &s->intervals[h->interval];
    const dm_run *run = s->paths[v->run].run;
    const dm_event *from = &run->events[v->event_from];
    const dm_event *to = &run->events[v->event_to];
    char mm[DM_NUM_SIZE], z[DM_NUM_SIZE], gate[DM_NUM_SIZE], text[TEXT];
    dm_num_fixed(mm, fabs(v->blunder) * 1e3, 0);
    dm_num_fixed(z, v->z, 1);
    dm_num_shortest(gate, s->settings->gate);
    words(s, h, text);
    dm_warn(diag, to->place, s->tendon->id,
            "run %s from face %s to face %s comes out %s mm %s than the duct "
            "(z = %s, gate %s): %s%s; not reconciled, no tap points from it",
            run->id, s->tendon->faces[from->face].id,
            s->tendon->faces[to->face].id, mm,
            v->blunder > 0.0 ? "shorter" : "longer", z, gate, text, equals);
}

/* A tie between two intervals: both are not reconciled. */
static bool warn_tie(const station_system *s, const dm_hypothesis *h,
                     const char *equals, dm_diag *diag)
{
    const dm_interval *v = &s->intervals[h->interval];
    const dm_run *run = s->paths[h->run].run;
    if (h->interval + 1 >= s->interval_count || v[1].run != h->run ||
        v->event_to != h->event || v[0].reconciled || v[1].reconciled)
        return false;
    const dm_event *e = &run->events[h->event];
    char ahead[DM_NUM_SIZE], behind[DM_NUM_SIZE], gate[DM_NUM_SIZE];
    char z[DM_NUM_SIZE], text[TEXT];
    dm_num_fixed(ahead, v[0].misclosure * 1e3, 0);
    dm_num_fixed(behind, v[1].misclosure * 1e3, 0);
    dm_num_fixed(z, h->length / h->length_u, 1);
    dm_num_shortest(gate, s->settings->gate);
    words(s, h, text);
    dm_warn(diag, e->place, s->tendon->id,
            "run %s: the tie at face %s contradicts what lies before and "
            "behind it (duct minus run %s mm and %s mm, z = %s, gate %s): "
            "%s%s; neither side is reconciled, no tap points from them",
            run->id, s->tendon->faces[e->face].id, ahead, behind, z, gate, text,
            equals);
    return true;
}

static void warn_run(const station_system *s, const dm_hypothesis *h,
                     const char *equals, dm_diag *diag)
{
    const dm_run *run = s->paths[h->run].run;
    char text[TEXT];
    words(s, h, text);
    dm_warn(diag, run->place, s->tendon->id,
            "run %s does not close: %s%s; not reconciled, no tap points from "
            "%s",
            run->id, text, equals,
            h->kind == DM_BLUNDER_SCALE ? "any run of that scale" : "it");
}

static void report_group(const station_system *s, const dm_hypothesis *group,
                         size_t count, dm_diag *diag)
{
    char equals[2 * TEXT], line[TEXT];
    const dm_hypothesis *h = &group[0];
    say_equals(s, group, count, equals, sizeof equals);
    if (h->kind == DM_BLUNDER_MEASURED)
        warn_measured(s, h, equals, diag);
    else if (h->kind == DM_BLUNDER_SCALE || h->kind == DM_BLUNDER_REVERSED)
        warn_run(s, h, equals, diag);
    else if (h->kind != DM_BLUNDER_WRONG_FACE || !warn_tie(s, h, equals, diag))
        warn_interval(s, h, equals, diag);
    for (size_t i = 0; i < count; i++)
        if ((i == 0 || group[i].equal) && accept_line(s, &group[i], line))
            dm_note(diag, s->paths[group[i].run].run->place, s->tendon->id,
                    "to accept it, put into the job who decided and why: %s",
                    line);
}

static void report_accepted(const station_system *s, const dm_hypothesis *h,
                            dm_diag *diag)
{
    const dm_run *run = s->paths[h->run].run;
    char text[TEXT];
    words(s, h, text);
    dm_warn(diag, run->place, s->tendon->id,
            "run %s is solved with a hypothesis that %s accepted: %s; reason "
            "given: %s",
            run->id, h->who, text, h->why);
}

void station_report(const station_system *s, const dm_hypothesis *all,
                    size_t count, dm_diag *diag)
{
    for (size_t i = 0, next; i < count; i = next) {
        const dm_hypothesis *accepted = NULL;
        for (next = i; next < count && all[next].group == all[i].group; next++)
            if (all[next].accepted)
                accepted = &all[next];
        if (accepted)
            report_accepted(s, accepted, diag);
        else
            report_group(s, &all[i], next - i, diag);
    }
}

dm_status station_words(const station_system *s, dm_hypothesis *all,
                        size_t count, dm_stations *out)
{
    for (size_t i = 0; i < count; i++) {
        dm_hypothesis *h = &all[i];
        char text[TEXT];
        words(s, h, text);
        if (h->kind == DM_BLUNDER_MEASURED)
            h->text = dm_arena_strdup(out->arena, text);
        else if (h->interval == DM_NONE || h->event != DM_NONE)
            h->text = dm_arena_printf(out->arena, "run %s: %s",
                                      s->paths[h->run].run->id, text);
        else
            h->text = dm_arena_printf(out->arena, "run %s, interval %d: %s",
                                      s->paths[h->run].run->id,
                                      interval_number(s, h), text);
        if (!h->text)
            return DM_NOMEM;
        if (!h->accepted)
            continue;
        const char *before = out->accepted;
        out->accepted = dm_arena_printf(
            out->arena, "%s%s%s, accepted by %s: %s", before ? before : "",
            before ? "; " : "", h->text, h->who, h->why);
        if (!out->accepted)
            return DM_NOMEM;
    }
    return DM_OK;
}

void station_report_loose(const station_system *s, dm_diag *diag)
{
    for (size_t i = 0; i < s->section_count; i++) {
        const section *q = &s->sections[i];
        const dm_run *run = s->paths[q->path].run;
        if (q->base != DM_NONE)
            continue;
        if (q->event == DM_NONE)
            dm_error(diag, DM_INCONSISTENT, run->place, s->tendon->id,
                     "run %s has neither start nor tie before its first skip "
                     "of unknown length: its readings up to there are left out",
                     run->id);
        else
            dm_error(diag, DM_INCONSISTENT, run->events[q->event].place,
                     s->tendon->id,
                     "run %s: a skip of unknown length and no tie before the "
                     "next or the end: the readings in between are left out",
                     run->id);
    }
}
