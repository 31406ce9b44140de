/* SPDX-License-Identifier: MIT
 * What the scene's objects say about themselves, as named and typed values:
 * lengths in metres, angles in degrees. Every U is expanded, k times the
 * standard uncertainty; k stands in the bridge's set. A quantity that is
 * unknown (NAN, NULL, no face) is left out, never written as zero. */
#include "scene/properties.h"

#include <stdlib.h>
#include <string.h>

#define DEG(rad) ((rad) * (180.0 / 3.14159265358979323846))

void dm_property_list_free(dm_property_list *list)
{
    free(list->items);
    list->items = NULL;
    list->count = list->capacity = 0;
}

dm_status dm_property_list_take(dm_property_list *list, const char *set,
                                dm_object *object)
{
    dm_property *copy = DM_NEW_ARRAY(list->arena, dm_property, list->count);

    if (list->failed || copy == NULL)
        return DM_NOMEM;
    if (list->count > 0)
        memcpy(copy, list->items, list->count * sizeof *copy);
    object->set = set;
    object->properties = copy;
    object->property_count = list->count;
    list->count = 0;
    return DM_OK;
}

static void add(dm_property_list *list, dm_property p)
{
    if (list->failed || !DM_GROW(list->items, list->count, list->capacity))
        list->failed = true;
    else
        list->items[list->count++] = p;
}

static void add_words(dm_property_list *list, const char *name,
                      dm_value_kind kind, const char *text)
{
    dm_property p = {name, kind, NULL, 0.0};

    if (text == NULL || text[0] == '\0')
        return;
    p.text = dm_arena_strdup(list->arena, text);
    if (p.text == NULL)
        list->failed = true;
    add(list, p);
}

static void add_text(dm_property_list *list, const char *name, const char *text)
{
    add_words(list, name, DM_VALUE_TEXT, text);
}

static void add_number(dm_property_list *list, const char *name,
                       dm_value_kind kind, double number)
{
    dm_property p = {name, kind, NULL, number};

    if (isfinite(number))
        add(list, p);
}

static void add_bool(dm_property_list *list, const char *name, bool value)
{
    add_number(list, name, DM_VALUE_BOOL, value ? 1.0 : 0.0);
}

static void add_int(dm_property_list *list, const char *name, long value)
{
    add_number(list, name, DM_VALUE_INT, (double)value);
}

static void add_real(dm_property_list *list, const char *name, double value)
{
    add_number(list, name, DM_VALUE_REAL, value);
}

static void add_length(dm_property_list *list, const char *name, double value)
{
    add_number(list, name, DM_VALUE_LENGTH, value);
}

/* A length whose name is put together. */
static void add_named(dm_property_list *list, const char *prefix,
                      const char *name, double value)
{
    const char *whole =
        prefix[0] == '\0' ? name
                          : dm_arena_printf(list->arena, "%s%s", prefix, name);

    if (whole == NULL)
        list->failed = true;
    else
        add_length(list, whole, value);
}

static void add_angle(dm_property_list *list, const char *name, double rad)
{
    add_number(list, name, DM_VALUE_ANGLE, DEG(rad));
}

static void add_point(dm_property_list *list, const char *const name[3],
                      dm_vec3 p)
{
    add_length(list, name[0], p.x);
    add_length(list, name[1], p.y);
    add_length(list, name[2], p.z);
}

const char *dm_clock_text(double rad, char text[8])
{
    double turns = rad / 6.283185307179586;
    int minutes, hour;

    memcpy(text, "12:00", 6);
    if (!isfinite(rad)) {
        text[0] = '\0';
        return text;
    }
    minutes = (int)floor((turns - floor(turns)) * 720.0 + 0.5) % 720;
    hour = minutes / 60 == 0 ? 12 : minutes / 60;
    text[0] = (char)('0' + hour / 10);
    text[1] = (char)('0' + hour % 10);
    text[3] = (char)('0' + minutes % 60 / 10);
    text[4] = (char)('0' + minutes % 10);
    return hour < 10 ? text + 1 : text;
}

