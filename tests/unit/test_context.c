/* SPDX-License-Identifier: MIT
 * Meshes of the surroundings: distances against closed forms of boxes and
 * cylinders, files that lie, crash or never end. The meshes are invented. */
#define _POSIX_C_SOURCE 200809L
#include <signal.h>
#include <stdlib.h>
#include <unistd.h>

#include "allocfail.h"
#include "context/distance.h"
#include "context/soup.h"
#include "said.h"
#include "scratch.h"

#define PI 3.14159265358979323846

static double uniform(void)
{
    static unsigned long state = 11;

    state = (state * 6364136223846793005ul + 1442695040888963407ul) &
            0xfffffffffffffffful;
    return ((double)(state >> 11) + 0.5) / 9007199254740992.0;
}

static dm_vec3 random_point(double reach)
{
    double x = uniform(), y = uniform(), z = uniform();

    return (dm_vec3){reach * (2.0 * x - 1.0), reach * (2.0 * y - 1.0),
                     reach * (2.0 * z - 1.0)};
}

static dm_vec3 random_direction(void)
{
    dm_vec3 v;

    do
        v = random_point(1.0);
    while (dm_vec3_norm(v) > 1.0 || dm_vec3_norm(v) < 0.1);
    return dm_vec3_unit(v);
}

/* ---- meshes ----------------------------------------------------------- */

/* Half edges 1, 1.5, 2.25 about the origin: single precision holds them. */
static const char box_obj[] =
    "# an invented box\n"
    "v -1 -1.5 -2.25\nv 1 -1.5 -2.25\nv 1 1.5 -2.25\nv -1 1.5 -2.25\n"
    "v -1 -1.5 2.25\nv 1 -1.5 2.25\nv 1 1.5 2.25\nv -1 1.5 2.25\n"
    "g box\n"
    "f 1 4 3 2\nf 5 6 7 8\nf 1 2 6 5\nf 2 3 7 6\nf 3 4 8 7\nf 4 1 5 8\n";
static const dm_vec3 half = {1.0, 1.5, 2.25};

static dm_context *read_text(scratch *files, const char *name, const char *text,
                             dm_context_source how)
{
    dm_context *c = NULL;
    said s;

    said_init(&s);
    how.path = scratch_file(files, name, text);
    assert_int_equal(dm_context_read(&how, 1, NULL, &s.diag, &c), DM_OK);
    assert_string_equal(s.text, "");
    assert_non_null(c);
    return c;
}

static dm_context *read_box(dm_vec3 at)
{
    scratch files;
    dm_context *c;

    scratch_init(&files);
    c = read_text(&files, "box.obj", box_obj, (dm_context_source){.at = at});
    scratch_free(&files);
    assert_int_equal(dm_context_triangle_count(c), 12);
    return c;
}

/* ---- closed forms ----------------------------------------------------- */

/* Slabs. The first face of the box along a ray; NAN. */
static double box_ahead(dm_vec3 from, dm_vec3 d)
{
    const double o[3] = {from.x, from.y, from.z}, v[3] = {d.x, d.y, d.z};
    const double h[3] = {half.x, half.y, half.z};
    double in = -HUGE_VAL, out = HUGE_VAL;

    for (int k = 0; k < 3; k++) {
        double a = (-h[k] - o[k]) / v[k], b = (h[k] - o[k]) / v[k];

        in = fmax(in, fmin(a, b));
        out = fmin(out, fmax(a, b));
    }
    if (in > out || out < 0.0)
        return (double)NAN;
    return in >= 0.0 ? in : out;
}

/* To the box's surface, from either side. */
static double box_near(dm_vec3 p)
{
    double x = fabs(p.x) - half.x, y = fabs(p.y) - half.y,
           z = fabs(p.z) - half.z;
    double inside = fmax(x, fmax(y, z));
    dm_vec3 out = {fmax(x, 0.0), fmax(y, 0.0), fmax(z, 0.0)};

    return inside <= 0.0 ? -inside : dm_vec3_norm(out);
}

static void rays_meet_a_box_where_its_slabs_say(void **unused)
{
    /* A map's coordinates, too. */
    static const dm_vec3 places[] = {{0, 0, 0},
                                     {500000.123, 6600000.456, 12.5}};
    double worst = 0.0;
    int met = 0;

    (void)unused;
    for (size_t k = 0; k < 2; k++) {
        dm_context *c = read_box(places[k]);

        for (int i = 0; i < 5000; i++) {
            dm_vec3 from = random_point(4.0), d = random_direction();
            double want = box_ahead(from, d);
            dm_context_hit hit;
            bool found = dm_context_ray(c, dm_vec3_add(places[k], from), d,
                                        20.0, NULL, &hit);

            assert_int_equal(found, !isnan(want));
            if (!found)
                continue;
            met++;
            worst = fmax(worst, fabs(hit.distance - want));
            assert_string_equal(hit.name, "box.obj: box");
        }
        dm_context_free(c);
    }
    print_message("box, %d rays met: worst %.1e m\n", met, worst);
    assert_true(met > 1000);
    assert_true(worst < 1e-8); /* doubles at 6600 km are 9e-10 m apart */
}

