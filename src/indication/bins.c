/* SPDX-License-Identifier: MIT
 * Sums of readings in cells of equal length of run distance. A reading costs
 * one multiplication and a few additions; order and repeats do not matter
 * (the wheel may roll back). The mean x of a cell is kept, not its middle, so
 * that a reading spacing near the cell's length leaves no bias. */
#include "indication/bins.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/arena.h"

void dm_bins_init(dm_bins *bins, double pitch, size_t columns, size_t limit)
{
    memset(bins, 0, sizeof *bins);
    bins->pitch = pitch;
    bins->columns = columns;
    bins->limit = limit;
}

void dm_bins_free(dm_bins *bins)
{
    free(bins->bin);
    bins->bin = NULL;
    bins->count = 0;
}

static size_t width(const dm_bins *b)
{
    return 2 + b->columns;
}

/* Grows to hold bins `before` the first, or else up to `need` in all: by half,
 * at that end alone, so that the size stays in proportion to what is held
 * whichever way x goes. */
static dm_status grow(dm_bins *b, size_t before, size_t need)
{
    size_t shift = before > 0 ? before + need / 2 + 128 : 0;
    size_t count = before > 0 ? need + shift : need + need / 2 + 256, bytes;
    double *bin;

    if (!dm_size_mul(count, width(b) * sizeof *bin, &bytes))
        return DM_NOMEM;
    bin = calloc(1, bytes);
    if (bin == NULL)
        return DM_NOMEM;
    if (b->count > 0)
        memcpy(bin + shift * width(b), b->bin,
               b->count * width(b) * sizeof *bin);
    free(b->bin);
    b->bin = bin;
    b->low += shift;
    b->count = count;
    return DM_OK;
}

/* Makes room for the bin at signed place `k`. */
static dm_status reach(dm_bins *b, double k)
{
    double limit = (double)b->limit;

    if (!(k > -limit && k < limit))
        return DM_RANGE;
    if (k < 0.0)
        return grow(b, (size_t)(-k) - b->low + 1, b->count);
    return grow(b, 0, b->low + (size_t)k + 1);
}

dm_status dm_bins_add(dm_bins *b, const double *x, double *const *value,
                      size_t rows, size_t *bad_row)
{
    double inverse = 1.0 / b->pitch;
    size_t wide = width(b);

    if (rows > 0 && b->rows == 0.0)
        b->x0 = x[0];
    for (size_t r = 0; r < rows; r++) {
        double dx = x[r] - b->x0, at = dx * inverse + (double)b->low;
        double *bin;

        if (!(at >= 0.0 && at < (double)b->count)) {
            dm_status status = reach(b, floor(dx * inverse));

            if (status != DM_OK) {
                *bad_row = r;
                return status;
            }
            at = dx * inverse + (double)b->low;
        }
        /* The signed conversion is one instruction. */
        bin = b->bin + (size_t)(ptrdiff_t)at * wide;
        bin[0] += 1.0;
        bin[1] += dx;
        for (size_t c = 2; c < wide; c++)
            bin[c] += value[c - 2][r];
    }
    b->rows += (double)rows;
    return DM_OK;
}

static bool filled_range(const dm_bins *b, size_t *first, size_t *last)
{
    size_t i = 0, j = b->count;

    while (i < j && b->bin[i * width(b)] == 0.0)
        i++;
    while (j > i && b->bin[(j - 1) * width(b)] == 0.0)
        j--;
    *first = i;
    *last = j;
    return j > i;
}

size_t dm_bins_factor(const dm_bins *b, size_t most)
{
    size_t first, last;

    if (!filled_range(b, &first, &last))
        return 1;
    for (size_t factor = 1; factor < most; factor++) {
        size_t filled = 0, empty = 0, run = 0;

        for (size_t i = first; i < last; i += factor) {
            double n = 0.0;

            for (size_t k = i; k < i + factor && k < last; k++)
                n += b->bin[k * width(b)];
            if (n > 0.0) {
                /* Long empty lengths are gaps, not a coarse spacing. */
                empty += run * factor <= 2 * most ? run : 0;
                run = 0;
                filled++;
            } else {
                run++;
            }
        }
        if (empty * 20 <= filled)
            return factor;
    }
    return most > 0 ? most : 1;
}

size_t dm_bins_cells_max(const dm_bins *b, size_t factor)
{
    size_t first, last;

    if (!filled_range(b, &first, &last))
        return 0;
    return (last - first + factor - 1) / factor;
}

size_t dm_bins_cells(const dm_bins *b, size_t factor, double *x,
                     double *const *value)
{
    size_t first, last, n = 0, wide = width(b);

    if (!filled_range(b, &first, &last))
        return 0;
    for (size_t i = first; i < last; i += factor) {
        size_t stop = i + factor < last ? i + factor : last;
        double rows = 0.0, sum_x = 0.0, inverse;

        for (size_t k = i; k < stop; k++) {
            rows += b->bin[k * wide];
            sum_x += b->bin[k * wide + 1];
        }
        if (rows == 0.0)
            continue;
        inverse = 1.0 / rows;
        x[n] = b->x0 + sum_x * inverse;
        for (size_t c = 2; c < wide; c++) {
            double sum = 0.0;

            for (size_t k = i; k < stop; k++)
                sum += b->bin[k * wide + c];
            value[c - 2][n] = sum * inverse;
        }
        n++;
    }
    return n;
}
