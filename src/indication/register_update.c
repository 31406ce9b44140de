/* SPDX-License-Identifier: MIT
 * The register after a survey, from the one before and the indications that
 * were found. The tool never edits the earlier file: this is a new one. */
#include <stdlib.h>
#include <string.h>

#include "base/arena.h"
#include "base/diag.h"
#include "ductmark/indication.h"

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
    return to->uid != NULL && to->key != NULL && to->tendon != NULL &&
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
                      .state = i->state};
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

static bool fill(dm_arena *arena, const found *all, const char *survey,
                 const dm_register *reg, dm_register *out)
{
    for (size_t e = 0; reg != NULL && e < reg->count; e++) {
        size_t tendon = 0;
        const dm_indication *i = seen_again(all, reg->entries[e].uid, &tendon);
        dm_entry entry = reg->entries[e];

        if (i != NULL)
            entry = entry_of(&all->model->tendons[tendon], i, survey);
        if (!copy_entry(arena, &entry, &out->entries[out->count++]))
            return false;
    }
    for (size_t t = 0; t < all->model->tendon_count; t++) {
        const dm_indications *in = all->results[t].indications;

        for (size_t i = 0; in != NULL && i < in->count; i++) {
            dm_entry entry =
                entry_of(&all->model->tendons[t], &in->items[i], survey);

            if (!in->items[i].in_register &&
                !copy_entry(arena, &entry, &out->entries[out->count++]))
                return false;
        }
    }
    return true;
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
              h)) {
        dm_arena_free(arena);
        return dm_error(diag, DM_NOMEM, (dm_place){NULL, 0}, "register",
                        "out of memory");
    }
    *out = h;
    return DM_OK;
}
