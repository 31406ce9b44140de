/* SPDX-License-Identifier: MIT
 * What the scene says of all that was found: indications, tap points,
 * openings. Conventions: properties.c. */
#include "scene/properties.h"

#include <math.h>

const char *dm_advice_text(dm_advice advice)
{
    static const char *const text[] = {
        "tap", "re-scan by hand first",
        "hand tool, wall only, engineer present"};

    return text[advice];
}

typedef struct {
    const char *t, *u, *u_edge, *tip_low, *tip_high, *open, *back, *u_back,
        *ahead, *u_ahead;
} end_names;

static void add_end(const dm_source *source, const dm_tendon *tendon,
                    const dm_end *end, const end_names *name,
                    dm_property_list *list)
{
    dm_add_length(list, name->t, end->t);
    dm_add_length(list, name->u, source->k * end->u);
    dm_add_length(list, name->u_edge, source->k * end->u_edge);
    dm_add_length(list, name->tip_low, end->tip_low);
    dm_add_length(list, name->tip_high, end->tip_high);
    dm_add_bool(list, name->open, end->open);
    dm_add_face(list, name->back, tendon, end->face_back);
    if (end->face_back != DM_NONE)
        dm_add_length(list, name->u_back, source->k * end->u_back);
    dm_add_face(list, name->ahead, tendon, end->face_ahead);
    if (end->face_ahead != DM_NONE)
        dm_add_length(list, name->u_ahead, source->k * end->u_ahead);
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
    dm_add_text(list, "Runs", text);
}

static void add_support_at(dm_property_list *list, const char *const name[2],
                           const dm_tendon *tendon, size_t support,
                           double distance)
{
    if (support >= tendon->support_count)
        return;
    dm_add_text(list, name[0], tendon->supports[support].id);
    dm_add_length(list, name[1], distance);
}

static void add_position(const dm_tendon *tendon, const dm_position *p,
                         dm_property_list *list)
{
    static const char *const anchorage[2] = {"NearestAnchorage", "ToAnchorage"};
    static const char *const deviator[2] = {"NearestDeviator", "ToDeviator"};

    dm_add_text(list, "Position", dm_position_text(p->at));
    add_support_at(list, anchorage, tendon, p->anchorage,
                   p->distance[DM_AT_ANCHORAGE]);
    add_support_at(list, deviator, tendon, p->deviator,
                   p->distance[DM_AT_DEVIATOR]);
    dm_add_length(list, "NearestCrest", p->crest);
    dm_add_length(list, "ToCrest", p->distance[DM_AT_CREST]);
}

/* Litres, and parts of the bore; NAN: no property. */
static void add_known(dm_property_list *list, const char *name, double value)
{
    if (!isnan(value))
        dm_add_real(list, name, value);
}

static void add_size(const dm_size *s, double k, dm_property_list *list)
{
    if (s->basis == DM_SIZE_NONE)
        return;
    dm_add_text(list, "SizeBasis", dm_size_basis_text(s->basis));
    dm_add_text(list, "SizeWords", s->words);
    dm_add_int(list, "Turns", (long)s->turn_count);
    add_known(list, "AreaFractionLow", s->area_fraction.low);
    add_known(list, "AreaFractionBest", s->area_fraction.best);
    add_known(list, "AreaFractionHigh", s->area_fraction.high);
    add_known(list, "VolumeLowLitres", 1e3 * s->volume.low);
    add_known(list, "VolumeBestLitres", 1e3 * s->volume.best);
    add_known(list, "VolumeHighLitres", 1e3 * s->volume.high);
    add_known(list, "VolumeMeasuredLitres", 1e3 * s->measured);
    add_known(list, "VolumeMeasuredLitresU", k * 1e3 * s->u_measured);
}

