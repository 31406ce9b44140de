/* SPDX-License-Identifier: MIT
 * Encodings are decoded here, not by libxml2: where it converts and fails it
 * prints to standard error, past every handler of the parser. */
#ifndef DM_MODEL_XML_ENCODING_H
#define DM_MODEL_XML_ENCODING_H

#include "base/buf.h"
#include "ductmark/status.h"

/* A document as UTF-8: UTF-8 as it is, UTF-16 with a byte order mark and
 * ISO-8859-1 if declared converted. `at` is the place of messages, its line
 * is set. *out points to `text` or to `room`, which the caller frees.
 * DM_SYNTAX (said), DM_NOMEM (not said). */
dm_status xml_decode(const dm_buf *text, dm_place at, dm_diag *diag,
                     dm_buf *room, const dm_buf **out);

#endif
