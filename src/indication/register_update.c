/* SPDX-License-Identifier: MIT
 * The register after a survey, from the one before and the indications that
 * were found. The tool never edits the earlier file: this is a new one. */
#include <stdlib.h>
#include <string.h>

#include "base/arena.h"
#include "base/diag.h"
#include "ductmark/indication.h"

static bool copy_text(dm_arena *arena, const char **text)
{
    if (*text != NULL)
        *text = dm_arena_strdup(arena, *text);
    return *text != NULL;
}

static bool copy_openings(dm_arena *arena, const dm_opening *from, size_t count,
                          dm_opening **to)
{
    *to = DM_NEW_ARRAY(arena, dm_opening, count);
    for (size_t i = 0; i < count && *to != NULL; i++) {
        dm_opening *o = &(*to)[i];

        *o = from[i];
        if (!copy_text(arena, &o->id) || !copy_text(arena, &o->survey) ||
            !copy_text(arena, &o->tendon) || !copy_text(arena, &o->date) ||
            (o->tap != NULL && !copy_text(arena, &o->tap)) ||
            (o->photo != NULL && !copy_text(arena, &o->photo)))
            return false;
    }
    return *to != NULL;
}

static bool copy_entry(dm_arena *arena, const dm_entry *from, dm_entry *to)
{
    *to = *from;
    to->uid = dm_arena_strdup(arena, from->uid);
    to->key = dm_arena_strdup(arena, from->key);
    to->tendon = dm_arena_strdup(arena, from->tendon);
    to->first_survey = dm_arena_strdup(
        arena, from->first_survey != NULL ? from->first_survey : "");
    to->last_survey = dm_arena_strdup(
        arena, from->last_survey != NULL ? from->last_survey : "");
    to->state_date = NULL;
    if (from->state_date != NULL)
        to->state_date = dm_arena_strdup(arena, from->state_date);
    if (from->state_date != NULL && to->state_date == NULL)
        return false;
    return copy_openings(arena, from->openings, from->opening_count,
                         &to->openings) &&
           to->uid != NULL && to->key != NULL && to->tendon != NULL &&
           to->first_survey != NULL && to->last_survey != NULL;
}

static dm_entry entry_of(const dm_tendon *tendon, const dm_indication *i,
                         const char *survey)
{
    return (dm_entry){.uid = i->uid,
                      .key = i->key,
                      .tendon = tendon->id,
                      .kind = i->kind,
                      .from = i->from.t,
                      .to = i->to.t,
                      .u_from = i->from.u,
                      .u_to = i->to.u,
                      .clock = i->clock,
                      .first_survey = i->first_survey,
                      .last_survey = survey,
                      .state = i->state,
                      .state_date = i->state_date};
}

/* The openings of one item, of one entry without an item (item DM_NONE), or
 * those of neither (both DM_NONE), into room for all. */
static void openings_of(const dm_indications *in, size_t item, size_t entry,
                        dm_opening *list, size_t *count)
{
    for (size_t i = 0; i < in->opening_count; i++)
        if (in->openings[i].indication == item &&
            in->openings[i].entry == entry)
            list[(*count)++] = in->openings[i].what;
}

typedef struct {
    const dm_model *model;
    const dm_result *results;
} found;

/* The indication that carries an earlier entry's uid. */
static const dm_indication *seen_again(const found *all, const char *uid,
                                       size_t *tendon)
{
    for (size_t t = 0; t < all->model->tendon_count; t++) {
        const dm_indications *in = all->results[t].indications;

        for (size_t i = 0; in != NULL && i < in->count; i++)
            if (in->items[i].in_register &&
                strcmp(in->items[i].uid, uid) == 0) {
                *tendon = t;
                return &in->items[i];
            }
    }
    return NULL;
}

/* Adds an entry with its openings; `in`: of its tendon, NULL: those that it
 * has. */
static bool add_entry(dm_arena *arena, const dm_indications *in, size_t item,
                      size_t earlier, dm_entry entry, dm_register *out)
{
    if (in != NULL) {
        entry.openings = DM_NEW_ARRAY(arena, dm_opening, in->opening_count);
        entry.opening_count = 0;
        if (entry.openings == NULL)
            return false;
        openings_of(in, item, earlier, entry.openings, &entry.opening_count);
    }
    return copy_entry(arena, &entry, &out->entries[out->count++]);
}