static void add_clock(dm_property_list *list, const char *name, double rad)
{
    char text[8];

    add_text(list, name, dm_clock_text(rad, text));
}

static void add_face(dm_property_list *list, const char *name,
                     const dm_tendon *tendon, size_t face)
{
    if (face < tendon->face_count)
        add_text(list, name, tendon->faces[face].id);
}

/* ---- words ------------------------------------------------------------ */

const char *dm_advice_text(dm_advice advice)
{
    static const char *const text[] = {
        "tap", "re-scan by hand first",
        "hand tool, wall only, engineer present"};

    return text[advice];
}

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
        add_named(list, prefix, state[i], sum[i]);
    for (int i = 0; i < DM_WHY_COUNT; i++)
        if (why[i] != NULL && why_sum[i] > 0.0)
            add_named(list, prefix, why[i], why_sum[i]);
}

/* Indications of one kind or grade. */
static void add_tally(dm_property_list *list, const char *what, dm_tally t)
{
    const char *count = dm_arena_printf(list->arena, "Indications%s", what);

    if (count == NULL)
        list->failed = true;
    else
        add_int(list, count, (long)t.count);
    add_named(list, "LengthIndicated", what, t.length);
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
            add_text(list, name, source->criteria->grades[g].label);
        add_tally(list, name, sum);
    }
}

/* Of a part or the bridge. */
static void add_total(const dm_source *source, const dm_total *t,
                      dm_property_list *list)
{
    add_int(list, "Tendons", (long)t->tendons);
    add_int(list, "TendonsSurveyed", (long)t->surveyed);
    add_length(list, "Length", t->length);
    add_ledger(list, "", t->cover, t->why);
    add_tallies(source, t, list);
}

void dm_bridge_properties(const dm_source *source, dm_property_list *list)
{
    static const char *const origin[3] = {"OriginX", "OriginY", "OriginZ"};
    const dm_model *m = source->model;

    add_text(list, "Id", m->id);
    add_text(list, "Name", m->name);
    add_text(list, "BridgeUid", m->uid);
    if (m->epsg > 0)
        add_int(list, "Epsg", m->epsg);
    if (m->vertical_epsg > 0)
        add_int(list, "VerticalEpsg", m->vertical_epsg);
    add_point(list, origin, source->origin);
    add_real(list, "CoverageFactor", source->k);
    if (source->survey != NULL) {
        add_text(list, "Survey", source->survey->survey);
        add_words(list, "SurveyDate", DM_VALUE_DATE, source->survey->date);
    }
    if (source->criteria != NULL) {
        add_text(list, "Criteria", source->criteria->id);
        add_text(list, "CriteriaOwner", source->criteria->owner);
        add_words(list, "CriteriaDate", DM_VALUE_DATE, source->criteria->date);
    }
    if (source->job != NULL)
        add_words(list, "JobDate", DM_VALUE_DATE, source->job->date);
    add_total(source, &source->totals->bridge, list);
}

void dm_part_properties(const dm_source *source, size_t part,
                        dm_property_list *list)
{
    const dm_part *p = &source->model->parts[part];

    add_text(list, "Id", p->id);
    add_text(list, "Kind", p->kind);
    add_text(list, "Name", p->name);
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
    add_int(list, "ClockLines", (long)found->cover_line_count);
    for (size_t i = 0; i < found->cover_line_count; i++) {
        const dm_cover_line *l = &found->cover_lines[i];
        const char *prefix = dm_arena_printf(list->arena, "Line%zu", i + 1);
        const char *clock = dm_arena_printf(list->arena, "%sClock", prefix);

        if (prefix == NULL || clock == NULL) {
            list->failed = true;
            return;
        }
        add_angle(list, clock, l->clock);
        add_named(list, prefix, "Width", l->width);
        add_ledger(list, prefix, l->sum, l->why_sum);
    }
}

