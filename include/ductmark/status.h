/* SPDX-License-Identifier: MIT
 *
 * Status codes and the message sink.
 *
 * A function that can fail returns a dm_status. The words for people go to a
 * sink that the caller owns; a NULL sink is silent. Whoever finds a fault
 * reports it, exactly once; callers clean up and pass the status on. Readers
 * report all faults of a file before they fail. A warning never changes the
 * status. Nothing in the library prints.
 */
#ifndef DUCTMARK_STATUS_H
#define DUCTMARK_STATUS_H

#include <stddef.h>

typedef enum {
    DM_OK = 0,
    DM_NOMEM,        /* memory could not be had */
    DM_IO,           /* a file could not be read or written */
    DM_SYNTAX,       /* text that its format does not allow */
    DM_SCHEMA,       /* XML that breaks its schema */
    DM_REFERENCE,    /* an id that names nothing */
    DM_RANGE,        /* a quantity outside its valid range */
    DM_GEOMETRY,     /* geometry that cannot exist */
    DM_INCONSISTENT, /* two inputs that contradict each other */
    DM_UNSUPPORTED,  /* valid, but this program cannot do it */
    DM_STATUS_COUNT
} dm_status;

/** One-line cause of a status; "unknown status" outside the range. */
const char *dm_status_text(dm_status status);

typedef enum { DM_NOTE = 0, DM_WARNING, DM_ERROR } dm_severity;

/** Where something was said in an input: file and line (0: whole file).
 *  The file name lives as long as the result that holds the place. */
typedef struct {
    const char *file;
    long line;
} dm_place;

/** One message. All strings are valid during the call only. */
typedef struct {
    dm_severity severity;
    dm_status status;    /* DM_OK for notes and most warnings */
    dm_place place;      /* place.file may be NULL: no file is to blame */
    const char *subject; /* "tendon T4L"; may be NULL */
    const char *text;    /* one line, no full stop, no "error:" prefix */
} dm_message;

/** A sink for messages; owned by the caller. The counts are kept here. */
typedef struct dm_diag {
    void (*emit)(void *user, const dm_message *message);
    void *user;
    size_t errors;
    size_t warnings;
} dm_diag;

#endif
