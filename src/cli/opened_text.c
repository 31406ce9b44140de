/* SPDX-License-Identifier: MIT
 * What was opened, for people: one row an opening beside what was estimated,
 * and the count of the bridge. Nothing where nothing was opened. */
#include <math.h>

#include "cli/summary.h"
#include "cli/table.h"
#include "ductmark/total.h"
#include "scene/properties.h"

static void opening_row(table *t, const dm_campaign *c, const char *tendon,
                        const dm_as_found *o)
{
    char clock[8];

    table_text(t, o->what.id);
    table_text(t, tendon);
    table_length(t, o->what.t, c->job->units);
    table_text(t, dm_clock_text(o->what.clock, clock));
    table_text(t, dm_finding_text(o->what.found));
    table_text(t, o->what.date);
    table_text(t, o->key);
    table_text(t, o->outcome == DM_OUTCOME_MISSED
                      ? "MISSED"
                      : dm_outcome_text(o->outcome));
    table_text(t, o->words);
}

static void openings_table(const dm_campaign *c, dm_buf *out)
{
    table t;

    table_init(&t, c->job->units == DM_UNITS_US
                       ? "opening|tendon|>at, ft in|clock|found|date|"
                         "indication|so it is|why"
                       : "opening|tendon|>at, m|clock|found|date|indication|"
                         "so it is|why");
    for (size_t i = 0; i < c->model->tendon_count; i++) {
        const dm_indications *in = c->results[i].indications;

        for (size_t k = 0; in != NULL && k < in->opening_count; k++)
            opening_row(&t, c, c->model->tendons[i].id, &in->openings[k]);
    }
    table_print(&t, out);
}

static void put_counts(const dm_opened_sum *s, dm_buf *out)
{
    dm_buf_printf(out,
                  "\nindications: %zu confirmed, %zu refuted, %zu opened but "
                  "undecided, %zu not opened;\n  openings: %zu, of them %zu "
                  "missed (not sound where nothing was indicated), %zu sound "
                  "elsewhere\n",
                  s->confirmed, s->refuted, s->undecided, s->not_opened,
                  s->openings, s->outcome[DM_OUTCOME_MISSED],
                  s->outcome[DM_OUTCOME_AGREES]);
}

void summary_opened(const dm_campaign *c, dm_buf *out)
{
    dm_opened_sum sum = {0};

    for (size_t i = 0; i < c->model->tendon_count; i++)
        if (c->results[i].indications != NULL)
            dm_opened_sum_add(&sum, &c->results[i].indications->opened);
    if (sum.openings == 0 && sum.confirmed == 0 && sum.refuted == 0)
        return;
    dm_buf_puts(out, "\nas found where the duct was opened\n\n");
    if (sum.openings > 0)
        openings_table(c, out);
    put_counts(&sum, out);
}
