/* SPDX-License-Identifier: MIT
 * Reading a bridge file: what the files of this folder share. */
#ifndef DM_MODEL_READ_H
#define DM_MODEL_READ_H

#include "base/arena.h"
#include "ductmark/model.h"
#include "model/xml.h"

typedef struct {
    dm_xml *xml; /* of the bridge file */
    dm_arena *arena;
    dm_model *model;
    dm_diag *diag;
    dm_status status;   /* of faults outside the bridge file */
    bool types_missing; /* a catalogue or too many types were not read */
    size_t unsaid;      /* references to types that may be in there */
    bool out_of_memory;
} reader;

/* Far above any bridge, low enough that searching by id stays quick whatever
 * a file holds. */
enum {
    MOST_PARTS = 2000,
    MOST_TYPES = 1000, /* of each kind, over all files */
    MOST_TENDONS = 10000,
    MOST_SUPPORTS = 500,    /* of one tendon */
    MOST_ON_TENDON = 10000, /* fixtures, ducts, ... each */
};

/* True, with a fault at `node`: more than `most` of `what`. */
bool too_many(dm_xml *xml, const dm_xml_node *node, size_t count, size_t most,
              const char *what);

/* Faults so far; a part of the model that has none since may be built on. */
size_t fault_count(const reader *r);
/* An id that names no type: a fault, unless the type may be among those that
 * could not be read. */
void no_such_type(reader *r, const dm_xml_node *node, const char *what,
                  const char *id);

/* catalogue.c: types of this file and of the catalogues it names. */
void read_types(reader *r, const dm_xml_node *root);
/* tendon.c: one tendon with its centreline, faces, ducts, fixtures. */
void read_tendon(reader *r, const dm_xml_node *node, dm_tendon *t);
dm_external_ids read_external_ids(reader *r, const dm_xml_node *node);

/* check.c: rules beyond the schema, of a tendon's centreline and of what
 * stands on it; `node` is the tendon's element. */
void check_line(reader *r, const dm_xml_node *node, const dm_tendon *t);
void check_tendon(reader *r, const dm_xml_node *node, const dm_tendon *t);

/* dm_model_read for a text in memory; `path` names it in messages. */
dm_status dm_model_read_text(const char *path, const dm_buf *text,
                             dm_diag *diag, dm_model **out);

#endif
