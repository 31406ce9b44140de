/* SPDX-License-Identifier: MIT
 * Whether what a job names is there. */
#include "run/check.h"

#include <string.h>

#include "base/diag.h"

dm_status dm_check_outputs(const dm_job *job, dm_diag *diag)
{
    dm_status status = DM_OK;
    for (size_t i = 0; i < job->output_count; i++)
        if (!dm_writer_find(job->outputs[i]))
            status = dm_error(diag, DM_UNSUPPORTED, (dm_place){job->file, 0},
                              "output", "unknown format '%s'", job->outputs[i]);
    return status;
}

/* Requests must name a tendon and a face that are there. */
dm_status dm_check_requests(const dm_campaign *c, dm_diag *diag)
{
    dm_status status = DM_OK;
    for (size_t i = 0; i < c->job->request_count; i++) {
        const dm_tap_request *r = &c->job->requests[i];
        size_t t = dm_model_find_tendon(c->model, r->tendon);
        if (t == DM_NONE)
            status = dm_error(diag, DM_REFERENCE, r->place, "tap-request",
                              "no tendon '%s' in the bridge %s", r->tendon,
                              c->model->id);
        else if (dm_tendon_find_face(&c->model->tendons[t], r->face) == DM_NONE)
            status = dm_error(diag, DM_REFERENCE, r->place, "tap-request",
                              "tendon %s has no face '%s'", r->tendon, r->face);
    }
    for (size_t i = 0; i < c->job->accept_count; i++) {
        const dm_accept *a = &c->job->accepts[i];
        bool known = false;
        for (size_t k = 0; k < c->survey->run_count && !known; k++)
            known = strcmp(c->survey->runs[k].id, a->run) == 0;
        if (!known)
            status = dm_error(diag, DM_REFERENCE, a->place, "accept",
                              "no run '%s' in the field books", a->run);
    }
    return status;
}

static bool registered(const dm_campaign *c, const char *indication)
{
    for (size_t k = 0; k < c->reg->count; k++)
        if (strcmp(c->reg->entries[k].key, indication) == 0 ||
            strcmp(c->reg->entries[k].uid, indication) == 0)
            return true;
    return false;
}

/* One that matches nothing found and nothing registered is a slip of the pen:
 * a hole would stay that somebody forbade, or be missing that was asked for. */
dm_status dm_check_named(const dm_campaign *c, dm_diag *diag)
{
    dm_status status = DM_OK;
    for (size_t i = 0; i < c->job->exclude_count; i++) {
        const dm_tap_exclude *e = &c->job->excludes[i];
        if (!registered(c, e->indication))
            status = dm_error(diag, DM_REFERENCE, e->place, "tap-exclude",
                              "there is no indication '%s', now or in the "
                              "register: nothing would be excluded",
                              e->indication);
    }
    for (size_t i = 0; i < c->job->pair_count; i++) {
        const dm_tap_pair *pair = &c->job->pairs[i];
        if (!registered(c, pair->indication))
            status = dm_error(diag, DM_REFERENCE, pair->place, "tap-pair",
                              "there is no indication '%s', now or in the "
                              "register",
                              pair->indication);
    }
    return status;
}

static bool tapped(const dm_campaign *c, const char *indication)
{
    for (size_t n = 0; n < c->model->tendon_count; n++) {
        const dm_taps *taps = c->results[n].taps;
        for (size_t k = 0; taps && k < taps->count; k++) {
            size_t i = taps->items[k].indication;
            if (i == DM_NONE)
                continue;
            const dm_indication *in = &c->results[n].indications->items[i];
            if (strcmp(in->key, indication) == 0 ||
                strcmp(in->uid, indication) == 0)
                return true;
        }
    }
    return false;
}

void dm_check_pairs(const dm_campaign *c, dm_diag *diag)
{
    for (size_t i = 0; i < c->job->pair_count; i++)
        if (!tapped(c, c->job->pairs[i].indication))
            dm_warn(diag, c->job->pairs[i].place, "tap-pair",
                    "no tap was set out for an indication '%s': no pair",
                    c->job->pairs[i].indication);
}

static bool tap_of_entry(const char *tap, const dm_entry *e)
{
    size_t n = strlen(e->key);
    return strncmp(tap, e->key, n) == 0 &&
           (strcmp(tap + n, "-A") == 0 || strcmp(tap + n, "-B") == 0);
}

static bool tap_known(const dm_campaign *c, const dm_opened *o)
{
    const char *tendon = c->model->tendons[o->tendon].id;
    const dm_taps *taps = c->results[o->tendon].taps;
    for (size_t i = 0; taps && i < taps->count; i++)
        if (strcmp(taps->items[i].id, o->tap) == 0)
            return true;
    for (size_t i = 0; i < c->job->request_count; i++)
        if (strcmp(c->job->requests[i].id, o->tap) == 0 &&
            strcmp(c->job->requests[i].tendon, tendon) == 0)
            return true;
    for (size_t i = 0; i < c->reg->count; i++)
        if (strcmp(c->reg->entries[i].tendon, tendon) == 0 &&
            tap_of_entry(o->tap, &c->reg->entries[i]))
            return true;
    return false;
}

void dm_check_opened(const dm_campaign *c, dm_diag *diag)
{
    for (size_t i = 0; i < c->survey->opened_count; i++) {
        const dm_opened *o = &c->survey->opened[i];
        if (o->tap && !tap_known(c, o))
            dm_warn(diag, o->place, o->id,
                    "tendon %s has no tap '%s', now or in the register (ids of "
                    "an earlier delivery may be gone): the hole counts by its "
                    "place alone",
                    c->model->tendons[o->tendon].id, o->tap);
    }
}
