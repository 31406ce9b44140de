/* SPDX-License-Identifier: MIT
 * Messages to a sink, and the sink that keeps them. */
#include "base/diag.h"

#include <stdio.h>
#include <string.h>

#include "allocfail.h"
#include "near.h"

typedef struct {
    size_t count;
    dm_message last;
    char text[2048];
    char all[4096];
} heard;

static void hear(void *user, const dm_message *message)
{
    heard *h = user;
    size_t end = strlen(h->all);

    h->count++;
    h->last = *message;
    snprintf(h->text, sizeof h->text, "%s", message->text);
    snprintf(h->all + end, sizeof h->all - end, "%s:%ld:%s:%d:%s|",
             message->place.file ? message->place.file : "-",
             message->place.line, message->subject ? message->subject : "-",
             (int)message->severity, message->text);
}

static const dm_place here = {"bridge.xml", 12};

static void status_text_each_status_is_distinct(void **state)
{
    int i, j;

    (void)state;
    for (i = 0; i < (int)DM_STATUS_COUNT; i++) {
        assert_non_null(dm_status_text((dm_status)i));
        assert_string_not_equal(dm_status_text((dm_status)i), "unknown status");
        for (j = 0; j < i; j++)
            assert_string_not_equal(dm_status_text((dm_status)i),
                                    dm_status_text((dm_status)j));
    }
    assert_string_equal(dm_status_text(DM_STATUS_COUNT), "unknown status");
    assert_string_equal(dm_status_text((dm_status)1000), "unknown status");
}

static void error_reaches_the_sink_and_returns_its_status(void **state)
{
    heard h = {0};
    dm_diag diag = {hear, &h, 0, 0};

    (void)state;
    assert_int_equal(dm_error(&diag, DM_RANGE, here, "tendon T1", "is %d", 5),
                     DM_RANGE);
    assert_int_equal(diag.errors, 1);
    assert_int_equal(diag.warnings, 0);
    assert_int_equal(h.last.status, DM_RANGE);
    assert_string_equal(h.all, "bridge.xml:12:tendon T1:2:is 5|");
}

static void warning_and_note_are_counted_apart(void **state)
{
    heard h = {0};
    dm_diag diag = {hear, &h, 0, 0};
    dm_place nowhere = {NULL, 0};

    (void)state;
    dm_warn(&diag, here, NULL, "w");
    dm_note(&diag, nowhere, NULL, "n");
    assert_int_equal(diag.errors, 0);
    assert_int_equal(diag.warnings, 1);
    assert_string_equal(h.all, "bridge.xml:12:-:1:w|-:0:-:0:n|");
}

static void null_sink_is_silent(void **state)
{
    dm_diag mute = {NULL, NULL, 0, 0};

    (void)state;
    assert_int_equal(dm_error(NULL, DM_IO, here, NULL, "x"), DM_IO);
    dm_warn(NULL, here, NULL, "x");
    dm_note(NULL, here, NULL, "x");
    assert_int_equal(dm_error(&mute, DM_IO, here, NULL, "x"), DM_IO);
    assert_int_equal(mute.errors, 1);
}

static void text_with_control_characters_stays_one_line(void **state)
{
    heard h = {0};
    dm_diag diag = {hear, &h, 0, 0};

    (void)state;
    dm_warn(&diag, here, NULL, "a\nb\tc\x1b[31m\x7f %s", "d\r");
    assert_string_equal(h.text, "a b c?[31m? d ");
}

static void long_text_is_whole_or_its_beginning_without_memory(void **state)
{
    heard h = {0};
    dm_diag diag = {hear, &h, 0, 0};

    (void)state;
    dm_warn(&diag, here, NULL, "%01500d", 7);
    assert_int_equal(strlen(h.text), 1500);
    allocfail_arm(1);
    dm_warn(&diag, here, NULL, "%01500d", 7);
    assert_true(allocfail_disarm());
    assert_int_equal(strlen(h.text), 511);
    assert_int_equal(h.count, 2);
}

static void store_replays_deep_copies_in_order(void **state)
{
    heard h = {0};
    dm_diag diag = {hear, &h, 0, 0};
    dm_diag_store *store = dm_diag_store_new();
    char file[] = "a.xml", subject[] = "run R1";
    dm_place place = {file, 3};

    (void)state;
    assert_non_null(store);
    dm_error(dm_diag_store_sink(store), DM_SYNTAX, place, subject, "first");
    dm_warn(dm_diag_store_sink(store), place, NULL, "second");
    file[0] = subject[0] = 'X';
    assert_int_equal(dm_diag_store_sink(store)->errors, 1);
    assert_int_equal(dm_diag_store_replay(store, &diag), DM_OK);
    assert_string_equal(h.all, "a.xml:3:run R1:2:first|a.xml:3:-:1:second|");
    assert_int_equal(diag.errors, 1);
    assert_int_equal(diag.warnings, 1);
    assert_int_equal(dm_diag_store_replay(store, NULL), DM_OK);
    dm_diag_store_free(store);
    dm_diag_store_free(NULL);
}

static dm_status store_some(void *user)
{
    dm_diag_store *store = dm_diag_store_new();
    dm_status status;
    int i;

    if (store == NULL)
        return DM_NOMEM;
    for (i = 0; i < 100; i++)
        dm_warn(dm_diag_store_sink(store), here, "s", "%0200d", i);
    status = dm_diag_store_replay(store, user);
    dm_diag_store_free(store);
    return status;
}

static void store_without_memory_says_so_at_replay(void **state)
{
    (void)state;
    assert_true(allocfail_each(store_some, NULL) >= 4);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(status_text_each_status_is_distinct),
        cmocka_unit_test(error_reaches_the_sink_and_returns_its_status),
        cmocka_unit_test(warning_and_note_are_counted_apart),
        cmocka_unit_test(null_sink_is_silent),
        cmocka_unit_test(text_with_control_characters_stays_one_line),
        cmocka_unit_test(long_text_is_whole_or_its_beginning_without_memory),
        cmocka_unit_test(store_replays_deep_copies_in_order),
        cmocka_unit_test(store_without_memory_says_so_at_replay),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
