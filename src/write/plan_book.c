/* SPDX-License-Identifier: MIT
 * A field book of planned runs, to be completed on site (geometry/
 * fieldbook.xsd). What is expected stands where what was read must stand in the
 * end, and says so: run distances at nominal scale, skips with a standard
 * uncertainty of 50 mm, so that one that was forgotten weighs little. No check
 * is written: a reading that nobody took must not stand in a book. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/file.h"
#include "base/num.h"
#include "base/uuid.h"
#include "ductmark/ductmark.h"
#include "scene/properties.h"
#include "write/plan_book.h"

#define MOST_TEXT 250 /* characters of a text, common.xsd */

/* For people: to 1 mm, or 0.001 ft. */
static void put_expected(const book_work *w, const char *name, double metres)
{
    bool us = w->o->units == DM_UNITS_US;

    dm_buf_printf(w->out, " %s=\"", name);
    dm_buf_fixed(w->out, us ? metres / 0.3048 : metres, 3);
    dm_buf_puts(w->out, us ? " ft\"" : " m\"");
}

/* A comment must not hold two hyphens side by side; an id may. */
static void put_comment_text(dm_buf *b, const char *text)
{
    for (char last = '\0'; *text; last = *text++) {
        if (*text == '-' && last == '-')
            dm_buf_putc(b, ' ');
        dm_buf_putc(b, *text);
    }
}

/* ---- runs ------------------------------------------------------------- */

void dm_plan_run_id(const dm_plan_output *o, size_t run, char id[64])
{
    const dm_plan_run *r = &o->plan->runs[run];
    char clock[8];
    int length;

    dm_clock_text(r->clock, clock);
    for (char *c = clock; *c; c++)
        *c = *c == ':' ? '.' : *c;
    length = snprintf(id, 64, "%s-%zu-%s", o->model->tendons[r->tendon].id,
                      o->plan->bays[r->bay].number, clock);
    if (length < 0 || length > 63)
        snprintf(id, 64, "run-%zu", run + 1);
}

static void put_tie(const book_work *w, const char *name, const char *face,
                    const char *with, double x, double distance)
{
    dm_buf_printf(w->out, "    <%s", name);
    put_expected(w, "x", w->in ? x / w->in->scale : x);
    book_put_text(w->out, "at", face);
    book_put_text(w->out, "with", with);
    if (distance >= 5e-4)
        put_expected(w, "distance", distance);
    dm_buf_puts(w->out, "/>\n");
}

static void put_readings(const book_work *w, const char *id, size_t segment)
{
    bool segments = !w->columns || w->columns->segment;

    if (!segments && segment > 1)
        return;
    dm_buf_puts(w->out, "    <readings href=\"readings/");
    dm_buf_xml(w->out, id);
    dm_buf_puts(w->out, ".csv\"");
    if (segments)
        dm_buf_printf(w->out, " segment=\"s%zu\"", segment);
    dm_buf_puts(w->out, "/>\n");
}

/* "collar C1, wrap W2": what lies between two stretches. */
static void reason_of(const dm_tendon *n, const dm_plan_run *r, size_t stretch,
                      dm_buf *text)
{
    for (size_t i = 0; i < r->obstruction_count; i++) {
        const dm_obstruction *x = &r->obstructions[i];
        const char *name, *kind = dm_obstruction_text(n, r, x, &name);

        if (x->stretch != stretch)
            continue;
        if (text->length + strlen(kind) + strlen(name) + 3 > MOST_TEXT)
            break;
        dm_buf_printf(text, "%s%s%s%s", text->length > 0 ? ", " : "", kind,
                      *name ? " " : "", name);
    }
}

/* From where the front stops to where the rear sets down: the gap, if the
 * body has a length to tell it by. */
static void put_skip(const book_work *w, const dm_tendon *n,
                     const dm_plan_run *r, size_t stretch)
{
    const double *f = w->o->plan->factors.value;
    double body = f[DM_FACTOR_NOSE] + f[DM_FACTOR_TAIL];
    double x = r->stretches[stretch].x_end, gap = r->stretches[stretch + 1].gap;
    dm_buf reason = {0};

    reason_of(n, r, stretch, &reason);
    dm_buf_puts(w->out, "    <skip");
    put_expected(w, "x", w->in ? x / w->in->scale : x);
    put_expected(w, "length", gap);
    book_put_text(w->out, "basis", body > 0.0 ? "gap" : "displacement");
    put_expected(w, "u", 0.05);
    if (reason.length > 0)
        book_put_text(w->out, "reason", reason.data);
    dm_buf_puts(w->out, "/>\n");
    w->out->failed = w->out->failed || reason.failed;
    dm_buf_free(&reason);
}

