/* SPDX-License-Identifier: MIT
 * Layouts as tables of at most 80 columns, as long as ids are short. Only
 * formats: every number is in the layout. */
#include "cli/layout_text.h"

#include <math.h>
#include <stdio.h>

#include "base/num.h"
#include "cli/table.h"
#include "scene/properties.h"

#define DEG(rad) ((rad) * (180.0 / 3.14159265358979323846))

/* A table below its tendon's title. */
static void print_below(table *t, dm_buf *out)
{
    dm_buf text = {0};
    table_print(t, &text);
    for (size_t i = 0; i < text.length; i++) {
        if (i == 0 || text.data[i - 1] == '\n')
            dm_buf_puts(out, "  ");
        dm_buf_putc(out, text.data[i]);
    }
    dm_buf_putc(out, '\n');
    out->failed = out->failed || text.failed;
    dm_buf_free(&text);
}

static const char *unit(dm_units units)
{
    return units == DM_UNITS_US ? "ft" : "m";
}

/* Decimal feet, as drawings give stations and heights: what is printed here is
 * to be held against drawings, not against a tape. */
static void length_cell(table *t, double metres, dm_units units)
{
    table_number(t, units == DM_UNITS_US ? metres / 0.3048 : metres, 3);
}

static void overview(const dm_model *m, const dm_layout *layouts,
                     const size_t *runs, dm_units units, dm_buf *out)
{
    table t;
    char head[200];
    snprintf(head, sizeof head,
             "tendon|>length, %s|>free|>readable|>deviators|>faces|>fixtures%s",
             unit(units), runs ? "|>runs" : "");
    table_init(&t, head);
    for (size_t i = 0; i < m->tendon_count; i++) {
        const dm_tendon *n = &m->tendons[i];
        table_text(&t, n->id);
        length_cell(&t, layouts[i].length, units);
        length_cell(&t, layouts[i].free, units);
        length_cell(&t, layouts[i].readable, units);
        table_count(&t, layouts[i].deviator_count);
        table_count(&t, n->face_count);
        table_count(&t, n->fixture_count);
        if (runs)
            table_count(&t, runs[i]);
    }
    table_print(&t, out);
    dm_buf_putc(out, '\n');
}

static void number(dm_buf *out, const char *before, double value, int decimals)
{
    dm_buf_puts(out, before);
    dm_buf_fixed(out, value, decimals);
}

static void section(const dm_section *s, dm_buf *out)
{
    if (!isnan(s->area_ratio)) {
        number(out, "; duct area ", s->area_ratio, 2);
        dm_buf_puts(out, " times strand area");
    }
    number(out, "\n  bore ", 2000.0 * s->bore_radius, 1);
    number(out, " mm, ", 1e6 * s->bore_area, 0);
    dm_buf_puts(out, " mm2");
    if (!isnan(s->steel_area)) {
        number(out, "; steel ", 1e6 * s->steel_area, 0);
        number(out, " mm2; net of it ", s->net_litres_per_m, 2);
        dm_buf_puts(out, " L/m");
    }
    if (!isnan(s->bundle_radius)) {
        number(out, "\n  bundle of radius ", 1000.0 * s->bundle_radius, 1);
        number(out, " mm (packing ", DM_PACKING, 2);
        number(out, "), its middle up to ", fmax(0.0, 1000.0 * s->eccentricity),
               1);
        dm_buf_puts(out, " mm off centre");
    }
}

/* Which duct, how many strands, whether they fit. */
static void title(const dm_model *m, const dm_tendon *n, const dm_layout *l,
                  dm_buf *out)
{
    dm_buf_printf(out, "tendon %s", n->id);
    if (n->where[0])
        dm_buf_printf(out, ", %s", n->where);
    dm_buf_puts(out, "\n  duct ");
    dm_buf_puts(out, m->duct_types[l->duct_type].id);
    if (n->strands > 0)
        dm_buf_printf(out, ", %d strands", n->strands);
    if (n->strand_type != DM_NONE)
        dm_buf_printf(out, " %s", m->strand_types[n->strand_type].id);
    section(&l->section, out);
    dm_buf_puts(out, "\n\n");
}

static void degrees_cell(table *t, double rad)
{
    char number[DM_NUM_SIZE], cell[DM_NUM_SIZE + 4];
    dm_num_fixed(number, DEG(rad), 2);
    snprintf(cell, sizeof cell, "%s°", number);
    table_text(t, cell);
}

