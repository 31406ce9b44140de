/* SPDX-License-Identifier: MIT
 * Counts allocations down to the one that fails; see allocfail.h. */
#include "allocfail.h"

#include <stdatomic.h>

#include "near.h"

void *__real_malloc(size_t size);
void *__real_calloc(size_t count, size_t size);
void *__real_realloc(void *old, size_t size);
void *__wrap_malloc(size_t size);
void *__wrap_calloc(size_t count, size_t size);
void *__wrap_realloc(void *old, size_t size);

/* Allocations left until the failing one; 0 or less: none is to fail, which
 * is also where the counter stands after the failure. */
static atomic_long left;
static atomic_bool armed;

/* Bytes asked for, by whoever; a realloc counts with its whole new size. */
static atomic_size_t asked;

static bool fails_now(size_t size)
{
    atomic_fetch_add(&asked, size);
    return atomic_load(&armed) && atomic_fetch_sub(&left, 1) == 1;
}

void *__wrap_malloc(size_t size)
{
    return fails_now(size) ? NULL : __real_malloc(size);
}

void *__wrap_calloc(size_t count, size_t size)
{
    return fails_now(count * size) ? NULL : __real_calloc(count, size);
}

void *__wrap_realloc(void *old, size_t size)
{
    return fails_now(size) ? NULL : __real_realloc(old, size);
}

size_t allocfail_asked(void)
{
    return atomic_load(&asked);
}

void allocfail_arm(size_t nth)
{
    atomic_store(&left, (long)nth);
    atomic_store(&armed, true);
}

bool allocfail_disarm(void)
{
    atomic_store(&armed, false);
    return atomic_load(&left) <= 0;
}

size_t allocfail_each(dm_status (*run)(void *user), void *user)
{
    size_t nth;

    for (nth = 1;; nth++) {
        dm_status status;
        bool hit;

        allocfail_arm(nth);
        status = run(user);
        hit = allocfail_disarm();
        if (!hit) {
            assert_int_equal(status, DM_OK);
            return nth - 1;
        }
        if (status != DM_NOMEM)
            fail_msg("allocation %zu failed, but the status was: %s", nth,
                     dm_status_text(status));
    }
}
