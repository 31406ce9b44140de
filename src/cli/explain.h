/* SPDX-License-Identifier: MIT
 * The evidence of one indication in words. */
#ifndef DM_CLI_EXPLAIN_H
#define DM_CLI_EXPLAIN_H

#include "cli/session.h"

/* Prints why the indication of that key or uid was found; EXIT_INPUT, said,
 * where there is none. */
int explain_print(session *s, const char *name, bool as_json);

#endif
