/* SPDX-License-Identifier: MIT
 * Pieces of summary.json that are sums; lengths of the ledger to 1 um. */
#ifndef DM_WRITE_SUMMARY_TOTAL_H
#define DM_WRITE_SUMMARY_TOTAL_H

#include "ductmark/total.h"
#include "write/json.h"

/* The five sums and why, keys of the open object. */
void dm_summary_ledger(dm_json *json, const double *cover, const double *why);
/* tallies: those kinds and grades that there are. */
void dm_summary_tallies(dm_json *json, const dm_criteria *criteria,
                        const dm_totals *totals, const dm_total *total);
/* coverage, of the bridge, and partTotals. */
void dm_summary_totals(dm_json *json, const dm_model *model,
                       const dm_criteria *criteria, const dm_totals *totals);

/* Low, best and high of a volume in litres, as an object; null: not known. */
void dm_summary_litres(dm_json *json, const char *key, const dm_amount *volume);

#endif
