/* SPDX-License-Identifier: MIT
 * The layout of tendons as JSON: what `ductmark check --json` prints. */
#ifndef DM_WRITE_LAYOUT_JSON_H
#define DM_WRITE_LAYOUT_JSON_H

#include "base/buf.h"
#include "ductmark/layout.h"

/* One object. `layouts`: one per tendon of the model; `runs`: runs of each
 * tendon, NULL without a field book; `messages`: what was said of the inputs.
 */
void dm_layout_json(const dm_model *model, const dm_layout *layouts,
                    const size_t *runs, const char *const *messages,
                    size_t message_count, dm_buf *out);

#endif
