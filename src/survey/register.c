/* SPDX-License-Identifier: MIT
 * The register of indications, as an earlier run wrote it. */
#include <math.h>
#include <string.h>
#include <strings.h>

#include "base/diag.h"
#include "ductmark/job.h"
#include "model/schemas.h"
#include "survey/read.h"

const char *dm_state_text(dm_state state)
{
    static const char *const text[] = {"indicated", "confirmed", "refuted"};

    return text[state];
}

static const char *tendon_of(dm_xml *x, const dm_xml_node *n,
                             const dm_model *model)
{
    const char *id = dm_xml_text(x, n, "tendon", "");

    if (dm_model_find_tendon(model, id) == DM_NONE)
        dm_xml_fault(x, n, DM_REFERENCE, "no tendon '%s' in the bridge %s", id,
                     model->id);
    return id;
}

static bool read_opening(dm_xml *x, const dm_xml_node *n, const char *tendon,
                         dm_arena *arena, dm_opening *o)
{
    const double nan = (double)NAN;

    o->id = dm_xml_text(x, n, "id", "");
    o->survey = dm_xml_text(x, n, "survey", "");
    o->tendon = tendon;
    o->t = dm_xml_length(x, n, "at", -10.0, 1e5, 0.0);
    o->u = dm_xml_length(x, n, "u", 0.0, 10.0, 0.0);
    o->clock = dm_xml_clock(x, n, "clock", 0.0);
    o->found = (dm_finding)dm_xml_word(x, n, "found", dm_finding_words,
                                       DM_FOUND_OTHER);
    o->depth = dm_xml_length(x, n, "depth", 0.0, 1.0, nan);
    o->water = dm_xml_bool(x, n, "water", false);
    o->strand = dm_xml_bool(x, n, "strand", false);
    o->pressures = dm_pressures_read(x, dm_xml_child(n, "pressure-volume"));
    /* As it was written: so it is written again. */
    o->pressures.volume =
        dm_xml_volume(x, n, "volume", 0.0, 100.0, o->pressures.volume);
    o->tap = dm_xml_text(x, n, "tap", NULL);
    o->photo = dm_xml_text(x, n, "photo", NULL);
    o->date = dm_xml_text(x, n, "date", "");
    return dm_opened_note(x, n, arena, &o->note);
}

/* The `opened` elements of an entry, or of the register (`tendon` NULL: each
 * names its own). NULL: no memory. */
static dm_opening *read_openings(dm_xml *x, const dm_xml_node *parent,
                                 const dm_model *model, dm_arena *arena,
                                 const char *tendon, size_t *count)
{
    dm_opening *list =
        DM_NEW_ARRAY(arena, dm_opening, dm_xml_count(parent, "opened"));

    *count = 0;
    for (const dm_xml_node *n = dm_xml_child(parent, "opened");
         list != NULL && n != NULL; n = dm_xml_next(n, "opened"))
        if (!read_opening(x, n,
                          tendon != NULL ? tendon : tendon_of(x, n, model),
                          arena, &list[(*count)++]))
            return NULL;
    return list;
}

static bool read_entry(dm_xml *x, const dm_xml_node *n, const dm_model *model,
                       dm_arena *arena, dm_entry *e)
{
    static const char *const kinds[] = {"sound-like", "void-like", "soft-like",
                                        "unresolved", NULL};
    static const char *const states[] = {"indicated", "confirmed", "refuted",
                                         NULL};
    e->uid = dm_xml_text(x, n, "uid", "");
    e->key = dm_xml_text(x, n, "key", "");
    e->kind = (dm_kind)dm_xml_word(x, n, "kind", kinds, 0);
    e->from = dm_xml_length(x, n, "from", -10.0, 1e5, 0.0);
    e->to = dm_xml_length(x, n, "to", -10.0, 1e5, 0.0);
    e->u_from = dm_xml_length(x, n, "u-from", 0.0, 10.0, 0.0);
    e->u_to = dm_xml_length(x, n, "u-to", 0.0, 10.0, 0.0);
    e->clock = dm_xml_clock(x, n, "clock", 0.0);
    e->first_survey = dm_xml_text(x, n, "first-survey", "");
    e->last_survey = dm_xml_text(x, n, "last-survey", "");
    e->state = (dm_state)dm_xml_word(x, n, "state", states, 0);
    e->state_date = dm_xml_text(x, n, "state-date", NULL);
    if (e->to < e->from)
        dm_xml_fault(x, n, DM_INCONSISTENT, "entry %s ends before it begins",
                     e->key);
    e->tendon = tendon_of(x, n, model);
    e->openings =
        read_openings(x, n, model, arena, e->tendon, &e->opening_count);
    return e->openings != NULL;
}

static dm_status read_all(dm_xml *x, const dm_model *model, dm_register *r)
{
    const dm_xml_node *root = dm_xml_root(x);
    r->file = dm_xml_file(x);
    r->sha256 = dm_xml_sha256(x);
    r->bridge = dm_xml_text(x, root, "bridge", "");
    if (strcasecmp(r->bridge, model->uid) != 0)
        dm_xml_fault(x, root, DM_INCONSISTENT,
                     "the register is of the bridge %s, but the bridge file "
                     "is %s",
                     r->bridge, model->uid);
    r->entries = DM_NEW_ARRAY(r->arena, dm_entry, dm_xml_count(root, "entry"));
    if (!r->entries)
        return DM_NOMEM;
    for (const dm_xml_node *n = dm_xml_child(root, "entry"); n;
         n = dm_xml_next(n, "entry"))
        if (!read_entry(x, n, model, r->arena, &r->entries[r->count++]))
            return DM_NOMEM;
    r->openings =
        read_openings(x, root, model, r->arena, NULL, &r->opening_count);
    if (!r->openings)
        return DM_NOMEM;
    return dm_xml_status(x);
}

/* `text` NULL: the file is read. */
static dm_status read_register(const char *path, const dm_buf *text,
                               const dm_model *model, dm_diag *diag,
                               dm_register **out)
{
    *out = NULL;
    dm_arena *arena = dm_arena_new();
    dm_register *r = arena ? DM_NEW(arena, dm_register) : NULL;
    dm_xml *xml = NULL;
    if (!r) {
        dm_arena_free(arena);
        return dm_error(diag, DM_NOMEM, (dm_place){path, 0}, NULL,
                        "out of memory");
    }
    r->arena = arena;
    dm_status status =
        text ? dm_xml_read_text(path, text, "register", dm_xsd_register,
                                dm_xsd_register_size, arena, diag, &xml)
             : dm_xml_read(path, "register", dm_xsd_register,
                           dm_xsd_register_size, arena, diag, &xml);
    if (status == DM_OK) {
        status = read_all(xml, model, r);
        if (status == DM_NOMEM)
            dm_error(diag, DM_NOMEM, (dm_place){path, 0}, NULL,
                     "out of memory");
    }
    dm_xml_free(xml);
    if (status != DM_OK) {
        dm_arena_free(arena);
        return status;
    }
    *out = r;
    return DM_OK;
}

dm_status dm_register_read(const char *path, const dm_model *model,
                           dm_diag *diag, dm_register **out)
{
    return read_register(path, NULL, model, diag, out);
}

dm_status dm_register_read_text(const char *path, const dm_buf *text,
                                const dm_model *model, dm_diag *diag,
                                dm_register **out)
{
    return read_register(path, text, model, diag, out);
}

void dm_register_free(dm_register *reg)
{
    if (reg)
        dm_arena_free(reg->arena);
}