/* "12:00 (0.0°)": clock time and degrees. */
static void plane_cell(table *t, double plane)
{
    char clock[8], degrees[DM_NUM_SIZE], cell[DM_NUM_SIZE + 16];
    if (isnan(plane)) {
        table_text(t, NULL);
        return;
    }
    dm_num_fixed(degrees, DEG(plane), 1);
    snprintf(cell, sizeof cell, "%5s (%s°)", dm_clock_text(plane, clock),
             degrees);
    table_text(t, cell);
}

/* The station as drawings show it, with the station equations. */
static void place_cells(table *t, const dm_model *m,
                        const dm_bridge_place *place, dm_units units)
{
    if (!m->alignment)
        return;
    length_cell(t, place->shown, units);
    length_cell(t, place->offset, units);
}

static void deviators(const dm_model *m, const dm_tendon *n, const dm_layout *l,
                      dm_units units, dm_buf *out)
{
    table t;
    char head[200];
    if (l->deviator_count == 0)
        return;
    snprintf(head, sizeof head,
             "deviator|>station, %s%s|>deflection|>plane|>radius", unit(units),
             m->alignment ? "|>on bridge|>offset" : "");
    table_init(&t, head);
    for (size_t i = 0; i < l->deviator_count; i++) {
        const dm_layout_deviator *d = &l->deviators[i];
        table_text(&t, n->supports[d->support].id);
        length_cell(&t, d->t, units);
        place_cells(&t, m, &d->place, units);
        degrees_cell(&t, d->deflection);
        plane_cell(&t, d->plane);
        length_cell(&t, d->radius, units);
    }
    print_below(&t, out);
}

static void free_lengths(const dm_tendon *n, const dm_layout *l, dm_units units,
                         dm_buf *out)
{
    table t;
    char head[200], name[200];
    snprintf(head, sizeof head, "free length|>from, %s|>to|>free|>readable",
             unit(units));
    table_init(&t, head);
    for (size_t i = 0; i < l->free_count; i++) {
        snprintf(name, sizeof name, "%s - %s", n->supports[i].id,
                 n->supports[i + 1].id);
        table_text(&t, name);
        length_cell(&t, l->free_lengths[i].from, units);
        length_cell(&t, l->free_lengths[i].to, units);
        length_cell(&t, l->free_lengths[i].free, units);
        length_cell(&t, l->free_lengths[i].readable, units);
    }
    print_below(&t, out);
}

/* "D1", "D1 - D2"; "-" in a free length. */
static void at_cell(table *t, const dm_tendon *n, const dm_layout_level *v)
{
    dm_buf text = {0};
    size_t a = v->support_from, b = v->support_to;
    dm_buf_puts(&text, a == DM_NONE ? "-" : n->supports[a].id);
    if (b != a)
        dm_buf_printf(&text, " - %s", b == DM_NONE ? "" : n->supports[b].id);
    table_text(t, text.failed ? NULL : text.data);
    dm_buf_free(&text);
}

static void levels(const dm_model *m, const dm_tendon *n, const dm_layout *l,
                   dm_units units, dm_buf *out)
{
    table t;
    char head[200];
    snprintf(head, sizeof head, "level|at|>from, %s|>to%s|>Z", unit(units),
             m->alignment ? "|>on bridge|>offset" : "");
    table_init(&t, head);
    for (size_t i = 0; i < l->level_count; i++) {
        const dm_layout_level *v = &l->levels[i];
        table_text(&t, dm_level_text(v->kind));
        at_cell(&t, n, v);
        length_cell(&t, v->from, units);
        length_cell(&t, v->to, units);
        place_cells(&t, m, &v->place, units);
        length_cell(&t, v->z, units);
    }
    print_below(&t, out);
}

void layout_text(const dm_model *model, const dm_layout *layouts,
                 const size_t *runs, dm_units units, dm_buf *out)
{
    overview(model, layouts, runs, units, out);
    for (size_t i = 0; i < model->tendon_count; i++) {
        const dm_tendon *n = &model->tendons[i];
        title(model, n, &layouts[i], out);
        deviators(model, n, &layouts[i], units, out);
        free_lengths(n, &layouts[i], units, out);
        levels(model, n, &layouts[i], units, out);
    }
}
