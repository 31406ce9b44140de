/* SPDX-License-Identifier: MIT
 * Tables: indications.csv and taps.csv, and the files of all; those of tendons
 * and of coverage are made in csv_cover.c. Every U is expanded with the factor
 * that stands in the row's column coverage_factor. */
#include "write/csv.h"

#include <math.h>

#include "base/diag.h"
#include "scene/properties.h"
#include "write/csv_rows.h"
#include "write/writers.h"

typedef dm_csv_context context;
typedef dm_status table_rows(dm_row *row, const context *c);

static const char *face_id(const context *c, size_t face)
{
    return face < c->tendon->face_count ? c->tendon->faces[face].id : NULL;
}

static double only(bool condition, double value)
{
    return condition ? value : (double)NAN;
}

/* ---- indications ------------------------------------------------------ */

const dm_csv_bridge_columns dm_csv_bridge_of_row = {
    "bridge_station", "bridge_station_shown", "bridge_offset"};

void dm_csv_bridge_cells(dm_row *row, const dm_bridge_place *place,
                         const dm_csv_bridge_columns *name)
{
    dm_row_length(row, name->station, only(place->known, place->station));
    dm_row_length(row, name->shown, only(place->known, place->shown));
    dm_row_length(row, name->offset, only(place->known, place->offset));
}

typedef struct {
    const char *t, *u, *u_edge, *tip_low, *tip_high, *open, *back, *u_back,
        *ahead, *u_ahead;
    dm_csv_bridge_columns bridge;
} end_columns;

static void end_cells(dm_row *row, const context *c, const dm_end *end,
                      const end_columns *name)
{
    bool back = end->face_back != DM_NONE, ahead = end->face_ahead != DM_NONE;

    dm_row_length(row, name->t, end->t);
    dm_row_bound(row, name->u, c->k * end->u);
    dm_row_bound(row, name->u_edge, c->k * end->u_edge);
    dm_row_length(row, name->tip_low, end->tip_low);
    dm_row_length(row, name->tip_high, end->tip_high);
    dm_row_bool(row, name->open, end->open);
    dm_row_text(row, name->back, face_id(c, end->face_back));
    dm_row_bound(row, name->u_back, only(back, c->k * end->u_back));
    dm_row_text(row, name->ahead, face_id(c, end->face_ahead));
    dm_row_bound(row, name->u_ahead, only(ahead, c->k * end->u_ahead));
    dm_csv_bridge_cells(row, &end->bridge, &name->bridge);
}

/* Ids of the runs that show it, separated by blanks. */
static void run_cell(dm_row *row, const context *c, const dm_indication *item)
{
    const dm_survey *s = c->delivery->survey;
    dm_buf ids = {0};
    size_t i;

    for (i = 0; s != NULL && i < item->run_count; i++) {
        if (item->runs[i] >= s->run_count)
            continue;
        if (ids.length > 0)
            dm_buf_putc(&ids, ' ');
        dm_buf_puts(&ids, s->runs[item->runs[i]].id);
    }
    dm_row_text(row, "runs", ids.data);
    row->buf.failed = row->buf.failed || ids.failed;
    dm_buf_free(&ids);
}

static void position_cells(dm_row *row, const context *c, const dm_position *p)
{
    const dm_tendon *t = c->tendon;

    dm_row_text(row, "position", dm_position_text(p->at));
    dm_row_text(row, "nearest_anchorage",
                p->anchorage < t->support_count ? t->supports[p->anchorage].id
                                                : NULL);
    dm_row_length(row, "to_anchorage", p->distance[DM_AT_ANCHORAGE]);
    dm_row_text(row, "nearest_deviator",
                p->deviator < t->support_count ? t->supports[p->deviator].id
                                               : NULL);
    dm_row_length(row, "to_deviator", p->distance[DM_AT_DEVIATOR]);
    dm_row_length(row, "nearest_crest", p->crest);
    dm_row_length(row, "to_crest", p->distance[DM_AT_CREST]);
}

