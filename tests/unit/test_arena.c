/* SPDX-License-Identifier: MIT
 * Arena, overflow-checked sizes and growable arrays. */
#include "base/arena.h"

#include <stdlib.h>
#include <string.h>

#include "allocfail.h"
#include "near.h"

static void alloc_many_sizes_is_zeroed_aligned_and_disjoint(void **state)
{
    enum { COUNT = 3000 };
    static unsigned char *item[COUNT];
    static size_t size[COUNT];
    dm_arena *arena = dm_arena_new();
    size_t i, j;

    (void)state;
    assert_non_null(arena);
    for (i = 0; i < COUNT; i++) {
        size[i] = i * 37 % 701 + (i % 500 == 0 ? 300000 : 0);
        item[i] = dm_arena_alloc(arena, size[i], 1);
        assert_non_null(item[i]);
        assert_int_equal((uintptr_t)item[i] % _Alignof(max_align_t), 0);
        for (j = 0; j < size[i]; j++)
            assert_int_equal(item[i][j], 0);
        memset(item[i], (int)(i % 255) + 1, size[i]);
    }
    for (i = 0; i < COUNT; i++) /* nobody wrote into a neighbour */
        for (j = 0; j < size[i]; j++)
            assert_int_equal(item[i][j], i % 255 + 1);
    dm_arena_free(arena);
}

static void alloc_zero_bytes_returns_distinct_pointers(void **state)
{
    dm_arena *arena = dm_arena_new();
    void *a = dm_arena_alloc(arena, 0, 8);
    void *b = dm_arena_alloc(arena, 8, 0);

    (void)state;
    assert_non_null(a);
    assert_non_null(b);
    assert_ptr_not_equal(a, b);
    dm_arena_free(arena);
}

static void alloc_overflow_returns_null_and_arena_goes_on(void **state)
{
    dm_arena *arena = dm_arena_new();

    (void)state;
    assert_null(dm_arena_alloc(arena, SIZE_MAX / 2, 3));
    assert_null(dm_arena_alloc(arena, SIZE_MAX, 1));
    assert_null(dm_arena_strndup(arena, "x", SIZE_MAX));
    assert_non_null(dm_arena_alloc(arena, 1, 1));
    dm_arena_free(arena);
}

static void size_mul_at_the_limit_is_exact(void **state)
{
    size_t out = 7;

    (void)state;
    assert_true(dm_size_mul(SIZE_MAX / 3, 3, &out));
    assert_int_equal(out, SIZE_MAX / 3 * 3);
    assert_true(dm_size_mul(0, SIZE_MAX, &out));
    assert_int_equal(out, 0);
    assert_true(dm_size_mul(SIZE_MAX, 0, &out));
    assert_false(dm_size_mul(SIZE_MAX / 3 + 1, 3, &out));
}

static void strdup_and_printf_copy_text(void **state)
{
    dm_arena *arena = dm_arena_new();
    char text[] = "tendon";
    char *copy = dm_arena_strdup(arena, text);
    char *part = dm_arena_strndup(arena, text, 3);
    char *made = dm_arena_printf(arena, "%s-%d-%0*d", text, 12, 5000, 7);

    (void)state;
    text[0] = 'X';
    assert_string_equal(copy, "tendon");
    assert_string_equal(part, "ten");
    assert_int_equal(strlen(made), 6 + 1 + 2 + 1 + 5000);
    assert_memory_equal(made, "tendon-12-000", 13);
    assert_string_equal(dm_arena_strndup(arena, NULL, 0), "");
    dm_arena_free(arena);
}

static void free_null_does_nothing(void **state)
{
    (void)state;
    dm_arena_free(NULL);
}

static void grow_keeps_the_items(void **state)
{
    double *v = NULL;
    size_t n = 0, capacity = 0, i;

    (void)state;
    for (i = 0; i < 5000; i++) {
        assert_true(DM_GROW(v, n, capacity));
        assert_true(capacity > n);
        v[n++] = (double)i;
    }
    for (i = 0; i < n; i++)
        assert_true(v[i] == (double)i);
    free(v);
}

static void grow_without_memory_changes_nothing(void **state)
{
    int *v = NULL, *before;
    size_t n = 0, capacity = 0, full;

    (void)state;
    do {
        assert_true(DM_GROW(v, n, capacity));
        v[n] = (int)n;
        n++;
    } while (n < capacity);
    before = v;
    full = capacity;
    allocfail_arm(1);
    assert_false(DM_GROW(v, n, capacity));
    assert_true(allocfail_disarm());
    assert_ptr_equal(v, before);
    assert_int_equal(capacity, full);
    assert_int_equal(v[n - 1], n - 1);
    free(v);
}

static void grow_beyond_the_address_space_returns_false(void **state)
{
    int *v = NULL;
    size_t capacity = SIZE_MAX / 2 + 1;

    (void)state;
    assert_false(DM_GROW(v, capacity, capacity));
    assert_null(v);
    capacity = SIZE_MAX / 4;
    assert_false(DM_GROW(v, capacity, capacity));
    assert_int_equal(capacity, SIZE_MAX / 4);
}

static dm_status use_arena(void *user)
{
    dm_arena *arena = dm_arena_new();
    bool fine;

    (void)user;
    if (arena == NULL)
        return DM_NOMEM;
    fine = DM_NEW_ARRAY(arena, double, 100) != NULL &&
           DM_NEW_ARRAY(arena, double, 100000) != NULL &&
           dm_arena_printf(arena, "%05000d", 1) != NULL &&
           dm_arena_strdup(arena, "a") != NULL;
    dm_arena_free(arena);
    return fine ? DM_OK : DM_NOMEM;
}

static void every_allocation_failing_is_reported(void **state)
{
    (void)state;
    assert_true(allocfail_each(use_arena, NULL) >= 3);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(alloc_many_sizes_is_zeroed_aligned_and_disjoint),
        cmocka_unit_test(alloc_zero_bytes_returns_distinct_pointers),
        cmocka_unit_test(alloc_overflow_returns_null_and_arena_goes_on),
        cmocka_unit_test(size_mul_at_the_limit_is_exact),
        cmocka_unit_test(strdup_and_printf_copy_text),
        cmocka_unit_test(free_null_does_nothing),
        cmocka_unit_test(grow_keeps_the_items),
        cmocka_unit_test(grow_without_memory_changes_nothing),
        cmocka_unit_test(grow_beyond_the_address_space_returns_false),
        cmocka_unit_test(every_allocation_failing_is_reported),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