static void points_are_as_far_from_a_box_as_its_faces_say(void **unused)
{
    dm_context *c = read_box((dm_vec3){100.0, -20.0, 3.0});
    double worst = 0.0;

    (void)unused;
    for (int i = 0; i < 5000; i++) {
        dm_vec3 p = random_point(4.0);
        dm_vec3 world = dm_vec3_add(p, (dm_vec3){100.0, -20.0, 3.0});
        dm_context_hit hit;

        assert_true(dm_context_near(c, world, world, 10.0, NULL, &hit));
        worst = fmax(worst, fabs(hit.distance - box_near(p)));
        assert_near(dm_vec3_norm(dm_vec3_sub(hit.point, world)), hit.distance,
                    1e-12);
        /* Nothing is found nearer than it is. */
        assert_false(
            dm_context_near(c, world, world, 0.99 * hit.distance, NULL, &hit));
    }
    print_message("box, 5000 points: worst %.1e m\n", worst);
    assert_true(worst < 1e-12);
    dm_context_free(c);
}

/* Outside of a convex body the distance along a line is convex: its least is
 * found by thirds. */
static double least_along(dm_vec3 a, dm_vec3 b)
{
    double lo = 0.0, hi = 1.0;

    for (int i = 0; i < 200; i++) {
        double s = lo + (hi - lo) / 3.0, t = hi - (hi - lo) / 3.0;
        dm_vec3 p = dm_vec3_along(a, s, dm_vec3_sub(b, a));
        dm_vec3 q = dm_vec3_along(a, t, dm_vec3_sub(b, a));

        if (box_near(p) < box_near(q))
            hi = t;
        else
            lo = s;
    }
    return box_near(dm_vec3_along(a, lo, dm_vec3_sub(b, a)));
}

static void lines_are_as_far_from_a_box_as_a_search_says(void **unused)
{
    dm_context *c = read_box((dm_vec3){0, 0, 0});
    int outside = 0, through = 0;

    (void)unused;
    for (int i = 0; i < 5000; i++) {
        dm_vec3 a = random_point(4.0), b = random_point(4.0);
        double in = box_ahead(a, dm_vec3_unit(dm_vec3_sub(b, a)));
        dm_context_hit hit;

        assert_true(dm_context_near(c, a, b, 10.0, NULL, &hit));
        if (in <= dm_vec3_norm(dm_vec3_sub(b, a))) {
            through++;
            assert_near(hit.distance, 0.0, 1e-12);
        } else if (fabs(a.x) > half.x || fabs(a.y) > half.y ||
                   fabs(a.z) > half.z) {
            outside++;
            assert_near(hit.distance, least_along(a, b), 1e-9);
        }
    }
    assert_true(outside > 1000 && through > 1000);
    dm_context_free(c);
}

#define SIDES 720

/* A prism of 720 sides in a cylinder of 0.5 m about Z, 8 m long. Its sagitta,
 * r (1 - cos(pi / 720)), is 4.8e-6 m. */
static void a_cylinder_is_where_its_radius_says(void **unused)
{
    const double r = 0.5, sagitta = r * (1.0 - cos(PI / SIDES));
    size_t size = 200000, n = 0;
    char *text = malloc(size);
    double worst_ray = 0.0, worst_near = 0.0;
    scratch files;
    dm_context *c;

    (void)unused;
    assert_non_null(text);
    for (int i = 0; i < SIDES; i++) {
        double x = r * cos(2.0 * PI * i / SIDES);
        double y = r * sin(2.0 * PI * i / SIDES);

        n += (size_t)snprintf(text + n, size - n,
                              "v %.9f %.9f -4\nv %.9f %.9f 4\n", x, y, x, y);
    }
    for (int i = 0; i < SIDES; i++) {
        int a = 2 * i + 1, b = 2 * ((i + 1) % SIDES) + 1;

        n += (size_t)snprintf(text + n, size - n, "f %d %d %d %d\n", a, b,
                              b + 1, a + 1);
    }
    assert_true(n < size);
    scratch_init(&files);
    c = read_text(&files, "pipe.obj", text, (dm_context_source){0});
    scratch_free(&files);
    free(text);
    assert_int_equal(dm_context_triangle_count(c), 2 * SIDES);
    for (int i = 0; i < 5000; i++) {
        double a = 2.0 * PI * uniform(), z = 2.0 * uniform() - 1.0;
        double d = uniform() < 0.5 ? 0.4 * uniform() : 0.6 + 2.0 * uniform();
        double e = a + (uniform() - 0.5) * 0.4, slope = uniform() - 0.5;
        dm_vec3 from = {d * cos(a), d * sin(a), z};
        dm_vec3 to = dm_vec3_unit((dm_vec3){d > r ? -cos(e) : cos(e),
                                            d > r ? -sin(e) : sin(e), slope});
        double aa = to.x * to.x + to.y * to.y;
        double bb = from.x * to.x + from.y * to.y, cc = d * d - r * r;
        double root = bb * bb - aa * cc, steep = sqrt(root) / aa, want;
        dm_context_hit hit;

        assert_true(dm_context_near(c, from, from, 5.0, NULL, &hit));
        worst_near = fmax(worst_near, fabs(hit.distance - fabs(d - r)));
        if (!(root > 0.0) || steep < 0.2)
            continue;
        want = d > r ? (-bb - sqrt(root)) / aa : (-bb + sqrt(root)) / aa;
        if (fabs(z + want * to.z) > 3.9)
            continue;
        assert_true(dm_context_ray(c, from, to, 20.0, NULL, &hit));
        worst_ray = fmax(worst_ray, fabs(hit.distance - want));
    }
    print_message("cylinder: worst ray %.1e m, nearest %.1e m, sagitta %.1e\n",
                  worst_ray, worst_near, sagitta);
    assert_true(worst_ray < 1e-4);
    assert_true(worst_near < sagitta + 1e-7);
    dm_context_free(c);
}

