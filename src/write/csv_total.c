/* SPDX-License-Identifier: MIT
 * Tables of sums: parts.csv, one row for the bridge and each part, and
 * tallies.csv, one row a kind and grade that there is of the bridge, a part or
 * a tendon. */
#include "write/csv_rows.h"

static void why_cells(dm_row *row, const double *sum)
{
    for (int i = DM_WHY_NONE + 1; i < DM_WHY_COUNT; i++)
        dm_row_ledger(row, dm_csv_why_column((dm_why)i), sum[i]);
}

static dm_status part_row(dm_row *row, const char *scope, const char *id,
                          const char *parent, const dm_total *t)
{
    dm_row_begin(row, row->header);
    dm_row_text(row, "scope", scope);
    dm_row_text(row, "id", id);
    dm_row_text(row, "parent", parent);
    dm_row_count(row, "tendons", t->tendons);
    dm_row_count(row, "tendons_surveyed", t->surveyed);
    dm_row_ledger(row, "length", t->length);
    for (int i = 0; i < DM_COVER_COUNT; i++)
        dm_row_ledger(row, dm_csv_cover_column((dm_cover)i), t->cover[i]);
    why_cells(row, t->why);
    dm_row_count(row, "indications", t->all.count);
    dm_row_length(row, "indicated", t->all.length);
    dm_csv_volume_cells(row, &t->volume);
    return dm_row_end(row);
}

dm_status dm_csv_part_table(dm_row *row, const dm_delivery *d,
                            const dm_totals *totals)
{
    const dm_model *m = d->model;
    dm_status status;

    row->header = true;
    status = part_row(row, NULL, NULL, NULL, &totals->bridge);
    row->header = false;
    if (status == DM_OK)
        status = part_row(row, "bridge", m->id, NULL, &totals->bridge);
    for (size_t i = 0; i < m->part_count && status == DM_OK; i++) {
        const dm_part *p = &m->parts[i];

        status =
            part_row(row, "part", p->id,
                     p->parent < m->part_count ? m->parts[p->parent].id : m->id,
                     &totals->parts[i]);
    }
    return status;
}

static dm_status tally_row(dm_row *row, const char *scope, const char *id,
                           const char *kind, const char *grade,
                           const dm_tally *tally)
{
    dm_row_begin(row, row->header);
    dm_row_text(row, "scope", scope);
    dm_row_text(row, "id", id);
    dm_row_text(row, "kind", kind);
    dm_row_text(row, "grade", grade);
    dm_row_count(row, "indications", tally->count);
    dm_row_length(row, "length", tally->length);
    return dm_row_end(row);
}

static dm_status tally_rows(dm_row *row, const dm_delivery *d,
                            const dm_totals *totals, const char *scope,
                            const char *id, const dm_total *total)
{
    dm_status status = DM_OK;

    for (int k = 0; k < DM_KIND_COUNT; k++)
        for (size_t g = 0; g <= totals->grades && status == DM_OK; g++) {
            const dm_tally *t = dm_tally_at(totals, total, (dm_kind)k, g);

            if (t->count > 0)
                status = tally_row(
                    row, scope, id, dm_kind_text((dm_kind)k),
                    g < totals->grades ? d->criteria->grades[g].label : NULL,
                    t);
        }
    return status;
}

dm_status dm_csv_tally_table(dm_row *row, const dm_delivery *d,
                             const dm_totals *totals)
{
    const dm_model *m = d->model;
    const dm_tally none = {0, 0.0};
    dm_status status;

    row->header = true;
    status = tally_row(row, NULL, NULL, NULL, NULL, &none);
    row->header = false;
    if (status == DM_OK)
        status = tally_rows(row, d, totals, "bridge", m->id, &totals->bridge);
    for (size_t i = 0; i < m->part_count && status == DM_OK; i++)
        status = tally_rows(row, d, totals, "part", m->parts[i].id,
                            &totals->parts[i]);
    for (size_t i = 0; i < m->tendon_count && status == DM_OK; i++)
        status = tally_rows(row, d, totals, "tendon", m->tendons[i].id,
                            &totals->tendons[i]);
    return status;
}
