/* SPDX-License-Identifier: MIT
 * Reading files, names, SHA-256, and sets of output files that appear whole
 * or not at all. write, fsync and renameat are wrapped by the linker, so that
 * a full disk can be had without one. */
#define _POSIX_C_SOURCE 200809L
#include "base/file.h"

#include <dirent.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "allocfail.h"
#include "near.h"

/* ---- a disk that fails ------------------------------------------------ */

ssize_t __real_write(int fd, const void *bytes, size_t length);
int __real_fsync(int fd);
int __real_renameat(int from_fd, const char *from, int to_fd, const char *to);
ssize_t __wrap_write(int fd, const void *bytes, size_t length);
int __wrap_fsync(int fd);
int __wrap_renameat(int from_fd, const char *from, int to_fd, const char *to);

static struct {
    size_t room;     /* bytes that still fit while `full` is set */
    bool full;       /* the disk has an end */
    bool in_pieces;  /* a write takes part of its bytes, or is interrupted */
    size_t writes;   /* calls so far */
    int fsync_error; /* 0: fine */
    int rename_at;   /* this rename (from 1) fails; 0: none */
} disk;

ssize_t __wrap_write(int fd, const void *bytes, size_t length)
{
    disk.writes++;
    if (disk.in_pieces && disk.writes % 3 == 0) {
        errno = EINTR;
        return -1;
    }
    if (disk.in_pieces && length > 1000)
        length = 1000;
    if (disk.full) {
        if (disk.room == 0) {
            errno = ENOSPC;
            return -1;
        }
        if (length > disk.room)
            length = disk.room;
        disk.room -= length;
    }
    return __real_write(fd, bytes, length);
}

int __wrap_fsync(int fd)
{
    if (disk.fsync_error != 0) {
        errno = disk.fsync_error;
        return -1;
    }
    return __real_fsync(fd);
}

int __wrap_renameat(int from_fd, const char *from, int to_fd, const char *to)
{
    if (disk.rename_at > 0 && --disk.rename_at == 0) {
        errno = EACCES;
        return -1;
    }
    return __real_renameat(from_fd, from, to_fd, to);
}

/* ---- a folder for each test, and a sink ------------------------------- */

static char folder[64];
static char said[4096]; /* file: text| */
static size_t messages;

static void hear(void *user, const dm_message *m)
{
    size_t end = strlen(said);

    (void)user;
    messages++;
    snprintf(said + end, sizeof said - end, "%s: %s|",
             m->place.file ? m->place.file : "-", m->text);
}

static dm_diag sink;

static int set_up(void **state)
{
    (void)state;
    memset(&disk, 0, sizeof disk);
    memset(&sink, 0, sizeof sink);
    sink.emit = hear;
    said[0] = '\0';
    messages = 0;
    strcpy(folder, "/tmp/ductmark-test-XXXXXX");
    return mkdtemp(folder) == NULL ? -1 : 0;
}

/* Entries of a folder; removes them too, if asked. */
static size_t entries(const char *path, bool remove_them)
{
    DIR *dir = opendir(path);
    struct dirent *entry;
    size_t count = 0;

    if (dir == NULL)
        return 0;
    while ((entry = readdir(dir)) != NULL) {
        char full[512];

        if (strcmp(entry->d_name, ".") == 0 || strcmp(entry->d_name, "..") == 0)
            continue;
        count++;
        if (!remove_them)
            continue;
        snprintf(full, sizeof full, "%s/%s", path, entry->d_name);
        if (unlink(full) != 0) {
            entries(full, true);
            rmdir(full);
        }
    }
    closedir(dir);
    return count;
}

static int tear_down(void **state)
{
    (void)state;
    entries(folder, true);
    return rmdir(folder);
}

/* folder/name, in one of four rotating buffers. */
static const char *in_folder(const char *name)
{
    static char path[4][256];
    static size_t turn;
    char *p = path[turn++ % 4];

    snprintf(p, sizeof path[0], "%s/%s", folder, name);
    return p;
}

static void put_file(const char *path, const char *text)
{
    FILE *stream = fopen(path, "wb");

    assert_non_null(stream);
    fputs(text, stream);
    assert_int_equal(fclose(stream), 0);
}

