/* SPDX-License-Identifier: MIT
 * The schemas of geometry/ as bytes, so that no file is needed at run time.
 * Generated at build time by src/cmake/embed.cmake; the common types are put
 * in the place of their xs:include. Not NUL-terminated. */
#ifndef DM_MODEL_SCHEMAS_H
#define DM_MODEL_SCHEMAS_H

#include <stddef.h>

extern const unsigned char dm_xsd_bridge[];
extern const size_t dm_xsd_bridge_size;
extern const unsigned char dm_xsd_catalogue[];
extern const size_t dm_xsd_catalogue_size;
extern const unsigned char dm_xsd_criteria[];
extern const size_t dm_xsd_criteria_size;
extern const unsigned char dm_xsd_fieldbook[];
extern const size_t dm_xsd_fieldbook_size;
extern const unsigned char dm_xsd_job[];
extern const size_t dm_xsd_job_size;
extern const unsigned char dm_xsd_register[];
extern const size_t dm_xsd_register_size;

#endif
