/* SPDX-License-Identifier: MIT
 * One row as a place. A cell that cannot be read, or a place that is not
 * there, is told with its column; nothing is guessed. */
#include <math.h>
#include <string.h>

#include "base/num.h"
#include "cli/locate.h"

#define PI 3.14159265358979323846
#define END_SLACK 1e-6 /* m: what rounding to decimals adds to an end */
#define MOST_LENGTH 1e9
#define MOST_PLACES 8

typedef struct {
    const locate_bridge *bridge;
    const locate_head *head;
    const csv_cell *cells;
    locate_place *out;
    dm_buf *problem;
} row;

/* ---- cells -------------------------------------------------------------- */

void locate_cell_text(const csv_cell *cell, dm_buf *out)
{
    for (size_t i = 0; i < cell->length; i++) {
        char c = cell->text[i];
        dm_buf_putc(out, c == '\0' ? ' ' : c);
        if (cell->quoted && c == '"' && i + 1 < cell->length &&
            cell->text[i + 1] == '"')
            i++;
    }
}

static bool has(const row *r, locate_field field)
{
    size_t at = r->head->column[field];
    return at != DM_NONE && r->cells[at].length > 0;
}

/* A cell's begin in a message: printable, one line. */
static void say_cell(const row *r, locate_field field)
{
    const csv_cell *cell = &r->cells[r->head->column[field]];
    size_t most = cell->length < 40 ? cell->length : 40;
    for (size_t i = 0; i < most; i++) {
        unsigned char c = (unsigned char)cell->text[i];
        dm_buf_putc(r->problem, c < 0x20 || c == 0x7F ? '?' : (char)c);
    }
}

/* "column: 'cell' what". */
static bool wrong(const row *r, locate_field field, const char *what)
{
    dm_buf_printf(r->problem, "%s: ", r->head->name[field]);
    if (has(r, field)) {
        dm_buf_putc(r->problem, '\'');
        say_cell(r, field);
        dm_buf_printf(r->problem, "' %s", what);
    } else {
        dm_buf_puts(r->problem, "empty");
    }
    return false;
}

static bool number(const row *r, locate_field field, double *out)
{
    const csv_cell *cell = &r->cells[r->head->column[field]];
    if (!has(r, field) ||
        !dm_num_parse(cell->text, cell->length, r->head->decimal, out))
        return wrong(r, field, "is not a number");
    *out *= r->head->unit[field];
    if (!(fabs(*out) <= MOST_LENGTH))
        return wrong(r, field, "is out of range");
    return true;
}

/* Whether a cell is this id. An apostrophe that keeps a cell from starting a
 * formula does not belong to it. */
static bool is_id(const csv_cell *cell, const char *id)
{
    csv_cell rest = *cell;
    if (csv_same(cell, id))
        return true;
    if (rest.length < 2 || rest.text[0] != '\'' ||
        !strchr("=+-@", rest.text[1]))
        return false;
    rest.text++;
    rest.length--;
    return csv_same(&rest, id);
}

static bool find_tendon(const row *r, size_t *out)
{
    const dm_model *m = r->bridge->model;
    const csv_cell *cell = &r->cells[r->head->column[IN_TENDON]];
    for (size_t i = 0; i < m->tendon_count && has(r, IN_TENDON); i++)
        if (is_id(cell, m->tendons[i].id)) {
            *out = i;
            return true;
        }
    return wrong(r, IN_TENDON, "is no tendon of the bridge");
}

/* ---- clock -------------------------------------------------------------- */

/* Looking ahead; NAN: none given. */
static bool clock_of(const row *r, double *out)
{
    *out = (double)NAN;
    if (!has(r, IN_CLOCK))
        return true;
    if (!number(r, IN_CLOCK, out))
        return false;
    *out *= PI / 180.0;
    return true;
}

/* ---- ways in ------------------------------------------------------------ */

static const dm_stations *solved(const row *r, size_t tendon)
{
    return r->bridge->stations ? r->bridge->stations[tendon] : NULL;
}

/* Decimals in the problem: for people. */
static void say_length(dm_buf *text, double metres)
{
    dm_buf_fixed(text, metres, 3);
}

static bool put(const row *r, locate_field field, size_t tendon, double t,
                double clock)
{
    double length = r->bridge->model->tendons[tendon].line.length;
    if (!(t >= -END_SLACK && t <= length + END_SLACK)) {
        wrong(r, field, "leads beyond the tendon's end: its station would be ");
        say_length(r->problem, t);
        dm_buf_puts(r->problem, " m of ");
        say_length(r->problem, length);
        dm_buf_puts(r->problem, " m");
        return false;
    }
    t = fmin(fmax(t, 0.0), length);
    r->out->at =
        dm_locate_place(r->bridge->model, tendon, t, clock, solved(r, tendon));
    return true;
}