void dm_tendon_properties(const dm_source *source, const dm_tendon *tendon,
                          const dm_indications *found, dm_property_list *list)
{
    const dm_model *m = source->model;

    add_text(list, "Id", tendon->id);
    add_text(list, "Name", tendon->name);
    add_text(list, "Where", tendon->where);
    add_length(list, "Length", tendon->line.length);
    if (tendon->strands > 0)
        add_int(list, "Strands", tendon->strands);
    if (tendon->strand_type < m->strand_type_count) {
        const dm_strand_type *type = &m->strand_types[tendon->strand_type];

        add_text(list, "StrandType", type->id);
        add_length(list, "StrandDiameter", type->diameter);
    }
    add_text(list, "Basis", basis_text(tendon->basis));
    if (tendon->support_count > 0) {
        add_text(list, "FromAnchorage", tendon->supports[0].id);
        add_text(list, "ToAnchorage",
                 tendon->supports[tendon->support_count - 1].id);
    }
    add_ledgers(list, found, tendon->line.length);
    if (found == NULL)
        return;
    add_tallies(source, &source->totals->tendons[tendon - m->tendons], list);
    add_int(list, "Readings", (long)found->reading_count);
    add_int(list, "RunsLeftOut", (long)found->failed_runs);
}

void dm_accepted_property(const dm_stations *stations, dm_property_list *list)
{
    if (stations != NULL && stations->accepted != NULL)
        add_text(list, "Accepted", stations->accepted);
}

void dm_duct_properties(const dm_source *source, const dm_tendon *tendon,
                        double from, double to, const dm_cover_length *cover,
                        dm_property_list *list)
{
    const dm_duct_type *duct =
        dm_tendon_duct(source->model, tendon, 0.5 * (from + to));

    add_text(list, "Tendon", tendon->id);
    add_text(list, "Cover", dm_cover_text(cover->cover));
    add_text(list, "Why", dm_why_text(cover->why));
    add_text(list, "Reason", cover->reason);
    add_length(list, "From", from);
    add_length(list, "To", to);
    add_length(list, "Length", to - from);
    add_text(list, "DuctType", duct->id);
    add_text(list, "Material", duct->material);
    add_length(list, "OutsideDiameter", duct->od);
    add_length(list, "Wall", duct->wall);
    if (duct->wall_min > 0.0)
        add_length(list, "WallLeast", duct->wall_min);
}

typedef struct {
    const char *t, *u, *u_edge, *tip_low, *tip_high, *open, *back, *u_back,
        *ahead, *u_ahead;
} end_names;

static void add_end(const dm_source *source, const dm_tendon *tendon,
                    const dm_end *end, const end_names *name,
                    dm_property_list *list)
{
    add_length(list, name->t, end->t);
    add_length(list, name->u, source->k * end->u);
    add_length(list, name->u_edge, source->k * end->u_edge);
    add_length(list, name->tip_low, end->tip_low);
    add_length(list, name->tip_high, end->tip_high);
    add_bool(list, name->open, end->open);
    add_face(list, name->back, tendon, end->face_back);
    if (end->face_back != DM_NONE)
        add_length(list, name->u_back, source->k * end->u_back);
    add_face(list, name->ahead, tendon, end->face_ahead);
    if (end->face_ahead != DM_NONE)
        add_length(list, name->u_ahead, source->k * end->u_ahead);
}

/* Ids of the runs, separated by blanks. */
static void add_runs(const dm_source *source, const dm_indication *item,
                     dm_property_list *list)
{
    const char *text = "";
    size_t i;

    if (source->survey == NULL)
        return;
    for (i = 0; i < item->run_count; i++) {
        if (item->runs[i] >= source->survey->run_count)
            continue;
        text = dm_arena_printf(list->arena, "%s%s%s", text,
                               text[0] == '\0' ? "" : " ",
                               source->survey->runs[item->runs[i]].id);
        if (text == NULL) {
            list->failed = true;
            return;
        }
    }
    add_text(list, "Runs", text);
}

typedef struct {
    const char *station, *shown, *offset;
} bridge_words;

