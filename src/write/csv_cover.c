/* SPDX-License-Identifier: MIT
 * Tables: tendons.csv, coverage.csv and coverage_lines.csv. Lengths of the
 * ledger are written to 1 um, as its bounds are: what a file says adds up to
 * the tendon's length in the same file. A tendon without results is one length
 * not tested. */
#include "write/csv_rows.h"

const char *dm_csv_far_anchorage(const dm_tendon *t)
{
    const dm_support *s;

    if (t->support_count == 0)
        return NULL;
    s = &t->supports[t->support_count - 1];
    return s->name != NULL && s->name[0] != '\0' ? s->name : s->id;
}

void dm_csv_accepted(dm_row *row, const dm_csv_context *c)
{
    dm_row_text(row, "accepted", c->stations ? c->stations->accepted : NULL);
}

/* ---- tendons ---------------------------------------------------------- */

static double cover_sum(const dm_csv_context *c, dm_cover cover)
{
    if (c->found != NULL)
        return c->found->cover_sum[cover];
    return cover == DM_COVER_NOT_TESTED ? c->tendon->line.length : 0.0;
}

static double why_sum(const dm_csv_context *c, dm_why why)
{
    if (c->found != NULL)
        return c->found->why_sum[why];
    return why == DM_WHY_NOT_WALKED ? c->tendon->line.length : 0.0;
}

const char *dm_csv_cover_column(dm_cover cover)
{
    static const char *const state[DM_COVER_COUNT] = {
        "tested", "strand_masked", "not_tested", "not_valid", "not_reconciled"};

    return state[cover];
}

const char *dm_csv_why_column(dm_why why)
{
    static const char *const name[DM_WHY_COUNT] = {
        [DM_WHY_STRAND] = "why_strand",
        [DM_WHY_SUPPORT] = "why_inside_support",
        [DM_WHY_STEEL] = "why_steel",
        [DM_WHY_WRAP] = "why_wrap",
        [DM_WHY_LOW_CLEARANCE] = "why_low_clearance",
        [DM_WHY_OBSTRUCTION] = "why_obstruction",
        [DM_WHY_SKIPPED] = "why_skipped",
        [DM_WHY_LEFT_OUT] = "why_run_left_out",
        [DM_WHY_DEAD_ZONE] = "why_dead_zone",
        [DM_WHY_NO_ACCESS] = "why_no_access",
        [DM_WHY_NOT_WALKED] = "why_not_walked",
        [DM_WHY_LIFT_OFF] = "why_lift_off",
        [DM_WHY_CHECK_DRIFT] = "why_check_drift",
        [DM_WHY_NO_CALIBRATION] = "why_no_calibration",
        [DM_WHY_NOT_CLOSED] = "why_not_closed"};

    return name[why];
}

/* By state, then by reason: each adds up to the length, the second with what
 * was tested. */
static void sum_cells(dm_row *row, const dm_csv_context *c)
{
    int i;

    for (i = 0; i < DM_COVER_COUNT; i++)
        dm_row_ledger(row, dm_csv_cover_column((dm_cover)i),
                      cover_sum(c, (dm_cover)i));
    for (i = DM_WHY_NONE + 1; i < DM_WHY_COUNT; i++)
        dm_row_ledger(row, dm_csv_why_column((dm_why)i), why_sum(c, (dm_why)i));
}

dm_status dm_csv_tendon_rows(dm_row *row, const dm_csv_context *c)
{
    const dm_model *m = c->delivery->model;
    const dm_tendon *t = c->tendon;
    const dm_volume_sum none = {0};

    dm_row_begin(row, row->header);
    dm_row_text(row, "id", t->id);
    dm_row_text(row, "name", t->name);
    dm_row_text(row, "part",
                t->part < m->part_count ? m->parts[t->part].id : NULL);
    dm_row_text(row, "where", t->where);
    dm_row_ledger(row, "length", t->line.length);
    sum_cells(row, c);
    dm_row_count(row, "indications", c->found ? c->found->count : 0);
    dm_row_count(row, "taps", c->taps ? c->taps->count : 0);
    dm_csv_volume_cells(row, c->found ? &c->found->volume : &none);
    dm_row_count(row, "readings", c->found ? c->found->reading_count : 0);
    dm_row_count(row, "runs_left_out", c->found ? c->found->failed_runs : 0);
    dm_row_text(row, "looking_towards", dm_csv_far_anchorage(t));
    dm_csv_accepted(row, c);
    return dm_row_end(row);
}

/* ---- coverage --------------------------------------------------------- */

/* `line`: NULL where the row is of all clock lines together. */
static dm_status cover_row(dm_row *row, const dm_csv_context *c,
                           const dm_cover_line *line,
                           const dm_cover_length *length)
{
    dm_row_begin(row, row->header);
    dm_row_text(row, "tendon", c->tendon->id);
    if (line != NULL) {
        dm_row_angle(row, "clock", line->clock);
        dm_row_clock(row, "clock_looking_ahead", line->clock);
        dm_row_small(row, "width", line->width);
    }
    dm_row_ledger(row, "from", length->from);
    dm_row_ledger(row, "to", length->to);
    dm_row_ledger(row, "length", length->to - length->from);
    dm_row_text(row, "state", dm_cover_text(length->cover));
    dm_row_text(row, "why", dm_why_text(length->why));
    dm_row_text(row, "reason", length->reason);
    dm_csv_accepted(row, c);
    return dm_row_end(row);
}

dm_status dm_csv_cover_rows(dm_row *row, const dm_csv_context *c)
{
    const dm_cover_length whole = {0.0, c->tendon->line.length,
                                   DM_COVER_NOT_TESTED, DM_WHY_NOT_WALKED,
                                   "no survey of this tendon"};
    dm_status status = DM_OK;
    size_t i;

    if (c->found == NULL)
        return cover_row(row, c, NULL, &whole);
    for (i = 0; i < c->found->cover_count && status == DM_OK; i++)
        status = cover_row(row, c, NULL, &c->found->cover[i]);
    return status;
}

/* A tendon without a run has no clock line. */
dm_status dm_csv_line_rows(dm_row *row, const dm_csv_context *c)
{
    dm_status status = DM_OK;
    size_t i, k;

    for (i = 0; c->found != NULL && i < c->found->cover_line_count; i++) {
        const dm_cover_line *l = &c->found->cover_lines[i];

        for (k = 0; k < l->count && status == DM_OK; k++)
            status = cover_row(row, c, l, &l->lengths[k]);
    }
    return status;
}
