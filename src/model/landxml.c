/* SPDX-License-Identifier: MIT
 * LandXML: the file, its units, the alignment that is asked for, its station
 * equations. Written after the published schema of LandXML 1.2 (element and
 * attribute names, units, "where no station equations are applied" of its type
 * station). A station equation is at staInternal; where a file has none, at
 * its staBack. What is displayed just before a jump follows from the lengths,
 * so staBack is only compared. */
#include "model/landxml.h"

#include <math.h>
#include <string.h>

#include "base/diag.h"
#include "base/file.h"
#include "model/landxml_read.h"

#define NAMESPACE "http://www.landxml.org/schema/LandXML-1."
#define MOST_NAMES 10 /* listed in a message */

/* ---- units
 * ------------------------------------------------------------------------ */

static double metres_of(const char *unit)
{
    static const struct {
        const char *name;
        double metres;
    } units[] = {
        {"meter", 1.0},       {"millimeter", 0.001},
        {"centimeter", 0.01}, {"kilometer", 1000.0},
        {"foot", 0.3048},     {"USSurveyFoot", 1200.0 / 3937.0},
        {"inch", 0.0254},     {"mile", 1609.344},
    };
    for (size_t i = 0; i < sizeof units / sizeof *units; i++)
        if (strcmp(unit, units[i].name) == 0)
            return units[i].metres;
    return 0.0;
}

static land_angle read_angle_unit(land *l, const dm_xml_node *units,
                                  const char *name)
{
    static const char *const words[] = {"radians", "grads", "decimal degrees",
                                        "decimal dd.mm.ss", NULL};
    int word = dm_xml_word(l->xml, units, name, words, -1);
    if (word < 0 && dm_xml_has(units, name))
        dm_xml_fault(l->xml, units, DM_SCHEMA,
                     "%s is '%.40s', expected radians, grads, decimal degrees "
                     "or decimal dd.mm.ss",
                     name, dm_xml_text(l->xml, units, name, ""));
    return word < 0 ? LAND_RADIANS : (land_angle)word;
}

static bool read_units(land *l, const dm_xml_node *root)
{
    const dm_xml_node *n = land_child(l, root, "Units");
    const dm_xml_node *units = n ? land_child(l, n, "Metric") : NULL;
    if (n && !units)
        units = land_child(l, n, "Imperial");
    if (!units) {
        dm_xml_fault(l->xml, n ? n : root, DM_SCHEMA,
                     "Units with Metric or Imperial is missing: the unit of "
                     "length is not known");
        return false;
    }
    l->unit = dm_xml_text(l->xml, units, "linearUnit", "");
    l->metres = metres_of(l->unit);
    if (l->metres == 0.0) {
        dm_xml_fault(l->xml, units, DM_SCHEMA,
                     "linearUnit is '%.40s', expected meter, millimeter, "
                     "centimeter, kilometer, foot, USSurveyFoot, inch or mile",
                     l->unit);
        return false;
    }
    l->angles = read_angle_unit(l, units, "angularUnit");
    l->directions = read_angle_unit(l, units, "directionUnit");
    return true;
}

/* ---- which alignment
 * --------------------------------------------------------------- */

static const dm_xml_node *next_alignment(const land *l, const dm_xml_node **in,
                                         const dm_xml_node *n)
{
    n = n ? land_next(l, n, "Alignment") : land_child(l, *in, "Alignment");
    while (!n && *in) {
        *in = land_next(l, *in, "Alignments");
        n = *in ? land_child(l, *in, "Alignment") : NULL;
    }
    return n;
}

