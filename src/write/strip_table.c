/* SPDX-License-Identifier: MIT
 * The numbers behind the map, line by line: indications, then taps. The
 * tables of the same run (indications.csv, taps.csv) hold more. */
#include <math.h>
#include <string.h>

#include "scene/properties.h"
#include "write/strip.h"

#define LINE 4.0
#define BLACK 0x000000

/* A column: where it begins as a part of the width; its name. */
typedef struct {
    double at;
    const char *name;
} column;

static const column found_columns[] = {{0.0, "indication"},
                                       {0.115, "kind, grade, state"},
                                       {0.345, "from"},
                                       {0.515, "to"},
                                       {0.685, "clock"},
                                       {0.74, "index"},
                                       {0.84, "volume (planning)"}};
static const column tap_columns[] = {
    {0.0, "tap point"}, {0.13, "what to do"},     {0.295, "station"},
    {0.465, "clock"},   {0.52, "from face back"}, {0.76, "from face ahead"}};
#define COUNT(a) (sizeof(a) / sizeof *(a))

static size_t found_count(const dm_paper *s)
{
    return s->picture.found != NULL ? s->picture.found->count : 0;
}

static size_t tap_count(const dm_paper *s)
{
    return s->picture.taps != NULL ? s->picture.taps->count : 0;
}

/* Each table that has rows has a line for its head. */
size_t dm_strip_table_lines(const dm_paper *s)
{
    size_t n = found_count(s), m = tap_count(s);

    return n + m + (n > 0 ? 1 : 0) + (m > 0 ? 1 : 0);
}

/* The line that is the head of the taps, if there are any. */
static size_t taps_from(const dm_paper *s)
{
    return found_count(s) > 0 ? found_count(s) + 1 : 0;
}

static bool is_head(const dm_paper *s, size_t line)
{
    return line == 0 || (tap_count(s) > 0 && line == taps_from(s));
}

size_t dm_strip_table_fit(const dm_paper *s, size_t first, size_t room)
{
    size_t left = dm_strip_table_lines(s) - first, n;

    if (left == 0 || room == 0)
        return 0;
    n = is_head(s, first) ? room : room - 1;
    n = n < left ? n : left;
    return n > 0 && is_head(s, first + n - 1) ? n - 1 : n;
}

typedef struct {
    dm_paper *s;
    const column *columns;
    size_t count;
    double y;
    dm_type type;
} row;

/* What was said, into column i. */
static void cell(const row *r, size_t i)
{
    dm_picture *p = &r->s->picture;
    double width = r->s->right - r->s->left;
    double from = r->s->left + r->columns[i].at * width;
    double end = i + 1 < r->count
                     ? r->s->left + r->columns[i + 1].at * width - 1.0
                     : r->s->right;

    dm_canvas_text_fit(p->canvas, from, r->y, end - from, dm_said(p), &r->type);
}

static void head(row *r)
{
    dm_look line = dm_line_look(BLACK, 0.25, DM_DASH_SOLID);
    size_t i;

    r->type.bold = true;
    for (i = 0; i < r->count; i++) {
        dm_say_clear(&r->s->picture);
        dm_say(&r->s->picture, r->columns[i].name);
        cell(r, i);
    }
    r->type.bold = false;
    dm_canvas_line(r->s->picture.canvas, r->s->left, r->y + 1.1, r->s->right,
                   r->y + 1.1, &line);
}

static void say_end(dm_picture *p, const dm_end *end)
{
    dm_say_clear(p);
    dm_say_length(p, end->t, true);
    dm_say_bound(p, end->u);
    if (end->open)
        dm_say(p, " open");
}

/* "1.2 (0.8 to 1.9) L", "at most 3.1 L"; US: gallons of 231 cubic inches.
 * Nothing without a size. */
static void say_volume(dm_picture *p, const dm_size *size)
{
    const double unit = p->us ? 231.0 * 0.0254 * 0.0254 * 0.0254 : 1e-3;
    const dm_amount *v = &size->volume;

    dm_say_clear(p);
    if (size->basis == DM_SIZE_NONE || !isfinite(v->high))
        return;
    if (isfinite(v->best)) {
        dm_buf_fixed(&p->say, v->best / unit, 1);
        dm_say(p, " (");
        dm_buf_fixed(&p->say, v->low / unit, 1);
        dm_say(p, " to ");
        dm_buf_fixed(&p->say, v->high / unit, 1);
        dm_say(p, ")");
    } else {
        dm_say(p, "at most ");
        dm_buf_fixed(&p->say, v->high / unit, 1);
    }
    dm_say(p, p->us ? " US gal" : " L");
}

static void found_row(row *r, const dm_indication *n)
{
    dm_picture *p = &r->s->picture;

    dm_say_clear(p);
    dm_say(p, n->key);
    cell(r, 0);
    dm_say_clear(p);
    dm_say(p, dm_kind_text(n->kind));
    dm_say(p, ", ");
    dm_say(p, dm_grade_label(p, n));
    dm_say(p, ", ");
    dm_say(p, n->reconciled ? dm_state_text(n->state) : "not reconciled");
    cell(r, 1);
    say_end(p, &n->from);
    cell(r, 2);
    say_end(p, &n->to);
    cell(r, 3);
    dm_say_clear(p);
    dm_say_clock(p, n->clock);
    cell(r, 4);
    dm_say_clear(p);
    dm_buf_fixed(&p->say, n->index, 2);
    dm_say(p, " \xc2\xb1 ");
    dm_buf_fixed(&p->say, p->k * n->index_u, 2);
    cell(r, 5);
    say_volume(p, &n->size);
    cell(r, 6);
}

static void say_tape(dm_picture *p, const dm_tape *tape)
{
    dm_say_clear(p);
    if (tape->face >= p->tendon->face_count) {
        dm_say(p, "none touchable");
        return;
    }
    dm_say(p, p->tendon->faces[tape->face].id);
    dm_say(p, " ");
    dm_say_length(p, tape->distance, true);
    dm_say_bound(p, tape->u);
}

static void tap_row(row *r, const dm_tap *tap)
{
    dm_picture *p = &r->s->picture;

    dm_say_clear(p);
    dm_say(p, tap->id);
    cell(r, 0);
    dm_say_clear(p);
    dm_say(p, dm_advice_text(tap->advice));
    cell(r, 1);
    dm_say_clear(p);
    dm_say_length(p, tap->t, true);
    dm_say_bound(p, tap->u_world);
    cell(r, 2);
    dm_say_clear(p);
    dm_say_clock(p, tap->clock);
    cell(r, 3);
    say_tape(p, &tap->back);
    cell(r, 4);
    say_tape(p, &tap->ahead);
    cell(r, 5);
}

double dm_strip_table(dm_paper *s, double y, size_t first, size_t count,
                      bool draw)
{
    size_t again = is_head(s, first) ? 0 : 1, i, k;
    row r = {.s = s, .type = {.size = DM_PRINT_SMALL}};

    for (i = first; draw && i < first + count; i++) {
        bool taps = tap_count(s) > 0 && i >= taps_from(s);

        r.columns = taps ? tap_columns : found_columns;
        r.count = taps ? COUNT(tap_columns) : COUNT(found_columns);
        r.y = y + 3.0;
        if (i == first && again > 0)
            head(&r);
        r.y += LINE * (double)(i - first + again);
        k = taps ? i - taps_from(s) : i;
        if (k == 0)
            head(&r);
        else if (taps)
            tap_row(&r, &s->picture.taps->items[k - 1]);
        else
            found_row(&r, &s->picture.found->items[k - 1]);
    }
    return LINE * (double)(count + again) + 1.0;
}
