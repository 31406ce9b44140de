/* SPDX-License-Identifier: MIT
 * A survey plan as JSON: all of it, for other programs. Lengths in metres,
 * angles in degrees looking ahead, times in seconds; indices are replaced by
 * ids. */
#include <math.h>
#include <string.h>

#include "base/file.h"
#include "ductmark/ductmark.h"
#include "scene/properties.h"
#include "write/json.h"
#include "write/plan.h"

#define DEG(rad) ((rad) * (180.0 / 3.14159265358979323846))

static const char *const state_key[DM_BAY_STATES] = {"testable", "deadZone",
                                                     "obstruction", "noAccess"};

static void length(dm_json *j, const char *key, double metres)
{
    dm_json_fixed(j, key, metres, 6);
}

static void put_states(dm_json *j, const double *sum)
{
    for (size_t i = 0; i < DM_BAY_STATES; i++)
        length(j, state_key[i], sum[i]);
}

static void put_access(dm_json *j, const char *key, const double *sum)
{
    dm_json_open(j, key, '{');
    for (size_t i = 0; i < DM_ACCESS_COUNT; i++)
        length(j, dm_access_text((dm_access)i), sum[i]);
    dm_json_close(j, '}');
}

static void put_time(dm_json *j, const dm_plan_time *t)
{
    dm_json_open(j, "time", '{');
    dm_json_fixed(j, "scan", t->scan, 3);
    dm_json_fixed(j, "reseat", t->reseat, 3);
    dm_json_fixed(j, "setup", t->setup, 3);
    dm_json_fixed(j, "move", t->move, 3);
    dm_json_fixed(j, "shift", t->shift, 3);
    dm_json_fixed(j, "check", t->check, 3);
    dm_json_fixed(j, "tie", t->tie, 3);
    dm_json_fixed(j, "total", t->total, 3);
    dm_json_close(j, '}');
}

static void put_head(dm_json *j, const dm_plan_output *o)
{
    const dm_model *m = o->model;

    dm_json_text(j, "tool", "ductmark");
    dm_json_text(j, "version", dm_version());
    dm_json_text(j, "bridge", m->id);
    dm_json_text(j, "bridgeName", m->name);
    dm_json_text(j, "bridgeUid", m->uid);
    dm_json_text(j, "bridgeSha256", m->sha256);
    dm_json_text(j, "units",
                 "lengths in m, angles in deg looking ahead, times in s");
    dm_json_open(j, "cautions", '[');
    for (const char *const *c = dm_plan_cautions(); *c; c++)
        dm_json_text(j, NULL, *c);
    dm_json_close(j, ']');
}

static void put_factors(dm_json *j, const dm_plan *p)
{
    size_t count = 0;
    const dm_factor_info *list = dm_factor_list(&count);

    dm_json_open(j, "factors", '[');
    for (size_t i = 0; i < count; i++) {
        dm_json_open(j, NULL, '{');
        dm_json_text(j, "name", list[i].name);
        dm_json_fixed(j, "value", p->factors.value[i], 6);
        dm_json_text(j, "unit", list[i].unit);
        dm_json_text(j, "origin", dm_origin_text(p->factors.origin[i]));
        dm_json_text(j, "meaning", list[i].help);
        dm_json_close(j, '}');
    }
    dm_json_close(j, ']');
    dm_json_open(j, "clockLines", '[');
    for (size_t i = 0; i < p->clock_count; i++)
        dm_json_fixed(j, NULL, DEG(p->clocks[i]), 4);
    dm_json_close(j, ']');
}

/* Nothing where no mesh was named. */
static void put_clearance(dm_json *j, const dm_plan_output *o)
{
    if (!(o->plan->body_height > 0.0) && !o->body_unknown)
        return;
    dm_json_open(j, "clearance", '{');
    dm_json_bool(j, "known", o->plan->body_height > 0.0);
    length(j, "bodyHeight",
           o->plan->body_height > 0.0 ? o->plan->body_height : (double)NAN);
    dm_json_open(j, "meshes", '[');
    for (size_t i = 0; i < dm_context_file_count(o->context); i++) {
        const char *sha256 = NULL;
        const char *file = dm_context_file(o->context, i, &sha256);
        dm_json_open(j, NULL, '{');
        dm_json_text(j, "file", dm_path_name(file));
        dm_json_text(j, "sha256", sha256);
        dm_json_close(j, '}');
    }
    dm_json_close(j, ']');
    dm_json_close(j, '}');
}

static void put_sum(dm_json *j, const dm_plan_sum *s)
{
    length(j, "length", s->length);
    length(j, "free", s->free_length);
    length(j, "readable", s->readable);
    put_states(j, s->sum);
    put_access(j, "access", s->access);
    length(j, "scan", s->scan);
    dm_json_count(j, "fixtures", s->fixture_count);
    dm_json_count(j, "bays", s->bay_count);
    dm_json_count(j, "runs", s->run_count);
    dm_json_count(j, "stretches", s->stretch_count);
    put_time(j, &s->time);
}

static void put_total(dm_json *j, const dm_plan *p)
{
    dm_json_open(j, "total", '{');
    put_sum(j, &p->total);
    dm_json_fixed(j, "day", p->day, 3);
    dm_json_fixed(j, "days", p->days, 4);
    length(j, "freePerDay", p->free_per_day);
    dm_json_fixed(j, "persons", p->persons, 0);
    dm_json_close(j, '}');
}

/* ---- runs ------------------------------------------------------------- */

