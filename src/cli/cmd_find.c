/* SPDX-License-Identifier: MIT
 * ductmark find and tap: one table on stdout, as text, CSV or JSON. */
#include "cli/cmd.h"
#include "cli/explain.h"
#include "cli/opt.h"
#include "cli/session.h"
#include "cli/summary.h"
#include "write/csv.h"
#include "write/summary_json.h"

typedef struct {
    void (*text)(const dm_campaign *campaign, dm_buf *out);
    void (*csv)(const dm_delivery *delivery, dm_buf *out);
    bool as_csv, as_json, ledger;
    const char *explain; /* key or uid; NULL: all of them */
} view;

static int print_view(session *s, void *user)
{
    const view *v = user;
    if (v->explain)
        return explain_print(s, v->explain, v->as_json);
    dm_buf text = {0};
    dm_delivery d = session_delivery(s);
    if (v->as_json) {
        dm_summary_json(&d, &text);
    } else if (v->as_csv) {
        v->csv(&d, &text);
    } else {
        summary_coverage(s->campaign, &text);
        dm_buf_putc(&text, '\n');
        if (v->ledger) {
            summary_ledger(s->campaign, &text);
            dm_buf_putc(&text, '\n');
        }
        summary_totals(s->campaign, v->ledger, &text);
        dm_buf_putc(&text, '\n');
        v->text(s->campaign, &text);
        summary_opened(s->campaign, &text);
    }
    int code = session_print(&text);
    dm_buf_free(&text);
    return code;
}

int cmd_find(int argc, char **argv)
{
    view v = {.text = summary_indications, .csv = dm_csv_indications};
    session_wishes wishes = {0};
    const opt opts[] = {
        {"explain", OPT_TEXT, "ID",
         "why this indication (key or uid) was found, with all numbers",
         &v.explain},
        {"csv", OPT_FLAG, NULL, "print CSV", &v.as_csv},
        {"json", OPT_FLAG, NULL, "print the summary as JSON", &v.as_json},
        {"ledger", OPT_FLAG, NULL, "print coverage by clock line and reason",
         &v.ledger},
        {"threads", OPT_COUNT, "N", "0: one per core (default)",
         &wishes.threads},
    };
    const usage u = {"find",
                     "JOB.xml",
                     "Finds and grades indications.",
                     "--explain: readings, noise, thresholds, what each run "
                     "saw, ends with the parts of\ntheir uncertainty, turns, "
                     "why this kind and grade; with --json as JSON.",
                     opts,
                     sizeof opts / sizeof *opts,
                     1,
                     1};
    int code;
    if (!session_words(&u, argc, argv, &code))
        return code;
    wishes.budget = v.explain != NULL;
    return session_on_job(argv[0], DM_STAGE_TAPS, &wishes, print_view, &v);
}

int cmd_tap(int argc, char **argv)
{
    view v = {.text = summary_taps, .csv = dm_csv_taps};
    session_wishes wishes = {0};
    const opt opts[] = {
        {"csv", OPT_FLAG, NULL, "print CSV", &v.as_csv},
        {"json", OPT_FLAG, NULL, "print the summary as JSON", &v.as_json},
        {"ledger", OPT_FLAG, NULL, "print coverage by clock line and reason",
         &v.ledger},
        {"threads", OPT_COUNT, "N", "0: one per core (default)",
         &wishes.threads},
    };
    const usage u = {"tap", "JOB.xml", "Places tap points.",
                     NULL,  opts,      sizeof opts / sizeof *opts,
                     1,     1};
    return session_command(&u, argc, argv, DM_STAGE_TAPS, &wishes, print_view,
                           &v);
}