static void assert_content(const char *path, const char *text)
{
    dm_place nowhere = {NULL, 0};
    dm_buf buf;

    assert_int_equal(dm_file_read(path, 1 << 20, nowhere, &sink, &buf), DM_OK);
    assert_string_equal(buf.data, text);
    dm_buf_free(&buf);
}

static dm_outset *new_set(void)
{
    dm_outset *set;

    assert_int_equal(dm_outset_new(folder, &sink, &set), DM_OK);
    return set;
}

static dm_out *open_in(dm_outset *set, const char *name)
{
    dm_out *out;

    assert_int_equal(dm_outset_open(set, name, &out), DM_OK);
    return out;
}

/* ---- reading ---------------------------------------------------------- */

static const dm_place here = {"job.xml", 7};

static void read_whole_file_gives_its_bytes(void **state)
{
    dm_buf buf;
    char *big = malloc(300001);

    (void)state;
    memset(big, 'x', 300000);
    big[300000] = '\0';
    put_file(in_folder("a"), big);
    assert_int_equal(dm_file_read(in_folder("a"), 300000, here, &sink, &buf),
                     DM_OK);
    assert_int_equal(buf.length, 300000);
    assert_string_equal(buf.data, big);
    dm_buf_free(&buf);
    free(big);
    put_file(in_folder("a"), "");
    assert_int_equal(dm_file_read(in_folder("a"), 0, here, &sink, &buf), DM_OK);
    assert_int_equal(buf.length, 0);
    dm_buf_free(&buf);
    assert_int_equal(messages, 0);
}

static void read_missing_file_names_who_asked(void **state)
{
    dm_buf buf;
    char expected[256];

    (void)state;
    assert_int_equal(dm_file_read(in_folder("no"), 9, here, &sink, &buf),
                     DM_IO);
    snprintf(expected, sizeof expected,
             "job.xml: cannot read '%s/no': No such file or directory|",
             folder);
    assert_string_equal(said, expected);
    assert_null(buf.data);
}

static void read_over_the_limit_is_refused(void **state)
{
    dm_buf buf;

    (void)state;
    put_file(in_folder("a"), "12345");
    assert_int_equal(dm_file_read(in_folder("a"), 4, here, &sink, &buf),
                     DM_RANGE);
    assert_non_null(strstr(said, "at most 4 bytes"));
    assert_null(buf.data);
}

/* The size of files in /proc is given as 0: the limit holds all the same. */
static void read_of_a_growing_file_is_held_to_the_limit(void **state)
{
    dm_buf buf;

    (void)state;
    if (access("/proc/self/status", R_OK) != 0)
        skip();
    assert_int_equal(dm_file_read("/proc/self/status", 64, here, &sink, &buf),
                     DM_RANGE);
    assert_null(buf.data);
    assert_int_equal(
        dm_file_read("/proc/self/status", 1 << 20, here, &sink, &buf), DM_OK);
    assert_true(buf.length > 64);
    dm_buf_free(&buf);
}

static void read_of_no_regular_file_returns_at_once(void **state)
{
    dm_buf buf;

    (void)state;
    assert_int_equal(mkfifo(in_folder("pipe"), 0600), 0);
    assert_int_equal(dm_file_read(in_folder("pipe"), 9, here, &sink, &buf),
                     DM_IO);
    assert_int_equal(dm_file_read(folder, 9, here, &sink, &buf), DM_IO);
    assert_int_equal(dm_file_read("/dev/zero", 9, here, &sink, &buf), DM_IO);
    assert_int_equal(messages, 3);
}

/* ---- names and digests ------------------------------------------------ */

static void resolve_takes_relative_names_from_the_base(void **state)
{
    static const char *const row[][3] = {
        {"dir/job.xml", "bridge.xml", "dir/bridge.xml"},
        {"/a/job.xml", "../b.xml", "/a/../b.xml"},
        {"/job.xml", "b.xml", "/b.xml"},
        {"job.xml", "b.xml", "b.xml"},
        {"dir/job.xml", "/abs.xml", "/abs.xml"},
        {NULL, "b.xml", "b.xml"},
    };
    dm_arena *arena = dm_arena_new();
    size_t i;

    (void)state;
    for (i = 0; i < sizeof row / sizeof *row; i++)
        assert_string_equal(dm_path_resolve(arena, row[i][0], row[i][1]),
                            row[i][2]);
    dm_arena_free(arena);
}

