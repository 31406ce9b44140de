/* SPDX-License-Identifier: MIT
 * What the scene's objects say about themselves, as named and typed values:
 * metres, cubic metres, pascals, degrees. Every U is expanded, k times the
 * standard uncertainty; k stands in the bridge's set. A quantity that is
 * unknown (NAN, NULL, no face) is left out, never written as zero. */
#include "scene/properties.h"

/* ---- words ------------------------------------------------------------ */

static const char *basis_text(dm_basis basis)
{
    static const char *const text[] = {"drawing", "surveyed", "assumed"};

    return text[basis];
}

static const char *anchorage_text(dm_anchorage_kind kind)
{
    static const char *const text[] = {"tensioning", "fixed", "coupler"};

    return text[kind];
}

static const char *deviator_text(dm_deviator_kind kind)
{
    static const char *const text[] = {"pipe", "flared", "saddle"};

    return text[kind];
}

/* ---- the objects ------------------------------------------------------ */

/* The sums of one ledger: all states, and the reasons that there are. Names
 * begin with `prefix`. */
static void add_ledger(dm_property_list *list, const char *prefix,
                       const double *sum, const double *why_sum)
{
    static const char *const state[DM_COVER_COUNT] = {
        "LengthTested", "LengthStrandMasked", "LengthNotTested",
        "LengthNotValid", "LengthNotReconciled"};
    static const char *const why[DM_WHY_COUNT] = {
        [DM_WHY_STRAND] = "LengthWhyStrand",
        [DM_WHY_SUPPORT] = "LengthWhyInsideSupport",
        [DM_WHY_STEEL] = "LengthWhySteel",
        [DM_WHY_WRAP] = "LengthWhyWrap",
        [DM_WHY_LOW_CLEARANCE] = "LengthWhyLowClearance",
        [DM_WHY_OBSTRUCTION] = "LengthWhyObstruction",
        [DM_WHY_SKIPPED] = "LengthWhySkipped",
        [DM_WHY_LEFT_OUT] = "LengthWhyRunLeftOut",
        [DM_WHY_DEAD_ZONE] = "LengthWhyDeadZone",
        [DM_WHY_NO_ACCESS] = "LengthWhyNoAccess",
        [DM_WHY_NOT_WALKED] = "LengthWhyNotWalked",
        [DM_WHY_LIFT_OFF] = "LengthWhyLiftOff",
        [DM_WHY_CHECK_DRIFT] = "LengthWhyCheckDrift",
        [DM_WHY_NO_CALIBRATION] = "LengthWhyNoCalibration",
        [DM_WHY_NOT_CLOSED] = "LengthWhyNotClosed"};

    for (int i = 0; i < DM_COVER_COUNT; i++)
        dm_add_named(list, prefix, state[i], sum[i]);
    for (int i = 0; i < DM_WHY_COUNT; i++)
        if (why[i] != NULL && why_sum[i] > 0.0)
            dm_add_named(list, prefix, why[i], why_sum[i]);
}

/* Indications of one kind or grade. */
static void add_tally(dm_property_list *list, const char *what, dm_tally t)
{
    const char *count = dm_arena_printf(list->arena, "Indications%s", what);

    if (count == NULL)
        list->failed = true;
    else
        dm_add_int(list, count, (long)t.count);
    dm_add_named(list, "LengthIndicated", what, t.length);
}

/* How many, how long, by kind and by grade: `Grade1` is the most severe. */
static void add_tallies(const dm_source *source, const dm_total *total,
                        dm_property_list *list)
{
    static const char *const kind[DM_KIND_COUNT] = {
        [DM_KIND_VOID_LIKE] = "VoidLike",
        [DM_KIND_SOFT_LIKE] = "SoftLike",
        [DM_KIND_UNRESOLVED] = "Unresolved"};
    const dm_totals *all = source->totals;

    add_tally(list, "", total->all);
    for (int k = 0; k < DM_KIND_COUNT; k++) {
        dm_tally sum = {0, 0.0};

        for (size_t g = 0; g <= all->grades; g++) {
            const dm_tally *t = dm_tally_at(all, total, (dm_kind)k, g);

            sum.count += t->count;
            sum.length += t->length;
        }
        if (kind[k] != NULL && sum.count > 0)
            add_tally(list, kind[k], sum);
    }
    for (size_t g = 0; g <= all->grades; g++) {
        bool has = g < all->grades;
        const char *name =
            has ? dm_arena_printf(list->arena, "Grade%zu", g + 1) : "NoGrade";
        dm_tally sum = {0, 0.0};

        for (int k = 0; k < DM_KIND_COUNT; k++) {
            const dm_tally *t = dm_tally_at(all, total, (dm_kind)k, g);

            sum.count += t->count;
            sum.length += t->length;
        }
        if (name == NULL)
            list->failed = true;
        if (name == NULL || sum.count == 0)
            continue;
        if (has)
            dm_add_text(list, name, source->criteria->grades[g].label);
        add_tally(list, name, sum);
    }
}

