/* SPDX-License-Identifier: MIT
 * Clock readings of a logger as seconds: what stands in a `time` column. */
#ifndef DM_SURVEY_TIMES_H
#define DM_SURVEY_TIMES_H

#include <stdbool.h>
#include <stddef.h>

/* How a time is written. One file keeps to one way. */
typedef enum {
    TIME_NONE,   /* an empty cell: not known */
    TIME_COUNT,  /* a number of seconds (or milliseconds) */
    TIME_OF_DAY, /* hh:mm:ss, hh:mm:ss.sss */
    TIME_DATE    /* YYYY-MM-DDThh:mm:ss, with Z or +hh:mm or without */
} time_form;

/* Reads text[0..length). Seconds: from the count's own zero; from midnight;
 * from 1970-01-01 00:00 UTC, a date without a zone being taken as UTC. NAN
 * with TIME_NONE. A fraction of a second may follow a point or a comma (ISO
 * 8601 has both); `point` is the decimal sign of a count, `unit` its length
 * in seconds. False: none of these. */
bool times_parse(const char *text, size_t length, char point, double unit,
                 time_form *form, double *out);

#endif