static void file_name_unsafe_bytes_become_hex(void **state)
{
    static const char *const row[][2] = {
        {"T4L-r.2_b", "T4L-r.2_b"},
        {"../etc/x", "_2E._2Fetc_2Fx"},
        {".hidden", "_2Ehidden"},
        {"", "_"},
        {"..", "_2E."},
        {"a b\\c\n", "a_20b_5Cc_0A"},
        {"\xC3\x84", "_C3_84"},
    };
    dm_arena *arena = dm_arena_new();
    size_t i;

    (void)state;
    for (i = 0; i < sizeof row / sizeof *row; i++)
        assert_string_equal(dm_file_name(arena, row[i][0]), row[i][1]);
    dm_arena_free(arena);
}

static void file_name_long_ids_stay_short_and_distinct(void **state)
{
    dm_arena *arena = dm_arena_new();
    char a[302], b[302], whole[101];
    const char *name_a, *name_b;

    (void)state;
    memset(whole, 'w', 100);
    whole[100] = '\0';
    assert_string_equal(dm_file_name(arena, whole), whole);
    memset(a, 'x', 301);
    a[301] = '\0';
    memcpy(b, a, sizeof a);
    b[300] = 'y';
    name_a = dm_file_name(arena, a);
    name_b = dm_file_name(arena, b);
    assert_int_equal(strlen(name_a), 100);
    assert_int_equal(strlen(name_b), 100);
    assert_string_not_equal(name_a, name_b);
    memset(a, '/', 301); /* three bytes each, cut anywhere */
    assert_true(strlen(dm_file_name(arena, a)) <= 100);
    dm_arena_free(arena);
}

/* FIPS 180-2 appendix B: "abc", the 448-bit message, a million "a". */
static void sha256_published_messages_give_their_digest(void **state)
{
    static const char two_blocks[] =
        "abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq";
    dm_sha256 *hash = dm_sha256_new();
    char hex[65];
    int i;

    (void)state;
    dm_sha256_update(hash, "abc", 3);
    dm_sha256_hex(hash, hex);
    assert_string_equal(hex, "ba7816bf8f01cfea414140de5dae2223"
                             "b00361a396177a9cb410ff61f20015ad");
    dm_sha256_hex(hash, hex); /* no second digest of a finished hash */
    assert_string_equal(hex, "");
    dm_sha256_free(hash);
    hash = dm_sha256_new();
    dm_sha256_update(hash, two_blocks, 10);
    dm_sha256_update(hash, two_blocks + 10, sizeof two_blocks - 11);
    dm_sha256_hex(hash, hex);
    assert_string_equal(hex, "248d6a61d20638b8e5c026930c3e6039"
                             "a33ce45964ff2167f6ecedd419db06c1");
    dm_sha256_free(hash);
    hash = dm_sha256_new();
    for (i = 0; i < 100000; i++)
        dm_sha256_update(hash, "aaaaaaaaaa", 10);
    dm_sha256_hex(hash, hex);
    assert_string_equal(hex, "cdc76e5c9914fb9281a1c7e284d73e67"
                             "f1809a48a497200e046d39ccc7112cd0");
    dm_sha256_free(hash);
    dm_sha256_free(NULL);
}

/* ---- output sets ------------------------------------------------------ */

static void commit_puts_every_file_in_place(void **state)
{
    dm_outset *set = new_set();
    dm_out *a = open_in(set, "a.txt"), *b = open_in(set, "b.txt");

    (void)state;
    put_file(in_folder("b.txt"), "old");
    dm_out_puts(a, "one ");
    dm_out_puts(b, "new");
    dm_out_puts(a, "two");
    assert_int_equal(access(in_folder("a.txt"), F_OK), -1);
    assert_content(in_folder("b.txt"), "old");
    assert_int_equal(dm_outset_commit(set), DM_OK);
    assert_int_equal(dm_outset_count(set), 2);
    assert_string_equal(dm_outset_name(set, 1), "b.txt");
    assert_int_equal(dm_outset_size(set, 0), 7);
    dm_outset_free(set);
    assert_content(in_folder("a.txt"), "one two");
    assert_content(in_folder("b.txt"), "new");
    assert_int_equal(entries(folder, false), 2);
    assert_int_equal(messages, 0);
}