static bool from_station(const row *r)
{
    size_t tendon = DM_NONE;
    double t, clock;
    return find_tendon(r, &tendon) && number(r, IN_STATION, &t) &&
           clock_of(r, &clock) && put(r, IN_STATION, tendon, t, clock);
}

static bool at_bridge_station(const row *r, locate_field field, size_t tendon,
                              double s)
{
    double t[MOST_PLACES], clock;
    size_t n =
        dm_locate_bridge_station(r->bridge->model, tendon, s, t, MOST_PLACES);
    if (!clock_of(r, &clock))
        return false;
    if (n == 1)
        return put(r, field, tendon, t[0], clock);
    if (n == 0)
        return wrong(r, field,
                     "is a bridge station that the tendon does not "
                     "cross");
    wrong(r, field, "is crossed by the tendon more than once, at station");
    for (size_t i = 0; i < n && i < MOST_PLACES; i++) {
        dm_buf_putc(r->problem, ' ');
        say_length(r->problem, t[i]);
    }
    dm_buf_puts(r->problem, " m");
    return false;
}

static bool from_bridge(const row *r)
{
    size_t tendon = DM_NONE;
    double s;
    return find_tendon(r, &tendon) && number(r, IN_BRIDGE_STATION, &s) &&
           at_bridge_station(r, IN_BRIDGE_STATION, tendon, s);
}

/* Without a zone the number must be shown in one alone. */
static bool unshow(const row *r, double shown, double *s)
{
    const dm_alignment *line = r->bridge->model->alignment;
    double zone;
    if (has(r, IN_ZONE)) {
        if (!number(r, IN_ZONE, &zone))
            return false;
        if (zone >= 0.0 && zone == floor(zone) &&
            dm_alignment_undisplay(line, shown, (size_t)zone, s))
            return true;
        return wrong(r, IN_SHOWN, "is not shown in that zone");
    }
    size_t found = 0;
    for (size_t i = 0; i <= line->equation_count; i++) {
        double at;
        if (!dm_alignment_undisplay(line, shown, i, &at))
            continue;
        found++;
        *s = at;
    }
    if (found == 1)
        return true;
    return wrong(r, IN_SHOWN,
                 found == 0 ? "is not shown anywhere"
                            : "is shown more than once: add a column zone");
}

static bool from_shown(const row *r)
{
    size_t tendon = DM_NONE;
    double shown, s;
    return find_tendon(r, &tendon) && number(r, IN_SHOWN, &shown) &&
           unshow(r, shown, &s) && at_bridge_station(r, IN_SHOWN, tendon, s);
}

static bool from_point(const row *r, dm_vec3 p)
{
    size_t tendon = DM_NONE;
    double clock;
    if ((has(r, IN_TENDON) && !find_tendon(r, &tendon)) || !clock_of(r, &clock))
        return false;
    locate_place *out = r->out;
    out->near = true;
    out->nearest = dm_locate_nearest(r->bridge->model, tendon, p, &out->next);
    tendon = out->nearest.tendon;
    out->at = dm_locate_place(r->bridge->model, tendon, out->nearest.t, clock,
                              solved(r, tendon));
    return true;
}

static bool three(const row *r, const locate_field *field, dm_vec3 *out)
{
    return number(r, field[0], &out->x) && number(r, field[1], &out->y) &&
           number(r, field[2], &out->z);
}

static bool from_offset(const row *r)
{
    static const locate_field field[3] = {IN_BRIDGE_STATION, IN_OFFSET,
                                          IN_HEIGHT};
    dm_vec3 p;
    return three(r, field, &p) &&
           from_point(r, dm_alignment_point(r->bridge->model->alignment, p.x,
                                            p.y, p.z));
}

static bool from_xyz(const row *r)
{
    static const locate_field field[3] = {IN_X, IN_Y, IN_Z};
    dm_vec3 p;
    return three(r, field, &p) && from_point(r, p);
}

static bool from_map(const row *r)
{
    static const locate_field field[3] = {IN_EAST, IN_NORTH, IN_MAP_HEIGHT};
    dm_vec3 p;
    return three(r, field, &p) &&
           from_point(r, dm_map_inverse(&r->bridge->model->map, p));
}

