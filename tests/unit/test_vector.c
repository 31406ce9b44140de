/* SPDX-License-Identifier: MIT
 * The reader of check values itself: what it gives, and that a wrong value
 * makes it fail. */
#define _POSIX_C_SOURCE 200809L
#include "vector.h"

#include <stdio.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include "near.h"

static void write_text(const char *path, const char *text)
{
    FILE *stream = fopen(path, "wb");

    assert_non_null(stream);
    fputs(text, stream);
    assert_int_equal(fclose(stream), 0);
}

static const char good[] = "# prose\nsource  a table, page 3\n"
                           "tolerance 1e-9\ncase one\n"
                           "given R 3.0\ngiven pi 0 0 2\ngiven pi 12 0.3 .45\n"
                           "given kind pipe\nexpect T 0.5 0.25\r\n"
                           "tolerance 1e-3\nexpect L 2\n"
                           "case two\ngiven R 4\nexpect word failure\n";

static void open_good_text_gives_cases_and_values(void **state)
{
    const char *path = "./test_vector.vec";
    const double t[] = {0.5, 0.25 + 5e-10};
    vec_file *file;
    vec_case *c;
    size_t count;

    (void)state;
    write_text(path, good);
    file = vec_open(path);
    assert_int_equal(file->count, 2);
    c = vec_find(file, "one");
    assert_string_equal(c->source, "a table, page 3");
    assert_near(vec_given(c, "R"), 3, 0);
    assert_near(vec_given_list(c, "pi", &count)[5], 0.45, 0);
    assert_int_equal(count, 6);
    assert_string_equal(vec_given_word(c, "kind"), "pipe");
    assert_false(vec_has_given(c, "T"));
    vec_check_list(c, "T", t, 2);
    vec_check(c, "L", 2.0009);
    c = vec_find(file, "two");
    assert_string_equal(vec_expect_word(c, "word"), "failure");
    vec_close(file);
    remove(path);
}

static void use_file(const char *path, double t0, bool with_length)
{
    double t[] = {t0, 0.25};
    vec_file *file = vec_open(path);

    vec_check_list(vec_find(file, "one"), "T", t, 2);
    if (with_length)
        vec_check(vec_find(file, "one"), "L", 2);
    vec_expect_word(vec_find(file, "two"), "word");
    vec_close(file);
}

/* A failure leaves the test through cmocka, so it is tried in a child; outside
 * of a running test cmocka ends the process. */
static bool fails_in_child(const char *path, double t0, bool with_length)
{
    int status = 0;
    pid_t child = fork();

    assert_true(child >= 0);
    if (child == 0) {
        if (freopen("/dev/null", "w", stderr) == NULL)
            _exit(0);
        use_file(path, t0, with_length);
        _exit(0);
    }
    assert_int_equal(waitpid(child, &status, 0), child);
    return !WIFEXITED(status) || WEXITSTATUS(status) != 0;
}

static const char *path_of_child = "./test_vector_bad.vec";

static void faults_make_the_test_fail(void)
{
    static const char *const bad[] = {
        "case one\n",                         /* no source */
        "source s\ncase one\nexpect T 1\n",   /* no tolerance */
        "source s\ngiven R 1\n",              /* no case */
        "source s\ncase one\ncase one\n",     /* twice */
        "source s\ntolerance -1\ncase one\n", /* below zero */
        "source s\ncase one\nexcept T 1\n",   /* misspelt */
        "source s\ncase one\ngiven R\n",      /* no value */
        "# nothing\n",                        /* empty */
    };
    size_t i;

    write_text(path_of_child, good);
    if (fails_in_child(path_of_child, 0.5, true))
        print_error("the good file fails\n"), _exit(1);
    if (!fails_in_child(path_of_child, 0.5 + 2e-9, true))
        print_error("a wrong value passes\n"), _exit(1);
    if (!fails_in_child(path_of_child, (double)NAN, true))
        print_error("NaN passes\n"), _exit(1);
    if (!fails_in_child(path_of_child, 0.5, false))
        print_error("a forgotten expectation passes\n"), _exit(1);
    for (i = 0; i < sizeof bad / sizeof *bad; i++) {
        write_text(path_of_child, bad[i]);
        if (!fails_in_child(path_of_child, 0.5, true))
            print_error("fault %zu passes\n", i), _exit(1);
    }
    remove(path_of_child);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(open_good_text_gives_cases_and_values),
    };

    faults_make_the_test_fail();
    return cmocka_run_group_tests(tests, NULL, NULL);
}
