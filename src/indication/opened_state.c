/* SPDX-License-Identifier: MIT
 * From what openings say to what is known of an indication, and how many of
 * which.
 *
 * Only openings that the register does not have yet have a say: one that
 * confirms is enough, whatever others found at other places of it; else one
 * that refutes. Against a state that the register has, the later date wins,
 * and it is said; a state without a date, set by people, stays. */
#include <string.h>

#include "base/diag.h"
#include "indication/opened.h"

const char *dm_as_found_text(const dm_indication *i)
{
    if (i->state == DM_STATE_CONFIRMED)
        return "confirmed";
    if (i->state == DM_STATE_REFUTED)
        return "refuted";
    return i->opening_count > 0 ? "opened, undecided" : "not opened";
}

void dm_opened_sum_add(dm_opened_sum *a, const dm_opened_sum *b)
{
    a->openings += b->openings;
    for (int i = 0; i < DM_OUTCOME_COUNT; i++)
        a->outcome[i] += b->outcome[i];
    a->confirmed += b->confirmed;
    a->refuted += b->refuted;
    a->undecided += b->undecided;
    a->not_opened += b->not_opened;
}

/* What was opened: an item, or an entry that has none. */
typedef struct {
    size_t indication, entry;
    const char *key;
    dm_state state;
    const char *date;
    size_t count, decided_by;
} opened_thing;

static bool of(const opened_thing *x, const dm_as_found *o)
{
    return x->indication != DM_NONE ? o->indication == x->indication
                                    : o->entry == x->entry;
}

static dm_state state_of(dm_outcome outcome)
{
    return outcome == DM_OUTCOME_CONFIRMED ? DM_STATE_CONFIRMED
                                           : DM_STATE_REFUTED;
}

/* The latest opening of that outcome; of several of one day the first along
 * the tendon. DM_NONE: none. */
static size_t latest(const dm_finder *f, const opened_thing *x,
                     dm_outcome outcome, bool fresh_only)
{
    size_t best = DM_NONE;

    for (size_t i = 0; i < f->out->opening_count; i++) {
        const dm_as_found *o = &f->out->openings[i];

        if (!of(x, o) || o->outcome != outcome || (fresh_only && !o->fresh))
            continue;
        if (best == DM_NONE ||
            strcmp(o->what.date, f->out->openings[best].what.date) > 0)
            best = i;
    }
    return best;
}

static void say(const dm_finder *f, const opened_thing *x, size_t by,
                const char *what)
{
    const dm_as_found *o = &f->out->openings[by];

    dm_warn(f->diag, f->survey->opened[o->opened].place, o->what.id,
            "%s is %s in the register%s%s, but %s was found on %s: %s", x->key,
            dm_state_text(x->state), x->date != NULL ? " since " : "",
            x->date != NULL ? x->date : "", dm_finding_text(o->what.found),
            o->what.date, what);
}

static void decide(const dm_finder *f, opened_thing *x)
{
    size_t by = latest(f, x, DM_OUTCOME_CONFIRMED, true);
    const dm_as_found *o;
    dm_state now;

    if (by == DM_NONE)
        by = latest(f, x, DM_OUTCOME_REFUTED, true);
    if (by != DM_NONE) {
        o = &f->out->openings[by];
        now = state_of(o->outcome);
        if (x->state == DM_STATE_INDICATED) {
            x->date = o->what.date;
            x->state = now;
        } else if (x->state == now) {
            if (x->date != NULL && strcmp(o->what.date, x->date) > 0)
                x->date = o->what.date;
        } else if (x->date == NULL) {
            say(f, x, by,
                "the state has no date and stays; a person is to decide");
        } else if (strcmp(o->what.date, x->date) > 0) {
            say(f, x, by, "the later opening counts");
            x->date = o->what.date;
            x->state = now;
        } else {
            say(f, x, by, "it is not the later one, and the state stays");
        }
    }
    x->decided_by =
        x->state == DM_STATE_INDICATED
            ? DM_NONE
            : latest(f, x,
                     x->state == DM_STATE_CONFIRMED ? DM_OUTCOME_CONFIRMED
                                                    : DM_OUTCOME_REFUTED,
                     false);
}

