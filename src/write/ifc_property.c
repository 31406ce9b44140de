/* SPDX-License-Identifier: MIT
 * Property sets and identity. Each object's set is written as the scene has
 * it, lengths in metres, angles in degrees with their unit; ids that others
 * gave it stand in DM_ExternalIds. An owner's GlobalId becomes the element's
 * own where it is well-formed and nobody else in the file has it; the uid then
 * stands beside it. */
#include "write/ifc.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "ductmark/ductmark.h"
#include "write/provenance.h"

#define LABEL_MAX 255 /* characters of IfcLabel and IfcIdentifier */

const dm_property *dm_ifc_property(const dm_object *object, const char *name)
{
    size_t i;

    for (i = 0; i < object->property_count; i++)
        if (strcmp(object->properties[i].name, name) == 0)
            return &object->properties[i];
    return NULL;
}

/* ---- values ----------------------------------------------------------- */

static void put_typed_text(dm_step *s, const char *type, const char *text)
{
    if (dm_step_characters(text) > LABEL_MAX)
        type = "IFCTEXT";
    dm_step_typed(s, type);
    dm_step_text(s, text);
    dm_step_close(s);
}

static void put_value(dm_step *s, const dm_property *p)
{
    switch (p->kind) {
    case DM_VALUE_TEXT:
        put_typed_text(s, "IFCLABEL", p->text);
        return;
    case DM_VALUE_DATE:
        dm_step_typed(s, "IFCDATE");
        dm_step_text(s, p->text);
        break;
    case DM_VALUE_PROSE:
        dm_step_typed(s, "IFCTEXT");
        dm_step_text(s, p->text);
        break;
    case DM_VALUE_FILE:
        dm_step_typed(s, "IFCURIREFERENCE");
        dm_step_text(s, p->text);
        break;
    case DM_VALUE_BOOL:
        dm_step_typed(s, "IFCBOOLEAN");
        dm_step_bool(s, p->number != 0.0);
        break;
    case DM_VALUE_INT:
        dm_step_typed(s, "IFCINTEGER");
        dm_step_int(s, (int64_t)p->number);
        break;
    case DM_VALUE_REAL:
        dm_step_typed(s, "IFCREAL");
        dm_step_real(s, p->number);
        break;
    case DM_VALUE_LENGTH: /* to 1 um */
        dm_step_typed(s, "IFCLENGTHMEASURE");
        dm_step_fixed(s, p->number, 6);
        break;
    case DM_VALUE_ANGLE:
        dm_step_typed(s, "IFCPLANEANGLEMEASURE");
        dm_step_fixed(s, p->number, 4);
        break;
    case DM_VALUE_VOLUME:
        dm_step_typed(s, "IFCVOLUMEMEASURE");
        dm_step_real(s, p->number);
        break;
    case DM_VALUE_PRESSURE:
        dm_step_typed(s, "IFCPRESSUREMEASURE");
        dm_step_real(s, p->number);
        break;
    }
    dm_step_close(s);
}

static bool has_value(const dm_property *p)
{
    if (p->kind == DM_VALUE_TEXT || p->kind == DM_VALUE_DATE ||
        p->kind == DM_VALUE_PROSE || p->kind == DM_VALUE_FILE)
        return p->text != NULL;
    return isfinite(p->number);
}

/* Instances of one set get consecutive numbers: only the first is kept. */
static void put_property(dm_ifc *w, const dm_property *p)
{
    dm_step *s = &w->step;

    dm_step_begin(s, "IFCPROPERTYSINGLEVALUE");
    dm_step_text(s, p->name);
    dm_step_unset(s);
    put_value(s, p);
    dm_step_ref(s, p->kind == DM_VALUE_ANGLE ? w->degree : 0);
    dm_step_end(s);
}