static void put_stretches(dm_json *j, const dm_plan_run *r)
{
    dm_json_open(j, "stretches", '[');
    for (size_t i = 0; i < r->stretch_count; i++) {
        const dm_plan_stretch *p = &r->stretches[i];

        dm_json_open(j, NULL, '{');
        length(j, "begin", p->begin);
        length(j, "end", p->end);
        length(j, "runDistanceBegin", p->x_begin);
        length(j, "runDistanceEnd", p->x_end);
        length(j, "gapBefore", p->gap);
        dm_json_close(j, '}');
    }
    dm_json_close(j, ']');
}

static void put_obstructions(dm_json *j, const dm_tendon *n,
                             const dm_plan_run *r)
{
    dm_json_open(j, "obstructions", '[');
    for (size_t i = 0; i < r->obstruction_count; i++) {
        const dm_obstruction *x = &r->obstructions[i];
        const dm_fixture *f =
            x->fixture == DM_NONE ? NULL : &n->fixtures[x->fixture];
        const char *name, *kind = dm_obstruction_text(n, r, x, &name);

        dm_json_open(j, NULL, '{');
        dm_json_text(j, "fixture", f ? f->id : NULL);
        dm_json_text(j, "kind", kind);
        length(j, "nearTape", x->near_tape);
        length(j, "farTape", x->far_tape);
        dm_json_close(j, '}');
    }
    dm_json_close(j, ']');
}

static void put_low(dm_json *j, const dm_plan *p, const dm_plan_run *r)
{
    dm_json_open(j, "lowClearance", '[');
    for (size_t i = 0; i < r->low_count; i++) {
        const dm_plan_low *l = &r->low[i];

        dm_json_open(j, NULL, '{');
        length(j, "from", l->from);
        length(j, "to", l->to);
        length(j, "free", l->free);
        dm_json_text(j, "obstacle", l->obstacle);
        dm_json_fixed(
            j, "otherClock",
            l->other == DM_NONE ? (double)NAN : DEG(p->clocks[l->other]), 4);
        dm_json_close(j, '}');
    }
    dm_json_close(j, ']');
}

static void put_lengths(dm_json *j, const dm_plan_run *r)
{
    dm_json_open(j, "lengths", '[');
    for (size_t i = 0; i < r->length_count; i++) {
        const dm_bay_length *l = &r->lengths[i];

        dm_json_open(j, NULL, '{');
        length(j, "from", l->from);
        length(j, "to", l->to);
        dm_json_text(j, "state", dm_bay_state_text(l->state));
        dm_json_text(j, "access", dm_access_text(l->access));
        dm_json_close(j, '}');
    }
    dm_json_close(j, ']');
}

static void put_run(dm_json *j, const dm_plan_output *o, size_t i)
{
    const dm_plan_run *r = &o->plan->runs[i];
    const dm_bay *b = &o->plan->bays[r->bay];
    const dm_tendon *n = &o->model->tendons[r->tendon];
    size_t start = r->face_start, end = r->face_end;
    char id[64];

    dm_plan_run_id(o, i, id);
    dm_json_open(j, NULL, '{');
    dm_json_text(j, "id", id);
    dm_json_text(j, "tendon", n->id);
    dm_json_count(j, "bay", b->number);
    length(j, "from", b->from);
    length(j, "to", b->to);
    dm_json_fixed(j, "slope", DEG(b->slope), 4);
    dm_json_bool(j, "sloped", b->sloped);
    dm_json_fixed(j, "clock", DEG(r->clock), 4);
    dm_json_text(j, "direction",
                 r->direction == DM_SIDE_AHEAD ? "ahead" : "back");
    dm_json_text(j, "leading", r->leading == DM_LEADING_NOSE ? "nose" : "tail");
    dm_json_text(j, "startFace", start == DM_NONE ? NULL : n->faces[start].id);
    length(j, "startFromFace", r->start_distance);
    dm_json_text(j, "endFace", end == DM_NONE ? NULL : n->faces[end].id);
    length(j, "endFromFace", r->end_distance);
    put_states(j, r->sum);
    put_access(j, "scan", r->scan);
    put_stretches(j, r);
    put_obstructions(j, n, r);
    if (o->plan->body_height > 0.0)
        put_low(j, o->plan, r);
    put_lengths(j, r);
    put_time(j, &r->time);
    dm_json_close(j, '}');
}

void dm_json_plan(const dm_plan_output *o, dm_buf *out)
{
    dm_json j = {.first = true};

    dm_json_open(&j, NULL, '{');
    put_head(&j, o);
    put_factors(&j, o->plan);
    put_clearance(&j, o);
    put_total(&j, o->plan);
    dm_json_open(&j, "tendons", '[');
    for (size_t i = 0; i < o->plan->tendon_count; i++) {
        dm_json_open(&j, NULL, '{');
        dm_json_text(&j, "id", o->model->tendons[i].id);
        dm_json_text(&j, "where", o->model->tendons[i].where);
        put_sum(&j, &o->plan->tendons[i]);
        dm_json_close(&j, '}');
    }
    dm_json_close(&j, ']');
    dm_json_open(&j, "runs", '[');
    for (size_t i = 0; i < o->plan->run_count; i++)
        put_run(&j, o, i);
    dm_json_close(&j, ']');
    dm_json_close(&j, '}');
    if (j.buf.failed)
        out->failed = true;
    else
        dm_buf_put(out, j.buf.data, j.buf.length);
    dm_buf_free(&j.buf);
}
