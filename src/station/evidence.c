/* SPDX-License-Identifier: MIT
 * A hypothesis adds b h to the misclosures d, with h what it touches and b of
 * a prior p. Its evidence against "nothing wrong" is the Bayes factor
 *   integral p(b) N(d - b h; 0, S) db / N(d; 0, S)
 *     = integral p(b) exp(b B - b^2 A / 2) db,  A = h' S^-1 h, B = h' S^-1 d,
 * closed for a normal p and an exponential one; any text on Bayesian model
 * comparison. */
#include "station/evidence.h"

#include <math.h>

#define PI 3.14159265358979323846

/* Mean length of what nobody wrote down, m: common practice, no source. */
#define MEAN_LENGTH 0.5

/* log of the normal distribution function. */
static double log_normal(double x)
{
    if (x > -20.0)
        return log(0.5 * erfc(-x / sqrt(2.0)));
    return -0.5 * x * x - log(-x * sqrt(2.0 * PI));
}

/* log integral over b > 0 of rate exp(-rate b + b slope - b^2 size / 2). */
double evidence_one_sided(double size, double slope)
{
    double rate = 1.0 / MEAN_LENGTH, u = (slope - rate) / sqrt(size);
    return log(rate) + 0.5 * log(2.0 * PI / size) + 0.5 * u * u + log_normal(u);
}

double evidence_two_sided(double size, double slope)
{
    double a = evidence_one_sided(size, slope),
           b = evidence_one_sided(size, -slope);
    return fmax(a, b) + log1p(exp(-fabs(a - b))) - log(2.0);
}

double evidence_known(double size, double slope, double mean, double variance,
                      double *gain)
{
    double off = slope / size - mean;
    *gain = slope * slope / size - off * off / (1.0 / size + variance);
    return 0.5 * *gain - 0.5 * log(1.0 + variance * size);
}
