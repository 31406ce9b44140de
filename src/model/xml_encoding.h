/* SPDX-License-Identifier: MIT
 * Documents are UTF-8. Others are refused before libxml2 sees them: where it
 * converts and fails it prints to standard error, past every handler. */
#ifndef DM_MODEL_XML_ENCODING_H
#define DM_MODEL_XML_ENCODING_H

#include "base/buf.h"
#include "ductmark/status.h"

/* DM_SYNTAX, said with the line, at the first byte that is not UTF-8 (or is
 * NUL). `at` is the place of the message; its line is set. */
dm_status xml_check_utf8(const dm_buf *text, dm_place at, dm_diag *diag);

#endif
