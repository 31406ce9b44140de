/* SPDX-License-Identifier: MIT
 * How much better the misclosures are explained with a blunder than without:
 * logarithms of Bayes factors. size: A = h' S^-1 h > 0; slope: B = h' S^-1 d.
 */
#ifndef DM_STATION_EVIDENCE_H
#define DM_STATION_EVIDENCE_H

/* A positive length that nobody knows, exponential. */
double evidence_one_sided(double size, double slope);
/* The same with either sign. */
double evidence_two_sided(double size, double slope);
/* A length that is known, N(mean, variance); gain: the chi-square that is
 * explained. */
double evidence_known(double size, double slope, double mean, double variance,
                      double *gain);

#endif
