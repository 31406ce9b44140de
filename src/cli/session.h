/* SPDX-License-Identifier: MIT
 * What every command needs: messages on stderr as `file:line: error: text`,
 * kept for the reports; progress on a terminal; exit codes. */
#ifndef DM_CLI_SESSION_H
#define DM_CLI_SESSION_H

#include <stdbool.h>
#include <stddef.h>

#include "base/buf.h"
#include "cli/opt.h"
#include "ductmark/run.h"

enum {
    EXIT_FINE = 0,
    EXIT_LEFT_OUT = 1, /* delivered, but a part of the input was left out */
    EXIT_INPUT = 2,    /* unusable input or usage */
    EXIT_OUTPUT = 3    /* an output could not be written */
};

typedef struct {
    dm_diag diag;
    bool quiet; /* no progress */
    char **messages;
    size_t message_count, message_capacity;
    dm_campaign *campaign;
} session;

void session_init(session *s);
void session_free(session *s);

/* What a command wants beyond the job's settings. */
typedef struct {
    long threads; /* 0: as the job says */
    bool budget;  /* what variances of stations are made of */
} session_wishes;

/* Reads the job and works up to a stage. EXIT_FINE, or why not. */
int session_solve(session *s, const char *job, dm_stage stage,
                  const session_wishes *wishes);
/* The same of a bridge and field books, without a job. */
int session_open(session *s, const char *bridge, const char *const *books,
                 size_t count, const session_wishes *wishes);
/* Judges the runs of a solved campaign. EXIT_FINE, or why not. */
int session_judge(session *s);
/* Parses the words of a command: the count of operands. 0: that was all, *code
 * is its exit. */
size_t session_operands(const usage *u, int argc, char **argv, int *code);
/* Parses the words of a command. False: that was all, *code is its exit. */
bool session_words(const usage *u, int argc, char **argv, int *code);
/* The frame of a command on one job: reads the job, works up to a stage, calls
 * `body`, says what was left out; session_command parses the words first. */
typedef int session_body(session *s, void *user);
int session_on_job(const char *job, dm_stage stage,
                   const session_wishes *wishes, session_body *body,
                   void *user);
int session_command(const usage *u, int argc, char **argv, dm_stage stage,
                    const session_wishes *wishes, session_body *body,
                    void *user);
/* Whether the root element is `job`. What is no XML at all is left to the
 * reader of bridges, which says so. */
bool session_is_job(const char *path);
/* EXIT_LEFT_OUT where something was left out (said on stderr), else
 * EXIT_FINE. */
int session_end(const session *s);
/* Writes a buffer to stdout. EXIT_OUTPUT where it could not be. */
int session_print(const dm_buf *text);
dm_delivery session_delivery(const session *s);

#endif
