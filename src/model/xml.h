/* SPDX-License-Identifier: MIT
 * XML in and out (libxml2 behind it, included in xml.c only): a document is
 * loaded without network, DTD or entities, validated against an embedded
 * schema, then walked with typed attributes. Every fault is reported with
 * its line; the first one's status is kept, and reading goes on, so that all
 * faults of a file appear in one go. */
#ifndef DM_MODEL_XML_H
#define DM_MODEL_XML_H

#include <stdbool.h>
#include <stddef.h>

#include "base/arena.h"
#include "base/buf.h"
#include "ductmark/status.h"

#define DM_XML_LIMIT ((size_t)64 << 20) /* the most bytes of a file */

typedef struct dm_xml dm_xml;
typedef struct dm_xml_node dm_xml_node; /* an element; owned by the document */

/* Reads and validates. `root` is the expected root element. At most 64 MiB.
 * Strings handed out below live in `arena`, as does the file name of places.
 * Schema faults are put into plain words ("attribute 'od': '5' is not a
 * length with its unit, such as 114.3 mm"). Without an `xsd` (NULL) any content
 * goes: for formats of others, whose names may stand in a namespace. */
dm_status dm_xml_read(const char *path, const char *root,
                      const unsigned char *xsd, size_t xsd_size,
                      dm_arena *arena, dm_diag *diag, dm_xml **out);
/* The same for a text in memory; `path` names it in messages. */
dm_status dm_xml_read_text(const char *path, const dm_buf *text,
                           const char *root, const unsigned char *xsd,
                           size_t xsd_size, dm_arena *arena, dm_diag *diag,
                           dm_xml **out);
/* Name of the root element, to tell one kind of file from another; "" where
 * there is none to be had: nothing is said, the reader will. */
void dm_xml_peek(const char *path, char *name, size_t size);
void dm_xml_free(dm_xml *xml);
const char *dm_xml_sha256(const dm_xml *xml); /* in the arena */
const char *dm_xml_file(const dm_xml *xml);   /* in the arena */

const dm_xml_node *dm_xml_root(const dm_xml *xml);
/* First child element / next sibling element of that name (NULL: any). */
const dm_xml_node *dm_xml_child(const dm_xml_node *node, const char *name);
const dm_xml_node *dm_xml_next(const dm_xml_node *node, const char *name);
size_t dm_xml_count(const dm_xml_node *node, const char *name);
const char *dm_xml_name(const dm_xml_node *node); /* without its namespace */
/* The namespace, "" for none; belongs to the document. */
const char *dm_xml_space(const dm_xml_node *node);
/* The text that stands in the element itself, in the arena; "" where memory
 * ran out, which is remembered as a fault. */
const char *dm_xml_content(dm_xml *xml, const dm_xml_node *node);
dm_place dm_xml_place(const dm_xml *xml, const dm_xml_node *node);

/* Says a fault at a node and keeps its status; returns that status. */
dm_status dm_xml_fault(dm_xml *xml, const dm_xml_node *node, dm_status status,
                       const char *format, ...)
    __attribute__((format(printf, 4, 5)));
/* The same at the place of a thing that has been read. */
dm_status dm_xml_fault_at(dm_xml *xml, dm_place place, const char *subject,
                          dm_status status, const char *format, ...)
    __attribute__((format(printf, 5, 6)));
void dm_xml_warn(dm_xml *xml, const dm_xml_node *node, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
dm_status dm_xml_status(const dm_xml *xml); /* DM_OK: no fault so far */
size_t dm_xml_fault_count(const dm_xml *xml);

/* Attributes. Absent: `fallback`. A value that does not parse or lies outside
 * lo..hi is a fault (DM_RANGE, naming the range in the unit as written) and
 * yields `fallback`. */
bool dm_xml_has(const dm_xml_node *node, const char *name);
const char *dm_xml_text(dm_xml *xml, const dm_xml_node *node, const char *name,
                        const char *fallback); /* in the arena */
double dm_xml_real(dm_xml *xml, const dm_xml_node *node, const char *name,
                   double lo, double hi, double fallback);
int dm_xml_int(dm_xml *xml, const dm_xml_node *node, const char *name, int lo,
               int hi, int fallback);
bool dm_xml_bool(dm_xml *xml, const dm_xml_node *node, const char *name,
                 bool fallback);
/* "12.5 mm": number, blank, unit (m mm ft in us-ft). Bounds in metres. */
double dm_xml_length(dm_xml *xml, const dm_xml_node *node, const char *name,
                     double lo, double hi, double fallback);
/* "7.5 deg" -> radians. Bounds in radians. */
double dm_xml_angle(dm_xml *xml, const dm_xml_node *node, const char *name,
                    double lo, double hi, double fallback);
/* A clock angle: "90 deg" or clock time "3:00" -> radians in [0, 2 pi). */
double dm_xml_clock(dm_xml *xml, const dm_xml_node *node, const char *name,
                    double fallback);
/* Other quantities with their unit: area "140 mm2" (m2 mm2 in2), volume
 * "1.2 L" (m3 L in3 ft3), temperature "12 degC" (degC degF). SI out. */
double dm_xml_area(dm_xml *xml, const dm_xml_node *node, const char *name,
                   double lo, double hi, double fallback);
double dm_xml_volume(dm_xml *xml, const dm_xml_node *node, const char *name,
                     double lo, double hi, double fallback);
double dm_xml_pressure(dm_xml *xml, const dm_xml_node *node, const char *name,
                       double lo, double hi, double fallback);
double dm_xml_temperature(dm_xml *xml, const dm_xml_node *node,
                          const char *name, double lo, double hi,
                          double fallback);
/* Mass per length "33 kg/m" (kg/m lb/ft), force "2926 kN" (kN kip). */
double dm_xml_mass(dm_xml *xml, const dm_xml_node *node, const char *name,
                   double lo, double hi, double fallback);
double dm_xml_force(dm_xml *xml, const dm_xml_node *node, const char *name,
                    double lo, double hi, double fallback);
/* Index of the attribute's value in `words` (NULL-terminated); the schema has
 * already made sure that it is one of them. Absent: `fallback`. */
int dm_xml_word(dm_xml *xml, const dm_xml_node *node, const char *name,
                const char *const *words, int fallback);

/* Metres per unit of a unit name; 0: unknown. m 1, mm 0.001, ft 0.3048 and
 * in 0.0254 exactly, us-ft 1200/3937 (85 FR 62698). */
double dm_unit_metres(const char *unit);

#endif
