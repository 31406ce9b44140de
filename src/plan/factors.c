/* SPDX-License-Identifier: MIT
 * The factors of a survey plan: one table for defaults, ranges, help and
 * outputs. The defaults are common practice, no source; docs/plan.md says why
 * each is what it is. */
#include <math.h>
#include <string.h>

#include "base/diag.h"
#include "base/num.h"
#include "ductmark/plan.h"

static const dm_factor_info factors[DM_FACTOR_COUNT] = {
    [DM_FACTOR_SPEED] = {"speed", "m/s", 0.1, 0.001, 2.0,
                         "of the sensor, standing on a floor"},
    [DM_FACTOR_FLOOR] = {"floor", "", 1.0, 0.01, 1.0,
                         "part of the speed from a walkable floor"},
    [DM_FACTOR_LADDER] = {"ladder", "", 0.6, 0.01, 1.0,
                          "part of the speed from a step-ladder"},
    [DM_FACTOR_SCAFFOLD] = {"scaffold", "", 0.5, 0.01, 1.0,
                            "part of the speed from a scaffold"},
    [DM_FACTOR_CRAWL] = {"crawl", "", 0.5, 0.01, 1.0,
                         "part of the speed lying or crawling"},
    [DM_FACTOR_ROPE] = {"rope", "", 0.35, 0.01, 1.0,
                        "part of the speed from a rope or lift"},
    [DM_FACTOR_RESEAT] = {"reseat", "s", 12.5, 0.0, 3600.0,
                          "to re-seat past an obstruction"},
    [DM_FACTOR_SETUP] = {"setup", "s", 240.0, 0.0, 36000.0,
                         "a run: mark the line, wipe, write its head"},
    [DM_FACTOR_MOVE] = {"move", "s", 240.0, 0.0, 36000.0,
                        "with all equipment to the next bay"},
    [DM_FACTOR_CHECK] = {"check", "s", 60.0, 0.0, 3600.0,
                         "a reading of air or reference"},
    [DM_FACTOR_CHECKS] = {"checks", "", 2.0, 0.0, 20.0, "such readings a run"},
    [DM_FACTOR_TIE] = {"tie", "s", 30.0, 0.0, 3600.0,
                       "a start or tie at a face, written down"},
    [DM_FACTOR_PLATFORM] = {"platform", "m", 3.0, 0.1, 100.0,
                            "length reached from one place of a scaffold"},
    [DM_FACTOR_SHIFT] = {"shift", "s", 300.0, 0.0, 36000.0,
                         "to bring the scaffold to a place"},
    [DM_FACTOR_HOURS] = {"hours", "h", 6.0, 0.1, 24.0,
                         "a day at the tendons, without breaks and ways"},
    [DM_FACTOR_PERMIT] = {"permit", "h", 0.0, 0.0, 12.0,
                          "of a day, to enter a permit space (1 to 2)"},
    [DM_FACTOR_PERSONS] = {"persons", "", 1.0, 1.0, 20.0,
                           "who pull and write; one more with a permit"},
    [DM_FACTOR_SLOPE] = {"slope", "deg", 1.0, 0.0, 90.0,
                         "from here on a bay is sloped"},
    [DM_FACTOR_NOSE] = {"nose", "m", 0.15, 0.0, 2.0,
                        "sensor: encoder contact to its front"},
    [DM_FACTOR_TAIL] = {"tail", "m", 0.15, 0.0, 2.0,
                        "sensor: encoder contact to its rear"},
    [DM_FACTOR_LEAD] = {"lead", "m", 0.0, -2.0, 2.0,
                        "sensor: electrode before the encoder contact"},
};

const dm_factor_info *dm_factor_list(size_t *count)
{
    if (count)
        *count = DM_FACTOR_COUNT;
    return factors;
}

const char *dm_origin_text(dm_origin origin)
{
    return origin == DM_ORIGIN_SET          ? "set"
           : origin == DM_ORIGIN_INSTRUMENT ? "field book"
                                            : "default";
}

dm_factors dm_factors_default(void)
{
    dm_factors f = {{0.0}, {DM_ORIGIN_DEFAULT}};
    for (size_t i = 0; i < DM_FACTOR_COUNT; i++)
        f.value[i] = factors[i].fallback;
    return f;
}

dm_status dm_factors_set(dm_factors *f, const char *name, double value,
                         dm_diag *diag)
{
    dm_place nowhere = {0};
    size_t i = 0;
    while (i < DM_FACTOR_COUNT && strcmp(factors[i].name, name) != 0)
        i++;
    if (i == DM_FACTOR_COUNT)
        return dm_error(diag, DM_REFERENCE, nowhere, NULL, "no factor '%s'",
                        name);
    /* Negated, so that NaN is refused. */
    if (!(value >= factors[i].least && value <= factors[i].most)) {
        char least[DM_NUM_SIZE], most[DM_NUM_SIZE], text[DM_NUM_SIZE];
        dm_num_shortest(least, factors[i].least);
        dm_num_shortest(most, factors[i].most);
        dm_num_shortest(text, value);
        return dm_error(diag, DM_RANGE, nowhere, NULL,
                        "factor %s: %s, expected %s to %s%s%s", name, text,
                        least, most, *factors[i].unit ? " " : "",
                        factors[i].unit);
    }
    f->value[i] = value;
    f->origin[i] = DM_ORIGIN_SET;
    return DM_OK;
}

void dm_factors_instrument(dm_factors *f, const dm_instrument *in)
{
    const double value[] = {in->nose, in->tail,
                            in->channel_count > 0 ? in->channels[0].lead : 0.0};
    for (size_t i = 0; i < 3; i++) {
        size_t at = DM_FACTOR_NOSE + i;
        if (f->origin[at] == DM_ORIGIN_SET)
            continue;
        f->value[at] = value[i];
        f->origin[at] = DM_ORIGIN_INSTRUMENT;
    }
}
