/* SPDX-License-Identifier: MIT
 * Messages to a sink, and a sink that keeps deep copies in an arena. The text
 * is made one printable line: ids and names in it come from foreign files and
 * must neither break the line nor reach a terminal as control codes. */
#include "base/diag.h"

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/arena.h"

#define TEXT_ON_STACK 512

const char *dm_status_text(dm_status status)
{
    static const char *const text[DM_STATUS_COUNT] = {
        [DM_OK] = "no error",
        [DM_NOMEM] = "out of memory",
        [DM_IO] = "a file could not be read or written",
        [DM_SYNTAX] = "text that its format does not allow",
        [DM_SCHEMA] = "XML that breaks its schema",
        [DM_REFERENCE] = "an id that names nothing",
        [DM_RANGE] = "a quantity outside its valid range",
        [DM_GEOMETRY] = "geometry that cannot exist",
        [DM_INCONSISTENT] = "inputs that contradict each other",
        [DM_UNSUPPORTED] = "valid, but not supported",
    };

    if ((int)status < 0 || (int)status >= (int)DM_STATUS_COUNT)
        return "unknown status";
    return text[status];
}

static void make_one_line(char *text)
{
    for (; *text != '\0'; text++) {
        unsigned char c = (unsigned char)*text;

        if (c == '\n' || c == '\r' || c == '\t')
            *text = ' ';
        else if (c < 0x20 || c == 0x7f)
            *text = '?';
    }
}

static void send(dm_diag *diag, const dm_message *message)
{
    if (message->severity == DM_ERROR)
        diag->errors++;
    else if (message->severity == DM_WARNING)
        diag->warnings++;
    if (diag->emit != NULL)
        diag->emit(diag->user, message);
}

/* Without memory for a long text its beginning is sent: a message is never
 * lost. */
static void say(dm_diag *diag, dm_message message, const char *format,
                va_list args)
{
    char stack[TEXT_ON_STACK];
    char *heap = NULL, *text = stack;
    va_list again;
    int length;

    va_copy(again, args);
    length = vsnprintf(stack, sizeof stack, format, args);
    if (length < 0)
        snprintf(stack, sizeof stack, "(message could not be formatted)");
    if (length >= TEXT_ON_STACK) {
        heap = malloc((size_t)length + 1);
        if (heap != NULL) {
            vsnprintf(heap, (size_t)length + 1, format, again);
            text = heap;
        }
    }
    va_end(again);
    make_one_line(text);
    message.text = text;
    send(diag, &message);
    free(heap);
}

dm_status dm_error(dm_diag *diag, dm_status status, dm_place place,
                   const char *subject, const char *format, ...)
{
    dm_message message = {DM_ERROR, status, place, subject, NULL};
    va_list args;

    if (diag != NULL) {
        va_start(args, format);
        say(diag, message, format, args);
        va_end(args);
    }
    return status;
}

void dm_warn(dm_diag *diag, dm_place place, const char *subject,
             const char *format, ...)
{
    dm_message message = {DM_WARNING, DM_OK, place, subject, NULL};
    va_list args;

    if (diag == NULL)
        return;
    va_start(args, format);
    say(diag, message, format, args);
    va_end(args);
}

void dm_note(dm_diag *diag, dm_place place, const char *subject,
             const char *format, ...)
{
    dm_message message = {DM_NOTE, DM_OK, place, subject, NULL};
    va_list args;

    if (diag == NULL)
        return;
    va_start(args, format);
    say(diag, message, format, args);
    va_end(args);
}

typedef struct kept {
    dm_message message;
    struct kept *next;
} kept;

struct dm_diag_store {
    dm_diag sink;
    dm_arena *arena;
    kept *first;
    kept **end;
    bool failed;
};

/* False: no memory. A NULL text stays NULL. */
static bool copy_text(dm_arena *arena, const char **text)
{
    if (*text == NULL)
        return true;
    *text = dm_arena_strdup(arena, *text);
    return *text != NULL;
}

static void keep(void *user, const dm_message *message)
{
    dm_diag_store *store = user;
    kept *k = DM_NEW(store->arena, kept);

    if (k == NULL) {
        store->failed = true;
        return;
    }
    k->message = *message;
    if (!copy_text(store->arena, &k->message.place.file) ||
        !copy_text(store->arena, &k->message.subject) ||
        !copy_text(store->arena, &k->message.text)) {
        store->failed = true;
        return;
    }
    *store->end = k;
    store->end = &k->next;
}

dm_diag_store *dm_diag_store_new(void)
{
    dm_diag_store *store = calloc(1, sizeof *store);

    if (store == NULL)
        return NULL;
    store->arena = dm_arena_new();
    if (store->arena == NULL) {
        free(store);
        return NULL;
    }
    store->sink.emit = keep;
    store->sink.user = store;
    store->end = &store->first;
    return store;
}

dm_diag *dm_diag_store_sink(dm_diag_store *store)
{
    return &store->sink;
}

dm_status dm_diag_store_replay(const dm_diag_store *store, dm_diag *to)
{
    const kept *k;

    for (k = store->first; k != NULL && to != NULL; k = k->next)
        send(to, &k->message);
    return store->failed ? DM_NOMEM : DM_OK;
}

void dm_diag_store_free(dm_diag_store *store)
{
    if (store == NULL)
        return;
    dm_arena_free(store->arena);
    free(store);
}
