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
/* The first of them in at most 79 bytes, for STL's header. */
void dm_words_short(const dm_delivery *delivery, char out[80]);

#endif
