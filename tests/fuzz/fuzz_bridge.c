/* SPDX-License-Identifier: MIT
 * Bytes as the numbers of a bridge file that its schema accepts: what mutated
 * XML seldom reaches, the geometry behind it. */
#include "model_promise.h"

#define MOST_DEVIATORS 6

/* A whole number of millimetres in [lo, hi], as a length. */
static void put_length(dm_buf *out, source *s, const char *name, int lo, int hi)
{
    unsigned v = take(s) << 8;
    v |= take(s);
    long mm = lo + (long)((double)(hi - lo) * v / 65535.0);
    dm_buf_printf(out, " %s=\"%ld mm\"", name, mm);
}

static void put_normal(dm_buf *out, source *s)
{
    if (take(s) % 4 != 0)
        return;
    dm_buf_printf(out, " normal=\"%d %d %d\"", (int)take(s) - 128,
                  (int)take(s) - 128, (int)take(s) - 128);
}

static void put_face(dm_buf *out, source *s, size_t support, const char *side)
{
    dm_buf_printf(out, "<face id=\"F%zu%s\" side=\"%s\"", support, side, side);
    put_length(out, s, "offset", 0, 2000);
    put_normal(out, s);
    dm_buf_puts(out, "/>\n");
}

static void put_readable(dm_buf *out, source *s, const char *side)
{
    dm_buf_printf(out, "<readable side=\"%s\"", side);
    put_length(out, s, "offset", -500, 1500);
    dm_buf_puts(out, "/>\n");
}

/* A point that moves on from the last one, mostly along the bridge. */
static void put_point(dm_buf *out, source *s, double at[3])
{
    static const char *const names[] = {"x", "y", "z"};
    unsigned kind = take(s) % 8;
    double reach = kind == 0 ? 0.02 : kind == 1 ? 200.0 : 20.0;

    for (int i = 0; i < 3; i++) {
        double v = (take(s) << 8 | take(s)) / 65535.0;
        at[i] += i == 0 ? reach * v : 0.1 * reach * (v - 0.5);
        if (kind == 2)
            at[i] -= 0.6 * reach * v;
        dm_buf_printf(out, " %s=\"", names[i]);
        dm_buf_fixed(out, at[i], 4);
        dm_buf_puts(out, " m\"");
    }
}

/* The same by station, offset and Z or height above the profile. */
static void put_station(dm_buf *out, source *s, double *station)
{
    *station += 20.0 * (take(s) << 8 | take(s)) / 65535.0;
    dm_buf_puts(out, " station=\"");
    dm_buf_fixed(out, *station, 4);
    dm_buf_puts(out, " m\"");
    put_length(out, s, "offset", -3000, 3000);
    put_length(out, s, take(s) % 4 ? "above" : "height", -2000, 2000);
}

static void put_element(dm_buf *out, source *s)
{
    static const char *const names[] = {"line", "arc", "clothoid"};
    unsigned kind = take(s), at = kind % 3;

    dm_buf_printf(out, "<%s", names[at]);
    put_length(out, s, "length", 1, 60000);
    if (at > 0)
        dm_buf_printf(out, " turn=\"%s\"", kind & 64 ? "left" : "right");
    if (at == 1)
        put_length(out, s, "radius", 5000, 400000);
    if (at == 2 && kind & 16)
        put_length(out, s, "radius-start", 5000, 400000);
    if (at == 2 && (kind & 48) != 16)
        put_length(out, s, "radius-end", 5000, 400000);
    dm_buf_puts(out, "/>\n");
}

static void put_alignment(dm_buf *out, source *s)
{
    unsigned flags = take(s);

    dm_buf_printf(out,
                  "<alignment id=\"AL\"><horizontal><start station=\"0 m\" "
                  "x=\"0 m\" y=\"0 m\" bearing=\"%u deg\"/>\n",
                  take(s));
    for (unsigned i = 0; i <= flags % 4; i++)
        put_element(out, s);
    dm_buf_puts(out, "</horizontal>");
    if (flags & 16) {
        dm_buf_puts(out, "<vertical>\n<pvi station=\"0 m\" height=\"2 m\"/>\n"
                         "<pvi height=\"3 m\"");
        put_length(out, s, "station", 0, 60000);
        if (flags & 32)
            put_length(out, s, "curve-length", 0, 30000);
        dm_buf_puts(out, "/>\n<pvi station=\"60 m\" height=\"1 m\"/>\n"
                         "</vertical>");
    }
    if (flags & 64) {
        dm_buf_puts(out, "<station-equation ahead=\"500 m\"");
        put_length(out, s, "back", 0, 50000);
        dm_buf_puts(out, "/>\n");
    }
    dm_buf_puts(out, "</alignment>\n");
}

