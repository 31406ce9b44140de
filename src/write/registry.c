/* SPDX-License-Identifier: MIT
 * The table of writers. Mesh formats without properties are written on
 * request: glTF and IFC say more. To add one: a function in a file of its own,
 * its prototype in writers.h, a row here. */
#include <string.h>

#include "write/writers.h"

static const dm_writer writers[] = {
    {"glb", "model.glb heat.glb",
     "glTF 2.0: the model by grade, and the index as a heat map", true, true,
     dm_write_glb},
    {"obj", "model.obj model.mtl", "Wavefront OBJ with materials", false, true,
     dm_write_obj},
    {"stl", "model.stl", "binary STL, triangles only", false, true,
     dm_write_stl},
    {"dae", "model.dae", "COLLADA 1.4", false, true, dm_write_dae},
    {"ply", "model.ply", "binary PLY with colours, triangles only", false, true,
     dm_write_ply},
    {"ifc", "model.ifc", "IFC 4.3 (IFC4X3_ADD2) with property sets", true, true,
     dm_write_ifc},
    {"csv",
     "tendons.csv indications.csv turns.csv taps.csv openings.csv "
     "coverage.csv coverage_lines.csv parts.csv tallies.csv",
     "tables of tendons, indications, tap points, coverage", true, false,
     dm_write_csv},
    {"json", "summary.json", "everything found, for other programs", true,
     false, dm_write_summary},
    {"register", "register.xml",
     "the register of indications, for the next job", true, false,
     dm_write_register},
    {"sheet", "sheets-index.svg sheets-found.svg sheet-TENDON.svg labels.svg",
     "work sheets of the tendons with tap points, for the drilling crew", false,
     false, dm_write_sheet},
    {"sheet-pdf", "sheets.pdf labels.pdf", "the same in two files to print",
     false, false, dm_write_sheet_pdf},
    {"strip", "strip-TENDON.svg",
     "developed map of each tendon: index, coverage, indications, taps", false,
     false, dm_write_strip},
    {"strip-png", "strip-TENDON.png", "the same as raster pictures", false,
     false, dm_write_strip_png},
    {"strip-pdf", "strips.pdf", "the same in one file to print", false, false,
     dm_write_strip_pdf},
    {"section", "section-TENDON.svg",
     "section of the duct at each turn, with the void as fitted", false, false,
     dm_write_section},
    {"section-png", "section-TENDON.png", "the same as raster pictures", false,
     false, dm_write_section_png},
    {"section-pdf", "sections.pdf", "the same in one file to print", false,
     false, dm_write_section_pdf},
};

const dm_writer *dm_writers(size_t *count)
{
    *count = sizeof writers / sizeof *writers;
    return writers;
}

const dm_writer *dm_writer_find(const char *name)
{
    size_t i;

    for (i = 0; i < sizeof writers / sizeof *writers; i++)
        if (strcmp(writers[i].name, name) == 0)
            return &writers[i];
    return NULL;
}
