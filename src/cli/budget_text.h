/* SPDX-License-Identifier: MIT
 * Error budgets as people read them on a terminal, 80 columns wide. */
#ifndef DM_CLI_BUDGET_TEXT_H
#define DM_CLI_BUDGET_TEXT_H

#include "write/budget_json.h"

/* Places in words: a line or two a bound, its items by size. */
void budget_text(const budget_report *report, dm_buf *out);
/* The greatest bounds as a table: of each place the bound that it is the
 * greatest of. */
void budget_table(const budget_report *report, dm_buf *out);

#endif
