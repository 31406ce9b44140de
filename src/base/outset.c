/* SPDX-License-Identifier: MIT
 * A set of output files that appear together or not at all. Each is written
 * under a temporary name in its own folder (rename within one folder is
 * atomic, POSIX rename()), and the renames begin only when every file is
 * flushed to the disk. Limit: renames of several files are several steps; if
 * one fails in the middle, the message names what is in place already. */
#define _POSIX_C_SOURCE 200809L
#include <assert.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/diag.h"
#include "base/file.h"

#define BUFFER_SIZE ((size_t)256 * 1024)
#define RESERVE_MAX ((size_t)64 * 1024)
#define WRITE_MAX ((size_t)1 << 30)
#define TEMPORARY_TRIES 100

struct dm_out {
    char *name;
    char *path; /* folder and name, for messages */
    char *temporary;
    char *buffer; /* NULL once closed */
    size_t used;
    uint64_t size; /* bytes put so far, in the buffer or written */
    int fd;        /* -1: closed */
    int error;     /* the first errno of this file, 0: none */
    bool exists;   /* the temporary is on the disk */
    bool reported;
};

typedef struct {
    char *path;
    dev_t device;
    ino_t inode;
} guarded;

struct dm_outset {
    dm_arena *arena;
    dm_diag *diag;
    char *folder;
    int fd; /* of the folder: a later chdir does not matter */
    char **made;
    size_t made_count, made_capacity;
    dm_out **items;
    size_t count, capacity;
    guarded *guards;
    size_t guard_count, guard_capacity;
    bool committed;
};

/* ---- messages --------------------------------------------------------- */

static dm_status no_memory(dm_outset *set)
{
    dm_place place = {set->folder, 0};

    return dm_error(set->diag, DM_NOMEM, place, NULL,
                    "out of memory while files are being written");
}

static void explain(int error, char reason[128])
{
    if (strerror_r(error, reason, 128) != 0)
        strcpy(reason, "unknown reason");
}

static dm_status failed(dm_outset *set, const char *path, const char *what,
                        int error)
{
    dm_place place = {path, 0};
    char reason[128];

    explain(error, reason);
    return dm_error(set->diag, DM_IO, place, NULL, "%s: %s", what, reason);
}

/* ---- folder ----------------------------------------------------------- */

/* Makes one folder if it is not there; remembers it to take it away again. */
static dm_status make_folder(dm_outset *set, const char *path)
{
    if (mkdir(path, 0777) != 0) {
        if (errno == EEXIST)
            return DM_OK; /* if it is no folder, the next step says so */
        return failed(set, path, "cannot create the folder", errno);
    }
    if (!DM_GROW(set->made, set->made_count, set->made_capacity) ||
        (set->made[set->made_count] = dm_arena_strdup(set->arena, path)) ==
            NULL) {
        rmdir(path);
        return no_memory(set);
    }
    set->made_count++;
    return DM_OK;
}

static dm_status make_folders(dm_outset *set)
{
    char *path = dm_arena_strdup(set->arena, set->folder);
    dm_status status;
    size_t i;

    if (path == NULL)
        return no_memory(set);
    for (i = 1; path[i] != '\0'; i++) {
        if (path[i] != '/' || path[i - 1] == '/')
            continue;
        path[i] = '\0';
        status = make_folder(set, path);
        path[i] = '/';
        if (status != DM_OK)
            return status;
    }
    return make_folder(set, path);
}

static dm_status open_folder(dm_outset *set)
{
    const int flags = O_RDONLY | O_DIRECTORY | O_CLOEXEC;
    dm_status status;

    set->fd = open(set->folder, flags);
    if (set->fd >= 0)
        return DM_OK;
    if (errno != ENOENT)
        return failed(set, set->folder, "cannot open the folder", errno);
    status = make_folders(set);
    if (status != DM_OK)
        return status;
    set->fd = open(set->folder, flags);
    if (set->fd < 0)
        return failed(set, set->folder, "cannot open the folder", errno);
    return DM_OK;
}

dm_status dm_outset_new(const char *folder, dm_diag *diag, dm_outset **out)
{
    dm_place nowhere = {NULL, 0};
    dm_outset *set = calloc(1, sizeof *set);
    dm_status status;

    *out = NULL;
    if (set != NULL)
        set->arena = dm_arena_new();
    if (set == NULL || set->arena == NULL) {
        free(set);
        return dm_error(diag, DM_NOMEM, nowhere, NULL, "out of memory");
    }
    set->diag = diag;
    set->fd = -1;
    set->folder = dm_arena_strdup(set->arena, folder[0] == '\0' ? "." : folder);
    status = set->folder == NULL ? no_memory(set) : open_folder(set);
    if (status != DM_OK) {
        dm_outset_free(set);
        return status;
    }
    *out = set;
    return DM_OK;
}

/* ---- what must not be replaced ---------------------------------------- */

static const guarded *find_guard(const dm_outset *set, const struct stat *info)
{
    size_t i;

    for (i = 0; i < set->guard_count; i++)
        if (set->guards[i].device == info->st_dev &&
            set->guards[i].inode == info->st_ino)
            return &set->guards[i];
    return NULL;
}