/* Sound well inside what other openings confirmed: the extent is doubtful. */
static void doubt_extent(dm_finder *f, const opened_thing *x)
{
    for (size_t i = 0; i < f->out->opening_count; i++) {
        dm_as_found *o = &f->out->openings[i];

        if (!of(x, o))
            continue;
        if (o->outcome == DM_OUTCOME_REFUTED &&
            x->state == DM_STATE_CONFIRMED) {
            o->against_end = true;
            o->words = "sound between the ends, but not sound elsewhere in it";
        }
    }
}

static void settle(dm_finder *f, opened_thing *x)
{
    for (size_t i = 0; i < f->out->opening_count; i++)
        x->count += of(x, &f->out->openings[i]);
    if (x->count == 0)
        return;
    decide(f, x);
    doubt_extent(f, x);
}

/* Pressures measured at an opening stand beside the estimate. */
static void take_measured(const dm_finder *f, size_t index)
{
    dm_size *size = &f->out->items[index].size;

    for (size_t i = 0; i < f->out->opening_count; i++) {
        const dm_as_found *o = &f->out->openings[i];

        if (o->indication != index || !(o->what.pressures.volume >= 0.0))
            continue;
        size->measured = o->what.pressures.volume;
        size->u_measured = o->what.pressures.u;
        size->opened = o->opened;
        return;
    }
}

static void settle_item(dm_finder *f, size_t index)
{
    dm_indication *i = &f->out->items[index];
    opened_thing x = {.indication = index,
                      .entry = DM_NONE,
                      .key = i->key,
                      .state = i->state,
                      .date = i->state_date,
                      .decided_by = DM_NONE};

    settle(f, &x);
    i->state = x.state;
    i->state_date = x.date;
    i->opening_count = x.count;
    i->decided_by = x.decided_by;
    take_measured(f, index);
}

static void settle_entry(dm_finder *f, const dm_register *reg, size_t entry)
{
    const dm_entry *e = &reg->entries[entry];
    opened_thing x = {.indication = DM_NONE,
                      .entry = entry,
                      .key = e->key,
                      .state = e->state,
                      .date = e->state_date,
                      .decided_by = DM_NONE};

    settle(f, &x);
    if (x.count > 0)
        f->out->settled[f->out->settled_count++] =
            (dm_settled){entry, x.state, x.date};
}

/* Said loudly: nothing else shows it. */
static void say_missed(const dm_finder *f)
{
    for (size_t i = 0; i < f->out->opening_count; i++) {
        const dm_as_found *o = &f->out->openings[i];

        if (o->opened == DM_NONE || o->key != NULL)
            continue;
        if (dm_opening_hollow(&o->what))
            dm_warn(f->diag, f->survey->opened[o->opened].place, o->what.id,
                    "%s was found at station %.3f m of tendon %s: %s",
                    dm_finding_text(o->what.found), o->what.t, f->tendon->id,
                    o->words);
        else if (o->what.tap != NULL)
            dm_note(f->diag, f->survey->opened[o->opened].place, o->what.id,
                    "no indication at station %.3f m of tendon %s: %s",
                    o->what.t, f->tendon->id, o->words);
    }
}

static void count(dm_finder *f)
{
    dm_opened_sum *sum = &f->out->opened;

    sum->openings = f->out->opening_count;
    for (size_t i = 0; i < f->out->opening_count; i++)
        sum->outcome[f->out->openings[i].outcome]++;
    for (size_t i = 0; i < f->out->count; i++) {
        const dm_indication *item = &f->out->items[i];

        if (item->state == DM_STATE_CONFIRMED)
            sum->confirmed++;
        else if (item->state == DM_STATE_REFUTED)
            sum->refuted++;
        else if (item->opening_count > 0)
            sum->undecided++;
        else
            sum->not_opened++;
    }
}

bool dm_opened_settle(dm_finder *f, const dm_register *reg)
{
    f->out->settled =
        DM_NEW_ARRAY(f->arena, dm_settled, reg != NULL ? reg->count : 0);
    if (f->out->settled == NULL)
        return false;
    for (size_t i = 0; i < f->out->count; i++)
        settle_item(f, i);
    for (size_t e = 0; reg != NULL && e < reg->count; e++)
        settle_entry(f, reg, e);
    say_missed(f);
    count(f);
    return true;
}
