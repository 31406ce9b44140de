/* SPDX-License-Identifier: MIT
 * ductmark plan: what a survey can read, in which order, how long it takes; and
 * a field book to take along. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/diag.h"
#include "base/file.h"
#include "base/num.h"
#include "cli/cmd.h"
#include "cli/opt.h"
#include "cli/plan_table.h"
#include "cli/session.h"
#include "survey/read.h"

#define MOST_CLOCKS 24
#define BOOK_LIMIT ((size_t)64 << 20)
#define HOUR_ANGLE (3.14159265358979323846 / 6.0)

typedef struct {
    opt_list set;
    const char *clocks, *units, *fieldbook;
    dm_plan_book book;
    bool csv, json, runs;
} options;

/* All that was read, and what was made of it. */
typedef struct {
    session s;
    const options *o;
    dm_job *job;
    dm_model *model;
    dm_survey *survey;
    dm_context *context;
    dm_plan *plan;
    dm_factors factors;
    double clock[MOST_CLOCKS];
    size_t clock_count;
    dm_plan_output output;
} work;

static int wrong(const char *what, const char *which)
{
    fprintf(stderr, "ductmark plan: %s '%s'\n", what, which);
    return EXIT_INPUT;
}

/* ---- words of the command line ------------------------------------------- */

static int take_factor(work *w, const char *word)
{
    const char *equals = strchr(word, '=');
    char name[32];
    double value = 0.0;
    size_t length = equals ? (size_t)(equals - word) : 0;
    if (length == 0 || length >= sizeof name ||
        !dm_num_parse(equals + 1, strlen(equals + 1), '.', &value))
        return wrong("--set expects NAME=VALUE, not", word);
    memcpy(name, word, length);
    name[length] = '\0';
    return dm_factors_set(&w->factors, name, value, &w->s.diag) == DM_OK
               ? EXIT_FINE
               : EXIT_INPUT;
}

/* "3:00" or "3", 0 to 12. */
static bool clock_of(const char *text, size_t length, double *out)
{
    double hour = 0.0, minute = 0.0;
    size_t whole = 0;
    while (whole < length && text[whole] != ':')
        whole++;
    bool good = whole > 0 && whole <= 2 &&
                strspn(text, "0123456789") >= whole &&
                dm_num_parse(text, whole, '.', &hour) && hour <= 12.0;
    if (good && whole < length)
        good = length == whole + 3 &&
               strspn(text + whole + 1, "0123456789") >= 2 &&
               dm_num_parse(text + whole + 1, 2, '.', &minute) && minute < 60.0;
    double time = fmod(hour + minute / 60.0, 12.0);
    *out = time * HOUR_ANGLE;
    return good;
}

static int take_clocks(work *w, const char *list)
{
    for (const char *p = list; p; p = strchr(p, ',')) {
        p += *p == ',';
        size_t length = strcspn(p, ",");
        double angle = 0.0;
        if (w->clock_count == MOST_CLOCKS || !clock_of(p, length, &angle))
            return wrong("--clock expects up to 24 clock times such as "
                         "12:00,3:00, not",
                         list);
        for (size_t i = 0; i < w->clock_count; i++)
            if (fabs(w->clock[i] - angle) < 1e-9)
                return wrong("--clock has a time twice:", list);
        w->clock[w->clock_count++] = angle;
    }
    return EXIT_FINE;
}

static int take_options(work *w)
{
    const options *o = w->o;
    int code = EXIT_FINE;
    if (o->units && strcmp(o->units, "metric") != 0 &&
        strcmp(o->units, "us") != 0)
        return wrong("--units is metric or us, not", o->units);
    if (o->fieldbook && !o->book.date)
        return wrong("--fieldbook needs --date YYYY-MM-DD:", o->fieldbook);
    if (o->csv && o->json)
        return wrong("one of --csv and --json, not", "both");
    for (size_t i = 0; i < o->set.count; i++) {
        int one = take_factor(w, o->set.items[i]);
        code = code == EXIT_FINE ? one : code;
    }
    int clocks = take_clocks(w, o->clocks);
    return code == EXIT_FINE ? clocks : code;
}

/* ---- inputs -------------------------------------------------------------- */

/* The first instrument whose readings the columns describe. */
static size_t usable_instrument(const dm_survey *s)
{
    size_t i = 0;
    while (i + 1 < s->instrument_count && s->columns[i].value_count == 0)
        i++;
    return i;
}

/* Meshes are of use only where the body's height is known. */
static bool read_meshes(work *w)
{
    const dm_instrument *in = &w->survey->instruments[w->output.instrument];
    if (w->job->context_count == 0)
        return true;
    w->output.body_unknown = !(in->body_height > 0.0);
    if (w->output.body_unknown)
        return true;
    if (dm_context_read(w->job->contexts, w->job->context_count, NULL,
                        &w->s.diag, &w->context) != DM_OK)
        return false;
    w->output.context = w->context;
    return true;
}

