/* SPDX-License-Identifier: MIT
 * Cells are kept as text until the widths are known. Widths count UTF-8 code
 * points. */
#include "cli/table.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/arena.h"
#include "base/num.h"
#include "write/row.h"

static void add(table *t, const char *text, size_t length)
{
    char *copy = malloc(length + 1);
    if (!copy || !DM_GROW(t->cells, t->count, t->capacity)) {
        free(copy);
        t->failed = true;
        return;
    }
    memcpy(copy, text, length);
    copy[length] = '\0';
    t->cells[t->count++] = copy;
}

void table_init(table *t, const char *head)
{
    *t = (table){0};
    while (*head && t->columns < TABLE_COLUMNS) {
        t->right[t->columns++] = *head == '>';
        head += *head == '>';
        size_t length = strcspn(head, "|");
        add(t, head, length);
        head += length + (head[length] == '|');
    }
}

void table_text(table *t, const char *cell)
{
    add(t, cell ? cell : "-", strlen(cell ? cell : "-"));
}

void table_number(table *t, double value, int decimals)
{
    char text[DM_NUM_SIZE];
    if (isnan(value))
        strcpy(text, "-");
    else
        dm_num_fixed(text, value, decimals);
    table_text(t, text);
}

void table_count(table *t, size_t value)
{
    char text[32];
    snprintf(text, sizeof text, "%zu", value);
    table_text(t, text);
}

void table_length(table *t, double metres, dm_units units)
{
    if (units == DM_UNITS_METRIC || !isfinite(metres)) {
        table_number(t, metres, 3);
        return;
    }
    dm_buf text = {0};
    dm_feet_text(metres, &text);
    table_text(t, text.failed ? NULL : text.data);
    dm_buf_free(&text);
}

static size_t width(const char *text)
{
    size_t n = 0;
    for (; *text; text++)
        n += ((unsigned char)*text & 0xC0u) != 0x80u;
    return n;
}

static void pad(dm_buf *out, size_t n, char with)
{
    while (n-- > 0)
        dm_buf_putc(out, with);
}

static void print_row(const table *t, const size_t *widths, size_t first,
                      dm_buf *out)
{
    for (size_t c = 0; c < t->columns && first + c < t->count; c++) {
        const char *cell = t->cells[first + c];
        size_t blank = widths[c] - width(cell);
        if (c > 0)
            dm_buf_puts(out, "  ");
        if (t->right[c])
            pad(out, blank, ' ');
        dm_buf_puts(out, cell);
        if (!t->right[c] && c + 1 < t->columns)
            pad(out, blank, ' ');
    }
    dm_buf_putc(out, '\n');
}

void table_print(table *t, dm_buf *out)
{
    size_t widths[TABLE_COLUMNS] = {0};
    for (size_t i = 0; i < t->count; i++) {
        size_t w = width(t->cells[i]);
        if (w > widths[i % t->columns])
            widths[i % t->columns] = w;
    }
    for (size_t i = 0; i < t->count; i += t->columns) {
        print_row(t, widths, i, out);
        for (size_t c = 0; i == 0 && c < t->columns; c++) {
            pad(out, c > 0 ? 2 : 0, ' ');
            pad(out, widths[c], '-');
        }
        if (i == 0)
            dm_buf_putc(out, '\n');
    }
    for (size_t i = 0; i < t->count; i++)
        free(t->cells[i]);
    free(t->cells);
    if (t->failed)
        out->failed = true;
}

void text_wrap(const char *text, size_t column, size_t indent, dm_buf *out)
{
    bool first = true;
    while (*text) {
        size_t n = strcspn(text, " ");
        if (!first && column + 1 + n > TEXT_WIDTH) {
            dm_buf_putc(out, '\n');
            for (column = 0; column < indent; column++)
                dm_buf_putc(out, ' ');
        } else if (!first) {
            dm_buf_putc(out, ' ');
            column++;
        }
        dm_buf_put(out, text, n);
        column += n;
        text += n + (text[n] == ' ');
        first = false;
    }
    dm_buf_putc(out, '\n');
}
