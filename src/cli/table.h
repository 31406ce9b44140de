/* SPDX-License-Identifier: MIT
 * A table for a terminal: columns as wide as their widest cell. */
#ifndef DM_CLI_TABLE_H
#define DM_CLI_TABLE_H

#include "base/buf.h"
#include "ductmark/job.h"

#define TABLE_COLUMNS 12

typedef struct {
    size_t columns;
    bool right[TABLE_COLUMNS]; /* numbers stand to the right */
    char **cells;              /* row after row, heap */
    size_t count, capacity;
    bool failed;
} table;

/* `head`: titles separated by '|'; a leading '>' sets a column to the
 * right. */
void table_init(table *t, const char *head);
void table_text(table *t, const char *cell);
void table_number(table *t, double value, int decimals);
void table_count(table *t, size_t value);
/* A length in the job's units: "12.345" m or feet and inches to 1/8. */
void table_length(table *t, double metres, dm_units units);
/* Appends the table to `out` and frees it. */
void table_print(table *t, dm_buf *out);

#define TEXT_WIDTH 80
/* Appends the words of `text` in lines of TEXT_WIDTH, from column `column` on;
 * further lines begin with `indent` blanks; a line end behind the last. */
void text_wrap(const char *text, size_t column, size_t indent, dm_buf *out);

#endif
