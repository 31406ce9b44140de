/* SPDX-License-Identifier: MIT
 * Bytes as a bridge file. A model that is accepted must hold what its header
 * promises: later stages rely on it without looking again. */
#include <math.h>

#include "fuzz.h"
#include "model/read.h"

static void check_tendon_of(const dm_model *m, const dm_tendon *t)
{
    double length = t->line.length, reached = 0.0;

    FUZZ_CHECK(t->support_count >= 2 && t->duct_count >= 1);
    FUZZ_CHECK(isfinite(length) && length > 0.0);
    FUZZ_CHECK(t->part == DM_NONE || t->part < m->part_count);
    for (size_t i = 0; i < t->support_count; i++) {
        const dm_support *s = &t->supports[i];
        FUZZ_CHECK(isfinite(s->t) && s->t >= 0.0 && s->t <= length + 1e-6);
        FUZZ_CHECK(i == 0 || isfinite(s->readable_back));
        FUZZ_CHECK(i + 1 == t->support_count || isfinite(s->readable_ahead));
    }
    for (size_t i = 0; i < t->face_count; i++) {
        const dm_face *f = &t->faces[i];
        FUZZ_CHECK(f->support < t->support_count);
        FUZZ_CHECK(i == 0 || f->t >= t->faces[i - 1].t);
        FUZZ_CHECK(fabs(dm_vec3_norm(f->normal) - 1.0) < 1e-9);
        FUZZ_CHECK(isfinite(dm_face_station(t, f, 0.05, 1.0)));
    }
    for (size_t i = 0; i < t->duct_count; i++) {
        FUZZ_CHECK(t->ducts[i].duct_type < m->duct_type_count);
        FUZZ_CHECK(t->ducts[i].from == reached);
        reached = t->ducts[i].to;
    }
    FUZZ_CHECK(reached == length);
    for (int i = 0; i <= 8; i++) {
        double at = length * i / 8.0;
        dm_vec3 p = dm_centreline_point(&t->line, at);
        FUZZ_CHECK(isfinite(p.x) && isfinite(p.y) && isfinite(p.z));
        FUZZ_CHECK(dm_tendon_duct(m, t, at)->od > 0.0);
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    dm_buf text = fuzz_text(data, size);
    dm_model *m = NULL;
    dm_diag diag = {0};
    dm_status status =
        dm_model_read_text("/nowhere/bridge.xml", &text, &diag, &m);

    FUZZ_CHECK((status == DM_OK) == (m != NULL));
    FUZZ_CHECK((status == DM_OK) == (diag.errors == 0));
    for (size_t i = 0; m && i < m->tendon_count; i++)
        check_tendon_of(m, &m->tendons[i]);
    dm_model_free(m);
    dm_buf_free(&text);
    return 0;
}
