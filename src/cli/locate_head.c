/* SPDX-License-Identifier: MIT
 * The header of a table of places. A length's unit is the end of its column's
 * name, and nothing else says it. Of a quantity that stands in several units
 * the column in metres is read, else mm, ft, us_ft, in, in this order. */
#include <string.h>

#include "cli/locate.h"

typedef struct {
    const char *suffix;
    double metres;
} unit;

static const unit units[] = {{"_m", 1.0},
                             {"_mm", 0.001},
                             {"_ft", 0.3048},
                             {"_us_ft", 1200.0 / 3937.0}, /* 85 FR 62698 */
                             {"_in", 0.0254}};

static const char *const names[IN_COUNT] = {"station",
                                            "bridge_station",
                                            "bridge_station_shown",
                                            "bridge_offset",
                                            "height",
                                            "x",
                                            "y",
                                            "z",
                                            "east",
                                            "north",
                                            "map_height",
                                            "tape",
                                            "run_distance",
                                            "clock_deg",
                                            "zone",
                                            "tendon",
                                            "face",
                                            "run",
                                            "segment",
                                            "channel"};

/* A kind with the columns that it cannot do without, and the kind that says
 * more with the same columns. */
static const struct {
    const char *word;
    int needs[4]; /* ends with -1 */
} kinds[FROM_COUNT] = {
    {"station", {IN_TENDON, IN_STATION, -1}},
    {"bridge", {IN_TENDON, IN_BRIDGE_STATION, -1}},
    {"shown", {IN_TENDON, IN_SHOWN, -1}},
    {"offset", {IN_BRIDGE_STATION, IN_OFFSET, IN_HEIGHT, -1}},
    {"xyz", {IN_X, IN_Y, IN_Z, -1}},
    {"map", {IN_EAST, IN_NORTH, IN_MAP_HEIGHT, -1}},
    {"tape", {IN_TENDON, IN_FACE, IN_TAPE, -1}},
    {"run", {IN_RUN, IN_RUN_DISTANCE, -1}}};

const char *locate_from_text(locate_from from)
{
    return kinds[from].word;
}

/* ---- columns ------------------------------------------------------------ */

static size_t find_column(const csv_cell *cells, size_t count, const char *name,
                          bool *twice)
{
    size_t found = DM_NONE;
    for (size_t i = 0; i < count; i++) {
        if (!csv_same(&cells[i], name))
            continue;
        if (found != DM_NONE)
            *twice = true;
        else
            found = i;
    }
    return found;
}

typedef struct {
    locate_head *head;
    const csv_cell *cells;
    size_t count;
    bool twice;
} finder;

static bool take(finder *f, int field, const char *base, const char *suffix,
                 double metres)
{
    char name[LOCATE_NAME];
    strcpy(name, base);
    strcat(name, suffix);
    size_t at = find_column(f->cells, f->count, name, &f->twice);
    if (at == DM_NONE)
        return false;
    f->head->column[field] = at;
    f->head->unit[field] = metres;
    strcpy(f->head->name[field], name);
    return true;
}

static void find_field(finder *f, int field, const char *base)
{
    if (field >= IN_LENGTHS) {
        take(f, field, base, "", 1.0);
        return;
    }
    for (size_t k = 0; k < sizeof units / sizeof *units; k++)
        if (take(f, field, base, units[k].suffix, units[k].metres))
            return;
}

/* False: a column that is needed stands twice. */
static bool find_columns(locate_head *head, const csv_cell *cells, size_t count,
                         dm_buf *problem)
{
    finder f = {head, cells, count, false};
    for (int i = 0; i < IN_COUNT; i++) {
        head->column[i] = DM_NONE;
        head->name[i][0] = '\0';
        find_field(&f, i, names[i]);
        /* Short, as surveyors have it, beside a station and a height. */
        if (i == IN_OFFSET && head->column[i] == DM_NONE)
            find_field(&f, i, "offset");
        if (f.twice) {
            dm_buf_printf(problem, "column %s stands in the header twice",
                          head->name[i]);
            return false;
        }
    }
    return true;
}

