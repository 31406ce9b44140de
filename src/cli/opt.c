/* SPDX-License-Identifier: MIT
 * Long options only: --name, --name VALUE, --name=VALUE. */
#include "cli/opt.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/arena.h"

static void print_help(const usage *u)
{
    printf("usage: ductmark %s [options] %s\n\n%s\n", u->command, u->operands,
           u->summary);
    if (u->details)
        printf("\n%s\n", u->details);
    printf("\noptions:\n");
    for (size_t i = 0; i < u->opt_count; i++) {
        const opt *o = &u->opts[i];
        char left[40];
        snprintf(left, sizeof left, "--%s%s%s", o->name, o->argument ? " " : "",
                 o->argument ? o->argument : "");
        printf("  %-22s %s\n", left, o->help);
    }
    printf("  %-22s %s\n", "--help", "print this and stop");
}

static opt_result wrong(const usage *u, const char *what, const char *which)
{
    fprintf(stderr,
            "ductmark %s: %s '%s'; 'ductmark %s --help' lists the options\n",
            u->command, what, which, u->command);
    return OPT_WRONG;
}

static const opt *find(const usage *u, const char *name, size_t length)
{
    for (size_t i = 0; i < u->opt_count; i++)
        if (strlen(u->opts[i].name) == length &&
            strncmp(u->opts[i].name, name, length) == 0)
            return &u->opts[i];
    return NULL;
}

static opt_result take(const usage *u, const opt *o, const char *value)
{
    if (o->kind == OPT_TEXT || o->kind == OPT_CHOICE) {
        *(const char **)o->value = value;
        return OPT_GOOD;
    }
    if (o->kind == OPT_LIST) {
        opt_list *list = o->value;
        if (!DM_GROW(list->items, list->count, list->capacity))
            return wrong(u, "out of memory at", value);
        list->items[list->count++] = value;
        return OPT_GOOD;
    }
    char *end = NULL;
    errno = 0;
    long number = strtol(value, &end, 10);
    if (errno != 0 || end == value || *end != '\0' || number < 0 ||
        number > 1000000)
        return wrong(u, "not a whole number:", value);
    *(long *)o->value = number;
    return OPT_GOOD;
}

/* One option at argv[*i]; moves *i on if its value is the next word. */
static opt_result one_option(const usage *u, int argc, char **argv, int *i)
{
    const char *word = argv[*i] + 2;
    const char *equals = strchr(word, '=');
    size_t length = equals ? (size_t)(equals - word) : strlen(word);
    if (strcmp(word, "help") == 0) {
        print_help(u);
        return OPT_HELP;
    }
    const opt *o = find(u, word, length);
    if (!o)
        return wrong(u, "unknown option", argv[*i]);
    if (o->kind == OPT_FLAG) {
        if (equals)
            return wrong(u, "this option takes no value:", argv[*i]);
        *(bool *)o->value = true;
        return OPT_GOOD;
    }
    if (equals)
        return take(u, o, equals + 1);
    if (*i + 1 >= argc)
        return wrong(u, "a value is missing after", argv[*i]);
    return take(u, o, argv[++*i]);
}

static bool asks_what_there_is(const usage *u)
{
    for (size_t i = 0; i < u->opt_count; i++) {
        const opt *o = &u->opts[i];
        const char *value =
            o->kind == OPT_CHOICE ? *(const char **)o->value : NULL;

        if (value && strcmp(value, "help") == 0)
            return true;
    }
    return false;
}

opt_result opt_parse(const usage *u, int argc, char **argv, size_t *operands)
{
    size_t n = 0;
    bool options = true;
    for (int i = 0; i < argc; i++) {
        if (options && strcmp(argv[i], "--") == 0) {
            options = false;
        } else if (options && strncmp(argv[i], "--", 2) == 0) {
            opt_result result = one_option(u, argc, argv, &i);
            if (result != OPT_GOOD)
                return result;
        } else if (options && argv[i][0] == '-' && argv[i][1] != '\0') {
            return wrong(u, "unknown option", argv[i]);
        } else {
            argv[n++] = argv[i];
        }
    }
    *operands = n;
    if (asks_what_there_is(u))
        return OPT_GOOD;
    if (n < u->operands_min || n > u->operands_max) {
        fprintf(stderr, "ductmark %s: %s\nusage: ductmark %s [options] %s\n",
                u->command,
                n < u->operands_min ? "a file is missing" : "too many files",
                u->command, u->operands);
        return OPT_WRONG;
    }
    return OPT_GOOD;
}
