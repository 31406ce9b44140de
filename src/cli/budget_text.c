/* SPDX-License-Identifier: MIT
 * Budgets in words. Items too small for the last digit are not said. */
#include "cli/budget_text.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/num.h"
#include "cli/table.h"

#define WIDTH 80

/* How lengths are said. */
typedef struct {
    double k; /* coverage factor */
    bool us;
} manner;

static double small(manner m, double metres)
{
    return m.us ? metres / 0.0254 : metres * 1e3;
}

static int decimals(manner m)
{
    return m.us ? 2 : 1;
}

static void put_station(dm_buf *out, double metres, manner m)
{
    dm_buf_fixed(out, m.us ? metres / 0.3048 : metres, 3);
    dm_buf_puts(out, m.us ? " ft" : " m");
}

/* Columns from the last line's begin. */
static size_t column(const dm_buf *out)
{
    size_t n = 0;
    while (n < out->length && out->data[out->length - 1 - n] != '\n')
        n++;
    return n;
}

static void put_item(dm_buf *out, const char *name, double value, size_t indent,
                     bool first, manner m)
{
    char number[DM_NUM_SIZE];
    size_t need = strlen(name) + 1 + dm_num_fixed(number, value, decimals(m));
    if (!first)
        dm_buf_puts(out, ",");
    /* One more for the comma that may follow. */
    if (!first && column(out) + need + 2 > WIDTH)
        dm_buf_printf(out, "\n%*s", (int)indent, "");
    else
        dm_buf_puts(out, " ");
    dm_buf_printf(out, "%s %s", name, number);
}

/* Greatest first; equal ones in their order. */
static void put_items(dm_buf *out, const dm_budget *budget, manner m)
{
    bool said[DM_BUDGET_ITEMS] = {false}, first = true;
    size_t indent = column(out) + 1;
    double least = m.us ? 0.005 : 0.05;
    for (int n = 0; n < DM_BUDGET_ITEMS; n++) {
        int best = -1;
        for (int i = 0; i < DM_BUDGET_ITEMS; i++)
            if (!said[i] && (best < 0 || budget->item[i] > budget->item[best]))
                best = i;
        double value = small(m, m.k * sqrt(budget->item[best]));
        said[best] = true;
        if (value < least)
            continue;
        put_item(out, dm_budget_text((dm_budget_item)best), value, indent,
                 first, m);
        first = false;
    }
    if (first)
        dm_buf_puts(out, " nothing");
}

static void put_bound(dm_buf *out, const char *against, const char *face,
                      double variance, const dm_budget *budget, manner m)
{
    char number[DM_NUM_SIZE];
    dm_num_fixed(number, small(m, m.k * sqrt(variance)), decimals(m));
    dm_buf_printf(out, "  %s%s", against, face);
    size_t wide = column(out);
    dm_buf_printf(out, "%*s  U %*s %s:", (int)(wide < 12 ? 12 - wide : 0), "",
                  5, number, m.us ? "in" : "mm");
    put_items(out, budget, m);
    dm_buf_putc(out, '\n');
}

static void put_place(dm_buf *out, const budget_place *p, manner m)
{
    dm_buf_printf(out, "\ntendon %s at ", p->tendon->id);
    put_station(out, p->at.t, m);
    dm_buf_printf(out, " (run %s at ", p->run->id);
    put_station(out, p->x, m);
    dm_buf_printf(out, "): %s\n", dm_budget_reason_text(p->why));
    if (!p->at.reconciled)
        dm_buf_puts(out, "  not reconciled: lies in an interval that does not "
                         "close; the bounds do not\n  hold there\n");
    put_bound(out, "world", "", p->at.world, &p->world, m);
    const dm_face *faces = p->tendon->faces;
    if (p->at.face_back != DM_NONE)
        put_bound(out, "face ", faces[p->at.face_back].id, p->at.back, &p->back,
                  m);
    if (p->at.face_ahead != DM_NONE)
        put_bound(out, "face ", faces[p->at.face_ahead].id, p->at.ahead,
                  &p->ahead, m);
}

static manner manner_of(const budget_report *report)
{
    return (manner){report->job->settings.coverage_factor,
                    report->job->units == DM_UNITS_US};
}

static void put_nothing(const budget_report *report, dm_buf *out)
{
    if (report->count == 0)
        dm_buf_puts(out, "\nno readings there that distances place\n");
}

void budget_text(const budget_report *report, dm_buf *out)
{
    manner m = manner_of(report);
    char k[DM_NUM_SIZE];
    dm_num_shortest(k, m.k);
    dm_buf_printf(out,
                  "How far off a station may be (U = k u, k = %s), and what it "
                  "comes of. The\nsquares of the items add up to that of U. "
                  "Tapes from a face: its bound.\n",
                  k);
    for (size_t i = 0; i < report->count; i++)
        put_place(out, &report->places[i], m);
    put_nothing(report, out);
}

/* ---- table --------------------------------------------------------------- */

/* The bound that a place is the greatest of. */
typedef struct {
    const char *against;
    double variance;
    const dm_budget *budget;
} bound;

static bound bound_of(const budget_place *p)
{
    const dm_face *faces = p->tendon->faces;
    if (p->why != BUDGET_FACE)
        return (bound){"world", p->at.world, &p->world};
    if (p->at.face_ahead == DM_NONE || p->at.back <= p->at.ahead)
        return (bound){faces[p->at.face_back].id, p->at.back, &p->back};
    return (bound){faces[p->at.face_ahead].id, p->at.ahead, &p->ahead};
}

/* A column for corrections only where there is one. */
static int item_count(const budget_report *report)
{
    for (size_t i = 0; i < report->count; i++)
        if (bound_of(&report->places[i]).budget->item[DM_BUDGET_CORRECTIONS] >
            0.0)
            return DM_BUDGET_ITEMS;
    return DM_BUDGET_CORRECTIONS;
}

void budget_table(const budget_report *report, dm_buf *out)
{
    manner m = manner_of(report);
    int items = item_count(report);
    char head[160], k[DM_NUM_SIZE];
    table t;
    dm_num_shortest(k, m.k);
    dm_buf_printf(out,
                  "Where stations may be farthest off, in the world and from "
                  "the better of the two\nneighbouring faces: U = k u, k = %s, "
                  "in %s, and what it comes of. The squares\nof the items add "
                  "up to that of U. Tapes from a face: its bound.\n\n",
                  k, m.us ? "inches" : "mm");
    snprintf(head, sizeof head,
             "tendon|against|>at, %s|>U|>scale|>walk|>skips|>ties|>faces|"
             ">tapes%s",
             m.us ? "ft" : "m", items == DM_BUDGET_ITEMS ? "|>corr." : "");
    table_init(&t, head);
    for (size_t i = 0; i < report->count; i++) {
        const budget_place *p = &report->places[i];
        bound b = bound_of(p);
        table_text(&t, p->tendon->id);
        table_text(&t, b.against);
        table_number(&t, m.us ? p->at.t / 0.3048 : p->at.t, 3);
        table_number(&t, small(m, m.k * sqrt(b.variance)), decimals(m));
        for (int n = 0; n < items; n++)
            table_number(&t, small(m, m.k * sqrt(b.budget->item[n])),
                         decimals(m));
    }
    table_print(&t, out);
    put_nothing(report, out);
}