static const bridge_words bridge_names = {"BridgeStation", "BridgeStationShown",
                                          "BridgeOffset"};

static void add_bridge(dm_property_list *list, const dm_bridge_place *place,
                       const bridge_words *name)
{
    if (!place->known)
        return;
    add_length(list, name->station, place->station);
    add_length(list, name->shown, place->shown);
    add_length(list, name->offset, place->offset);
}

static void add_support_at(dm_property_list *list, const char *const name[2],
                           const dm_tendon *tendon, size_t support,
                           double distance)
{
    if (support >= tendon->support_count)
        return;
    add_text(list, name[0], tendon->supports[support].id);
    add_length(list, name[1], distance);
}

static void add_position(const dm_tendon *tendon, const dm_position *p,
                         dm_property_list *list)
{
    static const char *const anchorage[2] = {"NearestAnchorage", "ToAnchorage"};
    static const char *const deviator[2] = {"NearestDeviator", "ToDeviator"};

    add_text(list, "Position", dm_position_text(p->at));
    add_support_at(list, anchorage, tendon, p->anchorage,
                   p->distance[DM_AT_ANCHORAGE]);
    add_support_at(list, deviator, tendon, p->deviator,
                   p->distance[DM_AT_DEVIATOR]);
    add_length(list, "NearestCrest", p->crest);
    add_length(list, "ToCrest", p->distance[DM_AT_CREST]);
}

/* Litres, and parts of the bore; NAN: no property. */
static void add_known(dm_property_list *list, const char *name, double value)
{
    if (!isnan(value))
        add_real(list, name, value);
}

static void add_size(const dm_size *s, dm_property_list *list)
{
    if (s->basis == DM_SIZE_NONE)
        return;
    add_text(list, "SizeBasis", dm_size_basis_text(s->basis));
    add_text(list, "SizeWords", s->words);
    add_int(list, "Turns", (long)s->turn_count);
    add_known(list, "AreaFractionLow", s->area_fraction.low);
    add_known(list, "AreaFractionBest", s->area_fraction.best);
    add_known(list, "AreaFractionHigh", s->area_fraction.high);
    add_known(list, "VolumeLowLitres", 1e3 * s->volume.low);
    add_known(list, "VolumeBestLitres", 1e3 * s->volume.best);
    add_known(list, "VolumeHighLitres", 1e3 * s->volume.high);
    add_known(list, "VolumeMeasuredLitres", 1e3 * s->measured);
}

static void add_posterior(const dm_posterior *p, dm_property_list *list)
{
    static const char *const name[DM_MATERIAL_COUNT] = {
        "ProbabilityVoid", "ProbabilitySoft", "ProbabilityStrand",
        "ProbabilitySound"};

    add_text(list, "KindBasis", dm_kind_basis_text(p->known));
    if (p->known)
        add_text(list, "Likeliest", dm_material_text(p->likeliest));
    for (int m = 0; p->known && m < DM_MATERIAL_COUNT; m++)
        add_real(list, name[m], p->p[m]);
    add_int(list, "RunsSeen", (long)p->seen);
    add_int(list, "RunsPassed", (long)p->passed);
    add_int(list, "SilentLines", (long)p->silent);
    if (isfinite(p->zero_shift))
        add_real(list, "ZeroShift", p->zero_shift);
}

static void add_finding(const dm_as_found *o, dm_property_list *list)
{
    add_words(list, "OpenedOn", DM_VALUE_DATE, o->what.date);
    add_text(list, "Found", dm_finding_text(o->what.found));
    add_length(list, "FoundDepth", o->what.depth);
    add_text(list, "Opening", o->what.id);
}

