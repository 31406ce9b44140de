/* SPDX-License-Identifier: MIT
 * Where a sensor's body does not fit between a bent duct and a mesh: closed
 * forms of boxes and cylinders along bends, each with 1 mm to spare and 1 mm
 * too little, and a second opinion on random triangles. */
#define _POSIX_C_SOURCE 200809L
#include "low_site.h"

/* ---- bent -------------------------------------------------------------- */

#define BEND 5.0
static const dm_vec3 left = {0.0, 1.0, 0.0}, up = {0.0, 0.0, 1.0};

/* A bend in a level plane under a flat underside: as on a straight duct. The
 * body comes under it with its outer corner first, (bend + w/2) sin a = 2 m, a
 * after the bend's begin; the centre is on the left. */
static void a_level_bend_under_a_box(void **unused)
{
    static site s;
    const double begin = asin(2.0 / (BEND + 0.5 * W));
    dm_low_clearance low[4];

    (void)unused;
    site_init(&s, true, left, 0.0);
    for (int k = -1; k <= 1; k += 2) {
        mesh m = mesh_new();

        put_box(&m, "deck", (dm_vec3){4.0, -1.0, R + H + k * 1e-3},
                (dm_vec3){9.0, 9.0, 0.5});
        assert_int_equal(ask_of(&s, &m, low), k < 0 ? 1 : 0);
        if (k > 0)
            continue;
        /* The sides of a cell are chords, 1e-5 m at most off. */
        assert_near(low[0].from, 2.0 + BEND * begin, 2e-5);
        assert_near(low[0].to, 7.0, 1e-9);
        assert_near(low[0].free, H - 1e-3, 1e-8);
    }
}

/* The outside of the same bend, 3:00, along a wall that is concentric with it
 * over a part of a turn, and along a plane wall that the body touches only
 * where cos a > 1 - 1 mm / (bend + r + h). */
static void a_level_bend_along_walls(void **unused)
{
    static site s;
    const double far = BEND + R + H, half = acos(1.0 - 1e-3 / far);
    dm_low_clearance low[4];

    (void)unused;
    site_init(&s, true, left, 0.5 * PI);
    for (int k = -1; k <= 1; k += 2) {
        mesh m = mesh_new();

        /* From 60 sides after the begin on for 60 sides. */
        double from = 2.0 * PI * 60 / SIDES;
        dm_vec3 a = {sin(from), -cos(from), 0.0};
        dm_vec3 b = {cos(from), sin(from), 0.0};
        put_cylinder(&m, "wall", (dm_vec3){2.0, BEND, -1.0},
                     (dm_vec3){0.0, 0.0, 2.0}, a, b, far + k * 1e-3,
                     60.0 / SIDES);
        assert_int_equal(ask_of(&s, &m, low), k < 0 ? 1 : 0);
        if (k > 0)
            continue;
        assert_near(low[0].from, 2.0 + BEND * from, 1e-6);
        assert_near(low[0].to, 2.0 + 2.0 * BEND * from, 1e-6);
        assert_near(low[0].free, H - 1e-3, 3e-5); /* sagitta 1.2e-5 */
    }
    for (int k = -1; k <= 1; k += 2) {
        mesh m = mesh_new();

        put_box(&m, "web", (dm_vec3){1.0, -1.0, -1.0},
                (dm_vec3){8.0, -(R + H + k * 1e-3), 1.0});
        assert_int_equal(ask_of(&s, &m, low), k < 0 ? 1 : 0);
        if (k > 0)
            continue;
        assert_near(low[0].from, 1.0, 1e-9);
        /* A height of 0.02 mm is 1 mm along, where the wall is left at 20
         * mrad. */
        assert_near(low[0].to, 2.0 + BEND * half, 1e-3);
        assert_near(low[0].free, H - 1e-3, 1e-8);
    }
}

/* A bend upwards: its crown looks to the centre. An underside at a height z is
 * met by the body's top, at bend - r - h from the centre, where
 * bend - (bend - r - h) cos a = z; a pipe across with its axis in the centre's
 * direction at 0.4 rad is low where law of cosines says. */
