/* SPDX-License-Identifier: MIT
 * One buffer slides over the file. Bytes go into the hash as they come in for
 * the first time, so that the hash costs no pass of its own. */
#define _POSIX_C_SOURCE 200809L
#include "survey/csv.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/diag.h"

#define BUFFER ((size_t)256 * 1024)

/* ---- the buffer --------------------------------------------------------- */

static dm_status io_error(const char *path, dm_place place, dm_diag *diag)
{
    char reason[128];

    if (strerror_r(errno, reason, sizeof reason) != 0)
        strcpy(reason, "unknown reason");
    return dm_error(diag, DM_IO, place, NULL, "cannot read '%s': %s", path,
                    reason);
}

static dm_status get_buffer(csv_file *f, dm_place from, dm_diag *diag)
{
    /* One more byte for a line end that the file lacks. */
    f->buffer = calloc(1, BUFFER + 1 + CSV_PADDING);
    return f->buffer != NULL
               ? DM_OK
               : dm_error(diag, DM_NOMEM, from, NULL, "out of memory");
}

dm_status csv_attach(csv_file *f, int fd, const char *name, dm_diag *diag)
{
    *f = (csv_file){.fd = fd, .path = name, .what = "a table"};
    return get_buffer(f, (dm_place){name, 0}, diag);
}

dm_status csv_open(csv_file *f, const char *path, dm_place from, dm_diag *diag)
{
    struct stat info;
    dm_status status = DM_OK;

    *f = (csv_file){.path = path, .what = "a readings file"};
    f->fd = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK | O_NOCTTY);
    if (f->fd < 0)
        return io_error(path, from, diag);
    if (fstat(f->fd, &info) != 0)
        status = io_error(path, from, diag);
    else if (!S_ISREG(info.st_mode))
        status = dm_error(diag, DM_IO, from, NULL,
                          "cannot read '%s': not a regular file", path);
    if (status == DM_OK) {
        f->hash = dm_sha256_new();
        status = get_buffer(f, from, diag);
        if (status == DM_OK && f->hash == NULL)
            status = dm_error(diag, DM_NOMEM, from, NULL, "out of memory");
    }
    if (status != DM_OK) {
        close(f->fd);
        f->fd = -1;
        csv_close(f);
    }
    return status;
}

void csv_close(csv_file *f)
{
    if (f->buffer != NULL && f->fd >= 0)
        close(f->fd);
    free(f->buffer);
    dm_sha256_free(f->hash);
    *f = (csv_file){.fd = -1};
}

/* Reads once more behind what is in the buffer. */
static dm_status read_more(csv_file *f, dm_diag *diag)
{
    uint64_t at = f->offset + f->end;
    ssize_t got;

    do
        got = read(f->fd, f->buffer + f->end, BUFFER - f->end);
    while (got < 0 && errno == EINTR);
    if (got < 0)
        return io_error(f->path, (dm_place){f->path, 0}, diag);
    f->eof = got == 0;
    if (f->hash != NULL && at + (uint64_t)got > f->hashed) {
        /* After a seek back the first of these were hashed already. */
        size_t known = (size_t)(f->hashed - at);

        dm_sha256_update(f->hash, f->buffer + f->end + known,
                         (size_t)got - known);
        f->hashed = at + (uint64_t)got;
    }
    f->end += (size_t)got;
    return DM_OK;
}

/* Moves `whole` past the last line end among the bytes from `old` on. */
static void find_whole(csv_file *f, size_t old)
{
    size_t at = f->end;

    if (f->eof && f->end > f->whole) {
        f->buffer[f->end] = '\n'; /* beyond the file: not hashed */
        f->whole = ++f->end;
        return;
    }
    while (at > old && f->buffer[at - 1] != '\n')
        at--;
    if (at > old)
        f->whole = at;
}

dm_status csv_fill(csv_file *f, dm_diag *diag)
{
    if (f->begin < f->whole || f->eof)
        return DM_OK;
    /* Only part of a line is left. */
    memmove(f->buffer, f->buffer + f->begin, f->end - f->begin);
    f->offset += f->begin;
    f->end -= f->begin;
    f->begin = f->whole = 0;
    while (f->whole == 0 && !f->eof) {
        size_t old = f->end;
        dm_status status;

        if (old > CSV_LONGEST_LINE)
            return dm_error(diag, DM_SYNTAX, (dm_place){f->path, f->line + 1},
                            NULL, "a line longer than 64 KiB: not %s", f->what);
        status = read_more(f, diag);
        if (status != DM_OK)
            return status;
        find_whole(f, old);
        memset(f->buffer + f->end, 0, CSV_PADDING);
    }
    if (f->offset == 0 && f->line == 0 && f->end >= 3 &&
        memcmp(f->buffer, "\xEF\xBB\xBF", 3) == 0)
        f->begin = 3; /* byte order mark */
    return DM_OK;
}

