/* SPDX-License-Identifier: MIT
 *
 * Makes the demo: drawings, a field book and raw readings of an invented
 * bridge, and the truth beside them. Nothing here is a real bridge, firm,
 * person or measurement.
 *
 * It shares no code with the library, so that what it writes as truth is an
 * independent answer: straight legs and tangent arcs by the PI method (US
 * Army FM 5-233, chapter 3), the duct's outside by summing chords.
 *
 * Physics (a model for testing, not a claim about any sensor):
 * - Faces as built differ from the drawings: N(0, 15 mm) along the duct.
 * - Encoder: true travel = (1 + k) x + walk, k ~ N(0, 0.5 %) once per book,
 *   walk Brownian with 1.25 mm per root metre; x is shown in whole mm.
 * - Skips are taped with N(0, 5 mm), ties touch their face within N(0, 3 mm).
 * - Index: 0 sound, a plateau over a void, negative over soft grout or a
 *   strand at the wall; seen through a raised-cosine footprint 0.1 m long;
 *   noise of standard deviation 0.025, half of its variance correlated over
 *   0.04 m.
 * - Voids are segments of the bore about the crown, the same all along (no
 *   level surface, where the duct slopes); a turn sees them through a raised
 *   cosine of half-height width 0.7 of 60 mm.
 * - Raw reading: reference - (reference - air) index, with a gain (2 %) and
 *   an offset of each run's own, which its air and reference checks show.
 *
 * usage: ductmark_demo --seed N --out DIR      (DIR must exist)
 */
#define _POSIX_C_SOURCE 200809L
#include <math.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

static const double PI = 3.14159265358979323846;

#define MAX_SUPPORTS 7
#define MAX_DEFECTS 64
#define MAX_FIXTURES 4
#define NOSE 0.140
#define TAIL 0.100
#define LEAD 0.020
#define FOOTPRINT 0.100
#define STEP 0.005   /* of travel between readings, m */
#define AROUND 0.060 /* footprint round the duct, m */
#define BORE 0.05015 /* radius of the bore, m */
#define COUNTS_REFERENCE 1520.0
#define COUNTS_AIR 860.0

/* ---- random numbers: splitmix64, Box-Muller ---------------------------- */

static uint64_t random_state;

static double uniform(double lo, double hi)
{
    random_state += 0x9e3779b97f4a7c15u;
    uint64_t z = random_state;
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    z ^= z >> 31;
    return lo + (hi - lo) * ((double)(z >> 11) + 0.5) / 9007199254740992.0;
}

static double normal(double sd)
{
    double a = sqrt(-2.0 * log(uniform(0.0, 1.0)));
    return sd * a * cos(2.0 * PI * uniform(0.0, 1.0));
}

/* ---- vectors ------------------------------------------------------------ */

typedef struct {
    double x, y, z;
} vec;

static vec add(vec a, double k, vec b)
{
    return (vec){a.x + k * b.x, a.y + k * b.y, a.z + k * b.z};
}

static double dot(vec a, vec b)
{
    return a.x * b.x + a.y * b.y + a.z * b.z;
}

static vec cross(vec a, vec b)
{
    return (vec){a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z,
                 a.x * b.y - a.y * b.x};
}

static vec unit(vec a)
{
    return add((vec){0, 0, 0}, 1.0 / sqrt(dot(a, a)), a);
}

/* Direction at clock angle phi of a section with tangent u, looking ahead. */
static vec clock_direction(vec u, double phi)
{
    vec crown = unit(add((vec){0, 0, 1}, -u.z, u));
    vec right = cross(u, crown);
    return add(add((vec){0, 0, 0}, cos(phi), crown), sin(phi), right);
}

/* ---- the invented bridge ------------------------------------------------- */

typedef struct {
    const char *id;
    double from_face; /* tape from face `face` outward to its near edge, m */
    double width;
    int face; /* index into faces */
} fixture;

/* GAP: the wall stands off sound grout by a hair, and reads like a void. WATER:
 * a void full of it, which reads like sound grout. */
typedef enum { VOID, SOFT, STRAND, LIFT, GAP, WATER } defect_kind;

typedef struct {
    defect_kind kind;
    double from, to;   /* true stations of half height */
    double taper_from; /* length over which the plateau is reached */
    double taper_to;
    double plateau;
    double half_angle; /* rad, about the crown */
    bool open_from, open_to;
} defect;

typedef struct {
    const char *id, *tag, *where, *part;
    bool us;
    int supports;
    vec point[MAX_SUPPORTS];
    const char *type[MAX_SUPPORTS]; /* deviator types; NULL: anchorage */
    double radius[MAX_SUPPORTS];
    /* built: */
    double pc[MAX_SUPPORTS], pt[MAX_SUPPORTS]; /* stations of the arcs */
    double length;
    vec leg_unit[MAX_SUPPORTS]; /* leg i runs from support i to i + 1 */
    int faces;                  /* face 2i - 1: back, 2i: ahead of support i */
    double shift[2 * MAX_SUPPORTS]; /* as built minus drawing */
    fixture fixtures[MAX_FIXTURES];
    int fixture_count;
    defect defects[MAX_DEFECTS];
    int defect_count;
} tendon;

static double face_offset(const tendon *t, int support)
{
    if (!t->type[support])
        return 0.60;
    return strcmp(t->type[support], "PIPE3") == 0 ? 0.50 : 0.70;
}

static double readable_offset(const tendon *t, int support)
{
    if (!t->type[support])
        return 0.10;
    return strcmp(t->type[support], "PIPE3") == 0 ? 0.15 : 0.02;
}

static void build(tendon *t)
{
    double station = 0.0, before = 0.0; /* before: tangent of the last arc */
    int n = t->supports;
    for (int i = 0; i + 1 < n; i++)
        t->leg_unit[i] = unit(add(t->point[i + 1], -1.0, t->point[i]));
    for (int i = 0; i < n; i++) {
        double tangent = 0.0, arc = 0.0;
        if (i > 0) {
            vec leg = add(t->point[i], -1.0, t->point[i - 1]);
            if (i + 1 < n) {
                vec c = cross(t->leg_unit[i - 1], t->leg_unit[i]);
                double d = atan2(sqrt(dot(c, c)),
                                 dot(t->leg_unit[i - 1], t->leg_unit[i]));
                tangent = t->radius[i] * tan(d / 2.0);
                arc = t->radius[i] * d;
            }
            station += sqrt(dot(leg, leg)) - before - tangent;
        }
        t->pc[i] = station;
        station += arc;
        t->pt[i] = station;
        before = tangent;
    }
    t->length = station;
    t->faces = 2 * (n - 1);
}

/* Point of leg i at station s, prolonged into the arcs at its ends. */
static vec leg_point(const tendon *t, int leg, double s)
{
    double from_pi = s - t->pt[leg];
    if (leg > 0) {
        vec c = cross(t->leg_unit[leg - 1], t->leg_unit[leg]);
        double d =
            atan2(sqrt(dot(c, c)), dot(t->leg_unit[leg - 1], t->leg_unit[leg]));
        from_pi += t->radius[leg] * tan(d / 2.0);
    }
    return add(t->point[leg], from_pi, t->leg_unit[leg]);
}

/* Which support and which leg a face belongs to. Faces in order of stations:
 * 0: ahead of support 0; 1: back of support 1; 2: ahead of support 1; ... */
static int face_support(int face)
{
    return (face + 1) / 2;
}

