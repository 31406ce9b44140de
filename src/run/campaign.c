/* SPDX-License-Identifier: MIT
 *
 * One job from inputs to files. Tendons are independent of each other, so
 * that worker threads take them in turn; each tendon's messages are kept and
 * replayed in the order of the tendons, which makes the output independent
 * of the number of threads. */
#define _POSIX_C_SOURCE 200809L
#include "ductmark/run.h"

#include <pthread.h>
#include <stdint.h>
#include <stdlib.h>
#include <unistd.h>

#include "base/arena.h"
#include "base/diag.h"
#include "base/file.h"
#include "run/check.h"

#define MOST_THREADS 64

static const dm_place nowhere = {NULL, 0};

/* Reads all that the job names, so that the faults of all files appear in one
 * go; what needs a bridge is not read without one. */
static dm_status read_inputs(dm_campaign *c, dm_diag *diag)
{
    const dm_job *job = c->job;
    dm_status bridge = dm_model_read(job->bridge, diag, &c->model);
    dm_status status = dm_criteria_read(job->criteria, diag, &c->criteria);
    if (bridge != DM_OK)
        return bridge;
    dm_status survey = dm_survey_read(job->fieldbooks, job->fieldbook_count,
                                      c->model, diag, &c->survey);
    if (status == DM_OK)
        status = survey;
    if (job->reg) {
        dm_status reg =
            dm_register_read(job->reg, c->model, diag, &c->reg_before);
        if (status == DM_OK)
            status = reg;
    }
    return status;
}

dm_status dm_campaign_read(const char *path, dm_diag *diag, dm_campaign **out)
{
    *out = NULL;
    dm_campaign *c = calloc(1, sizeof *c);
    if (!c)
        return dm_error(diag, DM_NOMEM, nowhere, NULL, "out of memory");
    dm_status status = dm_job_read(path, diag, &c->job);
    if (status == DM_OK) {
        dm_status outputs = dm_check_outputs(c->job, diag);
        status = read_inputs(c, diag);
        if (status == DM_OK)
            status = outputs;
        if (status == DM_OK)
            status = dm_check_requests(c, diag);
    }
    if (status == DM_OK) {
        c->results = calloc(c->model->tendon_count + 1, sizeof *c->results);
        if (!c->results)
            status = dm_error(diag, DM_NOMEM, nowhere, NULL, "out of memory");
    }
    if (status != DM_OK) {
        dm_campaign_free(c);
        return status;
    }
    *out = c;
    return DM_OK;
}

/* Makes the settings and names of a job that no file holds. */
static dm_job *bare_job(const char *bridge, const char *const *books,
                        size_t count)
{
    dm_arena *arena = dm_arena_new();
    dm_job *job = arena ? DM_NEW(arena, dm_job) : NULL;
    const char **paths = job ? DM_NEW_ARRAY(arena, const char *, count) : NULL;
    if (!paths) {
        dm_arena_free(arena);
        return NULL;
    }
    for (size_t i = 0; i < count; i++)
        paths[i] = dm_arena_strdup(arena, books[i]);
    *job = (dm_job){.arena = arena,
                    .bridge = dm_arena_strdup(arena, bridge),
                    .fieldbooks = paths,
                    .fieldbook_count = count,
                    .settings = dm_settings_default()};
    bool good = job->bridge;
    for (size_t i = 0; i < count; i++)
        good = good && paths[i];
    if (good)
        return job;
    dm_arena_free(arena);
    return NULL;
}

dm_status dm_campaign_open(const char *bridge, const char *const *books,
                           size_t count, dm_diag *diag, dm_campaign **out)
{
    *out = NULL;
    dm_campaign *c = calloc(1, sizeof *c);
    dm_status status = DM_NOMEM;
    if (c && (c->job = bare_job(bridge, books, count)))
        status = dm_model_read(bridge, diag, &c->model);
    if (status == DM_OK)
        status = dm_survey_read(books, count, c->model, diag, &c->survey);
    if (status == DM_OK) {
        c->results = calloc(c->model->tendon_count + 1, sizeof *c->results);
        status = c->results ? DM_OK : DM_NOMEM;
    }
    if (status == DM_OK) {
        *out = c;
        return DM_OK;
    }
    dm_campaign_free(c);
    return status == DM_NOMEM
               ? dm_error(diag, DM_NOMEM, nowhere, NULL, "out of memory")
               : status;
}

