/* SPDX-License-Identifier: MIT
 * Tokens of a STEP physical file (ISO 10303-21, "clear text encoding"). One
 * instance a line, parameters in order; commas are put by themselves:
 *
 *   id = dm_step_begin(s, "IFCDIRECTION");     #12=IFCDIRECTION(
 *   dm_step_open(s);                           (
 *   dm_step_real(s, 0.0); ...                  0.,0.,1.
 *   dm_step_close(s);                          )
 *   dm_step_end(s);                            );
 *
 * Errors of the file are remembered by dm_out; nothing here can fail. */
#ifndef DM_WRITE_STEP_H
#define DM_WRITE_STEP_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/file.h"

/* Number of an instance; 0: none, written as $. */
typedef uint64_t dm_step_id;

typedef struct {
    dm_out *out;
    char *room; /* of the file's buffer, filled in place */
    size_t used;
    dm_step_id last; /* number given last */
    bool comma;      /* before the next parameter */
} dm_step;

void dm_step_init(dm_step *step, dm_out *out);
/* Hands on what was put since; nothing else may write to the file before. */
void dm_step_flush(dm_step *step);

/* Header: `time` is YYYY-MM-DDThh:mm:ss. Leaves the data section open. */
void dm_step_header(dm_step *step, const char *description, const char *name,
                    const char *time, const char *tool, const char *schema);
/* Closes the data section and the file; flushes. */
void dm_step_footer(dm_step *step);

/* The number that an instance to be written later will have; it must then be
 * begun with dm_step_begin_as. */
dm_step_id dm_step_take(dm_step *step);
dm_step_id dm_step_begin(dm_step *step, const char *entity);
void dm_step_begin_as(dm_step *step, dm_step_id id, const char *entity);
void dm_step_end(dm_step *step);

/* Lists, and typed values: IFCLABEL('x') is typed "IFCLABEL", text, close. */
void dm_step_open(dm_step *step);
void dm_step_typed(dm_step *step, const char *type);
void dm_step_close(dm_step *step);

void dm_step_unset(dm_step *step);   /* $ */
void dm_step_derived(dm_step *step); /* * */
void dm_step_ref(dm_step *step, dm_step_id id);
void dm_step_enum(dm_step *step, const char *value); /* NULL: unset */
void dm_step_bool(dm_step *step, bool value);
void dm_step_int(dm_step *step, int64_t value);
/* Shortest digits that read back; a value that is not finite becomes $. */
void dm_step_real(dm_step *step, double value);
void dm_step_fixed(dm_step *step, double value, int decimals);
/* UTF-8 in; all but printable ASCII as \X2\ or \X4\ hex; malformed bytes as
 * U+FFFD. NULL: unset. */
void dm_step_text(dm_step *step, const char *text);
/* Characters, not bytes: what the limits of string types count. */
size_t dm_step_characters(const char *text);

/* A number as text, made once and copied often. */
typedef struct {
    char text[11];
    uint8_t length; /* at most 10 */
} dm_step_label;

dm_step_label dm_step_label_of(uint32_t number);

/* The fast paths of meshes, one list each: ((x,y,z),...) to five decimals,
 * and ((a,b,c),...), each index (0-based) standing for that label. */
void dm_step_points(dm_step *step, const float *xyz, size_t count);
void dm_step_triangles(dm_step *step, const uint32_t *index, size_t count,
                       const dm_step_label *label);

#endif