static void kind_cells(dm_row *row, const dm_posterior *p)
{
    dm_row_text(row, "kind_basis", dm_kind_basis_text(p->known));
    dm_row_text(row, "likeliest",
                p->known ? dm_material_text(p->likeliest) : NULL);
    dm_row_real(row, "p_void", p->p[DM_MATERIAL_VOID], 3);
    dm_row_real(row, "p_soft", p->p[DM_MATERIAL_SOFT], 3);
    dm_row_real(row, "p_strand", p->p[DM_MATERIAL_STRAND], 3);
    dm_row_real(row, "p_sound", p->p[DM_MATERIAL_SOUND], 3);
    dm_row_count(row, "runs_seen", p->seen);
    dm_row_count(row, "runs_passed", p->passed);
    dm_row_count(row, "silent_lines", p->silent);
    dm_row_real(row, "zero_shift", p->zero_shift, 3);
}

static void tapped_cells(dm_row *row, const context *c,
                         const dm_indication *item)
{
    const dm_tapped *t =
        dm_tapped_of(c->taps, (size_t)(item - c->found->items));

    dm_row_text(row, "tap",
                t != NULL && t->tap != DM_NONE ? c->taps->items[t->tap].id
                                               : NULL);
    dm_row_text(row, "no_tap", t != NULL ? t->why : NULL);
}

static dm_status indication_row(dm_row *row, const context *c,
                                const dm_indication *item)
{
    static const end_columns from = {"from",
                                     "U_from",
                                     "U_from_edge",
                                     "from_tip_low",
                                     "from_tip_high",
                                     "open_from",
                                     "from_back_face",
                                     "U_from_back_face",
                                     "from_ahead_face",
                                     "U_from_ahead_face",
                                     {"from_bridge_station",
                                      "from_bridge_station_shown",
                                      "from_bridge_offset"}};
    static const end_columns to = {
        "to",
        "U_to",
        "U_to_edge",
        "to_tip_low",
        "to_tip_high",
        "open_to",
        "to_back_face",
        "U_to_back_face",
        "to_ahead_face",
        "U_to_ahead_face",
        {"to_bridge_station", "to_bridge_station_shown", "to_bridge_offset"}};
    const dm_criteria *k = c->delivery->criteria;

    dm_row_begin(row, row->header);
    dm_row_text(row, "key", item->key);
    dm_row_text(row, "uid", item->uid);
    dm_row_text(row, "tendon", c->tendon->id);
    dm_row_text(row, "where", c->tendon->where);
    dm_row_text(row, "kind", dm_kind_text(item->kind));
    dm_row_text(row, "grade",
                k != NULL && item->grade < k->grade_count
                    ? k->grades[item->grade].label
                    : NULL);
    dm_row_text(row, "state", dm_state_text(item->state));
    end_cells(row, c, &item->from, &from);
    end_cells(row, c, &item->to, &to);
    dm_row_length(row, "length", item->to.t - item->from.t);
    dm_row_bool(row, "shorter_than_footprint", item->shorter_than_footprint);
    dm_row_bool(row, "across_gap", item->across_gap);
    dm_row_bool(row, "reconciled", item->reconciled);
    dm_row_real(row, "coverage_factor", c->k, 2);
    dm_row_angle(row, "clock", item->clock);
    dm_row_clock(row, "clock_looking_ahead", item->clock);
    dm_row_clock(row, "clock_looking_back", -item->clock);
    dm_row_text(row, "looking_ahead_towards", dm_csv_far_anchorage(c->tendon));
    dm_row_real(row, "index", item->index, 3);
    dm_row_real(row, "U_index", c->k * item->index_u, 3);
    dm_row_length(row, "index_length", item->index_length);
    dm_row_bound(row, "U_index_length", c->k * item->index_length_u);
    dm_row_bool(row, "clock_doubt", item->clock_doubt);
    kind_cells(row, &item->posterior);
    run_cell(row, c, item);
    position_cells(row, c, &item->position);
    dm_csv_size_cells(row, &item->size, c->k);
    dm_csv_indication_opened(row, c, item);
    tapped_cells(row, c, item);
    dm_row_text(row, "first_survey", item->first_survey);
    dm_row_bool(row, "in_earlier_register", item->in_register);
    dm_csv_accepted(row, c);
    return dm_row_end(row);
}

