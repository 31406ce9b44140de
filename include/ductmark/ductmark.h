/* SPDX-License-Identifier: MIT
 *
 * The whole public interface. Data flows one way:
 * model, survey -> stations -> indications -> taps -> scene -> writers.
 *
 * | header       | what for                                              |
 * |--------------|-------------------------------------------------------|
 * | status.h     | status codes, messages                                |
 * | vec3.h       | points and directions                                 |
 * | alignment.h  | the bridge's reference line; bridge stations           |
 * | centreline.h | arcs, sections, outside path of one duct              |
 * | model.h      | the bridge file                                       |
 * | section.h    | bore, areas, bundle and gap of a duct with strands    |
 * | layout.h     | deviators, free lengths, high and low points          |
 * | position.h   | where a length lies among supports and high points    |
 * | context.h    | meshes of what stands round the tendons                |
 * | survey.h     | field books and readings                              |
 * | job.h        | job, settings, criteria, register                     |
 * | plan.h       | the survey plan                                       |
 * | station.h    | run distance to tendon station, with bounds           |
 * | budget.h     | what the bounds are made of                           |
 * | indication.h | coverage and indications                              |
 * | quality.h    | whether a run is good, and what to do again           |
 * | total.h      | sums over tendons, parts and the bridge               |
 * | evidence.h   | what one indication rests on                          |
 * | tap.h        | tap points                                            |
 * | scene.h      | the 3-D scene                                         |
 * | write.h      | output formats                                        |
 * | run.h        | all of it for one job                                 |
 *
 * The short road is run.h: read a job, solve it, deliver its files. The stages
 * can also be called one by one, each from const input to a result that is
 * not changed afterwards and is freed by its own function. A result points
 * into its inputs, which must outlive it.
 *
 * Inside: metres, radians, double precision; world axes X east, Y north, Z
 * up. No global state: calls on different data may run on several threads.
 * The locale of the program does not matter. Valid C11 and C++17.
 */
#ifndef DUCTMARK_DUCTMARK_H
#define DUCTMARK_DUCTMARK_H

#include "ductmark/alignment.h"
#include "ductmark/as_found.h"
#include "ductmark/budget.h"
#include "ductmark/centreline.h"
#include "ductmark/context.h"
#include "ductmark/evidence.h"
#include "ductmark/indication.h"
#include "ductmark/job.h"
#include "ductmark/kind.h"
#include "ductmark/layout.h"
#include "ductmark/locate.h"
#include "ductmark/model.h"
#include "ductmark/opening.h"
#include "ductmark/plan.h"
#include "ductmark/position.h"
#include "ductmark/quality.h"
#include "ductmark/run.h"
#include "ductmark/scene.h"
#include "ductmark/section.h"
#include "ductmark/size.h"
#include "ductmark/station.h"
#include "ductmark/status.h"
#include "ductmark/survey.h"
#include "ductmark/tap.h"
#include "ductmark/total.h"
#include "ductmark/vec3.h"
#include "ductmark/write.h"

DM_BEGIN_C

/** Version of the library, "major.minor.patch". While major is 0 a change of
 *  minor may change structures: build against the headers of the library that
 *  is linked.
 *  @return static text, never NULL */
const char *dm_version(void);

DM_END_C

#endif