/* Is the target free, or an ordinary file that may be replaced? A symbolic
 * link is followed: if it leads to an input it is refused. */
static dm_status check_target(dm_outset *set, const dm_out *out)
{
    dm_place place = {out->path, 0};
    const guarded *guard;
    struct stat info;

    if (fstatat(set->fd, out->name, &info, 0) == 0) {
        guard = find_guard(set, &info);
        if (guard != NULL)
            return dm_error(set->diag, DM_INCONSISTENT, place, NULL,
                            "would be written over the input '%s'",
                            guard->path);
        if (!S_ISREG(info.st_mode))
            return dm_error(set->diag, DM_IO, place, NULL,
                            "exists and is not a regular file");
    } else if (errno != ENOENT && errno != ELOOP) {
        return failed(set, out->path, "cannot be written", errno);
    }
    return DM_OK;
}

dm_status dm_outset_protect(dm_outset *set, const char *path)
{
    struct stat info;
    guarded *guard;

    if (stat(path, &info) != 0) {
        if (errno == ENOENT)
            return DM_OK; /* nothing there to protect */
        return failed(set, path, "cannot be protected", errno);
    }
    if (!DM_GROW(set->guards, set->guard_count, set->guard_capacity))
        return no_memory(set);
    guard = &set->guards[set->guard_count];
    guard->path = dm_arena_strdup(set->arena, path);
    if (guard->path == NULL)
        return no_memory(set);
    guard->device = info.st_dev;
    guard->inode = info.st_ino;
    set->guard_count++;
    return DM_OK;
}

/* ---- opening ---------------------------------------------------------- */

static dm_status check_name(dm_outset *set, const char *name)
{
    dm_place place = {set->folder, 0};
    size_t i;

    if (name[0] == '\0' || strchr(name, '/') != NULL ||
        strcmp(name, ".") == 0 || strcmp(name, "..") == 0)
        return dm_error(set->diag, DM_RANGE, place, NULL,
                        "'%s' is not a bare file name", name);
    for (i = 0; i < set->count; i++)
        if (strcmp(set->items[i]->name, name) == 0)
            return dm_error(set->diag, DM_INCONSISTENT, place, NULL,
                            "two outputs want the file name '%s'", name);
    return DM_OK;
}

/* The temporary of an earlier process that was killed may hold the first
 * name; it is left alone and a number is added. */
static dm_status create_temporary(dm_outset *set, dm_out *out)
{
    const int flags = O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC;
    int i;

    for (i = 0; i < TEMPORARY_TRIES; i++) {
        out->temporary = i == 0 ? dm_arena_printf(set->arena, ".%s.part-%ld",
                                                  out->name, (long)getpid())
                                : dm_arena_printf(set->arena, ".%s.part-%ld-%d",
                                                  out->name, (long)getpid(), i);
        if (out->temporary == NULL)
            return no_memory(set);
        out->fd = openat(set->fd, out->temporary, flags, 0666);
        if (out->fd >= 0) {
            out->exists = true;
            return DM_OK;
        }
        if (errno != EEXIST)
            break;
    }
    return failed(set, out->path, "cannot be created", errno);
}

dm_status dm_outset_open(dm_outset *set, const char *name, dm_out **out)
{
    size_t folder = strlen(set->folder);
    const char *slash = set->folder[folder - 1] == '/' ? "" : "/";
    dm_status status;
    dm_out *o;

    *out = NULL;
    assert(!set->committed);
    status = check_name(set, name);
    if (status != DM_OK)
        return status;
    o = DM_NEW(set->arena, dm_out);
    if (o == NULL || !DM_GROW(set->items, set->count, set->capacity))
        return no_memory(set);
    o->fd = -1;
    o->name = dm_arena_strdup(set->arena, name);
    o->path = dm_arena_printf(set->arena, "%s%s%s", set->folder, slash, name);
    if (o->name == NULL || o->path == NULL)
        return no_memory(set);
    status = check_target(set, o);
    if (status != DM_OK)
        return status;
    o->buffer = malloc(BUFFER_SIZE);
    if (o->buffer == NULL)
        return no_memory(set);
    status = create_temporary(set, o);
    if (status != DM_OK) {
        free(o->buffer);
        return status;
    }
    set->items[set->count++] = o;
    *out = o;
    return DM_OK;
}

/* ---- writing ---------------------------------------------------------- */

static void write_all(dm_out *out, const char *bytes, size_t length)
{
    while (length > 0 && out->error == 0) {
        size_t part = length < WRITE_MAX ? length : WRITE_MAX;
        ssize_t written = write(out->fd, bytes, part);

        if (written > 0) {
            bytes += written;
            length -= (size_t)written;
        } else if (written == 0) {
            out->error = EIO;
        } else if (errno != EINTR) {
            out->error = errno;
        }
    }
}

static void flush(dm_out *out)
{
    write_all(out, out->buffer, out->used);
    out->used = 0;
}

