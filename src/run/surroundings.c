/* SPDX-License-Identifier: MIT
 * What the meshes of a job say of its tendons before there are results. */
#include <stdlib.h>

#include "base/diag.h"
#include "base/num.h"
#include "ductmark/run.h"

static void say(const dm_tendon *n, const dm_cut *cut, dm_diag *diag)
{
    char from[DM_NUM_SIZE], to[DM_NUM_SIZE], least[DM_NUM_SIZE];

    dm_num_fixed(from, cut->from, 2);
    dm_num_fixed(to, cut->to, 2);
    dm_num_fixed(least, 1000.0 * cut->least, 0);
    dm_warn(diag, n->place, n->id,
            "as drawn, the duct runs through %s from %s to %s m: it is %s mm "
            "from the centreline",
            cut->name, from, to, least);
}

dm_status dm_campaign_surroundings(dm_campaign *c, dm_diag *diag)
{
    dm_status status = DM_OK;

    if (c->context == NULL)
        status = dm_context_read(c->job->contexts, c->job->context_count, NULL,
                                 diag, &c->context);
    for (size_t i = 0; status == DM_OK && i < c->model->tendon_count; i++) {
        dm_cut *cuts;
        size_t count;

        status = dm_context_cuts(c->context, c->model, i, &cuts, &count);
        for (size_t k = 0; status == DM_OK && k < count; k++)
            say(&c->model->tendons[i], &cuts[k], diag);
        if (status == DM_OK)
            free(cuts);
        else
            dm_error(diag, status, c->model->tendons[i].place, NULL,
                     "out of memory");
    }
    return status;
}
