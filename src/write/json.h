/* SPDX-License-Identifier: MIT
 * JSON (RFC 8259), appended to a buffer with commas put by themselves. A key
 * is given to everything inside an object, NULL inside an array. A number that
 * is not finite becomes null; a NULL text too. */
#ifndef DM_WRITE_JSON_H
#define DM_WRITE_JSON_H

#include "base/buf.h"

typedef struct {
    dm_buf buf;
    int depth;  /* of nesting, for the indent */
    bool first; /* nothing in this object or array yet */
} dm_json;

void dm_json_open(dm_json *json, const char *key, char bracket); /* { or [ */
void dm_json_close(dm_json *json, char bracket);                 /* } or ] */
void dm_json_text(dm_json *json, const char *key, const char *text);
void dm_json_bool(dm_json *json, const char *key, bool value);
void dm_json_count(dm_json *json, const char *key, size_t value);
void dm_json_number(dm_json *json, const char *key,
                    double value); /* shortest */
void dm_json_fixed(dm_json *json, const char *key, double value, int decimals);

#endif
