/* SPDX-License-Identifier: MIT
 * register.xml: the register of indications as it stands after this survey,
 * for the next job to name (geometry/register.xsd). Lengths carry the shortest
 * digits that read back as the same number of metres, so that nothing moves
 * from survey to survey. */
#include <math.h>
#include <string.h>

#include "base/buf.h"
#include "base/diag.h"
#include "base/num.h"
#include "ductmark/ductmark.h"
#include "scene/properties.h"
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

/* The schema wants plain decimals. A length to the nanometre is exact enough
 * where the shortest text would need an exponent. */
static void put_quantity(dm_buf *b, const char *name, double value,
                         const char *unit)
{
    char text[DM_NUM_SIZE];

    if (!isfinite(value))
        return;
    dm_num_shortest(text, value);
    if (strchr(text, 'e') != NULL)
        dm_num_fixed(text, value, 9);
    dm_buf_printf(b, " %s=\"%s %s\"", name, text, unit);
}

static void put_entry(dm_buf *b, const dm_entry *e)
{
    dm_buf_puts(b, "  <entry");
    put_text(b, "uid", e->uid);
    put_text(b, "key", e->key);
    put_text(b, "tendon", e->tendon);
    put_text(b, "kind", dm_kind_text(e->kind));
    put_quantity(b, "from", e->from, "m");
    put_quantity(b, "to", e->to, "m");
    put_quantity(b, "u-from", e->u_from, "m");
    put_quantity(b, "u-to", e->u_to, "m");
    put_quantity(b, "clock", DEG(e->clock), "deg");
    put_text(b, "first-survey", e->first_survey);
    put_text(b, "last-survey", e->last_survey);
    put_text(b, "state", dm_state_text(e->state));
    dm_buf_puts(b, "/>\n");
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
    for (i = 0; i < r->count; i++) {
        put_entry(&b, &r->entries[i]);
        if (b.failed)
            break;
        dm_out_put(file, b.data, b.length);
        dm_buf_clear(&b);
    }
    dm_buf_puts(&b, "</register>\n");
    failed = b.failed;
    if (!failed)
        dm_out_put(file, b.data, b.length);
    dm_buf_free(&b);
    return failed ? dm_error(diag, DM_NOMEM, place, NULL, "out of memory")
                  : DM_OK;
}
