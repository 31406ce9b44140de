/* SPDX-License-Identifier: MIT
 * ductmark check: names every fault of a file, then lays out its tendons. A
 * job is read with all it names, its distances are reconciled and its runs are
 * judged, so that a run that must be done again is known before leaving the
 * bridge; the same of a bridge with field books. What else is checked depends
 * on the file's root element. */
#include <stdio.h>
#include <string.h>

#include "base/arena.h"
#include "base/diag.h"
#include "cli/cmd.h"
#include "cli/layout_text.h"
#include "cli/opt.h"
#include "cli/quality_text.h"
#include "cli/session.h"
#include "model/xml.h"
#include "write/layout_json.h"

typedef struct {
    bool as_json;
    long threads;
} options;

static quality_report quality_of(const session *s)
{
    const dm_campaign *c = s->campaign;
    return (quality_report){.model = c->model,
                            .survey = c->survey,
                            .results = c->results,
                            .quality = (const dm_quality *const *)c->quality,
                            .units = c->job->units};
}

static layout_report report_of(const session *s)
{
    return (layout_report){.messages = (const char *const *)s->messages,
                           .message_count = s->message_count,
                           .errors = s->diag.errors,
                           .warnings = s->diag.warnings};
}

/* Without tendons there is nothing to print but, as JSON, what was said. */
static int print_messages(const session *s, const options *o, int code)
{
    dm_buf text = {0};
    if (!o->as_json)
        return code;
    layout_report report = report_of(s);
    dm_layout_json(&report, &text);
    int printed = session_print(&text);
    dm_buf_free(&text);
    return printed == EXIT_FINE ? code : printed;
}

static size_t *count_runs(const dm_campaign *c, dm_arena *arena)
{
    size_t *runs = DM_NEW_ARRAY(arena, size_t, c->model->tendon_count);
    for (size_t k = 0; runs && k < c->survey->run_count; k++)
        runs[c->survey->runs[k].tendon]++;
    return runs;
}

static dm_status lay_out(const session *s, const dm_model *m, const options *o,
                         dm_arena *arena, dm_buf *out)
{
    dm_layout *layouts = DM_NEW_ARRAY(arena, dm_layout, m->tendon_count);
    size_t *runs = s->campaign ? count_runs(s->campaign, arena) : NULL;
    dm_status status = layouts && (runs || !s->campaign) ? DM_OK : DM_NOMEM;
    for (size_t i = 0; status == DM_OK && i < m->tendon_count; i++)
        status = dm_layout_make(m, &m->tendons[i], arena, &layouts[i]);
    if (status != DM_OK)
        return status;
    dm_units units = s->campaign ? s->campaign->job->units : DM_UNITS_METRIC;
    layout_report report = report_of(s);
    report.model = m;
    report.layouts = layouts;
    report.runs = runs;
    quality_report quality;
    if (s->campaign && s->campaign->quality) {
        quality = quality_of(s);
        report.quality = &quality;
    }
    if (o->as_json)
        dm_layout_json(&report, out);
    else
        layout_text(m, layouts, runs, units, out);
    return DM_OK;
}

static int print_layout(const session *s, const dm_model *m, const options *o)
{
    dm_buf text = {0};
    dm_arena *arena = dm_arena_new();
    if (!arena || lay_out(s, m, o, arena, &text) != DM_OK)
        text.failed = true;
    int code = session_print(&text);
    dm_buf_free(&text);
    dm_arena_free(arena);
    return code;
}

/* Layout and quality as JSON, or the quality alone as text. */
static int print_quality(const session *s, const options *o)
{
    dm_buf text = {0};
    quality_report quality = quality_of(s);
    if (o->as_json)
        return print_layout(s, s->campaign->model, o);
    quality_text(&quality, &text);
    int code = session_print(&text);
    dm_buf_free(&text);
    return code;
}

/* What is to be done again is told apart from what can be used. */
static int judge(session *s, const options *o, bool with_layout)
{
    int code = session_judge(s);
    if (code != EXIT_FINE)
        return print_messages(s, o, code);
    if (with_layout && !o->as_json)
        code = print_layout(s, s->campaign->model, o);
    if (code == EXIT_FINE)
        code = print_quality(s, o);
    if (code == EXIT_FINE)
        code = session_end(s);
    quality_report quality = quality_of(s);
    return code == EXIT_FINE && quality_count(&quality, DM_VERDICT_AGAIN) > 0
               ? EXIT_LEFT_OUT
               : code;
}

