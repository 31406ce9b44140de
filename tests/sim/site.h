/* SPDX-License-Identifier: MIT
 * A site with its own physics, for sim_distances.c: a straight level tendon
 * of 56 m, an operator who walks along it, and the field book that comes of
 * it, as the readers would leave it in memory. Shares no code with the
 * library: where the sensor is, is stepped along in 0.1 m, what the encoder
 * shows follows from that, and a book is written beside it, right or wrong.
 *
 * Everything lives in the struct: keep it where it is. Invented. Metres. */
#ifndef SITE_H
#define SITE_H

#include <stdint.h>

#include "chance.h"
#include "ductmark/station.h"

/* Four touched faces, each with one behind it across the concrete. */
#define SITE_STOPS 4
#define SITE_FACES (2 * SITE_STOPS)
#define SITE_RUNS 8
#define SITE_EVENTS 64
#define SITE_SIGHTINGS 4000
#define SITE_FIRST 9.0
#define SITE_APART 12.0
#define SITE_LENGTH 56.0

/* ---- what is true and what is stated ------------------------------------- */

/* How the world behaves, and what the book says of it. */
typedef struct {
    double scale_u; /* of the encoder, a ratio */
    double face_u;  /* of faces against the drawing; 0: as drawn */
    /* Physics unlike the model, the book stating the same: walk between 0.5
     * and 2 mm per root metre, half of its variance a wheel that only reads
     * short; skips with errors of a t distribution of three degrees of
     * freedom, written in whole 5 mm; a tape 0.3 % wrong that no book tells
     * of; an encoder scale that drifts by 0.05 % over a run. */
    bool unlike;
    /* All that a book can hold: a scale for each run; skips by a tape of 0.3 %,
     * said so; one skip in six of unknown length; the sensor rolled back before
     * one in three; the encoder set anew behind one in three. */
    bool rich;
    double thick;  /* concrete between a face and the one behind; 0: none */
    double uneven; /* the last touched face is this much further on */
} site_terms;

typedef enum {
    SITE_RIGHT,
    SITE_UNWRITTEN,  /* a skip not written down */
    SITE_TWICE,      /* a skip written twice */
    SITE_WRONG_FACE, /* stood at the face behind the one written down */
    SITE_REVERSED,   /* direction of the run written the other way round */
    SITE_MIRRORED    /* and its faces in the mirrored order, too */
} site_kind;

typedef struct site_blunder {
    site_kind kind;
    size_t at;     /* interval of the run; of a wrong face its tie, 0: start */
    double length; /* of the skip, m */
    const struct site_blunder *also; /* a skip of another interval; NULL */
} site_blunder;

/* Where the sensor was when the encoder showed x. */
typedef struct {
    size_t run, event; /* of the readings */
    size_t interval;   /* ties before it in its run, less one */
    double x;
    double contact; /* of the encoder, tendon station */
    double t;       /* of the electrode, tendon station */
} sighting;

typedef struct {
    site_terms terms;
    /* Truth. */
    double scale;                        /* error, a ratio */
    double tape;                         /* the same of the tape */
    double built[SITE_FACES];            /* face as built less drawing */
    double stood[SITE_RUNS][SITE_STOPS]; /* contact at a run's ties */
    size_t stops[SITE_RUNS];
    size_t tie_event[SITE_RUNS][SITE_STOPS];
    double doubled; /* displacement of the skip that stands there twice */
    sighting seen[SITE_SIGHTINGS];
    size_t seen_count;
    /* What the library gets. */
    dm_model model;
    dm_survey survey;
    dm_settings settings;
    dm_tendon tendon;
    dm_segment segment;
    dm_face faces[SITE_FACES];
    dm_duct_type duct;
    dm_duct_length length;
    dm_instrument instrument;
    dm_channel channel;
    dm_run runs[SITE_RUNS];
    dm_event events[SITE_RUNS][SITE_EVENTS];
    dm_measured_length taped[SITE_STOPS];
    dm_diag diag; /* counts; silent */
    dm_stations *stations;
} site;

/* A new bridge and encoder. */
void site_begin(site *s, const site_terms *terms);
/* The model's index of a touched face. */
size_t site_face(const site *s, size_t stop);
/* A run from one stop to another, by increasing stop: ahead; else back. Three
 * taped skips of 0.2 to 0.5 m an interval. With a tail: 8 m beyond. */
void site_run(site *s, size_t from, size_t to, bool tail,
              const site_blunder *blunder);
/* The length between two stops, taped on site. */
void site_tape(site *s, size_t from, size_t to);
/* Into s->stations. */
dm_status site_solve(site *s);
/* What the library says of a sighting; false: nothing. */
bool site_ask(const site *s, const sighting *of, dm_station_point *out);
void site_end(site *s);

#endif