/* What the state rests on. */
static void add_opened(const dm_indications *found, const dm_indication *item,
                       dm_property_list *list)
{
    const dm_as_found *o;

    add_words(list, "StateDate", DM_VALUE_DATE, item->state_date);
    add_text(list, "AsFound", dm_as_found_text(item));
    add_int(list, "Openings", (long)item->opening_count);
    if (found == NULL || item->decided_by >= found->opening_count)
        return;
    o = &found->openings[item->decided_by];
    add_finding(o, list);
    if (!isnan(o->p_found))
        add_real(list, "ProbabilityOfFound", o->p_found);
    add_length(list, "FoundAt", o->what.t);
    add_text(list, "FoundWhy", o->words);
}

void dm_indication_properties(const dm_source *source, const dm_tendon *tendon,
                              const dm_indications *found,
                              const dm_indication *item, dm_property_list *list)
{
    static const end_names from = {
        "From",          "FromU",           "FromUEdge",    "FromTipLow",
        "FromTipHigh",   "OpenAtFrom",      "FromFaceBack", "FromUToFaceBack",
        "FromFaceAhead", "FromUToFaceAhead"};
    static const end_names to = {
        "To",          "ToU",           "ToUEdge",    "ToTipLow",
        "ToTipHigh",   "OpenAtTo",      "ToFaceBack", "ToUToFaceBack",
        "ToFaceAhead", "ToUToFaceAhead"};
    static const bridge_words from_bridge = {
        "FromBridgeStation", "FromBridgeStationShown", "FromBridgeOffset"};
    static const bridge_words to_bridge = {
        "ToBridgeStation", "ToBridgeStationShown", "ToBridgeOffset"};
    const dm_criteria *c = source->criteria;

    add_text(list, "Key", item->key);
    add_text(list, "Tendon", tendon->id);
    add_text(list, "State", dm_state_text(item->state));
    add_opened(found, item, list);
    add_text(list, "Kind", dm_kind_text(item->kind));
    if (c != NULL && item->grade < c->grade_count)
        add_text(list, "Grade", c->grades[item->grade].label);
    add_end(source, tendon, &item->from, &from, list);
    add_bridge(list, &item->from.bridge, &from_bridge);
    add_end(source, tendon, &item->to, &to, list);
    add_bridge(list, &item->to.bridge, &to_bridge);
    add_length(list, "Length", item->to.t - item->from.t);
    add_bool(list, "LengthIsUpperBound", item->shorter_than_footprint);
    add_bool(list, "OpenEnded", item->from.open || item->to.open);
    add_bool(list, "AcrossGap", item->across_gap);
    add_bool(list, "Reconciled", item->reconciled);
    add_angle(list, "Clock", item->clock);
    add_clock(list, "ClockLookingAhead", item->clock);
    add_clock(list, "ClockLookingBack", -item->clock);
    add_real(list, "Index", item->index);
    add_real(list, "IndexU", source->k * item->index_u);
    add_length(list, "IndexLength", item->index_length);
    add_length(list, "IndexLengthU", source->k * item->index_length_u);
    add_position(tendon, &item->position, list);
    add_size(&item->size, list);
    add_bool(list, "ClockDoubt", item->clock_doubt);
    add_posterior(&item->posterior, list);
    add_runs(source, item, list);
    if (source->survey != NULL)
        add_text(list, "Survey", source->survey->survey);
    add_text(list, "FirstSurvey", item->first_survey);
}

