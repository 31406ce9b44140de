/* SPDX-License-Identifier: MIT
 * See tap_bench.h. */
#include "tap_bench.h"

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