void dm_out_put(dm_out *out, const void *bytes, size_t length)
{
    assert(out->buffer != NULL);
    out->size += length;
    if (length > BUFFER_SIZE - out->used)
        flush(out);
    if (length >= BUFFER_SIZE) {
        write_all(out, bytes, length);
        return;
    }
    if (length > 0)
        memcpy(out->buffer + out->used, bytes, length);
    out->used += length;
}

void dm_out_puts(dm_out *out, const char *text)
{
    dm_out_put(out, text, strlen(text));
}

char *dm_out_reserve(dm_out *out, size_t length)
{
    assert(out->buffer != NULL && length <= RESERVE_MAX);
    if (length > BUFFER_SIZE - out->used)
        flush(out);
    return out->buffer + out->used;
}

void dm_out_advance(dm_out *out, size_t used)
{
    assert(used <= BUFFER_SIZE - out->used);
    out->used += used;
    out->size += used;
}

void dm_out_done(dm_out *out)
{
    if (out->buffer == NULL)
        return;
    flush(out);
    free(out->buffer);
    out->buffer = NULL;
    /* A file system without fsync (EINVAL) cannot promise more. */
    if (fsync(out->fd) != 0 && errno != EINVAL && out->error == 0)
        out->error = errno;
    if (close(out->fd) != 0 && out->error == 0)
        out->error = errno;
    out->fd = -1;
}

/* ---- commit ----------------------------------------------------------- */

static void remove_temporaries(dm_outset *set)
{
    size_t i;

    for (i = 0; i < set->count; i++) {
        if (set->items[i]->exists)
            unlinkat(set->fd, set->items[i]->temporary, 0);
        set->items[i]->exists = false;
    }
}

/* One message a cause: a full disk stops every file, and a list of all of
 * them would hide the other faults. */
static dm_status report_write_errors(dm_outset *set)
{
    dm_status status = DM_OK;
    size_t i, j, others;

    for (i = 0; i < set->count; i++) {
        dm_out *o = set->items[i];
        dm_place place = {o->path, 0};
        char reason[128];

        if (o->error == 0 || o->reported)
            continue;
        for (j = i + 1, others = 0; j < set->count; j++) {
            if (set->items[j]->error != o->error)
                continue;
            set->items[j]->reported = true;
            others++;
        }
        explain(o->error, reason);
        status = others == 0
                     ? dm_error(set->diag, DM_IO, place, NULL,
                                "cannot be written: %s", reason)
                     : dm_error(set->diag, DM_IO, place, NULL,
                                "cannot be written, nor %zu more of the "
                                "outputs: %s",
                                others, reason);
    }
    return status;
}

static dm_status rename_all(dm_outset *set)
{
    dm_place place;
    char reason[128];
    size_t i;

    for (i = 0; i < set->count; i++) {
        dm_out *o = set->items[i];

        if (renameat(set->fd, o->temporary, set->fd, o->name) != 0) {
            explain(errno, reason);
            place.file = o->path;
            place.line = 0;
            if (i == 0)
                return dm_error(set->diag, DM_IO, place, NULL,
                                "cannot be put in place: %s", reason);
            return dm_error(set->diag, DM_IO, place, NULL,
                            "cannot be put in place: %s; of the %zu outputs "
                            "the first %zu, up to '%s', are in place and new, "
                            "the others are not",
                            reason, set->count, i, set->items[i - 1]->name);
        }
        o->exists = false;
        set->committed = true; /* from here on the folder holds results */
    }
    return DM_OK;
}

dm_status dm_outset_commit(dm_outset *set)
{
    dm_status status, first;
    size_t i;

    assert(!set->committed);
    for (i = 0; i < set->count; i++)
        dm_out_done(set->items[i]);
    first = report_write_errors(set);
    for (i = 0; i < set->count; i++) {
        status = check_target(set, set->items[i]);
        if (first == DM_OK)
            first = status;
    }
    if (first == DM_OK)
        first = rename_all(set);
    if (first != DM_OK) {
        remove_temporaries(set);
        return first;
    }
    set->committed = true;
    /* Makes the new names survive a power cut. The files themselves are
     * whole either way, so that a refusal is no error. */
    (void)fsync(set->fd);
    return DM_OK;
}

void dm_outset_free(dm_outset *set)
{
    size_t i;

    if (set == NULL)
        return;
    remove_temporaries(set);
    for (i = 0; i < set->count; i++) {
        free(set->items[i]->buffer);
        if (set->items[i]->fd >= 0)
            close(set->items[i]->fd);
    }
    if (set->fd >= 0)
        close(set->fd);
    /* Folders made for a set that came to nothing go again, unless somebody
     * put something into them. */
    for (i = set->made_count; i > 0 && !set->committed; i--)
        rmdir(set->made[i - 1]);
    free(set->made);
    free(set->items);
    free(set->guards);
    dm_arena_free(set->arena);
    free(set);
}

size_t dm_outset_count(const dm_outset *set)
{
    return set->count;
}

const char *dm_outset_name(const dm_outset *set, size_t i)
{
    assert(i < set->count);
    return set->items[i]->name;
}

uint64_t dm_outset_size(const dm_outset *set, size_t i)
{
    assert(i < set->count);
    return set->items[i]->size;
}
