/* SPDX-License-Identifier: MIT
 * One buffer that slides over the file (RFC 4180 but for line breaks inside
 * quotes, which readings do not need). The hash is fed as bytes come in. */
#define _POSIX_C_SOURCE 200809L
#include "survey/csv.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/diag.h"

#define BUFFER ((size_t)1 << 18)

static dm_status io_error(const csv_file *f, dm_diag *diag)
{
    return dm_error(diag, DM_IO, (dm_place){f->path, 0}, NULL, "%s",
                    strerror(errno));
}

dm_status csv_open(csv_file *f, const char *path, char delimiter, dm_place from,
                   dm_diag *diag)
{
    struct stat st;
    *f = (csv_file){.fd = -1, .path = path, .delimiter = delimiter};
    f->fd = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK);
    if (f->fd < 0)
        return dm_error(diag, DM_IO, from, NULL, "cannot open %s: %s", path,
                        strerror(errno));
    if (fstat(f->fd, &st) != 0 || !S_ISREG(st.st_mode)) {
        csv_close(f);
        return dm_error(diag, DM_IO, from, NULL, "%s is not a file", path);
    }
    f->buffer = malloc(BUFFER + 1);
    f->hash = dm_sha256_new();
    if (f->buffer && f->hash)
        return DM_OK;
    csv_close(f);
    return dm_error(diag, DM_NOMEM, from, NULL, "out of memory");
}

void csv_close(csv_file *f)
{
    if (f->fd >= 0)
        close(f->fd);
    free(f->buffer);
    dm_sha256_free(f->hash);
    *f = (csv_file){.fd = -1};
}

/* Slides what is left to the front and fills up. */
static dm_status fill(csv_file *f, dm_diag *diag)
{
    size_t left = f->end - f->begin;
    memmove(f->buffer, f->buffer + f->begin, left);
    f->begin = 0;
    f->end = left;
    ssize_t n;
    do {
        n = read(f->fd, f->buffer + f->end, BUFFER - f->end);
    } while (n < 0 && errno == EINTR);
    if (n < 0)
        return io_error(f, diag);
    f->eof = n == 0;
    if (f->offset + (uint64_t)n > f->hashed) {
        /* After a rewind the first bytes were hashed already. */
        uint64_t known = f->hashed > f->offset ? f->hashed - f->offset : 0;
        dm_sha256_update(f->hash, f->buffer + f->end + known,
                         (size_t)n - (size_t)known);
        f->hashed = f->offset + (uint64_t)n;
    }
    f->offset += (uint64_t)n;
    f->end += (size_t)n;
    if (f->line == 0 && f->end >= 3 &&
        memcmp(f->buffer, "\xEF\xBB\xBF", 3) == 0)
        f->begin = 3;
    return DM_OK;
}

/* One raw line; *line NULL at the end. */
static dm_status raw_line(csv_file *f, dm_diag *diag, const char **line,
                          size_t *length)
{
    for (;;) {
        char *from = f->buffer + f->begin;
        char *end = memchr(from, '\n', f->end - f->begin);
        bool whole = end != NULL;
        if (!whole && f->eof) {
            if (f->begin == f->end) {
                *line = NULL;
                *length = 0;
                return DM_OK;
            }
            end = f->buffer + f->end;
        }
        if (end) {
            *line = from;
            *length = (size_t)(end - from);
            f->begin += *length + whole;
            f->line++;
            if (*length > 0 && from[*length - 1] == '\r')
                --*length;
            if (*length <= CSV_LONGEST_LINE)
                return DM_OK;
        }
        if (end || f->end - f->begin > CSV_LONGEST_LINE)
            return dm_error(diag, DM_SYNTAX,
                            (dm_place){f->path, f->line + !end}, NULL,
                            "a line longer than 64 KiB: not a readings file");
        dm_status status = fill(f, diag);
        if (status != DM_OK)
            return status;
    }
}

dm_status csv_line(csv_file *f, dm_diag *diag, const char **line,
                   size_t *length)
{
    for (;;) {
        dm_status status = raw_line(f, diag, line, length);
        if (status != DM_OK || !*line)
            return status;
        size_t blank = 0;
        while (blank < *length &&
               ((*line)[blank] == ' ' || (*line)[blank] == '\t'))
            blank++;
        if (blank < *length && (*line)[blank] != '#')
            return DM_OK;
    }
}

void csv_unread(csv_file *f, const char *line)
{
    f->begin = (size_t)(line - f->buffer);
    f->line--;
}

dm_status csv_rewind(csv_file *f, dm_diag *diag)
{
    if (lseek(f->fd, 0, SEEK_SET) != 0)
        return io_error(f, diag);
    f->begin = f->end = 0;
    f->offset = 0;
    f->line = 0;
    f->eof = false;
    return DM_OK;
}

dm_status csv_sha256(csv_file *f, dm_diag *diag, char out[65])
{
    while (!f->eof) {
        f->begin = f->end;
        dm_status status = fill(f, diag);
        if (status != DM_OK)
            return status;
    }
    dm_sha256_hex(f->hash, out);
    return DM_OK;
}

static csv_cell trimmed(const char *text, size_t length)
{
    while (length > 0 && (*text == ' ' || *text == '\t')) {
        text++;
        length--;
    }
    while (length > 0 && (text[length - 1] == ' ' || text[length - 1] == '\t'))
        length--;
    if (length >= 2 && *text == '"' && text[length - 1] == '"') {
        text++;
        length -= 2;
    }
    return (csv_cell){text, length};
}

size_t csv_split(const char *line, size_t length, char delimiter,
                 csv_cell *cells, size_t most)
{
    size_t n = 0, at = 0;
    while (n < most) {
        while (delimiter == ' ' && at < length && line[at] == ' ')
            at++;
        size_t from = at;
        bool quoted = false;
        while (at < length && (quoted || line[at] != delimiter)) {
            if (line[at] == '"')
                quoted = !quoted;
            at++;
        }
        cells[n++] = trimmed(line + from, at - from);
        if (at >= length)
            break;
        at++;
    }
    return n;
}