/* ---- capsules --------------------------------------------------------- */

static void capsules_agree_with_a_march(void **unused)
{
    int met = 0;

    (void)unused;
    for (int i = 0; i < 3000; i++) {
        dm_vec3 c = random_point(2.0), d = i % 10 == 0 ? c : random_point(2.0);
        dm_vec3 from = random_point(3.0), on;
        dm_vec3 to = dm_vec3_unit(dm_vec3_sub(random_point(1.0), from));
        double r = 0.1 + 0.4 * uniform(), got, at = 0.0, gap;

        /* By steps of what is surely free. */
        do {
            dm_vec3 p = dm_vec3_along(from, at, to);

            gap = dm_segments_apart(p, p, c, d, &on) - r;
            at += gap;
        } while (gap > 1e-10 && at < 20.0);
        if (at < 20.0) {
            met++;
            assert_true(dm_capsule_ahead(from, to, c, d, r, &got));
            /* Where it grazes, the march is late. */
            assert_true(got <= fmax(at, 0.0) + 1e-4);
            dm_vec3 p = dm_vec3_along(from, got, to);
            assert_true(dm_segments_apart(p, p, c, d, &on) <= r + 1e-9);
            assert_true(got >= fmax(at, 0.0) - 1e-3);
        } else {
            assert_false(dm_capsule_ahead(from, to, c, d, r, &got));
        }
    }
    print_message("capsules: %d met\n", met);
    assert_true(met > 100);
}

static void segments_agree_with_a_grid(void **unused)
{
    (void)unused;
    for (int i = 0; i < 300; i++) {
        dm_vec3 a = random_point(1.0), b = i % 7 == 0 ? a : random_point(1.0);
        dm_vec3 c = random_point(1.0), d = i % 5 == 0 ? c : random_point(1.0);
        dm_vec3 on;
        double best = HUGE_VAL, got;

        if (i % 11 == 0) /* parallel */
            d = dm_vec3_add(c, dm_vec3_sub(b, a));
        got = dm_segments_apart(a, b, c, d, &on);
        for (int k = 0; k <= 100; k++)
            for (int m = 0; m <= 100; m++) {
                dm_vec3 p = dm_vec3_along(a, k / 100.0, dm_vec3_sub(b, a));
                dm_vec3 q = dm_vec3_along(c, m / 100.0, dm_vec3_sub(d, c));

                best = fmin(best, dm_vec3_norm(dm_vec3_sub(p, q)));
            }
        assert_true(got <= best + 1e-12);
        assert_true(got >= best - 0.04);
    }
}

/* ---- how a file stands ------------------------------------------------ */

static void units_axes_and_places_are_those_of_the_job(void **unused)
{
    /* 1000 mm x 2000 mm up in a file with Y up. */
    static const char sheet[] = "v 0 0 0\nv 1000 0 0\nv 1000 2000 0\n"
                                "v 0 2000 0\nf 1 2 3 4\n";
    scratch files;
    dm_context *c;
    dm_context_hit hit;

    (void)unused;
    scratch_init(&files);
    c = read_text(&files, "sheet.obj", sheet,
                  (dm_context_source){
                      .unit = 0.001, .up = DM_UP_Y, .at = {10.0, 20.0, 30.0}});
    /* Stands in the plane Y = 20, X from 10 to 11, Z from 30 to 32. */
    assert_true(dm_context_ray(c, (dm_vec3){10.5, 15.0, 31.9},
                               (dm_vec3){0.0, 1.0, 0.0}, 10.0, NULL, &hit));
    assert_near(hit.distance, 5.0, 1e-12);
    assert_false(dm_context_ray(c, (dm_vec3){10.5, 15.0, 32.1},
                                (dm_vec3){0.0, 1.0, 0.0}, 10.0, NULL, &hit));
    assert_false(dm_context_ray(c, (dm_vec3){10.5, 15.0, 31.9},
                                (dm_vec3){0.0, 1.0, 0.0}, 4.9, NULL, &hit));
    dm_context_free(c);
    scratch_free(&files);
}

