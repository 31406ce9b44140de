/* SPDX-License-Identifier: MIT
 * ductmark run, and export: the same road with chosen formats. */
#include <stdio.h>
#include <string.h>

#include "cli/cmd.h"
#include "cli/opt.h"
#include "cli/session.h"
#include "cli/summary.h"
#include "write/summary_json.h"

#define MOST_FORMATS 32

typedef struct {
    dm_buf *text;
    const char *folder;
} listing;

static void list_file(void *user, const char *name, uint64_t size)
{
    listing *l = user;
    dm_buf_printf(l->text, "  %s/%s  %llu bytes\n", l->folder, name,
                  (unsigned long long)size);
}

static void list_writers(void)
{
    size_t n = 0;
    const dm_writer *w = dm_writers(&n);
    for (size_t i = 0; i < n; i++)
        printf("%-10s %s%s (%s)\n", w[i].name, w[i].help,
               w[i].by_default ? "" : " [on request]", w[i].files);
}

/* "glb,ifc" -> words, in place of the commas. */
static size_t split(char *list, const char **formats)
{
    size_t n = 0;
    for (char *p = strtok(list, ","); p && n < MOST_FORMATS;
         p = strtok(NULL, ","))
        formats[n++] = p;
    return n;
}

static int known(const char *const *formats, size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (!dm_writer_find(formats[i])) {
            fprintf(stderr,
                    "ductmark: unknown format '%s'; '--format help' lists "
                    "them\n",
                    formats[i]);
            return EXIT_INPUT;
        }
    return EXIT_FINE;
}

/* Tables alone need no scene. */
static dm_stage stage_for(const char *const *formats, size_t count)
{
    dm_stage stage = count == 0 ? DM_STAGE_SCENE : DM_STAGE_TAPS;
    for (size_t i = 0; i < count; i++)
        if (dm_writer_find(formats[i])->needs_scene)
            stage = DM_STAGE_SCENE;
    return stage;
}

/* What the terminal shows of a delivery. */
typedef struct {
    bool json, ledger;
} view;

static int deliver(session *s, const char *folder, const char *const *formats,
                   size_t count, const view *v)
{
    dm_buf files = {0}, text = {0};
    listing l = {&files, folder};
    const dm_campaign *c = s->campaign;
    dm_status status = dm_campaign_deliver(
        c, folder, formats, count, (const char *const *)s->messages,
        s->message_count, list_file, &l, &s->diag);
    int code = status == DM_OK            ? EXIT_FINE
               : status == DM_UNSUPPORTED ? EXIT_INPUT
                                          : EXIT_OUTPUT;
    if (code == EXIT_FINE && v->json) {
        dm_delivery d = session_delivery(s);
        dm_summary_json(&d, &text);
    } else if (code == EXIT_FINE) {
        summary_coverage(c, &text);
        summary_bounds(c, &text);
        dm_buf_putc(&text, '\n');
        if (v->ledger) {
            summary_ledger(c, &text);
            dm_buf_putc(&text, '\n');
        }
        summary_totals(c, v->ledger, &text);
        dm_buf_putc(&text, '\n');
        summary_indications(c, &text);
        summary_opened(c, &text);
        dm_buf_putc(&text, '\n');
        summary_taps(c, &text);
        dm_buf_puts(&text, "\nwritten:\n");
        dm_buf_puts(&text, files.failed || !files.data ? "" : files.data);
    }
    if (code == EXIT_FINE)
        code = session_print(&text);
    dm_buf_free(&files);
    dm_buf_free(&text);
    return code != EXIT_FINE ? code : session_end(s);
}

static int road(const usage *u, int argc, char **argv, const char *const *out,
                char *const *format, const long *threads, const bool *quiet,
                const view *v)
{
    size_t operands = 0, count = 0;
    opt_result parsed = opt_parse(u, argc, argv, &operands);
    if (parsed != OPT_GOOD)
        return parsed == OPT_HELP ? EXIT_FINE : EXIT_INPUT;
    if (*format && strcmp(*format, "help") == 0) {
        list_writers();
        return EXIT_FINE;
    }
    const char *formats[MOST_FORMATS];
    if (*format)
        count = split(*format, formats);
    if (known(formats, count) != EXIT_FINE)
        return EXIT_INPUT;
    session s;
    session_init(&s);
    s.quiet = *quiet;
    int code = session_solve(&s, argv[0], stage_for(formats, count),
                             &(session_wishes){.threads = *threads});
    if (code == EXIT_FINE)
        code = deliver(&s, *out, formats, count, v);
    session_free(&s);
    return code;
}

int cmd_run(int argc, char **argv)
{
    const char *out = "out";
    char *format = NULL;
    long threads = 0;
    bool quiet = false;
    view v = {false, false};
    const opt opts[] = {
        {"out", OPT_TEXT, "DIR", "folder for the files (default: out)", &out},
        {"json", OPT_FLAG, NULL, "print the summary as JSON", &v.json},
        {"ledger", OPT_FLAG, NULL, "print coverage by clock line and reason",
         &v.ledger},
        {"threads", OPT_COUNT, "N", "0: one per core (default)", &threads},
        {"quiet", OPT_FLAG, NULL, "no progress", &quiet},
    };
    const usage u = {
        "run",
        "JOB.xml",
        "Reads a job with all it names and writes models, tables and the "
        "register.",
        "The job's output elements choose the formats; without any, all "
        "default ones\nare written. Files appear together or not at all.",
        opts,
        sizeof opts / sizeof *opts,
        1,
        1};
    return road(&u, argc, argv, &out, &format, &threads, &quiet, &v);
}

int cmd_export(int argc, char **argv)
{
    const char *out = "out";
    char *format = NULL;
    long threads = 0;
    bool quiet = false;
    view v = {false, false};
    const opt opts[] = {
        {"format", OPT_CHOICE, "LIST", "such as glb,ifc; 'help' lists them",
         &format},
        {"out", OPT_TEXT, "DIR", "folder for the files (default: out)", &out},
        {"json", OPT_FLAG, NULL, "print the summary as JSON", &v.json},
        {"ledger", OPT_FLAG, NULL, "print coverage by clock line and reason",
         &v.ledger},
        {"threads", OPT_COUNT, "N", "0: one per core (default)", &threads},
        {"quiet", OPT_FLAG, NULL, "no progress", &quiet},
    };
    const usage u = {"export", "JOB.xml", "Writes chosen formats only.",
                     NULL,     opts,      sizeof opts / sizeof *opts,
                     1,        1};
    return road(&u, argc, argv, &out, &format, &threads, &quiet, &v);
}
