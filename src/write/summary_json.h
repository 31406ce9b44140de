/* SPDX-License-Identifier: MIT
 * The text of summary.json. A failed allocation is remembered in `out`. */
#ifndef DM_WRITE_SUMMARY_JSON_H
#define DM_WRITE_SUMMARY_JSON_H

#include "base/buf.h"
#include "ductmark/write.h"

void dm_summary_json(const dm_delivery *delivery, dm_buf *out);

#endif
