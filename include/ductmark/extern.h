/* SPDX-License-Identifier: MIT
 *
 * Brackets round the declarations of every public header, so that a C++
 * program links against the C library: between DM_BEGIN_C and DM_END_C names
 * have C linkage. Empty in C. Headers are included before DM_BEGIN_C, never
 * inside, because the C++ library's own must keep their linkage.
 *
 * A header without these brackets would still compile as C++ and fail at the
 * linker, with names that the library does not have; tests/headers looks for
 * them in each header.
 *
 * Structures have the same layout in both languages. Nothing is thrown, and a
 * callback (dm_diag.emit, dm_progress, dm_written) must not throw through the
 * library.
 */
#ifndef DUCTMARK_EXTERN_H
#define DUCTMARK_EXTERN_H

#ifdef __cplusplus
#define DM_BEGIN_C extern "C" {
#define DM_END_C }
#else
#define DM_BEGIN_C
#define DM_END_C
#endif

#endif
