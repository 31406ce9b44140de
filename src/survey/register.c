/* SPDX-License-Identifier: MIT
 * The register of indications, as an earlier run wrote it. */
#include <string.h>
#include <strings.h>

#include "base/diag.h"
#include "ductmark/job.h"
#include "model/schemas.h"
#include "survey/read.h"

static void read_entry(dm_xml *x, const dm_xml_node *n, const dm_model *model,
                       dm_entry *e)
{
    static const char *const kinds[] = {"sound-like", "void-like", "soft-like",
                                        "unresolved", NULL};
    static const char *const states[] = {"indicated", "confirmed", "refuted",
                                         NULL};
    e->uid = dm_xml_text(x, n, "uid", "");
    e->key = dm_xml_text(x, n, "key", "");
    e->tendon = dm_xml_text(x, n, "tendon", "");
    e->kind = (dm_kind)dm_xml_word(x, n, "kind", kinds, 0);
    e->from = dm_xml_length(x, n, "from", -10.0, 1e5, 0.0);
    e->to = dm_xml_length(x, n, "to", -10.0, 1e5, 0.0);
    e->u_from = dm_xml_length(x, n, "u-from", 0.0, 10.0, 0.0);
    e->u_to = dm_xml_length(x, n, "u-to", 0.0, 10.0, 0.0);
    e->clock = dm_xml_clock(x, n, "clock", 0.0);
    e->first_survey = dm_xml_text(x, n, "first-survey", "");
    e->last_survey = dm_xml_text(x, n, "last-survey", "");
    e->state = (dm_state)dm_xml_word(x, n, "state", states, 0);
    if (e->to < e->from)
        dm_xml_fault(x, n, DM_INCONSISTENT, "entry %s ends before it begins",
                     e->key);
    if (dm_model_find_tendon(model, e->tendon) == DM_NONE)
        dm_xml_fault(x, n, DM_REFERENCE, "no tendon '%s' in the bridge %s",
                     e->tendon, model->id);
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
        read_entry(x, n, model, &r->entries[r->count++]);
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
