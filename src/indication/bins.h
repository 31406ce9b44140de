/* SPDX-License-Identifier: MIT
 * Readings reduced to cells along the run distance: bounded memory whatever
 * the number of rows. */
#ifndef DM_INDICATION_BINS_H
#define DM_INDICATION_BINS_H

#include <stdbool.h>
#include <stddef.h>

#include "ductmark/status.h"

typedef struct {
    double pitch, x0; /* m; x0: the first reading's x */
    size_t columns;
    size_t limit; /* most bins */
    size_t low;   /* bin of x0 within the arrays */
    size_t count; /* bins held */
    double *bin;  /* [count][2 + columns]: readings, sum of (x - x0), sums of
                     the columns */
    double rows;
} dm_bins;

/* @param limit  most bins: a run cannot be longer */
void dm_bins_init(dm_bins *bins, double pitch, size_t columns, size_t limit);
void dm_bins_free(dm_bins *bins);

/* @return DM_OK; DM_RANGE: x lies further from the first reading than the
 *         limit allows (*bad_row says which row); DM_NOMEM */
dm_status dm_bins_add(dm_bins *bins, const double *x, double *const *value,
                      size_t rows, size_t *bad_row);

/* How many neighbouring bins must be joined so that nearly every joined bin
 * between the first and the last holds a reading: 1 where readings are
 * close. At most `most`. */
size_t dm_bins_factor(const dm_bins *bins, size_t most);

/* Cells of `factor` bins each, by increasing x, empty ones left out.
 * Arrays of dm_bins_cells_max(bins, factor) each; value[c][i]. Returns the
 * number of cells. */
size_t dm_bins_cells_max(const dm_bins *bins, size_t factor);
size_t dm_bins_cells(const dm_bins *bins, size_t factor, double *x,
                     double *const *value);

#endif
