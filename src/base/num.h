/* SPDX-License-Identifier: MIT
 * Numbers as text, independent of the locale. */
#ifndef DM_BASE_NUM_H
#define DM_BASE_NUM_H

#include <stdbool.h>
#include <stddef.h>

/* Every `out` below has this many bytes: the writers store whole words and
 * may leave rubbish behind the text's NUL. */
#define DM_NUM_SIZE 40

/* Shortest decimal that reads back as the same double, in the form 12, 12.5,
 * 1.5e-07; "nan", "inf", "-inf" otherwise. Returns the length. */
size_t dm_num_shortest(char out[DM_NUM_SIZE], double value);

/* Fixed number of decimals (0..9), rounded half away from zero from the exact
 * value of the double (1.005 with 2 is 1.00); no "-0.00". |value| < 1e15 is
 * formatted with integers (fast path); beyond, and for non-finite values, as
 * dm_num_shortest. Returns the length. */
size_t dm_num_fixed(char out[DM_NUM_SIZE], double value, int decimals);

/* Multiples of `unit` (> 0) at or below, at or above a value: a stop is never
 * shown longer than it was reckoned, a bound never smaller. A value that is a
 * multiple but for its last bits stays it. */
double dm_num_down(double value, double unit);
double dm_num_up(double value, double unit);

/* Reads one decimal number (sign, digits, one `point` character, exponent)
 * from text[0..length). True: the whole length was a finite number, correctly
 * rounded. No blanks, no hex, no inf or nan. */
bool dm_num_parse(const char *text, size_t length, char point, double *out);

#endif
