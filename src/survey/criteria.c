/* SPDX-License-Identifier: MIT
 * The owner's criteria. */
#include <math.h>
#include <string.h>

#include "base/diag.h"
#include "ductmark/job.h"
#include "model/schemas.h"
#include "survey/read.h"

#define MOST_GRADES ((size_t)100)

static void read_rule(dm_xml *xml, const dm_xml_node *n, dm_criteria *c,
                      dm_rule *r)
{
    static const char *const kinds[] = {"sound-like", "void-like", "soft-like",
                                        "unresolved", NULL};
    const double none = (double)NAN;
    const char *label = dm_xml_text(xml, n, "grade", "");
    for (size_t i = 0; i < c->grade_count; i++)
        if (strcmp(c->grades[i].label, label) == 0)
            r->grade = i;
    r->place = dm_xml_place(xml, n);
    r->has_kind = dm_xml_has(n, "kind");
    r->kind = (dm_kind)dm_xml_word(xml, n, "kind", kinds, 0);
    r->length_min = dm_xml_length(xml, n, "length-min", 0.0, 1e3, none);
    r->length_max = dm_xml_length(xml, n, "length-max", 0.0, 1e3, none);
    r->index_min = dm_xml_real(xml, n, "index-min", 0.0, 3.0, none);
    r->area_fraction_min =
        dm_xml_real(xml, n, "area-fraction-min", 0.0, 1.0, none);
    r->area_fraction_max =
        dm_xml_real(xml, n, "area-fraction-max", 0.0, 1.0, none);
    r->volume_min = dm_xml_volume(xml, n, "volume-min", 0.0, 100.0, none);
    r->open_ended = dm_xml_bool(xml, n, "open-ended", false);
    r->position = dm_xml_text(xml, n, "position", NULL);
    r->within = dm_xml_length(xml, n, "within", 0.0, 1e3, none);
    if (r->length_max < r->length_min)
        dm_xml_fault(xml, n, DM_INCONSISTENT,
                     "length-max is below length-min: the rule can never "
                     "match");
    if (r->area_fraction_max < r->area_fraction_min)
        dm_xml_fault(xml, n, DM_INCONSISTENT,
                     "area-fraction-max is below area-fraction-min: the rule "
                     "can never match");
    if (dm_xml_has(n, "within") && r->position == NULL)
        dm_xml_fault(xml, n, DM_INCONSISTENT,
                     "within what? position is missing");
}

/* A rule without a condition takes all: those behind it are never asked. */
static bool takes_all(const dm_rule *r)
{
    return !r->has_kind && !r->open_ended && r->position == NULL &&
           isnan(r->length_min) && isnan(r->length_max) &&
           isnan(r->index_min) && isnan(r->area_fraction_min) &&
           isnan(r->area_fraction_max) && isnan(r->volume_min);
}

static void read_rules(dm_xml *xml, const dm_xml_node *root, dm_criteria *c)
{
    const dm_rule *all = NULL;
    bool said = false;

    for (const dm_xml_node *n = dm_xml_child(root, "rule"); n;
         n = dm_xml_next(n, "rule")) {
        dm_rule *r = &c->rules[c->rule_count++];

        read_rule(xml, n, c, r);
        if (all != NULL && !said)
            dm_xml_warn(xml, n, "never reached: the rule at line %ld takes all",
                        all->place.line);
        said = all != NULL;
        if (all == NULL && takes_all(r))
            all = r;
    }
}

static dm_status read_all(dm_xml *xml, dm_criteria *c)
{
    const dm_xml_node *root = dm_xml_root(xml);
    c->file = dm_xml_file(xml);
    c->sha256 = dm_xml_sha256(xml);
    c->id = dm_xml_text(xml, root, "id", "");
    c->owner = dm_xml_text(xml, root, "owner", "");
    c->date = dm_xml_text(xml, root, "date", "");
    c->grades = DM_NEW_ARRAY(c->arena, dm_grade, dm_xml_count(root, "grade"));
    c->rules = DM_NEW_ARRAY(c->arena, dm_rule, dm_xml_count(root, "rule"));
    if (!c->grades || !c->rules)
        return DM_NOMEM;
    for (const dm_xml_node *n = dm_xml_child(root, "grade"); n;
         n = dm_xml_next(n, "grade"))
        c->grades[c->grade_count++] =
            (dm_grade){.label = dm_xml_text(xml, n, "label", ""),
                       .tap = dm_xml_bool(xml, n, "tap", false),
                       .colour = dm_xml_text(xml, n, "colour", NULL)};
    if (c->grade_count > MOST_GRADES)
        return dm_xml_fault(xml, root, DM_RANGE,
                            "%zu grade elements, expected at most %zu",
                            c->grade_count, MOST_GRADES);
    read_rules(xml, root, c);
    return dm_xml_status(xml);
}

/* `text` NULL: the file is read. */
static dm_status read_criteria(const char *path, const dm_buf *text,
                               dm_diag *diag, dm_criteria **out)
{
    *out = NULL;
    dm_arena *arena = dm_arena_new();
    dm_criteria *c = arena ? DM_NEW(arena, dm_criteria) : NULL;
    dm_xml *xml = NULL;
    if (!c) {
        dm_arena_free(arena);
        return dm_error(diag, DM_NOMEM, (dm_place){path, 0}, NULL,
                        "out of memory");
    }
    c->arena = arena;
    dm_status status =
        text ? dm_xml_read_text(path, text, "criteria", dm_xsd_criteria,
                                dm_xsd_criteria_size, arena, diag, &xml)
             : dm_xml_read(path, "criteria", dm_xsd_criteria,
                           dm_xsd_criteria_size, arena, diag, &xml);
    if (status == DM_OK) {
        status = read_all(xml, c);
        if (status == DM_NOMEM)
            dm_error(diag, DM_NOMEM, (dm_place){path, 0}, NULL,
                     "out of memory");
    }
    dm_xml_free(xml);
    if (status != DM_OK) {
        dm_arena_free(arena);
        return status;
    }
    *out = c;
    return DM_OK;
}

dm_status dm_criteria_read(const char *path, dm_diag *diag, dm_criteria **out)
{
    return read_criteria(path, NULL, diag, out);
}

dm_status dm_criteria_read_text(const char *path, const dm_buf *text,
                                dm_diag *diag, dm_criteria **out)
{
    return read_criteria(path, text, diag, out);
}

void dm_criteria_free(dm_criteria *criteria)
{
    if (criteria)
        dm_arena_free(criteria->arena);
}