static void free_without_commit_leaves_nothing(void **state)
{
    dm_outset *set = new_set();

    (void)state;
    dm_out_puts(open_in(set, "a.txt"), "text");
    assert_int_equal(entries(folder, false), 1); /* the temporary */
    dm_outset_free(set);
    assert_int_equal(entries(folder, false), 0);
    dm_outset_free(NULL);
}

/* Bytes of every length through put, reserve and the direct path, against a
 * plain copy; once more with a disk that takes writes in pieces. */
static void put_and_reserve_keep_order_and_bytes(void **state)
{
    static const size_t length[] = {1, 65536, 3, 262143, 262144, 700000, 17, 0};
    dm_outset *set = new_set();
    dm_out *out = open_in(set, "big");
    dm_place nowhere = {NULL, 0};
    dm_buf expected = {0}, got;
    char *piece = malloc(700000);
    size_t i, k;

    (void)state;
    disk.in_pieces = true;
    for (i = 0; i < 40; i++) {
        size_t n = length[i % 8];

        for (k = 0; k < n; k++)
            piece[k] = (char)('!' + (i * 31 + k * 7) % 90);
        dm_buf_put(&expected, piece, n);
        if (n <= 65536 && i % 2 == 0) {
            memcpy(dm_out_reserve(out, 65536), piece, n);
            dm_out_advance(out, n);
        } else {
            dm_out_put(out, piece, n);
        }
    }
    assert_int_equal(dm_outset_size(set, 0), expected.length);
    assert_int_equal(dm_outset_commit(set), DM_OK);
    assert_int_equal(
        dm_file_read(in_folder("big"), 1 << 30, nowhere, NULL, &got), DM_OK);
    assert_int_equal(got.length, expected.length);
    assert_true(memcmp(got.data, expected.data, got.length) == 0);
    dm_buf_free(&got);
    dm_buf_free(&expected);
    free(piece);
    dm_outset_free(set);
}

static void done_closes_one_file_before_the_commit(void **state)
{
    dm_outset *set = new_set();
    dm_out *a = open_in(set, "a"), *b = open_in(set, "b");

    (void)state;
    dm_out_puts(a, "A");
    dm_out_done(a);
    dm_out_done(a);
    assert_int_equal(access(in_folder("a"), F_OK), -1);
    dm_out_puts(b, "B");
    assert_int_equal(dm_outset_commit(set), DM_OK);
    dm_outset_free(set);
    assert_content(in_folder("a"), "A");
    assert_content(in_folder("b"), "B");
}

static void
commit_on_a_full_disk_leaves_old_files_and_says_it_once(void **state)
{
    dm_outset *set = new_set();
    char expected[256];
    dm_out *a, *b, *c;

    (void)state;
    put_file(in_folder("b"), "old");
    a = open_in(set, "a");
    b = open_in(set, "b");
    c = open_in(set, "c");
    disk.full = true;
    disk.room = 6;
    dm_out_puts(a, "12345");
    dm_out_puts(b, "12345");
    dm_out_puts(c, "12345");
    assert_int_equal(dm_outset_commit(set), DM_IO);
    snprintf(expected, sizeof expected,
             "%s/b: cannot be written, nor 1 more of the outputs: "
             "No space left on device|",
             folder);
    assert_string_equal(said, expected);
    assert_int_equal(sink.errors, 1);
    dm_outset_free(set);
    assert_content(in_folder("b"), "old");
    assert_int_equal(entries(folder, false), 1);
}

/* After the disk is full the writers go on; they must find room. */
static void reserve_after_a_failure_still_gives_room(void **state)
{
    dm_outset *set = new_set();
    dm_out *out = open_in(set, "a");
    int i;

    (void)state;
    disk.full = true;
    for (i = 0; i < 50; i++) {
        memset(dm_out_reserve(out, 65536), 'x', 65536);
        dm_out_advance(out, 65536);
    }
    assert_int_equal(dm_outset_commit(set), DM_IO);
    dm_outset_free(set);
    assert_int_equal(entries(folder, false), 0);
}

