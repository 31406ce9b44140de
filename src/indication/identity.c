/* SPDX-License-Identifier: MIT
 * Identity of indications over the years.
 *
 * With a register: an indication is the entry of the same tendon and family
 * of kinds (void-like; or soft-like and unresolved; a void-like one that was or
 * is not resolved where most of them is common) whose extent, both widened
 * by twice their uncertainties and half a footprint, overlaps it most; best
 * overlap first, the same kind before the other. It keeps uid and key. Others
 * get the next key number of the tendon by station, and the name-based UUID
 * (RFC 4122, version 5) of "indication/<tendon>/<kind>/<first survey>/<number>"
 * in the bridge's uid. Numbers are never used again. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/uuid.h"
#include "indication/find.h"

#define HALF_FOOTPRINT 0.05 /* where none is known any more, m */

typedef struct {
    size_t item, entry;
    double overlap;
    bool same_kind;
} match;

static int by_overlap(const void *a, const void *b)
{
    const match *x = a, *y = b;

    if (x->same_kind != y->same_kind)
        return x->same_kind ? -1 : 1;
    if (x->overlap != y->overlap)
        return x->overlap > y->overlap ? -1 : 1;
    if (x->item != y->item)
        return x->item < y->item ? -1 : 1;
    return (x->entry > y->entry) - (x->entry < y->entry);
}

/* Overlap of an indication and an entry, both widened; negative: apart. */
static double overlap(const dm_indication *i, const dm_entry *e)
{
    double from = 2.0 * i->from.u + 2.0 * e->u_from + HALF_FOOTPRINT;
    double to = 2.0 * i->to.u + 2.0 * e->u_to + HALF_FOOTPRINT;

    return fmin(i->to.t, e->to) - fmax(i->from.t, e->from) + fmin(from, to);
}

/* Kinds of one family; or a void on one side and, above 0, not resolved on the
 * other, and most of the shorter one in both. */
static bool may_be_same(const dm_indication *i, const dm_entry *e)
{
    bool is_void = i->kind == DM_KIND_VOID_LIKE;
    double common = fmin(i->to.t, e->to) - fmax(i->from.t, e->from);

    if ((e->kind == DM_KIND_VOID_LIKE) == is_void)
        return true;
    return i->index > 0.0 &&
           (is_void ? e->kind : i->kind) == DM_KIND_UNRESOLVED &&
           common > 0.5 * fmin(i->to.t - i->from.t, e->to - e->from);
}

/* "T4L-I03" of tendon T4L: 3; 0 where the key is of another make. */
static unsigned long key_number(const char *key, const char *tendon)
{
    size_t n = strlen(tendon);
    char *end = NULL;
    unsigned long value;

    if (key == NULL || strncmp(key, tendon, n) != 0 ||
        strncmp(key + n, "-I", 2) != 0 || key[n + 2] < '0' || key[n + 2] > '9')
        return 0;
    value = strtoul(key + n + 2, &end, 10);
    return *end == '\0' && value < 1000000000ul ? value : 0;
}

static dm_status match_register(dm_finder *f, const dm_register *reg,
                                bool *taken)
{
    dm_indications *out = f->out;
    match *m = NULL;
    size_t n = 0, capacity = 0;

    for (size_t i = 0; i < out->count; i++)
        for (size_t e = 0; e < reg->count; e++) {
            const dm_entry *entry = &reg->entries[e];
            double by;

            if (strcmp(entry->tendon, f->tendon->id) != 0 ||
                !may_be_same(&out->items[i], entry))
                continue;
            by = overlap(&out->items[i], entry);
            if (!(by > 0.0))
                continue;
            if (n == capacity && !DM_GROW(m, n, capacity)) {
                free(m);
                return DM_NOMEM;
            }
            m[n++] = (match){i, e, by, entry->kind == out->items[i].kind};
        }
    if (n > 0)
        qsort(m, n, sizeof *m, by_overlap);
    for (size_t k = 0; k < n; k++) {
        dm_indication *i = &out->items[m[k].item];
        const dm_entry *e = &reg->entries[m[k].entry];

        if (i->in_register || taken[m[k].entry])
            continue;
        taken[m[k].entry] = true;
        i->in_register = true;
        i->state = e->state;
        i->state_date = e->state_date;
        strncpy(i->uid, e->uid, sizeof i->uid - 1);
        i->key = dm_arena_strdup(f->arena, e->key);
        i->first_survey = dm_arena_strdup(f->arena, e->first_survey);
        if (i->key == NULL || i->first_survey == NULL) {
            free(m);
            return DM_NOMEM;
        }
    }
    free(m);
    return DM_OK;
}

static dm_status name_new(dm_finder *f, dm_indication *i, unsigned long number)
{
    dm_uuid space;
    char *name;

    i->first_survey = f->survey->survey != NULL ? f->survey->survey : "";
    i->key = dm_arena_printf(f->arena, "%s-I%02lu", f->tendon->id, number);
    name = dm_arena_printf(f->arena, "indication/%s/%s/%s/%lu", f->tendon->id,
                           dm_kind_text(i->kind), i->first_survey, number);
    if (i->key == NULL || name == NULL)
        return DM_NOMEM;
    if (!dm_uuid_parse(f->model->uid, &space))
        return DM_SYNTAX;
    dm_uuid_text(dm_uuid_name(space, name), i->uid);
    return DM_OK;
}

dm_status dm_identify(dm_finder *f, const dm_register *reg)
{
    unsigned long next = 0;
    dm_status status = DM_OK;

    if (reg != NULL && reg->count > 0) {
        bool *taken = calloc(reg->count, sizeof *taken);

        if (taken == NULL)
            return DM_NOMEM;
        status = match_register(f, reg, taken);
        free(taken);
        for (size_t e = 0; e < reg->count; e++) {
            unsigned long used = key_number(reg->entries[e].key, f->tendon->id);

            next = used > next ? used : next;
        }
    }
    for (size_t i = 0; i < f->out->count && status == DM_OK; i++)
        if (!f->out->items[i].in_register)
            status = name_new(f, &f->out->items[i], ++next);
    return status;
}
