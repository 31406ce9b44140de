/* SPDX-License-Identifier: MIT
 * ductmark check: reads inputs, names every fault, and reconciles distances
 * so that a book that does not close is known before leaving the bridge. */
#include <stdio.h>

#include "cli/cmd.h"
#include "cli/opt.h"
#include "cli/session.h"
#include "cli/summary.h"

static int print_model(session *s, void *user)
{
    dm_buf text = {0};
    (void)user;
    summary_model(s->campaign, &text);
    int code = session_print(&text);
    dm_buf_free(&text);
    fprintf(stderr, "ductmark: %zu warning%s\n", s->diag.warnings,
            s->diag.warnings == 1 ? "" : "s");
    return code;
}

int cmd_check(int argc, char **argv)
{
    long threads = 0;
    const opt opts[] = {
        {"threads", OPT_COUNT, "N", "0: one per core (default)", &threads},
    };
    const usage u = {"check",
                     "JOB.xml",
                     "Reads a job with all it names; prints every fault and a "
                     "table of the tendons.",
                     NULL,
                     opts,
                     sizeof opts / sizeof *opts,
                     1,
                     1};
    return session_command(&u, argc, argv, DM_STAGE_STATIONS, &threads,
                           print_model, NULL);
}