/* ---- lines -------------------------------------------------------------- */

static bool is_blank(char c)
{
    return c == ' ' || c == '\t';
}

dm_status csv_line(csv_file *f, dm_diag *diag, const char **line,
                   size_t *length)
{
    *line = NULL;
    *length = 0;
    for (;;) {
        const char *p, *end, *first;
        dm_status status = csv_fill(f, diag);

        if (status != DM_OK || f->begin == f->whole)
            return status;
        p = f->buffer + f->begin;
        end = memchr(p, '\n', f->whole - f->begin);
        f->begin = (size_t)(end - f->buffer) + 1;
        f->line++;
        if ((size_t)(end - p) > CSV_LONGEST_LINE)
            return dm_error(diag, DM_SYNTAX, (dm_place){f->path, f->line}, NULL,
                            "a line longer than 64 KiB: not %s", f->what);
        if (end > p && end[-1] == '\r')
            end--;
        for (first = p; first < end && is_blank(*first);)
            first++;
        if (first < end && *first != '#') {
            *line = p;
            *length = (size_t)(end - p);
            return DM_OK;
        }
    }
}

csv_mark csv_tell(const csv_file *f, const char *line)
{
    return (csv_mark){f->offset + (uint64_t)(line - f->buffer), f->line - 1};
}

dm_status csv_seek(csv_file *f, csv_mark mark, dm_diag *diag)
{
    f->line = mark.line;
    if (mark.offset >= f->offset && mark.offset - f->offset <= f->whole) {
        f->begin = (size_t)(mark.offset - f->offset);
        return DM_OK;
    }
    if (lseek(f->fd, (off_t)mark.offset, SEEK_SET) < 0)
        return io_error(f->path, (dm_place){f->path, 0}, diag);
    f->offset = mark.offset;
    f->begin = f->whole = f->end = 0;
    f->eof = false;
    return DM_OK;
}

dm_status csv_sha256(csv_file *f, dm_diag *diag, char out[65])
{
    dm_status status = DM_OK;

    out[0] = '\0';
    if (f->offset + f->end < f->hashed)
        status = csv_seek(f, (csv_mark){f->hashed, 0}, diag);
    while (status == DM_OK && !f->eof) {
        f->offset += f->end;
        f->begin = f->whole = f->end = 0;
        status = read_more(f, diag);
    }
    f->begin = f->whole = f->end;
    if (status == DM_OK)
        dm_sha256_hex(f->hash, out);
    return status;
}

/* ---- cells -------------------------------------------------------------- */

static csv_cell trimmed(const char *text, size_t length)
{
    csv_cell cell = {text, length, false};

    for (; cell.length > 0 && is_blank(*cell.text); cell.length--)
        cell.text++;
    while (cell.length > 0 && is_blank(cell.text[cell.length - 1]))
        cell.length--;
    if (cell.length >= 2 && *cell.text == '"' &&
        cell.text[cell.length - 1] == '"') {
        cell.text++;
        cell.length -= 2;
        cell.quoted = true;
    }
    return cell;
}

size_t csv_split(const char *line, size_t length, char delimiter,
                 csv_cell *cells, size_t most)
{
    size_t n = 0, at = 0, from;

    while (delimiter == ' ' && length > 0 && line[length - 1] == ' ')
        length--;
    for (;;) {
        bool inside = false;

        while (delimiter == ' ' && at < length && line[at] == ' ')
            at++;
        if (n == most)
            return most + 1;
        for (from = at; at < length; at++) {
            if (line[at] == '"')
                inside = !inside;
            else if (line[at] == delimiter && !inside)
                break;
        }
        cells[n++] = trimmed(line + from, at - from);
        if (at == length)
            return n;
        at++;
    }
}

bool csv_same(const csv_cell *cell, const char *text)
{
    size_t i;

    for (i = 0; i < cell->length; i++, text++) {
        if (*text == '\0' || *text != cell->text[i])
            return false;
        if (cell->quoted && *text == '"')
            i++; /* doubled */
    }
    return *text == '\0';
}