static void commit_with_a_failing_flush_leaves_nothing(void **state)
{
    dm_outset *set = new_set();

    (void)state;
    dm_out_puts(open_in(set, "a"), "x");
    disk.fsync_error = EIO;
    assert_int_equal(dm_outset_commit(set), DM_IO);
    assert_non_null(strstr(said, "/a: cannot be written: Input/output error"));
    dm_outset_free(set);
    assert_int_equal(entries(folder, false), 0);
}

static void commit_on_a_disk_without_fsync_is_fine(void **state)
{
    dm_outset *set = new_set();

    (void)state;
    dm_out_puts(open_in(set, "a"), "x");
    disk.fsync_error = EINVAL;
    assert_int_equal(dm_outset_commit(set), DM_OK);
    dm_outset_free(set);
    assert_content(in_folder("a"), "x");
}

static void
commit_with_a_rename_failing_half_way_names_what_is_there(void **state)
{
    dm_outset *set = new_set();

    (void)state;
    dm_out_puts(open_in(set, "a"), "A");
    dm_out_puts(open_in(set, "b"), "B");
    dm_out_puts(open_in(set, "c"), "C");
    disk.rename_at = 2;
    assert_int_equal(dm_outset_commit(set), DM_IO);
    assert_non_null(strstr(said, "/b: cannot be put in place: "
                                 "Permission denied; of the 3 outputs the "
                                 "first 1, up to 'a', are in place"));
    assert_int_equal(messages, 1);
    dm_outset_free(set);
    assert_content(in_folder("a"), "A");
    assert_int_equal(entries(folder, false), 1);
}

static void commit_with_the_first_rename_failing_leaves_nothing(void **state)
{
    dm_outset *set = new_set();

    (void)state;
    dm_out_puts(open_in(set, "a"), "A");
    dm_out_puts(open_in(set, "b"), "B");
    disk.rename_at = 1;
    assert_int_equal(dm_outset_commit(set), DM_IO);
    assert_non_null(
        strstr(said, "/a: cannot be put in place: Permission denied|"));
    assert_int_equal(messages, 1);
    dm_outset_free(set);
    assert_int_equal(entries(folder, false), 0);
}

/* Two causes are two messages, each naming its first file. */
static void commit_with_two_causes_says_both(void **state)
{
    dm_outset *set = new_set();
    dm_out *a = open_in(set, "a"), *b = open_in(set, "b");

    (void)state;
    dm_out_puts(a, "A");
    disk.full = true;
    dm_out_done(a);
    disk.full = false;
    disk.fsync_error = EIO;
    dm_out_puts(b, "B");
    assert_int_equal(dm_outset_commit(set), DM_IO);
    assert_non_null(strstr(said, "/a: cannot be written: No space left"));
    assert_non_null(strstr(said, "/b: cannot be written: Input/output"));
    assert_int_equal(messages, 2);
    dm_outset_free(set);
    assert_int_equal(entries(folder, false), 0);
}

/* NAME_MAX is 255 on the usual file systems: the first name has room for
 * itself, but not for its temporary. */
static void open_names_too_long_are_refused(void **state)
{
    dm_outset *set = new_set();
    char name[302];
    dm_out *out;

    (void)state;
    memset(name, 'n', sizeof name);
    name[250] = '\0';
    assert_int_equal(dm_outset_open(set, name, &out), DM_IO);
    name[250] = 'n';
    name[300] = '\0';
    assert_int_equal(dm_outset_open(set, name, &out), DM_IO);
    assert_int_equal(messages, 2);
    assert_int_equal(dm_outset_count(set), 0);
    dm_outset_free(set);
    assert_int_equal(entries(folder, false), 0);
}