static int face_leg(int face)
{
    return face / 2;
}

static bool face_looks_ahead(int face)
{
    return face % 2 == 0;
}

/* Station where the drawn plane of a face crosses the clock line phi at
 * radius r, plus the as-built shift if `built`. Planes are plumb and square
 * to X. */
static double face_station(const tendon *t, int face, double r, double phi,
                           bool built)
{
    int support = face_support(face), leg = face_leg(face);
    double side = face_looks_ahead(face) ? 1.0 : -1.0;
    double plane = t->point[support].x + side * face_offset(t, support);
    double s0 = t->pt[leg];
    vec p =
        add(leg_point(t, leg, s0), r, clock_direction(t->leg_unit[leg], phi));
    double s = s0 + (plane - p.x) / t->leg_unit[leg].x;
    return s + (built ? t->shift[face] : 0.0);
}

/* The same on the axis, to the end of what can be read. */
static double readable_station(const tendon *t, int face)
{
    double side = face_looks_ahead(face) ? 1.0 : -1.0;
    return face_station(t, face, 0.0, 0.0, true) +
           side * readable_offset(t, face_support(face));
}

/* Outside length minus station on leg `leg`, clock line phi: chords of the
 * surface line round each arc before it. */
static double outside_excess(const tendon *t, int leg, double r, double phi)
{
    double excess = 0.0;
    for (int i = 1; i <= leg; i++) {
        vec a = t->leg_unit[i - 1], b = t->leg_unit[i];
        vec axis = unit(cross(a, b));
        double d = atan2(dot(cross(a, b), axis), dot(a, b));
        int steps = 2000;
        vec centre = add((vec){0, 0, 0}, 1.0, unit(cross(axis, a)));
        double path = 0.0;
        vec last = {0, 0, 0};
        for (int k = 0; k <= steps; k++) {
            double q = d * k / steps;
            vec u = add(add((vec){0, 0, 0}, cos(q), a), sin(q), centre);
            vec inward = cross(axis, u);
            vec p = add(add((vec){0, 0, 0}, -t->radius[i], inward), r,
                        clock_direction(u, phi));
            if (k > 0) {
                vec step = add(p, -1.0, last);
                path += sqrt(dot(step, step));
            }
            last = p;
        }
        excess += path - (t->pt[i] - t->pc[i]);
    }
    return excess;
}

/* ---- truth of the index ----------------------------------------------------
 */

static double ramp(double d, double taper)
{
    if (taper < 1e-9)
        return d >= 0.0 ? 1.0 : 0.0;
    double f = d / taper + 0.5;
    return f < 0.0 ? 0.0 : f > 1.0 ? 1.0 : f;
}

/* Behind the wall at `angle` from its middle a void below a plane is so deep:
 * bore radius times 1 - cos half / cos angle. A layer z gives z^1.5 / (z^1.5 +
 * z0^1.5), here as a part of what it gives in the middle. */
static double segment_part(double half, double angle)
{
    if (angle >= half)
        return 0.0;
    double z = BORE * (1.0 - cos(half) / cos(angle));
    double deepest = BORE * (1.0 - cos(half));
    double a = pow(z / 0.007, 1.5), b = pow(deepest / 0.007, 1.5);
    return a / (1.0 + a) * (1.0 + b) / b;
}

static double sharp_index(const tendon *t, double s, double phi)
{
    double sum = 0.0;
    double angle = fabs(remainder(phi, 2.0 * PI));
    for (int i = 0; i < t->defect_count; i++) {
        const defect *d = &t->defects[i];
        if (d->kind == LIFT)
            continue;
        double part = d->kind == VOID
                          ? segment_part(d->half_angle, angle)
                          : ramp(d->half_angle - angle, 30.0 * PI / 180.0);
        sum += d->plateau * part * ramp(s - d->from, d->taper_from) *
               ramp(d->to - s, d->taper_to);
    }
    return sum;
}

/* Through the footprint: a raised cosine of full width FOOTPRINT * 1.2, whose
 * half-height width is 0.6 footprints; lift-off strikes all at once. */
static double seen_index(const tendon *t, double s, double phi)
{
    double sum = 0.0, weight = 0.0;
    for (int k = -20; k <= 20; k++) {
        double w = 1.0 + cos(PI * k / 20.5);
        sum += w * sharp_index(t, s + 0.6 * FOOTPRINT * k / 20.0, phi);
        weight += w;
    }
    sum /= weight;
    for (int i = 0; i < t->defect_count; i++) {
        const defect *d = &t->defects[i];
        if (d->kind == LIFT && s >= d->from && s < d->to)
            sum += d->plateau;
    }
    return sum;
}

/* ---- writing
 * ----------------------------------------------------------------- */

static const char *out_folder;

static FILE *open_file(const char *name)
{
    char path[4096];
    snprintf(path, sizeof path, "%s/%s", out_folder, name);
    FILE *f = fopen(path, "w");
    if (!f) {
        fprintf(stderr, "ductmark_demo: cannot write %s\n", path);
        exit(1);
    }
    return f;
}

static void make_folder(const char *name)
{
    char path[4096];
    snprintf(path, sizeof path, "%s/%s", out_folder, name);
    mkdir(path, 0777);
}

static const char *face_name(const tendon *t, int face)
{
    static char text[8][16];
    static int next;
    char *s = text[next++ % 8];
    int support = face_support(face);
    if (support == 0 || support == t->supports - 1)
        snprintf(s, 16, "A%d-f", support == 0 ? 1 : 2);
    else
        snprintf(s, 16, "D%d-%c", support, face_looks_ahead(face) ? 'a' : 'b');
    return s;
}

/* A coordinate in the bridge's own unit. US: survey feet for coordinates. */
static const char *coordinate(const tendon *t, double metres)
{
    static char text[8][40];
    static int next;
    char *s = text[next++ % 8];
    if (t->us)
        snprintf(s, 40, "%.6f us-ft", metres * 3937.0 / 1200.0);
    else
        snprintf(s, 40, "%.3f m", metres);
    return s;
}

static const char *tape(const tendon *t, double metres)
{
    static char text[8][40];
    static int next;
    char *s = text[next++ % 8];
    if (t->us)
        snprintf(s, 40, "%.3f in", metres / 0.0254);
    else
        snprintf(s, 40, "%.0f mm", metres * 1000.0);
    return s;
}

static void write_support(FILE *f, const tendon *t, int i)
{
    bool last = i == t->supports - 1;
    const char *element = t->type[i] ? "deviator" : "anchorage";
    char id[16];
    if (t->type[i])
        snprintf(id, sizeof id, "D%d", i);
    else
        snprintf(id, sizeof id, "A%d", last ? 2 : 1);
    fprintf(f, "    <%s id=\"%s\" x=\"%s\" y=\"%s\" z=\"%s\"", element, id,
            coordinate(t, t->point[i].x), coordinate(t, t->point[i].y),
            coordinate(t, t->point[i].z));
    if (t->type[i])
        fprintf(f, " type=\"%s\"", t->type[i]);
    else
        fprintf(f, " name=\"%s\" kind=\"%s\"",
                last ? "far block" : "near block",
                last ? "fixed" : "tensioning");
    fprintf(f, ">\n");
    int faces[2] = {2 * i - 1, 2 * i};
    for (int k = 0; k < 2; k++) {
        if (faces[k] < 0 || faces[k] >= t->faces)
            continue;
        fprintf(f, "      <face id=\"%s\" side=\"%s\" offset=\"%s\"/>\n",
                face_name(t, faces[k]),
                face_looks_ahead(faces[k]) ? "ahead" : "back",
                tape(t, face_offset(t, i)));
    }
    for (int k = 0; k < 2; k++) {
        if (faces[k] < 0 || faces[k] >= t->faces)
            continue;
        fprintf(f, "      <readable side=\"%s\" offset=\"%s\"/>\n",
                face_looks_ahead(faces[k]) ? "ahead" : "back",
                tape(t, readable_offset(t, i)));
    }
    fprintf(f, "    </%s>\n", element);
}