/* Says which names there are. */
static void say_names(land *l, const dm_xml_node *root, const char *name,
                      size_t matches, size_t count)
{
    dm_buf list = {0};
    size_t i = 0;
    const dm_xml_node *in = land_child(l, root, "Alignments");
    for (const dm_xml_node *n = in ? next_alignment(l, &in, NULL) : NULL;
         n && i < MOST_NAMES; n = next_alignment(l, &in, n), i++)
        dm_buf_printf(&list, "%s'%.40s'", i ? ", " : "",
                      dm_xml_text(l->xml, n, "name", ""));
    if (count > MOST_NAMES)
        dm_buf_puts(&list, ", ...");
    if (list.failed)
        l->out_of_memory = true;
    else if (name)
        dm_xml_fault(l->xml, root, DM_REFERENCE,
                     "%s alignment named '%.60s'; there are: %s",
                     matches ? "more than one" : "no", name, list.data);
    else
        dm_xml_fault(l->xml, root, DM_REFERENCE,
                     "%zu alignments, one has to be named: %s", count,
                     list.data);
    dm_buf_free(&list);
}

static const dm_xml_node *pick(land *l, const dm_xml_node *root,
                               const char *name)
{
    const dm_xml_node *found = NULL, *in = land_child(l, root, "Alignments");
    size_t count = 0, matches = 0;
    for (const dm_xml_node *n = in ? next_alignment(l, &in, NULL) : NULL; n;
         n = next_alignment(l, &in, n)) {
        count++;
        if (name && strcmp(dm_xml_text(l->xml, n, "name", ""), name) != 0)
            continue;
        matches++;
        found = n;
    }
    if (matches == 1)
        return found;
    if (count == 0)
        dm_xml_fault(l->xml, root, DM_REFERENCE, "it holds no alignment");
    else
        say_names(l, root, name, matches, count);
    return NULL;
}

/* ---- station equations
 * ------------------------------------------------------------- */

/* What is displayed at s by the equations read so far. */
static double displayed(const dm_alignment *line, double s)
{
    size_t n = line->equation_count;
    const dm_station_equation *last = n ? &line->equations[n - 1] : NULL;
    return last ? last->ahead + (s - last->s) : s;
}

static void read_equation(land *l, const dm_xml_node *n)
{
    dm_alignment *line = &l->out->line;
    dm_station_equation e = {0};
    double back = land_length(l, n, "staBack", -1e7, 1e7) * l->scale;
    e.ahead = land_needed(l, n, "staAhead", -1e7, 1e7) * l->scale;
    const char *way = dm_xml_text(l->xml, n, "staIncrement", "increasing");
    if (strcmp(way, "increasing") != 0) {
        dm_xml_fault(l->xml, n, DM_UNSUPPORTED,
                     "staIncrement is '%.20s', only increasing is read", way);
        return;
    }
    bool internal = dm_xml_has(n, "staInternal");
    if (internal)
        e.s = land_station(l, n, "staInternal");
    else if (!isnan(back))
        e.s = back - displayed(line, 0.0);
    else
        dm_xml_fault(l->xml, n, DM_SCHEMA,
                     "attribute 'staInternal' is missing");
    if ((!internal && isnan(back)) || isnan(e.s) || isnan(e.ahead))
        return;
    size_t before = line->equation_count;
    if (e.s < line->begin || e.s > line->end ||
        (before && e.s <= line->equations[before - 1].s)) {
        dm_xml_fault(l->xml, n, DM_GEOMETRY,
                     "it stands at station %s, expected one on the alignment "
                     "and beyond the equation before it",
                     land_show(l, e.s).text);
        return;
    }
    e.back = displayed(line, e.s);
    if (l->scale == 1.0 && fabs(e.back - back) > LAND_WARN)
        dm_xml_warn(l->xml, n, "staBack is %s, by the lengths before it %s",
                    land_show(l, back).text, land_show(l, e.back).text);
    line->equations[line->equation_count++] = e;
}

static void read_equations(land *l, const dm_xml_node *alignment)
{
    dm_alignment *line = &l->out->line;
    size_t count = land_count(l, alignment, "StaEquation");
    if (too_many(l->xml, alignment, count, MOST_ELEMENTS, "station equations"))
        return;
    line->equations = DM_NEW_ARRAY(l->arena, dm_station_equation, count);
    if (!line->equations) {
        l->out_of_memory = true;
        return;
    }
    for (const dm_xml_node *n = land_child(l, alignment, "StaEquation"); n;
         n = land_next(l, n, "StaEquation"))
        read_equation(l, n);
}