static void a_bend_upwards_rises_into_a_box(void **unused)
{
    static site s;
    const double z = 0.4, near = BEND - R - H;
    dm_low_clearance low[4];
    mesh m = mesh_new();

    (void)unused;
    site_init(&s, true, up, 0.0);
    put_box(&m, "deck", (dm_vec3){0.0, -1.0, z}, (dm_vec3){9.0, 1.0, 5.0});
    assert_int_equal(ask_of(&s, &m, low), 1);
    assert_near(low[0].from, 2.0 + BEND * acos((BEND - z) / near), 1e-4);
    /* The duct itself is in it from where its axis is; on that side of the axis
     * the surface is met until then. */
    assert_near(low[0].to, 2.0 + BEND * acos((BEND - z) / BEND), 1e-4);
    assert_near(low[0].free, 0.0, 0.0);
    for (int k = -1; k <= 1; k += 2) {
        const double q = 0.1, e = near - q - k * 1e-3, a = 0.4;
        double half = acos((near * near + e * e - q * q) / (2.0 * near * e));

        m = mesh_new();
        put_cylinder(
            &m, "pipe", (dm_vec3){2.0 + e * sin(a), -1.0, BEND - e * cos(a)},
            (dm_vec3){0.0, 2.0, 0.0}, (dm_vec3){1.0, 0.0, 0.0}, up, q, 1.0);
        assert_int_equal(ask_of(&s, &m, low), k < 0 ? 1 : 0);
        if (k > 0)
            continue;
        assert_near(low[0].from, 2.0 + BEND * (a - half), 1e-4);
        assert_near(low[0].to, 2.0 + BEND * (a + half), 1e-4);
        assert_near(low[0].free, H - 1e-3, 3e-5);
    }
}

/* ---- a second opinion -------------------------------------------------- */

static double uniform(void)
{
    static unsigned long state = 5;

    state = (state * 6364136223846793005ul + 1442695040888963407ul) &
            0xfffffffffffffffful;
    return ((double)(state >> 11) + 0.5) / 9007199254740992.0;
}

/* Keeps the part of a line a b on one side; false: nothing. */
static bool halve(double a[2], double b[2], size_t axis, double sign,
                  double limit)
{
    double da = limit - sign * a[axis], db = limit - sign * b[axis];
    double *out = da < 0.0 ? a : b;

    if (da < 0.0 && db < 0.0)
        return false;
    if (da >= 0.0 && db >= 0.0)
        return true;
    double k = da / (da - db);
    double x = a[0] + k * (b[0] - a[0]), y = a[1] + k * (b[1] - a[1]);
    out[0] = x;
    out[1] = y;
    return true;
}

/* Whether the section at t meets the triangle within the rectangle, made
 * larger by `more`: by the line in which the section's plane cuts it. */
static bool meets(const site *s, double t, const dm_vec3 corner[3], double more)
{
    dm_frame f = dm_centreline_frame(&s->tendon.line, t);
    dm_vec3 out = dm_frame_direction(&f, s->clock[0]);
    dm_vec3 side = dm_vec3_cross(f.tangent, out);
    double end[2][2];
    size_t n = 0;

    for (int i = 0; i < 3 && n < 2; i++) {
        dm_vec3 p = dm_vec3_sub(corner[i], f.point);
        dm_vec3 q = dm_vec3_sub(corner[(i + 1) % 3], f.point);
        double dp = dm_vec3_dot(p, f.tangent), dq = dm_vec3_dot(q, f.tangent);

        if ((dp < 0.0) == (dq < 0.0))
            continue;
        p = dm_vec3_along(p, dp / (dp - dq), dm_vec3_sub(q, p));
        end[n][0] = dm_vec3_dot(p, side);
        end[n++][1] = dm_vec3_dot(p, out) - R;
    }
    return n == 2 && halve(end[0], end[1], 0, 1.0, 0.5 * W + more) &&
           halve(end[0], end[1], 0, -1.0, 0.5 * W + more) &&
           halve(end[0], end[1], 1, 1.0, H + more) &&
           halve(end[0], end[1], 1, -1.0, R + more);
}