/* ---- kinds -------------------------------------------------------------- */

static bool offers(const locate_head *head, locate_from from)
{
    for (int k = 0; kinds[from].needs[k] >= 0; k++)
        if (head->column[kinds[from].needs[k]] == DM_NONE)
            return false;
    return true;
}

/* What a kind's columns are called, with the unit left open. */
static void say_columns(locate_from from, dm_buf *text)
{
    for (int k = 0; kinds[from].needs[k] >= 0; k++)
        dm_buf_printf(text, "%s%s%s", k > 0 ? ", " : "",
                      names[kinds[from].needs[k]],
                      kinds[from].needs[k] < IN_LENGTHS ? "_m" : "");
}

static bool named_kind(locate_head *head, const char *from, dm_buf *problem)
{
    for (int i = 0; i < FROM_COUNT; i++) {
        head->from = (locate_from)i;
        if (strcmp(kinds[i].word, from) != 0)
            continue;
        if (offers(head, head->from))
            return true;
        dm_buf_printf(problem, "--from %s needs the columns ", from);
        say_columns(head->from, problem);
        dm_buf_puts(problem, " (or _mm, _ft, _us_ft, _in)");
        return false;
    }
    dm_buf_printf(problem, "--from: no kind '%s', expected ", from);
    for (int i = 0; i < FROM_COUNT; i++)
        dm_buf_printf(problem, "%s%s", i > 0 ? ", " : "", kinds[i].word);
    return false;
}

static bool offered_kind(locate_head *head, dm_buf *problem)
{
    dm_buf list = {0};
    int count = 0;
    for (int i = 0; i < FROM_COUNT; i++) {
        if (!offers(head, (locate_from)i))
            continue;
        /* Station, offset and height say more than the station alone. */
        if (i == FROM_BRIDGE && offers(head, FROM_OFFSET))
            continue;
        head->from = (locate_from)i;
        dm_buf_printf(&list, "%s%s", count > 0 ? ", " : "", kinds[i].word);
        count++;
    }
    if (count > 1)
        dm_buf_printf(problem,
                      "the header offers several kinds of place (%s): choose "
                      "one with --from",
                      list.data ? list.data : "");
    if (count == 0) {
        dm_buf_puts(problem, "the header names no place, expected one of:");
        for (int i = 0; i < FROM_COUNT; i++) {
            dm_buf_puts(problem, i > 0 ? "; " : " ");
            say_columns((locate_from)i, problem);
        }
        if (head->columns == 1)
            dm_buf_puts(problem, " (one column only: see --delimiter)");
    }
    if (list.failed)
        problem->failed = true;
    dm_buf_free(&list);
    return count == 1;
}

bool locate_head_read(const locate_bridge *bridge, const csv_cell *cells,
                      size_t count, const char *from, locate_head *head,
                      dm_buf *problem)
{
    head->columns = count;
    if (count > CSV_MOST_COLUMNS) {
        dm_buf_puts(problem, "more than 256 columns");
        return false;
    }
    if (!find_columns(head, cells, count, problem) ||
        !(from ? named_kind(head, from, problem) : offered_kind(head, problem)))
        return false;
    bool needs_line = head->from == FROM_BRIDGE || head->from == FROM_SHOWN ||
                      head->from == FROM_OFFSET;
    if (needs_line && !bridge->model->alignment) {
        dm_buf_printf(problem,
                      "places by bridge station (%s): the bridge has no "
                      "alignment",
                      kinds[head->from].word);
        return false;
    }
    if (head->from == FROM_RUN && !bridge->runs) {
        dm_buf_puts(problem, "places by run distance: give the job's file, "
                             "which names the field book");
        return false;
    }
    return true;
}
