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
    dm_status status;       /* of faults outside the bridge file */
    bool types_missing;     /* a catalogue or too many types were not read */
    bool alignment_missing; /* there is one, but it could not be read */
    size_t unsaid;          /* references to what may be in there */
    bool out_of_memory;
    struct neighbours *neighbours; /* check_bridge.c; NULL at first */
} reader;

/* Far above any bridge, low enough that searching by id stays quick whatever
 * a file holds. */
enum {
    MOST_PARTS = 2000,
    MOST_TYPES = 1000, /* of each kind, over all files */
    MOST_TENDONS = 10000,
    MOST_ELEMENTS = 1000,   /* of an alignment, in plan and in height each */
    MOST_SECTIONS = 1000,   /* of a part */
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
/* Those below one root, `x` being its document. */
void read_file_types(reader *r, dm_xml *x, const dm_xml_node *root);
/* alignment.c: the reference line, stated or from a LandXML file. */
void read_alignment(reader *r, const dm_xml_node *root);
/* An attribute of the schema's type `access`. */
dm_access read_access_class(reader *r, const dm_xml_node *node,
                            const char *name, dm_access fallback);
/* Three decimal numbers to a unit vector; false: zero. */
bool read_direction3(const char *text, dm_vec3 *out);
/* tendon.c: one tendon with its centreline, faces, ducts, fixtures. */
void read_tendon(reader *r, const dm_xml_node *node, dm_tendon *t);
dm_external_ids read_external_ids(reader *r, const dm_xml_node *node);
/* strand.c: adds what bends tell of the strand side, after all that is
 * stated of it was read. */
void derive_strand_sides(reader *r, dm_tendon *t);

/* check.c: rules beyond the schema, of a tendon's centreline and of what
 * stands on it; `node` is the tendon's element, `nodes` are its supports'. */
void check_line(reader *r, const dm_xml_node *node,
                const dm_xml_node *const *nodes, const dm_tendon *t);
void check_tendon(reader *r, const dm_xml_node *node, const dm_tendon *t);
/* check_practice.c: what could be so, but is against a rule of practice. */
void check_practice(reader *r, const dm_xml_node *node, const dm_tendon *t);
/* check_bridge.c: what tendons do to each other. A sound tendon is compared
 * with all sound ones before it. */
void check_neighbours(reader *r, const dm_xml_node *node, const dm_tendon *t);
/* An ifc-guid that another thing has already; `node` is the external-id. */
void check_guid(reader *r, const dm_xml_node *node, const char *guid);
/* Duct types that tendons use. */
void check_types(reader *r);
/* check_room.c: free lengths against the clear sections of their part. */
void check_room(reader *r, const dm_tendon *t);

/* dm_model_read for a text in memory; `path` names it in messages. */
dm_status dm_model_read_text(const char *path, const dm_buf *text,
                             dm_diag *diag, dm_model **out);

#endif