#define LOT 10

/* A triangle near the body's room, as single precision holds it. */
static void random_triangle(const site *s, dm_vec3 corner[3])
{
    double t = 0.5 + 6.0 * uniform(), size = uniform() < 0.5 ? 0.1 : 1.0;
    dm_frame f = dm_centreline_frame(&s->tendon.line, t);
    double clock = s->clock[0] + 2.0 * (uniform() - 0.5);
    dm_vec3 at = dm_vec3_along(f.point, R + 2.0 * H * uniform(),
                               dm_frame_direction(&f, clock));

    for (int k = 0; k < 3; k++) {
        double x = uniform(), y = uniform(), z = uniform();

        corner[k] = (dm_vec3){(double)(float)(at.x + size * (x - 0.5)),
                              (double)(float)(at.y + size * (y - 0.5)),
                              (double)(float)(at.z + size * (z - 0.5))};
    }
}

static bool is_own(const site *s, const dm_vec3 corner[3])
{
    bool own = true;

    for (int k = 0; k < 3; k++) {
        double d;

        dm_centreline_nearest(&s->tendon.line, corner[k], &d);
        own = own && d <= R + 0.02;
    }
    return own;
}

static bool any_meets(const site *s, double t, dm_vec3 corner[LOT][3],
                      double more)
{
    bool met = false;

    for (int i = 0; i < LOT && !met; i++)
        met = meets(s, t, corner[i], more) && !is_own(s, corner[i]);
    return met;
}

/* Random triangles round a straight length and an arc in a slanting plane,
 * sampled section by section: a body 1 mm larger all round meets one wherever
 * it is said to be low, one 1 mm smaller nowhere else. */
static void random_triangles_agree_with_sections(void **unused)
{
    static site s;
    size_t low = 0, asked = 0;

    (void)unused;
    for (int lot = 0; lot < 40; lot++) {
        dm_vec3 corner[LOT][3];
        dm_low_clearance *items;
        size_t count, at = 0;
        mesh m = mesh_new();

        site_init(&s, true, dm_vec3_unit((dm_vec3){0.0, 1.0, 1.0}),
                  2.0 * PI * uniform());
        for (int i = 0; i < LOT; i++) {
            random_triangle(&s, corner[i]);
            for (int k = 0; k < 3; k++)
                put_corner(&m, corner[i][k].x, corner[i][k].y, corner[i][k].z);
            m.length += (size_t)snprintf(m.text + m.length, 32, "f %d %d %d\n",
                                         3 * i + 1, 3 * i + 2, 3 * i + 3);
        }
        dm_context *c = read_mesh(&m);
        assert_int_equal(
            dm_context_low(c, &s.model, 0, &s.body, 0.0, 7.0, &items, &count),
            DM_OK);
        for (int k = 0; k <= 3500; k++) {
            double t = 0.002 * k;

            while (at < count && items[at].to < t)
                at++;
            bool is = at < count && items[at].from <= t;
            bool beside = (at < count && items[at].from < t + 1e-3) ||
                          (at > 0 && items[at - 1].to > t - 1e-3);
            asked++;
            low += is;
            if (is && !any_meets(&s, t - 1e-3, corner, 1e-3) &&
                !any_meets(&s, t, corner, 1e-3) &&
                !any_meets(&s, t + 1e-3, corner, 1e-3))
                fail_msg("lot %d: low at %.4f, nothing is met", lot, t);
            if (!is && !beside && any_meets(&s, t, corner, -1e-3))
                fail_msg("lot %d: met at %.4f, not low", lot, t);
        }
        free(items);
        dm_context_free(c);
    }
    print_message("%zu sections, %zu low\n", asked, low);
    assert_true(low > 2000);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_level_bend_under_a_box),
        cmocka_unit_test(a_level_bend_along_walls),
        cmocka_unit_test(a_bend_upwards_rises_into_a_box),
        cmocka_unit_test(random_triangles_agree_with_sections),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
