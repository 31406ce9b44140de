/* SPDX-License-Identifier: MIT
 * The version, from the build: project(... VERSION) in CMakeLists.txt. */
#include "ductmark/ductmark.h"

#ifndef DM_VERSION_TEXT
#error "the build must define DM_VERSION_TEXT"
#endif

const char *dm_version(void)
{
    return DM_VERSION_TEXT;
}