static dm_status indication_rows(dm_row *row, const context *c)
{
    dm_status status = DM_OK;
    size_t i;

    for (i = 0; c->found != NULL && i < c->found->count && status == DM_OK; i++)
        status = indication_row(row, c, &c->found->items[i]);
    return status;
}

/* ---- taps ------------------------------------------------------------- */

static const char *caution(dm_advice advice)
{
    static const char *const text[] = {
        "Confirm from both faces before drilling; strands may touch the wall",
        "Do not drill: re-scan by hand first",
        "Hand tool, wall only, engineer present"};

    return text[advice];
}

static void point_cells(dm_row *row, const char *const name[3], dm_vec3 p)
{
    dm_row_coordinate(row, name[0], p.x);
    dm_row_coordinate(row, name[1], p.y);
    dm_row_coordinate(row, name[2], p.z);
}

static void place_cells(dm_row *row, const context *c, const dm_tap *tap)
{
    static const char *const mark[3] = {"x", "y", "z"};
    static const char *const axis[3] = {"axis_x", "axis_y", "axis_z"};

    dm_row_length(row, "station", tap->t);
    dm_row_bound(row, "U_world", c->k * tap->u_world);
    dm_row_length(row, "aim_from", tap->aim_from);
    dm_row_length(row, "aim_to", tap->aim_to);
    dm_csv_bridge_cells(row, &tap->bridge, &dm_csv_bridge_of_row);
    point_cells(row, mark, tap->surface);
    point_cells(row, axis, tap->axis);
    dm_row_angle(row, "clock", tap->clock);
    dm_row_text(row, "looking_ahead_towards", dm_csv_far_anchorage(c->tendon));
    dm_row_clock(row, "clock_looking_ahead", tap->clock);
    dm_row_clock(row, "clock_looking_back", tap->clock_back);
}

static void tape_cells(dm_row *row, const context *c, const dm_tap *tap)
{
    bool back = tap->back.face != DM_NONE, ahead = tap->ahead.face != DM_NONE;

    dm_row_clock(row, "tape_line", tap->line);
    dm_row_text(row, "back_face", face_id(c, tap->back.face));
    dm_row_length(row, "back_tape", only(back, tap->back.distance));
    dm_row_bound(row, "U_back_tape", only(back, c->k * tap->back.u));
    dm_row_text(row, "ahead_face", face_id(c, tap->ahead.face));
    dm_row_length(row, "ahead_tape", only(ahead, tap->ahead.distance));
    dm_row_bound(row, "U_ahead_tape", only(ahead, c->k * tap->ahead.u));
    dm_row_text(row, "mark_face", face_id(c, tap->mark_face));
    dm_row_length(row, "faces_apart", tap->faces_apart);
    dm_row_bound(row, "U_tapes_meet", c->k * dm_tap_meet_u(tap));
}

static void chance_cells(dm_row *row, const dm_tap *tap)
{
    dm_row_real(row, "p_enter", tap->p_enter, 3);
    dm_row_real(row, "p_axis", tap->p_axis, 3);
    dm_row_real(row, "p_angle", tap->p_angle, 3);
    dm_row_bool(row, "turn_made", tap->turned);
    dm_row_real(row, "p_kind", tap->p_kind, 3);
    dm_row_angle(row, "void_clock", tap->void_clock);
    dm_row_angle(row, "void_half_angle", tap->void_half);
}