/* An earlier entry that no reading shows any more may have been opened. */
static bool keep_entry(dm_arena *arena, const found *all,
                       const dm_register *reg, size_t e, dm_register *out)
{
    dm_entry entry = reg->entries[e];
    size_t t = dm_model_find_tendon(all->model, entry.tendon);
    const dm_indications *in =
        t != DM_NONE ? all->results[t].indications : NULL;

    for (size_t i = 0; in != NULL && i < in->settled_count; i++)
        if (in->settled[i].entry == e) {
            entry.state = in->settled[i].state;
            entry.state_date = in->settled[i].date;
        }
    return add_entry(arena, in, DM_NONE, e, entry, out);
}

static bool fill(dm_arena *arena, const found *all, const char *survey,
                 const dm_register *reg, dm_register *out)
{
    for (size_t e = 0; reg != NULL && e < reg->count; e++) {
        size_t t = 0;
        const dm_indication *i = seen_again(all, reg->entries[e].uid, &t);
        const dm_indications *in = all->results[t].indications;

        if (i == NULL
                ? !keep_entry(arena, all, reg, e, out)
                : !add_entry(arena, in, (size_t)(i - in->items), DM_NONE,
                             entry_of(&all->model->tendons[t], i, survey), out))
            return false;
    }
    for (size_t t = 0; t < all->model->tendon_count; t++) {
        const dm_indications *in = all->results[t].indications;

        for (size_t i = 0; in != NULL && i < in->count; i++)
            if (!in->items[i].in_register &&
                !add_entry(
                    arena, in, i, DM_NONE,
                    entry_of(&all->model->tendons[t], &in->items[i], survey),
                    out))
                return false;
    }
    return true;
}

/* Openings of no entry: of a tendon without results as they were. */
static bool fill_elsewhere(dm_arena *arena, const found *all,
                           const dm_register *reg, dm_register *out)
{
    size_t most = reg != NULL ? reg->opening_count : 0;
    dm_opening *list;

    for (size_t t = 0; t < all->model->tendon_count; t++)
        if (all->results[t].indications != NULL)
            most += all->results[t].indications->opening_count;
    list = DM_NEW_ARRAY(arena, dm_opening, most);
    for (size_t t = 0; list != NULL && t < all->model->tendon_count; t++) {
        const dm_indications *in = all->results[t].indications;

        if (in != NULL)
            openings_of(in, DM_NONE, DM_NONE, list, &out->opening_count);
        for (size_t i = 0; in == NULL && reg != NULL && i < reg->opening_count;
             i++)
            if (strcmp(reg->openings[i].tendon, all->model->tendons[t].id) == 0)
                list[out->opening_count++] = reg->openings[i];
    }
    return list != NULL &&
           copy_openings(arena, list, out->opening_count, &out->openings);
}

dm_status dm_register_update(const dm_model *model, const dm_survey *survey,
                             const dm_result *results, const dm_register *reg,
                             dm_diag *diag, dm_register **out)
{
    dm_arena *arena = dm_arena_new();
    dm_register *h = arena != NULL ? DM_NEW(arena, dm_register) : NULL;
    found all = {model, results};
    size_t most = reg != NULL ? reg->count : 0;

    *out = NULL;
    for (size_t t = 0; t < model->tendon_count; t++)
        if (results[t].indications != NULL)
            most += results[t].indications->count;
    if (h != NULL) {
        h->arena = arena;
        h->bridge = dm_arena_strdup(arena, model->uid);
        h->entries = DM_NEW_ARRAY(arena, dm_entry, most);
    }
    if (h == NULL || h->bridge == NULL || h->entries == NULL ||
        !fill(arena, &all, survey->survey != NULL ? survey->survey : "", reg,
              h) ||
        !fill_elsewhere(arena, &all, reg, h)) {
        dm_arena_free(arena);
        return dm_error(diag, DM_NOMEM, (dm_place){NULL, 0}, "register",
                        "out of memory");
    }
    *out = h;
    return DM_OK;
}
