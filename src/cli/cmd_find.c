/* SPDX-License-Identifier: MIT
 * ductmark find and tap: one table on stdout, as text, CSV or JSON. */
#include "cli/cmd.h"
#include "cli/opt.h"
#include "cli/session.h"
#include "cli/summary.h"
#include "write/csv.h"
#include "write/summary_json.h"

typedef struct {
    dm_stage stage;
    void (*text)(const dm_campaign *campaign, dm_buf *out);
    void (*csv)(const dm_delivery *delivery, dm_buf *out);
} view;

static int show(const char *command, const char *summary, const view *v,
                int argc, char **argv)
{
    long threads = 0;
    bool csv = false, json = false, quiet = false;
    const opt opts[] = {
        {"csv", OPT_FLAG, NULL, "print CSV", &csv},
        {"json", OPT_FLAG, NULL, "print the summary as JSON", &json},
        {"threads", OPT_COUNT, "N", "0: one per core (default)", &threads},
        {"quiet", OPT_FLAG, NULL, "no progress", &quiet},
    };
    const usage u = {command, "JOB.xml", summary,
                     NULL,    opts,      sizeof opts / sizeof *opts,
                     1,       1};
    size_t operands = 0;
    opt_result parsed = opt_parse(&u, argc, argv, &operands);
    if (parsed != OPT_GOOD)
        return parsed == OPT_HELP ? EXIT_FINE : EXIT_INPUT;
    session s;
    session_init(&s);
    s.quiet = quiet;
    int code = session_solve(&s, argv[0], v->stage, threads);
    if (code == EXIT_FINE) {
        dm_buf text = {0};
        dm_delivery d = session_delivery(&s);
        if (json) {
            dm_summary_json(&d, &text);
        } else if (csv) {
            v->csv(&d, &text);
        } else {
            summary_coverage(s.campaign, &text);
            dm_buf_putc(&text, '\n');
            v->text(s.campaign, &text);
        }
        code = session_print(&text);
        dm_buf_free(&text);
        if (code == EXIT_FINE)
            code = session_end(&s);
    }
    session_free(&s);
    return code;
}

int cmd_find(int argc, char **argv)
{
    static const view v = {DM_STAGE_TAPS, summary_indications,
                           dm_csv_indications};
    return show("find", "Finds and grades indications.", &v, argc, argv);
}

int cmd_tap(int argc, char **argv)
{
    static const view v = {DM_STAGE_TAPS, summary_taps, dm_csv_taps};
    return show("tap", "Places tap points.", &v, argc, argv);
}
