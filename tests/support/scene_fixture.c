/* SPDX-License-Identifier: MIT
 * Geometry: anchorages and intersection points of a textbook tendon, moved to
 * coordinates as large as a national grid's, so that tests see what single
 * precision would do to them. */
#include "scene_fixture.h"

#include <stdlib.h>
#include <string.h>

#define EAST 500000.0
#define NORTH 6600000.0
#define UP 100.0
#define OD 0.1143

static const dm_vec3 corner[4] = {{0.0, 0.0, 2.0},
                                  {12.0, 0.30, 0.45},
                                  {27.0, 0.30, 0.45},
                                  {40.0, -0.10, 2.10}};

static void fill_model(scene_fixture *f)
{
    dm_arena *a = f->arena;
    dm_model *m = &f->model;
    static const dm_external_id owner[] = {{"owner", "B <7> & \"x\""}};

    m->file = "bridge.xml";
    m->sha256 = "00000000000000000000000000000000"
                "00000000000000000000000000000000";
    m->uid = "3d9c6a52-54a1-4f0e-9f0f-2a0c5b7f1e11";
    m->id = "B1";
    m->name = "M\xc3\xbchlbach \"test\" bridge";
    m->epsg = 25832;
    m->vertical_epsg = 7837;
    m->direction = (dm_vec3){1.0, 0.0, 0.0};
    m->external.items = DM_NEW_ARRAY(a, dm_external_id, 1);
    m->external.items[0] = owner[0];
    m->external.count = 1;
    m->part_count = 2;
    m->parts = DM_NEW_ARRAY(a, dm_part, 2);
    m->parts[0] = (dm_part){.id = "S1", .kind = "span", .parent = DM_NONE};
    m->parts[1] = (dm_part){.id = "C1", .kind = "cell", .parent = 0};
    m->duct_type_count = 2;
    m->duct_types = DM_NEW_ARRAY(a, dm_duct_type, 2);
    m->duct_types[0] = (dm_duct_type){.id = "pe",
                                      .material = "hdpe",
                                      .od = OD,
                                      .wall = 0.0067,
                                      .wall_min = 0.0063};
    m->duct_types[1] = (dm_duct_type){
        .id = "steel", .material = "steel", .od = OD, .wall = 0.004};
    m->strand_type_count = 1;
    m->strand_types = DM_NEW_ARRAY(a, dm_strand_type, 1);
    m->strand_types[0] = (dm_strand_type){"s15", 0.01524, 140e-6, {0}};
    m->deviator_type_count = 1;
    m->deviator_types = DM_NEW_ARRAY(a, dm_deviator_type, 1);
    m->deviator_types[0] = (dm_deviator_type){
        .id = "bent", .kind = DM_DEVIATOR_PIPE, .radius = 3.0};
}

static dm_face make_face(const char *id, size_t support, dm_side side,
                         dm_vec3 origin, double t)
{
    dm_face face = {0};

    face.id = id;
    face.support = support;
    face.side = side;
    face.origin = origin;
    face.normal = (dm_vec3){(double)side, 0.0, 0.0};
    face.normal_assumed = true;
    face.u = 0.015;
    face.touchable = true;
    face.t = t;
    return face;
}

static void fill_supports(scene_fixture *f, dm_tendon *t, const dm_vec3 *p,
                          const size_t *arc)
{
    static const char *const id[4] = {"A1", "D1", "D2", "A2"};
    static const char *const back[4] = {"", "D1b", "D2b", "A2f"};
    static const char *const ahead[4] = {"A1f", "D1a", "D2a", ""};
    size_t i, n = 0;

    t->supports = DM_NEW_ARRAY(f->arena, dm_support, 4);
    t->support_count = 4;
    t->faces = DM_NEW_ARRAY(f->arena, dm_face, 6);
    for (i = 0; i < 4; i++) {
        dm_support *s = &t->supports[i];
        bool deviator = i == 1 || i == 2;
        double half = deviator ? 0.5 : 0.0;

        s->id = id[i];
        s->kind = deviator ? DM_SUPPORT_DEVIATOR : DM_SUPPORT_ANCHORAGE;
        s->deviator_type = deviator ? 0 : DM_NONE;
        s->point = p[i];
        s->arc = deviator ? arc[i] : DM_NONE;
        s->t = i == 0 ? 0.0 : t->line.length;
        s->readable_back = s->readable_ahead = (double)NAN;
        if (deviator) {
            const dm_segment *g = &t->line.segments[arc[i]];

            s->radius = 3.0;
            s->deflection = g->length * g->kappa;
            s->t = g->t0 + 0.5 * g->length;
        }
        if (back[i][0] != '\0')
            t->faces[n++] = make_face(back[i], i, DM_SIDE_BACK,
                                      (dm_vec3){p[i].x - half, p[i].y, p[i].z},
                                      s->t - half);
        if (ahead[i][0] != '\0')
            t->faces[n++] = make_face(ahead[i], i, DM_SIDE_AHEAD,
                                      (dm_vec3){p[i].x + half, p[i].y, p[i].z},
                                      s->t + half);
    }
    t->face_count = n;
}

