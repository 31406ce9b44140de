/* SPDX-License-Identifier: MIT
 *
 * The layout of a tendon as a checker of drawings wants it: deviators, free
 * and readable lengths, high and low points. Made from a model; nothing
 * depends on it but what is printed.
 *
 * Metres, radians, world axes as in model.h. "Free" is the duct between two
 * faces, "readable" what of it the sensor can read: between the readable ends,
 * without steel duct. Where a support has no face its own station stands for
 * it, as for readable ends.
 */
#ifndef DUCTMARK_LAYOUT_H
#define DUCTMARK_LAYOUT_H

#include "ductmark/section.h"

DM_BEGIN_C

/** What a deviator does to the tendon. */
typedef struct {
    /** Index of the deviator among the tendon's supports. */
    size_t support;
    /** Tendon station of the middle of its arc, m. */
    double t;
    /** Of that point of the centreline. */
    dm_bridge_place place;
    /** In space, rad; 0: the tendon runs straight through. */
    double deflection;
    /** Clock angle towards the centre of the bend, rad (dm_tendon_bend_plane);
     *  NAN: no arc, or no crown there. */
    double plane;
    /** m; of a deviator without an arc as stated. */
    double radius;
} dm_layout_deviator;

/** The length between two neighbouring supports. */
typedef struct {
    /** Supports `index` and `index` + 1 bound free length `index`. Tendon
     * stations of the two faces, m. */
    double from, to;
    /** to - from, and what of it can be read, m. */
    double free, readable;
} dm_free_length;

typedef enum {
    DM_LEVEL_LOW,  /**< Lower than what lies on both sides. */
    DM_LEVEL_HIGH, /**< Higher than what lies on both sides. */
    DM_LEVEL_EVEN  /**< The whole tendon is level. */
} dm_level_kind;
/** "low", "high", "level". @return static text, never NULL */
const char *dm_level_text(dm_level_kind kind);

/** A high or low point of the centreline; the ends of the tendon are among
 *  them. On an arc it is where the tangent is level, exactly. */
typedef struct {
    dm_level_kind kind;
    /** Tendon stations, m; from < to where a level length is meant. */
    double from, to;
    /** Z, m. */
    double z;
    /** Of the middle of from and to. */
    dm_bridge_place place;
    /** Indices of the supports in whose arc, or at which, from and to lie;
     *  DM_NONE: in a free length. */
    size_t support_from, support_to;
} dm_layout_level;

/** All of one tendon. Arrays belong to the arena given. */
typedef struct {
    /** Of the centreline, m. */
    double length;
    /** Sums over the free_lengths, m. */
    double free, readable;
    /** Duct and strands where the bore's area over that of the steel is least;
     *  where the strands are not stated, those of the first length. */
    dm_section section;
    /** Index of the duct type of that section. */
    size_t duct_type;
    /** One per deviator, in order. */
    dm_layout_deviator *deviators;
    size_t deviator_count;
    /** One less than supports. */
    dm_free_length *free_lengths;
    size_t free_count;
    /** By increasing station; highs and lows alternate. >= 1. */
    dm_layout_level *levels;
    size_t level_count;
} dm_layout;

/** Lays out one tendon.
 *  @param tendon  of that model
 *  @param arena   the model's own, or another that outlives *out
 *  @param out     filled on DM_OK
 *  @return DM_OK, DM_NOMEM */
dm_status dm_layout_make(const dm_model *model, const dm_tendon *tendon,
                         struct dm_arena *arena, dm_layout *out);

DM_END_C

#endif
