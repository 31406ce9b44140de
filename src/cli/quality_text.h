/* SPDX-License-Identifier: MIT
 * Run quality as an operator reads it: one row a run, then what to do again. */
#ifndef DM_CLI_QUALITY_TEXT_H
#define DM_CLI_QUALITY_TEXT_H

#include "base/buf.h"
#include "write/quality_json.h"

void quality_text(const quality_report *report, dm_buf *out);
/* Runs of a verdict, over all tendons. */
size_t quality_count(const quality_report *report, dm_verdict verdict);

#endif