static bool from_tape(const row *r)
{
    const dm_model *m = r->bridge->model;
    size_t tendon = DM_NONE, face = DM_NONE;
    double measure, clock;
    if (!find_tendon(r, &tendon))
        return false;
    const dm_tendon *n = &m->tendons[tendon];
    for (size_t i = 0; i < n->face_count && has(r, IN_FACE); i++)
        if (is_id(&r->cells[r->head->column[IN_FACE]], n->faces[i].id))
            face = i;
    if (face == DM_NONE)
        return wrong(r, IN_FACE, "is no face of the tendon");
    if (!number(r, IN_TAPE, &measure) || !clock_of(r, &clock))
        return false;
    double t =
        dm_locate_tape_end(m, tendon, face, measure, isnan(clock) ? 0.0 : clock,
                           solved(r, tendon));
    return put(r, IN_TAPE, tendon, t, clock);
}

/* ---- runs --------------------------------------------------------------- */

static bool find_run(const row *r, size_t *out)
{
    const dm_survey *s = r->bridge->survey;
    for (size_t i = 0; i < s->run_count && has(r, IN_RUN); i++)
        if (is_id(&r->cells[r->head->column[IN_RUN]], s->runs[i].id)) {
            *out = i;
            return true;
        }
    return wrong(r, IN_RUN, "is no run of the field book");
}

static bool find_channel(const row *r, size_t run, size_t *out)
{
    const dm_survey *s = r->bridge->survey;
    const dm_instrument *tool = &s->instruments[s->runs[run].instrument];
    *out = tool->channel_count == 1 ? 0 : DM_NONE;
    if (!has(r, IN_CHANNEL))
        return true;
    for (size_t i = 0; i < tool->channel_count; i++)
        if (is_id(&r->cells[r->head->column[IN_CHANNEL]],
                  tool->channels[i].id)) {
            *out = i;
            return true;
        }
    return wrong(r, IN_CHANNEL, "is no channel of the run's instrument");
}

static bool run_fault(const row *r, dm_locate_fault fault)
{
    switch (fault) {
    case DM_LOCATE_UNUSABLE:
        return wrong(r, IN_RUN,
                     "could not be placed here: see the messages of check");
    case DM_LOCATE_NO_SEGMENT:
        return wrong(r, IN_SEGMENT, "is no segment of the run's readings");
    case DM_LOCATE_WHICH_SEGMENT:
        return wrong(r, IN_RUN_DISTANCE,
                     "may lie in more than one part of the run, or at a skip: "
                     "name the segment");
    case DM_LOCATE_WHICH_CHANNEL:
        return wrong(r, IN_RUN_DISTANCE,
                     "was read by several channels: add a column channel");
    default:
        r->problem->failed = true;
        return false;
    }
}

/* The channel's own clock line, unless the row says another. */
static double run_clock(const row *r, size_t run, size_t channel, double given)
{
    const dm_survey *s = r->bridge->survey;
    const dm_instrument *tool = &s->instruments[s->runs[run].instrument];
    double clock = s->runs[run].clock + tool->channels[channel].clock_offset;
    return isnan(given) ? fmod(fmod(clock, 2.0 * PI) + 2.0 * PI, 2.0 * PI)
                        : given;
}

static bool from_run(const row *r)
{
    locate_place *out = r->out;
    dm_buf segment = {0};
    double x, clock;
    size_t channel;
    if (!find_run(r, &out->run) || !find_channel(r, out->run, &channel) ||
        !number(r, IN_RUN_DISTANCE, &x) || !clock_of(r, &clock))
        return false;
    if (has(r, IN_SEGMENT))
        locate_cell_text(&r->cells[r->head->column[IN_SEGMENT]], &segment);
    dm_locate_fault fault =
        segment.failed
            ? DM_LOCATE_NOMEM
            : dm_locate_run_distance(r->bridge->runs, out->run, segment.data,
                                     channel, x, &out->point);
    dm_buf_free(&segment);
    if (fault != DM_LOCATE_OK)
        return run_fault(r, fault);
    out->read = true;
    return put(r, IN_RUN_DISTANCE, r->bridge->survey->runs[out->run].tendon,
               out->point.t,
               run_clock(r, out->run, channel == DM_NONE ? 0 : channel, clock));
}

bool locate_row_read(const locate_bridge *bridge, const locate_head *head,
                     const csv_cell *cells, locate_place *out, dm_buf *problem)
{
    static bool (*const ways[FROM_COUNT])(const row *) = {
        from_station, from_bridge, from_shown, from_offset,
        from_xyz,     from_map,    from_tape,  from_run};
    const row r = {bridge, head, cells, out, problem};
    *out = (locate_place){.run = DM_NONE};
    if (!ways[head->from](&r))
        return false;
    /* A row that names a run asks for that run's distances. */
    if (bridge->survey && has(&r, IN_RUN) && head->from != FROM_RUN)
        return find_run(&r, &out->run);
    return true;
}
