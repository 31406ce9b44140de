/* SPDX-License-Identifier: MIT
 * Comment lines. Texts from files lose control characters, so that no line
 * can end early, and "--", which XML comments forbid. */
#include "write/words.h"

#include <string.h>

#include "base/num.h"
#include "ductmark/ductmark.h"

void dm_words_clean(dm_buf *out, const char *text)
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

/* "coverage of tendon T1: 28.588123 m, tested 24.2 m, ..., inside support ...",
 * the states, then the reasons; to 1 um, so that they add up. */
static void put_sums(dm_buf *out, const double *sum, const double *why_sum)
{
    for (int i = 0; i < DM_COVER_COUNT; i++) {
        dm_buf_printf(out, ", %s ", dm_cover_text((dm_cover)i));
        dm_buf_fixed(out, sum[i], 6);
    }
    for (int i = DM_WHY_NONE + 1; i < DM_WHY_COUNT; i++)
        if (why_sum[i] > 0.0) {
            dm_buf_printf(out, ", why %s ", dm_why_text((dm_why)i));
            dm_buf_fixed(out, why_sum[i], 6);
        }
}

static void put_ledger(const dm_delivery *d, size_t tendon, const char *before,
                       const char *after, dm_buf *out)
{
    const dm_tendon *t = &d->model->tendons[tendon];
    const dm_result *r = d->results == NULL ? NULL : &d->results[tendon];
    double sum[DM_COVER_COUNT] = {[DM_COVER_NOT_TESTED] = t->line.length};
    double why_sum[DM_WHY_COUNT] = {[DM_WHY_NOT_WALKED] = t->line.length};
    const dm_indications *found = r == NULL ? NULL : r->indications;

    dm_buf_printf(out, "%scoverage of tendon ", before);
    dm_words_clean(out, t->id);
    dm_buf_puts(out, ": length ");
    dm_buf_fixed(out, t->line.length, 6);
    if (found == NULL)
        put_sums(out, sum, why_sum);
    else
        put_sums(out, found->cover_sum, found->why_sum);
    dm_buf_puts(out, after);
    if (r == NULL || r->stations == NULL || r->stations->accepted == NULL)
        return;
    dm_buf_printf(out, "%saccepted on tendon ", before);
    dm_words_clean(out, t->id);
    dm_buf_puts(out, ": ");
    dm_words_clean(out, r->stations->accepted);
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
        dm_words_clean(out, m->name);
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
        dm_words_clean(out, s->legend[i].meaning);
        dm_buf_puts(out, after);
    }
    for (i = 0; m != NULL && i < m->tendon_count; i++)
        put_ledger(delivery, i, before, after, out);
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
