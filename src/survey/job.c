/* SPDX-License-Identifier: MIT
 * The job file: inputs, settings, decisions of the engineer, outputs. */
#include "ductmark/job.h"

#include <math.h>
#include <string.h>

#include "base/diag.h"
#include "base/file.h"
#include "model/schemas.h"
#include "survey/read.h"

#define MOST_NAMES ((size_t)1000)
#define DEGREE (3.14159265358979323846 / 180.0)

typedef struct {
    dm_job *job;
    dm_arena *arena;
    dm_xml *xml;
    bool out_of_memory;
} reader;

dm_settings dm_settings_default(void)
{
    return (dm_settings){.face_u = 0.015,
                         .tie_u = 0.003,
                         .skip_u = 0.005,
                         .start_u = 0.003,
                         .coverage_factor = 2.0,
                         .gate = 3.0,
                         .check_drift = 0.1,
                         .confidence = 0.9,
                         .prior_void = 1.0,
                         .prior_soft = 1.0,
                         .prior_strand = 1.0,
                         .prior_sound = 1.0,
                         .merge_gap = 0.15,
                         .least_length = 0.02,
                         .tap_margin = 0.025,
                         .fixture_margin = 0.05,
                         .stop_allowance = 0.0,
                         .mark_u = 0.002,
                         .clock_u = 3.0 * DEGREE,
                         .bit = 0.008,
                         .strand_room = 0.002,
                         .drill_length = 0.3,
                         .drill_diameter = 0.08,
                         .surface_tilt = 2.0 * DEGREE,
                         .grout_allowance = 0.2,
                         .tap_merge = 0.1,
                         .mesh_sagitta = 1e-4,
                         .mesh_sides = 24,
                         .threads = 0};
}

static void read_settings(reader *b, const dm_xml_node *n)
{
    dm_settings *s = &b->job->settings;
    *s = dm_settings_default();
    if (!n)
        return;
    const struct {
        const char *name;
        double *value, lo, hi;
    } lengths[] = {{"face-u", &s->face_u, 1e-5, 1.0},
                   {"tie-u", &s->tie_u, 0.0, 1.0},
                   {"skip-u", &s->skip_u, 0.0, 1.0},
                   {"start-u", &s->start_u, 0.0, 1.0},
                   {"merge-gap", &s->merge_gap, 0.0, 10.0},
                   {"least-length", &s->least_length, 0.0, 1.0},
                   {"tap-margin", &s->tap_margin, 0.0, 1.0},
                   {"fixture-margin", &s->fixture_margin, 0.0, 1.0},
                   {"stop-allowance", &s->stop_allowance, 0.0, 0.02},
                   {"mark-u", &s->mark_u, 0.0, 0.1},
                   {"bit", &s->bit, 0.002, 0.03},
                   {"strand-room", &s->strand_room, 0.0, 0.05},
                   {"drill-length", &s->drill_length, 0.05, 2.0},
                   {"drill-diameter", &s->drill_diameter, 0.01, 1.0},
                   {"tap-merge", &s->tap_merge, 0.0, 10.0},
                   {"mesh-sagitta", &s->mesh_sagitta, 1e-6, 0.1}};
    const struct {
        const char *name;
        double *value;
    } priors[] = {{"prior-void", &s->prior_void},
                  {"prior-soft", &s->prior_soft},
                  {"prior-strand", &s->prior_strand},
                  {"prior-sound", &s->prior_sound}};
    for (size_t i = 0; i < sizeof lengths / sizeof *lengths; i++)
        *lengths[i].value =
            dm_xml_length(b->xml, n, lengths[i].name, lengths[i].lo,
                          lengths[i].hi, *lengths[i].value);
    s->coverage_factor =
        dm_xml_real(b->xml, n, "coverage-factor", 1.0, 4.0, s->coverage_factor);
    s->gate = dm_xml_real(b->xml, n, "gate", 1.0, 10.0, s->gate);
    s->surface_tilt =
        dm_xml_angle(b->xml, n, "surface-tilt", 0.0, 0.35, s->surface_tilt);
    s->grout_allowance =
        dm_xml_real(b->xml, n, "grout-allowance", 0.0, 2.0, s->grout_allowance);
    s->check_drift =
        dm_xml_real(b->xml, n, "check-drift", 0.001, 1.0, s->check_drift);
    s->clock_u =
        dm_xml_angle(b->xml, n, "clock-u", 0.0, 28.0 * DEGREE, s->clock_u);
    s->confidence =
        dm_xml_real(b->xml, n, "confidence", 0.5, 0.999, s->confidence);
    for (size_t i = 0; i < sizeof priors / sizeof *priors; i++)
        *priors[i].value =
            dm_xml_real(b->xml, n, priors[i].name, 1e-3, 1e3, *priors[i].value);
    s->mesh_sides = dm_xml_int(b->xml, n, "mesh-sides", 8, 96, s->mesh_sides);
    if (s->mesh_sides % 4 != 0)
        dm_xml_fault(b->xml, n, DM_RANGE,
                     "mesh-sides is %d, expected a multiple of 4",
                     s->mesh_sides);
    s->threads = dm_xml_int(b->xml, n, "threads", 0, 64, s->threads);
}