/* ---- the loop over tendons ---------------------------------------------- */

typedef struct work {
    dm_campaign *campaign;
    dm_status (*solve)(struct work *w, size_t tendon);
    dm_stage stage;
    pthread_mutex_t lock;
    pthread_cond_t moved;
    size_t next; /* the tendon to take */
    size_t done;
    dm_diag_store **messages; /* one per tendon */
    dm_status *status;        /* one per tendon */
} work;

static dm_status solve_tendon(work *w, size_t tendon)
{
    const dm_campaign *c = w->campaign;
    const dm_settings *settings = &c->job->settings;
    dm_diag *diag = dm_diag_store_sink(w->messages[tendon]);
    dm_stations *stations = NULL;
    dm_indications *indications = NULL;
    dm_taps *taps = NULL;
    dm_status status = dm_stations_solve_accepted(
        c->model, c->survey, tendon, settings, c->job->accepts,
        c->job->accept_count, diag, &stations);
    if (status == DM_OK && w->stage >= DM_STAGE_INDICATIONS)
        status =
            dm_indications_find(c->model, c->survey, stations, c->criteria,
                                c->reg_before, settings, diag, &indications);
    if (status == DM_OK && w->stage >= DM_STAGE_TAPS)
        status = dm_taps_place(c->model, c->survey, stations, indications,
                               c->criteria, c->job, c->context, diag, &taps);
    c->results[tendon] = (dm_result){stations, indications, taps};
    return status;
}

static void *worker(void *argument)
{
    work *w = argument;
    size_t total = w->campaign->model->tendon_count;
    pthread_mutex_lock(&w->lock);
    while (w->next < total) {
        size_t i = w->next++;
        pthread_mutex_unlock(&w->lock);
        w->status[i] = w->solve(w, i);
        pthread_mutex_lock(&w->lock);
        w->done++;
        pthread_cond_signal(&w->moved);
    }
    pthread_mutex_unlock(&w->lock);
    return NULL;
}

static size_t thread_count(const dm_campaign *c)
{
    long cores = c->job->settings.threads;
    if (cores <= 0)
        cores = sysconf(_SC_NPROCESSORS_ONLN);
    size_t n = cores < 1 ? 1 : (size_t)cores;
    if (n > MOST_THREADS)
        n = MOST_THREADS;
    return n < c->model->tendon_count ? n : c->model->tendon_count;
}

/* Starts the workers and reports progress while they are at it; works itself
 * where one thread is enough or none can be had. */
static void run_workers(work *w, dm_progress *progress, void *user)
{
    pthread_t threads[MOST_THREADS];
    size_t wanted = thread_count(w->campaign), started = 0;
    size_t total = w->campaign->model->tendon_count;
    while (wanted > 1 && started < wanted &&
           pthread_create(&threads[started], NULL, worker, w) == 0)
        started++;
    for (size_t i = 0; started == 0 && i < total; i++) {
        w->status[i] = w->solve(w, i);
        w->done = i + 1;
        if (progress)
            progress(user, i + 1, total);
    }
    pthread_mutex_lock(&w->lock);
    for (size_t seen = 0; started > 0 && seen < total;) {
        while (w->done == seen)
            pthread_cond_wait(&w->moved, &w->lock);
        seen = w->done;
        pthread_mutex_unlock(&w->lock);
        if (progress)
            progress(user, seen, total);
        pthread_mutex_lock(&w->lock);
    }
    pthread_mutex_unlock(&w->lock);
    for (size_t i = 0; i < started; i++)
        pthread_join(threads[i], NULL);
}