static void add_posterior(const dm_posterior *p, dm_property_list *list)
{
    static const char *const name[DM_MATERIAL_COUNT] = {
        "ProbabilityVoid", "ProbabilitySoft", "ProbabilityStrand",
        "ProbabilitySound"};

    dm_add_text(list, "KindBasis", dm_kind_basis_text(p->known));
    if (p->known)
        dm_add_text(list, "Likeliest", dm_material_text(p->likeliest));
    for (int m = 0; p->known && m < DM_MATERIAL_COUNT; m++)
        dm_add_real(list, name[m], p->p[m]);
    dm_add_int(list, "RunsSeen", (long)p->seen);
    dm_add_int(list, "RunsPassed", (long)p->passed);
    dm_add_int(list, "SilentLines", (long)p->silent);
    if (isfinite(p->zero_shift))
        dm_add_real(list, "ZeroShift", p->zero_shift);
}

static void add_finding(const dm_as_found *o, dm_property_list *list)
{
    dm_add_words(list, "OpenedOn", DM_VALUE_DATE, o->what.date);
    dm_add_text(list, "Found", dm_finding_text(o->what.found));
    dm_add_length(list, "FoundDepth", o->what.depth);
    dm_add_text(list, "Opening", o->what.id);
}

/* What the state rests on. */
static void add_opened(const dm_indications *found, const dm_indication *item,
                       dm_property_list *list)
{
    const dm_as_found *o;

    dm_add_words(list, "StateDate", DM_VALUE_DATE, item->state_date);
    dm_add_text(list, "AsFound", dm_as_found_text(item));
    dm_add_int(list, "Openings", (long)item->opening_count);
    if (found == NULL || item->decided_by >= found->opening_count)
        return;
    o = &found->openings[item->decided_by];
    add_finding(o, list);
    if (!isnan(o->p_found))
        dm_add_real(list, "ProbabilityOfFound", o->p_found);
    dm_add_length(list, "FoundAt", o->what.t);
    dm_add_text(list, "FoundWhy", o->words);
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
    static const dm_place_names from_bridge = {
        "FromBridgeStation", "FromBridgeStationShown", "FromBridgeOffset"};
    static const dm_place_names to_bridge = {
        "ToBridgeStation", "ToBridgeStationShown", "ToBridgeOffset"};
    const dm_criteria *c = source->criteria;

    dm_add_text(list, "Key", item->key);
    dm_add_text(list, "Tendon", tendon->id);
    dm_add_text(list, "State", dm_state_text(item->state));
    add_opened(found, item, list);
    dm_add_text(list, "Kind", dm_kind_text(item->kind));
    if (c != NULL && item->grade < c->grade_count)
        dm_add_text(list, "Grade", c->grades[item->grade].label);
    add_end(source, tendon, &item->from, &from, list);
    dm_add_bridge(list, &item->from.bridge, &from_bridge);
    add_end(source, tendon, &item->to, &to, list);
    dm_add_bridge(list, &item->to.bridge, &to_bridge);
    dm_add_length(list, "Length", item->to.t - item->from.t);
    dm_add_bool(list, "LengthIsUpperBound", item->shorter_than_footprint);
    dm_add_bool(list, "OpenEnded", item->from.open || item->to.open);
    dm_add_bool(list, "AcrossGap", item->across_gap);
    dm_add_bool(list, "Reconciled", item->reconciled);
    dm_add_angle(list, "Clock", item->clock);
    dm_add_clock(list, "ClockLookingAhead", item->clock);
    dm_add_clock(list, "ClockLookingBack", -item->clock);
    dm_add_real(list, "Index", item->index);
    dm_add_real(list, "IndexU", source->k * item->index_u);
    dm_add_length(list, "IndexLength", item->index_length);
    dm_add_length(list, "IndexLengthU", source->k * item->index_length_u);
    add_position(tendon, &item->position, list);
    add_size(&item->size, source->k, list);
    dm_add_bool(list, "ClockDoubt", item->clock_doubt);
    add_posterior(&item->posterior, list);
    add_runs(source, item, list);
    if (source->survey != NULL)
        dm_add_text(list, "Survey", source->survey->survey);
    dm_add_text(list, "FirstSurvey", item->first_survey);
}