/* IfcPropertySet of the instances first .. last, on one or two objects. */
static void put_set(dm_ifc *w, const char *name, const char *uid,
                    dm_step_id first, dm_step_id last, dm_step_id product,
                    dm_step_id also)
{
    dm_step *s = &w->step;
    dm_step_id set, i;
    char guid[23];

    dm_ifc_guid(w, name, uid, guid);
    set = dm_ifc_root(w, "IFCPROPERTYSET", guid, name, NULL);
    dm_step_open(s);
    for (i = first; i <= last; i++)
        dm_step_ref(s, i);
    dm_step_close(s);
    dm_step_end(s);
    dm_ifc_guid(w, "defines", guid, guid);
    dm_ifc_root(w, "IFCRELDEFINESBYPROPERTIES", guid, NULL, NULL);
    dm_step_open(s);
    dm_step_ref(s, product);
    if (also != 0)
        dm_step_ref(s, also);
    dm_step_close(s);
    dm_step_ref(s, set);
    dm_step_end(s);
}

static void put_list(dm_ifc *w, const char *name, const char *type,
                     const char *const *values, size_t count)
{
    dm_step *s = &w->step;
    size_t i;

    dm_step_begin(s, "IFCPROPERTYLISTVALUE");
    dm_step_text(s, name);
    dm_step_unset(s);
    dm_step_open(s);
    for (i = 0; i < count; i++)
        put_typed_text(s, type, values[i]);
    dm_step_close(s);
    dm_step_unset(s);
    dm_step_end(s);
}

/* ---- an object's sets ------------------------------------------------- */

static bool first_of_scheme(const dm_external_ids *ids, size_t item)
{
    size_t i;

    for (i = 0; i < item; i++)
        if (strcmp(ids->items[i].scheme, ids->items[item].scheme) == 0)
            return false;
    return true;
}

/* One property a scheme, with every id of that scheme. */
static void put_external(dm_ifc *w, const dm_external_ids *ids)
{
    dm_step *s = &w->step;
    size_t i, k;

    for (i = 0; i < ids->count; i++) {
        if (!first_of_scheme(ids, i))
            continue;
        dm_step_begin(s, "IFCPROPERTYLISTVALUE");
        dm_step_text(s, ids->items[i].scheme);
        dm_step_unset(s);
        dm_step_open(s);
        for (k = i; k < ids->count; k++)
            if (strcmp(ids->items[k].scheme, ids->items[i].scheme) == 0)
                put_typed_text(s, "IFCIDENTIFIER", ids->items[k].value);
        dm_step_close(s);
        dm_step_unset(s);
        dm_step_end(s);
    }
}

void dm_ifc_properties(dm_ifc *w, size_t object, dm_step_id product,
                       dm_step_id also)
{
    const dm_object *o = &w->scene->objects[object];
    dm_property uid = {"Uid", DM_VALUE_TEXT, o->uid, 0.0};
    dm_step_id first = w->step.last + 1;
    size_t i;

    for (i = 0; i < o->property_count; i++)
        if (has_value(&o->properties[i]))
            put_property(w, &o->properties[i]);
    if (w->step.last >= first)
        put_set(w, o->set, o->uid, first, w->step.last, product, also);
    if (o->external.count == 0)
        return;
    first = w->step.last + 1;
    put_property(w, &uid);
    put_external(w, &o->external);
    put_set(w, "DM_ExternalIds", o->uid, first, w->step.last, product, 0);
}

/* ---- provenance ------------------------------------------------------- */

static void put_text(dm_ifc *w, const char *name, dm_value_kind kind,
                     const char *text)
{
    dm_property p = {name, kind, text, 0.0};

    if (text != NULL && text[0] != '\0')
        put_property(w, &p);
}

static bool put_inputs(dm_ifc *w)
{
    const char **text;
    dm_input *inputs;
    size_t i, k, count;

    if (dm_inputs(w->delivery, w->arena, &inputs, &count) != DM_OK)
        return false;
    text = DM_NEW_ARRAY(w->arena, const char *, count);
    if (text == NULL)
        return false;
    for (k = 0; k < 3 && count > 0; k++) {
        static const char *const name[3] = {"InputRoles", "InputFiles",
                                            "InputSha256"};

        for (i = 0; i < count; i++)
            text[i] = k == 0   ? inputs[i].role
                      : k == 1 ? inputs[i].file
                               : inputs[i].sha256;
        put_list(w, name[k], "IFCLABEL", text, count);
    }
    return true;
}

