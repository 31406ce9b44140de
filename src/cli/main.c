/* SPDX-License-Identifier: MIT
 * The program: a table of commands, one per stage. */
#include <stdio.h>
#include <string.h>

#include "cli/cmd.h"
#include "cli/session.h"
#include "ductmark/ductmark.h"

static const struct {
    const char *name;
    int (*run)(int argc, char **argv);
    const char *help;
} commands[] = {
    {"run", cmd_run, "the whole road: from a job to models, tables, taps"},
    {"check", cmd_check, "name every fault of a file; layout of the tendons"},
    {"convert", cmd_convert, "a LandXML alignment as a bridge file has it"},
    {"plan", cmd_plan, "what a survey can read, in which order, how long"},
    {"map", cmd_map, "every reading on its tendon, with bounds (CSV)"},
    {"budget", cmd_budget, "how far off stations may be, and what it comes of"},
    {"locate", cmd_locate, "places told in other words: a filter over CSV"},
    {"find", cmd_find, "indications: where, how long, which grade"},
    {"tap", cmd_tap, "tap points with tape measures from both faces"},
    {"export", cmd_export, "chosen output formats only"},
};

#define COMMANDS (sizeof commands / sizeof *commands)

static void help(FILE *to)
{
    fputs("usage: ductmark COMMAND [options] FILE\n"
          "       ductmark COMMAND --help\n\n"
          "From tendon drawings, a field book and raw readings to 3-D models\n"
          "and tap points, each with an error bound.\n\ncommands:\n",
          to);
    for (size_t i = 0; i < COMMANDS; i++)
        fprintf(to, "  %-8s %s\n", commands[i].name, commands[i].help);
    fputs(
        "\nexit codes: 0 fine; 1 delivered, but a part of the input was left "
        "out (named);\n2 unusable input or usage; 3 an output could not be "
        "written.\n\nLocations and sizes only. A licensed engineer decides on "
        "structural meaning;\nconfirm positions from the faces before "
        "drilling.\n",
        to);
}

int main(int argc, char **argv)
{
    if (argc < 2) {
        help(stderr);
        return EXIT_INPUT;
    }
    if (strcmp(argv[1], "--help") == 0 || strcmp(argv[1], "help") == 0) {
        help(stdout);
        return EXIT_FINE;
    }
    if (strcmp(argv[1], "--version") == 0) {
        printf("ductmark %s\n", dm_version());
        return EXIT_FINE;
    }
    for (size_t i = 0; i < COMMANDS; i++)
        if (strcmp(argv[1], commands[i].name) == 0)
            return commands[i].run(argc - 2, argv + 2);
    fprintf(stderr,
            "ductmark: unknown command '%s'; 'ductmark --help' lists them\n",
            argv[1]);
    return EXIT_INPUT;
}
