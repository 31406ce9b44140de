/* SPDX-License-Identifier: MIT
 * What the tables of a delivery share: where a row is, and the rows of one
 * tendon in each table that is not made in csv.c. */
#ifndef DM_WRITE_CSV_ROWS_H
#define DM_WRITE_CSV_ROWS_H

#include "ductmark/total.h"
#include "ductmark/write.h"
#include "write/row.h"

/* One tendon with what was found. In a header the cells are not looked at. */
typedef struct {
    const dm_delivery *delivery;
    const dm_tendon *tendon;
    const dm_indications *found; /* NULL: no results */
    const dm_taps *taps;         /* NULL: no results */
    const dm_stations *stations; /* NULL: no results */
    double k;                    /* coverage factor */
} dm_csv_context;

/* The anchorage that one looks towards when looking ahead. */
const char *dm_csv_far_anchorage(const dm_tendon *tendon);
/* The blunders that the job accepts on the tendon; empty: none. */
void dm_csv_accepted(dm_row *row, const dm_csv_context *c);

/* Columns of a place along the bridge: the station twice, as computed with and
 * as the drawings show it. Empty without an alignment. */
typedef struct {
    const char *station, *shown, *offset;
} dm_csv_bridge_columns;
extern const dm_csv_bridge_columns dm_csv_bridge_of_row;
void dm_csv_bridge_cells(dm_row *row, const dm_bridge_place *place,
                         const dm_csv_bridge_columns *name);

/* Names of the columns of a state and of a reason, without the unit. */
const char *dm_csv_cover_column(dm_cover cover);
const char *dm_csv_why_column(dm_why why);

/* As-found columns of an indication and of a tap; openings.csv. */
void dm_csv_indication_opened(dm_row *row, const dm_csv_context *c,
                              const dm_indication *item);
void dm_csv_tap_opened(dm_row *row, const dm_csv_context *c, const dm_tap *tap);
dm_status dm_csv_opening_rows(dm_row *row, const dm_csv_context *c);

/* parts.csv and tallies.csv: all rows with their header. */
dm_status dm_csv_part_table(dm_row *row, const dm_delivery *delivery,
                            const dm_totals *totals);
dm_status dm_csv_tally_table(dm_row *row, const dm_delivery *delivery,
                             const dm_totals *totals);

/* Columns of a size, and of volumes added up. */
void dm_csv_size_cells(dm_row *row, const dm_size *size, double k);
void dm_csv_volume_cells(dm_row *row, const dm_volume_sum *sum);
/* turns.csv: one row a turn and channel. */
dm_status dm_csv_turn_rows(dm_row *row, const dm_csv_context *c);

/* tendons.csv: one row. */
dm_status dm_csv_tendon_rows(dm_row *row, const dm_csv_context *c);
/* coverage.csv: the ledger of all clock lines together. */
dm_status dm_csv_cover_rows(dm_row *row, const dm_csv_context *c);
/* coverage_lines.csv: that of each clock line. */
dm_status dm_csv_line_rows(dm_row *row, const dm_csv_context *c);

#endif
