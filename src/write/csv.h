/* SPDX-License-Identifier: MIT
 * Single tables as text, for the terminal: as in indications.csv, taps.csv. A
 * failed allocation is remembered in `out`. */
#ifndef DM_WRITE_CSV_H
#define DM_WRITE_CSV_H

#include "base/buf.h"
#include "ductmark/write.h"

void dm_csv_indications(const dm_delivery *delivery, dm_buf *out);
void dm_csv_taps(const dm_delivery *delivery, dm_buf *out);

#endif