static void strand_cells(dm_row *row, const dm_tap *tap)
{
    dm_row_text(row, "strand_side", dm_strand_side_basis_text(tap->strands));
    dm_row_angle(row, "strand_clock", tap->strand_clock);
    dm_row_small(row, "strand_gap", tap->strand_gap);
    dm_row_small(row, "strand_gap_least", tap->strand_gap_low);
    dm_row_real(row, "p_contact", tap->p_contact, 3);
}

static void clearance_cells(dm_row *row, const dm_clearance *c)
{
    dm_row_text(row, "drill_room", dm_room_text(c->room));
    dm_row_length(row, "drill_free", c->free);
    dm_row_text(row, "drill_ahead", c->ahead);
    dm_row_length(row, "drill_gap", c->gap);
    dm_row_text(row, "drill_nearest", c->nearest);
    dm_row_angle(row, "other_clock", c->other_clock);
    dm_row_clock(row, "other_clock_looking_ahead", c->other_clock);
    dm_row_real(row, "other_p_enter", c->other_p_enter, 3);
}

static dm_status tap_row(dm_row *row, const context *c, const dm_tap *tap)
{
    const char *key = NULL;

    if (c->found != NULL && tap->indication < c->found->count)
        key = c->found->items[tap->indication].key;
    dm_row_begin(row, row->header);
    dm_row_text(row, "id", tap->id);
    dm_row_text(row, "uid", tap->uid);
    dm_row_text(row, "tendon", c->tendon->id);
    dm_row_text(row, "where", c->tendon->where);
    dm_row_text(row, "field_tag",
                dm_external_find(&c->tendon->external, "field-tag"));
    dm_row_text(row, "indication", key);
    dm_row_text(row, "role", dm_tap_role_text(tap->role));
    dm_row_text(row, "advice", dm_advice_text(tap->advice));
    dm_row_text(row, "why", tap->why);
    dm_row_text(row, "warning", tap->warning);
    dm_row_text(row, "caution", caution(tap->advice));
    place_cells(row, c, tap);
    tape_cells(row, c, tap);
    dm_row_real(row, "coverage_factor", c->k, 2);
    dm_row_small(row, "around_from_tape_line", tap->around);
    dm_row_small(row, "around_from_crown", tap->from_crown);
    dm_row_small(row, "depth_stop", tap->depth_stop);
    dm_row_small(row, "wall_min", tap->wall_min);
    dm_row_bool(row, "wall_assumed", tap->wall_assumed);
    dm_row_small(row, "bit", tap->bit);
    chance_cells(row, tap);
    strand_cells(row, tap);
    clearance_cells(row, &tap->clearance);
    dm_csv_tap_opened(row, c, tap);
    dm_row_count(row, "order_on_tendon", tap->tendon_length_rank + 1);
    dm_csv_accepted(row, c);
    return dm_row_end(row);
}

static dm_status tap_rows(dm_row *row, const context *c)
{
    dm_status status = DM_OK;
    size_t i;

    for (i = 0; c->taps != NULL && i < c->taps->count && status == DM_OK; i++)
        status = tap_row(row, c, &c->taps->items[i]);
    return status;
}

/* ---- files ------------------------------------------------------------ */

/* One row of nothing, for the names of its columns. */
static dm_status header_row(dm_row *row, const dm_delivery *delivery,
                            table_rows *rows)
{
    dm_indication indication = {0};
    dm_cover_length cover = {0};
    dm_cover_line line = {.lengths = &cover, .count = 1};
    dm_as_found opening = {0};
    dm_indications found = {0};
    dm_turn turn = {0};
    dm_tendon tendon = {0};
    dm_taps taps = {0};
    dm_tap tap = {0};
    context c = {delivery, &tendon, &found, &taps, NULL, 0.0};

    found.items = &indication;
    found.turns = &turn;
    found.turn_count = 1;
    found.cover = &cover;
    found.cover_lines = &line;
    found.openings = &opening;
    found.count = found.cover_count = found.cover_line_count = 1;
    found.opening_count = 1;
    taps.items = &tap;
    taps.count = 1;
    row->header = true;
    return rows(row, &c);
}

