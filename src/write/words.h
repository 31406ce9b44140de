/* SPDX-License-Identifier: MIT
 * Lines that mesh formats without metadata carry as comments. */
#ifndef DM_WRITE_WORDS_H
#define DM_WRITE_WORDS_H

#include "base/buf.h"
#include "ductmark/write.h"

/* Version, bridge, origin, EPSG codes, units, the meaning of each colour, the
 * ledger of each tendon and what the job accepts, every line as `before` text
 * `after`. */
void dm_words(const dm_delivery *delivery, const char *before,
              const char *after, dm_buf *out);
/* Text that may stand in a comment of any format: no control character, no two
 * hyphens in a row. */
void dm_words_clean(dm_buf *out, const char *text);
/* Version, origin and EPSG code in at most 79 bytes, for STL's header; false:
 * no memory. */
bool dm_words_short(const dm_delivery *delivery, char out[80]);

#endif