void dm_support_properties(const dm_source *source, const dm_tendon *tendon,
                           size_t support, dm_property_list *list)
{
    static const char *const xyz[3] = {"X", "Y", "Z"};
    const dm_support *s = &tendon->supports[support];
    const dm_model *m = source->model;
    bool seen[2] = {false, false};
    size_t i;

    add_text(list, "Id", s->id);
    add_text(list, "Name", s->name);
    add_text(list, "Tendon", tendon->id);
    add_length(list, "TendonStation", s->t);
    dm_bridge_place place = dm_model_bridge_place(m, s->point);
    add_bridge(list, &place, &bridge_names);
    add_point(list, xyz, s->point);
    if (s->u > 0.0)
        add_length(list, "U", source->k * s->u);
    if (s->kind == DM_SUPPORT_DEVIATOR) {
        if (s->deviator_type < m->deviator_type_count) {
            const dm_deviator_type *type = &m->deviator_types[s->deviator_type];

            add_text(list, "DeviatorType", type->id);
            add_text(list, "Kind", deviator_text(type->kind));
        }
        add_length(list, "Radius", s->radius);
        add_angle(list, "Deflection", s->deflection);
    } else {
        add_text(list, "Kind", anchorage_text(s->anchorage_kind));
    }
    for (i = 0; i < tendon->face_count; i++) {
        bool back = tendon->faces[i].side == DM_SIDE_BACK;

        if (tendon->faces[i].support != support || seen[back])
            continue; /* the first face of a side speaks for it */
        seen[back] = true;
        add_text(list, back ? "BackFace" : "AheadFace", tendon->faces[i].id);
        add_length(list, back ? "BackFaceStation" : "AheadFaceStation",
                   tendon->faces[i].t);
    }
    add_length(list, "ReadableBack", s->readable_back);
    add_length(list, "ReadableAhead", s->readable_ahead);
}

void dm_fixture_properties(const dm_fixture *fixture, dm_property_list *list)
{
    add_text(list, "Id", fixture->id);
    add_text(list, "Kind", dm_fixture_text(fixture->kind));
    add_length(list, "From", fixture->from);
    add_length(list, "To", fixture->to);
    add_angle(list, "ClockFrom", fixture->clock_from);
    add_angle(list, "ClockTo", fixture->clock_to);
}

static void add_tape(const dm_source *source, const dm_tendon *tendon,
                     const dm_tape *tape, const char *const name[3],
                     dm_property_list *list)
{
    if (tape->face >= tendon->face_count)
        return;
    add_face(list, name[0], tendon, tape->face);
    add_length(list, name[1], tape->distance);
    add_length(list, name[2], source->k * tape->u);
}

static void add_clearance(dm_property_list *list, const dm_clearance *c)
{
    add_text(list, "DrillRoom", dm_room_text(c->room));
    add_length(list, "DrillFree", c->free);
    if (c->ahead != NULL)
        add_text(list, "DrillAhead", c->ahead);
    add_length(list, "DrillGap", c->gap);
    if (c->nearest != NULL)
        add_text(list, "DrillNearest", c->nearest);
    if (!c->other)
        return;
    add_clock(list, "OtherClockLookingAhead", c->other_clock);
    add_real(list, "OtherProbabilityToEnter", c->other_p_enter);
}