static void put_run_head(const book_work *w, const dm_plan_run *r,
                         const char *id)
{
    const dm_run *taped = book_taped_run(w);
    dm_buf *b = w->out;

    dm_buf_puts(b, "  <run");
    book_put_text(b, "id", id);
    book_put_text(b, "tendon", w->o->model->tendons[r->tendon].id);
    book_put_text(b, "instrument", w->in ? w->in->id : "I1");
    book_put_text(b, "direction",
                  r->direction == DM_SIDE_AHEAD ? "ahead" : "back");
    book_put_text(b, "leading",
                  r->leading == DM_LEADING_NOSE ? "nose" : "tail");
    book_put_angle(b, "clock", r->clock);
    if (taped)
        book_put_text(b, "tape", taped->tape);
    dm_buf_puts(b,
                ">\n    <note>PLANNED, to be completed: every x, skip length "
                "and distance is from the drawings; put in what was read "
                "and taped, take out u of the skips, add the checks of air "
                "and reference.</note>\n");
}

/* "23 of 60 mm", or inches. */
static void put_height(const book_work *w, double free, dm_buf *text)
{
    bool us = w->o->units == DM_UNITS_US;
    double unit = us ? 0.0254 : 0.001;

    /* Rounded down and up: what does not fit must not look as if it did. */
    dm_buf_fixed(text, dm_num_down(free / unit, 0.1), 1);
    dm_buf_puts(text, " of ");
    dm_buf_fixed(text, dm_num_up(w->o->plan->body_height / unit, 0.1), 1);
    dm_buf_puts(text, us ? " in" : " mm");
}

/* What cannot be run on this clock line, as tape measures from the start face,
 * and where it can. */
static void put_low_note(const book_work *w, const dm_plan_run *r,
                         const dm_obstruction *x)
{
    const dm_plan_low *low = &r->low[x->low];
    const dm_tendon *n = &w->o->model->tendons[r->tendon];
    bool us = w->o->units == DM_UNITS_US;
    double unit = us ? 0.3048 : 1.0;
    char clock[8], other[8];
    dm_buf text = {0};

    dm_buf_printf(&text, "LOW CLEARANCE, not to be run at %s: ",
                  dm_clock_text(r->clock, clock));
    dm_buf_fixed(&text, x->near_tape / unit, 3);
    dm_buf_puts(&text, " to ");
    dm_buf_fixed(&text, x->far_tape / unit, 3);
    dm_buf_printf(&text, " %s from face %s, ", us ? "ft" : "m",
                  n->faces[r->face_start].id);
    put_height(w, low->free, &text);
    dm_buf_puts(&text, " free; ");
    if (low->other == DM_NONE)
        dm_buf_puts(&text, "no other clock line of the plan is free there");
    else
        dm_buf_printf(&text, "%s is free there",
                      dm_clock_text(w->o->plan->clocks[low->other], other));
    if (text.length + strlen(low->obstacle) + 2 <= MOST_TEXT)
        dm_buf_printf(&text, ": %s", low->obstacle);
    dm_buf_puts(w->out, "    <note>");
    if (!text.failed)
        dm_buf_xml(w->out, text.data);
    dm_buf_puts(w->out, "</note>\n");
    w->out->failed = w->out->failed || text.failed;
    dm_buf_free(&text);
}

/* A run that low clearance leaves no stretch of is no run of the book. */
static void put_not_made(const book_work *w, const dm_plan_run *r)
{
    char clock[8], other[8];
    bool said = false;

    dm_buf_puts(w->out, "  <!-- Not made, low clearance: tendon ");
    put_comment_text(w->out, w->o->model->tendons[r->tendon].id);
    dm_buf_printf(w->out, ", bay %zu, %s.", w->o->plan->bays[r->bay].number,
                  dm_clock_text(r->clock, clock));
    for (size_t i = 0; i < r->low_count; i++) {
        size_t line = r->low[i].other;
        bool repeated = line == DM_NONE;

        for (size_t k = 0; k < i; k++)
            repeated = repeated || r->low[k].other == line;
        if (repeated)
            continue;
        dm_buf_printf(w->out, "%s %s", said ? "," : " Free in part:",
                      dm_clock_text(w->o->plan->clocks[line], other));
        said = true;
    }
    dm_buf_puts(w->out, " -->\n");
}

