/* SPDX-License-Identifier: MIT
 * Options from one table per command: the same rows parse and print help. */
#ifndef DM_CLI_OPT_H
#define DM_CLI_OPT_H

#include <stdbool.h>
#include <stddef.h>

/* OPT_CHOICE: a text; "help" asks what there is to choose, and for no file. */
typedef enum { OPT_FLAG, OPT_TEXT, OPT_CHOICE, OPT_COUNT, OPT_LIST } opt_kind;

/* The values of an option that may come several times, in their order. */
typedef struct {
    const char **items; /* heap: free() it */
    size_t count, capacity;
} opt_list;

typedef struct {
    const char *name; /* without the dashes */
    opt_kind kind;
    const char *argument; /* "DIR"; NULL for a flag */
    const char *help;
    void *value; /* bool *, const char **, long *, opt_list * */
} opt;

typedef struct {
    const char *command;  /* "run" */
    const char *operands; /* "JOB.xml" */
    const char *summary;  /* one line */
    const char *details;  /* paragraphs for the help; may be NULL */
    const opt *opts;
    size_t opt_count;
    size_t operands_min, operands_max;
} usage;

/* Parses argv[0..argc) after the command's name. Operands are moved to the
 * front; *operands is their count. Prints help and returns OPT_HELP on --help,
 * says what is wrong on stderr and returns OPT_WRONG. "--" ends options. */
typedef enum { OPT_GOOD, OPT_HELP, OPT_WRONG } opt_result;
opt_result opt_parse(const usage *u, int argc, char **argv, size_t *operands);

#endif
