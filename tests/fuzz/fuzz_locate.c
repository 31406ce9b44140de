/* SPDX-License-Identifier: MIT
 * Bytes as the table that `locate` reads. Its first line may choose the
 * options:
 * "#!" and then letters, delimiter s t (semicolon, tab), decimal k (comma), j
 * for the bridge with runs instead of the curved one, f for feet, 0 to 7 for
 * --from, n for --to station. What goes out must have a row for each that came
 * in, as many cells in each as the header, no cell that starts a formula, and a
 * place or a problem. */
#define _POSIX_C_SOURCE 200809L
#include <math.h>
#include <unistd.h>

#include "base/num.h"
#include "cli/locate.h"
#include "cli/session.h"
#include "fuzz.h"

static struct {
    dm_model *curved, *plain;
    dm_survey *survey;
    const dm_stations *stations[1];
    dm_locate_runs *runs;
} world;

static void open_world(void)
{
    static const char *const books[] = {DM_TEST_DATA "/good_fieldbook.xml"};
    dm_settings settings = dm_settings_default();
    dm_stations *solved = NULL;
    if (world.curved)
        return;
    FUZZ_CHECK(dm_model_read(DM_TEST_DATA
                             "/../../geometry/reference/curved_two_spans.xml",
                             NULL, &world.curved) == DM_OK);
    FUZZ_CHECK(dm_model_read(DM_TEST_DATA "/good_bridge.xml", NULL,
                             &world.plain) == DM_OK);
    FUZZ_CHECK(dm_survey_read(books, 1, world.plain, NULL, &world.survey) ==
               DM_OK);
    FUZZ_CHECK(dm_stations_solve(world.plain, world.survey, 0, &settings, NULL,
                                 &solved) == DM_OK);
    world.stations[0] = solved;
    FUZZ_CHECK(dm_locate_runs_new(world.plain, world.survey, world.stations,
                                  &world.runs) == DM_OK);
}

static void choose(const uint8_t *data, size_t size, locate_filter *f)
{
    f->bridge.model = world.curved;
    f->head.delimiter = ',';
    f->head.decimal = '.';
    locate_out_units("m", &f->out);
    for (size_t i = 2; i < size && i < 12 && data[0] == '#' && data[1] == '!' &&
                       data[i] != '\n';
         i++) {
        if (data[i] >= '0' && data[i] <= '7')
            f->from = locate_from_text((locate_from)(data[i] - '0'));
        if (data[i] == 's')
            f->head.delimiter = ';';
        if (data[i] == 't')
            f->head.delimiter = '\t';
        if (data[i] == 'k' && f->head.delimiter != ',')
            f->head.decimal = ',';
        if (data[i] == 'f')
            locate_out_units("us-ft", &f->out);
        if (data[i] == 'n')
            f->to = "station";
        if (data[i] == 'j')
            f->bridge = (locate_bridge){world.plain, world.survey,
                                        world.stations, world.runs};
    }
}

static int keep(void *user, const dm_buf *text)
{
    FUZZ_CHECK(!text->failed);
    dm_buf_put(user, text->data, text->length);
    return EXIT_FINE;
}

static bool is_row(const char *line, size_t length)
{
    size_t i = 0;
    while (i < length && (line[i] == ' ' || line[i] == '\t'))
        i++;
    return i < length && line[i] != '#';
}

/* A cell as a spreadsheet sees it. */
static void check_cell(const locate_filter *f, const csv_cell *cell)
{
    double value;
    if (cell->length > 0 && strchr("=+-@", cell->text[0]))
        FUZZ_CHECK(
            dm_num_parse(cell->text, cell->length, f->head.decimal, &value));
}

static void check_output(const locate_filter *f, const dm_buf *in,
                         const dm_buf *out)
{
    csv_cell cells[2 * CSV_MOST_COLUMNS];
    size_t lines_in = 0, lines_out = 0, rows = 0, columns = 0, problems = 0;
    for (size_t i = 0; i < in->length; i++)
        lines_in += in->data[i] == '\n';
    lines_in += in->length > 0 && in->data[in->length - 1] != '\n';
    const char *line = out->data, *end;
    for (; line && *line != '\0'; line = end + 1, lines_out++) {
        end = strchr(line, '\n');
        FUZZ_CHECK(end);
        if (!is_row(line, (size_t)(end - line)))
            continue;
        size_t n = csv_split(line, (size_t)(end - line), f->head.delimiter,
                             cells, 2 * CSV_MOST_COLUMNS);
        columns = rows++ == 0 ? n : columns;
        FUZZ_CHECK(n == columns && n > f->head.columns);
        for (size_t i = 0; i < n; i++)
            check_cell(f, &cells[i]);
        problems += rows > 1 && cells[n - 1].length > 0;
    }
    FUZZ_CHECK(lines_in == lines_out);
    FUZZ_CHECK(problems == f->bad);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static locate_filter f;
    dm_diag diag = {0};
    dm_buf out = {0};
    FILE *file = tmpfile();
    bool plain = true;

    open_world();
    memset(&f, 0, sizeof f);
    f.diag = &diag;
    f.print = keep;
    f.user = &out;
    choose(data, size, &f);
    FUZZ_CHECK(file && fwrite(data, 1, size, file) == size);
    rewind(file);
    int code = locate_filter_run(&f, dup(fileno(file)), "stdin");
    FUZZ_CHECK(code == EXIT_FINE ? diag.errors == 0 : diag.errors > 0);
    FUZZ_CHECK((code == EXIT_LEFT_OUT) == (code != EXIT_INPUT && f.bad > 0));
    /* Comments go through with any bytes; NUL ends a text here. */
    for (size_t i = 0; i < size; i++)
        plain = plain && data[i] != '\0';
    dm_buf in = fuzz_text(data, size);
    if (code != EXIT_INPUT && plain)
        check_output(&f, &in, &out);
    dm_buf_free(&in);
    dm_buf_free(&out);
    fclose(file);
    return 0;
}
