/* SPDX-License-Identifier: MIT
 * ductmark locate: a filter over CSV. Each row of standard input names a place
 * on a tendon in one way; it goes out with the place told in all others. One
 * row is in memory at a time. */
#define _POSIX_C_SOURCE 200809L
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "cli/cmd.h"
#include "cli/locate.h"
#include "cli/opt.h"
#include "cli/session.h"

typedef struct {
    const char *from, *to, *units, *delimiter, *decimal;
} options;

/* ---- the bridge --------------------------------------------------------- */

static int print(void *user, const dm_buf *text)
{
    (void)user;
    return session_print(text);
}

static int filter_input(locate_filter *f)
{
    f->print = print;
    int code = locate_filter_run(f, STDIN_FILENO, "stdin");
    if (code == EXIT_LEFT_OUT)
        fprintf(stderr, "ductmark: %zu row%s without a place\n", f->bad,
                f->bad == 1 ? "" : "s");
    return code;
}

/* The job's bridge with its runs. */
static int with_job(session *s, locate_filter *f)
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

static int run_filter(const char *path, locate_filter *f)
{
    session s;
    dm_model *model = NULL;
    int code = EXIT_INPUT;
    session_init(&s);
    f->diag = &s.diag;
    if (session_is_job(path)) {
        code = session_solve(&s, path, DM_STAGE_STATIONS, &(session_wishes){0});
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

static int take_options(const options *o, locate_filter *f)
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
    f->from = o->from;
    f->to = o->to;
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
        "  shown      tendon, bridge_station_shown_m, zone (may be left out)\n"
        "  offset     bridge_station_m, bridge_offset_m (or offset_m), "
        "height_m; "
        "tendon or\n             the nearest\n"
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
    int code;
    if (!session_words(&u, argc, argv, &code))
        return code;
    locate_filter *f = calloc(1, sizeof *f);
    if (!f) {
        fprintf(stderr, "ductmark: error: out of memory\n");
        return EXIT_OUTPUT;
    }
    code = take_options(&o, f);
    if (code == EXIT_FINE)
        code = run_filter(argv[0], f);
    free(f);
    return code;
}
