/* SPDX-License-Identifier: MIT
 * RFC 4122 UUIDs through libuuid (this file alone includes it), and the
 * compressed form of ISO 16739-1, IfcGloballyUniqueId: the 128 bits as one
 * big-endian number in base 64, most significant digit first. */
#include "base/uuid.h"

#include <string.h>
#include <uuid/uuid.h>

_Static_assert(sizeof(uuid_t) == sizeof(dm_uuid), "a UUID has 16 bytes");

bool dm_uuid_parse(const char *text, dm_uuid *out)
{
    dm_uuid parsed;

    memset(out, 0, sizeof *out);
    if (uuid_parse(text, parsed.byte) != 0)
        return false;
    *out = parsed;
    return true;
}

void dm_uuid_text(dm_uuid uuid, char out[37])
{
    uuid_unparse_lower(uuid.byte, out);
}

dm_uuid dm_uuid_name(dm_uuid space, const char *name)
{
    dm_uuid made;

    uuid_generate_sha1(made.byte, space.byte, name, strlen(name));
    return made;
}

/* The low 6 * count bits of value as count digits. */
static void put_digits(char *out, uint32_t value, int count)
{
    static const char digit[] = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
                                "abcdefghijklmnopqrstuvwxyz_$";

    _Static_assert(sizeof digit == 65, "64 digits and the NUL");
    while (count-- > 0) {
        out[count] = digit[value & 63U];
        value >>= 6;
    }
}

void dm_uuid_ifc(dm_uuid uuid, char out[23])
{
    const uint8_t *b = uuid.byte;
    size_t i;

    /* 128 = 8 + 5 * 24 bits: the first byte takes two digits (8 of 12 bits),
     * each further group of three bytes takes four. */
    put_digits(out, b[0], 2);
    for (i = 0; i < 5; i++) {
        uint32_t group = (uint32_t)b[1 + 3 * i] << 16 |
                         (uint32_t)b[2 + 3 * i] << 8 | b[3 + 3 * i];

        put_digits(out + 2 + 4 * i, group, 4);
    }
    out[22] = '\0';
}
