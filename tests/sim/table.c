/* SPDX-License-Identifier: MIT
 * The band of a share: the chances between which the count seen is not rarer
 * than 0.5 % on either side, found by halving (Clopper and Pearson 1934). */
#include "table.h"

#include <math.h>
#include <stdio.h>

#define TAIL 0.005

static bool with_slack;
static int missed;

void table_begin(bool slack)
{
    with_slack = slack;
    missed = 0;
    printf("%-62s %10s %16s %17s %7s\n", "what", "measured", "asked",
           "99 % band", "of");
}

void table_head(const char *text)
{
    printf("\n%s\n", text);
}

/* Chance of `hits` or fewer of `count`. */
static double chance_up_to(size_t hits, size_t count, double p)
{
    double sum = 0.0, n = (double)count;
    if (p <= 0.0)
        return 1.0;
    if (p >= 1.0)
        return hits >= count ? 1.0 : 0.0;
    for (size_t i = 0; i <= hits; i++) {
        double k = (double)i;
        sum += exp(lgamma(n + 1.0) - lgamma(k + 1.0) - lgamma(n - k + 1.0) +
                   k * log(p) + (n - k) * log(1.0 - p));
    }
    return fmin(sum, 1.0);
}

/* The chance at which `hits` or fewer have the probability q. */
static double solve(size_t hits, size_t count, double q)
{
    double low = 0.0, high = 1.0;
    for (int i = 0; i < 40; i++) {
        double p = 0.5 * (low + high);
        if (chance_up_to(hits, count, p) > q)
            low = p;
        else
            high = p;
    }
    return 0.5 * (low + high);
}

static void band(size_t hits, size_t count, double *low, double *high)
{
    *low = hits > 0 ? solve(hits - 1, count, 1.0 - TAIL) : 0.0;
    *high = hits < count ? solve(hits, count, TAIL) : 1.0;
}

static void judge(bool ok)
{
    missed += !ok;
    printf("%s\n", ok ? "" : "  MISSED");
}

static void print_asked(double low, double high)
{
    char asked[32];
    if (high >= 1.0)
        snprintf(asked, sizeof asked, ">= %.4g %%", 100.0 * low);
    else if (low <= 0.0)
        snprintf(asked, sizeof asked, "<= %.4g %%", 100.0 * high);
    else
        snprintf(asked, sizeof asked, "%.4g-%.4g %%", 100.0 * low,
                 100.0 * high);
    printf(" %16s", asked);
}

static void print_share(const char *text, size_t hits, size_t count)
{
    printf("%-62s %8.2f %%", text,
           count > 0 ? 100.0 * (double)hits / (double)count : 0.0);
}

void table_share(const char *text, size_t hits, size_t count, double low,
                 double high)
{
    double share = (double)hits / (double)count, from = 0.0, to = 1.0;
    bool ok = count > 0;
    print_share(text, hits, count);
    print_asked(low, high);
    if (count > 0)
        band(hits, count, &from, &to);
    printf(" %7.2f-%6.2f %% %7zu", 100.0 * from, 100.0 * to, count);
    if (with_slack)
        judge(ok && to >= low && from <= high);
    else
        judge(ok && share >= low && share <= high);
}

void table_most(const char *text, double value, const char *unit, size_t count,
                double most)
{
    char asked[32];
    snprintf(asked, sizeof asked, "<= %.4g %s", most, unit);
    printf("%-62s %7.2f %s %16s %17s %7zu", text, value, unit, asked, "",
           count);
    judge(count > 0 && value <= most);
}

void table_band(const char *text, size_t hits, size_t count)
{
    double from = 0.0, to = 1.0;
    print_share(text, hits, count);
    if (count > 0)
        band(hits, count, &from, &to);
    printf(" %16s %7.2f-%6.2f %% %7zu\n", "", 100.0 * from, 100.0 * to, count);
}

void table_value(const char *text, double value, const char *unit, size_t count)
{
    printf("%-62s %7.2f %s %16s %17s %7zu\n", text, value, unit, "", "", count);
}

void table_note(const char *text, size_t hits, size_t count)
{
    print_share(text, hits, count);
    printf(" %16s %17s %7zu\n", "", "", count);
}

int table_missed(void)
{
    return missed;
}
