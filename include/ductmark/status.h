/* SPDX-License-Identifier: MIT
 *
 * Status codes and the message sink.
 *
 * A function that can fail returns a dm_status. The words for people go to a
 * sink that the caller owns; a NULL sink is silent. Whoever finds a fault
 * reports it, exactly once; callers clean up and pass the status on. Readers
 * report all faults of a file before they fail. A warning never changes the
 * status. Nothing in the library prints.
 *
 * A failure through data is a status. Breaking a function's precondition (a
 * NULL where none is allowed, an index out of range) is an error of the
 * program, undefined or an assert.
 *
 * A sink that prints as compilers do:
 *
 *     static void print(void *user, const dm_message *m)
 *     {
 *         fprintf((FILE *)user, "%s:%ld: %s\n",
 *                 m->place.file ? m->place.file : "", m->place.line, m->text);
 *     }
 *     dm_diag diag = {.emit = print, .user = stderr};
 */
#ifndef DUCTMARK_STATUS_H
#define DUCTMARK_STATUS_H

#include <stddef.h>

#include "ductmark/extern.h"

DM_BEGIN_C

/** What went wrong, for programs. Where a file has several faults the status
 *  is that of the first. */
typedef enum {
    DM_OK = 0,
    /** memory could not be had */
    DM_NOMEM,
    /** A file could not be read or written */
    DM_IO,
    /** Text that its format does not allow */
    DM_SYNTAX,
    /** XML that breaks its schema */
    DM_SCHEMA,
    /** An id that names nothing */
    DM_REFERENCE,
    /** A quantity outside its valid range */
    DM_RANGE,
    /** Geometry that cannot exist */
    DM_GEOMETRY,
    /** Two inputs that contradict each other */
    DM_INCONSISTENT,
    /** Valid, but this program cannot do it */
    DM_UNSUPPORTED,
    DM_STATUS_COUNT
} dm_status;

/** One-line cause of a status, for people who have no message. It does not say
 *  which file or thing is to blame: that is the message's part.
 *  @param status  any value
 *  @return static text, never NULL; "unknown status" outside the range */
const char *dm_status_text(dm_status status);

/** How grave a message is; the sink decides what is shown. Notes tell how
 * something was done; warnings what may be wrong, and never change a status;
 * errors what was refused or left out. An error may come with DM_OK where only
 * a part was left out. */
typedef enum {
    /** For those who want to know. */
    DM_NOTE = 0,
    /** To be looked at. */
    DM_WARNING,
    /** To be mended. */
    DM_ERROR
} dm_severity;

/** Where something was said in an input. Each structure that is read holds its
 *  own, so that later stages can name the line that is to blame. */
typedef struct {
    /** As opened. Lives as long as the result that holds the place; NULL: no
     *  file is to blame. */
    const char *file;
    /** From 1; 0: the whole file. Above 65535 good to one line in XML. */
    long line;
} dm_place;

/** One message. All strings are valid during the call only: a sink that keeps
 *  them copies them. People are shown `file:line: error: subject: text`. */
typedef struct {
    /** Note, warning or error. */
    dm_severity severity;
    /** DM_OK for notes and most warnings. */
    dm_status status;
    /** place.file may be NULL. */
    dm_place place;
    /** What it is about: "tendon T4L", the name of an element; may be NULL. */
    const char *subject;
    /** One line, UTF-8, no full stop, no "error:" before it. Never NULL. */
    const char *text;
} dm_message;

/** A sink for messages; owned by the caller, zero-initialised but for `emit`
 *  and `user`. A sink is used from one thread at a time: dm_campaign_solve
 *  calls it only from the thread that called. */
typedef struct dm_diag {
    /** Called once a message; NULL: only count. Must not call the library
     *  with the same sink. */
    void (*emit)(void *user, const dm_message *message);
    /** Handed to emit as it is; the library does not look at it. */
    void *user;
    /** Messages of severity DM_ERROR and DM_WARNING so far, counted by the
     *  library whether or not there is an emit. */
    size_t errors;
    size_t warnings;
} dm_diag;

DM_END_C

#endif
