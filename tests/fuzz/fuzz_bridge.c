/* SPDX-License-Identifier: MIT
 * Bytes as the numbers of a bridge file that its schema accepts: what mutated
 * XML seldom reaches, the geometry behind it. */
#include "model_promise.h"

#define MOST_DEVIATORS 6

typedef struct {
    const uint8_t *data;
    size_t left;
} source;

static unsigned take(source *s)
{
    if (s->left == 0)
        return 0;
    s->left--;
    return *s->data++;
}

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

static void put_support(dm_buf *out, source *s, size_t i, size_t last,
                        double at[3])
{
    bool anchorage = i == 0 || i == last;
    unsigned flags = take(s);

    dm_buf_printf(out, "<%s id=\"P%zu\"", anchorage ? "anchorage" : "deviator",
                  i);
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
    if (take(&s) % 4 == 0)
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
    dm_buf_puts(&text, ">\n");
    for (size_t i = 0; i <= last; i++)
        put_support(&text, &s, i, last, at);
    put_along(&text, &s, last);
    dm_buf_puts(&text, "</tendon></bridge>\n");
    FUZZ_CHECK(!text.failed);
    promise_model(&text);
    if (getenv("FUZZ_SHOW"))
        fwrite(text.data, 1, text.length, stdout);
    dm_buf_free(&text);
    return 0;
}
