/* SPDX-License-Identifier: MIT
 * Reading whole files and making file names. Only regular files are read: a
 * named pipe or a device given by a foreign file could block for ever. The
 * writing half is in outset.c. */
#define _POSIX_C_SOURCE 200809L
#include "base/file.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/diag.h"

#define READ_STEP ((size_t)64 * 1024)
#define NAME_LIMIT ((size_t)100)
#define NAME_HASH ((size_t)16)

static dm_status unreadable(dm_diag *diag, dm_place from, const char *path,
                            int error)
{
    char reason[128];

    if (strerror_r(error, reason, sizeof reason) != 0)
        strcpy(reason, "unknown reason");
    return dm_error(diag, DM_IO, from, NULL, "cannot read '%s': %s", path,
                    reason);
}

/* Appends the rest of the file; a file that grows meanwhile is held to the
 * limit too. `size` is a hint. */
static dm_status read_all(int fd, size_t limit, size_t size, const char *path,
                          dm_place from, dm_diag *diag, dm_buf *out)
{
    size_t step = size < limit ? size + 1 : READ_STEP;
    ssize_t got;

    for (;;) {
        size_t start = out->length;

        dm_buf_reserve(out, step);
        if (out->failed)
            return dm_error(diag, DM_NOMEM, from, NULL,
                            "cannot read '%s': out of memory", path);
        do
            got = read(fd, out->data + start, step);
        while (got < 0 && errno == EINTR);
        if (got < 0)
            return unreadable(diag, from, path, errno);
        if (got == 0)
            return DM_OK;
        dm_buf_advance(out, (size_t)got);
        if (out->length > limit)
            return dm_error(diag, DM_RANGE, from, NULL,
                            "'%s' is too large: at most %zu bytes are read",
                            path, limit);
        step = step > (size_t)got ? step - (size_t)got : READ_STEP;
    }
}

dm_status dm_file_read(const char *path, size_t limit, dm_place from,
                       dm_diag *diag, dm_buf *out)
{
    struct stat info;
    dm_status status;
    int fd;

    memset(out, 0, sizeof *out);
    fd = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK | O_NOCTTY);
    if (fd < 0)
        return unreadable(diag, from, path, errno);
    if (fstat(fd, &info) != 0)
        status = unreadable(diag, from, path, errno);
    else if (!S_ISREG(info.st_mode))
        status = dm_error(diag, DM_IO, from, NULL,
                          "cannot read '%s': not a regular file", path);
    else if ((uintmax_t)info.st_size > limit)
        status = dm_error(diag, DM_RANGE, from, NULL,
                          "'%s' is too large: at most %zu bytes are read", path,
                          limit);
    else
        status =
            read_all(fd, limit, (size_t)info.st_size, path, from, diag, out);
    close(fd);
    if (status != DM_OK)
        dm_buf_free(out);
    return status;
}

const char *dm_path_name(const char *path)
{
    const char *slash = strrchr(path, '/');

    return slash == NULL ? path : slash + 1;
}

char *dm_path_resolve(dm_arena *arena, const char *base, const char *href)
{
    const char *slash = base == NULL ? NULL : strrchr(base, '/');

    if (href[0] == '/' || slash == NULL)
        return dm_arena_strdup(arena, href);
    return dm_arena_printf(arena, "%.*s%s", (int)(slash - base + 1), base,
                           href);
}

/* Spelled out, because isalnum asks the locale. */
static bool is_kept(char c)
{
    return (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z') ||
           (c >= '0' && c <= '9') || c == '.' || c == '_' || c == '-';
}

static bool hash_text(const char *text, char hex[65])
{
    dm_sha256 *hash = dm_sha256_new();

    if (hash == NULL)
        return false;
    dm_sha256_update(hash, text, strlen(text));
    dm_sha256_hex(hash, hex);
    dm_sha256_free(hash);
    return hex[0] != '\0';
}

char *dm_file_name(dm_arena *arena, const char *id)
{
    static const char digit[] = "0123456789ABCDEF";
    char name[NAME_LIMIT + 4], hex[65];
    size_t length = 0, cut = NAME_LIMIT - NAME_HASH - 1;
    const char *s;

    for (s = id; *s != '\0' && length <= NAME_LIMIT; s++) {
        unsigned char c = (unsigned char)*s;

        if (is_kept(*s) && !(s == id && c == '.')) {
            name[length++] = *s;
            continue;
        }
        name[length++] = '_';
        name[length++] = digit[c >> 4];
        name[length++] = digit[c & 15];
    }
    if (length == 0)
        name[length++] = '_';
    if (length <= NAME_LIMIT)
        return dm_arena_strndup(arena, name, length);
    if (!hash_text(id, hex))
        return NULL;
    return dm_arena_printf(arena, "%.*s-%.*s", (int)cut, name, (int)NAME_HASH,
                           hex);
}
