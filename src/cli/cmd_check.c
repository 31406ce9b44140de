/* SPDX-License-Identifier: MIT
 * ductmark check: reads inputs, names every fault, and reconciles distances
 * so that a book that does not close is known before leaving the bridge. */
#include <stdio.h>

#include "cli/cmd.h"
#include "cli/opt.h"
#include "cli/session.h"
#include "cli/summary.h"

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
    size_t operands = 0;
    opt_result parsed = opt_parse(&u, argc, argv, &operands);
    if (parsed != OPT_GOOD)
        return parsed == OPT_HELP ? EXIT_FINE : EXIT_INPUT;
    session s;
    session_init(&s);
    int code = session_solve(&s, argv[0], DM_STAGE_STATIONS, threads);
    if (code == EXIT_FINE) {
        dm_buf text = {0};
        summary_model(s.campaign, &text);
        code = session_print(&text);
        dm_buf_free(&text);
    }
    fprintf(stderr, "ductmark: %zu error%s, %zu warning%s\n", s.diag.errors,
            s.diag.errors == 1 ? "" : "s", s.diag.warnings,
            s.diag.warnings == 1 ? "" : "s");
    if (code == EXIT_FINE)
        code = session_end(&s);
    session_free(&s);
    return code;
}