static bool read_inputs(work *w, const char *path)
{
    dm_diag *diag = &w->s.diag;
    const char *bridge = path;
    if (session_is_job(path)) {
        if (dm_job_read(path, diag, &w->job) != DM_OK)
            return false;
        bridge = w->job->bridge;
    }
    if (dm_model_read(bridge, diag, &w->model) != DM_OK)
        return false;
    if (w->job && dm_survey_read((const char *const *)w->job->fieldbooks,
                                 w->job->fieldbook_count, w->model, diag,
                                 &w->survey) != DM_OK)
        return false;
    w->output = (dm_plan_output){
        .model = w->model, .survey = w->survey, .units = DM_UNITS_METRIC};
    if (w->job)
        w->output.units = w->job->units;
    if (w->o->units)
        w->output.units =
            strcmp(w->o->units, "us") == 0 ? DM_UNITS_US : DM_UNITS_METRIC;
    if (w->survey) {
        w->output.instrument = usable_instrument(w->survey);
        dm_factors_instrument(&w->factors,
                              &w->survey->instruments[w->output.instrument]);
        return read_meshes(w);
    }
    return true;
}

/* ---- the field book ------------------------------------------------------ */

/* True: the file is there. A field book is never written over, for it may
 * have been completed; the same bytes are left as they are. */
static bool is_there(const char *path, const dm_buf *text, dm_diag *diag,
                     int *code)
{
    FILE *f = fopen(path, "rb");
    dm_buf old = {0};
    if (!f)
        return false;
    fclose(f);
    bool same = dm_file_read(path, BOOK_LIMIT, (dm_place){path, 0}, NULL,
                             &old) == DM_OK &&
                old.length == text->length &&
                memcmp(old.data, text->data, old.length) == 0;
    dm_buf_free(&old);
    if (!same) {
        dm_error(diag, DM_IO, (dm_place){path, 0}, NULL,
                 "exists already; a field book is never written over");
        *code = EXIT_OUTPUT;
    }
    return true;
}

static int write_book(const char *path, const dm_buf *text, dm_diag *diag)
{
    int code = EXIT_FINE;
    if (is_there(path, text, diag, &code))
        return code;
    const char *slash = strrchr(path, '/');
    dm_buf folder = {0};
    dm_outset *set = NULL;
    dm_out *out = NULL;
    if (!slash)
        dm_buf_putc(&folder, '.');
    else
        dm_buf_put(&folder, path, slash == path ? 1 : (size_t)(slash - path));
    bool good = !folder.failed &&
                dm_outset_new(folder.data, diag, &set) == DM_OK &&
                dm_outset_open(set, slash ? slash + 1 : path, &out) == DM_OK;
    if (good)
        dm_out_put(out, text->data, text->length);
    good = good && dm_outset_commit(set) == DM_OK;
    dm_outset_free(set);
    dm_buf_free(&folder);
    return good ? EXIT_FINE : EXIT_OUTPUT;
}

/* What was made is read before it is written: a book that the program would
 * not take is never left behind. A calibration that is still to be put in is
 * given some value for that; it alone may be at fault. */
static bool can_be_read(work *w, const char *path, const dm_buf *text)
{
    static const char open[] = "<air value=\"0\"/>";
    dm_buf whole = {0};
    dm_survey *back = NULL;
    const char *from = text->data, *at;
    while ((at = strstr(from, open)) != NULL) {
        dm_buf_put(&whole, from, (size_t)(at - from));
        dm_buf_puts(&whole, "<air value=\"1\"/>");
        from = at + sizeof open - 1;
    }
    dm_buf_puts(&whole, from);
    bool good =
        !whole.failed &&
        dm_survey_read_text(path, &whole, w->model, &w->s.diag, &back) == DM_OK;
    dm_survey_free(back);
    dm_buf_free(&whole);
    return good;
}

static int deliver_book(work *w)
{
    const char *path = w->o->fieldbook;
    dm_diag *diag = &w->s.diag;
    dm_buf text = {0};
    size_t left_out = 0;
    int code = EXIT_INPUT;
    if (dm_fieldbook_plan(&w->output, &w->o->book, &left_out, &text) == 0)
        dm_error(diag, DM_REFERENCE, (dm_place){path, 0}, NULL,
                 "no run can be started from a face, nothing is written");
    else if (text.failed)
        code = session_print(&text); /* says it */
    else if (can_be_read(w, path, &text))
        code = write_book(path, &text, diag);
    dm_buf_free(&text);
    if (code != EXIT_FINE || left_out == 0)
        return code;
    fprintf(stderr,
            "ductmark: %zu run%s without a face to start from left out of the "
            "field book\n",
            left_out, left_out == 1 ? "" : "s");
    return EXIT_LEFT_OUT;
}