/* ---- all of it
 * --------------------------------------------------------------------- */

static void read_chosen(land *l, const dm_xml_node *n)
{
    dm_landxml *out = l->out;
    out->name = dm_xml_text(l->xml, n, "name", "");
    out->place = dm_xml_place(l->xml, n);
    l->begin = land_needed(l, n, "staStart", -1e7, 1e7) * l->scale;
    size_t plans = land_count(l, n, "CoordGeom");
    if (plans == 1)
        land_plan(l, land_child(l, n, "CoordGeom"));
    else
        dm_xml_fault(l->xml, n, DM_UNSUPPORTED,
                     "it has %zu CoordGeom, exactly one is read", plans);
    bool whole = out->line.horizontal_count > 0;
    if (whole) {
        land_compare(l, n, "length", land_length(l, n, "length", 0.0, 1e9),
                     out->line.end - out->line.begin);
        read_equations(l, n);
    }
    if (!isnan(l->begin))
        land_profile(l, n);
}

static void read_file(land *l, const char *name)
{
    const dm_xml_node *root = dm_xml_root(l->xml);
    l->space = dm_xml_space(root);
    size_t n = strlen(NAMESPACE);
    if (strncmp(l->space, NAMESPACE, n) != 0 ||
        (strcmp(l->space + n, "0") != 0 && strcmp(l->space + n, "1") != 0 &&
         strcmp(l->space + n, "2") != 0)) {
        dm_xml_fault(l->xml, root, DM_UNSUPPORTED,
                     "its namespace is '%.80s', expected " NAMESPACE
                     "2 (or 1.0, 1.1)",
                     l->space);
        return;
    }
    bool good = read_units(l, root);
    const dm_xml_node *alignment = pick(l, root, name);
    if (good && alignment)
        read_chosen(l, alignment);
}

static dm_status finish(land *l, dm_status status, dm_diag *diag,
                        const char *path, dm_landxml **out)
{
    bool said = status != DM_OK;
    if (status == DM_OK)
        status = dm_xml_status(l->xml);
    if (l->out_of_memory || status == DM_NOMEM)
        status = DM_NOMEM;
    if (status == DM_NOMEM && !said)
        dm_error(diag, DM_NOMEM, (dm_place){path, 0}, NULL, "out of memory");
    dm_xml_free(l->xml);
    if (status == DM_OK)
        *out = l->out;
    return status;
}

dm_status dm_landxml_read_text(const char *path, const dm_buf *text,
                               const char *name, const dm_map_conversion *map,
                               dm_arena *arena, dm_diag *diag, dm_landxml **out)
{
    land l = {.arena = arena, .scale = 1.0, .out = DM_NEW(arena, dm_landxml)};
    *out = NULL;
    if (map && map->given) {
        l.map = map;
        l.scale = dm_map_plan_scale(map);
        l.turn = atan2(map->x_axis_ordinate, map->x_axis_abscissa);
    }
    dm_status status =
        dm_xml_read_text(path, text, "LandXML", NULL, 0, arena, diag, &l.xml);
    if (status == DM_OK && !l.out)
        l.out_of_memory = true;
    else if (status == DM_OK) {
        l.out->sha256 = dm_xml_sha256(l.xml);
        read_file(&l, name);
    }
    return finish(&l, status, diag, path, out);
}

dm_status dm_landxml_read(const char *path, const char *name,
                          const dm_map_conversion *map, dm_arena *arena,
                          dm_diag *diag, dm_landxml **out)
{
    dm_buf text = {0};
    *out = NULL;
    dm_status status =
        dm_file_read(path, DM_XML_LIMIT, (dm_place){path, 0}, diag, &text);
    if (status == DM_OK)
        status = dm_landxml_read_text(path, &text, name, map, arena, diag, out);
    dm_buf_free(&text);
    return status;
}
