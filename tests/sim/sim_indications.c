/* SPDX-License-Identifier: MIT
 * Seeded simulation of indications with known truth: what is found, where it
 * ends, what is called that is not there. Prints a table; exit code 1 when a
 * threshold is missed.
 *
 * Without an argument: a short form, in which a share misses only where its
 * whole 99 % band does. --full: counts for tight bands, no slack. --seed N:
 * other cases than those that the methods were built with. What follows names
 * the blocks to run. */
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "sim_indications.h"
#include "table.h"

typedef struct {
    const char *name;
    void (*run)(uint64_t seed, double scale);
    uint64_t seed;
} block;

static const block blocks[] = {
    {"detection", sim_detection, 5001}, {"false", sim_false, 5101},
    {"ends", sim_ends, 5201},           {"chain", sim_chain, 5301},
    {"volume", sim_volume, 5007},       {"kind", sim_kind, 5301},
    {"mirror", sim_mirror, 5311},
};

/* A block that is named after the options, or any where none is. */
static bool asked(int argc, char **argv, int first, const char *name)
{
    for (int k = first; k < argc; k++)
        if (strcmp(argv[k], name) == 0)
            return true;
    return first >= argc;
}

int main(int argc, char **argv)
{
    bool full = false, any = false;
    uint64_t other = 0;
    int first = 1;

    for (; first < argc && argv[first][0] == '-'; first++)
        if (strcmp(argv[first], "--full") == 0)
            full = true;
        else if (strcmp(argv[first], "--seed") == 0 && first + 1 < argc)
            other = strtoull(argv[++first], NULL, 10);
    table_begin(!full);
    for (size_t i = 0; i < sizeof blocks / sizeof blocks[0]; i++)
        if (asked(argc, argv, first, blocks[i].name)) {
            blocks[i].run(blocks[i].seed + other, full ? 1.0 : 0.1);
            any = true;
        }
    if (!any) {
        fprintf(stderr, "sim_indications: no such block\n");
        return 2;
    }
    printf("\nthresholds missed: %d\n", table_missed());
    return table_missed() > 0;
}