static dm_status work_init(work *w, size_t count)
{
    w->messages = calloc(count + 1, sizeof *w->messages);
    w->status = calloc(count + 1, sizeof *w->status);
    if (!w->messages || !w->status)
        return DM_NOMEM;
    for (size_t i = 0; i < count; i++)
        if (!(w->messages[i] = dm_diag_store_new()))
            return DM_NOMEM;
    if (pthread_mutex_init(&w->lock, NULL) != 0)
        return DM_NOMEM;
    if (pthread_cond_init(&w->moved, NULL) != 0) {
        pthread_mutex_destroy(&w->lock);
        return DM_NOMEM;
    }
    return DM_OK;
}

static dm_status do_tendons(work w, dm_progress *progress, void *user,
                            dm_diag *diag)
{
    size_t n = w.campaign->model->tendon_count;
    dm_status status = work_init(&w, n);
    if (status != DM_OK) {
        dm_error(diag, status, nowhere, NULL, "out of memory");
    } else {
        run_workers(&w, progress, user);
        pthread_cond_destroy(&w.moved);
        pthread_mutex_destroy(&w.lock);
    }
    for (size_t i = 0; status == DM_OK && i < n; i++) {
        status = dm_diag_store_replay(w.messages[i], diag);
        if (status == DM_OK)
            status = w.status[i];
    }
    for (size_t i = 0; w.messages && i < n; i++)
        dm_diag_store_free(w.messages[i]);
    free(w.messages);
    free(w.status);
    return status;
}

/* ---- after the loop -------------------------------------------------------
 */

static size_t count_left_out(const dm_campaign *c)
{
    size_t n = 0;
    for (size_t i = 0; i < c->model->tendon_count; i++) {
        const dm_stations *s = c->results[i].stations;
        for (size_t k = 0; s && k < s->run_count; k++)
            n += !s->runs[k].usable;
        for (size_t k = 0; s && k < s->interval_count; k++)
            n += !s->intervals[k].reconciled;
        if (c->results[i].indications)
            n += c->results[i].indications->failed_runs;
    }
    return n;
}

dm_status dm_campaign_solve(dm_campaign *c, dm_stage stage,
                            dm_progress *progress, void *user, dm_diag *diag)
{
    if (stage < DM_STAGE_STATIONS)
        return DM_OK;
    dm_status status = DM_OK;
    /* Before threads are started: the reader forks. */
    if (stage >= DM_STAGE_TAPS && !c->context)
        status = dm_context_read(c->job->contexts, c->job->context_count, NULL,
                                 diag, &c->context);
    if (status == DM_OK)
        status = do_tendons(
            (work){.campaign = c, .solve = solve_tendon, .stage = stage},
            progress, user, diag);
    if (status != DM_OK)
        return status;
    c->left_out = count_left_out(c);
    if (stage < DM_STAGE_INDICATIONS)
        return DM_OK;
    status = dm_register_update(c->model, c->survey, c->results, c->reg_before,
                                diag, &c->reg);
    if (status == DM_OK)
        status = dm_check_named(c, diag);
    if (status == DM_OK && stage >= DM_STAGE_TAPS) {
        dm_check_pairs(c, diag);
        dm_check_opened(c, diag);
    }
    if (status != DM_OK || stage < DM_STAGE_SCENE)
        return status;
    return dm_scene_build(c->model, c->survey, c->criteria, c->results, c->job,
                          diag, &c->scene);
}

static dm_status judge_tendon(work *w, size_t tendon)
{
    const dm_campaign *c = w->campaign;
    return dm_quality_of(
        c->model, c->survey, c->results[tendon].stations, &c->job->settings,
        dm_diag_store_sink(w->messages[tendon]), &c->quality[tendon]);
}

dm_status dm_campaign_judge(dm_campaign *c, dm_progress *progress, void *user,
                            dm_diag *diag)
{
    c->quality = calloc(c->model->tendon_count + 1, sizeof *c->quality);
    if (!c->quality)
        return dm_error(diag, DM_NOMEM, nowhere, NULL, "out of memory");
    dm_status status = do_tendons((work){.campaign = c, .solve = judge_tendon},
                                  progress, user, diag);
    for (size_t i = 0; status == DM_OK && i < c->model->tendon_count; i++)
        c->left_out += c->quality[i]->failed_runs;
    return status;
}

