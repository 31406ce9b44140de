/* SPDX-License-Identifier: MIT
 * Grade: the first rule of the owner's criteria that matches. Kind, length,
 * index and open ends are asked; a rule that asks for something not computed
 * yet (area fraction, volume, position) does not match. */
#include <math.h>

#include "indication/find.h"

static bool computed(const dm_rule *r)
{
    return isnan(r->area_fraction_min) && isnan(r->area_fraction_max) &&
           isnan(r->volume_min) && r->position == NULL;
}

static bool matches(const dm_rule *r, const dm_indication *i)
{
    double length = i->to.t - i->from.t;

    return computed(r) && (!r->has_kind || r->kind == i->kind) &&
           !(length < r->length_min) && !(length > r->length_max) &&
           !(fabs(i->index) < r->index_min) &&
           (!r->open_ended || i->from.open || i->to.open);
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
