/* SPDX-License-Identifier: MIT
 * Sizes in tables: the columns of an indication and of sums, and turns.csv, one
 * row a turn and channel. Volumes in litres, areas in square millimetres; a
 * value that is not known is an empty cell. */
#include <math.h>

#include "write/csv_rows.h"

#define CUBIC_INCH (0.0254 * 0.0254 * 0.0254)

static void litres(dm_row *row, const char *const name[2], double volume)
{
    dm_row_real(row, name[0], 1e3 * volume, 4);
    if (row->us)
        dm_row_real(row, name[1], volume / CUBIC_INCH, 2);
}

static void volume_cells(dm_row *row, const dm_amount *v)
{
    static const char *const low[2] = {"volume_low_L", "volume_low_in3"};
    static const char *const best[2] = {"volume_best_L", "volume_best_in3"};
    static const char *const high[2] = {"volume_high_L", "volume_high_in3"};

    litres(row, low, v->low);
    litres(row, best, v->best);
    litres(row, high, v->high);
}

static void grout_cells(dm_row *row, const dm_amount *v)
{
    static const char *const low[2] = {"grout_low_L", "grout_low_in3"};
    static const char *const best[2] = {"grout_best_L", "grout_best_in3"};
    static const char *const high[2] = {"grout_high_L", "grout_high_in3"};

    litres(row, low, v->low);
    litres(row, best, v->best);
    litres(row, high, v->high);
}

void dm_csv_size_cells(dm_row *row, const dm_size *s, double k)
{
    static const char *const measured[2] = {"volume_measured_L",
                                            "volume_measured_in3"};
    static const char *const u_measured[2] = {"U_volume_measured_L",
                                              "U_volume_measured_in3"};

    dm_row_text(row, "size_basis", dm_size_basis_text(s->basis));
    dm_row_count(row, "turns", s->turn_count);
    dm_row_real(row, "area_fraction_low", s->area_fraction.low, 4);
    dm_row_real(row, "area_fraction_best", s->area_fraction.best, 4);
    dm_row_real(row, "area_fraction_high", s->area_fraction.high, 4);
    dm_row_length(row, "largest_section", s->largest_t);
    volume_cells(row, &s->volume);
    grout_cells(row, &s->grout);
    litres(row, measured, s->measured);
    litres(row, u_measured, k * s->u_measured);
    dm_row_bool(row, "saturated", s->saturated);
    dm_row_text(row, "strands", dm_strands_case_text(s->strands));
    dm_row_text(row, "size_words", s->words);
}

void dm_csv_volume_cells(dm_row *row, const dm_volume_sum *s)
{
    dm_row_count(row, "void_like", s->count);
    dm_row_count(row, "void_like_without_turn", s->limits_only);
    volume_cells(row, &s->volume);
    grout_cells(row, &s->grout);
}

/* ---- turns ---- */

static void area_cells(dm_row *row, const char *const name[3],
                       const dm_amount *area)
{
    dm_row_real(row, name[0], 1e6 * area->low, 1);
    dm_row_real(row, name[1], 1e6 * area->best, 1);
    dm_row_real(row, name[2], 1e6 * area->high, 1);
}

static void arc_cells(dm_row *row, const dm_csv_context *c, const dm_turn *t)
{
    static const dm_arc none = {.from = (double)NAN,
                                .to = (double)NAN,
                                .u_from = (double)NAN,
                                .u_to = (double)NAN,
                                .index = (double)NAN};
    const dm_arc *a = t->arc < t->arc_count ? &t->arcs[t->arc] : &none;

    dm_row_count(row, "arcs", t->arc_count);
    dm_row_angle(row, "arc_from", a->from);
    dm_row_angle(row, "arc_to", a->to);
    dm_row_clock(row, "arc_from_clock", a->from);
    dm_row_clock(row, "arc_to_clock", a->to);
    dm_row_angle(row, "U_arc_from", c->k * a->u_from);
    dm_row_angle(row, "U_arc_to", c->k * a->u_to);
    dm_row_real(row, "arc_index", a->index, 3);
    dm_row_bool(row, "all_round", a->whole);
    dm_row_bool(row, "open_from", a->open_from);
    dm_row_bool(row, "open_to", a->open_to);
    dm_row_bool(row, "narrower_than_footprint", a->shorter);
}

static void fit_cells(dm_row *row, const dm_csv_context *c, const dm_turn *t)
{
    dm_row_angle(row, "half_angle", t->fit.half_angle);
    dm_row_angle(row, "half_angle_low", t->fit.low);
    dm_row_angle(row, "half_angle_high", t->fit.high);
    dm_row_angle(row, "middle", t->fit.centre);
    dm_row_angle(row, "U_middle", c->k * t->fit.centre_u);
    dm_row_real(row, "misfit", t->fit.misfit, 4);
    dm_row_real(row, "noise", t->noise, 4);
    dm_row_real(row, "apart", t->apart, 2);
}

static dm_status turn_row(dm_row *row, const dm_csv_context *c,
                          const dm_turn *t)
{
    static const char *const direct[3] = {
        "direct_area_low_mm2", "direct_area_best_mm2", "direct_area_high_mm2"};
    static const char *const fitted[3] = {
        "fitted_area_low_mm2", "fitted_area_best_mm2", "fitted_area_high_mm2"};
    static const char *const area[3] = {"area_low_mm2", "area_best_mm2",
                                        "area_high_mm2"};
    const dm_survey *s = c->delivery->survey;
    const dm_run *run = s != NULL && !row->header && t->run < s->run_count
                            ? &s->runs[t->run]
                            : NULL;

    dm_row_begin(row, row->header);
    dm_row_text(row, "tendon", c->tendon->id);
    dm_row_text(row, "run", run != NULL ? run->id : NULL);
    dm_row_text(row, "channel",
                run != NULL
                    ? s->instruments[run->instrument].channels[t->channel].id
                    : NULL);
    dm_row_text(row, "indication",
                t->indication < c->found->count
                    ? c->found->items[t->indication].key
                    : NULL);
    dm_row_length(row, "station", t->t);
    dm_row_bound(row, "U_world", c->k * t->u);
    dm_row_bound(row, "U_back_face", c->k * t->u_back);
    dm_row_bound(row, "U_ahead_face", c->k * t->u_ahead);
    dm_row_bool(row, "reconciled", t->reconciled);
    dm_row_real(row, "coverage_factor", c->k, 2);
    dm_row_small(row, "bore_radius", t->bore);
    dm_row_real(row, "read_part", t->read, 3);
    arc_cells(row, c, t);
    area_cells(row, direct, &t->direct);
    area_cells(row, fitted, &t->fitted);
    area_cells(row, area, &t->area);
    fit_cells(row, c, t);
    dm_row_small(row, "depth_low", t->depth.low);
    dm_row_small(row, "depth_best", t->depth.best);
    dm_row_small(row, "depth_high", t->depth.high);
    dm_row_bool(row, "depth_is_at_least", t->depth_at_least);
    dm_row_angle(row, "strand_side", t->strand);
    return dm_row_end(row);
}

dm_status dm_csv_turn_rows(dm_row *row, const dm_csv_context *c)
{
    dm_status status = DM_OK;

    for (size_t i = 0;
         c->found != NULL && i < c->found->turn_count && status == DM_OK; i++)
        status = turn_row(row, c, &c->found->turns[i]);
    return status;
}
