/* SPDX-License-Identifier: MIT
 * What becomes of each indication: a tap of its own, or one line why not. Who
 * leaves one out, and why, is never lost. */
#include <string.h>

#include "tap/work.h"

const dm_tapped *dm_tapped_of(const dm_taps *taps, size_t indication)
{
    return taps != NULL && indication < taps->indication_count
               ? &taps->tapped[indication]
               : NULL;
}

static bool named(const char *word, const dm_indication *i)
{
    return strcmp(word, i->key) == 0 || strcmp(word, i->uid) == 0;
}

const dm_tap_pair *dm_tap_pair_of(const dm_placer *p, const dm_indication *i)
{
    for (size_t k = 0; k < p->job->pair_count; k++)
        if (named(p->job->pairs[k].indication, i))
            return &p->job->pairs[k];
    return NULL;
}

/* "" where it is to have a tap; NULL: no memory. */
static const char *refusal(const dm_placer *p, const dm_indication *i)
{
    const dm_grade *grades = p->criteria->grades;

    for (size_t k = 0; k < p->job->exclude_count; k++) {
        const dm_tap_exclude *x = &p->job->excludes[k];

        if (named(x->indication, i))
            return dm_arena_printf(p->arena, "excluded by %s: %s", x->by,
                                   x->reason);
    }
    if (i->grade == DM_NONE)
        return "of no grade";
    if (!grades[i->grade].tap)
        return dm_arena_printf(p->arena, "the grade %s asks for none",
                               grades[i->grade].label);
    if (!i->reconciled)
        return "its distances are not reconciled";
    /* Opening told what it is: another hole is another way in for water. A pair
     * is asked for by somebody who knows. */
    if (i->state != DM_STATE_INDICATED && dm_tap_pair_of(p, i) == NULL)
        return dm_arena_printf(p->arena, "%s by an opening",
                               dm_state_text(i->state));
    return "";
}

bool dm_tap_refuse(dm_placer *p)
{
    dm_taps *out = p->out;
    size_t count = p->indications->count;

    out->tapped = DM_NEW_ARRAY(p->arena, dm_tapped, count + 1);
    if (out->tapped == NULL)
        return false;
    out->indication_count = count;
    for (size_t i = 0; i < count; i++) {
        out->tapped[i] =
            (dm_tapped){DM_NONE, refusal(p, &p->indications->items[i])};
        if (out->tapped[i].why == NULL)
            return false;
    }
    return true;
}

static size_t with_id(const dm_taps *taps, const char *id)
{
    for (size_t i = 0; i < taps->count; i++)
        if (strcmp(taps->items[i].id, id) == 0)
            return i;
    return DM_NONE;
}

/* Of the indication itself, or requested in it; DM_NONE. */
static size_t inside(const dm_taps *taps, size_t indication, bool requested)
{
    for (size_t i = 0; i < taps->count; i++)
        if (taps->items[i].indication == indication &&
            taps->items[i].requested == requested)
            return i;
    return DM_NONE;
}

bool dm_tap_assign(dm_placer *p)
{
    dm_taps *out = p->out;

    for (size_t i = 0; i < out->indication_count; i++) {
        dm_tapped *it = &out->tapped[i];

        it->tap = inside(out, i, false);
        if (it->tap != DM_NONE)
            continue;
        for (size_t k = 0; k < p->gone_count && it->tap == DM_NONE; k++)
            if (p->gone[k].indication == i)
                it->tap = with_id(out, p->gone[k].by);
        if (it->tap == DM_NONE)
            it->tap = inside(out, i, true);
        else if (it->why[0] == '\0')
            it->why = dm_arena_printf(p->arena, "served by %s",
                                      out->items[it->tap].id);
        if (it->why == NULL)
            return false;
    }
    return true;
}