static void write_tendon(FILE *f, const tendon *t)
{
    fprintf(f,
            "  <tendon id=\"%s\" part=\"%s\" where=\"%s\" strands=\"19\" "
            "strand-type=\"S06\">\n",
            t->id, t->part, t->where);
    fprintf(f, "    <external-id scheme=\"field-tag\" value=\"%s\"/>\n",
            t->tag);
    for (int i = 0; i < t->supports; i++)
        write_support(f, t, i);
    fprintf(f, "    <duct-length duct-type=\"D114\"/>\n");
    for (int i = 0; i < t->fixture_count; i++) {
        const fixture *x = &t->fixtures[i];
        fprintf(f,
                "    <fixture id=\"%s\" kind=\"collar\" from=\"%s\" "
                "to=\"%s\" ref=\"%s\"/>\n",
                x->id, tape(t, x->from_face), tape(t, x->from_face + x->width),
                face_name(t, x->face));
    }
    for (int i = 0; i < t->defect_count; i++)
        if (t->defects[i].kind == STRAND)
            fprintf(f,
                    "    <strand-side from=\"%s\" to=\"%s\" "
                    "clock=\"0 deg\" u=\"30 deg\"/>\n",
                    coordinate(t, floor(t->defects[i].from - 1.0)),
                    coordinate(t, ceil(t->defects[i].to + 1.0)));
    fprintf(f, "  </tendon>\n");
}

#define NOTE                                                                   \
    "<!-- Invented demo data: no real bridge, firm, person or measurement. "   \
    "-->\n"

static void write_types(FILE *f, bool us)
{
    if (us)
        fprintf(f, "  <duct-type id=\"D114\" od=\"4.5 in\" "
                   "wall-min=\"0.265 in\" wall=\"0.280 in\" "
                   "wall-max=\"0.300 in\" material=\"hdpe\"/>\n"
                   "  <strand-type id=\"S06\" diameter=\"0.6 in\" "
                   "area=\"0.217 in2\"/>\n");
    else
        fprintf(f, "  <duct-type id=\"D114\" od=\"114.3 mm\" "
                   "wall-min=\"6.7 mm\" wall=\"7.0 mm\" wall-max=\"7.6 mm\" "
                   "material=\"hdpe\"/>\n"
                   "  <strand-type id=\"S06\" diameter=\"15.24 mm\" "
                   "area=\"140 mm2\"/>\n");
    fprintf(f, "  <deviator-type id=\"PIPE3\" kind=\"pipe\" radius=\"3 m\" "
               "radius-min=\"2.5 m\" angle-max=\"15 deg\"/>\n"
               "  <deviator-type id=\"FLARED4\" kind=\"flared\" "
               "radius=\"4 m\" radius-min=\"3 m\" angle-max=\"20 deg\"/>\n");
}

