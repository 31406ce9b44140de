/* SPDX-License-Identifier: MIT
 * A survey plan as CSV: tendons, or runs in the order of the work. Times in
 * seconds. */
#include <math.h>
#include <string.h>

#include "scene/properties.h"
#include "write/plan.h"
#include "write/row.h"

const char *const *dm_plan_cautions(void)
{
    static const char *const text[] = {
        "Times are for planning only; every factor is common practice without "
        "a source, unless it was set.",
        "Access, permits and rescue are the decision of the responsible "
        "people; box girders can be confined spaces, and much of the work is "
        "at height.",
        "Length that is lost here stays not tested; it is not known to be "
        "sound.",
        NULL};

    return text;
}

static void state_cells(dm_row *row, const double *sum)
{
    static const char *const name[DM_BAY_STATES] = {"testable", "dead_zone",
                                                    "obstruction", "no_access"};

    for (size_t i = 0; i < DM_BAY_STATES; i++)
        dm_row_length(row, name[i], sum[i]);
}

static void time_cells(dm_row *row, const dm_plan_time *t)
{
    dm_row_real(row, "scan_s", t->scan, 1);
    dm_row_real(row, "reseat_s", t->reseat, 1);
    dm_row_real(row, "setup_s", t->setup, 1);
    dm_row_real(row, "move_s", t->move, 1);
    dm_row_real(row, "shift_s", t->shift, 1);
    dm_row_real(row, "check_s", t->check, 1);
    dm_row_real(row, "tie_s", t->tie, 1);
    dm_row_real(row, "time_s", t->total, 1);
}

static dm_status sum_row(dm_row *row, const char *id, const char *where,
                         const dm_plan_sum *s)
{
    static const char *const name[DM_ACCESS_COUNT] = {
        "access_floor", "access_ladder", "access_scaffold",
        "access_crawl", "access_rope",   "access_none"};

    dm_row_begin(row, row->header);
    dm_row_text(row, "id", id);
    dm_row_text(row, "where", where);
    dm_row_length(row, "length", s->length);
    dm_row_length(row, "free", s->free_length);
    dm_row_length(row, "readable", s->readable);
    state_cells(row, s->sum);
    for (size_t i = 0; i < DM_ACCESS_COUNT; i++)
        dm_row_length(row, name[i], s->access[i]);
    dm_row_count(row, "fixtures", s->fixture_count);
    dm_row_count(row, "bays", s->bay_count);
    dm_row_count(row, "runs", s->run_count);
    dm_row_count(row, "stretches", s->stretch_count);
    dm_row_length(row, "scan", s->scan);
    time_cells(row, &s->time);
    return dm_row_end(row);
}

void dm_csv_plan(const dm_plan_output *o, dm_buf *out)
{
    const dm_plan *p = o->plan;
    dm_row row = {.text = out, .header = true, .us = o->units == DM_UNITS_US};
    dm_status status = sum_row(&row, NULL, NULL, &p->total);

    row.header = false;
    for (size_t i = 0; i < p->tendon_count && status == DM_OK; i++) {
        const dm_tendon *n = &o->model->tendons[i];

        status = sum_row(&row, n->id, n->where, &p->tendons[i]);
    }
    if (status == DM_OK)
        status = sum_row(&row, "", "all tendons", &p->total);
    if (status != DM_OK)
        out->failed = true;
    dm_buf_free(&row.buf);
}

/* ---- runs ------------------------------------------------------------- */

/* "collar C1 3.200-3.300; low clearance girder.obj: deck 4.000-4.800; no access
 * 5.000-6.000": metres from the start face. */
static void obstruction_cell(dm_row *row, const dm_tendon *n,
                             const dm_plan_run *r)
{
    dm_buf text = {0};

    for (size_t i = 0; !row->header && i < r->obstruction_count; i++) {
        const dm_obstruction *x = &r->obstructions[i];
        const char *name, *kind = dm_obstruction_text(n, r, x, &name);

        if (i > 0)
            dm_buf_puts(&text, "; ");
        dm_buf_printf(&text, "%s%s%s", kind, *name ? " " : "", name);
        if (isnan(x->near_tape))
            continue;
        dm_buf_putc(&text, ' ');
        dm_buf_fixed(&text, x->near_tape, 3);
        dm_buf_putc(&text, '-');
        dm_buf_fixed(&text, x->far_tape, 3);
    }
    dm_row_text(row, "obstructions_from_start_face_m", text.data);
    row->buf.failed = row->buf.failed || text.failed;
    dm_buf_free(&text);
}

static const char *face_id(const dm_tendon *n, size_t face)
{
    return face == DM_NONE ? NULL : n->faces[face].id;
}

static dm_status run_row(dm_row *row, const dm_plan_output *o, size_t i)
{
    const dm_plan_run *r = &o->plan->runs[i];
    const dm_bay *b = &o->plan->bays[r->bay];
    const dm_tendon *n = &o->model->tendons[r->tendon];
    char id[64];

    dm_plan_run_id(o, i, id);
    dm_row_begin(row, row->header);
    dm_row_count(row, "order", i + 1);
    dm_row_text(row, "id", id);
    dm_row_text(row, "tendon", n->id);
    dm_row_text(row, "where", n->where);
    dm_row_count(row, "bay", b->number);
    dm_row_length(row, "from", b->from);
    dm_row_length(row, "to", b->to);
    dm_row_angle(row, "slope", b->slope);
    dm_row_bool(row, "sloped", b->sloped);
    dm_row_clock(row, "clock_looking_ahead", r->clock);
    dm_row_text(row, "direction",
                r->direction == DM_SIDE_AHEAD ? "ahead" : "back");
    dm_row_text(row, "leading",
                r->leading == DM_LEADING_NOSE ? "nose" : "tail");
    dm_row_text(row, "start_face", face_id(n, r->face_start));
    dm_row_length(row, "start_from_face", r->start_distance);
    dm_row_text(row, "end_face", face_id(n, r->face_end));
    dm_row_length(row, "end_from_face", r->end_distance);
    state_cells(row, r->sum);
    dm_row_count(row, "stretches", r->stretch_count);
    obstruction_cell(row, n, r);
    time_cells(row, &r->time);
    return dm_row_end(row);
}

void dm_csv_plan_runs(const dm_plan_output *o, dm_buf *out)
{
    dm_plan_run none = {.face_start = DM_NONE, .face_end = DM_NONE};
    dm_bay bay = {.number = 0};
    dm_plan head = {.runs = &none, .bays = &bay};
    dm_plan_output header = {
        .plan = &head, .model = o->model, .units = o->units};
    dm_row row = {.text = out, .header = true, .us = o->units == DM_UNITS_US};
    dm_status status = run_row(&row, &header, 0);

    row.header = false;
    for (size_t i = 0; i < o->plan->run_count && status == DM_OK; i++)
        status = run_row(&row, o, i);
    if (status != DM_OK)
        out->failed = true;
    dm_buf_free(&row.buf);
}
