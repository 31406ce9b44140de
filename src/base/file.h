/* SPDX-License-Identifier: MIT
 * Reading whole files, and writing sets of files that appear together or not
 * at all. Files are compared by device and inode, so that an output never
 * replaces an input. */
#ifndef DM_BASE_FILE_H
#define DM_BASE_FILE_H

#include <stdbool.h>
#include <stdint.h>

#include "base/arena.h"
#include "base/buf.h"
#include "ductmark/status.h"

/* Reads a file of at most `limit` bytes into *out (heap, in the buffer).
 * `from` is the place that named the file, for the message. */
dm_status dm_file_read(const char *path, size_t limit, dm_place from,
                       dm_diag *diag, dm_buf *out);

/* What stands behind the last slash: folders differ between machines. */
const char *dm_path_name(const char *path);

/* `href` as written in the file `base`: relative names are taken from the
 * folder of `base`. Returned string lives in the arena. */
char *dm_path_resolve(dm_arena *arena, const char *base, const char *href);

/* A set of output files in one folder (created if absent, parents too). Every
 * file is written under a temporary name beside its target; dm_outset_commit
 * flushes, closes and renames all; dm_outset_free without a commit removes
 * the temporaries. Used from one thread at a time. */
typedef struct dm_outset dm_outset;
typedef struct dm_out dm_out;

dm_status dm_outset_new(const char *folder, dm_diag *diag, dm_outset **out);
/* Names a file that must never be written over. */
dm_status dm_outset_protect(dm_outset *set, const char *path);
/* A new file `name` (a bare file name, no slash). Two of one name: error. */
dm_status dm_outset_open(dm_outset *set, const char *name, dm_out **out);
dm_status dm_outset_commit(dm_outset *set);
void dm_outset_free(dm_outset *set);
/* Names in the order of opening; i < dm_outset_count. Valid until free. */
size_t dm_outset_count(const dm_outset *set);
const char *dm_outset_name(const dm_outset *set, size_t i);
uint64_t dm_outset_size(const dm_outset *set, size_t i);

/* Buffered append. Errors are remembered and reported by commit. */
void dm_out_put(dm_out *out, const void *bytes, size_t length);
void dm_out_puts(dm_out *out, const char *text);
/* Room for `length` (<= 64 KiB) bytes to be filled in place, then
 * dm_out_advance by what was used: the fast path of the text writers. */
char *dm_out_reserve(dm_out *out, size_t length);
void dm_out_advance(dm_out *out, size_t used);
/* Flushes and closes the file before the commit and gives its buffer back:
 * for sets of very many files. Nothing may be put into it afterwards. */
void dm_out_done(dm_out *out);

/* SHA-256 (OpenSSL's, in file.c's sibling hash.c only). */
typedef struct dm_sha256 dm_sha256;
dm_sha256 *dm_sha256_new(void);
void dm_sha256_update(dm_sha256 *hash, const void *bytes, size_t length);
void dm_sha256_hex(dm_sha256 *hash, char out[65]);
void dm_sha256_free(dm_sha256 *hash);

/* The one function that turns an id into a file name: keeps A-Z a-z 0-9 . _ -
 * (not a leading dot), every other byte becomes _XX in hex; at most 100
 * bytes, longer ones are cut and given a hash. Lives in the arena. */
char *dm_file_name(dm_arena *arena, const char *id);

#endif