static dm_status put_table(dm_row *row, const dm_delivery *d, table_rows *rows)
{
    dm_status status;
    size_t i;

    row->us = d->job->units == DM_UNITS_US;
    status = header_row(row, d, rows);
    row->header = false;
    for (i = 0; i < d->model->tendon_count && status == DM_OK; i++) {
        const dm_result *r = d->results == NULL ? NULL : &d->results[i];
        context c = {d,
                     &d->model->tendons[i],
                     r ? r->indications : NULL,
                     r ? r->taps : NULL,
                     r ? r->stations : NULL,
                     d->job->settings.coverage_factor};

        status = rows(row, &c);
    }
    dm_buf_free(&row->buf);
    return status;
}

/* A table of sums over tendons. */
typedef dm_status sum_table(dm_row *row, const dm_delivery *d,
                            const dm_totals *totals);

static dm_status write_sums(const dm_delivery *d, const char *name,
                            sum_table *table, const dm_totals *totals,
                            dm_outset *set, dm_diag *diag)
{
    dm_place place = {name, 0};
    dm_row row = {.us = d->job->units == DM_UNITS_US};
    dm_status status = dm_outset_open(set, name, &row.out);

    if (status != DM_OK)
        return status;
    status = table(&row, d, totals);
    dm_buf_free(&row.buf);
    return status == DM_OK
               ? status
               : dm_error(diag, status, place, NULL, "out of memory");
}

static dm_status write_table(const dm_delivery *d, const char *name,
                             table_rows *rows, dm_outset *set, dm_diag *diag)
{
    dm_place place = {name, 0};
    dm_row row = {0};
    dm_status status;

    status = dm_outset_open(set, name, &row.out);
    if (status != DM_OK)
        return status;
    status = put_table(&row, d, rows);
    return status == DM_OK
               ? status
               : dm_error(diag, status, place, NULL, "out of memory");
}

static void put_text(const dm_delivery *d, table_rows *rows, dm_buf *out)
{
    dm_row row = {0};

    row.text = out;
    if (put_table(&row, d, rows) != DM_OK)
        out->failed = true;
}

void dm_csv_indications(const dm_delivery *delivery, dm_buf *out)
{
    put_text(delivery, indication_rows, out);
}

void dm_csv_taps(const dm_delivery *delivery, dm_buf *out)
{
    put_text(delivery, tap_rows, out);
}

dm_status dm_write_csv(const dm_delivery *d, dm_outset *out, dm_diag *diag)
{
    static const struct {
        const char *name;
        table_rows *rows;
    } tables[] = {{"tendons.csv", dm_csv_tendon_rows},
                  {"indications.csv", indication_rows},
                  {"turns.csv", dm_csv_turn_rows},
                  {"taps.csv", tap_rows},
                  {"openings.csv", dm_csv_opening_rows},
                  {"coverage.csv", dm_csv_cover_rows},
                  {"coverage_lines.csv", dm_csv_line_rows}};
    dm_totals *totals = NULL;
    dm_status status = DM_OK;
    size_t i;

    for (i = 0; i < sizeof tables / sizeof *tables && status == DM_OK; i++)
        status = write_table(d, tables[i].name, tables[i].rows, out, diag);
    if (status != DM_OK)
        return status;
    status = dm_totals_make(d->model, d->criteria, d->results, &totals);
    if (status != DM_OK)
        return dm_error(diag, status, (dm_place){"parts.csv", 0}, NULL,
                        "out of memory");
    status = write_sums(d, "parts.csv", dm_csv_part_table, totals, out, diag);
    if (status == DM_OK)
        status =
            write_sums(d, "tallies.csv", dm_csv_tally_table, totals, out, diag);
    dm_totals_free(totals);
    return status;
}
