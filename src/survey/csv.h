/* SPDX-License-Identifier: MIT
 * Lines and cells of a CSV file, streamed from one buffer. */
#ifndef DM_SURVEY_CSV_H
#define DM_SURVEY_CSV_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/file.h"
#include "ductmark/status.h"

#define CSV_LONGEST_LINE 65536
#define CSV_MOST_COLUMNS 256

typedef struct {
    int fd;
    const char *path;
    char *buffer; /* heap */
    size_t begin, end;
    uint64_t offset; /* file offset of buffer[end] */
    uint64_t hashed; /* bytes already in the hash */
    dm_sha256 *hash;
    bool eof;
    long line; /* of the line last returned */
    char delimiter;
} csv_file;

typedef struct {
    const char *text;
    size_t length;
} csv_cell;

/* Opens; `from` is the place that names the file, for the message. */
dm_status csv_open(csv_file *f, const char *path, char delimiter, dm_place from,
                   dm_diag *diag);
void csv_close(csv_file *f);
/* Next line that is neither blank nor a comment, without its end (LF or
 * CRLF; a byte order mark at the begin is passed over). *length is 0 and
 * *line NULL at the end of the file. The text is valid until the next call. */
dm_status csv_line(csv_file *f, dm_diag *diag, const char **line,
                   size_t *length);
/* Steps back so that the line last returned is returned again. */
void csv_unread(csv_file *f, const char *line);
/* Back to the first byte. */
dm_status csv_rewind(csv_file *f, dm_diag *diag);
/* Reads to the end and finishes the hash. */
dm_status csv_sha256(csv_file *f, dm_diag *diag, char out[65]);
/* Splits a line into at most `most` cells; quotes are taken off, blanks round
 * a cell too. Returns the count. */
size_t csv_split(const char *line, size_t length, char delimiter,
                 csv_cell *cells, size_t most);

#endif