static int check_job(session *s, const char *path, const options *o)
{
    int code = session_solve(s, path, DM_STAGE_STATIONS,
                             &(session_wishes){.threads = o->threads});
    if (code == EXIT_FINE &&
        dm_campaign_surroundings(s->campaign, &s->diag) != DM_OK)
        code = EXIT_INPUT;
    return code == EXIT_FINE ? judge(s, o, true) : print_messages(s, o, code);
}

/* On site there is no job yet: the bridge and what was written today. */
static int check_books(session *s, char **paths, size_t count, const options *o)
{
    int code =
        session_open(s, paths[0], (const char *const *)paths + 1, count - 1,
                     &(session_wishes){.threads = o->threads});
    return code == EXIT_FINE ? judge(s, o, false) : print_messages(s, o, code);
}

static int check_bridge(session *s, const char *path, const options *o)
{
    dm_model *model = NULL;
    if (dm_model_read(path, &s->diag, &model) != DM_OK)
        return print_messages(s, o, EXIT_INPUT);
    int code = print_layout(s, model, o);
    dm_model_free(model);
    return code;
}

/* Files that can be understood alone, but have no tendons to lay out. */
static int check_catalogue(session *s, const char *path, const options *o)
{
    dm_model *model = NULL;
    dm_status status = dm_catalogue_read(path, &s->diag, &model);
    dm_model_free(model);
    return print_messages(s, o, status == DM_OK ? EXIT_FINE : EXIT_INPUT);
}

static int check_criteria(session *s, const char *path, const options *o)
{
    dm_criteria *criteria = NULL;
    dm_status status = dm_criteria_read(path, &s->diag, &criteria);
    dm_criteria_free(criteria);
    return print_messages(s, o, status == DM_OK ? EXIT_FINE : EXIT_INPUT);
}

/* Means nothing without the bridge that it belongs to. */
static int refuse(session *s, const char *path, const options *o)
{
    dm_error(&s->diag, DM_UNSUPPORTED, (dm_place){path, 0}, NULL,
             "is checked with the job that names it, not by itself");
    return print_messages(s, o, EXIT_INPUT);
}

static int check_file(session *s, const char *path, const options *o)
{
    static const struct {
        const char *root;
        int (*check)(session *s, const char *path, const options *o);
    } kinds[] = {{"bridge", check_bridge},
                 {"catalogue", check_catalogue},
                 {"criteria", check_criteria},
                 {"fieldbook", refuse},
                 {"register", refuse}};
    char root[64];
    dm_xml_peek(path, root, sizeof root);
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++)
        if (strcmp(root, kinds[i].root) == 0)
            return kinds[i].check(s, path, o);
    return check_job(s, path, o);
}

int cmd_check(int argc, char **argv)
{
    options o = {false, 0};
    const opt opts[] = {
        {"json", OPT_FLAG, NULL, "print it as JSON", &o.as_json},
        {"threads", OPT_COUNT, "N", "0: one per core (default)", &o.threads},
    };
    const usage u = {
        "check",
        "FILE.xml | BRIDGE.xml FIELDBOOK.xml...",
        "Names every fault of a file with its line, then lays out the "
        "tendons.",
        "A job is read with all it names, its distances are reconciled, and\n"
        "each run is judged: good, usable, or what of it to do again. A "
        "bridge\n"
        "with field books gives the same verdicts before there is a job. A\n"
        "bridge, a catalogue or criteria are checked by themselves. Lengths\n"
        "are in the job's units, those of a bridge in metres.\n"
        "Exit 1: something is to be done again, or was left out.",
        opts,
        sizeof opts / sizeof *opts,
        1,
        1000};
    int code;
    size_t count = session_operands(&u, argc, argv, &code);
    if (count == 0)
        return code;
    session s;
    session_init(&s);
    code = count == 1 ? check_file(&s, argv[0], &o)
                      : check_books(&s, argv, count, &o);
    if (code == EXIT_FINE || code == EXIT_LEFT_OUT)
        fprintf(stderr, "ductmark: %zu warning%s\n", s.diag.warnings,
                s.diag.warnings == 1 ? "" : "s");
    session_free(&s);
    return code;
}