static void glTF_has_y_up_and_collada_says_its_unit(void **unused)
{
    /* A triangle of 1 m in X, 2 m up, as glTF with its numbers inside. */
    static const char gltf[] =
        "{\"asset\":{\"version\":\"2.0\"},\"scene\":0,\"scenes\":[{\"nodes\":"
        "[0]}],\"nodes\":[{\"mesh\":0,\"name\":\"plate\"}],\"meshes\":[{"
        "\"primitives\":[{\"attributes\":{\"POSITION\":0}}]}],\"accessors\":[{"
        "\"bufferView\":0,\"componentType\":5126,\"count\":3,\"type\":"
        "\"VEC3\",\"min\":[0,0,0],\"max\":[1,2,0]}],\"bufferViews\":[{"
        "\"buffer\":0,\"byteLength\":36}],\"buffers\":[{\"byteLength\":36,"
        "\"uri\":\"data:application/octet-stream;base64,"
        "AAAAAAAAAAAAAAAAAACAPwAAAAAAAAAAAAAAAAAAAEAAAAAA\"}]}";
    static const char dae[] =
        "<?xml version='1.0'?><COLLADA xmlns="
        "'http://www.collada.org/2005/11/COLLADASchema' version='1.4.1'>"
        "<asset><unit name='half' meter='0.5'/><up_axis>Z_UP</up_axis></asset>"
        "<library_geometries><geometry id='g' name='plate'><mesh>"
        "<source id='p'><float_array id='a' count='9'>0 0 0 2 0 0 0 0 4"
        "</float_array><technique_common><accessor source='#a' count='3' "
        "stride='3'><param name='X' type='float'/><param name='Y' "
        "type='float'/><param name='Z' type='float'/></accessor>"
        "</technique_common></source><vertices id='v'><input "
        "semantic='POSITION' source='#p'/></vertices><triangles count='1'>"
        "<input semantic='VERTEX' source='#v' offset='0'/><p>0 1 2</p>"
        "</triangles></mesh></geometry></library_geometries>"
        "<library_visual_scenes><visual_scene id='s'><node id='n'>"
        "<instance_geometry url='#g'/></node></visual_scene>"
        "</library_visual_scenes><scene><instance_visual_scene url='#s'/>"
        "</scene></COLLADA>";
    scratch files;
    dm_context *c;
    dm_context_hit hit;

    (void)unused;
    scratch_init(&files);
    c = read_text(&files, "plate.gltf", gltf, (dm_context_source){0});
    assert_true(dm_context_ray(c, (dm_vec3){0.1, -3.0, 1.5},
                               (dm_vec3){0.0, 1.0, 0.0}, 10.0, NULL, &hit));
    assert_near(hit.distance, 3.0, 1e-7);
    dm_context_free(c);
    /* The same plate in a file of 0.5 m units with Z up: Assimp turns it. */
    c = read_text(&files, "plate.dae", dae, (dm_context_source){0});
    assert_true(dm_context_ray(c, (dm_vec3){0.1, -3.0, 1.5},
                               (dm_vec3){0.0, 1.0, 0.0}, 10.0, NULL, &hit));
    assert_near(hit.distance, 3.0, 1e-7);
    assert_false(dm_context_ray(c, (dm_vec3){0.1, -3.0, 2.1},
                                (dm_vec3){0.0, 1.0, 0.0}, 10.0, NULL, &hit));
    dm_context_free(c);
    scratch_free(&files);
}

static void a_duct_that_the_mesh_shows_is_not_in_its_own_way(void **unused)
{
    dm_segment segment = {.length = 10.0, .tangent = {0.0, 0.0, 1.0}};
    dm_centreline line = {.segments = &segment, .count = 1, .length = 10.0};
    dm_context *c = read_box((dm_vec3){0, 0, 0});
    dm_context_skip skip = {&line, 3.2};
    dm_context_hit hit;
    dm_vec3 inside = {0.0, 0.0, 0.0}, x = {1.0, 0.0, 0.0};

    (void)unused;
    segment.begin = (dm_vec3){0.0, 0.0, -5.0};
    /* The farthest corner is 1.803 m from the line. */
    assert_false(dm_context_ray(c, inside, x, 10.0, &skip, &hit));
    assert_false(dm_context_near(c, inside, inside, 10.0, &skip, &hit));
    skip.radius = 1.802;
    assert_true(dm_context_ray(c, inside, x, 10.0, &skip, &hit));
    assert_true(dm_context_near(c, inside, inside, 10.0, &skip, &hit));
    assert_near(hit.distance, 1.0, 1e-12);
    dm_context_free(c);
}

/* ---- a duct through surfaces ------------------------------------------ */

