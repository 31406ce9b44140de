/* SPDX-License-Identifier: MIT
 * A table of thresholds: each row what was measured, what was asked, and for
 * a share its 99 % binomial band (Clopper and Pearson) and count. */
#ifndef TABLE_H
#define TABLE_H

#include <stdbool.h>
#include <stddef.h>

/* Slack: a share misses its threshold only where its whole band does, for
 * short forms whose counts are small. */
void table_begin(bool slack);
void table_head(const char *text);
/* A share of `count` that is to lie in low..high. */
void table_share(const char *text, size_t hits, size_t count, double low,
                 double high);
/* A value, already in `unit`, that is to be `most` or less. */
void table_most(const char *text, double value, const char *unit, size_t count,
                double most);
/* A share with its band that has no threshold. */
void table_band(const char *text, size_t hits, size_t count);
/* A value that has none. */
void table_value(const char *text, double value, const char *unit,
                 size_t count);
/* A count that has no threshold. */
void table_note(const char *text, size_t hits, size_t count);
/* How many rows missed. */
int table_missed(void);

#endif
