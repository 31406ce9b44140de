/* SPDX-License-Identifier: MIT
 * The filter: lines in, the same with the located cells behind them out. One
 * row is in memory at a time. */
#include <stdio.h>
#include <string.h>

#include "base/diag.h"
#include "cli/locate.h"
#include "cli/session.h"

#define FLUSH_AT 65536
#define MOST_MESSAGES 20

/* ---- lines -------------------------------------------------------------- */

/* The next line without its end; false: none is left, or *status. */
static bool next_line(locate_filter *f, const char **line, size_t *length,
                      dm_status *status)
{
    *status = csv_fill(&f->file, f->diag);
    if (*status != DM_OK || f->file.begin == f->file.whole)
        return false;
    const char *p = f->file.buffer + f->file.begin;
    const char *end = memchr(p, '\n', f->file.whole - f->file.begin);
    f->file.begin = (size_t)(end - f->file.buffer) + 1;
    f->file.line++;
    *line = p;
    *length = (size_t)(end - p);
    if (*length > CSV_LONGEST_LINE) {
        *status =
            dm_error(f->diag, DM_SYNTAX, (dm_place){f->file.path, f->file.line},
                     NULL, "a line longer than 64 KiB: not a table");
        return false;
    }
    if (*length > 0 && p[*length - 1] == '\r')
        --*length;
    return true;
}

/* Blank lines and comments go through as they are. */
static bool is_row(const char *line, size_t length)
{
    size_t i = 0;
    while (i < length && (line[i] == ' ' || line[i] == '\t'))
        i++;
    return i < length && line[i] != '#';
}

static bool quotes_close(const char *line, size_t length)
{
    bool open = false;
    for (size_t i = 0; i < length; i++)
        open = open != (line[i] == '"');
    return !open;
}

static int flush(locate_filter *f, bool all)
{
    int code = EXIT_FINE;
    if (all || f->text.failed || f->text.length >= FLUSH_AT) {
        code = f->print(f->user, &f->text);
        dm_buf_clear(&f->text);
    }
    return code;
}

/* ---- rows --------------------------------------------------------------- */

static void say_bad(locate_filter *f)
{
    f->bad++;
    if (f->bad <= MOST_MESSAGES)
        dm_error(f->diag, DM_RANGE, (dm_place){f->file.path, f->file.line},
                 NULL, "%s", f->problem.data ? f->problem.data : "");
    if (f->bad == MOST_MESSAGES)
        dm_error(f->diag, DM_RANGE, (dm_place){f->file.path, 0}, NULL,
                 "rows that have no place from here on are told in the column "
                 "problem alone");
}

static bool find_place(locate_filter *f, const char *line, size_t length,
                       size_t count, locate_place *place)
{
    if (!quotes_close(line, length)) {
        dm_buf_puts(&f->problem, "a quote is not closed");
        return false;
    }
    for (size_t i = f->head.columns; i < count && i < CSV_MOST_COLUMNS; i++)
        if (f->cells[i].length > 0)
            count = CSV_MOST_COLUMNS + 1;
    if (count > CSV_MOST_COLUMNS || count < f->head.columns) {
        dm_buf_printf(&f->problem, "%s cells than the header has columns (%zu)",
                      count < f->head.columns ? "fewer" : "more",
                      f->head.columns);
        return false;
    }
    return locate_row_read(&f->bridge, &f->head, f->cells, place, &f->problem);
}

static void one_row(locate_filter *f, const char *line, size_t length)
{
    locate_place place;
    size_t count =
        csv_split(line, length, f->head.delimiter, f->cells, CSV_MOST_COLUMNS);
    dm_buf_clear(&f->problem);
    for (size_t i = count; i < f->head.columns; i++)
        f->cells[i] = (csv_cell){"", 0, false};
    bool found = find_place(f, line, length, count, &place);
    for (size_t i = 0; i < f->head.columns; i++) {
        if (i > 0)
            dm_buf_putc(&f->text, f->head.delimiter);
        locate_out_cell(&f->head, &f->cells[i], &f->text);
    }
    locate_out_row(&f->bridge, &f->head, &f->out, found ? &place : NULL,
                   found ? NULL : f->problem.data, &f->text);
    dm_buf_putc(&f->text, '\n');
    f->text.failed = f->text.failed || f->problem.failed;
    if (!found)
        say_bad(f);
}

static int all_rows(locate_filter *f)
{
    const char *line;
    size_t length;
    dm_status status;
    int code = EXIT_FINE;
    while (code == EXIT_FINE && next_line(f, &line, &length, &status)) {
        if (is_row(line, length)) {
            one_row(f, line, length);
        } else {
            dm_buf_put(&f->text, line, length);
            dm_buf_putc(&f->text, '\n');
        }
        code = flush(f, false);
    }
    if (code == EXIT_FINE)
        code = flush(f, true);
    if (code == EXIT_FINE && status != DM_OK)
        code = EXIT_INPUT;
    return code;
}

/* ---- the header --------------------------------------------------------- */

static int refuse(locate_filter *f, const char *what)
{
    dm_error(f->diag, DM_SYNTAX, (dm_place){f->file.path, f->file.line}, NULL,
             "%s", what ? what : "out of memory");
    return EXIT_INPUT;
}

static int read_header(locate_filter *f)
{
    const char *line;
    size_t length;
    dm_status status;
    for (;;) {
        if (!next_line(f, &line, &length, &status))
            return status == DM_OK ? refuse(f, "no header row") : EXIT_INPUT;
        if (is_row(line, length))
            break;
        dm_buf_put(&f->text, line, length);
        dm_buf_putc(&f->text, '\n');
        if (flush(f, false) != EXIT_FINE)
            return EXIT_OUTPUT;
    }
    if (!quotes_close(line, length))
        return refuse(f, "a quote is not closed");
    size_t count =
        csv_split(line, length, f->head.delimiter, f->cells, CSV_MOST_COLUMNS);
    if (!locate_head_read(&f->bridge, f->cells, count, f->from, &f->head,
                          &f->problem) ||
        !locate_out_choose(&f->bridge, &f->head, f->to, &f->out, &f->problem))
        return refuse(f, f->problem.data);
    for (size_t i = 0; i < count; i++) {
        if (i > 0)
            dm_buf_putc(&f->text, f->head.delimiter);
        locate_out_cell(&f->head, &f->cells[i], &f->text);
    }
    locate_out_head(&f->head, &f->out, f->cells, count, &f->text);
    dm_buf_putc(&f->text, '\n');
    return EXIT_FINE;
}

int locate_filter_run(locate_filter *f, int fd, const char *name)
{
    if (csv_attach(&f->file, fd, name, f->diag) != DM_OK)
        return EXIT_OUTPUT;
    int code = read_header(f);
    if (code == EXIT_FINE)
        code = all_rows(f);
    csv_close(&f->file);
    dm_buf_free(&f->text);
    dm_buf_free(&f->problem);
    return code == EXIT_FINE && f->bad > 0 ? EXIT_LEFT_OUT : code;
}