/* Straight along X from -5 to 5; a wall of the box at -1 and one at 1. */
static void a_duct_through_walls_is_found(void **unused)
{
    dm_segment segment = {
        .length = 10.0, .begin = {-5.0, 0.0, 0.0}, .tangent = {1.0, 0.0, 0.0}};
    dm_duct_type type = {.od = 0.2};
    dm_duct_length duct = {.from = 0.0, .to = 10.0};
    dm_support ends[2] = {
        {.readable_back = (double)NAN, .readable_ahead = 0.5},
        {.t = 10.0, .readable_back = 9.5, .readable_ahead = (double)NAN}};
    dm_fixture collar = {.from = 3.0, .to = 5.0};
    dm_tendon tendon = {.id = "T",
                        .ducts = &duct,
                        .duct_count = 1,
                        .supports = ends,
                        .support_count = 2,
                        .fixtures = &collar};
    dm_model model = {.tendons = &tendon,
                      .tendon_count = 1,
                      .duct_types = &type,
                      .duct_type_count = 1};
    dm_context *c = read_box((dm_vec3){0, 0, 0});
    dm_cut *cuts;
    size_t count;

    (void)unused;
    tendon.line =
        (dm_centreline){.segments = &segment, .count = 1, .length = 10.0};
    assert_int_equal(dm_context_cuts(c, &model, 0, &cuts, &count), DM_OK);
    assert_int_equal(count, 2);
    assert_near(cuts[0].from, 3.9, 0.006);
    assert_near(cuts[0].to, 4.1, 0.006);
    assert_near(cuts[1].from, 5.9, 0.006);
    assert_near(cuts[1].to, 6.1, 0.006);
    assert_near(cuts[0].least, 0.0, 0.0026);
    assert_string_equal(cuts[0].name, "box.obj: box");
    free(cuts);
    /* What a fixture or a support hides is not asked. */
    tendon.fixture_count = 1;
    ends[1].readable_back = 5.5;
    assert_int_equal(dm_context_cuts(c, &model, 0, &cuts, &count), DM_OK);
    assert_int_equal(count, 0);
    free(cuts);
    /* Along a face, 1 mm too near, and just free of it. */
    ends[1].readable_back = 9.5;
    tendon.fixture_count = 0;
    segment.begin.y = 1.5 + 0.099;
    assert_int_equal(dm_context_cuts(c, &model, 0, &cuts, &count), DM_OK);
    assert_int_equal(count, 1);
    assert_near(cuts[0].least, 0.099, 1e-6);
    assert_near(cuts[0].from, 4.0, 0.02);
    assert_near(cuts[0].to, 6.0, 0.02);
    free(cuts);
    segment.begin.y = 1.5 + 0.101;
    assert_int_equal(dm_context_cuts(c, &model, 0, &cuts, &count), DM_OK);
    assert_int_equal(count, 0);
    free(cuts);
    assert_int_equal(dm_context_cuts(NULL, &model, 0, &cuts, &count), DM_OK);
    assert_int_equal(count, 0);
    dm_context_free(c);
}

/* Beside a wall of the box at y = 1.5, 350 mm off: a collar-like length of
 * 800 mm between ducts of 200 mm is in it, by hand, for its 100 mm only. */
static void a_short_thick_length_is_not_stepped_over(void **unused)
{
    dm_segment segment = {
        .length = 10.0, .begin = {-5.0, 1.85, 0.0}, .tangent = {1.0, 0.0, 0.0}};
    dm_duct_type types[2] = {{.od = 0.2}, {.od = 0.8}};
    dm_duct_length ducts[3] = {{.from = 0.0, .to = 5.0, .duct_type = 0},
                               {.from = 5.0, .to = 5.1, .duct_type = 1},
                               {.from = 5.1, .to = 10.0, .duct_type = 0}};
    dm_tendon tendon = {.id = "T", .ducts = ducts, .duct_count = 3};
    dm_model model = {.tendons = &tendon,
                      .tendon_count = 1,
                      .duct_types = types,
                      .duct_type_count = 2};
    dm_context *c = read_box((dm_vec3){0, 0, 0});
    dm_cut *cuts;
    size_t count;

    (void)unused;
    tendon.line =
        (dm_centreline){.segments = &segment, .count = 1, .length = 10.0};
    assert_int_equal(dm_context_cuts(c, &model, 0, &cuts, &count), DM_OK);
    assert_int_equal(count, 1);
    assert_near(cuts[0].from, 5.0, 0.006);
    assert_near(cuts[0].to, 5.1, 0.006);
    assert_near(cuts[0].least, 0.35, 1e-6);
    free(cuts);
    /* 10 mm clear of the thick length as well. */
    segment.begin.y = 1.91;
    assert_int_equal(dm_context_cuts(c, &model, 0, &cuts, &count), DM_OK);
    assert_int_equal(count, 0);
    free(cuts);
    dm_context_free(c);
}

/* ---- the process that reads ------------------------------------------- */

static const double three[9] = {0, 0, 0, 1, 0, 0, 0, 1, 0};
static const uint32_t first[3] = {0, 1, 2};

static void send_good(int fd, void *user)
{
    (void)user;
    dm_send_part(fd, "a\nname\x7f\xff", three, 3, first, 1);
    dm_send_end(fd);
}

static void send_nan(int fd, void *user)
{
    double points[9] = {0, 0, 0, 1, 0, 0, 0, 1, 0};

    points[4] = *(const double *)user;
    dm_send_part(fd, "", points, 3, first, 1);
    dm_send_end(fd);
}

static void send_index(int fd, void *user)
{
    uint32_t index[3] = {0, 1, *(const uint32_t *)user};

    dm_send_part(fd, "", three, 3, index, 1);
    dm_send_end(fd);
}

static void send_flood(int fd, void *user)
{
    (void)user;
    while (dm_send_part(fd, "", three, 3, first, 1))
        ;
}

static void crash(int fd, void *user)
{
    (void)user;
    dm_send_part(fd, "", three, 3, first, 1);
    raise(SIGSEGV);
}

static void be_killed(int fd, void *user)
{
    (void)user;
    dm_send_part(fd, "", three, 3, first, 1);
    raise(SIGKILL);
}

static void hang(int fd, void *user)
{
    (void)fd;
    (void)user;
    for (;;)
        pause();
}

static void stop_short(int fd, void *user)
{
    (void)user;
    (void)!write(fd, "part", 4);
}

static void send_rubbish(int fd, void *user)
{
    static const char rubbish[] =
        "this is no stream of triangles at all ......";

    (void)user;
    (void)!write(fd, rubbish, sizeof rubbish);
}

/* A head that promises 2^60 points. */
static void promise(int fd, void *user)
{
    const struct {
        uint32_t tag, length;
        uint64_t points, triangles;
    } head = {0x70617274u, 0, (uint64_t)1 << 60, 1};

    (void)user;
    (void)!write(fd, &head, sizeof head);
}