static void open_over_an_input_is_refused_by_inode(void **state)
{
    dm_outset *set = new_set();
    dm_out *out;

    (void)state;
    put_file(in_folder("in.csv"), "1");
    assert_int_equal(link(in_folder("in.csv"), in_folder("hard.csv")), 0);
    assert_int_equal(symlink("in.csv", in_folder("soft.csv")), 0);
    assert_int_equal(dm_outset_protect(set, in_folder("in.csv")), DM_OK);
    assert_int_equal(dm_outset_protect(set, in_folder("absent")), DM_OK);
    assert_int_equal(dm_outset_open(set, "in.csv", &out), DM_INCONSISTENT);
    assert_null(out);
    assert_int_equal(dm_outset_open(set, "hard.csv", &out), DM_INCONSISTENT);
    assert_int_equal(dm_outset_open(set, "soft.csv", &out), DM_INCONSISTENT);
    assert_int_equal(messages, 3);
    assert_non_null(strstr(said, "would be written over the input"));
    dm_outset_free(set);
    assert_content(in_folder("in.csv"), "1");
    assert_int_equal(entries(folder, false), 3);
}

/* The input appears under the name, or is protected, after the opening. */
static void commit_over_an_input_is_refused(void **state)
{
    dm_outset *set = new_set();

    (void)state;
    dm_out_puts(open_in(set, "a"), "new");
    put_file(in_folder("a"), "input");
    assert_int_equal(dm_outset_protect(set, in_folder("a")), DM_OK);
    assert_int_equal(dm_outset_commit(set), DM_INCONSISTENT);
    dm_outset_free(set);
    assert_content(in_folder("a"), "input");
    assert_int_equal(entries(folder, false), 1);
}

static void open_bad_names_are_refused(void **state)
{
    static const char *const bad[] = {"", ".", "..", "a/b", "/a", "a/"};
    dm_outset *set = new_set();
    dm_out *out;
    size_t i;

    (void)state;
    for (i = 0; i < sizeof bad / sizeof *bad; i++)
        assert_int_equal(dm_outset_open(set, bad[i], &out), DM_RANGE);
    open_in(set, "a");
    assert_int_equal(dm_outset_open(set, "a", &out), DM_INCONSISTENT);
    assert_int_equal(mkdir(in_folder("sub"), 0700), 0);
    assert_int_equal(dm_outset_open(set, "sub", &out), DM_IO);
    dm_outset_free(set);
}

static void open_beside_a_stale_temporary_leaves_it(void **state)
{
    char stale[64];
    dm_outset *set;

    (void)state;
    snprintf(stale, sizeof stale, ".a.part-%ld", (long)getpid());
    put_file(in_folder(stale), "stale");
    set = new_set();
    dm_out_puts(open_in(set, "a"), "A");
    assert_int_equal(dm_outset_commit(set), DM_OK);
    dm_outset_free(set);
    assert_content(in_folder("a"), "A");
    assert_content(in_folder(stale), "stale");
    assert_int_equal(entries(folder, false), 2);
}

static void new_folders_are_made_and_go_again_without_commit(void **state)
{
    dm_outset *set;

    (void)state;
    assert_int_equal(dm_outset_new(in_folder("x//y/z/"), &sink, &set), DM_OK);
    open_in(set, "a");
    dm_outset_free(set);
    assert_int_equal(entries(folder, false), 0);
    assert_int_equal(dm_outset_new(in_folder("x/y"), &sink, &set), DM_OK);
    dm_out_puts(open_in(set, "a"), "A");
    assert_int_equal(dm_outset_commit(set), DM_OK);
    dm_outset_free(set);
    assert_content(in_folder("x/y/a"), "A");
}

static void new_over_a_file_is_refused(void **state)
{
    dm_outset *set;

    (void)state;
    put_file(in_folder("f"), "");
    assert_int_equal(dm_outset_new(in_folder("f"), &sink, &set), DM_IO);
    assert_null(set);
    assert_int_equal(dm_outset_new(in_folder("f/sub"), &sink, &set), DM_IO);
    assert_int_equal(messages, 2);
}

