/* SPDX-License-Identifier: MIT
 * Rows of CSV tables. Each cell is put with its column's name, and the header
 * is made by the same calls, so that names and cells cannot fall out of step.
 * Names end in their unit; with US units a length has further columns made
 * from the same value. Values that are not finite are empty cells. */
#ifndef DM_WRITE_ROW_H
#define DM_WRITE_ROW_H

#include "base/buf.h"
#include "base/file.h"
#include "ductmark/job.h"

typedef struct {
    dm_out *out;  /* the file, or NULL: */
    dm_buf *text; /* rows are appended here */
    dm_buf buf;   /* the row being made */
    bool header;
    bool us;
} dm_row;

void dm_row_begin(dm_row *row, bool header);
/* Puts the row where it belongs; DM_NOMEM. */
dm_status dm_row_end(dm_row *row);

void dm_row_text(dm_row *row, const char *name, const char *text);
void dm_row_bool(dm_row *row, const char *name, bool value); /* yes, no */
void dm_row_count(dm_row *row, const char *name, size_t value);
void dm_row_real(dm_row *row, const char *name, double value, int decimals);
/* name_m to 10 um; US: name_ft (0.3048 m) and name_ft_in to 1/8 in. */
void dm_row_length(dm_row *row, const char *name, double metres);
/* The same to 1 um, which the ledger's bounds are whole numbers of. */
void dm_row_ledger(dm_row *row, const char *name, double metres);
/* name_m; US: name_in, decimal: uncertainties. */
void dm_row_bound(dm_row *row, const char *name, double metres);
/* name_m; US: name_ft and name_us_ft (1200/3937 m): coordinates. */
void dm_row_coordinate(dm_row *row, const char *name, double metres);
/* name_mm to 1/100; US: name_in, decimal. */
void dm_row_small(dm_row *row, const char *name, double metres);
/* name_deg. */
void dm_row_angle(dm_row *row, const char *name, double rad);
/* Clock time, h:mm. */
void dm_row_clock(dm_row *row, const char *name, double rad);

/* "12 ft 3 5/8 in", to the nearest 1/8 in (fractions reduced). */
void dm_feet_text(double metres, dm_buf *out);

#endif