/* @href of an element, resolved against the job's folder. */
static const char *href(reader *b, const dm_xml_node *n)
{
    if (!n)
        return NULL;
    const char *path = dm_path_resolve(b->arena, dm_xml_file(b->xml),
                                       dm_xml_text(b->xml, n, "href", ""));
    if (!path)
        b->out_of_memory = true;
    return path;
}

static const char **texts(reader *b, const dm_xml_node *root, const char *name,
                          const char *attribute, size_t *count)
{
    const char **list =
        DM_NEW_ARRAY(b->arena, const char *, dm_xml_count(root, name));
    if (!list) {
        b->out_of_memory = true;
        return NULL;
    }
    for (const dm_xml_node *n = dm_xml_child(root, name); n;
         n = dm_xml_next(n, name))
        list[(*count)++] =
            attribute ? dm_xml_text(b->xml, n, attribute, "") : href(b, n);
    return list;
}

/* A name that is there twice would be read or written twice. */
static void check_repeated(reader *b, const dm_xml_node *root,
                           const char *element, const char *const *list,
                           size_t count, const char *what)
{
    const dm_xml_node *n = dm_xml_child(root, element);

    if (count > MOST_NAMES)
        dm_xml_fault(b->xml, n, DM_RANGE,
                     "%zu %s elements, expected at most %zu", count, element,
                     MOST_NAMES);
    for (size_t i = 0; i < count && i < MOST_NAMES;
         i++, n = dm_xml_next(n, element))
        for (size_t k = 0; k < i; k++)
            if (list[i] != NULL && list[k] != NULL &&
                strcmp(list[i], list[k]) == 0) {
                dm_xml_fault(b->xml, n, DM_INCONSISTENT,
                             "this %s is named twice", what);
                break;
            }
}

/* What is stated has to be what the hypothesis needs. */
static void check_accept(dm_xml *x, const dm_xml_node *n, const dm_accept *a)
{
    bool twice = a->hypothesis == DM_BLUNDER_SKIP_TWICE;
    bool tie = a->hypothesis == DM_BLUNDER_WRONG_FACE;
    bool jump = a->hypothesis == DM_BLUNDER_SKIP_MISSING ||
                a->hypothesis == DM_BLUNDER_JUMP;
    if ((a->interval > 0) != jump || (a->skip > 0) != twice ||
        (a->tie > 0) != tie || (a->face != NULL) != tie ||
        (jump && isnan(a->length)) || isnan(a->x_from) != isnan(a->x_to) ||
        (!jump && !isnan(a->x_from)))
        dm_xml_fault(x, n, DM_INCONSISTENT, "hypothesis %s: expected %s",
                     dm_blunder_text(a->hypothesis),
                     jump    ? "interval and length (and both x-from and x-to, "
                               "or neither)"
                     : twice ? "skip"
                     : tie   ? "tie and face"
                             : "neither interval, skip, tie, face nor x-from");
    if (a->x_to <= a->x_from)
        dm_xml_fault(x, n, DM_RANGE, "x-to is not beyond x-from");
}

