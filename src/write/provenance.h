/* SPDX-License-Identifier: MIT
 * Where results come from and what they must not be read without: the inputs
 * with their SHA-256, the criteria's rules in words, the cautions. Shared by
 * the writers that carry them. */
#ifndef DM_WRITE_PROVENANCE_H
#define DM_WRITE_PROVENANCE_H

#include "base/arena.h"
#include "base/buf.h"
#include "ductmark/write.h"

typedef struct {
    const char *role; /* "job", "bridge", "field book", "criteria",
                         "register", "readings" */
    const char *file; /* bare name: folders differ between machines */
    const char *sha256;
} dm_input;

/* Every input once: the job's files in the job's order, then the readings
 * files by name. In the arena. */
dm_status dm_inputs(const dm_delivery *delivery, dm_arena *arena,
                    dm_input **items, size_t *count);

/* One rule in words: "severe: void-like, at least 0.5 m long". */
void dm_rule_text(const dm_criteria *criteria, const dm_rule *rule,
                  dm_buf *out);

/* The cautions of every delivery, one sentence each; NULL at the end. */
const char *const *dm_cautions(void);

#endif
