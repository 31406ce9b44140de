/* SPDX-License-Identifier: MIT
 * A remark on a run in one plain line: what was found, then what to do. */
#ifndef DM_WRITE_QUALITY_WORDS_H
#define DM_WRITE_QUALITY_WORDS_H

#include "base/buf.h"
#include "ductmark/quality.h"

/* @param stations  that the quality was made from
 * @param q         index of the run in quality->runs */
void dm_remark_words(const dm_model *model, const dm_survey *survey,
                     const dm_stations *stations, const dm_quality *quality,
                     size_t q, const dm_remark *remark, dm_units units,
                     dm_buf *out);

#endif
