/* SPDX-License-Identifier: MIT
 * Comment lines. Texts from files lose control characters, so that no line
 * can end early, and "--", which XML comments forbid. */
#include "write/words.h"

#include <string.h>

#include "base/num.h"
#include "ductmark/ductmark.h"

static void put_clean(dm_buf *out, const char *text)
{
    for (; *text != '\0'; text++) {
        unsigned char c = (unsigned char)*text;

        if (c >= 32 && c != 127 && c != '-')
            dm_buf_putc(out, *text);
        else
            dm_buf_putc(out, c == '-' && text[1] != '-' ? '-' : ' ');
    }
}

static void put_map(dm_buf *out, const dm_map_conversion *map,
                    const char *before, const char *after)
{
    const struct {
        const char *name;
        double value;
    } numbers[] = {{" eastings ", map->eastings},
                   {" northings ", map->northings},
                   {" height ", map->height},
                   {" x-axis ", map->x_axis_abscissa},
                   {" ", map->x_axis_ordinate},
                   {" scale ", map->scale},
                   {" grid factor ", dm_map_grid_factor(map)}};
    size_t i;

    dm_buf_printf(out, "%smap conversion from world:", before);
    for (i = 0; i < sizeof numbers / sizeof *numbers; i++) {
        dm_buf_puts(out, numbers[i].name);
        dm_buf_num(out, numbers[i].value);
    }
    dm_buf_puts(out, after);
}

void dm_words(const dm_delivery *delivery, const char *before,
              const char *after, dm_buf *out)
{
    const dm_scene *s = delivery->scene;
    const dm_model *m = delivery->model;
    size_t i;

    dm_buf_printf(out, "%sductmark %s%s", before, dm_version(), after);
    if (m != NULL) {
        dm_buf_printf(out, "%sbridge ", before);
        put_clean(out, m->name);
        dm_buf_puts(out, after);
    }
    dm_buf_printf(out, "%sorigin ", before);
    dm_buf_num(out, s->origin.x);
    dm_buf_putc(out, ' ');
    dm_buf_num(out, s->origin.y);
    dm_buf_putc(out, ' ');
    dm_buf_num(out, s->origin.z);
    dm_buf_printf(out, "%s%sworld = origin + coordinates%s", after, before,
                  after);
    if (m != NULL && m->epsg > 0)
        dm_buf_printf(out, "%sEPSG %d%s", before, m->epsg, after);
    if (m != NULL && m->vertical_epsg > 0)
        dm_buf_printf(out, "%svertical EPSG %d%s", before, m->vertical_epsg,
                      after);
    if (m != NULL && m->map.given)
        put_map(out, &m->map, before, after);
    dm_buf_printf(out, "%sunits m; x east, y north, z up%s", before, after);
    for (i = 0; i < s->legend_count; i++) {
        const uint8_t *c = s->legend[i].colour;

        dm_buf_printf(out, "%scolour %02x%02x%02x ", before, c[0], c[1], c[2]);
        put_clean(out, s->legend[i].meaning);
        dm_buf_puts(out, after);
    }
}

bool dm_words_short(const dm_delivery *delivery, char out[80])
{
    const double origin[3] = {delivery->scene->origin.x,
                              delivery->scene->origin.y,
                              delivery->scene->origin.z};
    dm_buf text = {0};
    bool failed;
    int i;

    memset(out, 0, 80);
    dm_buf_printf(&text, "ductmark %s origin", dm_version());
    for (i = 0; i < 3; i++) {
        dm_buf_putc(&text, ' ');
        dm_buf_num(&text, origin[i]);
    }
    dm_buf_puts(&text, " m z up");
    if (delivery->model != NULL && delivery->model->epsg > 0)
        dm_buf_printf(&text,
                      delivery->model->map.given ? " by map conversion EPSG %d"
                                                 : " EPSG %d",
                      delivery->model->epsg);
    failed = text.failed;
    if (!failed)
        memcpy(out, text.data, text.length < 79 ? text.length : 79);
    dm_buf_free(&text);
    return !failed;
}
