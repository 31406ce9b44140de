/* SPDX-License-Identifier: MIT
 * What a person reads on the terminal: coverage first. */
#ifndef DM_CLI_SUMMARY_H
#define DM_CLI_SUMMARY_H

#include "base/buf.h"
#include "ductmark/run.h"

/* Where stations are farthest off; nothing where no distances close. */
void summary_bounds(const dm_campaign *campaign, dm_buf *out);
void summary_coverage(const dm_campaign *campaign, dm_buf *out);
/* By tendon, clock line and reason. */
void summary_ledger(const dm_campaign *campaign, dm_buf *out);
/* By part; indications by kind and grade, and by tendon if asked. */
void summary_totals(const dm_campaign *campaign, bool tendons, dm_buf *out);
void summary_indications(const dm_campaign *campaign, dm_buf *out);
/* What was opened; nothing where nothing was. */
void summary_opened(const dm_campaign *campaign, dm_buf *out);
/* A block a tap, at most 80 columns. */
void summary_taps(const dm_campaign *campaign, dm_buf *out);

#endif
