/* SPDX-License-Identifier: MIT
 * Seeded simulation of indications with known truth: what is found, where it
 * ends, what is called that is not there. Prints a table; exit code 1 when a
 * threshold is missed.
 *
 * Without an argument: a short form, in which a share misses only where its
 * whole 99 % band does. --full: counts for tight bands, no slack. Other
 * arguments name the blocks to run. */
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#include "sim_indications.h"
#include "table.h"

typedef struct {
    const char *name;
    void (*run)(uint64_t seed, double scale);
    uint64_t seed;
} block;

static const block blocks[] = {
    {"detection", sim_detection, 5001},
    {"false", sim_false, 5101},
    {"ends", sim_ends, 5201},
    {"chain", sim_chain, 5301},
    {"volume", sim_volume, 5007},
    {"kind", sim_kind, 5301},
    {"mirror", sim_mirror, 5311},
};

int main(int argc, char **argv)
{
    bool full = argc > 1 && strcmp(argv[1], "--full") == 0, any = false;
    int named = full ? 2 : 1;

    table_begin(!full);
    for (size_t i = 0; i < sizeof blocks / sizeof blocks[0]; i++) {
        bool asked = argc <= named;

        for (int k = named; k < argc; k++)
            asked = asked || strcmp(argv[k], blocks[i].name) == 0;
        if (asked)
            blocks[i].run(blocks[i].seed, full ? 1.0 : 0.1);
        any = any || asked;
    }
    if (!any) {
        fprintf(stderr, "sim_indications: no such block\n");
        return 2;
    }
    printf("\nthresholds missed: %d\n", table_missed());
    return table_missed() > 0;
}
