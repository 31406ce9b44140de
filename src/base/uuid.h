/* SPDX-License-Identifier: MIT
 * UUIDs (libuuid). RFC 4122 version 5 names; IFC's 22-character form. */
#ifndef DM_BASE_UUID_H
#define DM_BASE_UUID_H

#include <stdbool.h>
#include <stdint.h>

typedef struct {
    uint8_t byte[16];
} dm_uuid;

bool dm_uuid_parse(const char *text, dm_uuid *out);
void dm_uuid_text(dm_uuid uuid, char out[37]); /* lower case */
/* Version 5 (SHA-1 of namespace and name), RFC 4122 section 4.3. */
dm_uuid dm_uuid_name(dm_uuid space, const char *name);
/* The 22-character GlobalId of ISO 16739-1 (IfcGloballyUniqueId). */
void dm_uuid_ifc(dm_uuid uuid, char out[23]);

#endif