void dm_tapped_properties(const dm_taps *taps, size_t indication,
                          dm_property_list *list)
{
    const dm_tapped *t = dm_tapped_of(taps, indication);

    if (t == NULL)
        return;
    if (t->tap != DM_NONE)
        dm_add_text(list, "Tap", taps->items[t->tap].id);
    if (t->why[0] != '\0')
        dm_add_text(list, "NoTap", t->why);
}

static void add_tape(const dm_source *source, const dm_tendon *tendon,
                     const dm_tape *tape, const char *const name[3],
                     dm_property_list *list)
{
    if (tape->face >= tendon->face_count)
        return;
    dm_add_face(list, name[0], tendon, tape->face);
    dm_add_length(list, name[1], tape->distance);
    dm_add_length(list, name[2], source->k * tape->u);
}

static void add_clearance(dm_property_list *list, const dm_clearance *c)
{
    dm_add_text(list, "DrillRoom", dm_room_text(c->room));
    dm_add_length(list, "DrillFree", c->free);
    if (c->ahead != NULL)
        dm_add_text(list, "DrillAhead", c->ahead);
    dm_add_length(list, "DrillGap", c->gap);
    if (c->nearest != NULL)
        dm_add_text(list, "DrillNearest", c->nearest);
    if (!c->other)
        return;
    dm_add_clock(list, "OtherClockLookingAhead", c->other_clock);
    dm_add_real(list, "OtherProbabilityToEnter", c->other_p_enter);
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

    dm_add_text(list, "Id", tap->id);
    dm_add_text(list, "Tendon", tendon->id);
    if (found != NULL && tap->indication < found->count)
        dm_add_text(list, "Indication", found->items[tap->indication].key);
    dm_add_text(list, "Role", dm_tap_role_text(tap->role));
    dm_add_text(list, "Advice", dm_advice_text(tap->advice));
    dm_add_text(list, "Why", tap->why);
    dm_add_bool(list, "Opened",
                found != NULL && tap->opened < found->opening_count);
    if (found != NULL && tap->opened < found->opening_count) {
        add_finding(&found->openings[tap->opened], list);
        dm_add_text(list, "Outcome",
                    dm_outcome_text(found->openings[tap->opened].outcome));
    }
    if (tap->warning[0] != '\0')
        dm_add_text(list, "Warning", tap->warning);
    dm_add_length(list, "TendonStation", tap->t);
    dm_add_length(list, "U", source->k * tap->u_world);
    dm_add_length(list, "AimFrom", tap->aim_from);
    dm_add_length(list, "AimTo", tap->aim_to);
    dm_add_bridge(list, &tap->bridge, &dm_bridge_names);
    dm_add_point(list, surface, tap->surface);
    dm_add_point(list, axis, tap->axis);
    dm_add_real(list, "OutwardX", tap->outward.x);
    dm_add_real(list, "OutwardY", tap->outward.y);
    dm_add_real(list, "OutwardZ", tap->outward.z);
    dm_add_angle(list, "Clock", tap->clock);
    dm_add_clock(list, "ClockLookingAhead", tap->clock);
    dm_add_clock(list, "ClockLookingBack", tap->clock_back);
    dm_add_clock(list, "TapeLine", tap->line);
    add_tape(source, tendon, &tap->back, back, list);
    add_tape(source, tendon, &tap->ahead, ahead, list);
    if (tap->mark_face < tendon->face_count)
        dm_add_text(list, "MarkFace", tendon->faces[tap->mark_face].id);
    dm_add_length(list, "FacesApart", tap->faces_apart);
    dm_add_length(list, "TapesMeetU", source->k * dm_tap_meet_u(tap));
    dm_add_length(list, "AroundFromTapeLine", tap->around);
    dm_add_length(list, "AroundFromCrown", tap->from_crown);
    dm_add_length(list, "DepthStop", tap->depth_stop);
    dm_add_length(list, "WallLeast", tap->wall_min);
    dm_add_bool(list, "WallAssumed", tap->wall_assumed);
    dm_add_length(list, "Bit", tap->bit);
    dm_add_real(list, "ProbabilityToEnter", tap->p_enter);
    dm_add_real(list, "ProbabilityAlong", tap->p_axis);
    dm_add_real(list, "ProbabilityRound", tap->p_angle);
    dm_add_bool(list, "TurnMade", tap->turned);
    dm_add_real(list, "ProbabilityOfKind", tap->p_kind);
    dm_add_angle(list, "VoidClock", tap->void_clock);
    dm_add_angle(list, "VoidHalfAngle", tap->void_half);
    dm_add_text(list, "StrandSide", dm_strand_side_basis_text(tap->strands));
    dm_add_angle(list, "StrandClock", tap->strand_clock);
    dm_add_length(list, "StrandGap", tap->strand_gap);
    dm_add_length(list, "StrandGapLeast", tap->strand_gap_low);
    dm_add_real(list, "ProbabilityOfContact", tap->p_contact);
    add_clearance(list, &tap->clearance);
    dm_add_int(list, "Order", (long)tap->tendon_length_rank);
}