/* Of a part or the bridge. */
static void add_total(const dm_source *source, const dm_total *t,
                      dm_property_list *list)
{
    dm_add_int(list, "Tendons", (long)t->tendons);
    dm_add_int(list, "TendonsSurveyed", (long)t->surveyed);
    dm_add_length(list, "Length", t->length);
    add_ledger(list, "", t->cover, t->why);
    add_tallies(source, t, list);
}

void dm_bridge_properties(const dm_source *source, dm_property_list *list)
{
    static const char *const origin[3] = {"OriginX", "OriginY", "OriginZ"};
    const dm_model *m = source->model;

    dm_add_text(list, "Id", m->id);
    dm_add_text(list, "Name", m->name);
    dm_add_text(list, "BridgeUid", m->uid);
    if (m->epsg > 0)
        dm_add_int(list, "Epsg", m->epsg);
    if (m->vertical_epsg > 0)
        dm_add_int(list, "VerticalEpsg", m->vertical_epsg);
    dm_add_point(list, origin, source->origin);
    dm_add_real(list, "CoverageFactor", source->k);
    if (source->survey != NULL) {
        dm_add_text(list, "Survey", source->survey->survey);
        dm_add_words(list, "SurveyDate", DM_VALUE_DATE, source->survey->date);
    }
    if (source->criteria != NULL) {
        dm_add_text(list, "Criteria", source->criteria->id);
        dm_add_text(list, "CriteriaOwner", source->criteria->owner);
        dm_add_words(list, "CriteriaDate", DM_VALUE_DATE,
                     source->criteria->date);
    }
    if (source->job != NULL)
        dm_add_words(list, "JobDate", DM_VALUE_DATE, source->job->date);
    add_total(source, &source->totals->bridge, list);
}

void dm_part_properties(const dm_source *source, size_t part,
                        dm_property_list *list)
{
    const dm_part *p = &source->model->parts[part];

    dm_add_text(list, "Id", p->id);
    dm_add_text(list, "Kind", p->kind);
    dm_add_text(list, "Name", p->name);
    add_total(source, &source->totals->parts[part], list);
}

/* The tendon's ledger, then that of each clock line. */
static void add_ledgers(dm_property_list *list, const dm_indications *found,
                        double length)
{
    double sum[DM_COVER_COUNT] = {[DM_COVER_NOT_TESTED] = length};
    double why_sum[DM_WHY_COUNT] = {[DM_WHY_NOT_WALKED] = length};

    if (found == NULL) {
        add_ledger(list, "", sum, why_sum);
        return;
    }
    add_ledger(list, "", found->cover_sum, found->why_sum);
    dm_add_int(list, "ClockLines", (long)found->cover_line_count);
    for (size_t i = 0; i < found->cover_line_count; i++) {
        const dm_cover_line *l = &found->cover_lines[i];
        const char *prefix = dm_arena_printf(list->arena, "Line%zu", i + 1);
        const char *clock = dm_arena_printf(list->arena, "%sClock", prefix);

        if (prefix == NULL || clock == NULL) {
            list->failed = true;
            return;
        }
        dm_add_angle(list, clock, l->clock);
        dm_add_named(list, prefix, "Width", l->width);
        add_ledger(list, prefix, l->sum, l->why_sum);
    }
}

void dm_tendon_properties(const dm_source *source, const dm_tendon *tendon,
                          const dm_indications *found, dm_property_list *list)
{
    const dm_model *m = source->model;

    dm_add_text(list, "Id", tendon->id);
    dm_add_text(list, "Name", tendon->name);
    dm_add_text(list, "Where", tendon->where);
    dm_add_length(list, "Length", tendon->line.length);
    if (tendon->strands > 0)
        dm_add_int(list, "Strands", tendon->strands);
    if (tendon->strand_type < m->strand_type_count) {
        const dm_strand_type *type = &m->strand_types[tendon->strand_type];

        dm_add_text(list, "StrandType", type->id);
        dm_add_length(list, "StrandDiameter", type->diameter);
    }
    dm_add_text(list, "Basis", basis_text(tendon->basis));
    if (tendon->support_count > 0) {
        dm_add_text(list, "FromAnchorage", tendon->supports[0].id);
        dm_add_text(list, "ToAnchorage",
                    tendon->supports[tendon->support_count - 1].id);
    }
    add_ledgers(list, found, tendon->line.length);
    if (found == NULL)
        return;
    add_tallies(source, &source->totals->tendons[tendon - m->tendons], list);
    dm_add_int(list, "Readings", (long)found->reading_count);
    dm_add_int(list, "RunsLeftOut", (long)found->failed_runs);
}

