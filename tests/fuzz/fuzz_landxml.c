/* SPDX-License-Identifier: MIT
 * Bytes that begin with '<' as a LandXML file, with a map conversion or
 * without; others as the numbers of a reference line that is written as
 * LandXML, its coordinates shifted a little. What is accepted must be a line
 * that later stages can walk, and its element must follow the bridge's
 * schema. */
#include <math.h>

#include "../support/landxml_make.h"
#include "fuzz.h"
#include "model/landxml.h"
#include "model/schemas.h"
#include "model/xml.h"
#include "write/alignment.h"

#define MOST_ELEMENTS_HERE 12
#define NEAR 1e-5 /* m; coordinates may be 1e8 m */

static void promise_plan(const dm_alignment *line)
{
    FUZZ_CHECK(line->horizontal_count >= 1);
    FUZZ_CHECK(line->begin < line->end);
    for (size_t i = 0; i < line->horizontal_count; i++) {
        const dm_horizontal *e = &line->horizontal[i];
        FUZZ_CHECK(e->length > 0.0 && isfinite(e->length));
        FUZZ_CHECK(isfinite(e->x + e->y + e->bearing + e->s0));
        FUZZ_CHECK(fabs(e->k0) <= 4.0 && fabs(e->k1) <= 4.0);
        dm_alignment_place p = dm_alignment_at(line, e->s0 + 0.5 * e->length);
        FUZZ_CHECK(isfinite(p.x + p.y + p.bearing + p.curvature));
        FUZZ_CHECK(hypot(p.x - e->x, p.y - e->y) <= 0.5 * e->length + NEAR);
    }
    dm_alignment_foot foot =
        dm_alignment_nearest(line, (dm_vec3){line->horizontal[0].x, 7.0, 0.0});
    FUZZ_CHECK(isfinite(foot.s) && isfinite(foot.offset));
}

static void promise_rest(const dm_landxml *l)
{
    const dm_alignment *line = &l->line;
    for (size_t i = 0; i < line->vertical_count; i++) {
        const dm_vertical *v = &line->vertical[i];
        FUZZ_CHECK(isfinite(v->s0 + v->height + v->grade + v->rate));
        FUZZ_CHECK(v->length >= 0.0);
    }
    for (size_t i = 1; i < l->point_count; i++)
        FUZZ_CHECK(l->points[i].station > l->points[i - 1].station);
    FUZZ_CHECK((line->vertical_count > 0) == (l->point_count > 0));
    for (size_t i = 0; i < line->equation_count; i++) {
        const dm_station_equation *e = &line->equations[i];
        FUZZ_CHECK(e->s >= line->begin && e->s <= line->end);
        FUZZ_CHECK(isfinite(e->back) && isfinite(e->ahead));
        FUZZ_CHECK(i == 0 || e->s > e[-1].s);
    }
    FUZZ_CHECK(strlen(l->sha256) == 64 && l->place.line > 0);
}

static void promise_element(const dm_landxml *l, dm_arena *arena)
{
    dm_buf text = {0};
    dm_xml *x = NULL;
    dm_diag diag = {0};
    const char *id = dm_alignment_id(arena, l->name);

    FUZZ_CHECK(id);
    dm_buf_puts(&text, "<bridge version='1' id='B' name='B' "
                       "uid='5d6cf9e4-3f0b-4f8a-9a53-0d5b7a1c1005'>\n");
    dm_alignment_xml(id, &l->line, l->points, l->point_count, &text);
    dm_buf_puts(&text,
                "<duct-type id='D' od='110 mm' wall='7 mm' material='hdpe'/>"
                "<tendon id='T'><anchorage id='A' x='0 m' y='0 m' z='0 m'/>"
                "<anchorage id='E' x='9 m' y='0 m' z='0 m'/>"
                "<duct-length duct-type='D'/></tendon></bridge>");
    FUZZ_CHECK(!text.failed);
    dm_status status = dm_xml_read_text("b.xml", &text, "bridge", dm_xsd_bridge,
                                        dm_xsd_bridge_size, arena, &diag, &x);
    if (status != DM_OK)
        fprintf(stderr, "%s\n", text.data);
    FUZZ_CHECK(status == DM_OK);
    dm_xml_free(x);
    dm_buf_free(&text);
}

static void promise(const dm_buf *text, const dm_map_conversion *map)
{
    dm_arena *arena = dm_arena_new();
    dm_diag diag = {0};
    dm_landxml *l = NULL;

    FUZZ_CHECK(arena);
    dm_status status = dm_landxml_read_text("/nowhere/a.xml", text, NULL, map,
                                            arena, &diag, &l);
    FUZZ_CHECK((status == DM_OK) == (l != NULL));
    FUZZ_CHECK((status == DM_OK) == (diag.errors == 0));
    if (l) {
        promise_plan(&l->line);
        promise_rest(l);
        if (!map)
            promise_element(l, arena);
    }
    dm_arena_free(arena);
}

/* Nothing mostly; else up to 0.5 mm, 50 mm or 5 m. */
static double shift(void *user)
{
    static const double reach[] = {5e-4, 5e-2, 5.0};
    source *s = user;
    unsigned kind = take(s);
    return kind < 200 ? 0.0 : take_number(s, -1.0, 1.0) * reach[kind % 3];
}

static dm_horizontal some_element(source *s)
{
    unsigned kind = take(s);
    double k = 1.0 / take_number(s, kind & 64 ? 1.0 : 50.0, 3000.0);
    dm_horizontal e = {.length = take_number(s, kind & 32 ? 0.0 : 5.0, 150.0)};
    if (kind & 128)
        k = -k;
    e.k0 = kind & 1 ? k : 0.0;
    e.k1 = kind & 2 ? k : kind & 4 ? 0.5 * k : 0.0;
    return e;
}

static void numbers(source *s, dm_buf *out)
{
    static const make_unit units[] = {
        {"meter", 1.0}, {"foot", 0.3048}, {"USSurveyFoot", 1200.0 / 3937.0}};
    dm_horizontal e[MOST_ELEMENTS_HERE];
    unsigned head = take(s);
    double reach = head & 4 ? 1e7 : 1e3;
    dm_alignment line = {.horizontal = e,
                         .horizontal_count =
                             1 + (head >> 4) % MOST_ELEMENTS_HERE,
                         .begin = take_number(s, -1e4, 1e4)};
    for (size_t i = 0; i < line.horizontal_count; i++) {
        e[i] = some_element(s);
        e[i].length = fmax(e[i].length, 1e-4);
    }
    double x = take_number(s, -reach, reach), y = take_number(s, -reach, reach);
    line.end = dm_alignment_chain(e, line.horizontal_count, line.begin, x, y,
                                  take_number(s, -3.2, 3.2));
    make_landxml(out, &line, &units[(head & 3) % 3], shift, s);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static const dm_map_conversion map = {.given = true,
                                          .eastings = 500.0,
                                          .northings = -20.0,
                                          .height = 3.0,
                                          .x_axis_abscissa = 0.6,
                                          .x_axis_ordinate = 0.8,
                                          .scale = 0.9996};
    source s = {data, size};
    dm_buf text = {0};

    if (size > 0 && data[0] != '<')
        numbers(&s, &text);
    else
        text = fuzz_text(data, size);
    FUZZ_CHECK(!text.failed);
    promise(&text, NULL);
    promise(&text, &map);
    dm_buf_free(&text);
    return 0;
}
