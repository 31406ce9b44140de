/* SPDX-License-Identifier: MIT
 * The columns that locate adds. Nine decimals, so that what is read back is
 * the same place to 1e-9 m; the header and the rows come from one table. */
#include <math.h>
#include <string.h>

#include "base/num.h"
#include "cli/locate.h"

#define DEGREES (180.0 / 3.14159265358979323846)
#define DECIMALS 9

typedef enum {
    OUT_TENDON,
    OUT_STATION,
    OUT_U,
    OUT_U_BACK,
    OUT_U_AHEAD,
    OUT_RECONCILED,
    OUT_DISTANCE,
    OUT_CLEAR,
    OUT_TOWARDS,
    OUT_NEXT,
    OUT_NEXT_DISTANCE,
    OUT_BRIDGE_STATION,
    OUT_SHOWN,
    OUT_ZONE,
    OUT_OFFSET,
    OUT_HEIGHT,
    OUT_X,
    OUT_Y,
    OUT_Z,
    OUT_OUTSIDE_X,
    OUT_OUTSIDE_Y,
    OUT_OUTSIDE_Z,
    OUT_EAST,
    OUT_NORTH,
    OUT_MAP_HEIGHT,
    OUT_EPSG,
    OUT_VERTICAL_EPSG,
    OUT_TAPE_CLOCK,
    OUT_BACK_FACE,
    OUT_BACK_TAPE,
    OUT_AHEAD_FACE,
    OUT_AHEAD_TAPE,
    OUT_RUN,
    OUT_SEGMENT,
    OUT_RUN_DISTANCE,
    OUT_PASSES,
    OUT_COUNT
} out_column;

/* All of `groups` must be asked for, `any` of the second. */
static const struct {
    const char *name;
    bool length; /* its unit is put behind */
    unsigned any, all;
} columns[OUT_COUNT] = {
    [OUT_TENDON] = {"tendon", false, TO_STATION, 0},
    [OUT_STATION] = {"station", true, TO_STATION, 0},
    [OUT_U] = {"u", true, TO_READ, 0},
    [OUT_U_BACK] = {"u_back", true, TO_READ, 0},
    [OUT_U_AHEAD] = {"u_ahead", true, TO_READ, 0},
    [OUT_RECONCILED] = {"reconciled", false, TO_READ, 0},
    [OUT_DISTANCE] = {"distance_from_axis", true, TO_NEAR, 0},
    [OUT_CLEAR] = {"distance_from_outside", true, TO_NEAR, 0},
    [OUT_TOWARDS] = {"towards_clock_deg", false, TO_NEAR, 0},
    [OUT_NEXT] = {"next_tendon", false, TO_NEAR, 0},
    [OUT_NEXT_DISTANCE] = {"next_distance_from_axis", true, TO_NEAR, 0},
    [OUT_BRIDGE_STATION] = {"bridge_station", true, TO_BRIDGE | TO_OFFSET, 0},
    [OUT_SHOWN] = {"bridge_station_shown", true, TO_BRIDGE, TO_ZONES},
    [OUT_ZONE] = {"zone", false, TO_BRIDGE, TO_ZONES},
    [OUT_OFFSET] = {"bridge_offset", true, TO_OFFSET, 0},
    [OUT_HEIGHT] = {"height", true, TO_OFFSET, 0},
    [OUT_X] = {"x", true, TO_XYZ, 0},
    [OUT_Y] = {"y", true, TO_XYZ, 0},
    [OUT_Z] = {"z", true, TO_XYZ, 0},
    [OUT_OUTSIDE_X] = {"outside_x", true, TO_XYZ, TO_CLOCK},
    [OUT_OUTSIDE_Y] = {"outside_y", true, TO_XYZ, TO_CLOCK},
    [OUT_OUTSIDE_Z] = {"outside_z", true, TO_XYZ, TO_CLOCK},
    [OUT_EAST] = {"east", true, TO_MAP, 0},
    [OUT_NORTH] = {"north", true, TO_MAP, 0},
    [OUT_MAP_HEIGHT] = {"map_height", true, TO_MAP, 0},
    [OUT_EPSG] = {"epsg", false, TO_MAP, TO_EPSG},
    [OUT_VERTICAL_EPSG] = {"vertical_epsg", false, TO_MAP, TO_EPSG},
    [OUT_TAPE_CLOCK] = {"tape_clock_deg", false, TO_TAPE, 0},
    [OUT_BACK_FACE] = {"back_face", false, TO_TAPE, 0},
    [OUT_BACK_TAPE] = {"back_tape", true, TO_TAPE, 0},
    [OUT_AHEAD_FACE] = {"ahead_face", false, TO_TAPE, 0},
    [OUT_AHEAD_TAPE] = {"ahead_tape", true, TO_TAPE, 0},
    [OUT_RUN] = {"run", false, TO_RUN, 0},
    [OUT_SEGMENT] = {"segment", false, TO_RUN, 0},
    [OUT_RUN_DISTANCE] = {"run_distance", true, TO_RUN, 0},
    [OUT_PASSES] = {"passes", false, TO_RUN, 0}};

