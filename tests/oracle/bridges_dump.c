/* SPDX-License-Identifier: MIT
 * What the library makes of bridge files, for tests/oracle/bridges.py and
 * properties.py. Arguments: files. Standard output, one row of a word and
 * numbers each; per file: bridge, the number of tendons; per tendon: tendon,
 * length, outside lengths; per support: support, point, t, deflection, bend
 * plane, readable back, readable ahead, station, offset, inside; per face:
 * face, t on the axis and on each clock line, origin, normal; per place along
 * it: place, t, point, crown, outside lengths, map point, that point back. A
 * file that cannot be read: refused, its status. */
#include <stdio.h>

#include "ductmark/model.h"

#define LINES 4
#define PLACES 16

/* The second and third change places where a tendon is reversed. */
static const double clock_line[LINES] = {0.0, 0.9, -0.9, 3.14159265358979324};

static void hear(void *user, const dm_message *m)
{
    (void)user;
    if (m->severity == DM_ERROR)
        fprintf(stderr, "%s:%ld: %s\n", m->place.file, m->place.line, m->text);
}

static void print_vector(dm_vec3 v)
{
    printf(" %.17g %.17g %.17g", v.x, v.y, v.z);
}

static void print_outside(const dm_tendon *n, double r, double t)
{
    for (int i = 0; i < LINES; i++)
        printf(" %.17g", dm_outside_length(&n->line, r, clock_line[i], t));
}

static void dump_support(const dm_model *m, const dm_tendon *n, size_t i)
{
    const dm_support *s = &n->supports[i];
    dm_alignment_foot f = {(double)NAN, (double)NAN, false, false};
    dm_model_station(m, s->point, &f);
    printf("support");
    print_vector(s->point);
    printf(" %.17g %.17g %.17g %.17g %.17g %.17g %.17g %d\n", s->t,
           s->deflection, dm_tendon_bend_plane(n, i), s->readable_back,
           s->readable_ahead, f.s, f.offset, f.inside);
}

static void dump_face(const dm_tendon *n, const dm_face *f, double r)
{
    printf("face %.17g", f->t);
    for (int i = 0; i < LINES; i++)
        printf(" %.17g", dm_face_station(n, f, r, clock_line[i]));
    print_vector(f->origin);
    print_vector(f->normal);
    putchar('\n');
}

static void dump_place(const dm_model *m, const dm_tendon *n, double r,
                       double t)
{
    dm_frame f = dm_centreline_frame(&n->line, t);
    dm_vec3 on_map = dm_map_point(&m->map, f.point);
    printf("place %.17g", t);
    print_vector(f.point);
    print_vector(f.crown);
    print_outside(n, r, t);
    print_vector(on_map);
    print_vector(dm_map_inverse(&m->map, on_map));
    putchar('\n');
}

static void dump_tendon(const dm_model *m, const dm_tendon *n)
{
    double r = 0.5 * dm_tendon_duct(m, n, 0.0)->od;
    printf("tendon %.17g", n->line.length);
    print_outside(n, r, n->line.length);
    putchar('\n');
    for (size_t i = 0; i < n->support_count; i++)
        dump_support(m, n, i);
    for (size_t i = 0; i < n->face_count; i++)
        dump_face(n, &n->faces[i], r);
    for (int i = 0; i <= PLACES; i++)
        dump_place(m, n, r, n->line.length * i / PLACES);
}

int main(int argc, char **argv)
{
    dm_diag diag = {.emit = hear};
    for (int i = 1; i < argc; i++) {
        dm_model *m = NULL;
        dm_status status = dm_model_read(argv[i], &diag, &m);
        if (status != DM_OK) {
            printf("refused %d\n", (int)status);
            continue;
        }
        printf("bridge %zu\n", m->tendon_count);
        for (size_t k = 0; k < m->tendon_count; k++)
            dump_tendon(m, &m->tendons[k]);
        dm_model_free(m);
    }
    return 0;
}