static void say_fault(int fd, void *user)
{
    (void)user;
    dm_send_fault(fd, "no such thing\nhere");
}

static void send_nothing(int fd, void *user)
{
    (void)user;
    dm_send_end(fd);
}

static dm_status run_child(dm_child_work *work, void *user, double seconds,
                           char fault[DM_FAULT_SIZE])
{
    dm_context_limits limits = dm_context_limits_default();
    dm_soup soup = {0};
    dm_status status;

    limits.seconds = seconds;
    limits.triangles = 1000;
    status = dm_child_triangles(work, user, &limits, &soup, fault);
    assert_true(soup.triangle_count <= 1000);
    dm_soup_free(&soup);
    return status;
}

static void what_a_child_does_is_never_the_end(void **unused)
{
    double nan = (double)NAN, infinite = (double)INFINITY;
    uint32_t three_points = 3, huge = UINT32_MAX;
    const struct {
        dm_child_work *work;
        void *user;
        double seconds;
        dm_status status;
        const char *fault;
    } cases[] = {
        {send_nan, &nan, 60, DM_RANGE, "a coordinate is not a finite number"},
        {send_nan, &infinite, 60, DM_RANGE,
         "a coordinate is not a finite number"},
        {send_index, &three_points, 60, DM_RANGE,
         "a triangle names a point beyond the last one"},
        {send_index, &huge, 60, DM_RANGE,
         "a triangle names a point beyond the last one"},
        {send_flood, NULL, 60, DM_RANGE,
         "too large: at most 1000 triangles are read"},
        {promise, NULL, 60, DM_RANGE,
         "too large: at most 1000 triangles are read"},
        {crash, NULL, 60, DM_SYNTAX,
         "the mesh reader crashed on it; convert it to OBJ or GLB with the "
         "program that made it"},
        {be_killed, NULL, 60, DM_SYNTAX,
         "the mesh reader was killed before it had done, maybe for want of "
         "memory"},
        {stop_short, NULL, 60, DM_SYNTAX,
         "the mesh reader crashed on it; convert it to OBJ or GLB with the "
         "program that made it"},
        {hang, NULL, 0.05, DM_SYNTAX,
         "the mesh reader took more than 1 s and was stopped"},
        {send_rubbish, NULL, 60, DM_SYNTAX,
         "what the mesh reader made of it is no mesh"},
        {say_fault, NULL, 60, DM_SYNTAX, "no such thing here"},
        {send_nothing, NULL, 60, DM_SYNTAX, "it holds no triangle"},
    };
    char fault[DM_FAULT_SIZE];

    (void)unused;
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        dm_status status =
            run_child(cases[i].work, cases[i].user, cases[i].seconds, fault);

        assert_string_equal(fault, cases[i].fault);
        assert_int_equal(status, cases[i].status);
    }
    assert_int_equal(run_child(send_good, NULL, 60, fault), DM_OK);
}

static void spin(int fd, void *user)
{
    volatile unsigned long turns = 0;

    (void)fd;
    (void)user;
    for (;;)
        turns = turns + 1;
}

static void probe(int fd, void *user)
{
    /* 1: a descriptor beyond the pipe is open; 2: a file can be written. */
    double found[9] = {0};
    const char *path = user;
    FILE *f;

    for (int i = 3; i < 64; i++)
        if (i != fd && write(i, "", 0) == 0)
            found[0] = 1.0;
    signal(SIGXFSZ, SIG_IGN);
    f = fopen(path, "wb");
    if (f != NULL) {
        if (fputs("text", f) >= 0 && fclose(f) == 0)
            found[1] = 1.0;
    }
    found[2] = 1.0;
    dm_send_part(fd, "", found, 3, first, 1);
    dm_send_end(fd);
}

static void a_child_is_held_to_its_limits(void **unused)
{
    dm_context_limits limits = dm_context_limits_default();
    dm_soup soup = {0};
    char fault[DM_FAULT_SIZE];
    scratch files;
    const char *path;

    (void)unused;
    assert_int_equal(run_child(spin, NULL, 0.2, fault), DM_SYNTAX);
    assert_string_equal(fault,
                        "the mesh reader took more than 1 s and was stopped");
    scratch_init(&files);
    path = scratch_file(&files, "out", "");
    assert_int_equal(dm_child_triangles(probe, (void *)(uintptr_t)path, &limits,
                                        &soup, fault),
                     DM_OK);
    assert_true(soup.point[2] == 1.0);
    assert_true(soup.point[0] == 0.0);
    assert_true(soup.point[1] == 0.0);
    dm_soup_free(&soup);
    scratch_free(&files);
}

#if defined(__SANITIZE_ADDRESS__)
#define UNDER_ASAN true
#elif defined(__has_feature)
#if __has_feature(address_sanitizer)
#define UNDER_ASAN true
#endif
#endif
#ifndef UNDER_ASAN
#define UNDER_ASAN false
#endif

/* The first coordinate: how many blocks of 16 MiB could be had, 64 at most. */
static void take_memory(int fd, void *user)
{
    double found[9] = {0};
    char *block;

    (void)user;
    while (found[0] < 64.0 && (block = malloc((size_t)16 << 20)) != NULL) {
        *(volatile char *)block = 1; /* it is really asked for */
        found[0] += 1.0;
    }
    dm_send_part(fd, "", found, 3, first, 1);
    dm_send_end(fd);
}

