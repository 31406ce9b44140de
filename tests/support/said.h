/* SPDX-License-Identifier: MIT
 * A sink that keeps what was said, one line a message, as the program prints
 * it but with the bare names of files: "job.xml:3: error: settings: text". */
#ifndef DM_TEST_SAID_H
#define DM_TEST_SAID_H

#include <stdio.h>
#include <string.h>

#include "ductmark/status.h"

typedef struct {
    dm_diag diag; /* hand out &said.diag */
    char text[65536];
    size_t length;
} said;

static inline void said_hear(void *user, const dm_message *m)
{
    static const char *const word[] = {"note", "warning", "error"};
    said *s = user;
    const char *file = m->place.file != NULL ? m->place.file : "-";
    const char *slash = strrchr(file, '/');
    char line[32] = "";
    int n;

    if (m->place.line > 0)
        snprintf(line, sizeof line, "%ld:", m->place.line);
    n = snprintf(s->text + s->length, sizeof s->text - s->length,
                 "%s:%s %s: %s%s%s\n", slash != NULL ? slash + 1 : file, line,
                 word[m->severity], m->subject != NULL ? m->subject : "",
                 m->subject != NULL ? ": " : "", m->text);
    s->length += (size_t)n;
    if (s->length >= sizeof s->text)
        s->length = sizeof s->text - 1;
}

static inline void said_init(said *s)
{
    memset(s, 0, sizeof *s);
    s->diag.emit = said_hear;
    s->diag.user = s;
}

#endif
