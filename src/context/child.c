/* SPDX-License-Identifier: MIT
 * Work on a file of others in a process of its own: a crash, a hang or a flood
 * there is a message here. The process has limits of time, memory, files and
 * processes, nothing to write to but one pipe, and is killed when its time on
 * the wall is over. What comes through the pipe is not trusted. */
#define _POSIX_C_SOURCE 200809L
#define _DEFAULT_SOURCE
#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "base/arena.h"
#include "context/soup.h"

/* The sanitizer's shadow does not fit into any limit of address space. */
#if defined(__SANITIZE_ADDRESS__)
#define LIMIT_MEMORY false
#elif defined(__has_feature)
#if __has_feature(address_sanitizer)
#define LIMIT_MEMORY false
#endif
#endif
#ifndef LIMIT_MEMORY
#define LIMIT_MEMORY true
#endif

#define TAG_PART 0x70617274u
#define TAG_END 0x656e6421u
#define TAG_FAULT 0x6661756cu
#define MOST_PARTS ((size_t)1000000)

typedef struct {
    uint32_t tag, length; /* of the name or the fault */
    uint64_t points, triangles;
} head;

/* ---- the child's side ------------------------------------------------- */

static bool put(int fd, const void *bytes, size_t length)
{
    const char *at = bytes;

    while (length > 0) {
        ssize_t n = write(fd, at, length);

        if (n < 0 && errno == EINTR)
            continue;
        if (n <= 0)
            return false;
        at += n;
        length -= (size_t)n;
    }
    return true;
}

bool dm_send_part(int fd, const char *name, const double *points, size_t count,
                  const uint32_t *index, size_t triangles)
{
    head h = {TAG_PART, 0, count, triangles};
    size_t length = strlen(name);

    h.length = (uint32_t)(length < DM_PART_NAME ? length : DM_PART_NAME - 1);
    return put(fd, &h, sizeof h) && put(fd, name, h.length) &&
           put(fd, points, 3 * count * sizeof *points) &&
           put(fd, index, 3 * triangles * sizeof *index);
}

bool dm_send_end(int fd)
{
    head h = {TAG_END, 0, 0, 0};

    return put(fd, &h, sizeof h);
}

bool dm_send_fault(int fd, const char *fault)
{
    head h = {TAG_FAULT, 0, 0, 0};
    size_t length = strlen(fault);

    h.length = (uint32_t)(length < DM_FAULT_SIZE ? length : DM_FAULT_SIZE - 1);
    return put(fd, &h, sizeof h) && put(fd, fault, h.length);
}

/* `more`: how far the limit that kills lies beyond the one that says so. */
static void limit(int what, size_t most, size_t more)
{
    struct rlimit r;

    if (getrlimit(what, &r) != 0)
        return;
    if (r.rlim_max == RLIM_INFINITY || (rlim_t)(most + more) < r.rlim_max)
        r.rlim_max = (rlim_t)(most + more);
    r.rlim_cur = (rlim_t)most < r.rlim_max ? (rlim_t)most : r.rlim_max;
    setrlimit(what, &r);
}

/* Address space in use, bytes; 0: not known. */
static size_t memory_now(void)
{
    char text[32] = "";
    int fd = open("/proc/self/statm", O_RDONLY | O_CLOEXEC);
    ssize_t n = fd < 0 ? -1 : read(fd, text, sizeof text - 1);
    long page = sysconf(_SC_PAGESIZE);

    if (fd >= 0)
        close(fd);
    if (n <= 0 || page <= 0)
        return 0;
    return (size_t)strtoull(text, NULL, 10) * (size_t)page;
}

static void be_small(const dm_context_limits *limits)
{
    static const int signals[] = {SIGSEGV, SIGBUS,  SIGFPE,  SIGILL,
                                  SIGABRT, SIGXCPU, SIGPIPE, SIGTERM};

    for (size_t i = 0; i < sizeof signals / sizeof *signals; i++)
        signal(signals[i], SIG_DFL);
    limit(RLIMIT_CORE, 0, 0);
    limit(RLIMIT_FSIZE, 0, 0);
    /* A signal of its own first, so that SIGKILL is somebody else's. */
    limit(RLIMIT_CPU, (size_t)ceil(fmax(limits->seconds, 1.0)), 5);
    limit(RLIMIT_NOFILE, 64, 0);
    if (LIMIT_MEMORY)
        limit(RLIMIT_AS, memory_now() + limits->memory, 0);
}