dm_delivery dm_campaign_delivery(const dm_campaign *c,
                                 const char *const *messages, size_t count)
{
    return (dm_delivery){.job = c->job,
                         .model = c->model,
                         .survey = c->survey,
                         .criteria = c->criteria,
                         .reg = c->reg,
                         .results = c->results,
                         .scene = c->scene,
                         .messages = messages,
                         .message_count = count,
                         .context = c->context};
}

/* Every file that was read must not be written over. */
static dm_status protect_inputs(const dm_campaign *c, dm_outset *set)
{
    const char *single[] = {c->job->file, c->job->bridge, c->job->criteria,
                            c->job->reg};
    dm_status status = DM_OK;
    for (size_t i = 0; i < sizeof single / sizeof *single; i++)
        if (single[i] && status == DM_OK)
            status = dm_outset_protect(set, single[i]);
    for (size_t i = 0; i < c->job->fieldbook_count && status == DM_OK; i++)
        status = dm_outset_protect(set, c->job->fieldbooks[i]);
    for (size_t i = 0; i < c->job->context_count && status == DM_OK; i++)
        status = dm_outset_protect(set, c->job->contexts[i].path);
    for (size_t i = 0; i < c->survey->run_count; i++) {
        const dm_run *run = &c->survey->runs[i];
        for (size_t k = 0; k < run->event_count && status == DM_OK; k++)
            if (run->events[k].href)
                status = dm_outset_protect(set, run->events[k].href);
    }
    return status;
}

static dm_status write_formats(const dm_delivery *delivery, dm_outset *set,
                               const char *const *formats, size_t count,
                               dm_diag *diag)
{
    size_t writers = 0;
    const dm_writer *all = dm_writers(&writers);
    dm_status status = DM_OK;
    for (size_t i = 0; count == 0 && i < writers && status == DM_OK; i++)
        if (all[i].by_default)
            status = all[i].write(delivery, set, diag);
    for (size_t i = 0; i < count && status == DM_OK; i++) {
        const dm_writer *w = dm_writer_find(formats[i]);
        if (!w)
            return dm_error(diag, DM_UNSUPPORTED, nowhere, NULL,
                            "unknown output format '%s'", formats[i]);
        status = w->write(delivery, set, diag);
    }
    return status;
}

dm_status dm_campaign_deliver(const dm_campaign *c, const char *folder,
                              const char *const *formats, size_t format_count,
                              const char *const *messages, size_t message_count,
                              dm_written *written, void *user, dm_diag *diag)
{
    dm_outset *set = NULL;
    dm_status status = dm_outset_new(folder, diag, &set);
    if (status == DM_OK)
        status = protect_inputs(c, set);
    dm_delivery delivery = dm_campaign_delivery(c, messages, message_count);
    if (status == DM_OK && format_count > 0)
        status = write_formats(&delivery, set, formats, format_count, diag);
    else if (status == DM_OK)
        status = write_formats(&delivery, set, c->job->outputs,
                               c->job->output_count, diag);
    if (status == DM_OK)
        status = dm_outset_commit(set);
    size_t files = status == DM_OK && written ? dm_outset_count(set) : 0;
    for (size_t i = 0; i < files; i++)
        written(user, dm_outset_name(set, i), dm_outset_size(set, i));
    dm_outset_free(set);
    return status;
}

/* Results are shared as const; their owner may free them. */
static void *owned(const void *result)
{
    return (void *)(uintptr_t)result;
}

void dm_campaign_free(dm_campaign *c)
{
    if (!c)
        return;
    for (size_t i = 0; c->results && i < c->model->tendon_count; i++) {
        dm_taps_free(owned(c->results[i].taps));
        dm_indications_free(owned(c->results[i].indications));
        dm_stations_free(owned(c->results[i].stations));
    }
    free(c->results);
    for (size_t i = 0; c->quality && i < c->model->tendon_count; i++)
        dm_quality_free(c->quality[i]);
    free(c->quality);
    dm_scene_free(c->scene);
    dm_context_free(c->context);
    dm_register_free(c->reg);
    dm_register_free(c->reg_before);
    dm_criteria_free(c->criteria);
    dm_survey_free(c->survey);
    dm_model_free(c->model);
    dm_job_free(c->job);
    free(c);
}
