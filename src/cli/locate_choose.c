/* SPDX-License-Identifier: MIT
 * What of a place is told, and in which unit. */
#include <string.h>

#include "cli/locate.h"

static const struct {
    const char *word;
    unsigned group;
} groups[] = {{"station", TO_STATION}, {"bridge", TO_BRIDGE},
              {"offset", TO_OFFSET},   {"xyz", TO_XYZ},
              {"map", TO_MAP},         {"tape", TO_TAPE},
              {"run", TO_RUN}};

static const size_t group_count = sizeof groups / sizeof *groups;

static unsigned possible(const locate_bridge *b)
{
    unsigned all = TO_STATION | TO_XYZ | TO_TAPE;
    all |= b->model->alignment ? TO_BRIDGE | TO_OFFSET : 0;
    all |= b->model->map.given || b->model->epsg > 0 ? TO_MAP : 0;
    all |= b->runs ? TO_RUN : 0;
    return all;
}

static bool take_word(const char *word, size_t length, unsigned there,
                      locate_out *out, dm_buf *problem)
{
    for (size_t i = 0; i < group_count; i++) {
        if (strlen(groups[i].word) != length ||
            strncmp(groups[i].word, word, length) != 0)
            continue;
        out->groups |= groups[i].group;
        if (groups[i].group & there)
            return true;
        dm_buf_printf(problem, "--to %s: %s", groups[i].word,
                      groups[i].group == TO_RUN
                          ? "give the job's file, which names the field book"
                      : groups[i].group == TO_MAP
                          ? "the bridge has no map conversion and no crs"
                          : "the bridge has no alignment");
        return false;
    }
    dm_buf_printf(problem, "--to: no kind '%.*s', expected a list of ",
                  (int)(length < 40 ? length : 40), word);
    for (size_t i = 0; i < group_count; i++)
        dm_buf_printf(problem, "%s%s", i > 0 ? "," : "", groups[i].word);
    return false;
}

bool locate_out_choose(const locate_bridge *bridge, const locate_head *head,
                       const char *list, locate_out *out, dm_buf *problem)
{
    unsigned there = possible(bridge);
    out->groups = list ? 0 : there;
    /* What a row says already is told again only where it is asked for. */
    if (!list && head->from == FROM_STATION)
        out->groups &= ~(unsigned)TO_STATION;
    if (!list && head->from == FROM_RUN)
        out->groups &= ~(unsigned)TO_RUN;
    while (list) {
        size_t length = strcspn(list, ",");
        if (!take_word(list, length, there, out, problem))
            return false;
        list = list[length] == ',' ? list + length + 1 : NULL;
    }
    if (head->from == FROM_XYZ || head->from == FROM_MAP ||
        head->from == FROM_OFFSET)
        out->groups |= TO_NEAR;
    if (head->from == FROM_RUN)
        out->groups |= TO_READ;
    if (head->from == FROM_RUN || head->column[IN_CLOCK] != DM_NONE)
        out->groups |= TO_CLOCK;
    if (bridge->model->alignment &&
        bridge->model->alignment->equation_count > 0)
        out->groups |= TO_ZONES;
    if (bridge->model->epsg > 0 || bridge->model->vertical_epsg > 0)
        out->groups |= TO_EPSG;
    return true;
}

bool locate_out_units(const char *word, locate_out *out)
{
    static const struct {
        const char *word, *suffix;
        double unit;
    } units[] = {{"m", "_m", 1.0},
                 {"mm", "_mm", 0.001},
                 {"ft", "_ft", 0.3048},
                 {"us-ft", "_us_ft", 1200.0 / 3937.0}, /* 85 FR 62698 */
                 {"in", "_in", 0.0254}};
    for (size_t i = 0; i < sizeof units / sizeof *units; i++)
        if (strcmp(units[i].word, word) == 0) {
            out->unit = units[i].unit;
            out->suffix = units[i].suffix;
            return true;
        }
    return false;
}