static void a_child_gets_no_more_memory_than_its_limit(void **unused)
{
    dm_context_limits limits = dm_context_limits_default();
    dm_soup soup = {0};
    char fault[DM_FAULT_SIZE];

    (void)unused;
    if (UNDER_ASAN) /* the limit is not set there, see child.c */
        skip();
    limits.memory = (size_t)128 << 20;
    assert_int_equal(
        dm_child_triangles(take_memory, NULL, &limits, &soup, fault), DM_OK);
    assert_true(soup.point[0] >= 4.0);
    assert_true(soup.point[0] <= 8.0);
    dm_soup_free(&soup);
}

/* 40000 points and triangles on 1.4 MB, where 1 MiB may be had. */
static void a_file_that_needs_more_memory_is_named(void **unused)
{
    enum { POINTS = 40000, SIZE = 3000000 };
    dm_context_limits limits = dm_context_limits_default();
    dm_context_source s = {.place = {"job.xml", 7}};
    dm_context *c = NULL;
    char *text;
    size_t n = 0;
    scratch files;
    said words;

    (void)unused;
    if (UNDER_ASAN)
        skip();
    text = malloc(SIZE);
    assert_non_null(text);
    for (int i = 0; i < POINTS; i++)
        n += (size_t)snprintf(text + n, SIZE - n, "v %d.5 %d.25 0\n", i % 200,
                              i / 200);
    for (int i = 3; i <= POINTS; i++)
        n += (size_t)snprintf(text + n, SIZE - n, "f %d %d %d\n", i - 2, i - 1,
                              i);
    assert_true(n < SIZE - 100);
    scratch_init(&files);
    s.path = scratch_file(&files, "girder.obj", text);
    free(text);
    limits.memory = (size_t)1 << 20;
    said_init(&words);
    assert_int_not_equal(dm_context_read(&s, 1, &limits, &words.diag, &c),
                         DM_OK);
    assert_null(c);
    assert_int_equal(words.diag.errors, 1);
    assert_non_null(
        strstr(words.text, "job.xml:7: error: context: cannot read '"));
    assert_non_null(strstr(words.text,
                           "/girder.obj': it needs more memory than the mesh "
                           "reader may have\n"));
    /* With what it needs it is read. */
    assert_int_equal(dm_context_read(&s, 1, NULL, NULL, &c), DM_OK);
    assert_int_equal(dm_context_triangle_count(c), POINTS - 2);
    dm_context_free(c);
    scratch_free(&files);
}

static void names_become_one_line_of_text(void **unused)
{
    dm_context_limits limits = dm_context_limits_default();
    dm_soup soup = {0};
    char fault[DM_FAULT_SIZE];

    (void)unused;
    assert_int_equal(dm_child_triangles(send_good, NULL, &limits, &soup, fault),
                     DM_OK);
    assert_int_equal(soup.part_count, 1);
    assert_string_equal(soup.parts[0].name, "a name ?");
    dm_soup_free(&soup);
}

static dm_status receive(void *user)
{
    dm_context_limits limits = dm_context_limits_default();
    dm_soup soup = {0};
    char fault[DM_FAULT_SIZE];
    dm_status status =
        dm_child_triangles(send_good, user, &limits, &soup, fault);

    dm_soup_free(&soup);
    return status;
}

static void failed_allocations_lose_nothing(void **unused)
{
    scratch files;
    dm_context_source s = {0};
    bool reached = true;

    (void)unused;
    assert_true(allocfail_each(receive, NULL) >= 3);
    scratch_init(&files);
    s.path = scratch_file(&files, "box.obj", box_obj);
    /* The child counts for itself: a failure there is another fault here. */
    for (size_t n = 1; reached; n++) {
        dm_context *c = NULL;
        dm_status status;

        allocfail_arm(n);
        status = dm_context_read(&s, 1, NULL, NULL, &c);
        reached = allocfail_disarm();
        assert_int_equal(status == DM_OK, c != NULL);
        assert_true(!reached || status == DM_NOMEM);
        dm_context_free(c);
    }
    scratch_free(&files);
}

/* ---- files ------------------------------------------------------------ */