static bool put_rules(dm_ifc *w, const dm_criteria *c)
{
    const char **text;
    dm_buf buf = {0};
    size_t i;

    text = DM_NEW_ARRAY(w->arena, const char *, c->rule_count);
    for (i = 0; text != NULL && i < c->rule_count; i++) {
        dm_buf_clear(&buf);
        dm_rule_text(c, &c->rules[i], &buf);
        if (!buf.failed)
            text[i] = dm_arena_strdup(w->arena, buf.data);
        if (buf.failed || text[i] == NULL)
            text = NULL;
    }
    dm_buf_free(&buf);
    if (text != NULL && c->rule_count > 0)
        put_list(w, "CriteriaRules", "IFCTEXT", text, c->rule_count);
    return text != NULL;
}

void dm_ifc_provenance(dm_ifc *w, dm_step_id bridge)
{
    const dm_delivery *d = w->delivery;
    const char *const *cautions = dm_cautions();
    dm_step_id first = w->step.last + 1;
    size_t count = 0;

    put_text(w, "Tool", DM_VALUE_TEXT, "ductmark");
    put_text(w, "ToolVersion", DM_VALUE_TEXT, dm_version());
    if (d->job != NULL) {
        put_text(w, "Job", DM_VALUE_TEXT, d->job->uid);
        put_text(w, "JobDate", DM_VALUE_DATE, d->job->date);
    }
    if (!put_inputs(w))
        w->failed = true;
    if (d->criteria != NULL) {
        put_text(w, "Criteria", DM_VALUE_TEXT, d->criteria->id);
        put_text(w, "CriteriaOwner", DM_VALUE_TEXT, d->criteria->owner);
        put_text(w, "CriteriaDate", DM_VALUE_DATE, d->criteria->date);
        if (!put_rules(w, d->criteria))
            w->failed = true;
    }
    while (cautions[count] != NULL)
        count++;
    put_list(w, "Cautions", "IFCTEXT", cautions, count);
    put_set(w, "DM_Provenance", w->scene->objects[0].uid, first, w->step.last,
            bridge, 0);
}

/* ---- identity --------------------------------------------------------- */

typedef struct {
    char guid[23];
    bool external; /* given by the owner, not made from the uid */
    size_t object;
} claim;

static bool is_guid(const char *text)
{
    static const char digits[] = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
                                 "abcdefghijklmnopqrstuvwxyz_$";

    return strlen(text) == 22 && strspn(text, digits) == 22 && text[0] <= '3';
}

static int compare(const void *a, const void *b)
{
    const claim *x = a, *y = b;
    int order = strcmp(x->guid, y->guid);

    if (order != 0)
        return order;
    if (x->external != y->external)
        return x->external ? -1 : 1;
    return x->object < y->object ? -1 : x->object > y->object;
}

/* Claims first .. end name one GlobalId, those of owners first. It is given
 * if one owner names it and no other object has it from its uid. */
static void settle(dm_ifc *w, const claim *first, const claim *end)
{
    const claim *c;

    if (!first->external)
        return;
    for (c = first + 1; c < end; c++)
        if (c->external || c->object != first->object)
            return;
    memcpy(w->guid[first->object], first->guid, sizeof first->guid);
}

dm_status dm_ifc_identify(dm_ifc *w)
{
    const dm_scene *s = w->scene;
    size_t i, from, n = 0;
    const char *owners;
    claim *claims;
    dm_uuid uid;

    claims = calloc(s->object_count, 2 * sizeof *claims);
    if (claims == NULL)
        return DM_NOMEM;
    for (i = 0; i < s->object_count; i++) {
        if (!dm_uuid_parse(s->objects[i].uid, &uid)) {
            free(claims);
            return DM_SYNTAX;
        }
        dm_uuid_ifc(uid, w->guid[i]);
        memcpy(claims[n].guid, w->guid[i], sizeof claims[n].guid);
        claims[n++].object = i;
        owners = dm_external_find(&s->objects[i].external, "ifc-guid");
        if (owners == NULL || !is_guid(owners))
            continue;
        memcpy(claims[n].guid, owners, sizeof claims[n].guid);
        claims[n].external = true;
        claims[n++].object = i;
    }
    qsort(claims, n, sizeof *claims, compare);
    for (from = 0; from < n; from = i) {
        for (i = from + 1;
             i < n && strcmp(claims[i].guid, claims[from].guid) == 0; i++)
            ;
        settle(w, claims + from, claims + i);
    }
    free(claims);
    return DM_OK;
}
