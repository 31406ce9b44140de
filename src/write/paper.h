/* SPDX-License-Identifier: MIT
 * Pages about one tendon: their size, what all of them carry, and the files
 * they go to. strip.c and cross_sheet.c say what stands on them. */
#ifndef DM_WRITE_PAPER_H
#define DM_WRITE_PAPER_H

#include "base/arena.h"
#include "write/picture.h"

#define DM_PAPER_MARGIN 10.0 /* mm */
#define DM_PAPER_MOST 2000   /* pages of one tendon */

typedef struct {
    dm_picture picture;
    double page_width, page_height; /* mm */
    double left, right;             /* of what is printed, x, mm */
    /* Of a strip: */
    double scale;  /* along: 1 : scale */
    double around; /* round the duct: 1 : around */
    double radius; /* outside, m, of the largest duct */
    size_t panel_count;
    double panel_length; /* m */
} dm_paper;

/* What stands on one page: parts from..to-1 in the writer's counting. */
typedef struct {
    size_t from, to;
    size_t line_from, line_to; /* of tables */
    double height;             /* of the content, mm */
} dm_paper_page;

typedef struct {
    const char *prefix; /* of file names: "strip" */
    const char *title;  /* "Tendon " */
    /* Prepares the paper; may be NULL. */
    void (*set_up)(dm_paper *paper);
    /* Fills pages[most]; returns their number, 0: nothing to show. The canvas
     * is there to measure with. */
    size_t (*break_pages)(dm_paper *paper, dm_paper_page *pages, size_t most);
    void (*fill_page)(dm_paper *paper, dm_paper_page *page, size_t number,
                      size_t pages, bool draw);
    /* What the picture says, for those who hear it, into picture.say; may be
     * NULL. */
    void (*say_summary)(dm_paper *paper);
} dm_paper_kind;

/* All tendons: SVG and PNG a file a page, PDF one file. */
dm_status dm_paper_write(const dm_paper_kind *kind, const dm_delivery *delivery,
                         dm_outset *out, dm_canvas_kind format, dm_diag *diag);

/* Each of these is drawn, or only measured, from y on and returns its height,
 * mm. */

/* `what`, the tendon, and the page if there are several; the next baseline is
 * one height below. */
double dm_paper_title(dm_paper *s, double y, double width, const char *what,
                      size_t page, size_t pages, bool draw);
/* What was said, broken into lines; y: the first baseline. */
double dm_paper_words(dm_paper *s, double x, double y, double width,
                      const dm_type *type, bool draw);
/* Bridge, part, where, field tag, into picture.say. */
void dm_paper_say_place(dm_paper *s);
/* The scale of the index's colours. */
double dm_paper_index(dm_paper *s, double y, bool draw);
/* Cautions, version, inputs with their hashes. `more`: a caution of its own;
 * may be NULL. */
double dm_paper_origin(dm_paper *s, double y, const char *more, bool draw);

#endif