static void write_bridge(const char *name, const tendon *t, int count, bool us)
{
    FILE *f = open_file(name);
    fprintf(f, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n" NOTE);
    if (us)
        fprintf(f,
                "<bridge version=\"1\" "
                "uid=\"7d0b6a52-9a0d-4a0e-8f5c-52d0c2a1b7e4\" id=\"DEMO-US\" "
                "name=\"Demo span in feet (invented)\">\n"
                "  <crs epsg=\"2229\"/>\n");
    else
        fprintf(f, "<bridge version=\"1\" "
                   "uid=\"3c9f1e74-5b0c-4a77-9d0a-0c4f6a1e2b95\" id=\"DEMO\" "
                   "name=\"Demo viaduct (invented)\">\n"
                   "  <external-id scheme=\"owner\" value=\"DEMO-0001\"/>\n"
                   "  <crs epsg=\"25832\" vertical-epsg=\"7837\"/>\n"
                   "  <map-conversion eastings=\"500000 m\" "
                   "northings=\"5800000 m\" height=\"0 m\" "
                   "x-axis-abscissa=\"0.96\" x-axis-ordinate=\"0.28\"/>\n"
                   "  <alignment id=\"CENTRE\">\n"
                   "    <horizontal>\n"
                   "      <start station=\"1250 m\" x=\"0 m\" y=\"0 m\" "
                   "bearing=\"90 deg\"/>\n"
                   "      <line length=\"100 m\"/>\n"
                   "    </horizontal>\n"
                   "  </alignment>\n");
    write_types(f, us);
    if (us)
        fprintf(f, "  <part id=\"SPAN\" kind=\"span\" name=\"Span\"/>\n");
    else
        for (int c = 0; c < 2; c++) {
            fprintf(f, "  <part id=\"C%c\" kind=\"cell\" name=\"%s cell\">\n",
                    "LR"[c], c ? "Right" : "Left");
            for (int s = 1; s <= 3; s++)
                fprintf(f,
                        "    <part id=\"C%c-S%d\" kind=\"span\" "
                        "name=\"Span %d, %s cell\"/>\n",
                        "LR"[c], s, s, c ? "right" : "left");
            fprintf(f, "  </part>\n");
        }
    for (int i = 0; i < count; i++)
        write_tendon(f, &t[i]);
    fprintf(f, "</bridge>\n");
    fclose(f);
}

static void write_criteria(const char *name)
{
    FILE *f = open_file(name);
    fprintf(f, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n" NOTE
               "<criteria version=\"1\" id=\"DEMO-C\" owner=\"Demo owner "
               "(invented)\" date=\"2026-03-02\">\n"
               "  <grade label=\"open first\" tap=\"true\"/>\n"
               "  <grade label=\"confirm\" tap=\"true\"/>\n"
               "  <grade label=\"keep in view\" tap=\"false\"/>\n"
               "  <rule grade=\"open first\" kind=\"void-like\" "
               "open-ended=\"true\"/>\n"
               "  <rule grade=\"open first\" kind=\"void-like\" "
               "length-min=\"400 mm\"/>\n"
               "  <rule grade=\"confirm\" kind=\"void-like\" "
               "length-min=\"40 mm\"/>\n"
               "  <rule grade=\"confirm\" kind=\"soft-like\" "
               "length-min=\"500 mm\"/>\n"
               "  <rule grade=\"confirm\" kind=\"unresolved\" "
               "length-min=\"500 mm\"/>\n"
               "  <rule grade=\"keep in view\"/>\n"
               "</criteria>\n");
    fclose(f);
}

static void write_job(const char *name, bool us)
{
    static const char *const formats[] = {
        "glb",  "obj",      "stl",   "dae",       "ply",     "ifc",      "csv",
        "json", "register", "strip", "strip-pdf", "section", "sheet-pdf"};
    FILE *f = open_file(name);
    fprintf(f,
            "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n" NOTE
            "<job version=\"1\" uid=\"%s\" date=\"2026-05-04\" "
            "units=\"%s\">\n"
            "  <bridge href=\"bridge.xml\"/>\n"
            "  <fieldbook href=\"fieldbook.xml\"/>\n"
            "  <criteria href=\"criteria.xml\"/>\n",
            us ? "b1f3c1de-2f4b-4f0b-a1a3-9a7f4d8f6a10"
               : "0f6f1a39-8d4e-4c52-9d43-6a5d5b1f7c28",
            us ? "us" : "metric");
    if (!us)
        fprintf(f, "  <context href=\"girder.obj\"/>\n");
    for (size_t i = 0; !us && i < sizeof formats / sizeof *formats; i++)
        fprintf(f, "  <output format=\"%s\"/>\n", formats[i]);
    fprintf(f, "</job>\n");
    fclose(f);
}

/* ---- what stands round the tendons ----------------------------------------
 */

/* A bar from a to b with a rectangular section about them; its sides face up
 * and sideways. Its eight corners and twelve triangles, as OBJ has them. */
static void put_bar(FILE *f, const char *name, int *corners, vec a, vec b,
                    double wide, double high)
{
    static const int quads[6][4] = {{1, 4, 3, 2}, {5, 6, 7, 8}, {1, 2, 6, 5},
                                    {2, 3, 7, 6}, {3, 4, 8, 7}, {4, 1, 5, 8}};
    vec along = unit(add(b, -1.0, a));
    vec up = clock_direction(along, 0.0), right = cross(along, up);
    fprintf(f, "g %s\n", name);
    for (int i = 0; i < 8; i++) {
        double h = (i % 4 < 2 ? -0.5 : 0.5) * high;
        double w = (i % 4 == 0 || i % 4 == 3 ? -0.5 : 0.5) * wide;
        vec p = add(add(i < 4 ? a : b, h, up), w, right);
        fprintf(f, "v %.4f %.4f %.4f\n", p.x, p.y, p.z);
    }
    for (int q = 0; q < 6; q++)
        fprintf(f, "f %d %d %d %d\n", *corners + quads[q][0],
                *corners + quads[q][1], *corners + quads[q][2],
                *corners + quads[q][3]);
    *corners += 8;
}

/* Something that runs along above the first void of a tendon, its underside at
 * a height above the centreline. */
static void put_above(FILE *f, const char *name, int *corners, const tendon *t,
                      int leg, double height, double wide, double high)
{
    const defect *d = t->defects;
    if (t->defect_count == 0)
        return;
    vec up = clock_direction(t->leg_unit[leg], 0.0);
    put_bar(f, name, corners,
            add(leg_point(t, leg, d->from - 0.5), height + 0.5 * high, up),
            add(leg_point(t, leg, d->to + 0.5), height + 0.5 * high, up), wide,
            high);
}

/* The inside of the two cells, and two things that are in a drill's way: a
 * cable tray above L3's void, a wide drain pipe's casing above L7's. */
static void write_girder(const char *name, const tendon *t)
{
    enum { L3 = 2, L7 = 6 };
    FILE *f = open_file(name);
    int corners = 0;
    fprintf(f, "# Invented demo data: no real bridge. Metres, Z up.\n");
    for (int side = -1; side <= 1; side += 2) {
        const char *cell = side < 0 ? "right" : "left";
        const struct {
            const char *what;
            double y, z, wide, high;
        } plates[] = {{"deck", 2.5, 52.6, 4.6, 0.3},
                      {"floor", 2.5, 49.6, 4.6, 0.3},
                      {"outer-web", 4.7, 51.1, 0.3, 2.7},
                      {"inner-web", 0.3, 51.1, 0.3, 2.7}};
        for (int i = 0; i < 4; i++) {
            char text[32];
            snprintf(text, sizeof text, "%s-%s", plates[i].what, cell);
            put_bar(f, text, &corners,
                    (vec){0.0, side * plates[i].y, plates[i].z},
                    (vec){100.0, side * plates[i].y, plates[i].z},
                    plates[i].wide, plates[i].high);
        }
    }
    put_above(f, "cable-tray", &corners, &t[L3], 0, 0.15, 0.10, 0.05);
    put_above(f, "drain-casing", &corners, &t[L7], 2, 0.15, 0.40, 0.20);
    fclose(f);
}

/* ---- a run
 * ----------------------------------------------------------------------- */

typedef struct {
    const char *id;
    tendon *t;
    bool back; /* direction of travel */
    bool tail_leads;
    double clock;      /* looking ahead, rad */
    bool view_back;    /* the book states the clock looking back */
    bool unwritten;    /* forgets its skip in the middle leg */
    double stop_early; /* of the last leg, not walked, m */
    bool turn;         /* a turn over the first defect */
} run;

typedef struct {
    const run *r;
    FILE *book, *csv;
    double k; /* encoder scale error */
    double gain, offset;
    double radius;
    double position; /* encoder contact, outside length */
    double x;        /* encoder, m */
    double slow;     /* correlated noise */
    int leg;
    double excess;
    int segment;
    int turns;
} walk;

static double sign_of_travel(const run *r)
{
    return r->back ? -1.0 : 1.0;
}

/* Towards increasing t from the encoder contact to the electrode. */
static double electrode_offset(const run *r)
{
    return sign_of_travel(r) * (r->tail_leads ? -1.0 : 1.0) * LEAD;
}

static double front_length(const run *r)
{
    return r->tail_leads ? TAIL : NOSE;
}

static double rear_length(const run *r)
{
    return r->tail_leads ? NOSE : TAIL;
}

static const char *front_name(const run *r)
{
    return r->tail_leads ? "tail" : "nose";
}

static const char *rear_name(const run *r)
{
    return r->tail_leads ? "nose" : "tail";
}

static const char *shown(const walk *w, double metres)
{
    static char text[8][40];
    static int next;
    char *s = text[next++ % 8];
    if (w->r->t->us)
        snprintf(s, 40, "%.3f ft", metres / 0.3048);
    else
        snprintf(s, 40, "%.0f mm", metres * 1000.0);
    return s;
}

static double counts(const walk *w, double index)
{
    double true_counts =
        COUNTS_REFERENCE - (COUNTS_REFERENCE - COUNTS_AIR) * index;
    return w->offset + w->gain * true_counts;
}

static void read_here(walk *w)
{
    const run *r = w->r;
    double s = w->position + electrode_offset(r) - w->excess;
    double white = normal(0.025 / sqrt(2.0));
    double keep = exp(-STEP / 0.04);
    w->slow =
        keep * w->slow + normal(0.025 / sqrt(2.0) * sqrt(1.0 - keep * keep));
    double index = seen_index(r->t, s, r->clock) + white + w->slow;
    if (r->t->us)
        fprintf(w->csv, "s%d,%.3f,%.1f\n", w->segment, w->x / 0.3048,
                counts(w, index));
    else
        fprintf(w->csv, "s%d,%.0f,%.1f\n", w->segment, w->x * 1000.0,
                counts(w, index));
}

/* Pulls the sensor on to `target` (outside length of the encoder contact),
 * reading every STEP. */
static void pull(walk *w, double target)
{
    double dir = sign_of_travel(w->r);
    for (;;) {
        double left = dir * (target - w->position);
        double step = left < STEP ? left : STEP;
        if (step <= 1e-9)
            break;
        w->position += dir * step;
        w->x += (step - normal(1.25e-3 * sqrt(step))) / (1.0 + w->k);
        read_here(w);
    }
}

static double face_position(const walk *w, int face)
{
    return face_station(w->r->t, face, w->radius, w->r->clock, true) +
           w->excess;
}

static void enter_leg(walk *w, int leg)
{
    w->leg = leg;
    w->excess = outside_excess(w->r->t, leg, w->radius, w->r->clock);
}

static void begin_segment(walk *w)
{
    w->segment++;
    fprintf(w->book,
            "    <readings href=\"readings/%s.csv\" "
            "segment=\"s%d\"/>\n",
            w->r->id, w->segment);
}

/* Collars of this leg, by travel order: pull to each, skip it, go on. */
static void pass_collars(walk *w)
{
    const run *r = w->r;
    const tendon *t = r->t;
    double dir = sign_of_travel(r);
    for (int k = 0; k < t->fixture_count; k++) {
        const fixture *x = &t->fixtures[r->back ? t->fixture_count - 1 - k : k];
        if (face_leg(x->face) != w->leg)
            continue;
        double side = face_looks_ahead(x->face) ? 1.0 : -1.0;
        double face = face_position(w, x->face);
        double near = face + side * x->from_face;
        double far = face + side * (x->from_face + x->width);
        double first = dir * near < dir * far ? near : far;
        double second = dir * near < dir * far ? far : near;
        double spare = uniform(0.005, 0.02);
        pull(w, first - dir * (front_length(r) + spare));
        double to = second + dir * (rear_length(r) + spare);
        double moved = fabs(to - w->position);
        double stated = moved + normal(5e-3);
        if (r->unwritten) {
            w->position = to;
            continue;
        }
        bool gap = k % 2 == 1;
        if (gap)
            stated -= NOSE + TAIL;
        fprintf(w->book,
                "    <skip x=\"%s\" length=\"%s\" basis=\"%s\" u=\"5 mm\" "
                "reason=\"collar %s\"/>\n",
                shown(w, w->x), shown(w, stated), gap ? "gap" : "displacement",
                x->id);
        w->position = to;
        begin_segment(w);
    }
}

static void write_check(walk *w, const char *kind, double index)
{
    fprintf(w->book, "    <check kind=\"%s\" value=\"%.1f\"/>\n", kind,
            counts(w, index + normal(0.004)));
}

/* Round the duct the sensor blurs, too. */
static double seen_round(const tendon *t, double s, double phi)
{
    double width = 0.7 * AROUND / 0.05715, sum = 0.0, weight = 0.0;
    for (int k = -15; k <= 15; k++) {
        double c = 1.0 + cos(PI * k / 15.5);
        sum += c * seen_index(t, s, phi + width * k / 15.0);
        weight += c;
    }
    return sum / weight;
}

static void write_turn(walk *w, const defect *d)
{
    char name[64];
    const run *r = w->r;
    snprintf(name, sizeof name, "readings/%s-turn%d.csv", r->id, ++w->turns);
    FILE *f = open_file(name);
    fprintf(f, "# invented demo data\nclock_deg,counts\n");
    double s = 0.5 * (d->from + d->to);
    for (int a = 0; a < 360; a += 5)
        fprintf(f, "%d,%.1f\n", a,
                counts(w, seen_round(r->t, s, a * PI / 180.0) + normal(0.025)));
    fclose(f);
    /* Taken on the way back to the mark; the encoder did not follow, its
     * reading is the one passed at that place. */
    fprintf(w->book, "    <turn x=\"%s\" readings=\"%s\"/>\n",
            shown(w, w->x - fabs(w->position -
                                 (s + w->excess - electrode_offset(r))) /
                                (1 + w->k)),
            name);
}

static void write_run_head(walk *w)
{
    const run *r = w->r;
    double clock = r->view_back ? 2.0 * PI - r->clock : r->clock;
    clock = fmod(clock, 2.0 * PI) * 180.0 / PI;
    fprintf(w->book,
            "  <run id=\"%s\" tendon=\"%s\" instrument=\"I1\" "
            "direction=\"%s\" leading=\"%s\" clock=\"%.0f deg\" "
            "clock-view=\"%s\" tape=\"TAPE1\">\n",
            r->id, r->t->id, r->back ? "back" : "ahead",
            r->tail_leads ? "tail" : "nose", clock,
            r->view_back ? "back" : "ahead");
}

static void walk_leg(walk *w, int order, bool first, bool last)
{
    const run *r = w->r;
    const tendon *t = r->t;
    double dir = sign_of_travel(r);
    int legs = t->supports - 1;
    int leg = r->back ? legs - 1 - order : order;
    int face_in = r->back ? 2 * leg + 1 : 2 * leg;
    int face_out = r->back ? 2 * leg : 2 * leg + 1;
    enter_leg(w, leg);
    double start = face_position(w, face_in) + dir * rear_length(r);
    /* The operator sets the sensor's rear against the face. */
    w->position = start + normal(3e-3);
    if (first) {
        fprintf(w->book,
                "    <start x=\"%s\" at=\"%s\" with=\"%s\" "
                "u=\"3 mm\"/>\n",
                shown(w, w->x), face_name(t, face_in), rear_name(r));
    } else {
        fprintf(w->book,
                "    <tie x=\"%s\" at=\"%s\" with=\"%s\" "
                "u=\"3 mm\"/>\n",
                shown(w, w->x), face_name(t, face_in), rear_name(r));
    }
    begin_segment(w);
    read_here(w);
    pass_collars(w);
    double end = face_position(w, face_out) - dir * front_length(r);
    if (last && r->stop_early > 0.0) {
        pull(w, end - dir * r->stop_early);
        fprintf(w->book,
                "    <note>low clearance: last %.1f m not walked"
                "</note>\n",
                r->stop_early);
        return;
    }
    pull(w, end + normal(3e-3));
    fprintf(w->book, "    <tie x=\"%s\" at=\"%s\" with=\"%s\" u=\"3 mm\"/>\n",
            shown(w, w->x), face_name(t, face_out), front_name(r));
}

static void write_run(FILE *book, const run *r, double k)
{
    walk w = {.r = r, .book = book, .k = k, .radius = 0.5 * 0.1143};
    w.gain = 1.0 + normal(0.02);
    w.offset = normal(10.0);
    w.slow = normal(0.025 / sqrt(2.0));
    w.x = 0.0;
    char name[64];
    snprintf(name, sizeof name, "readings/%s.csv", r->id);
    w.csv = open_file(name);
    fprintf(w.csv, "# invented demo data\nsegment,%s,counts\n",
            r->t->us ? "run_ft" : "run_mm");
    write_run_head(&w);
    write_check(&w, "air", 1.0);
    write_check(&w, "reference", 0.0);
    int legs = r->t->supports - 1;
    for (int order = 0; order < legs; order++) {
        bool last = order == legs - 1;
        walk_leg(&w, order, order == 0, last);
        int leg = r->back ? legs - 1 - order : order;
        for (int i = 0; r->turn && i < r->t->defect_count; i++) {
            const defect *d = &r->t->defects[i];
            if (d->kind == VOID && d->from > r->t->pt[leg] &&
                d->to < r->t->pc[leg + 1]) {
                write_turn(&w, d);
                break;
            }
        }
        if (last)
            break;
        /* Over the deviator: taped along its side from front to rear. */
        int next = r->back ? leg - 1 : leg + 1;
        double dir = sign_of_travel(r);
        int face_in = r->back ? 2 * next + 1 : 2 * next;
        double here = w.position;
        double there = face_station(r->t, face_in, w.radius, r->clock, true) +
                       outside_excess(r->t, next, w.radius, r->clock) +
                       dir * rear_length(r);
        int support = face_support(face_in);
        bool known = strcmp(r->t->type[support], "PIPE3") == 0;
        fprintf(book, "    <skip x=\"%s\"", shown(&w, w.x));
        if (known)
            fprintf(book, " length=\"%s\" basis=\"displacement\" u=\"10 mm\"",
                    shown(&w, fabs(there - here) + normal(8e-3)));
        fprintf(book, " reason=\"deviator D%d\"/>\n", support);
    }
    write_check(&w, "air", 1.0);
    write_check(&w, "reference", 0.0);
    fprintf(book, "  </run>\n");
    fclose(w.csv);
}

static void write_openings(FILE *f, tendon *t);

static void write_book(const char *name, const run *runs, int count, bool us,
                       tendon *t)
{
    double k = normal(0.005);
    FILE *f = open_file(name);
    make_folder("readings");
    fprintf(f,
            "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n" NOTE
            "<fieldbook version=\"1\" uid=\"%s\" survey=\"demo survey\" "
            "date=\"2026-04-%02d\" bridge=\"%s\">\n"
            "  <instrument id=\"I1\">\n"
            "    <encoder u=\"0.005\" walk=\"1.25 mm\" quantum=\"1 mm\"/>\n"
            "    <body nose=\"140 mm\" tail=\"100 mm\" "
            "body-height=\"100 mm\"/>\n"
            "    <channel id=\"C1\" lead=\"20 mm\" "
            "footprint-along=\"100 mm\" footprint-around=\"60 mm\" "
            "depth=\"15 mm\"/>\n"
            "  </instrument>\n"
            "  <tape id=\"TAPE1\" scale-u=\"0.0005\"/>\n"
            "  <calibration duct-type=\"D114\" instrument=\"I1\" "
            "wall=\"%s\">\n"
            "    <air value=\"860\"/>\n"
            "    <reference value=\"1520\"/>\n"
            "    <band kind=\"void-like\" enter=\"0.25\" leave=\"0.15\"/>\n"
            "    <band kind=\"soft-like\" enter=\"-0.25\" "
            "leave=\"-0.15\"/>\n"
            "    <material kind=\"sound\" mean=\"0\" sd=\"0.05\"/>\n"
            "    <material kind=\"void\" mean=\"0.65\" sd=\"0.12\"/>\n"
            "    <material kind=\"soft\" mean=\"-0.45\" sd=\"0.09\"/>\n"
            "    <material kind=\"strand\" mean=\"-0.6\" sd=\"0.12\"/>\n"
            "  </calibration>\n"
            "  <columns run-distance=\"%s\" unit=\"%s\" "
            "segment=\"segment\" clock=\"clock_deg\">\n"
            "    <value column=\"counts\" channel=\"C1\"/>\n"
            "  </columns>\n",
            us ? "f7f2d9f4-6f39-4b1c-8a35-2d4c1a6b9e03"
               : "5a1d2f60-3f0a-4d0f-b7a5-9a1c8e7d2b44",
            us ? 21 : 14,
            us ? "7d0b6a52-9a0d-4a0e-8f5c-52d0c2a1b7e4"
               : "3c9f1e74-5b0c-4a77-9d0a-0c4f6a1e2b95",
            us ? "0.28 in" : "7 mm", us ? "run_ft" : "run_mm",
            us ? "ft" : "mm");
    for (int i = 0; i < count; i++)
        write_run(f, &runs[i], k);
    if (!us)
        write_openings(f, t);
    fprintf(f, "</fieldbook>\n");
    fclose(f);
}

static void write_truth(const tendon *t, int count, const run *runs,
                        int run_count)
{
    static const char *const word[] = {"void",     "soft", "strand",
                                       "lift-off", "gap",  "water"};
    FILE *f = open_file("truth.csv");
    fprintf(f, "tendon,kind,from_m,to_m,plateau,open_from,open_to,"
               "taper_from_m,taper_to_m,bad_run,half_angle_deg,area_mm2,"
               "volume_L\n");
    for (int i = 0; i < count; i++)
        for (int k = 0; k < t[i].defect_count; k++) {
            const defect *d = &t[i].defects[k];
            bool bad = false;
            for (int r = 0; r < run_count; r++)
                bad = bad || (runs[r].unwritten && runs[r].t == &t[i]);
            fprintf(f, "%s,%s,%.6f,%.6f,%.3f,%d,%d,%.3f,%.3f,%d", t[i].id,
                    word[d->kind], d->from, d->to, d->plateau, d->open_from,
                    d->open_to, d->taper_from, d->taper_to, bad);
            double a = 2.0 * d->half_angle;
            double area = 0.5 * BORE * BORE * (a - sin(a));
            if (d->kind == VOID)
                fprintf(f, ",%.2f,%.1f,%.4f\n", d->half_angle * 180.0 / PI,
                        1e6 * area, 1e3 * area * (d->to - d->from));
            else
                fprintf(f, ",,,\n");
        }
    fclose(f);
    f = open_file("truth_faces.csv");
    fprintf(f, "tendon,face,station_drawn_m,station_built_m,"
               "crown_built_m\n");
    for (int i = 0; i < count; i++)
        for (int k = 0; k < t[i].faces; k++)
            fprintf(f, "%s,%s,%.6f,%.6f,%.6f\n", t[i].id, face_name(&t[i], k),
                    face_station(&t[i], k, 0.0, 0.0, false),
                    face_station(&t[i], k, 0.0, 0.0, true),
                    face_station(&t[i], k, 0.5 * 0.1143, 0.0, true));
    fclose(f);
}

/* ---- what was opened
 * --------------------------------------------------------------- */

#define OPENINGS 7

/* Two more places, and openings, out of random numbers of their own: all else
 * stays as it is without them. */
static uint64_t other_numbers(uint64_t seed)
{
    uint64_t kept = random_state;
    random_state = seed;
    return kept;
}

typedef struct {
    tendon *t;
    int leg;
    defect_kind kind; /* the first of it on that leg; LIFT: none, sound */
} opening;

static const defect *first_on_leg(const opening *o)
{
    for (int i = 0; i < o->t->defect_count; i++) {
        const defect *d = &o->t->defects[i];
        if (d->kind == o->kind && d->from > o->t->pt[o->leg] &&
            d->to < o->t->pc[o->leg + 1])
            return d;
    }
    return NULL;
}

/* Which indication it should be, counted along the tendon from 1. */
static int number_of(const tendon *t, const defect *d)
{
    int n = 1;
    for (int i = 0; i < t->defect_count; i++)
        n += t->defects[i].kind != LIFT && t->defects[i].kind != WATER &&
             t->defects[i].from < d->from;
    return n;
}

/* A picture, a note, and the pressures that the true void gives by Boyle's
 * law with a vessel of 10 L at 20 kPa. */
static void write_measured(FILE *f, const defect *d, int id)
{
    double a = 2.0 * d->half_angle;
    double area = 0.5 * BORE * BORE * (a - sin(a));
    double litres = 1e3 * area * (d->to - d->from);
    double after = (10.0 * 20.0 + litres * 101.3) / (10.0 + litres);
    fprintf(f,
            " photo=\"photos/O%d.jpg\">\n"
            "    <pressure-volume vessel=\"10 L\" vessel-u=\"0.02 L\" "
            "pressure-before=\"20 kPa\" pressure-after=\"%.2f kPa\" "
            "pressure-air=\"101.3 kPa\" pressure-u=\"0.1 kPa\"/>\n"
            "    <note>dry; grout at the edge is white and soft</note>\n"
            "  </opened>\n",
            id, after);
}

/* On the crown, taped from the face as built at the leg's begin. */
static void write_opening(FILE *f, const opening *o, int id)
{
    static const char *const word[] = {"void",  "soft",  "strand",
                                       "sound", "sound", "water"};
    const tendon *t = o->t;
    const defect *d = first_on_leg(o);
    int face = 2 * o->leg;
    double from = face_station(t, face, 0.5 * 0.1143, 0.0, true);
    double s = from + uniform(0.9, 1.1);
    if (!d && o->kind != LIFT)
        return; /* no room was found for it */
    if (d)
        s = 0.5 * (d->from + d->to);
    for (int i = 0; !d && i < t->defect_count; i++)
        if (s > t->defects[i].from - 0.3 && s < t->defects[i].to + 0.3)
            return;
    fprintf(f,
            "  <opened id=\"O%d\" tendon=\"%s\" face=\"%s\" "
            "distance=\"%s\" clock=\"12:00\" date=\"2026-04-28\" "
            "found=\"%s\"",
            id, t->id, face_name(t, face), tape(t, s - from + normal(2e-3)),
            word[o->kind]);
    if (d && (d->kind == SOFT || d->kind == GAP))
        fprintf(f, " tap=\"%s-I%02d-A\"", t->id, number_of(t, d));
    if (d && (d->kind == VOID || d->kind == WATER))
        fprintf(f, " depth=\"%.0f mm\"",
                1e3 * BORE * (1.0 - cos(d->half_angle)));
    fprintf(f, "%s%s", o->kind == WATER ? " water=\"true\"" : "",
            o->kind == STRAND ? " strand=\"true\"" : "");
    if (d && d->kind == VOID)
        write_measured(f, d, id);
    else
        fprintf(f, "/>\n");
}

/* ---- the scenario
 * ------------------------------------------------------------------ */

/* Room that a defect needs from readable ends, faces and other defects. */
static bool has_room(const tendon *t, int leg, double from, double to)
{
    double lo = readable_station(t, 2 * leg) + NOSE + 0.20;
    double hi = readable_station(t, 2 * leg + 1) - NOSE - 0.20;
    if (from < lo || to > hi)
        return false;
    for (int i = 0; i < t->defect_count; i++)
        if (from < t->defects[i].to + 0.6 && to > t->defects[i].from - 0.6)
            return false;
    for (int i = 0; i < t->fixture_count; i++) {
        const fixture *x = &t->fixtures[i];
        double side = face_looks_ahead(x->face) ? 1.0 : -1.0;
        double face = face_station(t, x->face, 0.0, 0.0, true);
        double a = face + side * x->from_face;
        double b = face + side * (x->from_face + x->width);
        double clear = NOSE + TAIL + 0.2;
        if (from < fmax(a, b) + clear && to > fmin(a, b) - clear)
            return false;
    }
    return true;
}

static defect *put(tendon *t, defect_kind kind, double from, double to,
                   double plateau)
{
    defect *d = &t->defects[t->defect_count++];
    *d = (defect){.kind = kind, .from = from, .to = to, .plateau = plateau};
    d->half_angle = uniform(55.0, 85.0) * PI / 180.0;
    return d;
}

/* A defect at a random place of a leg; upper ends of slopes get most. */
static defect *place(tendon *t, int leg, defect_kind kind, double length,
                     double plateau)
{
    double lo = readable_station(t, 2 * leg);
    double hi = readable_station(t, 2 * leg + 1);
    bool up_ahead = t->leg_unit[leg].z > 0.0;
    for (int tries = 0; tries < 400; tries++) {
        double q = uniform(0.0, 1.0);
        if (tries < 200)
            q = q * q; /* towards the upper end */
        double a = up_ahead ? hi - (hi - lo) * q : lo + (hi - lo) * q;
        double from = up_ahead ? a - length : a;
        if (has_room(t, leg, from, from + length)) {
            defect *d = put(t, kind, from, from + length, plateau);
            /* Abrupt at the upper end, a wedge at the lower one. */
            if (kind == VOID && length > 0.3) {
                double wedge = uniform(0.0, 0.12);
                *(up_ahead ? &d->taper_from : &d->taper_to) = wedge;
            }
            return d;
        }
    }
    return NULL;
}

static double a_plateau(void)
{
    return uniform(0.45, 0.85);
}

static void lay_out(tendon *t)
{
    static const char *const where[8] = {
        "outer web, top row", "outer web, bottom row",
        "outer web, top row", "outer web, bottom row",
        "outer web, top row", "outer web, bottom row",
        "inner web, outside", "inner web, inside"};
    static char text[16][4][48];
    for (int i = 0; i < 16; i++) {
        tendon *n = &t[i];
        int cell = i / 8, k = i % 8;
        double side = cell ? -1.0 : 1.0;
        memset(n, 0, sizeof *n);
        snprintf(text[i][0], 48, "%c%d", "LR"[cell], k + 1);
        snprintf(text[i][1], 48, "%c-%02d", "LR"[cell], k + 1);
        snprintf(text[i][2], 48, "%s cell, %s", cell ? "right" : "left",
                 where[k]);
        if (k < 6)
            snprintf(text[i][3], 48, "C%c-S%d", "LR"[cell], k / 2 + 1);
        else
            snprintf(text[i][3], 48, "C%c", "LR"[cell]);
        n->id = text[i][0];
        n->tag = text[i][1];
        n->where = text[i][2];
        n->part = text[i][3];
        double z = 50.0;
        if (k < 6) {
            static const double x[3][4] = {{0.8, 10.0, 20.0, 29.2},
                                           {30.8, 44.0, 56.0, 69.2},
                                           {70.8, 80.0, 90.0, 99.2}};
            bool low = k % 2;
            for (int j = 0; j < 4; j++) {
                bool end = j == 0 || j == 3;
                double y = low ? 3.4 : 4.0;
                n->point[j] =
                    (vec){x[k / 2][j], side * (end ? y - 0.25 : y),
                          z + (end ? (low ? 1.7 : 2.0) : (low ? 0.45 : 0.70))};
                if (!end) {
                    n->type[j] = "PIPE3";
                    n->radius[j] = 3.0;
                }
            }
            n->supports = 4;
        } else {
            static const double x[7] = {0.8,  10.0, 20.0, 30.0,
                                        44.0, 56.0, 69.2};
            static const double h[7] = {1.6, 0.5, 0.5, 2.1, 0.5, 0.5, 1.6};
            for (int j = 0; j < 7; j++) {
                n->point[j] =
                    (vec){x[j], side * (k == 6 ? 1.8 : 1.2), z + h[j]};
                if (j > 0 && j < 6) {
                    n->type[j] = j == 3 ? "FLARED4" : "PIPE3";
                    n->radius[j] = j == 3 ? 4.0 : 3.0;
                }
            }
            n->supports = 7;
        }
        build(n);
        for (int f = 0; f < n->faces; f++)
            n->shift[f] = normal(0.015);
        if (k != 7) {
            n->fixtures[n->fixture_count++] =
                (fixture){"C1", uniform(3.0, 4.5), 0.12, 2};
            if (k == 4 || k == 2)
                n->fixtures[n->fixture_count++] =
                    (fixture){"C2", uniform(2.5, 3.5), 0.10, 3};
        }
    }
}

static void fill(tendon *t)
{
    enum { L1, L2, L3, L4, L5, L6, L7, L8, R1, R2, R3, R4, R5, R6, R7, R8 };
    defect *d;
    /* Runs on into the trumpet: its near end is not read. */
    d = put(&t[L1], VOID, face_station(&t[L1], 0, 0, 0, true) - 0.2,
            readable_station(&t[L1], 0) + uniform(0.35, 0.7), a_plateau());
    d->open_from = true;
    place(&t[L2], 2, VOID, uniform(0.3, 0.9), a_plateau());
    place(&t[L3], 0, VOID, uniform(0.4, 1.0), a_plateau());
    place(&t[L4], 1, VOID, 0.06, uniform(0.7, 0.9)); /* under a footprint */
    {                                                /* runs under collar C1 */
        double face = face_station(&t[L5], 2, 0, 0, true);
        double a = face + t[L5].fixtures[0].from_face;
        put(&t[L5], VOID, a - uniform(0.4, 0.6), a + uniform(0.6, 0.8),
            a_plateau());
    }
    place(&t[L6], 0, SOFT, uniform(0.8, 1.4), -0.45);
    place(&t[L7], 2, VOID, uniform(0.3, 0.8), a_plateau());
    place(&t[L8], 4, VOID, uniform(0.2, 0.5), a_plateau());
    place(&t[R1], 1, STRAND, uniform(0.6, 1.0), -0.6);
    place(&t[R2], 0, VOID, uniform(0.16, 0.4), a_plateau());
    place(&t[R3], 2, VOID, uniform(0.2, 0.8), a_plateau());
    place(&t[R4], 2, VOID, uniform(0.5, 1.2), a_plateau());
    place(&t[R5], 0, VOID, uniform(0.3, 0.6), a_plateau());
    place(&t[R5], 0, VOID, uniform(0.3, 0.6), a_plateau());
    place(&t[R6], 2, VOID, uniform(0.3, 0.8), a_plateau());
    place(&t[R7], 3, VOID, uniform(0.3, 0.8), a_plateau());
    for (int i = 0; i < 8; i++) {
        int k = (int)uniform(0.0, 16.0);
        if (k == R6)
            continue;
        int leg = (int)uniform(0.0, t[k].supports - 1.0);
        place(&t[k], leg, VOID, uniform(0.15, 0.9), a_plateau());
    }
    place(&t[L8], 1, LIFT, uniform(0.03, 0.06), uniform(0.5, 0.9));
    uint64_t kept = other_numbers(random_state ^ 0x5bd1e995u);
    place(&t[R2], 1, GAP, uniform(0.42, 0.5), uniform(0.45, 0.6));
    place(&t[R7], 1, WATER, uniform(0.4, 0.6), 0.0);
    place(&t[R8], 2, SOFT, uniform(0.8, 1.4), -0.45);
    random_state = kept;
}

static void write_openings(FILE *f, tendon *t)
{
    const opening list[OPENINGS] = {{&t[1], 2, VOID},   {&t[5], 0, SOFT},
                                    {&t[8], 1, STRAND}, {&t[9], 1, GAP},
                                    {&t[10], 2, VOID},  {&t[14], 1, WATER},
                                    {&t[7], 2, LIFT}};
    uint64_t kept = other_numbers(random_state ^ 0x2545f491u);
    for (int i = 0; i < OPENINGS; i++)
        write_opening(f, &list[i], i + 1);
    random_state = kept;
}

static int make_runs(tendon *t, run *runs)
{
    static char id[24][16];
    int n = 0;
    for (int i = 0; i < 16; i++) {
        snprintf(id[n], 16, "%s-1", t[i].id);
        runs[n] = (run){.id = id[n], .t = &t[i]};
        runs[n].unwritten = strcmp(t[i].id, "R6") == 0;
        runs[n].stop_early = strcmp(t[i].id, "R8") == 0 ? 2.0 : 0.0;
        runs[n].turn = i == 2 || i == 12;
        n++;
    }
    /* There and back, sensor turned round; back with the tail in front; other
     * clock lines, one of them noted down by somebody who looked back. */
    const struct {
        int t;
        bool back, tail, view_back;
        double clock;
    } more[4] = {{2, true, false, false, 0.0},
                 {10, true, true, false, 0.0},
                 {2, false, false, false, 60.0},
                 {12, true, false, true, 315.0}};
    for (int i = 0; i < 4; i++) {
        snprintf(id[n], 16, "%s-%d", t[more[i].t].id, i == 2 ? 3 : 2);
        runs[n] = (run){.id = id[n],
                        .t = &t[more[i].t],
                        .back = more[i].back,
                        .tail_leads = more[i].tail,
                        .view_back = more[i].view_back,
                        .clock = more[i].clock * PI / 180.0};
        n++;
    }
    return n;
}

static void demo(void)
{
    tendon *t = calloc(16, sizeof *t);
    run *runs = calloc(24, sizeof *runs);
    if (!t || !runs)
        exit(1);
    lay_out(t);
    fill(t);
    int n = make_runs(t, runs);
    write_bridge("bridge.xml", t, 16, false);
    write_criteria("criteria.xml");
    write_job("job.xml", false);
    write_girder("girder.obj", t);
    write_book("fieldbook.xml", runs, n, false, t);
    write_truth(t, 16, runs, n);
    free(runs);
    free(t);
}

/* One tendon, one run: coordinates in US survey feet, tapes in feet and
 * inches. */
static void demo_us(void)
{
    char folder[4000];
    snprintf(folder, sizeof folder, "%s/us", out_folder);
    mkdir(folder, 0777);
    const char *keep = out_folder;
    out_folder = folder;
    tendon t = {.id = "T1",
                .tag = "T-1",
                .where = "left web",
                .part = "SPAN",
                .us = true,
                .supports = 4};
    const double foot = 1200.0 / 3937.0;
    static const double x[4] = {2.5, 33.0, 66.0, 97.5};
    for (int j = 0; j < 4; j++) {
        bool end = j == 0 || j == 3;
        t.point[j] = (vec){(6400000.0 + x[j]) * foot, 1800000.0 * foot,
                           (200.0 + (end ? 6.5 : 2.0)) * foot};
        t.type[j] = end ? NULL : "PIPE3";
        t.radius[j] = 3.0;
    }
    build(&t);
    for (int f = 0; f < t.faces; f++)
        t.shift[f] = normal(0.015);
    place(&t, 0, VOID, uniform(0.4, 0.8), a_plateau());
    run r = {.id = "T1-1", .t = &t};
    write_bridge("bridge.xml", &t, 1, true);
    write_criteria("criteria.xml");
    write_job("job.xml", true);
    write_book("fieldbook.xml", &r, 1, true, &t);
    write_truth(&t, 1, &r, 1);
    out_folder = keep;
}

int main(int argc, char **argv)
{
    uint64_t seed = 1;
    for (int i = 1; i + 1 < argc; i += 2) {
        if (strcmp(argv[i], "--seed") == 0)
            seed = strtoull(argv[i + 1], NULL, 10);
        else if (strcmp(argv[i], "--out") == 0)
            out_folder = argv[i + 1];
    }
    if (!out_folder || argc % 2 == 0) {
        fprintf(stderr, "usage: ductmark_demo --seed N --out DIR\n");
        return 2;
    }
    mkdir(out_folder, 0777);
    random_state = seed * 0x2545f4914f6cdd1du;
    demo();
    demo_us();
    return 0;
}
