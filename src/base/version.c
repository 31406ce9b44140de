/* SPDX-License-Identifier: MIT
 * The version, from the build: project(... VERSION) in CMakeLists.txt. */

#ifndef DM_VERSION
#error "the build must define DM_VERSION"
#endif

/* Declared in ductmark/ductmark.h, which this layer may not include. */
const char *dm_version(void);

const char *dm_version(void)
{
    return DM_VERSION;
}