static bool fill_tendon(scene_fixture *f, size_t index)
{
    static const double radius[4] = {0.0, 3.0, 3.0, 0.0};
    dm_tendon *t = &f->model.tendons[index];
    dm_segment *segments =
        DM_NEW_ARRAY(f->arena, dm_segment, dm_centreline_capacity(4));
    size_t arc[4], where, i;
    dm_vec3 p[4];

    for (i = 0; i < 4; i++)
        p[i] =
            dm_vec3_add(corner[i], (dm_vec3){EAST, NORTH - (double)index, UP});
    if (segments == NULL ||
        dm_centreline_build(p, radius, 4, segments, arc, &t->line, &where) !=
            DM_POLYGON_OK)
        return false;
    t->line.vertical_limit = 0.1745;
    t->id = index == 0 ? "T1" : "T2";
    t->name = index == 0 ? "left tendon" : "right tendon";
    t->where = "left web";
    t->part = index == 0 ? 1 : DM_NONE;
    t->strands = 19;
    fill_supports(f, t, p, arc);
    t->ducts = DM_NEW_ARRAY(f->arena, dm_duct_length, 1);
    t->ducts[0] = (dm_duct_length){.from = 0.0, .to = t->line.length};
    t->duct_count = 1;
    t->fixtures = DM_NEW_ARRAY(f->arena, dm_fixture, 1);
    t->fixtures[0] = (dm_fixture){.id = "C1",
                                  .kind = DM_FIXTURE_COLLAR,
                                  .from = 6.0,
                                  .to = 6.2,
                                  .clock_to = 6.283185307179586};
    t->fixture_count = 1;
    return true;
}

static void fill_survey(scene_fixture *f)
{
    dm_survey *s = &f->survey;

    s->survey = "first survey";
    s->date = "2030-05-01";
    s->instruments = DM_NEW_ARRAY(f->arena, dm_instrument, 1);
    s->instrument_count = 1;
    s->instruments[0].id = "I1";
    s->instruments[0].channels = DM_NEW_ARRAY(f->arena, dm_channel, 1);
    s->instruments[0].channel_count = 1;
    s->instruments[0].channels[0] = (dm_channel){
        .id = "c", .footprint_along = 0.1, .footprint_around = 0.06};
    s->runs = DM_NEW_ARRAY(f->arena, dm_run, 1);
    s->run_count = 1;
    s->runs[0].id = "R1";
}

static void fill_criteria(scene_fixture *f)
{
    dm_criteria *c = &f->criteria;

    c->id = "K";
    c->owner = "nobody";
    c->date = "2030-01-01";
    c->file = "criteria.xml";
    c->sha256 = f->model.sha256;
    c->grade_count = 3;
    c->grades = DM_NEW_ARRAY(f->arena, dm_grade, 3);
    c->grades[0] = (dm_grade){"large", true, NULL};
    c->grades[1] = (dm_grade){"medium", true, NULL};
    c->grades[2] = (dm_grade){"small", false, NULL};
}

static void fill_profile(dm_profile *p, dm_arena *a, double clock)
{
    size_t i;

    p->clock = clock;
    p->from = 0.4;
    p->pitch = 0.02;
    p->count = 560;
    p->index = DM_NEW_ARRAY(a, float, p->count);
    for (i = 0; i < p->count; i++) {
        double t = p->from + 0.02 * (double)i;

        p->index[i] = t > 9.0 && t < 9.6   ? 0.9f
                      : t > 4.0 && t < 4.3 ? -0.5f
                                           : 0.0f;
    }
}

static dm_end make_end(double t, bool open)
{
    dm_end end = {.t = t,
                  .u = 0.02,
                  .u_edge = 0.004,
                  .face_back = 0,
                  .face_ahead = 1,
                  .u_back = 0.012,
                  .u_ahead = 0.011,
                  .tip_low = open ? (double)NAN : 0.0125,
                  .tip_high = open ? (double)NAN : 0.08,
                  .open = open};

    return end;
}

