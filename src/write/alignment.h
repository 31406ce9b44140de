/* SPDX-License-Identifier: MIT
 * A reference line as the bridge file's own element. */
#ifndef DM_WRITE_ALIGNMENT_H
#define DM_WRITE_ALIGNMENT_H

#include "base/arena.h"
#include "base/buf.h"
#include "ductmark/alignment.h"

/* `alignment` of geometry/bridge.xsd, indented to stand in `bridge`. Read back
 * it is the same line: to 1e-15 m and 1e-15 deg in what is stated.
 * points, count: what line->vertical is made of; count 0: no profile. */
void dm_alignment_xml(const char *id, const dm_alignment *line,
                      const dm_pvi *points, size_t count, dm_buf *out);

/* An id of the schema from any text: what may not stand in it becomes _, runs
 * of it one; 63 characters at most; "alignment" where nothing is left. In the
 * arena; NULL: no memory. */
char *dm_alignment_id(dm_arena *arena, const char *text);

#endif
