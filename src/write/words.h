/* SPDX-License-Identifier: MIT
 * Lines that mesh formats without metadata carry as comments. */
#ifndef DM_WRITE_WORDS_H
#define DM_WRITE_WORDS_H

#include "base/buf.h"
#include "ductmark/write.h"

/* Version, bridge, origin, EPSG codes, units and the meaning of each colour,
 * every line as `before` text `after`. */
void dm_words(const dm_delivery *delivery, const char *before,
              const char *after, dm_buf *out);
/* Version, origin and EPSG code in at most 79 bytes, for STL's header; false:
 * no memory. */
bool dm_words_short(const dm_delivery *delivery, char out[80]);

#endif