static void fill_indications(scene_fixture *f, dm_indications *found)
{
    static const dm_cover_length cover[] = {
        {0.0, 0.4, DM_COVER_NOT_TESTED, DM_WHY_SUPPORT, "anchorage"},
        {0.4, 6.0, DM_COVER_TESTED, DM_WHY_NONE, ""},
        {6.0, 6.2, DM_COVER_NOT_TESTED, DM_WHY_OBSTRUCTION, "collar C1"},
        {6.2, 9.6, DM_COVER_TESTED, DM_WHY_NONE, ""},
        {9.6, 10.4, DM_COVER_NOT_VALID, DM_WHY_LIFT_OFF, "lift-off"},
        {10.4, 11.6, DM_COVER_STRAND_MASKED, DM_WHY_STRAND, "strand side"},
        {11.6, 13.0, DM_COVER_NOT_TESTED, DM_WHY_SUPPORT, "inside deviator D1"},
        {13.0, 26.4, DM_COVER_NOT_RECONCILED, DM_WHY_NOT_CLOSED, "run R1"}};
    const size_t n = sizeof cover / sizeof *cover;
    double length = f->model.tendons[0].line.length;
    dm_indication *item;
    size_t i;

    found->cover = DM_NEW_ARRAY(f->arena, dm_cover_length, n + 1);
    memcpy(found->cover, cover, sizeof cover);
    found->cover[n] = (dm_cover_length){26.4, length, DM_COVER_NOT_TESTED,
                                        DM_WHY_NOT_WALKED, "not walked"};
    found->cover_count = n + 1;
    for (i = 0; i <= n; i++) {
        double part = found->cover[i].to - found->cover[i].from;

        found->cover_sum[found->cover[i].cover] += part;
        found->why_sum[found->cover[i].why] += part;
    }
    found->cover_lines = DM_NEW_ARRAY(f->arena, dm_cover_line, 1);
    found->cover_line_count = 1;
    found->cover_lines[0] = (dm_cover_line){.clock = 1.5707963267948966,
                                            .width = 0.04,
                                            .lengths = found->cover,
                                            .count = n + 1};
    memcpy(found->cover_lines[0].sum, found->cover_sum,
           sizeof found->cover_sum);
    memcpy(found->cover_lines[0].why_sum, found->why_sum,
           sizeof found->why_sum);
    found->profile_count = 2;
    found->profiles = DM_NEW_ARRAY(f->arena, dm_profile, 2);
    fill_profile(&found->profiles[0], f->arena, 0.0);
    fill_profile(&found->profiles[1], f->arena, 1.5707963267948966);
    found->count = 1;
    found->items = DM_NEW_ARRAY(f->arena, dm_indication, 1);
    item = &found->items[0];
    strcpy(item->uid, "11111111-2222-5333-8444-555555555555");
    item->key = "T1-I01";
    item->kind = DM_KIND_VOID_LIKE;
    item->from = make_end(9.0, false);
    item->to = make_end(9.6, true);
    item->index = 0.9;
    item->index_u = 0.03;
    item->reconciled = true;
    item->runs = DM_NEW_ARRAY(f->arena, size_t, 1);
    item->run_count = 1;
    item->grade = 1;
    item->rule = DM_NONE;
    item->first_survey = "first survey";
}

static void fill_tap(scene_fixture *f, dm_taps *taps)
{
    const dm_centreline *line = &f->model.tendons[0].line;
    dm_frame frame = dm_centreline_frame(line, 9.3);
    dm_tap *tap;

    taps->count = 1;
    taps->items = DM_NEW_ARRAY(f->arena, dm_tap, 1);
    taps->indication_count = 1;
    taps->tapped = DM_NEW_ARRAY(f->arena, dm_tapped, 1);
    taps->tapped[0] = (dm_tapped){0, ""};
    tap = &taps->items[0];
    strcpy(tap->uid, "66666666-7777-5888-8999-aaaaaaaaaaaa");
    tap->id = "T1-I01-A";
    tap->why = "middle of the aim interval";
    tap->warning = "";
    tap->t = 9.3;
    tap->u_world = 0.02;
    tap->aim_from = 9.1;
    tap->aim_to = 9.5;
    tap->axis = frame.point;
    tap->surface = dm_frame_surface(&frame, 0.5 * OD, 0.0);
    tap->outward = frame.crown;
    tap->back = (dm_tape){0, 9.3, 0.012};
    tap->ahead = (dm_tape){1, 2.3, 0.012};
    tap->faces_apart = 11.6;
    tap->mark_face = 1;
    tap->depth_stop = 0.0063;
    tap->wall_min = 0.0063;
    tap->p_enter = 0.97;
}

scene_fixture *scene_fixture_new(void)
{
    scene_fixture *f = calloc(1, sizeof *f);
    dm_indications *found;
    dm_taps *taps;

    if (f == NULL)
        return NULL;
    f->arena = dm_arena_new();
    fill_model(f);
    f->model.tendons = DM_NEW_ARRAY(f->arena, dm_tendon, FIXTURE_TENDONS);
    f->model.tendon_count = FIXTURE_TENDONS;
    if (!fill_tendon(f, 0) || !fill_tendon(f, 1)) {
        scene_fixture_free(f);
        return NULL;
    }
    fill_survey(f);
    fill_criteria(f);
    found = DM_NEW(f->arena, dm_indications);
    taps = DM_NEW(f->arena, dm_taps);
    fill_indications(f, found);
    fill_tap(f, taps);
    f->results[0].indications = found;
    f->results[0].taps = taps; /* the second tendon has no results */
    f->job.file = "job.xml";
    f->job.sha256 = f->model.sha256;
    f->job.date = "2030-06-01";
    f->job.settings.coverage_factor = 2.0;
    f->job.settings.mesh_sagitta = 1e-4;
    f->job.settings.mesh_sides = 24;
    f->delivery.job = &f->job;
    f->delivery.model = &f->model;
    f->delivery.survey = &f->survey;
    f->delivery.criteria = &f->criteria;
    f->delivery.results = f->results;
    return f;
}

void scene_fixture_free(scene_fixture *fixture)
{
    if (fixture == NULL)
        return;
    dm_arena_free(fixture->arena);
    free(fixture);
}
