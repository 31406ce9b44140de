/* SPDX-License-Identifier: MIT
 * Bytes as a document of whichever schema they name first; every attribute of
 * an accepted one is read as every type there is. */
#include <math.h>

#include "fuzz.h"
#include "model/schemas.h"
#include "model/xml.h"

typedef struct {
    const char *root;
    const unsigned char *xsd;
    const size_t *size;
} schema;

static const schema schemas[] = {
    {"bridge", dm_xsd_bridge, &dm_xsd_bridge_size},
    {"catalogue", dm_xsd_catalogue, &dm_xsd_catalogue_size},
    {"criteria", dm_xsd_criteria, &dm_xsd_criteria_size},
    {"fieldbook", dm_xsd_fieldbook, &dm_xsd_fieldbook_size},
    {"job", dm_xsd_job, &dm_xsd_job_size},
    {"register", dm_xsd_register, &dm_xsd_register_size}};

static bool starts(const uint8_t *at, size_t left, const char *name)
{
    size_t n = strlen(name);
    return left > n && *at == '<' && memcmp(at + 1, name, n) == 0;
}

static const schema *named(const uint8_t *data, size_t size)
{
    for (size_t i = 0; i < size; i++)
        for (size_t k = 0; k < sizeof schemas / sizeof *schemas; k++)
            if (starts(data + i, size - i, schemas[k].root))
                return &schemas[k];
    return &schemas[0];
}

static void read_attribute(dm_xml *x, const dm_xml_node *n, const char *name)
{
    static const char *const words[] = {"ahead", "back", NULL};
    double v[8];

    v[0] = dm_xml_real(x, n, name, -1e12, 1e12, 0.0);
    v[1] = dm_xml_length(x, n, name, -1e9, 1e9, 0.0);
    v[2] = dm_xml_angle(x, n, name, -10.0, 10.0, 0.0);
    v[3] = dm_xml_clock(x, n, name, 0.0);
    v[4] = dm_xml_area(x, n, name, 0.0, 1e6, 0.0);
    v[5] = dm_xml_volume(x, n, name, 0.0, 1e6, 0.0);
    v[6] = dm_xml_temperature(x, n, name, -300.0, 300.0, 0.0);
    v[7] = dm_xml_int(x, n, name, -100000, 100000, 0);
    for (int i = 0; i < 8; i++)
        FUZZ_CHECK(isfinite(v[i]));
    dm_xml_bool(x, n, name, false);
    FUZZ_CHECK(dm_xml_word(x, n, name, words, 0) < 2);
}

static void walk(dm_xml *x, const dm_xml_node *n)
{
    static const char *const names[] = {
        "x",     "z",    "offset", "from",        "clock", "value",
        "u",     "area", "epsg",   "temperature", "side",  "volume-min",
        "scale", "tap",  "normal", "length"};

    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        read_attribute(x, n, names[i]);
    FUZZ_CHECK(dm_xml_place(x, n).line > 0);
    for (const dm_xml_node *c = dm_xml_child(n, NULL); c;
         c = dm_xml_next(c, NULL))
        walk(x, c);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    const schema *s = named(data, size);
    dm_buf text = fuzz_text(data, size);
    dm_arena *arena = dm_arena_new();
    dm_diag diag = {0};
    dm_xml *x = NULL;

    FUZZ_CHECK(arena);
    dm_status status = dm_xml_read_text("/nowhere/file.xml", &text, s->root,
                                        s->xsd, *s->size, arena, &diag, &x);
    FUZZ_CHECK((status == DM_OK) == (x != NULL));
    FUZZ_CHECK((status == DM_OK) == (diag.errors == 0));
    if (x)
        walk(x, dm_xml_root(x));
    dm_xml_free(x);
    dm_arena_free(arena);
    dm_buf_free(&text);
    return 0;
}
