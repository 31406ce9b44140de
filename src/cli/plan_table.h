/* SPDX-License-Identifier: MIT
 * A survey plan as people read it on a terminal, 80 columns wide. */
#ifndef DM_CLI_PLAN_TABLE_H
#define DM_CLI_PLAN_TABLE_H

#include "base/buf.h"
#include "write/plan.h"

/* Lengths, access, times, factors; with `runs` also the order of the work and
 * what each run is carried over. */
void plan_table(const dm_plan_output *output, bool runs, dm_buf *out);

#endif
