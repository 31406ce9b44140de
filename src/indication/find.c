/* SPDX-License-Identifier: MIT
 * The indication stage of one tendon: runs one after the other, then what
 * they saw together. */
#include "indication/find.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/diag.h"
#include "base/file.h"
#include "indication/line.h"

static dm_status keep_profiles(dm_finder *f)
{
    dm_indications *out = f->out;

    out->profiles = DM_NEW_ARRAY(f->arena, dm_profile, f->line_count);
    if (out->profiles == NULL)
        return DM_NOMEM;
    for (size_t i = 0; i < f->line_count; i++) {
        const dm_line_sum *l = &f->lines[i];
        dm_profile *p = &out->profiles[i];

        p->clock = l->clock;
        p->pitch = DM_PROFILE_PITCH;
        p->index = DM_NEW_ARRAY(f->arena, float, f->line_cells);
        if (p->index == NULL)
            return DM_NOMEM;
        p->count = f->line_cells;
        for (size_t k = 0; k < f->line_cells; k++)
            p->index[k] =
                l->n[k] > 0.0f ? (float)(l->sum[k] / (double)l->n[k]) : NAN;
        out->profile_count = i + 1;
    }
    return DM_OK;
}

static void place_end(const dm_finder *f, dm_end *end)
{
    end->bridge = dm_model_bridge_place(
        f->model, dm_centreline_point(&f->tendon->line, end->t));
}

/* Where each lies among supports and high points. */
static dm_status place_items(dm_finder *f)
{
    dm_layout layout;
    dm_status status;

    if (f->out->count == 0)
        return DM_OK;
    status = dm_layout_make(f->model, f->tendon, f->arena, &layout);
    for (size_t i = 0; i < f->out->count && status == DM_OK; i++) {
        dm_indication *item = &f->out->items[i];

        item->position =
            dm_position_of(f->tendon, &layout, item->from.t, item->to.t);
    }
    return status;
}

static dm_status find_all(dm_finder *f, const dm_criteria *criteria,
                          const dm_register *reg)
{
    dm_status status = DM_OK;

    for (size_t r = 0; r < f->stations->run_count && status == DM_OK; r++)
        status = f->stations->runs[r].usable
                     ? dm_find_in_run(f, r)
                     : dm_claim_unusable(
                           f, &f->survey->runs[f->stations->runs[r].run]);
    if (status == DM_OK)
        status = dm_mirror_check(f);
    if (status == DM_OK)
        status = dm_sightings_merge(f, &f->out->items, &f->out->count);
    if (status == DM_OK)
        status = dm_identify(f, reg);
    if (status == DM_OK)
        status = dm_cover_build(f);
    if (status == DM_OK)
        status = keep_profiles(f);
    if (status == DM_OK)
        status = dm_sizes_build(f);
    if (status == DM_OK)
        status = place_items(f);
    if (status == DM_OK)
        status = dm_openings_build(f, reg);
    for (size_t i = 0; i < f->out->count && status == DM_OK; i++) {
        dm_grade_indication(criteria, &f->out->items[i]);
        place_end(f, &f->out->items[i].from);
        place_end(f, &f->out->items[i].to);
    }
    return status;
}

/* Room for one hash a stretch at most; NULL: no memory. */
static const char **hash_room(const dm_finder *f)
{
    size_t most = 0;

    for (size_t i = 0; i < f->stations->run_count; i++)
        most += f->stations->runs[i].stretch_count +
                f->survey->runs[f->stations->runs[i].run].event_count;
    return DM_NEW_ARRAY(f->arena, const char *, most);
}

dm_status dm_indications_find(const dm_model *model, const dm_survey *survey,
                              const dm_stations *stations,
                              const dm_criteria *criteria,
                              const dm_register *reg,
                              const dm_settings *settings, dm_diag *diag,
                              dm_indications **out)
{
    return dm_find_watched(model, survey, stations, criteria, reg, settings,
                           NULL, diag, out);
}

dm_status dm_find_watched(const dm_model *model, const dm_survey *survey,
                          const dm_stations *stations,
                          const dm_criteria *criteria, const dm_register *reg,
                          const dm_settings *settings, const dm_watch *watch,
                          dm_diag *diag, dm_indications **out)
{
    dm_arena *arena = dm_arena_new();
    dm_indications *h = arena != NULL ? DM_NEW(arena, dm_indications) : NULL;
    dm_finder f = {.model = model,
                   .tendon = &model->tendons[stations->tendon],
                   .survey = survey,
                   .stations = stations,
                   .settings = settings,
                   .watch = watch,
                   .diag = diag,
                   .arena = arena};
    dm_status status;

    *out = NULL;
    if (h == NULL) {
        dm_arena_free(arena);
        return dm_error(diag, DM_NOMEM, (dm_place){NULL, 0}, f.tendon->id,
                        "out of memory");
    }
    h->arena = arena;
    h->tendon = stations->tendon;
    f.out = h;
    f.out->hashes = hash_room(&f);
    f.line_cells =
        (size_t)ceil(f.tendon->line.length / DM_PROFILE_PITCH - 1e-9);
    status = f.out->hashes != NULL ? find_all(&f, criteria, reg) : DM_NOMEM;
    for (size_t i = 0; i < f.line_count; i++) {
        free(f.lines[i].sum);
        free(f.lines[i].n);
    }
    free(f.lines);
    free(f.sightings.items);
    free(f.claims.items);
    free(f.turns);
    free(f.passes);
    dm_run_profiles_free(&f);
    free(f.clock_lines);
    if (status != DM_OK) {
        dm_error(diag, status, f.tendon->place, f.tendon->id, "%s",
                 dm_status_text(status));
        dm_arena_free(arena);
        return status;
    }
    *out = h;
    return DM_OK;
}

void dm_indications_free(dm_indications *indications)
{
    if (indications != NULL)
        dm_arena_free(indications->arena);
}
