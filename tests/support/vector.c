/* SPDX-License-Identifier: MIT
 * Reads the whole file and cuts it into lines and words. Numbers go through
 * strtod, not through the library's own reader: this is the other side of the
 * comparison. Memory failures here are not under test and abort. */
#include "vector.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "near.h"

typedef struct {
    vec_file *file;
    vec_case *now;
    char *source;
    double tolerance; /* NaN: not stated yet */
    long line;
} reader;

static void *must(void *memory)
{
    if (memory == NULL)
        abort();
    return memory;
}

static char *copy_of(const char *text)
{
    char *copy = must(malloc(strlen(text) + 1));

    return strcpy(copy, text);
}

static void fault(const reader *r, const char *what)
{
    fail_msg("%s:%ld: %s", r->file->path, r->line, what);
}

/* The next word of *s, NUL-terminated in place; NULL: none. */
static char *next_word(char **s)
{
    char *word = *s + strspn(*s, " \t");
    char *end = word + strcspn(word, " \t");

    if (*word == '\0')
        return NULL;
    *s = *end == '\0' ? end : end + 1;
    *end = '\0';
    return word;
}

static void add_word(vec_field *f, const char *word)
{
    char *end;
    double value = strtod(word, &end);

    f->words = must(realloc(f->words, (f->count + 1) * sizeof *f->words));
    f->values = must(realloc(f->values, (f->count + 1) * sizeof *f->values));
    f->words[f->count] = copy_of(word);
    f->values[f->count] = end == word || *end != '\0' ? (double)NAN : value;
    f->count++;
}

static vec_field *look_up(const vec_case *c, const char *key, bool expected)
{
    size_t i;

    for (i = 0; i < c->count; i++)
        if (c->fields[i].expected == expected &&
            strcmp(c->fields[i].key, key) == 0)
            return &c->fields[i];
    return NULL;
}

static void add_field(reader *r, char *rest, bool expected)
{
    char *key = next_word(&rest), *word;
    vec_case *c = r->now;
    vec_field *f;

    if (c == NULL || key == NULL) {
        fault(r, "expected a case before, and a key");
        return;
    }
    if (expected && isnan(r->tolerance))
        fault(r, "expected a tolerance before this line");
    f = look_up(c, key, expected);
    if (f != NULL && expected)
        fault(r, "this key is expected twice");
    if (f == NULL) {
        c->fields = must(realloc(c->fields, (c->count + 1) * sizeof *f));
        f = &c->fields[c->count++];
        memset(f, 0, sizeof *f);
        f->key = copy_of(key);
        f->line = r->line;
        f->tolerance = r->tolerance;
        f->expected = expected;
    }
    while ((word = next_word(&rest)) != NULL)
        add_word(f, word);
    if (f->count == 0)
        fault(r, "expected values after the key");
}

static void add_case(reader *r, const char *name)
{
    vec_file *file = r->file;
    vec_case *c;
    size_t i;

    if (r->source == NULL || *name == '\0')
        fault(r, "expected a name, and a source before the case");
    for (i = 0; i < file->count; i++)
        if (strcmp(file->cases[i].name, name) == 0)
            fault(r, "a second case of this name");
    file->cases = must(realloc(file->cases, (file->count + 1) * sizeof *c));
    c = &file->cases[file->count++];
    memset(c, 0, sizeof *c);
    c->name = copy_of(name);
    c->source = copy_of(r->source);
    c->line = r->line;
    c->file = file->path;
    r->now = c;
}

static void read_line(reader *r, char *line)
{
    char *rest = line, *end;
    char *word = next_word(&rest);

    if (word == NULL || word[0] == '#')
        return;
    rest += strspn(rest, " \t");
    if (strcmp(word, "source") == 0) {
        free(r->source);
        r->source = copy_of(rest);
    } else if (strcmp(word, "tolerance") == 0) {
        r->tolerance = strtod(rest, &end);
        if (end == rest || *end != '\0' || !(r->tolerance >= 0))
            fault(r, "expected a tolerance of 0 or more");
    } else if (strcmp(word, "case") == 0) {
        add_case(r, rest);
    } else if (strcmp(word, "given") == 0) {
        add_field(r, rest, false);
    } else if (strcmp(word, "expect") == 0) {
        add_field(r, rest, true);
    } else {
        fault(r, "expected source, tolerance, case, given, expect or #");
    }
}

static char *whole_file(const char *path)
{
    FILE *stream = fopen(path, "rb");
    char *text = NULL;
    size_t length = 0, got;

    if (stream == NULL) {
        fail_msg("%s: cannot be opened", path);
        return NULL;
    }
    do {
        text = must(realloc(text, length + 4097));
        got = fread(text + length, 1, 4096, stream);
        length += got;
    } while (got > 0);
    fclose(stream);
    text[length] = '\0';
    return text;
}

