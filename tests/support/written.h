/* SPDX-License-Identifier: MIT
 * Runs a writer into a folder of its own below TMPDIR and reads files back. */
#ifndef WRITTEN_H
#define WRITTEN_H

#include "base/buf.h"
#include "ductmark/write.h"

typedef struct {
    char folder[256];
} written;

/* Runs the named writer and commits. On failure nothing is left behind. */
dm_status written_new(const dm_delivery *delivery, const char *writer,
                      written *out);
/* Reads one file whole; fails the test if it is not there. */
void written_read(const written *w, const char *name, dm_buf *out);
/* Path of a file, in a buffer of 512. */
void written_path(const written *w, const char *name, char out[512]);
/* Removes the folder and the files in it. */
void written_free(written *w);

#endif
