/* SPDX-License-Identifier: MIT
 * Replays files, and the files of folders, through one fuzz target; needs no
 * fuzzing compiler. usage: replay_NAME PATH... */
#define _POSIX_C_SOURCE 200809L
#include <dirent.h>
#include <sys/stat.h>

#include "base/file.h"
#include "fuzz.h"

#define MOST 2000

static size_t replayed;

static void replay_file(const char *path)
{
    dm_buf text = {0};
    FUZZ_CHECK(dm_file_read(path, (size_t)64 << 20, (dm_place){path, 0}, NULL,
                            &text) == DM_OK);
    /* Said before, so that a crash has a name. */
    fprintf(stderr, "%s\n", path);
    LLVMFuzzerTestOneInput((const uint8_t *)text.data, text.length);
    replayed++;
    dm_buf_free(&text);
}

static int by_name(const void *a, const void *b)
{
    return strcmp(*(char *const *)a, *(char *const *)b);
}

static void replay(const char *path)
{
    char *names[MOST];
    struct stat st;
    size_t n = 0;
    FUZZ_CHECK(stat(path, &st) == 0);
    if (!S_ISDIR(st.st_mode)) {
        replay_file(path);
        return;
    }
    DIR *folder = opendir(path);
    FUZZ_CHECK(folder);
    for (struct dirent *e; (e = readdir(folder)) != NULL;) {
        size_t size = strlen(path) + strlen(e->d_name) + 2;
        if (e->d_name[0] == '.')
            continue;
        FUZZ_CHECK(n < MOST);
        names[n] = malloc(size);
        FUZZ_CHECK(names[n]);
        snprintf(names[n++], size, "%s/%s", path, e->d_name);
    }
    closedir(folder);
    qsort(names, n, sizeof *names, by_name);
    for (size_t i = 0; i < n; i++) {
        if (stat(names[i], &st) == 0 && S_ISREG(st.st_mode))
            replay_file(names[i]);
        free(names[i]);
    }
}

int main(int argc, char **argv)
{
    for (int i = 1; i < argc; i++)
        replay(argv[i]);
    printf("%zu files\n", replayed);
    return replayed > 0 ? 0 : 1;
}