static void bad_files_are_named(void **unused)
{
    static const struct {
        const char *name, *text;
        dm_status status;
        const char *said; /* how the message ends; NULL: not asked */
    } cases[] = {
        {"cut.glb", "glTF\2\0\0\0", DM_SYNTAX, NULL},
        {"empty.obj", "", DM_SYNTAX, NULL},
        {"nothing.obj", "# no face\nv 0 0 0\n", DM_SYNTAX, NULL},
        {"nan.obj", "v 0 0 0\nv nan 0 0\nv 0 1 0\nf 1 2 3\n", DM_RANGE,
         ": a coordinate is not a finite number\n"},
        {"huge.obj", "v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 4000000000\n", DM_SYNTAX,
         NULL},
        {"far.obj", "v 500000 0 0\nv 500001 0 0\nv 500000 1 0\nf 1 2 3\n",
         DM_RANGE,
         "has points more than 8 km from its origin, where a mesh is worse "
         "than 1 mm: give it about a near origin, and that as x, y, z\n"},
        {"model.ifc", "ISO-10303-21;\n", DM_UNSUPPORTED,
         ": expected a mesh as obj, ply, stl, gltf, glb or dae\n"},
        {"noend", box_obj, DM_UNSUPPORTED, NULL},
    };

    (void)unused;
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        dm_context_source s = {.place = {"job.xml", 7}};
        dm_context *c = NULL;
        scratch files;
        said words;
        size_t n = cases[i].said == NULL ? 0 : strlen(cases[i].said);
        dm_status status;

        scratch_init(&files);
        said_init(&words);
        s.path = scratch_file(&files, cases[i].name, cases[i].text);
        status = dm_context_read(&s, 1, NULL, &words.diag, &c);
        if (status != cases[i].status)
            print_error("%s: %s", cases[i].name, words.text);
        assert_int_equal(status, cases[i].status);
        assert_null(c);
        assert_int_equal(words.diag.errors, 1);
        assert_memory_equal(words.text, "job.xml:7: error: context: ", 27);
        assert_non_null(strstr(words.text, cases[i].name));
        if (n > 0)
            assert_string_equal(words.text + words.length - n, cases[i].said);
        scratch_free(&files);
    }
}

static void limits_of_size_hold(void **unused)
{
    dm_context_limits limits = dm_context_limits_default();
    dm_context_source s = {0};
    dm_context *c = NULL;
    scratch files;

    (void)unused;
    scratch_init(&files);
    s.path = scratch_file(&files, "box.obj", box_obj);
    limits.triangles = 11;
    assert_int_equal(dm_context_read(&s, 1, &limits, NULL, &c), DM_RANGE);
    limits.triangles = 12;
    assert_int_equal(dm_context_read(&s, 1, &limits, NULL, &c), DM_OK);
    dm_context_free(c);
    limits.file = 50;
    assert_int_equal(dm_context_read(&s, 1, &limits, NULL, &c), DM_RANGE);
    assert_null(c);
    limits = dm_context_limits_default();
    limits.seconds = 0.0; /* over before it began */
    assert_int_equal(dm_context_read(&s, 1, &limits, NULL, &c), DM_SYNTAX);
    s.path = "/nowhere/box.obj";
    assert_int_equal(dm_context_read(&s, 1, NULL, NULL, &c), DM_IO);
    assert_int_equal(dm_context_read(NULL, 0, NULL, NULL, &c), DM_OK);
    assert_null(c);
    assert_int_equal(dm_context_file_count(NULL), 0);
    scratch_free(&files);
}

/* Every byte of a binary mesh in turn is wrong. */
static void damaged_meshes_are_errors_or_meshes(void **unused)
{
    unsigned char stl[84 + 2 * 50] = "an invented solid";
    const float corners[2][9] = {{0, 0, 0, 1, 0, 0, 0, 1, 0},
                                 {1, 0, 0, 1, 1, 0, 0, 1, 0}};
    scratch files;
    const char *path;

    (void)unused;
    stl[80] = 2;
    for (int i = 0; i < 2; i++)
        memcpy(stl + 84 + 50 * i + 12, corners[i], sizeof corners[i]);
    scratch_init(&files);
    path = scratch_file(&files, "flat.stl", "");
    for (size_t i = 78; i < sizeof stl; i += 3) {
        dm_context_source s = {.path = path};
        dm_context *c = NULL;
        dm_status status;
        FILE *f = fopen(path, "wb");

        assert_non_null(f);
        stl[i] ^= 0xff;
        assert_int_equal(fwrite(stl, 1, sizeof stl, f), sizeof stl);
        stl[i] ^= 0xff;
        assert_int_equal(fclose(f), 0);
        status = dm_context_read(&s, 1, NULL, NULL, &c);
        assert_int_equal(status == DM_OK, c != NULL);
        dm_context_free(c);
    }
    scratch_free(&files);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rays_meet_a_box_where_its_slabs_say),
        cmocka_unit_test(points_are_as_far_from_a_box_as_its_faces_say),
        cmocka_unit_test(lines_are_as_far_from_a_box_as_a_search_says),
        cmocka_unit_test(a_cylinder_is_where_its_radius_says),
        cmocka_unit_test(capsules_agree_with_a_march),
        cmocka_unit_test(segments_agree_with_a_grid),
        cmocka_unit_test(units_axes_and_places_are_those_of_the_job),
        cmocka_unit_test(glTF_has_y_up_and_collada_says_its_unit),
        cmocka_unit_test(a_duct_that_the_mesh_shows_is_not_in_its_own_way),
        cmocka_unit_test(a_duct_through_walls_is_found),
        cmocka_unit_test(a_short_thick_length_is_not_stepped_over),
        cmocka_unit_test(what_a_child_does_is_never_the_end),
        cmocka_unit_test(a_child_is_held_to_its_limits),
        cmocka_unit_test(a_child_gets_no_more_memory_than_its_limit),
        cmocka_unit_test(a_file_that_needs_more_memory_is_named),
        cmocka_unit_test(names_become_one_line_of_text),
        cmocka_unit_test(failed_allocations_lose_nothing),
        cmocka_unit_test(bad_files_are_named),
        cmocka_unit_test(limits_of_size_hold),
        cmocka_unit_test(damaged_meshes_are_errors_or_meshes),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