static void put_run(const book_work *w, size_t i)
{
    const dm_plan_run *r = &w->o->plan->runs[i];
    const dm_tendon *n = &w->o->model->tendons[r->tendon];
    bool nose = r->leading == DM_LEADING_NOSE;
    double end = r->stretches[r->stretch_count - 1].x_end;
    char id[64];

    dm_plan_run_id(w->o, i, id);
    put_run_head(w, r, id);
    for (size_t k = 0; k < r->obstruction_count; k++)
        if (r->obstructions[k].low != DM_NONE)
            put_low_note(w, r, &r->obstructions[k]);
    put_tie(w, "start", n->faces[r->face_start].id, nose ? "tail" : "nose", 0.0,
            r->start_distance);
    for (size_t k = 0; k < r->stretch_count; k++) {
        put_readings(w, id, k + 1);
        if (k + 1 < r->stretch_count)
            put_skip(w, n, r, k);
    }
    if (r->face_end != DM_NONE)
        put_tie(w, "tie", n->faces[r->face_end].id, nose ? "nose" : "tail", end,
                r->end_distance);
    dm_buf_puts(w->out, "  </run>\n");
}

/* ---- all of it ---------------------------------------------------------- */

static void put_head(const book_work *w, const dm_plan_book *book)
{
    const dm_model *m = w->o->model;
    char uid[37] = "";
    dm_buf *b = w->out;
    dm_uuid space;

    if (!book->uid && dm_uuid_parse(m->uid, &space)) {
        dm_buf name = {0};
        dm_buf_printf(&name, "fieldbook/%s/%s", book->survey, book->date);
        dm_uuid_text(dm_uuid_name(space, name.failed ? "" : name.data), uid);
        b->failed = b->failed || name.failed;
        dm_buf_free(&name);
    }
    dm_buf_printf(b,
                  "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
                  "<!-- A plan to be completed on site, no record yet. Made by "
                  "ductmark %s from a bridge file with\n     SHA-256 %s.\n",
                  dm_version(), m->sha256 ? m->sha256 : "");
    for (size_t i = 0; i < dm_context_file_count(w->o->context); i++) {
        const char *sha256, *file = dm_context_file(w->o->context, i, &sha256);
        dm_buf_puts(b, "     Mesh ");
        put_comment_text(b, dm_path_name(file));
        dm_buf_printf(b, " with SHA-256 %s.\n", sha256);
    }
    for (const char *const *c = dm_plan_cautions(); *c; c++)
        dm_buf_printf(b, "     %s\n", *c);
    dm_buf_puts(b, "-->\n<fieldbook version=\"1\"");
    book_put_text(b, "uid", book->uid ? book->uid : uid);
    book_put_text(b, "survey", book->survey);
    book_put_text(b, "date", book->date);
    book_put_text(b, "bridge", m->uid);
    dm_buf_puts(b, ">\n");
}

size_t dm_fieldbook_plan(const dm_plan_output *o, const dm_plan_book *book,
                         size_t *left_out, dm_buf *out)
{
    book_work w = {.o = o, .out = out};
    size_t count = 0;

    if (o->survey) { /* one description of columns for each instrument */
        w.in = &o->survey->instruments[o->instrument];
        w.columns = &o->survey->columns[o->instrument];
    }
    put_head(&w, book);
    book_put_instrument(&w);
    book_put_tape(&w);
    book_put_calibrations(&w);
    book_put_columns(&w);
    *left_out = 0;
    for (size_t i = 0; i < o->plan->run_count; i++) {
        const dm_plan_run *r = &o->plan->runs[i];
        bool starts = r->stretch_count > 0 && r->face_start != DM_NONE;

        if (starts)
            put_run(&w, i);
        else if (r->stretch_count == 0 && r->low_count > 0)
            put_not_made(&w, r);
        count += starts;
        *left_out += r->stretch_count > 0 && !starts;
    }
    dm_buf_puts(out, "</fieldbook>\n");
    return count;
}
