/* SPDX-License-Identifier: MIT
 * Lets the Nth allocation fail. The test programs are linked with the
 * linker's --wrap for malloc, calloc and realloc, so that every call from
 * our own objects comes through here; calls inside shared libraries do not.
 * Threads may allocate meanwhile: the counter is atomic. */
#ifndef DM_TEST_ALLOCFAIL_H
#define DM_TEST_ALLOCFAIL_H

#include <stdbool.h>
#include <stddef.h>

#include "ductmark/status.h"

/* From now on the nth allocation (1: the next) returns NULL, once. */
void allocfail_arm(size_t nth);
/* Ends it; true: an allocation was made to fail. */
bool allocfail_disarm(void);

/* Bytes that were asked for so far, freed or not. */
size_t allocfail_asked(void);

/* Calls run(user) with the 1st, 2nd, ... allocation failing, until a call
 * gets by without reaching its failure. Fails the test unless each call that
 * lost an allocation returned DM_NOMEM and the last one DM_OK. `run` frees
 * what it made, so that the leak checker sees what an error path forgets.
 * Returns how many allocations were made to fail. */
size_t allocfail_each(dm_status (*run)(void *user), void *user);

#endif
