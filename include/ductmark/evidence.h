/* SPDX-License-Identifier: MIT
 *
 * What one indication rests on: who looked at the place, with what readings,
 * noise and thresholds, and what each of them saw. After: indication.
 *
 * Nothing of it is kept while a job is worked through: the tendon's readings
 * are read once more, by the same stage with somebody looking on, and the rows
 * are counted in a pass of their own. So it costs memory only where it is asked
 * for, and cannot differ from what was used.
 *
 * Tendon stations and run distances in metres, angles in radians; every `u` is
 * standard, not expanded.
 */
#ifndef DUCTMARK_EVIDENCE_H
#define DUCTMARK_EVIDENCE_H

#include "ductmark/budget.h"
#include "ductmark/indication.h"

DM_BEGIN_C

/** Why somebody who came by saw nothing that counts. */
typedef enum {
    /** Something stands out. */
    DM_WITNESS_SAW = 0,
    /** Read, and nothing stands out that reaches the thresholds. */
    DM_WITNESS_NOTHING,
    /** The checks of that channel drifted: not looked at. */
    DM_WITNESS_DRIFTED,
    /** No calibration: not looked at. */
    DM_WITNESS_NO_CALIBRATION
} dm_witness_result;
/** "saw it", "nothing stands out", "check drift", "no calibration".
 *  @return static text, never NULL */
const char *dm_witness_text(dm_witness_result result);

/** One end as one witness has it. */
typedef struct {
    /** Station and run distance. */
    double t, x;
    /** From the readings: noise, cell, footprint, taper. */
    double u_edge;
    /** Variance of the station against the world, m^2, and its parts (zero
     *  where stations were solved without dm_settings.budget). */
    double world;
    dm_budget budget;
    /** No half height there: unread length follows. */
    bool open;
} dm_witness_end;

/** What one channel of one run has to say of the place, from one length that it
 *  read without a gap. */
typedef struct {
    /** Survey index; index of the event in it; channel of the instrument. */
    size_t run, event, channel;
    /** Looking ahead. */
    double clock;
    /** What of the indication it read, and the run distances there. */
    double from, to, x_from, x_to;
    /** Rows of the event's file there: the first and the last line, and how
     *  many; 0: the file cannot be read any more. */
    long first_line, last_line;
    size_t rows;
    /** Cells that they were averaged in, and how many of them were taken for a
     *  lift-off; length of a cell. */
    size_t cells, lifted;
    double pitch;
    /** Mean index there, of the cells that are valid; NAN: none. */
    double mean;
    /** Standard deviation of one cell, and of the index smoothed over 0.4
     *  footprints, which is compared with the thresholds. */
    double noise, noise_smooth;
    /** Thresholds in force; void-like, and soft-like (negative). */
    double enter, leave, soft_enter, soft_leave;
    /** They were raised to this for the noise; NAN: they are the
     *  calibration's. */
    double raised;
    /** Footprint along the duct. */
    double footprint;
    /** A strand side, stated or derived, that comes under the sensor there;
     *  NULL: none is known. The model's. */
    const dm_strand_side *strand;
    /** All of it in intervals that close. */
    bool reconciled;
    dm_witness_result result;
    /** The rest only where it saw something. */
    dm_witness_end end[2];
    /** Height of the unblurred index, what lies beside it, its u. */
    double plateau, base, plateau_u;
    /** Maybe shorter than the footprint: its ends are bounds. */
    bool shorter;
} dm_witness;

/** A run of the tendon that has nothing to say of the place. */
typedef struct {
    /** Survey index. */
    size_t run;
    /** Its first clock line, and what the line's ledger says of the middle of
     *  the place; NULL: that the run did not come by. */
    double clock;
    const dm_cover_length *cover;
} dm_absent;

/** All evidence of one indication. */
typedef struct dm_evidence {
    struct dm_arena *arena; /* holds all of it but the covers */
    /** In the order of runs, channels and stations; >= 1. */
    dm_witness *witnesses;
    size_t witness_count;
    /** In the order of runs. */
    dm_absent *absent;
    size_t absent_count;
} dm_evidence;

/** Gathers it.
 *  @param found    of the tendon, made with the same inputs; outlives the
 *                  result
 *  @param item     index into found->items
 *  @param settings least_length, check_drift and merge_gap are used
 *  @param diag     readings that cannot be read any more; may be NULL
 *  @param out      free with dm_evidence_free; NULL on failure
 *  @return DM_OK or DM_NOMEM */
dm_status dm_evidence_make(const dm_model *model, const dm_survey *survey,
                           const dm_stations *stations,
                           const dm_indications *found, size_t item,
                           const dm_settings *settings, dm_diag *diag,
                           dm_evidence **out);
/** Frees evidence; accepts NULL. */
void dm_evidence_free(dm_evidence *evidence);

DM_END_C

#endif