void dm_tap_properties(const dm_source *source, const dm_tendon *tendon,
                       const dm_indications *found, const dm_tap *tap,
                       dm_property_list *list)
{
    static const char *const surface[3] = {"X", "Y", "Z"};
    static const char *const axis[3] = {"AxisX", "AxisY", "AxisZ"};
    static const char *const back[3] = {"BackFace", "TapeFromBackFace",
                                        "TapeFromBackFaceU"};
    static const char *const ahead[3] = {"AheadFace", "TapeFromAheadFace",
                                         "TapeFromAheadFaceU"};

    add_text(list, "Id", tap->id);
    add_text(list, "Tendon", tendon->id);
    if (found != NULL && tap->indication < found->count)
        add_text(list, "Indication", found->items[tap->indication].key);
    add_text(list, "Role", dm_tap_role_text(tap->role));
    add_text(list, "Advice", dm_advice_text(tap->advice));
    add_text(list, "Why", tap->why);
    add_bool(list, "Opened",
             found != NULL && tap->opened < found->opening_count);
    if (found != NULL && tap->opened < found->opening_count) {
        add_finding(&found->openings[tap->opened], list);
        add_text(list, "Outcome",
                 dm_outcome_text(found->openings[tap->opened].outcome));
    }
    if (tap->warning[0] != '\0')
        add_text(list, "Warning", tap->warning);
    add_length(list, "TendonStation", tap->t);
    add_length(list, "U", source->k * tap->u_world);
    add_length(list, "AimFrom", tap->aim_from);
    add_length(list, "AimTo", tap->aim_to);
    add_bridge(list, &tap->bridge, &bridge_names);
    add_point(list, surface, tap->surface);
    add_point(list, axis, tap->axis);
    add_real(list, "OutwardX", tap->outward.x);
    add_real(list, "OutwardY", tap->outward.y);
    add_real(list, "OutwardZ", tap->outward.z);
    add_angle(list, "Clock", tap->clock);
    add_clock(list, "ClockLookingAhead", tap->clock);
    add_clock(list, "ClockLookingBack", tap->clock_back);
    add_clock(list, "TapeLine", tap->line);
    add_tape(source, tendon, &tap->back, back, list);
    add_tape(source, tendon, &tap->ahead, ahead, list);
    if (tap->mark_face < tendon->face_count)
        add_text(list, "MarkFace", tendon->faces[tap->mark_face].id);
    add_length(list, "FacesApart", tap->faces_apart);
    add_length(list, "AroundFromTapeLine", tap->around);
    add_length(list, "AroundFromCrown", tap->from_crown);
    add_length(list, "DepthStop", tap->depth_stop);
    add_length(list, "WallLeast", tap->wall_min);
    add_bool(list, "WallAssumed", tap->wall_assumed);
    add_length(list, "Bit", tap->bit);
    add_real(list, "ProbabilityToEnter", tap->p_enter);
    add_real(list, "ProbabilityAlong", tap->p_axis);
    add_real(list, "ProbabilityRound", tap->p_angle);
    add_bool(list, "TurnMade", tap->turned);
    add_real(list, "ProbabilityOfKind", tap->p_kind);
    add_angle(list, "VoidClock", tap->void_clock);
    add_angle(list, "VoidHalfAngle", tap->void_half);
    add_text(list, "StrandSide", dm_strand_side_basis_text(tap->strands));
    add_angle(list, "StrandClock", tap->strand_clock);
    add_length(list, "StrandGap", tap->strand_gap);
    add_length(list, "StrandGapLeast", tap->strand_gap_low);
    add_real(list, "ProbabilityOfContact", tap->p_contact);
    add_clearance(list, &tap->clearance);
    add_int(list, "Order", (long)tap->tendon_length_rank);
}

void dm_opening_properties(const dm_source *source, const dm_tendon *tendon,
                           const dm_as_found *o, dm_property_list *list)
{
    add_text(list, "Id", o->what.id);
    add_text(list, "Survey", o->what.survey);
    add_text(list, "Tendon", tendon->id);
    add_text(list, "Indication", o->key);
    add_text(list, "Outcome", dm_outcome_text(o->outcome));
    add_text(list, "Why", o->words);
    add_words(list, "OpenedOn", DM_VALUE_DATE, o->what.date);
    add_text(list, "Found", dm_finding_text(o->what.found));
    add_length(list, "FoundDepth", o->what.depth);
    add_bool(list, "Water", o->what.water);
    add_bool(list, "Strand", o->what.strand);
    add_length(list, "TendonStation", o->what.t);
    add_length(list, "U", source->k * o->what.u);
    add_angle(list, "Clock", o->what.clock);
    add_clock(list, "ClockLookingAhead", o->what.clock);
    add_text(list, "ReadingsThere", o->cover);
}

void dm_line_properties(const dm_tendon *tendon, dm_property_list *list)
{
    add_text(list, "Tendon", tendon->id);
    add_length(list, "Length", tendon->line.length);
}

void dm_alignment_properties(const dm_model *m, double from, double to,
                             dm_property_list *list)
{
    add_text(list, "Id", m->alignment_id);
    add_length(list, "FromBridgeStation", from);
    add_length(list, "ToBridgeStation", to);
    add_length(list, "FromBridgeStationShown",
               dm_alignment_display(m->alignment, from, NULL));
    add_length(list, "ToBridgeStationShown",
               dm_alignment_display(m->alignment, to, NULL));
    add_bool(list, "HasProfile", m->alignment->vertical_count > 0);
}