void dm_accepted_property(const dm_stations *stations, dm_property_list *list)
{
    if (stations != NULL && stations->accepted != NULL)
        dm_add_text(list, "Accepted", stations->accepted);
}

void dm_duct_properties(const dm_source *source, const dm_tendon *tendon,
                        double from, double to, const dm_cover_length *cover,
                        dm_property_list *list)
{
    const dm_duct_type *duct =
        dm_tendon_duct(source->model, tendon, 0.5 * (from + to));

    dm_add_text(list, "Tendon", tendon->id);
    dm_add_text(list, "Cover", dm_cover_text(cover->cover));
    dm_add_text(list, "Why", dm_why_text(cover->why));
    dm_add_text(list, "Reason", cover->reason);
    dm_add_length(list, "From", from);
    dm_add_length(list, "To", to);
    dm_add_length(list, "Length", to - from);
    dm_add_text(list, "DuctType", duct->id);
    dm_add_text(list, "Material", duct->material);
    dm_add_length(list, "OutsideDiameter", duct->od);
    dm_add_length(list, "Wall", duct->wall);
    if (duct->wall_min > 0.0)
        dm_add_length(list, "WallLeast", duct->wall_min);
}

void dm_support_properties(const dm_source *source, const dm_tendon *tendon,
                           size_t support, dm_property_list *list)
{
    static const char *const xyz[3] = {"X", "Y", "Z"};
    const dm_support *s = &tendon->supports[support];
    const dm_model *m = source->model;
    bool seen[2] = {false, false};
    size_t i;

    dm_add_text(list, "Id", s->id);
    dm_add_text(list, "Name", s->name);
    dm_add_text(list, "Tendon", tendon->id);
    dm_add_length(list, "TendonStation", s->t);
    dm_bridge_place place = dm_model_bridge_place(m, s->point);
    dm_add_bridge(list, &place, &dm_bridge_names);
    dm_add_point(list, xyz, s->point);
    if (s->u > 0.0)
        dm_add_length(list, "U", source->k * s->u);
    if (s->kind == DM_SUPPORT_DEVIATOR) {
        if (s->deviator_type < m->deviator_type_count) {
            const dm_deviator_type *type = &m->deviator_types[s->deviator_type];

            dm_add_text(list, "DeviatorType", type->id);
            dm_add_text(list, "Kind", deviator_text(type->kind));
        }
        dm_add_length(list, "Radius", s->radius);
        dm_add_angle(list, "Deflection", s->deflection);
    } else {
        dm_add_text(list, "Kind", anchorage_text(s->anchorage_kind));
    }
    for (i = 0; i < tendon->face_count; i++) {
        bool back = tendon->faces[i].side == DM_SIDE_BACK;

        if (tendon->faces[i].support != support || seen[back])
            continue; /* the first face of a side speaks for it */
        seen[back] = true;
        dm_add_text(list, back ? "BackFace" : "AheadFace", tendon->faces[i].id);
        dm_add_length(list, back ? "BackFaceStation" : "AheadFaceStation",
                      tendon->faces[i].t);
    }
    dm_add_length(list, "ReadableBack", s->readable_back);
    dm_add_length(list, "ReadableAhead", s->readable_ahead);
}

void dm_fixture_properties(const dm_fixture *fixture, dm_property_list *list)
{
    dm_add_text(list, "Id", fixture->id);
    dm_add_text(list, "Kind", dm_fixture_text(fixture->kind));
    dm_add_length(list, "From", fixture->from);
    dm_add_length(list, "To", fixture->to);
    dm_add_angle(list, "ClockFrom", fixture->clock_from);
    dm_add_angle(list, "ClockTo", fixture->clock_to);
}

void dm_line_properties(const dm_tendon *tendon, dm_property_list *list)
{
    dm_add_text(list, "Tendon", tendon->id);
    dm_add_length(list, "Length", tendon->line.length);
}

void dm_alignment_properties(const dm_model *m, double from, double to,
                             dm_property_list *list)
{
    dm_add_text(list, "Id", m->alignment_id);
    dm_add_length(list, "FromBridgeStation", from);
    dm_add_length(list, "ToBridgeStation", to);
    dm_add_length(list, "FromBridgeStationShown",
                  dm_alignment_display(m->alignment, from, NULL));
    dm_add_length(list, "ToBridgeStationShown",
                  dm_alignment_display(m->alignment, to, NULL));
    dm_add_bool(list, "HasProfile", m->alignment->vertical_count > 0);
}
