/* SPDX-License-Identifier: MIT
 * Size of indications: words, sums, and the size that says nothing. */
#include "ductmark/size.h"

#include <math.h>

#include "indication/size.h"

#define COUNT_OF(a) (sizeof(a) / sizeof *(a))

const char *dm_size_basis_text(dm_size_basis basis)
{
    static const char *const text[] = {"none", "limits", "one turn", "turns"};

    return (unsigned)basis < COUNT_OF(text) ? text[basis] : "none";
}

const char *dm_strands_case_text(dm_strands_case strands)
{
    static const char *const text[] = {"none", "uniform", "bundle"};

    return (unsigned)strands < COUNT_OF(text) ? text[strands] : "none";
}

dm_amount dm_amount_unknown(void)
{
    return (dm_amount){(double)NAN, (double)NAN, (double)NAN};
}

dm_size dm_size_unknown(void)
{
    const double nan = (double)NAN;
    const dm_amount unknown = dm_amount_unknown();

    return (dm_size){.basis = DM_SIZE_NONE,
                     .words = "no size",
                     .bore_area = nan,
                     .area_fraction = unknown,
                     .largest_t = nan,
                     .volume = unknown,
                     .grout = unknown,
                     .slope = nan,
                     .strands = DM_STRANDS_NONE,
                     .measured = nan,
                     .u_measured = nan,
                     .opened = DM_NONE};
}

static void amount_add(dm_amount *a, const dm_amount *b)
{
    a->low += isnan(b->low) ? 0.0 : b->low;
    a->best += isnan(b->best) ? 0.0 : b->best;
    a->high += isnan(b->high) ? 0.0 : b->high;
}

void dm_volume_sum_add(dm_volume_sum *a, const dm_volume_sum *b)
{
    amount_add(&a->volume, &b->volume);
    amount_add(&a->grout, &b->grout);
    a->count += b->count;
    a->limits_only += b->limits_only;
}

void dm_volume_sum_size(dm_volume_sum *a, const dm_size *size)
{
    if (size->basis == DM_SIZE_NONE)
        return;
    amount_add(&a->volume, &size->volume);
    amount_add(&a->grout, &size->grout);
    a->count++;
    a->limits_only += isnan(size->volume.best) ? 1 : 0;
}
