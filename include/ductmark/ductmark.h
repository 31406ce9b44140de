/* SPDX-License-Identifier: MIT
 *
 * The whole public interface. Data flows one way:
 * model, survey -> stations -> indications -> taps -> scene -> writers.
 */
#ifndef DUCTMARK_DUCTMARK_H
#define DUCTMARK_DUCTMARK_H

#include "ductmark/centreline.h"
#include "ductmark/indication.h"
#include "ductmark/job.h"
#include "ductmark/model.h"
#include "ductmark/run.h"
#include "ductmark/scene.h"
#include "ductmark/station.h"
#include "ductmark/status.h"
#include "ductmark/survey.h"
#include "ductmark/tap.h"
#include "ductmark/vec3.h"
#include "ductmark/write.h"

/** Version of the library, "1.2.3". */
const char *dm_version(void);

#endif
