/* SPDX-License-Identifier: MIT
 * Reader of tests/vectors/NAME.vec, check values as plain text:
 *
 *     # prose
 *     source  document, page                  for all that follows
 *     tolerance 1e-9                          for the expectations that follow
 *     case    name
 *     given   key values...                   a repeated key adds its values
 *     expect  key values...
 *
 * Values are numbers or words. A fault in the file fails the running test
 * with file:line; so does a case without a source, an expectation without a
 * tolerance, and (in vec_close) an expectation that was never looked at. */
#ifndef DM_TEST_VECTOR_H
#define DM_TEST_VECTOR_H

#include <stdbool.h>
#include <stddef.h>

typedef struct {
    char *key;
    size_t count;
    char **words;
    double *values; /* NaN where the word is no number */
    double tolerance;
    long line;
    bool expected; /* of an expect line */
    bool used;
} vec_field;

typedef struct {
    char *name;
    char *source;
    long line;
    vec_field *fields;
    size_t count;
    const char *file;
} vec_case;

typedef struct {
    char *path;
    vec_case *cases;
    size_t count;
} vec_file;

/* Opens tests/vectors/<name> ("arc.vec"), or a path that has a slash. */
vec_file *vec_open(const char *name);
/* Fails if an expectation was not looked at, then frees. */
void vec_close(vec_file *file);

/* The case of that name; its absence fails the test. */
vec_case *vec_find(vec_file *file, const char *name);

bool vec_has_given(const vec_case *c, const char *key);
double vec_given(vec_case *c, const char *key);
const char *vec_given_word(vec_case *c, const char *key);
const double *vec_given_list(vec_case *c, const char *key, size_t *count);

bool vec_has_expect(const vec_case *c, const char *key);
double vec_expect(vec_case *c, const char *key);
const char *vec_expect_word(vec_case *c, const char *key);
const double *vec_expect_list(vec_case *c, const char *key, size_t *count);

/* Compares with the expectation within its tolerance; a difference is
 * reported with the case, its line and its source. */
void vec_check(vec_case *c, const char *key, double actual);
void vec_check_list(vec_case *c, const char *key, const double *actual,
                    size_t count);

#endif