static void read_accept(dm_xml *x, const dm_xml_node *n, dm_accept *a)
{
    const char *words[DM_BLUNDER_COUNT + 1] = {NULL};
    for (int i = 0; i < DM_BLUNDER_MEASURED; i++)
        words[i] = dm_blunder_text((dm_blunder)i);
    *a = (dm_accept){
        .run = dm_xml_text(x, n, "run", ""),
        .hypothesis = (dm_blunder)dm_xml_word(x, n, "hypothesis", words, 0),
        .interval = dm_xml_int(x, n, "interval", 1, 1000000, 0),
        .skip = dm_xml_int(x, n, "skip", 1, 1000000, 0),
        .tie = dm_xml_int(x, n, "tie", 1, 1000000, 0),
        .face = dm_xml_text(x, n, "face", NULL),
        .length = dm_xml_length(x, n, "length", -1e3, 1e3, (double)NAN),
        .x_from = dm_xml_length(x, n, "x-from", -1e4, 1e4, (double)NAN),
        .x_to = dm_xml_length(x, n, "x-to", -1e4, 1e4, (double)NAN),
        .by = dm_xml_text(x, n, "by", ""),
        .reason = dm_xml_text(x, n, "reason", ""),
        .place = dm_xml_place(x, n)};
    check_accept(x, n, a);
}

static void read_decisions(reader *b, const dm_xml_node *root)
{
    dm_job *j = b->job;
    dm_xml *x = b->xml;
    j->accepts =
        DM_NEW_ARRAY(b->arena, dm_accept, dm_xml_count(root, "accept"));
    j->requests = DM_NEW_ARRAY(b->arena, dm_tap_request,
                               dm_xml_count(root, "tap-request"));
    j->pairs =
        DM_NEW_ARRAY(b->arena, dm_tap_pair, dm_xml_count(root, "tap-pair"));
    j->excludes = DM_NEW_ARRAY(b->arena, dm_tap_exclude,
                               dm_xml_count(root, "tap-exclude"));
    if (!j->accepts || !j->requests || !j->pairs || !j->excludes) {
        b->out_of_memory = true;
        return;
    }
    for (const dm_xml_node *n = dm_xml_child(root, "accept"); n;
         n = dm_xml_next(n, "accept"))
        read_accept(x, n, &j->accepts[j->accept_count++]);
    for (const dm_xml_node *n = dm_xml_child(root, "tap-request"); n;
         n = dm_xml_next(n, "tap-request"))
        j->requests[j->request_count++] = (dm_tap_request){
            .id = dm_xml_text(x, n, "id", ""),
            .tendon = dm_xml_text(x, n, "tendon", ""),
            .face = dm_xml_text(x, n, "face", ""),
            .distance = dm_xml_length(x, n, "distance", 0.0, 1e3, 0.0),
            .clock = dm_xml_clock(x, n, "clock", 0.0),
            .by = dm_xml_text(x, n, "by", ""),
            .reason = dm_xml_text(x, n, "reason", ""),
            .place = dm_xml_place(x, n)};
    for (const dm_xml_node *n = dm_xml_child(root, "tap-pair"); n;
         n = dm_xml_next(n, "tap-pair"))
        j->pairs[j->pair_count++] =
            (dm_tap_pair){.indication = dm_xml_text(x, n, "indication", ""),
                          .by = dm_xml_text(x, n, "by", ""),
                          .reason = dm_xml_text(x, n, "reason", ""),
                          .place = dm_xml_place(x, n)};
    for (const dm_xml_node *n = dm_xml_child(root, "tap-exclude"); n;
         n = dm_xml_next(n, "tap-exclude"))
        j->excludes[j->exclude_count++] =
            (dm_tap_exclude){.indication = dm_xml_text(x, n, "indication", ""),
                             .by = dm_xml_text(x, n, "by", ""),
                             .reason = dm_xml_text(x, n, "reason", ""),
                             .place = dm_xml_place(x, n)};
}

