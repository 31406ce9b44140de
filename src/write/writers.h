/* SPDX-License-Identifier: MIT
 * The writers that registry.c lists, one prototype each. */
#ifndef DM_WRITE_WRITERS_H
#define DM_WRITE_WRITERS_H

#include "base/file.h"
#include "ductmark/write.h"

dm_status dm_write_glb(const dm_delivery *delivery, dm_outset *out,
                       dm_diag *diag);
dm_status dm_write_ply(const dm_delivery *delivery, dm_outset *out,
                       dm_diag *diag);
dm_status dm_write_obj(const dm_delivery *delivery, dm_outset *out,
                       dm_diag *diag);
dm_status dm_write_stl(const dm_delivery *delivery, dm_outset *out,
                       dm_diag *diag);
dm_status dm_write_dae(const dm_delivery *delivery, dm_outset *out,
                       dm_diag *diag);
dm_status dm_write_ifc(const dm_delivery *delivery, dm_outset *out,
                       dm_diag *diag);
dm_status dm_write_csv(const dm_delivery *delivery, dm_outset *out,
                       dm_diag *diag);
dm_status dm_write_summary(const dm_delivery *delivery, dm_outset *out,
                           dm_diag *diag);
dm_status dm_write_register(const dm_delivery *delivery, dm_outset *out,
                            dm_diag *diag);
dm_status dm_write_section(const dm_delivery *delivery, dm_outset *out,
                           dm_diag *diag);
dm_status dm_write_section_png(const dm_delivery *delivery, dm_outset *out,
                               dm_diag *diag);
dm_status dm_write_section_pdf(const dm_delivery *delivery, dm_outset *out,
                               dm_diag *diag);
dm_status dm_write_sheet(const dm_delivery *delivery, dm_outset *out,
                         dm_diag *diag);
dm_status dm_write_sheet_pdf(const dm_delivery *delivery, dm_outset *out,
                             dm_diag *diag);
dm_status dm_write_strip(const dm_delivery *delivery, dm_outset *out,
                         dm_diag *diag);
dm_status dm_write_strip_png(const dm_delivery *delivery, dm_outset *out,
                             dm_diag *diag);
dm_status dm_write_strip_pdf(const dm_delivery *delivery, dm_outset *out,
                             dm_diag *diag);

#endif
