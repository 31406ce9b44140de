/* SPDX-License-Identifier: MIT
 * Sums over parts and the bridge, for people: where the length went, and how
 * many indications of which kind and grade. */
#include <math.h>

#include "cli/summary.h"
#include "cli/table.h"
#include "ductmark/total.h"

/* Depth of a part in the tree, as blanks before its id. */
static void name_cell(table *t, const dm_model *m, size_t part)
{
    dm_buf text = {0};

    for (size_t p = part; p < m->part_count; p = m->parts[p].parent)
        dm_buf_puts(&text, "  ");
    dm_buf_puts(&text, m->parts[part].id);
    table_text(t, text.failed ? NULL : text.data);
    t->failed = t->failed || text.failed;
    dm_buf_free(&text);
}

static void part_row(table *t, const dm_total *total, dm_units units)
{
    /* Rounded first, so that the row adds up as shown. */
    double step = units == DM_UNITS_US ? 0.0254 / 8.0 : 0.001;
    double whole = floor(total->length / step + 0.5) * step;
    double tested = floor(total->cover[DM_COVER_TESTED] / step + 0.5) * step;

    table_count(t, total->tendons);
    table_length(t, whole, units);
    table_length(t, tested, units);
    table_length(t, whole - tested, units);
    table_count(t, total->all.count);
    table_length(t, total->all.length, units);
}

static void parts_table(const dm_campaign *c, const dm_totals *totals,
                        dm_buf *out)
{
    dm_units units = c->job->units;
    table t;

    table_init(&t, units == DM_UNITS_US
                       ? "part|>tendons|>length, ft in|>tested|>not so|"
                         ">indications|>indicated"
                       : "part|>tendons|>length, m|>tested|>not so|"
                         ">indications|>indicated");
    table_text(&t, c->model->id);
    part_row(&t, &totals->bridge, units);
    for (size_t i = 0; i < c->model->part_count; i++) {
        name_cell(&t, c->model, i);
        part_row(&t, &totals->parts[i], units);
    }
    dm_buf_puts(out, "parts: each with what lies in it; not so: all length "
                     "that is not simply tested\n\n");
    table_print(&t, out);
}

static void tally_rows(table *t, const dm_campaign *c, const dm_totals *totals,
                       const char *id, const dm_total *total)
{
    for (int k = 0; k < DM_KIND_COUNT; k++)
        for (size_t g = 0; g <= totals->grades; g++) {
            const dm_tally *one = dm_tally_at(totals, total, (dm_kind)k, g);
            if (one->count == 0)
                continue;
            table_text(t, id);
            table_text(t, dm_kind_text((dm_kind)k));
            table_text(t, g < totals->grades ? c->criteria->grades[g].label
                                             : "no rule");
            table_count(t, one->count);
            table_length(t, one->length, c->job->units);
        }
}

static void tallies_table(const dm_campaign *c, const dm_totals *totals,
                          bool tendons, dm_buf *out)
{
    table t;

    table_init(&t, c->job->units == DM_UNITS_US
                       ? "of|kind|grade|>indications|>length, ft in"
                       : "of|kind|grade|>indications|>length, m");
    tally_rows(&t, c, totals, c->model->id, &totals->bridge);
    for (size_t i = 0; i < c->model->part_count; i++)
        tally_rows(&t, c, totals, c->model->parts[i].id, &totals->parts[i]);
    for (size_t i = 0; tendons && i < c->model->tendon_count; i++)
        tally_rows(&t, c, totals, c->model->tendons[i].id, &totals->tendons[i]);
    dm_buf_puts(out, "\nindications by kind and grade\n\n");
    table_print(&t, out);
}

void summary_totals(const dm_campaign *c, bool tendons, dm_buf *out)
{
    dm_totals *totals = NULL;

    if (dm_totals_make(c->model, c->criteria, c->results, &totals) != DM_OK) {
        out->failed = true;
        return;
    }
    parts_table(c, totals, out);
    if (totals->bridge.all.count > 0)
        tallies_table(c, totals, tendons, out);
    dm_totals_free(totals);
}
