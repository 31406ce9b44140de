/* SPDX-License-Identifier: MIT
 * LandXML files as texts, read from memory, and what was said of them. */
#ifndef DM_TEST_LANDXML_TEXT_H
#define DM_TEST_LANDXML_TEXT_H

#include <stdlib.h>

#include "base/buf.h"
#include "model/landxml.h"
#include "near.h"
#include "said.h"

typedef struct {
    dm_arena *arena;
    dm_landxml *line;
    said heard;
    dm_status status;
} opened;

static inline opened *open_text(const char *text, const char *name,
                                const dm_map_conversion *map)
{
    opened *o = calloc(1, sizeof *o);
    dm_buf buf = {0};

    assert_non_null(o);
    said_init(&o->heard);
    o->arena = dm_arena_new();
    dm_buf_puts(&buf, text);
    o->status = dm_landxml_read_text("a.xml", &buf, name, map, o->arena,
                                     &o->heard.diag, &o->line);
    assert_true((o->status == DM_OK) == (o->line != NULL));
    assert_true((o->status == DM_OK) == (o->heard.diag.errors == 0));
    dm_buf_free(&buf);
    return o;
}

static inline void close_text(opened *o)
{
    dm_arena_free(o->arena);
    free(o);
}

#define SPACE " xmlns='http://www.landxml.org/schema/LandXML-1.2'"
#define METRIC "<Units><Metric linearUnit='meter'/></Units>"

/* Line 1 up to CoordGeom's tag; the elements begin on line 2. */
#define HEAD(units, alignment)                                                 \
    "<LandXML" SPACE ">" units "<Alignments><Alignment name='A' " alignment    \
    "><CoordGeom>\n"
#define TAIL(rest) "</CoordGeom>\n" rest "</Alignment></Alignments></LandXML>"
#define PLAN(elements) HEAD(METRIC, "staStart='0'") elements TAIL("")
#define LINE "<Line><Start>0 0</Start><End>100 0</End></Line>\n"
#define WITH(rest) HEAD(METRIC, "staStart='0'") LINE TAIL(rest)

/* Read without a word. */
static inline opened *open_good(const char *text)
{
    opened *o = open_text(text, NULL, NULL);
    assert_string_equal(o->heard.text, "");
    assert_int_equal(o->status, DM_OK);
    return o;
}

static inline void assert_said(const char *text, dm_status status,
                               const char *want)
{
    opened *o = open_text(text, NULL, NULL);
    assert_string_equal(o->heard.text, want);
    assert_int_equal(o->status, status);
    close_text(o);
}

/* The quarter circles of 100 m radius from the origin northwards. */
#define QUARTER(rot, north, east, more)                                        \
    "<Curve rot='" rot "' " more "><Start>0 0</Start><Center>0 " east          \
    "</Center><End>" north " " east "</End></Curve>\n"
#define PROFILE(points)                                                        \
    WITH("<Profile><ProfAlign>" points "</ProfAlign></Profile>")
#define ONE(name)                                                              \
    "<Alignment name='" name "' staStart='0'><CoordGeom>" LINE                 \
    "</CoordGeom></Alignment>"
#define FILE_OF(alignments) "<LandXML" SPACE ">" METRIC alignments "</LandXML>"

/* A clothoid of R 300 m and L 100 m from the origin northwards: its end, x
 * 99.7225792178275, y 5.5445423656288 by the Fresnel integrals of DLMF chapter
 * 7 (power series, 40 digits), and its PI. */
#define X "99.722579217827"
#define Y "5.544542365629"
#define PI_X "66.763927094915"

#endif
