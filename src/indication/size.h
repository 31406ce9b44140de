/* SPDX-License-Identifier: MIT
 * What the files that size indications share. */
#ifndef DM_INDICATION_SIZE_H
#define DM_INDICATION_SIZE_H

#include "ductmark/size.h"

/* All NAN; and a size of basis none. */
dm_amount dm_amount_unknown(void);
dm_size dm_size_unknown(void);
/* Adds one indication's size to a sum. */
void dm_volume_sum_size(dm_volume_sum *a, const dm_size *size);

#endif
