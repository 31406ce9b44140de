/* SPDX-License-Identifier: MIT
 * Grade: the first rule of the owner's criteria that matches, all of whose
 * conditions hold. A condition is one function in the list below. */
#include <math.h>
#include <string.h>

#include "indication/find.h"

typedef bool condition(const dm_rule *r, const dm_indication *i);

static bool kind_fits(const dm_rule *r, const dm_indication *i)
{
    return !r->has_kind || r->kind == i->kind;
}

static bool length_fits(const dm_rule *r, const dm_indication *i)
{
    double length = i->to.t - i->from.t;

    return !(length < r->length_min) && !(length > r->length_max);
}

static bool index_fits(const dm_rule *r, const dm_indication *i)
{
    return !(fabs(i->index) < r->index_min);
}

static bool end_fits(const dm_rule *r, const dm_indication *i)
{
    return !r->open_ended || i->from.open || i->to.open;
}

/* By the distance alone: a high point beside an anchorage is both. */
static bool position_fits(const dm_rule *r, const dm_indication *i)
{
    double within = isnan(r->within) ? DM_POSITION_NEAR : r->within;

    if (r->position == NULL)
        return true;
    for (int k = 0; k < DM_AT_FREE; k++)
        if (strcmp(r->position, dm_position_text((dm_position_class)k)) == 0)
            return i->position.distance[k] <= within;
    return false;
}

/* What is asked of a size holds for its best value; where there is none, for
 * all that it may be. Without a size it does not hold. */
static bool size_fits(const dm_rule *r, const dm_indication *i)
{
    const dm_amount *f = &i->size.area_fraction, *v = &i->size.volume;
    bool best = !isnan(f->best);

    return (isnan(r->area_fraction_min) ||
            (best ? f->best : f->low) >= r->area_fraction_min) &&
           (isnan(r->area_fraction_max) ||
            (best ? f->best : f->high) <= r->area_fraction_max) &&
           (isnan(r->volume_min) ||
            (isnan(v->best) ? v->low : v->best) >= r->volume_min);
}

static condition *const conditions[] = {kind_fits, length_fits,   index_fits,
                                        end_fits,  position_fits, size_fits};

static bool matches(const dm_rule *r, const dm_indication *i)
{
    for (size_t k = 0; k < sizeof conditions / sizeof *conditions; k++)
        if (!conditions[k](r, i))
            return false;
    return true;
}

void dm_grade_indication(const dm_criteria *criteria, dm_indication *item)
{
    item->grade = DM_NONE;
    item->rule = DM_NONE;
    for (size_t r = 0; criteria != NULL && r < criteria->rule_count; r++)
        if (matches(&criteria->rules[r], item)) {
            item->rule = r;
            item->grade = criteria->rules[r].grade;
            return;
        }
}
