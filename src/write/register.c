/* SPDX-License-Identifier: MIT
 * register.xml: the register of indications as it stands after this survey,
 * for the next job to name (geometry/register.xsd). Lengths to 1 um; a number
 * read from an earlier register is written again as it was. */
#include <math.h>

#include "base/buf.h"
#include "base/diag.h"
#include "ductmark/ductmark.h"
#include "scene/properties.h"
#include "write/words.h"
#include "write/writers.h"

#define DEG(rad) ((rad) * (180.0 / 3.14159265358979323846))

static void put_text(dm_buf *b, const char *name, const char *text)
{
    if (text == NULL || text[0] == '\0')
        return;
    dm_buf_printf(b, " %s=\"", name);
    dm_buf_xml(b, text);
    dm_buf_putc(b, '"');
}

static void put_length(dm_buf *b, const char *name, double metres)
{
    if (!isfinite(metres))
        return;
    dm_buf_printf(b, " %s=\"", name);
    dm_buf_fixed(b, metres, 6);
    dm_buf_puts(b, " m\"");
}

/* Degrees from 0 to below 360, also after rounding. */
static void put_clock(dm_buf *b, const char *name, double rad)
{
    double deg = floor(DEG(rad) * 1e4 + 0.5) / 1e4;

    deg -= 360.0 * floor(deg / 360.0);
    if (!isfinite(deg))
        return;
    dm_buf_printf(b, " %s=\"", name);
    dm_buf_fixed(b, deg, 4);
    dm_buf_puts(b, " deg\"");
}

static void put_volume(dm_buf *b, const char *name, double v)
{
    if (!isfinite(v))
        return;
    dm_buf_printf(b, " %s=\"", name);
    dm_buf_fixed(b, 1e3 * v, 6);
    dm_buf_puts(b, " L\"");
}

static void put_pressure(dm_buf *b, const char *name, double p)
{
    if (!isfinite(p))
        return;
    dm_buf_printf(b, " %s=\"", name);
    dm_buf_fixed(b, 1e-3 * p, 6);
    dm_buf_puts(b, " kPa\"");
}

static void put_pressures(dm_buf *b, const dm_pressures *p, const char *indent)
{
    if (!isfinite(p->vessel))
        return;
    dm_buf_printf(b, "%s  <pressure-volume", indent);
    put_volume(b, "vessel", p->vessel);
    put_volume(b, "vessel-u", p->u_vessel);
    put_pressure(b, "pressure-before", p->before);
    put_pressure(b, "pressure-after", p->after);
    put_pressure(b, "pressure-air", p->air);
    put_pressure(b, "pressure-u", p->u_pressure);
    put_volume(b, "hoses", p->hoses);
    put_volume(b, "hoses-u", p->u_hoses);
    dm_buf_puts(b, "/>\n");
}

static void put_opening(dm_buf *b, const dm_opening *o, const char *indent,
                        bool name_tendon)
{
    dm_buf_printf(b, "%s<opened", indent);
    put_text(b, "id", o->id);
    put_text(b, "survey", o->survey);
    if (name_tendon)
        put_text(b, "tendon", o->tendon);
    put_length(b, "at", o->t);
    put_length(b, "u", o->u);
    put_clock(b, "clock", o->clock);
    put_text(b, "date", o->date);
    put_text(b, "found", dm_finding_text(o->found));
    put_length(b, "depth", o->depth);
    put_text(b, "water", o->water ? "true" : NULL);
    put_text(b, "strand", o->strand ? "true" : NULL);
    put_volume(b, "volume", o->pressures.volume);
    put_text(b, "tap", o->tap);
    put_text(b, "photo", o->photo);
    if (!isfinite(o->pressures.vessel) && o->note == NULL) {
        dm_buf_puts(b, "/>\n");
        return;
    }
    dm_buf_puts(b, ">\n");
    put_pressures(b, &o->pressures, indent);
    if (o->note != NULL) {
        dm_buf_printf(b, "%s  <note>", indent);
        dm_buf_xml(b, o->note);
        dm_buf_puts(b, "</note>\n");
    }
    dm_buf_printf(b, "%s</opened>\n", indent);
}

static void put_entry(dm_buf *b, const dm_entry *e)
{
    dm_buf_puts(b, "  <entry");
    put_text(b, "uid", e->uid);
    put_text(b, "key", e->key);
    put_text(b, "tendon", e->tendon);
    put_text(b, "kind", dm_kind_text(e->kind));
    put_length(b, "from", e->from);
    put_length(b, "to", e->to);
    put_length(b, "u-from", e->u_from);
    put_length(b, "u-to", e->u_to);
    put_clock(b, "clock", e->clock);
    put_text(b, "first-survey", e->first_survey);
    put_text(b, "last-survey", e->last_survey);
    put_text(b, "state", dm_state_text(e->state));
    put_text(b, "state-date", e->state_date);
    dm_buf_puts(b, e->opening_count > 0 ? ">\n" : "/>\n");
    for (size_t i = 0; i < e->opening_count; i++)
        put_opening(b, &e->openings[i], "    ", false);
    if (e->opening_count > 0)
        dm_buf_puts(b, "  </entry>\n");
}

/* Comments: what the job accepts is no property of an entry, and the next
 * survey need not accept it. */
static void put_accepted(dm_buf *b, const dm_delivery *d)
{
    for (size_t i = 0; d->results != NULL && i < d->model->tendon_count; i++) {
        const dm_stations *s = d->results[i].stations;

        if (s == NULL || s->accepted == NULL)
            continue;
        dm_buf_puts(b, "  <!-- accepted on tendon ");
        dm_words_clean(b, d->model->tendons[i].id);
        dm_buf_puts(b, ": ");
        dm_words_clean(b, s->accepted);
        dm_buf_puts(b, " -->\n");
    }
}

dm_status dm_write_register(const dm_delivery *delivery, dm_outset *out,
                            dm_diag *diag)
{
    dm_place place = {"register.xml", 0};
    const dm_register *r = delivery->reg;
    dm_buf b = {0};
    dm_status status;
    dm_out *file;
    bool failed;
    size_t i;

    if (r == NULL)
        return DM_OK; /* nothing was looked for */
    status = dm_outset_open(out, place.file, &file);
    if (status != DM_OK)
        return status;
    dm_buf_puts(&b, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
                    "<register version=\"1\"");
    put_text(&b, "bridge", delivery->model->uid);
    dm_buf_printf(&b, " tool=\"ductmark %s\">\n", dm_version());
    put_accepted(&b, delivery);
    for (i = 0; i < r->count; i++) {
        put_entry(&b, &r->entries[i]);
        if (b.failed)
            break;
        dm_out_put(file, b.data, b.length);
        dm_buf_clear(&b);
    }
    for (i = 0; i < r->opening_count; i++)
        put_opening(&b, &r->openings[i], "  ", true);
    dm_buf_puts(&b, "</register>\n");
    failed = b.failed;
    if (!failed)
        dm_out_put(file, b.data, b.length);
    dm_buf_free(&b);
    return failed ? dm_error(diag, DM_NOMEM, place, NULL, "out of memory")
                  : DM_OK;
}