static bool wanted(const locate_out *out, int column)
{
    return (columns[column].any & out->groups) != 0 &&
           (columns[column].all & ~out->groups) == 0;
}

/* ---- cells -------------------------------------------------------------- */

static void put_number(const locate_head *head, double value, dm_buf *text)
{
    char digits[DM_NUM_SIZE];
    if (!isfinite(value))
        return;
    dm_num_fixed(digits, value, DECIMALS);
    char *point = strchr(digits, '.');
    if (point)
        *point = head->decimal;
    dm_buf_puts(text, digits);
}

static bool plain(const locate_head *head, const csv_cell *cell)
{
    for (size_t i = 0; i < cell->length; i++) {
        unsigned char c = (unsigned char)cell->text[i];
        if (c < 0x20 || c == '"' || c == ',' || c == ';' ||
            c == (unsigned char)head->delimiter)
            return false;
    }
    return cell->length == 0 || !strchr("=+-@", cell->text[0]);
}

void locate_out_cell(const locate_head *head, const csv_cell *cell,
                     dm_buf *text)
{
    double value;
    if (plain(head, cell) && cell->text[0] != ' ') {
        dm_buf_put(text, cell->text, cell->length);
        return;
    }
    if (!cell->quoted &&
        dm_num_parse(cell->text, cell->length, head->decimal, &value)) {
        dm_buf_put(text, cell->text, cell->length);
        return;
    }
    dm_buf decoded = {0};
    locate_cell_text(cell, &decoded);
    if (decoded.data)
        dm_buf_csv(text, decoded.data);
    text->failed = text->failed || decoded.failed;
    dm_buf_free(&decoded);
}

/* ---- the header --------------------------------------------------------- */

static bool taken(const csv_cell *cells, size_t count, const dm_buf *name)
{
    for (size_t i = 0; i < count; i++)
        if (name->data && csv_same(&cells[i], name->data))
            return true;
    return false;
}

static void put_name(const locate_head *head, const char *name,
                     const char *suffix, const csv_cell *cells, size_t count,
                     dm_buf *text)
{
    dm_buf whole = {0};
    for (size_t before = 0; before <= count; before++) {
        dm_buf_clear(&whole);
        for (size_t i = 0; i < before; i++)
            dm_buf_puts(&whole, "located_");
        dm_buf_puts(&whole, name);
        dm_buf_puts(&whole, suffix);
        if (!taken(cells, count, &whole))
            break;
    }
    dm_buf_putc(text, head->delimiter);
    if (whole.data)
        dm_buf_puts(text, whole.data);
    text->failed = text->failed || whole.failed;
    dm_buf_free(&whole);
}

void locate_out_head(const locate_head *head, const locate_out *out,
                     const csv_cell *cells, size_t count, dm_buf *text)
{
    for (int i = 0; i < OUT_COUNT; i++)
        if (wanted(out, i))
            put_name(head, columns[i].name,
                     columns[i].length ? out->suffix : "", cells, count, text);
    put_name(head, "problem", "", cells, count, text);
}

/* ---- rows --------------------------------------------------------------- */

/* Where the place was read; none: run == DM_NONE. */
typedef struct {
    dm_locate_reading first;
    size_t count;
} passes;

static passes passes_of(const locate_bridge *b, const locate_place *p)
{
    passes out = {{DM_NONE, 0, (double)NAN}, 0};
    out.count = dm_locate_readings(b->runs, p->at.tendon, p->run, DM_NONE,
                                   p->at.t, &out.first, 1);
    return out;
}