/* As read, then what follows. */
static void add_pressures(const dm_pressures *p, double k,
                          dm_property_list *list)
{
    dm_add_number(list, "Vessel", DM_VALUE_VOLUME, p->vessel);
    dm_add_number(list, "VesselU", DM_VALUE_VOLUME, k * p->u_vessel);
    dm_add_number(list, "PressureBefore", DM_VALUE_PRESSURE, p->before);
    dm_add_number(list, "PressureAfter", DM_VALUE_PRESSURE, p->after);
    dm_add_number(list, "PressureAir", DM_VALUE_PRESSURE, p->air);
    dm_add_number(list, "PressureU", DM_VALUE_PRESSURE, k * p->u_pressure);
    dm_add_number(list, "Hoses", DM_VALUE_VOLUME, p->hoses);
    dm_add_number(list, "HosesU", DM_VALUE_VOLUME, k * p->u_hoses);
    dm_add_number(list, "VolumeMeasured", DM_VALUE_VOLUME, p->volume);
    dm_add_number(list, "VolumeMeasuredU", DM_VALUE_VOLUME, k * p->u);
}

void dm_opening_properties(const dm_source *source, const dm_tendon *tendon,
                           const dm_as_found *o, dm_property_list *list)
{
    dm_add_text(list, "Id", o->what.id);
    dm_add_text(list, "Survey", o->what.survey);
    dm_add_text(list, "Tendon", tendon->id);
    dm_add_text(list, "Indication", o->key);
    dm_add_text(list, "Outcome", dm_outcome_text(o->outcome));
    dm_add_text(list, "Why", o->words);
    dm_add_words(list, "OpenedOn", DM_VALUE_DATE, o->what.date);
    dm_add_text(list, "Found", dm_finding_text(o->what.found));
    dm_add_length(list, "FoundDepth", o->what.depth);
    dm_add_bool(list, "Water", o->what.water);
    dm_add_bool(list, "Strand", o->what.strand);
    dm_add_length(list, "TendonStation", o->what.t);
    dm_add_length(list, "U", source->k * o->what.u);
    dm_add_angle(list, "Clock", o->what.clock);
    dm_add_clock(list, "ClockLookingAhead", o->what.clock);
    dm_add_text(list, "ReadingsThere", o->cover);
    add_pressures(&o->what.pressures, source->k, list);
    dm_add_text(list, "Tap", o->what.tap);
    dm_add_words(list, "Photo", DM_VALUE_FILE, o->what.photo);
    dm_add_words(list, "Note", DM_VALUE_PROSE, o->what.note);
}