vec_file *vec_open(const char *name)
{
    const char *folder = strchr(name, '/') == NULL ? DM_TEST_VECTORS "/" : "";
    reader r = {NULL, NULL, NULL, (double)NAN, 0};
    char *text, *line, *end;

    r.file = must(calloc(1, sizeof *r.file));
    r.file->path = must(malloc(strlen(folder) + strlen(name) + 1));
    strcat(strcpy(r.file->path, folder), name);
    text = whole_file(r.file->path);
    for (line = text; line != NULL; line = end) {
        end = strchr(line, '\n');
        if (end != NULL)
            *end++ = '\0';
        line[strcspn(line, "\r")] = '\0';
        r.line++;
        read_line(&r, line);
    }
    if (r.file->count == 0)
        fault(&r, "the file has no case");
    free(r.source);
    free(text);
    return r.file;
}

static void free_field(vec_field *f)
{
    size_t i;

    for (i = 0; i < f->count; i++)
        free(f->words[i]);
    free(f->words);
    free(f->values);
    free(f->key);
}

void vec_close(vec_file *file)
{
    size_t i, j, forgotten = 0;

    for (i = 0; i < file->count; i++) {
        vec_case *c = &file->cases[i];

        for (j = 0; j < c->count; j++) {
            vec_field *f = &c->fields[j];

            if (f->expected && !f->used) {
                print_error("%s:%ld: '%s' was never compared\n", file->path,
                            f->line, f->key);
                forgotten++;
            }
            free_field(f);
        }
        free(c->fields);
        free(c->name);
        free(c->source);
    }
    free(file->cases);
    free(file->path);
    free(file);
    assert_int_equal(forgotten, 0);
}

vec_case *vec_find(vec_file *file, const char *name)
{
    size_t i;

    for (i = 0; i < file->count; i++)
        if (strcmp(file->cases[i].name, name) == 0)
            return &file->cases[i];
    fail_msg("%s: no case '%s'", file->path, name);
    return NULL;
}

static vec_field *field(vec_case *c, const char *key, bool expected)
{
    vec_field *f = look_up(c, key, expected);

    if (f == NULL)
        fail_msg("%s:%ld: case '%s' has no %s '%s'", c->file, c->line, c->name,
                 expected ? "expect" : "given", key);
    else
        f->used = true;
    return f;
}

static const double *numbers(vec_case *c, const char *key, bool expected,
                             size_t *count)
{
    vec_field *f = field(c, key, expected);
    size_t i;

    for (i = 0; i < f->count; i++)
        if (isnan(f->values[i]))
            fail_msg("%s:%ld: '%s' is not a number", c->file, f->line,
                     f->words[i]);
    *count = f->count;
    return f->values;
}

static double number(vec_case *c, const char *key, bool expected)
{
    size_t count;
    const double *values = numbers(c, key, expected, &count);

    if (count != 1)
        fail_msg("%s:%ld: '%s' has %zu values, expected one", c->file, c->line,
                 key, count);
    return values[0];
}

bool vec_has_given(const vec_case *c, const char *key)
{
    return look_up(c, key, false) != NULL;
}

double vec_given(vec_case *c, const char *key)
{
    return number(c, key, false);
}

const char *vec_given_word(vec_case *c, const char *key)
{
    return field(c, key, false)->words[0];
}

const double *vec_given_list(vec_case *c, const char *key, size_t *count)
{
    return numbers(c, key, false, count);
}

bool vec_has_expect(const vec_case *c, const char *key)
{
    return look_up(c, key, true) != NULL;
}

double vec_expect(vec_case *c, const char *key)
{
    return number(c, key, true);
}

const char *vec_expect_word(vec_case *c, const char *key)
{
    return field(c, key, true)->words[0];
}

const double *vec_expect_list(vec_case *c, const char *key, size_t *count)
{
    return numbers(c, key, true, count);
}

void vec_check_list(vec_case *c, const char *key, const double *actual,
                    size_t count)
{
    size_t expected, i;
    const double *values = numbers(c, key, true, &expected);
    const vec_field *f = look_up(c, key, true);

    if (expected != count)
        fail_msg("%s:%ld: %zu values, expected %zu", c->file, f->line, count,
                 expected);
    for (i = 0; i < count; i++) {
        if (fabs(actual[i] - values[i]) <= f->tolerance)
            continue;
        print_error("case '%s', value %zu of '%s' (source: %s)\n", c->name,
                    i + 1, key, c->source);
        assert_near_at(actual[i], values[i], f->tolerance, key, c->file,
                       (int)f->line);
    }
}

void vec_check(vec_case *c, const char *key, double actual)
{
    vec_check_list(c, key, &actual, 1);
}
