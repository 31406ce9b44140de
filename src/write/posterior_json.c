/* SPDX-License-Identifier: MIT
 * How the kind of an indication came about, in JSON. */
#include "write/posterior_json.h"

#include <math.h>

void dm_posterior_json(dm_json *j, const dm_posterior *p)
{
    dm_json_open(j, "posterior", '{');
    dm_json_text(j, "basis", dm_kind_basis_text(p->known));
    dm_json_text(j, "likeliest",
                 p->known ? dm_material_text(p->likeliest) : NULL);
    for (int m = 0; m < DM_MATERIAL_COUNT; m++)
        dm_json_fixed(j, dm_material_text((dm_material_kind)m), p->p[m], 4);
    dm_json_fixed(j, "strandFactor", p->known ? p->strand_factor : (double)NAN,
                  3);
    dm_json_close(j, '}');
    dm_json_count(j, "runsSeen", p->seen);
    dm_json_count(j, "runsPassed", p->passed);
    dm_json_count(j, "silentLines", p->silent);
    dm_json_fixed(j, "zeroShift", p->zero_shift, 4);
}
