/* SPDX-License-Identifier: MIT
 * Places for what is found at a tap: those of the field book's `opened`. Where
 * it has been opened they say what the field book has, and on which page the
 * rest stands. */
#include <math.h>

#include "write/sheet_card.h"

#define BLACK 0x000000
#define COLUMNS 4

/* Four a row; one without a share of the width belongs to the one before. */
typedef struct {
    double share;
    const char *what;
    void (*say)(dm_picture *p, const dm_opening *w); /* NULL: to fill in */
} field;

typedef struct {
    const field *fields;
    size_t rows;
} form;

static void say_depth(dm_picture *p, const dm_opening *w)
{
    if (isfinite(w->depth))
        dm_sheet_say_arc(p, w->depth);
}

static void say_water(dm_picture *p, const dm_opening *w)
{
    dm_say(p, w->water ? "yes" : "no");
}

static void say_strand(dm_picture *p, const dm_opening *w)
{
    dm_say(p, w->strand ? "yes" : "no");
}

static void say_date(dm_picture *p, const dm_opening *w)
{
    dm_say(p, w->date);
}

static void say_what(dm_picture *p, const dm_opening *w)
{
    dm_say(p, dm_finding_text(w->found));
}

static void say_photo(dm_picture *p, const dm_opening *w)
{
    dm_say(p, w->photo != NULL ? w->photo : "");
}

static void say_id(dm_picture *p, const dm_opening *w)
{
    dm_sheet_say_name(p, w->id);
}

static const field to_open[] = {
    {0.36, "As found: void depth", NULL}, {0.20, "water?", NULL},
    {0.25, "strand touched?", NULL},      {0.19, "date", NULL},
    {0.36, "Void, soft, sound?", NULL},   {0.39, "photo, note", NULL},
    {0.25, "plugged by", NULL},           {0.00, NULL, NULL},
    {0.36, "Abs. pressure before", NULL}, {0.20, "after", NULL},
    {0.25, "of the air", NULL},           {0.19, "vessel", NULL}};
static const field to_scan[] = {{0.36, "Found again from", NULL},
                                {0.20, "to", NULL},
                                {0.25, "of face", NULL},
                                {0.19, "turn made?", NULL},
                                {0.36, "Clock from", NULL},
                                {0.20, "to", NULL},
                                {0.25, "photo", NULL},
                                {0.19, "by", NULL}};
static const field opened[] = {
    {0.36, "Depth ", say_depth},
    {0.20, "water ", say_water},
    {0.25, "strand touched ", say_strand},
    {0.19, "", say_date},
    {0.36, "Found ", say_what},
    {0.39, "photo ", say_photo},
    {0.25, "plugged by", NULL},
    {0.00, NULL, NULL},
    {1.00, "All that was found: page \"As found\", opening ", say_id},
    {0.00, NULL, NULL},
    {0.00, NULL, NULL},
    {0.00, NULL, NULL}};

static form form_of(const dm_card *c)
{
    if (c->task == DM_TASK_NONE)
        return (form){opened, sizeof opened / sizeof *opened / COLUMNS};
    if (c->task == DM_TASK_RESCAN)
        return (form){to_scan, sizeof to_scan / sizeof *to_scan / COLUMNS};
    /* The last row is for a test that few make. */
    return (form){to_open, sizeof to_open / sizeof *to_open / COLUMNS -
                               (c->s->tight > 1 ? 1 : 0)};
}

static void put_field(const dm_card *c, const field *f, double x, double y,
                      double width)
{
    dm_look frame = dm_line_look(BLACK, 0.3, DM_DASH_SOLID);

    dm_say_clear(c->p);
    dm_say(c->p, f->what);
    if (f->say != NULL)
        f->say(c->p, &dm_sheet_opened(c->p, c->tap)->what);
    dm_canvas_rect(c->p->canvas, x, y, width, c->s->field, &frame);
    dm_canvas_text_fit(
        c->p->canvas, x + 1.2, y + 5.0, width - 2.0, dm_said(c->p),
        c->task == DM_TASK_NONE ? &dm_sheet_strong : &dm_sheet_text);
}

double dm_card_form(const dm_card *c, double y)
{
    double width = c->s->paper.right - c->s->paper.left;
    form all = form_of(c);
    size_t row, column;

    for (row = 0; c->draw && row < all.rows; row++) {
        double x = c->s->paper.left;

        for (column = 0; column < COLUMNS; column++) {
            const field *f = &all.fields[COLUMNS * row + column];

            if (f->what == NULL)
                continue;
            put_field(c, f, x, y, width * f->share);
            x += width * f->share;
        }
        y += c->s->field;
    }
    return (double)all.rows * c->s->field;
}