/* Leaves the pipe and nothing else open. Does not return. */
static void child(dm_child_work *work, void *user, int fd,
                  const dm_context_limits *limits)
{
    int null = open("/dev/null", O_RDWR);
    long most = sysconf(_SC_OPEN_MAX);

    if (null < 0 || fd < 3)
        _exit(1);
    for (int i = 0; i < 3; i++)
        if (dup2(null, i) < 0)
            _exit(1);
    for (int i = 3; i < (most > 4096 || most < 0 ? 4096 : (int)most); i++)
        if (i != fd)
            close(i);
    be_small(limits);
    work(fd, user);
    _exit(0);
}

/* ---- the parent's side ------------------------------------------------ */

typedef struct {
    int fd;
    double until; /* monotonic, s */
    bool late;
    bool cut; /* the stream ended */
} source;

static double now(void)
{
    struct timespec t;

    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static bool get(source *s, void *bytes, size_t length)
{
    char *at = bytes;

    while (length > 0) {
        struct pollfd p = {s->fd, POLLIN, 0};
        double left = s->until - now();
        ssize_t n;

        if (left <= 0.0) {
            s->late = true;
            return false;
        }
        if (poll(&p, 1, (int)fmin(1000.0 * left + 1.0, 1e6)) <= 0)
            continue; /* interrupted or late: asked again */
        n = read(s->fd, at, length);
        if (n < 0 && errno == EINTR)
            continue;
        if (n <= 0) {
            s->cut = true;
            return false;
        }
        at += n;
        length -= (size_t)n;
    }
    return true;
}

static bool room(void **items, size_t size, size_t need, size_t *capacity)
{
    size_t want = *capacity < 1024 ? 1024 : *capacity, bytes;
    void *more;

    if (need <= *capacity)
        return true;
    while (want < need)
        want *= 2;
    if (!dm_size_mul(want, size, &bytes))
        return false;
    more = realloc(*items, bytes);
    if (more == NULL)
        return false;
    *items = more;
    *capacity = want;
    return true;
}

/* One line of UTF-8, whatever comes: a name may be cut within a letter. */
static bool text_in(source *s, char *text, size_t length)
{
    size_t i = 0;

    if (!get(s, text, length))
        return false;
    text[length] = '\0';
    while (i < length) {
        unsigned char c = (unsigned char)text[i];
        size_t more = c < 0x80 ? 0 : c < 0xe0 ? 1 : c < 0xf0 ? 2 : 3, k = 1;

        while (k <= more && ((unsigned char)text[i + k] & 0xc0) == 0x80)
            k++;
        if (c < ' ' || c == 127)
            text[i] = ' ';
        else if (k <= more || (c >= 0x80 && (c < 0xc2 || c > 0xf4)))
            text[i] = '?';
        else
            i += more;
        i++;
    }
    return true;
}

static dm_status no(char *fault, dm_status status, const char *text)
{
    snprintf(fault, DM_FAULT_SIZE, "%s", text);
    return status;
}

static dm_status points_in(source *s, const head *h, dm_soup *soup, char *fault)
{
    double *p;

    if (!room((void **)&soup->point, 3 * sizeof *p,
              soup->point_count + (size_t)h->points, &soup->point_capacity))
        return DM_NOMEM;
    p = soup->point + 3 * soup->point_count;
    if (!get(s, p, 3 * (size_t)h->points * sizeof *p))
        return DM_SYNTAX;
    for (size_t i = 0; i < 3 * (size_t)h->points; i++)
        if (!isfinite(p[i]))
            return no(fault, DM_RANGE, "a coordinate is not a finite number");
    return DM_OK;
}

static dm_status part_in(source *s, const head *h, size_t base,
                         const dm_context_limits *limits, dm_soup *soup,
                         char *fault)
{
    size_t triangles, points = soup->point_count;
    dm_status status;
    dm_soup_part *part;
    uint32_t *index;

    if (h->triangles > limits->triangles ||
        soup->triangle_count - base + h->triangles > limits->triangles ||
        h->points > 3 * (uint64_t)limits->triangles ||
        points + h->points > UINT32_MAX || soup->part_count >= MOST_PARTS) {
        snprintf(fault, DM_FAULT_SIZE,
                 "too large: at most %zu triangles are read",
                 limits->triangles);
        return DM_RANGE;
    }
    triangles = (size_t)h->triangles;
    if (h->length >= DM_PART_NAME || triangles == 0)
        return DM_SYNTAX;
    if (!DM_GROW(soup->parts, soup->part_count, soup->part_capacity))
        return DM_NOMEM;
    part = &soup->parts[soup->part_count];
    part->first = soup->triangle_count;
    if (!text_in(s, part->name, h->length))
        return DM_SYNTAX;
    status = points_in(s, h, soup, fault);
    if (status != DM_OK)
        return status;
    if (!room((void **)&soup->index, 3 * sizeof *index,
              soup->triangle_count + triangles, &soup->triangle_capacity))
        return DM_NOMEM;
    index = soup->index + 3 * soup->triangle_count;
    if (!get(s, index, 3 * triangles * sizeof *index))
        return DM_SYNTAX;
    for (size_t i = 0; i < 3 * triangles; i++) {
        if (index[i] >= h->points)
            return no(fault, DM_RANGE,
                      "a triangle names a point beyond the "
                      "last one");
        index[i] += (uint32_t)points;
    }
    soup->point_count += (size_t)h->points;
    soup->triangle_count += triangles;
    soup->part_count++;
    return DM_OK;
}

static dm_status stream_in(source *s, const dm_context_limits *limits,
                           dm_soup *soup, char *fault)
{
    size_t base = soup->triangle_count;

    for (;;) {
        head h;
        dm_status status = DM_SYNTAX;

        if (!get(s, &h, sizeof h))
            return DM_SYNTAX;
        if (h.tag == TAG_END)
            return soup->triangle_count > base
                       ? DM_OK
                       : no(fault, DM_SYNTAX, "it holds no triangle");
        if (h.tag == TAG_FAULT && h.length < DM_FAULT_SIZE &&
            text_in(s, fault, h.length))
            return DM_SYNTAX;
        if (h.tag == TAG_PART)
            status = part_in(s, &h, base, limits, soup, fault);
        if (status != DM_OK)
            return status;
    }
}

/* Why there is no good end, if nobody has said it yet. */
static void explain(const source *s, int end, const dm_context_limits *limits,
                    char *fault)
{
    if (fault[0] != '\0')
        return;
    if (s->late || (WIFSIGNALED(end) && WTERMSIG(end) == SIGXCPU))
        snprintf(fault, DM_FAULT_SIZE,
                 "the mesh reader took more than %d s and was stopped",
                 (int)ceil(limits->seconds));
    else if (s->cut && WIFSIGNALED(end) && WTERMSIG(end) == SIGKILL)
        snprintf(fault, DM_FAULT_SIZE,
                 "the mesh reader was killed before it had done, maybe for "
                 "want of memory");
    else if (s->cut)
        snprintf(fault, DM_FAULT_SIZE,
                 "the mesh reader crashed on it; convert it to OBJ or GLB with "
                 "the program that made it");
    else
        snprintf(fault, DM_FAULT_SIZE,
                 "what the mesh reader made of it is no mesh");
}

dm_status dm_child_triangles(dm_child_work *work, void *user,
                             const dm_context_limits *limits, dm_soup *soup,
                             char fault[DM_FAULT_SIZE])
{
    int ends[2], end = 0;
    source s = {.until = now() + limits->seconds};
    dm_status status;
    pid_t pid;

    fault[0] = '\0';
    if (pipe(ends) != 0)
        return no(fault, DM_IO, strerror(errno));
    fcntl(ends[0], F_SETFD, FD_CLOEXEC);
    fcntl(ends[1], F_SETFD, FD_CLOEXEC);
    pid = fork();
    if (pid == 0) {
        close(ends[0]);
        child(work, user, ends[1], limits);
    }
    close(ends[1]);
    if (pid < 0) {
        close(ends[0]);
        return no(fault, DM_IO, "no process could be started for the reader");
    }
    s.fd = ends[0];
    status = stream_in(&s, limits, soup, fault);
    if (status != DM_OK && !s.cut)
        kill(pid, SIGKILL);
    close(ends[0]);
    while (waitpid(pid, &end, 0) < 0 && errno == EINTR)
        ;
    if (status != DM_OK && status != DM_NOMEM)
        explain(&s, end, limits, fault);
    return status;
}
