/* SPDX-License-Identifier: MIT
 * stdout is data, stderr is messages. */
#define _POSIX_C_SOURCE 200809L
#include "cli/session.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/arena.h"
#include "model/xml.h"

static void clear_progress(void)
{
    if (isatty(STDERR_FILENO))
        fputs("\r\033[K", stderr);
}

static void keep(session *s, const char *text)
{
    if (!DM_GROW(s->messages, s->message_count, s->message_capacity))
        return;
    char *copy = malloc(strlen(text) + 1);
    if (copy) {
        strcpy(copy, text);
        s->messages[s->message_count++] = copy;
    }
}

static void emit(void *user, const dm_message *m)
{
    static const char *const word[] = {"note", "warning", "error"};
    session *s = user;
    dm_buf text = {0};
    if (m->place.file && m->place.line > 0)
        dm_buf_printf(&text, "%s:%ld: ", m->place.file, m->place.line);
    else if (m->place.file)
        dm_buf_printf(&text, "%s: ", m->place.file);
    else
        dm_buf_puts(&text, "ductmark: ");
    dm_buf_printf(&text, "%s: ", word[m->severity]);
    if (m->subject)
        dm_buf_printf(&text, "%s: ", m->subject);
    dm_buf_puts(&text, m->text);
    clear_progress();
    fprintf(stderr, "%s\n", text.failed ? m->text : text.data);
    if (!text.failed)
        keep(s, text.data);
    dm_buf_free(&text);
}

void session_init(session *s)
{
    *s = (session){.diag = {.emit = emit}};
    s->diag.user = s;
}

void session_free(session *s)
{
    for (size_t i = 0; i < s->message_count; i++)
        free(s->messages[i]);
    free(s->messages);
    dm_campaign_free(s->campaign);
}

static void show_progress(void *user, size_t done, size_t total)
{
    const session *s = user;
    if (s->quiet || !isatty(STDERR_FILENO))
        return;
    fprintf(stderr, "\rtendons: %zu of %zu", done, total);
    if (done == total)
        clear_progress();
    fflush(stderr);
}

/* Works on what was read. */
static int solve(session *s, dm_stage stage, const session_wishes *wishes)
{
    if (wishes->threads > 0)
        s->campaign->job->settings.threads = (int)wishes->threads;
    s->campaign->job->settings.budget = wishes->budget;
    dm_status status =
        dm_campaign_solve(s->campaign, stage, show_progress, s, &s->diag);
    if (status == DM_NOMEM)
        return EXIT_OUTPUT;
    return status == DM_OK ? EXIT_FINE : EXIT_INPUT;
}

int session_solve(session *s, const char *job, dm_stage stage,
                  const session_wishes *wishes)
{
    if (dm_campaign_read(job, &s->diag, &s->campaign) != DM_OK)
        return EXIT_INPUT;
    return solve(s, stage, wishes);
}

int session_open(session *s, const char *bridge, const char *const *books,
                 size_t count, const session_wishes *wishes)
{
    if (dm_campaign_open(bridge, books, count, &s->diag, &s->campaign) != DM_OK)
        return EXIT_INPUT;
    return solve(s, DM_STAGE_STATIONS, wishes);
}

int session_judge(session *s)
{
    dm_status status =
        dm_campaign_judge(s->campaign, show_progress, s, &s->diag);
    return status == DM_OK ? EXIT_FINE : EXIT_OUTPUT;
}

size_t session_operands(const usage *u, int argc, char **argv, int *code)
{
    size_t operands = 0;
    opt_result parsed = opt_parse(u, argc, argv, &operands);
    *code = parsed == OPT_WRONG ? EXIT_INPUT : EXIT_FINE;
    return parsed == OPT_GOOD ? operands : 0;
}

bool session_words(const usage *u, int argc, char **argv, int *code)
{
    return session_operands(u, argc, argv, code) > 0;
}

int session_on_job(const char *job, dm_stage stage,
                   const session_wishes *wishes, session_body *body, void *user)
{
    session s;
    session_init(&s);
    int code = session_solve(&s, job, stage, wishes);
    if (code == EXIT_FINE)
        code = body(&s, user);
    if (code == EXIT_FINE)
        code = session_end(&s);
    session_free(&s);
    return code;
}

int session_command(const usage *u, int argc, char **argv, dm_stage stage,
                    const session_wishes *wishes, session_body *body,
                    void *user)
{
    int code;
    if (!session_words(u, argc, argv, &code))
        return code;
    return session_on_job(argv[0], stage, wishes, body, user);
}

bool session_is_job(const char *path)
{
    char root[64];
    dm_xml_peek(path, root, sizeof root);
    return strcmp(root, "job") == 0;
}

int session_end(const session *s)
{
    size_t n = s->campaign->left_out;
    if (n == 0)
        return EXIT_FINE;
    fprintf(stderr,
            "ductmark: %zu run%s or interval%s left out or not reconciled, "
            "named above\n",
            n, n == 1 ? "" : "s", n == 1 ? "" : "s");
    return EXIT_LEFT_OUT;
}

int session_print(const dm_buf *text)
{
    if (text->failed) {
        fprintf(stderr, "ductmark: error: out of memory\n");
        return EXIT_OUTPUT;
    }
    if (fwrite(text->data, 1, text->length, stdout) != text->length ||
        fflush(stdout) != 0) {
        fprintf(stderr, "ductmark: error: standard output: ");
        perror(NULL);
        return EXIT_OUTPUT;
    }
    return EXIT_FINE;
}

dm_delivery session_delivery(const session *s)
{
    return dm_campaign_delivery(s->campaign, (const char *const *)s->messages,
                                s->message_count);
}
