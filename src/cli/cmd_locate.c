/* SPDX-License-Identifier: MIT
 * ductmark locate: a filter over CSV. Each row of standard input names a place
 * on a tendon in one way; it goes out with the place told in all others. One
 * row is in memory at a time. */
#define _POSIX_C_SOURCE 200809L
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/diag.h"
#include "cli/cmd.h"
#include "cli/locate.h"
#include "cli/opt.h"
#include "cli/session.h"

#define FLUSH_AT 65536
#define MOST_MESSAGES 20
#define INPUT "stdin"

typedef struct {
    const char *from, *to, *units, *delimiter, *decimal;
} options;

typedef struct {
    session *s;
    const options *o;
    locate_bridge bridge;
    locate_head head;
    locate_out out;
    csv_file file;
    csv_cell cells[CSV_MOST_COLUMNS];
    dm_buf text, problem;
    size_t bad; /* rows without a place */
} filter;

/* ---- lines -------------------------------------------------------------- */

/* The next line without its end; false: none is left, or *status. */
static bool next_line(filter *f, const char **line, size_t *length,
                      dm_status *status)
{
    *status = csv_fill(&f->file, &f->s->diag);
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
            dm_error(&f->s->diag, DM_SYNTAX, (dm_place){INPUT, f->file.line},
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

static int flush(filter *f, bool all)
{
    int code = EXIT_FINE;
    if (all || f->text.failed || f->text.length >= FLUSH_AT) {
        code = session_print(&f->text);
        dm_buf_clear(&f->text);
    }
    return code;
}

/* ---- rows --------------------------------------------------------------- */

static void say_bad(filter *f)
{
    f->bad++;
    if (f->bad <= MOST_MESSAGES)
        dm_error(&f->s->diag, DM_RANGE, (dm_place){INPUT, f->file.line}, NULL,
                 "%s", f->problem.data ? f->problem.data : "");
    if (f->bad == MOST_MESSAGES)
        dm_error(&f->s->diag, DM_RANGE, (dm_place){INPUT, 0}, NULL,
                 "rows that have no place from here on are told in the column "
                 "problem alone");
}

static bool find_place(filter *f, const char *line, size_t length, size_t count,
                       locate_place *place)
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

static void one_row(filter *f, const char *line, size_t length)
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

static int all_rows(filter *f)
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

static int refuse(filter *f, const char *what)
{
    dm_error(&f->s->diag, DM_SYNTAX, (dm_place){INPUT, f->file.line}, NULL,
             "%s", what ? what : "out of memory");
    return EXIT_INPUT;
}

static int read_header(filter *f)
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
    if (!locate_head_read(&f->bridge, f->cells, count, f->o->from, &f->head,
                          &f->problem) ||
        !locate_out_choose(&f->bridge, &f->head, f->o->to, &f->out,
                           &f->problem))
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

/* ---- the bridge --------------------------------------------------------- */

static int filter_input(filter *f)
{
    if (csv_attach(&f->file, STDIN_FILENO, INPUT, &f->s->diag) != DM_OK)
        return EXIT_OUTPUT;
    int code = read_header(f);
    if (code == EXIT_FINE)
        code = all_rows(f);
    csv_close(&f->file);
    dm_buf_free(&f->text);
    dm_buf_free(&f->problem);
    if (code == EXIT_FINE && f->bad > 0) {
        fprintf(stderr, "ductmark: %zu row%s without a place\n", f->bad,
                f->bad == 1 ? "" : "s");
        code = EXIT_LEFT_OUT;
    }
    return code;
}

/* The job's bridge with its runs. */
static int with_job(session *s, filter *f)
{
    const dm_campaign *c = s->campaign;
    size_t n = c->model->tendon_count;
    const dm_stations **stations = calloc(n, sizeof *stations);
    int code = EXIT_OUTPUT;
    f->bridge.model = c->model;
    f->bridge.survey = c->survey;
    for (size_t i = 0; stations && i < n; i++)
        stations[i] = c->results[i].stations;
    f->bridge.stations = stations;
    if (stations && dm_locate_runs_new(c->model, c->survey, stations,
                                       &f->bridge.runs) == DM_OK)
        code = filter_input(f);
    else
        fprintf(stderr, "ductmark: error: out of memory\n");
    dm_locate_runs_free(f->bridge.runs);
    free(stations);
    return code;
}

static int run_filter(const char *path, filter *f)
{
    session s;
    dm_model *model = NULL;
    int code = EXIT_INPUT;
    session_init(&s);
    f->s = &s;
    if (session_is_job(path)) {
        code = session_solve(&s, path, DM_STAGE_STATIONS, 0);
        if (code == EXIT_FINE)
            code = with_job(&s, f);
        if (code == EXIT_FINE)
            code = session_end(&s);
    } else if (dm_model_read(path, &s.diag, &model) == DM_OK) {
        f->bridge.model = model;
        code = filter_input(f);
    }
    dm_model_free(model);
    session_free(&s);
    return code;
}

/* ---- options ------------------------------------------------------------ */

static char character(const char *word)
{
    static const struct {
        const char *word;
        char character;
    } words[] = {{"comma", ','}, {"semicolon", ';'}, {"tab", '\t'},
                 {"point", '.'}, {",", ','},         {";", ';'},
                 {"\t", '\t'},   {".", '.'}};
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (strcmp(word, words[i].word) == 0)
            return words[i].character;
    return '\0';
}

static int usage_error(const char *what, const char *which)
{
    fprintf(stderr, "ductmark locate: %s '%s'\n", what, which);
    return EXIT_INPUT;
}

static int take_options(const options *o, filter *f)
{
    char delimiter = character(o->delimiter), decimal = character(o->decimal);
    if (delimiter == '\0' || delimiter == '.')
        return usage_error("--delimiter is comma, semicolon or tab, not",
                           o->delimiter);
    if ((decimal != '.' && decimal != ',') || decimal == delimiter)
        return usage_error("--decimal is point or comma, and not the "
                           "delimiter, but not",
                           o->decimal);
    if (!locate_out_units(o->units, &f->out))
        return usage_error("--units is m, mm, ft, us-ft or in, not", o->units);
    f->head.delimiter = delimiter;
    f->head.decimal = decimal;
    f->o = o;
    return EXIT_FINE;
}

int cmd_locate(int argc, char **argv)
{
    options o = {NULL, NULL, "m", "comma", "point"};
    const opt opts[] = {
        {"from", OPT_TEXT, "KIND", "what a row's place is read from", &o.from},
        {"to", OPT_TEXT, "LIST", "what is told; default: all there is", &o.to},
        {"units", OPT_TEXT, "UNIT",
         "of lengths that go out: m, mm, ft, us-ft, in", &o.units},
        {"delimiter", OPT_TEXT, "C", "comma (default), semicolon, tab",
         &o.delimiter},
        {"decimal", OPT_TEXT, "C", "point (default), comma", &o.decimal},
    };
    const usage u = {
        "locate",
        "BRIDGE.xml|JOB.xml < IN.csv > OUT.csv",
        "Tells places on tendons in other words: a filter over CSV.",
        "The header names what a row says; a length's unit ends its name (_m, "
        "_mm, _ft,\n_us_ft, _in):\n"
        "  station    tendon, station_m\n"
        "  bridge     tendon, bridge_station_m\n"
        "  displayed  tendon, displayed_station_m, zone (may be left out)\n"
        "  offset     bridge_station_m, offset_m, height_m; tendon or the "
        "nearest\n"
        "  xyz        x_m, y_m, z_m; tendon or the nearest\n"
        "  map        east_m, north_m, map_height_m; tendon or the nearest\n"
        "  tape       tendon, face, tape_m (away from the concrete)\n"
        "  run        run, run_distance_m; segment, channel: a job only\n"
        "clock_deg (looking ahead) adds the outside and is the tape's line. "
        "LIST is of\nstation, bridge, offset, xyz, map, tape, run. A row "
        "without a place keeps its\ncells, tells why in the column problem, "
        "and the exit code is 1.",
        opts,
        sizeof opts / sizeof *opts,
        1,
        1};
    size_t operands = 0;
    opt_result parsed = opt_parse(&u, argc, argv, &operands);
    if (parsed != OPT_GOOD)
        return parsed == OPT_HELP ? EXIT_FINE : EXIT_INPUT;
    filter *f = calloc(1, sizeof *f);
    if (!f) {
        fprintf(stderr, "ductmark: error: out of memory\n");
        return EXIT_OUTPUT;
    }
    f->file.fd = -1;
    int code = take_options(&o, f);
    if (code == EXIT_FINE)
        code = run_filter(argv[0], f);
    free(f);
    return code;
}
