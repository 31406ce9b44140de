/* SPDX-License-Identifier: MIT
 * Lines and cells of a CSV file (RFC 4180 but for line breaks inside quotes,
 * which readings do not need), streamed from one buffer. */
#ifndef DM_SURVEY_CSV_H
#define DM_SURVEY_CSV_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/file.h"
#include "ductmark/status.h"

#define CSV_LONGEST_LINE ((size_t)64 * 1024)
#define CSV_MOST_COLUMNS 256
/* Bytes after buffer[whole] that may be looked at without a check: a segment
 * name (a schema text has at most 250 characters of 4 bytes) or a word. */
#define CSV_PADDING ((size_t)1024)

/* A place in the file: begin of a line, and the count of lines before it. */
typedef struct {
    uint64_t offset;
    long line;
} csv_mark;

typedef struct {
    int fd;
    const char *path;
    const char *what; /* the file should be, for messages */
    char *buffer;     /* heap; NULL: closed */
    size_t begin;     /* of the next line */
    size_t whole;     /* past the last line end in the buffer */
    size_t end;       /* past the last byte */
    uint64_t offset;  /* file offset of buffer[0] */
    uint64_t hashed;  /* bytes of the file already in the hash */
    dm_sha256 *hash;  /* NULL: not wanted */
    bool eof;         /* the buffer holds the file's last byte */
    long line;        /* lines before buffer[begin] */
} csv_file;

typedef struct {
    const char *text;
    size_t length;
    bool quoted; /* stood in quotes; a doubled quote inside is still double */
} csv_cell;

/* Opens a regular file; `from` is the place that names it, for the message. */
dm_status csv_open(csv_file *f, const char *path, dm_place from, dm_diag *diag);
/* Takes over an open descriptor that need not be a file, such as standard
 * input; without a hash, and not to be sought in. */
dm_status csv_attach(csv_file *f, int fd, const char *name, dm_diag *diag);
void csv_close(csv_file *f);

/* Brings the next whole lines into the buffer if there is none; afterwards
 * begin == whole only at the end of the file. A last line without a line end
 * gets one. A line longer than 64 KiB is an error. */
dm_status csv_fill(csv_file *f, dm_diag *diag);
/* Next line that is neither blank nor a comment, without its end (LF or
 * CRLF); *line is NULL at the end of the file. Valid until the next call. */
dm_status csv_line(csv_file *f, dm_diag *diag, const char **line,
                   size_t *length);

/* Where the line at `line`, which csv_line returned last, begins. */
csv_mark csv_tell(const csv_file *f, const char *line);
/* Goes to a line that was seen before. */
dm_status csv_seek(csv_file *f, csv_mark mark, dm_diag *diag);

/* SHA-256 of the whole file; reads on to its end. Once per opening. */
dm_status csv_sha256(csv_file *f, dm_diag *diag, char out[65]);

/* Splits a line into at most `most` cells, quotes and blanks round a cell
 * taken off. With ' ' as the delimiter blanks in a row are one. Returns the
 * count; most + 1: there are more. */
size_t csv_split(const char *line, size_t length, char delimiter,
                 csv_cell *cells, size_t most);
bool csv_same(const csv_cell *cell, const char *text);

#endif
