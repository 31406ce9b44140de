/* SPDX-License-Identifier: MIT
 * See tap_bench.h. */
#include "tap_bench.h"

#include <math.h>
#include <stdlib.h>

tap_bench *tap_bench_new(void)
{
    tap_bench *b = calloc(1, sizeof *b);
    const dm_vec3 tangent = {0.8, 0.0, 0.6};

    if (b == NULL)
        abort();
    b->type = (dm_duct_type){.id = "P",
                             .material = "hdpe",
                             .od = OD,
                             .wall = 0.007,
                             .wall_min = 0.0067};
    b->duct = (dm_duct_length){.from = 0, .to = LENGTH};
    b->segment = (dm_segment){.length = LENGTH, .tangent = tangent};
    b->faces[0] = (dm_face){.id = "A1-f",
                            .side = DM_SIDE_AHEAD,
                            .origin = {0.8, 0.0, 0.6},
                            .normal = {1.0, 0.0, 0.0},
                            .touchable = true,
                            .t = 1.0};
    b->faces[1] = (dm_face){.id = "A2-f",
                            .side = DM_SIDE_BACK,
                            .origin = {15.2, 0.0, 11.4},
                            .normal = {-1.0, 0.0, 0.0},
                            .touchable = true,
                            .t = 19.0};
    b->tendon = (dm_tendon){.id = "T1",
                            .ducts = &b->duct,
                            .duct_count = 1,
                            .faces = b->faces,
                            .face_count = 2,
                            .fixtures = &b->fixture,
                            .strand_sides = &b->side};
    b->tendon.line = (dm_centreline){.segments = &b->segment,
                                     .count = 1,
                                     .length = LENGTH,
                                     .vertical_limit = 0.17};
    b->model.uid = "3c9f1e74-5b0c-4a77-9d0a-0c4f6a1e2b95";
    b->model.tendons = &b->tendon;
    b->model.tendon_count = 1;
    b->model.duct_types = &b->type;
    b->channel.footprint_along = 0.1;
    b->instrument.channels = &b->channel;
    b->instrument.channel_count = 1;
    b->channel.footprint_around = 0.06;
    b->survey.instruments = &b->instrument;
    b->survey.instrument_count = 1;
    b->survey.runs = &b->run;
    b->survey.run_count = 1;
    b->stations.face_shift = b->shift;
    b->stations.face_u = b->face_u;
    b->stations.face_cov = b->face_cov;
    b->grades[0] = (dm_grade){.label = "open", .tap = true};
    b->grades[1] = (dm_grade){.label = "look", .tap = false};
    b->criteria.grades = b->grades;
    b->criteria.grade_count = 2;
    b->cover[0] =
        (dm_cover_length){0.0, LENGTH, DM_COVER_TESTED, DM_WHY_NONE, ""};
    b->found.items = b->items;
    b->found.cover = b->cover;
    b->found.cover_count = 1;
    b->job.requests = &b->request;
    b->job.excludes = &b->exclude;
    b->job.settings.coverage_factor = 2.0;
    b->job.settings.tap_margin = 0.025;
    b->job.settings.fixture_margin = 0.05;
    b->job.settings.tap_merge = 0.1;
    b->job.settings.clock_u = 0.05;
    b->job.settings.bit = 0.008;
    b->job.settings.strand_room = 0.002;
    b->tendon.strand_type = 0;
    return b;
}

static dm_end end_at(double t, double u)
{
    return (dm_end){.t = t,
                    .u = 2.0 * u,
                    .u_edge = 0.5 * u,
                    .face_back = 0,
                    .face_ahead = 1,
                    .u_back = u,
                    .u_ahead = u};
}

dm_indication *tap_bench_add(tap_bench *b, double from, double to, double u)
{
    static const char *const key[] = {"T1-I01", "T1-I02", "T1-I03", "T1-I04"};
    dm_indication *i = &b->items[b->found.count];

    *i = (dm_indication){.key = key[b->found.count],
                         .uid = "b3a0e2f4-0000-5000-8000-000000000001",
                         .kind = DM_KIND_VOID_LIKE,
                         .from = end_at(from, u),
                         .to = end_at(to, u),
                         .index = 0.6,
                         .reconciled = true,
                         .runs = &b->run_index,
                         .run_count = 1};
    b->found.count++;
    return i;
}

dm_taps *tap_bench_place(tap_bench *b)
{
    dm_taps *taps = NULL;

    if (dm_taps_place(&b->model, &b->survey, &b->stations, &b->found,
                      &b->criteria, &b->job, NULL, NULL, &taps) != DM_OK)
        abort();
    return taps;
}

void tap_bench_turn(tap_bench *b, double from, double to, double u,
                    size_t first, size_t last)
{
    for (size_t i = 0; i < 72; i++)
        b->cells[i] = i >= first && i <= last ? -0.6 : 0.0;
    b->arc =
        (dm_arc){.from = from, .to = to, .u_from = u, .u_to = u, .index = 0.6};
    b->turn = (dm_turn){.t = 12.5,
                        .bore = 0.05,
                        .cell_count = 72,
                        .index = b->cells,
                        .noise = 0.02,
                        .arcs = &b->arc,
                        .arc_count = 1,
                        .apart = (double)NAN};
    b->found.turns = &b->turn;
    b->found.turn_count = 1;
}