static void put_support(dm_buf *out, source *s, size_t i, size_t last,
                        bool aligned, double at[3])
{
    bool anchorage = i == 0 || i == last;
    unsigned flags = take(s);

    dm_buf_printf(out, "<%s id=\"P%zu\"", anchorage ? "anchorage" : "deviator",
                  i);
    if (aligned && flags & 64)
        put_station(out, s, &at[0]);
    else
        put_point(out, s, at);
    if (!anchorage)
        dm_buf_printf(out, " type=\"V%d\"", (int)(flags >> 4 & 1));
    if (!anchorage && flags & 32)
        put_length(out, s, "radius", 100, 30000);
    dm_buf_puts(out, ">\n");
    if (flags & 1 && i > 0)
        put_face(out, s, i, "back");
    if (flags & 2 && i < last)
        put_face(out, s, i, "ahead");
    if ((flags & 5) == 5 && i > 0)
        put_readable(out, s, "back");
    if ((flags & 10) == 10 && i < last)
        put_readable(out, s, "ahead");
    dm_buf_printf(out, "</%s>\n", anchorage ? "anchorage" : "deviator");
}

static void put_along(dm_buf *out, source *s, size_t last)
{
    unsigned flags = take(s);

    dm_buf_puts(out, "<duct-length duct-type=\"D\"");
    if (flags & 1) {
        put_length(out, s, "to", 0, 10000);
        dm_buf_puts(out, "/><duct-length duct-type=\"E\"");
    }
    dm_buf_puts(out, "/>\n");
    for (unsigned i = 0; i < (flags >> 1 & 3); i++) {
        unsigned how = take(s);
        dm_buf_printf(out, "<fixture id=\"X%u\" kind=\"collar\"", i);
        put_length(out, s, "from", 0, 3000);
        put_length(out, s, "to", 2000, 9000);
        if (how & 1)
            dm_buf_printf(out, " ref=\"F%zu%s\"", how / 4 % (last + 1),
                          how & 2 ? "back" : "ahead");
        if (how & 128)
            dm_buf_printf(out, " clock-from=\"%u deg\" clock-to=\"%u:00\"",
                          take(s), take(s) % 13);
        dm_buf_puts(out, "/>\n");
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    source s = {data, size};
    dm_buf text = {0};
    double at[3] = {0.0, 0.0, 0.0};
    size_t last = 1 + take(&s) % (MOST_DEVIATORS + 1);

    dm_buf_puts(&text, "<bridge version=\"1\" id=\"B\" name=\"B\" "
                       "uid=\"5d6cf9e4-3f0b-4f8a-9a53-0d5b7a1c1005\">\n");
    unsigned way = take(&s);
    if (way % 4 == 1)
        put_alignment(&text, &s);
    if (way % 4 == 0)
        dm_buf_printf(&text, "<direction bearing=\"%u deg\"/>\n", take(&s));
    dm_buf_puts(
        &text,
        "<duct-type id=\"D\" od=\"110 mm\" wall=\"7 mm\" material=\"hdpe\"/>\n"
        "<duct-type id=\"E\" od=\"90 mm\" wall=\"5 mm\" material=\"steel\"/>\n"
        "<deviator-type id=\"V0\" kind=\"pipe\" radius=\"3 m\"/>\n"
        "<deviator-type id=\"V1\" kind=\"flared\" radius=\"4 m\" "
        "radius-min=\"2.5 m\" angle-max=\"60 deg\"/>\n<tendon id=\"T\"");
    if (take(&s) % 4 == 0)
        dm_buf_printf(&text, " clock-datum=\"%d %d 0\"", (int)take(&s) - 128,
                      (int)take(&s) - 128);
    unsigned heavy = take(&s);
    if (heavy % 4 == 0)
        dm_buf_printf(&text, " weight=\"%u.5 kg/m\" force=\"%u kN\"", heavy / 4,
                      1 + 8 * take(&s));
    dm_buf_puts(&text, ">\n");
    for (size_t i = 0; i <= last; i++)
        put_support(&text, &s, i, last, way % 4 == 1, at);
    put_along(&text, &s, last);
    dm_buf_puts(&text, "</tendon></bridge>\n");
    FUZZ_CHECK(!text.failed);
    if (getenv("FUZZ_SHOW")) {
        fwrite(text.data, 1, text.length, stdout);
        fflush(stdout);
    }
    promise_model(&text);
    dm_buf_free(&text);
    return 0;
}