/* ---- the command --------------------------------------------------------- */

static int print_plan(const work *w)
{
    dm_buf text = {0};
    if (w->o->json)
        dm_json_plan(&w->output, &text);
    else if (w->o->csv && w->o->runs)
        dm_csv_plan_runs(&w->output, &text);
    else if (w->o->csv)
        dm_csv_plan(&w->output, &text);
    else
        plan_table(&w->output, w->o->runs, &text);
    int code = session_print(&text);
    dm_buf_free(&text);
    return code;
}

static int make_plan(work *w, const char *path)
{
    int code = take_options(w);
    if (code != EXIT_FINE)
        return code;
    if (!read_inputs(w, path))
        return EXIT_INPUT;
    dm_plan_room room = {
        w->context,
        w->survey ? &w->survey->instruments[w->output.instrument] : NULL};
    dm_status status =
        dm_plan_make(w->model, &w->factors, w->clock, w->clock_count, &room,
                     &w->s.diag, &w->plan);
    if (status != DM_OK)
        return status == DM_NOMEM ? EXIT_OUTPUT : EXIT_INPUT;
    w->output.plan = w->plan;
    if (w->o->fieldbook)
        code = deliver_book(w);
    if (code != EXIT_FINE && code != EXIT_LEFT_OUT)
        return code;
    int printed = print_plan(w);
    return printed != EXIT_FINE ? printed : code;
}

/* The factors, for the help. */
static void describe(dm_buf *out)
{
    size_t count = 0;
    const dm_factor_info *list = dm_factor_list(&count);
    dm_buf_puts(out,
                "Bays with an upper sloped end come first. Of a job the field "
                "book tells the\nsensor's body. Times are for planning only; "
                "access, permits and rescue are the\nresponsible people's "
                "decision.\n\nfactors (common practice, no source):");
    for (size_t i = 0; i < count; i++) {
        char value[DM_NUM_SIZE], set[DM_NUM_SIZE + 40];
        dm_num_shortest(value, list[i].fallback);
        snprintf(set, sizeof set, "%s=%s", list[i].name, value);
        dm_buf_printf(out, "\n  %-15s %-4s %s", set, list[i].unit,
                      list[i].help);
    }
}

static opt_result parse(int argc, char **argv, options *o)
{
    const opt opts[] = {
        {"set", OPT_LIST, "NAME=VALUE", "a factor; may be repeated", &o->set},
        {"clock", OPT_TEXT, "LIST", "clock lines, 12:00,3:00; default 12:00",
         &o->clocks},
        {"units", OPT_TEXT, "UNITS", "metric or us; default: the job's",
         &o->units},
        {"runs", OPT_FLAG, NULL, "the order of the work, run by run", &o->runs},
        {"csv", OPT_FLAG, NULL, "tendons as CSV; with --runs the runs",
         &o->csv},
        {"json", OPT_FLAG, NULL, "all of it as JSON", &o->json},
        {"fieldbook", OPT_TEXT, "FILE", "write a field book to be completed",
         &o->fieldbook},
        {"date", OPT_TEXT, "YYYY-MM-DD", "of the field book", &o->book.date},
        {"survey", OPT_TEXT, "NAME",
         "of the field book; default: planned "
         "survey",
         &o->book.survey},
        {"uid", OPT_TEXT, "UUID",
         "of the field book; default: from bridge, "
         "survey, date",
         &o->book.uid},
    };
    dm_buf details = {0};
    describe(&details);
    const usage u = {"plan",
                     "JOB.xml|BRIDGE.xml",
                     "Plans a survey: what can be read, in which order, how "
                     "long it takes.",
                     details.failed ? NULL : details.data,
                     opts,
                     sizeof opts / sizeof *opts,
                     1,
                     1};
    size_t operands = 0;
    opt_result result = opt_parse(&u, argc, argv, &operands);
    dm_buf_free(&details);
    return result;
}

int cmd_plan(int argc, char **argv)
{
    options o = {.clocks = "12:00", .book = {.survey = "planned survey"}};
    opt_result parsed = parse(argc, argv, &o);
    int code = parsed == OPT_HELP ? EXIT_FINE : EXIT_INPUT;
    if (parsed == OPT_GOOD) {
        work w = {.o = &o, .factors = dm_factors_default()};
        session_init(&w.s);
        code = make_plan(&w, argv[0]);
        dm_plan_free(w.plan);
        dm_context_free(w.context);
        dm_survey_free(w.survey);
        dm_model_free(w.model);
        dm_job_free(w.job);
        session_free(&w.s);
    }
    free(o.set.items);
    return code;
}
