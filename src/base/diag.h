/* SPDX-License-Identifier: MIT
 * Emitting messages, and a sink that keeps them for later replay (used by
 * parallel work, so that messages come out in a fixed order). */
#ifndef DM_BASE_DIAG_H
#define DM_BASE_DIAG_H

#include <stdarg.h>

#include "ductmark/status.h"

#if defined(__GNUC__)
#define DM_PRINTF(f, a) __attribute__((format(printf, f, a)))
#else
#define DM_PRINTF(f, a)
#endif

/* Emits one error and returns `status`. `diag` may be NULL. The format must
 * not print floating-point numbers with %f/%g (the locale would show); format
 * them with dm_num_* first and print the string. */
dm_status dm_error(dm_diag *diag, dm_status status, dm_place place,
                   const char *subject, const char *format, ...)
    DM_PRINTF(5, 6);
void dm_warn(dm_diag *diag, dm_place place, const char *subject,
             const char *format, ...) DM_PRINTF(4, 5);
void dm_note(dm_diag *diag, dm_place place, const char *subject,
             const char *format, ...) DM_PRINTF(4, 5);

/* A sink that stores deep copies. Memory failure while storing is remembered
 * and turns the replay's result into DM_NOMEM. */
typedef struct dm_diag_store dm_diag_store;
dm_diag_store *dm_diag_store_new(void);
dm_diag *dm_diag_store_sink(dm_diag_store *store);
dm_status dm_diag_store_replay(const dm_diag_store *store, dm_diag *to);
void dm_diag_store_free(dm_diag_store *store);

#endif
