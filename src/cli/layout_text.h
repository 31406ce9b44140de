/* SPDX-License-Identifier: MIT
 * What `ductmark check` prints: an overview, then each tendon. */
#ifndef DM_CLI_LAYOUT_TEXT_H
#define DM_CLI_LAYOUT_TEXT_H

#include "base/buf.h"
#include "ductmark/job.h"
#include "ductmark/layout.h"

/* `layouts`: one per tendon; `runs`: runs of each, NULL without a field
 * book. */
void layout_text(const dm_model *model, const dm_layout *layouts,
                 const size_t *runs, dm_units units, dm_buf *out);

#endif
