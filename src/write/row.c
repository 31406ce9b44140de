/* SPDX-License-Identifier: MIT
 * CSV cells (RFC 4180, UTF-8, decimal point). Feet and inches are rounded once
 * from metres, in eighths of an inch. */
#include "write/row.h"

#include <math.h>
#include <string.h>

#include "scene/properties.h"

#define FOOT 0.3048
#define US_FOOT (1200.0 / 3937.0) /* 85 FR 62698 */
#define INCH 0.0254

void dm_row_begin(dm_row *row, bool header)
{
    dm_buf_clear(&row->buf);
    row->header = header;
}

dm_status dm_row_end(dm_row *row)
{
    dm_buf_putc(&row->buf, '\n');
    if (row->buf.failed)
        return DM_NOMEM;
    if (row->out != NULL)
        dm_out_put(row->out, row->buf.data, row->buf.length);
    else
        dm_buf_put(row->text, row->buf.data, row->buf.length);
    return row->out == NULL && row->text->failed ? DM_NOMEM : DM_OK;
}

/* Begins a cell; in the header this is all of it. */
static bool cell(dm_row *row, const char *name, const char *unit)
{
    if (row->buf.length > 0)
        dm_buf_putc(&row->buf, ',');
    if (!row->header)
        return true;
    dm_buf_puts(&row->buf, name);
    dm_buf_puts(&row->buf, unit);
    return false;
}

static void number(dm_row *row, const char *name, const char *unit,
                   double value, int decimals)
{
    if (cell(row, name, unit) && isfinite(value))
        dm_buf_fixed(&row->buf, value, decimals);
}

void dm_row_text(dm_row *row, const char *name, const char *text)
{
    if (cell(row, name, "") && text != NULL)
        dm_buf_csv(&row->buf, text);
}

void dm_row_bool(dm_row *row, const char *name, bool value)
{
    dm_row_text(row, name, value ? "yes" : "no");
}

void dm_row_count(dm_row *row, const char *name, size_t value)
{
    number(row, name, "", (double)value, 0);
}

void dm_row_real(dm_row *row, const char *name, double value, int decimals)
{
    number(row, name, "", value, decimals);
}

static void length(dm_row *row, const char *name, double metres, int decimals)
{
    number(row, name, "_m", metres, decimals);
    if (!row->us)
        return;
    number(row, name, "_ft", metres / FOOT, decimals - 1);
    if (cell(row, name, "_ft_in") && isfinite(metres))
        dm_feet_text(metres, &row->buf);
}

void dm_row_length(dm_row *row, const char *name, double metres)
{
    length(row, name, metres, 5);
}

void dm_row_ledger(dm_row *row, const char *name, double metres)
{
    length(row, name, metres, 6);
}

void dm_row_bound(dm_row *row, const char *name, double metres)
{
    number(row, name, "_m", metres, 5);
    if (row->us)
        number(row, name, "_in", metres / INCH, 3);
}

void dm_row_coordinate(dm_row *row, const char *name, double metres)
{
    number(row, name, "_m", metres, 5);
    if (!row->us)
        return;
    number(row, name, "_ft", metres / FOOT, 4);
    number(row, name, "_us_ft", metres / US_FOOT, 4);
}

void dm_row_small(dm_row *row, const char *name, double metres)
{
    number(row, name, "_mm", metres * 1000.0, 2);
    if (row->us)
        number(row, name, "_in", metres / INCH, 3);
}

void dm_row_angle(dm_row *row, const char *name, double rad)
{
    number(row, name, "_deg", rad * (180.0 / 3.14159265358979323846), 2);
}

void dm_row_clock(dm_row *row, const char *name, double rad)
{
    char text[8];

    dm_row_text(row, name, dm_clock_text(rad, text));
}

void dm_feet_text(double metres, dm_buf *out)
{
    double eighths = floor(fabs(metres) / INCH * 8.0 + 0.5);
    double feet = floor(eighths / 96.0);
    int rest = (int)(eighths - 96.0 * feet), part = rest % 8, whole = 8;

    if (metres < 0.0 && eighths > 0.0)
        dm_buf_putc(out, '-');
    dm_buf_fixed(out, feet, 0);
    dm_buf_printf(out, " ft %d", rest / 8);
    while (part > 0 && part % 2 == 0) {
        part /= 2;
        whole /= 2;
    }
    if (part > 0)
        dm_buf_printf(out, " %d/%d", part, whole);
    dm_buf_puts(out, " in");
}
