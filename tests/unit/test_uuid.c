/* SPDX-License-Identifier: MIT
 * UUIDs against published and independently computed values (uuid.vec). */
#include "base/uuid.h"

#include <stdio.h>
#include <string.h>

#include "near.h"
#include "vector.h"

static void name_published_examples_give_their_uuid(void **state)
{
    vec_file *file = vec_open("uuid.vec");
    size_t i;

    (void)state;
    for (i = 0; i < file->count; i++) {
        vec_case *c = &file->cases[i];
        dm_uuid space, made;
        char text[37], ifc[23];

        assert_true(dm_uuid_parse(vec_given_word(c, "space"), &space));
        made = dm_uuid_name(space, vec_given_word(c, "name"));
        dm_uuid_text(made, text);
        assert_string_equal(text, vec_expect_word(c, "uuid"));
        if (!vec_has_expect(c, "ifc"))
            continue;
        dm_uuid_ifc(made, ifc);
        assert_string_equal(ifc, vec_expect_word(c, "ifc"));
    }
    vec_close(file);
}

static void ifc_extremes_give_first_and_last_digits(void **state)
{
    dm_uuid uuid;
    char ifc[23];

    (void)state;
    memset(uuid.byte, 0, sizeof uuid.byte);
    dm_uuid_ifc(uuid, ifc);
    assert_string_equal(ifc, "0000000000000000000000");
    memset(uuid.byte, 0xff, sizeof uuid.byte);
    dm_uuid_ifc(uuid, ifc);
    assert_string_equal(ifc, "3$$$$$$$$$$$$$$$$$$$$$");
}

/* Long division of the 128-bit number by 64: nothing but the definition. */
static void ifc_each_bit_agrees_with_long_division(void **state)
{
    static const char digit[] = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
                                "abcdefghijklmnopqrstuvwxyz_$";
    int bit, i, k;

    (void)state;
    for (bit = 0; bit < 128; bit++) {
        char expected[23] = "", ifc[23];
        uint8_t rest[16];
        dm_uuid uuid;

        for (i = 0; i < 16; i++)
            uuid.byte[i] = (uint8_t)(bit * 7 + i * 29);
        uuid.byte[bit / 8] ^= (uint8_t)(1 << bit % 8);
        memcpy(rest, uuid.byte, 16);
        for (k = 21; k >= 0; k--) {
            unsigned carry = 0;

            for (i = 0; i < 16; i++) {
                carry = carry << 8 | rest[i];
                rest[i] = (uint8_t)(carry / 64);
                carry %= 64;
            }
            expected[k] = digit[carry];
        }
        dm_uuid_ifc(uuid, ifc);
        assert_string_equal(ifc, expected);
    }
}

static void parse_either_case_round_trips_to_lower(void **state)
{
    dm_uuid uuid;
    char text[37];

    (void)state;
    assert_true(dm_uuid_parse("6BA7B810-9DAD-11D1-80B4-00C04FD430C8", &uuid));
    dm_uuid_text(uuid, text);
    assert_string_equal(text, "6ba7b810-9dad-11d1-80b4-00c04fd430c8");
}

static void parse_malformed_text_is_refused(void **state)
{
    static const char *const bad[] = {
        "",
        "6ba7b810-9dad-11d1-80b4-00c04fd430c",
        "6ba7b810-9dad-11d1-80b4-00c04fd430c80",
        "6ba7b8109dad11d180b400c04fd430c8",
        "{6ba7b810-9dad-11d1-80b4-00c04fd430c8}",
        "6ba7b81g-9dad-11d1-80b4-00c04fd430c8",
        "6ba7b810-9dad-11d1-80b4_00c04fd430c8",
        " 6ba7b810-9dad-11d1-80b4-00c04fd430c8",
    };
    const dm_uuid zero = {{0}};
    dm_uuid uuid;
    size_t i;

    (void)state;
    for (i = 0; i < sizeof bad / sizeof *bad; i++) {
        assert_false(dm_uuid_parse(bad[i], &uuid));
        assert_memory_equal(&uuid, &zero, sizeof zero);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(name_published_examples_give_their_uuid),
        cmocka_unit_test(ifc_extremes_give_first_and_last_digits),
        cmocka_unit_test(ifc_each_bit_agrees_with_long_division),
        cmocka_unit_test(parse_either_case_round_trips_to_lower),
        cmocka_unit_test(parse_malformed_text_is_refused),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