static dm_status write_set(void *user)
{
    dm_outset *set;
    dm_out *out;
    dm_status status;
    int i;

    (void)user;
    status = dm_outset_new(in_folder("new/sub"), &sink, &set);
    if (status != DM_OK)
        return status;
    status = dm_outset_protect(set, folder);
    for (i = 0; i < 10 && status == DM_OK; i++) {
        char name[16];

        snprintf(name, sizeof name, "out-%d", i);
        status = dm_outset_open(set, name, &out);
        if (status == DM_OK)
            dm_out_puts(out, "text");
    }
    if (status == DM_OK)
        status = dm_outset_commit(set);
    else
        assert_int_equal(access(in_folder("new/sub/out-0"), F_OK), -1);
    dm_outset_free(set);
    return status;
}

static void set_with_any_allocation_failing_leaves_nothing(void **state)
{
    (void)state;
    assert_true(allocfail_each(write_set, NULL) >= 14);
    assert_true(sink.errors >= 14);
    assert_int_equal(entries(in_folder("new/sub"), false), 10);
}

static dm_status read_one(void *user)
{
    dm_buf buf;
    dm_status status = dm_file_read(user, 1 << 20, here, &sink, &buf);

    dm_buf_free(&buf);
    return status;
}

static void read_with_any_allocation_failing_says_so(void **state)
{
    char path[256];

    (void)state;
    snprintf(path, sizeof path, "%s", in_folder("a"));
    put_file(path, "some bytes");
    assert_true(allocfail_each(read_one, path) >= 1);
}

static dm_status name_long_id(void *user)
{
    dm_arena *arena = dm_arena_new();
    char *name = arena == NULL ? NULL : dm_file_name(arena, user);
    dm_status status = name == NULL ? DM_NOMEM : DM_OK;

    dm_arena_free(arena);
    return status;
}

static void file_name_with_any_allocation_failing_is_null(void **state)
{
    char id[200];

    (void)state;
    memset(id, 'i', 199);
    id[199] = '\0';
    assert_true(allocfail_each(name_long_id, id) >= 3);
}

#define WITH_FOLDER(test)                                                      \
    cmocka_unit_test_setup_teardown(test, set_up, tear_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        WITH_FOLDER(read_whole_file_gives_its_bytes),
        WITH_FOLDER(read_missing_file_names_who_asked),
        WITH_FOLDER(read_over_the_limit_is_refused),
        WITH_FOLDER(read_of_a_growing_file_is_held_to_the_limit),
        WITH_FOLDER(read_of_no_regular_file_returns_at_once),
        cmocka_unit_test(resolve_takes_relative_names_from_the_base),
        cmocka_unit_test(file_name_unsafe_bytes_become_hex),
        cmocka_unit_test(file_name_long_ids_stay_short_and_distinct),
        cmocka_unit_test(sha256_published_messages_give_their_digest),
        WITH_FOLDER(commit_puts_every_file_in_place),
        WITH_FOLDER(free_without_commit_leaves_nothing),
        WITH_FOLDER(put_and_reserve_keep_order_and_bytes),
        WITH_FOLDER(done_closes_one_file_before_the_commit),
        WITH_FOLDER(commit_on_a_full_disk_leaves_old_files_and_says_it_once),
        WITH_FOLDER(reserve_after_a_failure_still_gives_room),
        WITH_FOLDER(commit_with_a_failing_flush_leaves_nothing),
        WITH_FOLDER(commit_on_a_disk_without_fsync_is_fine),
        WITH_FOLDER(commit_with_a_rename_failing_half_way_names_what_is_there),
        WITH_FOLDER(commit_with_the_first_rename_failing_leaves_nothing),
        WITH_FOLDER(commit_with_two_causes_says_both),
        WITH_FOLDER(open_names_too_long_are_refused),
        WITH_FOLDER(open_over_an_input_is_refused_by_inode),
        WITH_FOLDER(commit_over_an_input_is_refused),
        WITH_FOLDER(open_bad_names_are_refused),
        WITH_FOLDER(open_beside_a_stale_temporary_leaves_it),
        WITH_FOLDER(new_folders_are_made_and_go_again_without_commit),
        WITH_FOLDER(new_over_a_file_is_refused),
        WITH_FOLDER(set_with_any_allocation_failing_leaves_nothing),
        WITH_FOLDER(read_with_any_allocation_failing_says_so),
        cmocka_unit_test(file_name_with_any_allocation_failing_is_null),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