static void read_contexts(reader *b, const dm_xml_node *root)
{
    static const char *const units[] = {"m", "mm", "ft", "in", "us-ft", NULL};
    static const char *const ups[] = {"y", "z", NULL};
    dm_job *j = b->job;
    dm_xml *x = b->xml;
    const double most = 2e7; /* m: any map's coordinates */
    j->contexts = DM_NEW_ARRAY(b->arena, dm_context_source,
                               dm_xml_count(root, "context"));
    if (!j->contexts) {
        b->out_of_memory = true;
        return;
    }
    for (const dm_xml_node *n = dm_xml_child(root, "context"); n;
         n = dm_xml_next(n, "context")) {
        dm_context_source *c = &j->contexts[j->context_count++];
        int unit = dm_xml_word(x, n, "unit", units, -1);
        int up = dm_xml_word(x, n, "up", ups, -1);
        *c = (dm_context_source){
            .path = href(b, n),
            .unit = unit < 0 ? 0.0 : dm_unit_metres(units[unit]),
            .up = up < 0    ? DM_UP_OF_FORMAT
                  : up == 0 ? DM_UP_Y
                            : DM_UP_Z,
            .at = {dm_xml_length(x, n, "x", -most, most, 0.0),
                   dm_xml_length(x, n, "y", -most, most, 0.0),
                   dm_xml_length(x, n, "z", -most, most, 0.0)},
            .place = dm_xml_place(x, n)};
    }
    if (j->context_count > MOST_NAMES)
        dm_xml_fault(x, dm_xml_child(root, "context"), DM_RANGE,
                     "%zu context elements, expected at most %zu",
                     j->context_count, MOST_NAMES);
}

static dm_status read_all(reader *b)
{
    static const char *const units[] = {"metric", "us", NULL};
    const dm_xml_node *root = dm_xml_root(b->xml);
    dm_job *j = b->job;
    j->file = dm_xml_file(b->xml);
    j->sha256 = dm_xml_sha256(b->xml);
    j->uid = dm_xml_text(b->xml, root, "uid", "");
    j->date = dm_xml_text(b->xml, root, "date", "");
    j->units = (dm_units)dm_xml_word(b->xml, root, "units", units, 0);
    j->locale = dm_xml_text(b->xml, root, "locale", NULL);
    if (j->locale)
        dm_xml_warn(b->xml, root, "locale: not used yet");
    j->bridge = href(b, dm_xml_child(root, "bridge"));
    j->criteria = href(b, dm_xml_child(root, "criteria"));
    j->reg = href(b, dm_xml_child(root, "register"));
    j->fieldbooks = texts(b, root, "fieldbook", NULL, &j->fieldbook_count);
    read_contexts(b, root);
    j->outputs = texts(b, root, "output", "format", &j->output_count);
    if (!b->out_of_memory) {
        check_repeated(b, root, "fieldbook", j->fieldbooks, j->fieldbook_count,
                       "file");
        check_repeated(b, root, "output", j->outputs, j->output_count,
                       "format");
    }
    read_settings(b, dm_xml_child(root, "settings"));
    read_decisions(b, root);
    return b->out_of_memory ? DM_NOMEM : dm_xml_status(b->xml);
}

/* `text` NULL: the file is read. */
static dm_status read_job(const char *path, const dm_buf *text, dm_diag *diag,
                          dm_job **out)
{
    *out = NULL;
    dm_arena *arena = dm_arena_new();
    reader b = {.arena = arena};
    b.job = arena ? DM_NEW(arena, dm_job) : NULL;
    if (!b.job) {
        dm_arena_free(arena);
        return dm_error(diag, DM_NOMEM, (dm_place){path, 0}, NULL,
                        "out of memory");
    }
    b.job->arena = arena;
    dm_status status =
        text ? dm_xml_read_text(path, text, "job", dm_xsd_job, dm_xsd_job_size,
                                arena, diag, &b.xml)
             : dm_xml_read(path, "job", dm_xsd_job, dm_xsd_job_size, arena,
                           diag, &b.xml);
    if (status == DM_OK) {
        status = read_all(&b);
        if (status == DM_NOMEM)
            dm_error(diag, DM_NOMEM, (dm_place){path, 0}, NULL,
                     "out of memory");
    }
    dm_xml_free(b.xml);
    if (status != DM_OK) {
        dm_arena_free(arena);
        return status;
    }
    *out = b.job;
    return DM_OK;
}

dm_status dm_job_read(const char *path, dm_diag *diag, dm_job **out)
{
    return read_job(path, NULL, diag, out);
}

dm_status dm_job_read_text(const char *path, const dm_buf *text, dm_diag *diag,
                           dm_job **out)
{
    return read_job(path, text, diag, out);
}

void dm_job_free(dm_job *job)
{
    if (job)
        dm_arena_free(job->arena);
}