static double length_of(const locate_place *p, const passes *runs, int column)
{
    const dm_located *at = &p->at;
    const dm_bridge_place *bridge = at->bridge.known ? &at->bridge : NULL;
    const double none = (double)NAN;
    switch (column) {
    case OUT_STATION:
        return at->t;
    case OUT_U:
        return sqrt(p->point.world);
    case OUT_U_BACK:
        return sqrt(p->point.back);
    case OUT_U_AHEAD:
        return sqrt(p->point.ahead);
    case OUT_DISTANCE:
        return p->nearest.distance;
    case OUT_CLEAR:
        return p->nearest.clear;
    case OUT_NEXT_DISTANCE:
        return p->next.tendon == DM_NONE ? none : p->next.distance;
    case OUT_BRIDGE_STATION:
        return bridge ? bridge->station : none;
    case OUT_SHOWN:
        return bridge ? bridge->shown : none;
    case OUT_OFFSET:
        return bridge ? bridge->offset : none;
    case OUT_HEIGHT:
    case OUT_Z:
        return at->axis.z;
    case OUT_X:
        return at->axis.x;
    case OUT_Y:
        return at->axis.y;
    case OUT_OUTSIDE_X:
        return at->outside.x;
    case OUT_OUTSIDE_Y:
        return at->outside.y;
    case OUT_OUTSIDE_Z:
        return at->outside.z;
    case OUT_EAST:
        return at->map.x;
    case OUT_NORTH:
        return at->map.y;
    case OUT_MAP_HEIGHT:
        return at->map.z;
    case OUT_BACK_TAPE:
        return at->back.measure;
    case OUT_AHEAD_TAPE:
        return at->ahead.measure;
    case OUT_RUN_DISTANCE:
        return runs->first.x;
    default:
        return none;
    }
}

static const char *text_of(const locate_bridge *b, const locate_place *p,
                           const passes *runs, int column)
{
    const dm_tendon *n = &b->model->tendons[p->at.tendon];
    const dm_run *run =
        runs->count > 0 ? &b->survey->runs[runs->first.run] : NULL;
    switch (column) {
    case OUT_TENDON:
        return n->id;
    case OUT_NEXT:
        return p->next.tendon == DM_NONE ? NULL
                                         : b->model->tendons[p->next.tendon].id;
    case OUT_RECONCILED:
        return p->point.reconciled ? "1" : "0";
    case OUT_BACK_FACE:
        return p->at.back.face == DM_NONE ? NULL : n->faces[p->at.back.face].id;
    case OUT_AHEAD_FACE:
        return p->at.ahead.face == DM_NONE ? NULL
                                           : n->faces[p->at.ahead.face].id;
    case OUT_RUN:
        return run ? run->id : NULL;
    case OUT_SEGMENT:
        return run ? run->events[runs->first.event].segment : NULL;
    default:
        return NULL;
    }
}

static void put_count(size_t value, dm_buf *text)
{
    dm_buf_printf(text, "%zu", value);
}

static void put_cell(const locate_bridge *b, const locate_head *head,
                     const locate_out *out, const locate_place *p,
                     const passes *runs, int column, dm_buf *text)
{
    double clock = isnan(p->at.clock) ? 0.0 : p->at.clock;
    const char *word;
    switch (column) {
    case OUT_TOWARDS:
        put_number(head, p->nearest.clock * DEGREES, text);
        break;
    case OUT_TAPE_CLOCK:
        put_number(head, clock * DEGREES, text);
        break;
    case OUT_ZONE:
        if (p->at.bridge.known)
            put_count(p->at.bridge.zone, text);
        break;
    case OUT_EPSG:
        if (b->model->epsg > 0)
            put_count((size_t)b->model->epsg, text);
        break;
    case OUT_VERTICAL_EPSG:
        if (b->model->vertical_epsg > 0)
            put_count((size_t)b->model->vertical_epsg, text);
        break;
    case OUT_PASSES:
        put_count(runs->count, text);
        break;
    default:
        word = columns[column].length ? NULL : text_of(b, p, runs, column);
        if (columns[column].length)
            put_number(head, length_of(p, runs, column) / out->unit, text);
        else if (word)
            dm_buf_csv(text, word);
    }
}

void locate_out_row(const locate_bridge *bridge, const locate_head *head,
                    const locate_out *out, const locate_place *place,
                    const char *problem, dm_buf *text)
{
    passes runs = {{DM_NONE, 0, (double)NAN}, 0};
    if (place && (out->groups & TO_RUN))
        runs = passes_of(bridge, place);
    for (int i = 0; i < OUT_COUNT; i++) {
        if (!wanted(out, i))
            continue;
        dm_buf_putc(text, head->delimiter);
        if (place)
            put_cell(bridge, head, out, place, &runs, i, text);
    }
    dm_buf_putc(text, head->delimiter);
    if (problem)
        dm_buf_csv(text, problem);
}
