/* SPDX-License-Identifier: MIT */
#define _POSIX_C_SOURCE 200809L
#include "written.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "near.h"

dm_status written_new(const dm_delivery *delivery, const char *writer,
                      written *out)
{
    const dm_writer *w = dm_writer_find(writer);
    const char *base = getenv("TMPDIR");
    dm_outset *set = NULL;
    dm_status status;

    assert_non_null(w);
    snprintf(out->folder, sizeof out->folder, "%s/ductmark-XXXXXX",
             base == NULL ? "/tmp" : base);
    assert_non_null(mkdtemp(out->folder));
    status = dm_outset_new(out->folder, NULL, &set);
    if (status == DM_OK)
        status = w->write(delivery, set, NULL);
    if (status == DM_OK)
        status = dm_outset_commit(set);
    dm_outset_free(set);
    if (status != DM_OK)
        written_free(out);
    return status;
}

void written_path(const written *w, const char *name, char out[512])
{
    snprintf(out, 512, "%s/%s", w->folder, name);
}

void written_read(const written *w, const char *name, dm_buf *out)
{
    dm_place place = {NULL, 0};
    char path[512];

    written_path(w, name, path);
    memset(out, 0, sizeof *out);
    assert_int_equal(dm_file_read(path, (size_t)256 << 20, place, NULL, out),
                     DM_OK);
}

void written_free(written *w)
{
    DIR *folder = opendir(w->folder);
    struct dirent *entry;
    char path[512];

    while (folder != NULL && (entry = readdir(folder)) != NULL) {
        if (entry->d_name[0] == '.' &&
            (entry->d_name[1] == '\0' || strcmp(entry->d_name, "..") == 0))
            continue;
        written_path(w, entry->d_name, path);
        unlink(path);
    }
    if (folder != NULL)
        closedir(folder);
    rmdir(w->folder);
}
