/* SPDX-License-Identifier: MIT
 * What every page carries, because pages get apart: which tendon, where it is,
 * where the numbers come from, and the cautions. */
#include <math.h>
#include <string.h>

#include "base/file.h"
#include "ductmark/ductmark.h"
#include "scene/colour.h"
#include "write/paper.h"
#include "write/provenance.h"

#define BLACK 0x000000
#define HASH 12 /* digits of a SHA-256 that are printed */

static const dm_type small = {.size = DM_PRINT_SMALL};

double dm_paper_title(dm_paper *s, double y, double width, const char *what,
                      size_t page, size_t pages, bool draw)
{
    const dm_type title = {.size = 14.0, .bold = true};
    const dm_type right = {.size = DM_PRINT_TEXT, .align = DM_ALIGN_RIGHT};
    dm_picture *p = &s->picture;

    if (!draw)
        return 9.8;
    dm_say_clear(p);
    dm_say(p, what);
    dm_say_tendon(p);
    dm_canvas_text_fit(p->canvas, s->left, y + 4.8, width - 24.0, dm_said(p),
                       &title);
    if (pages > 1) {
        dm_say_clear(p);
        dm_buf_printf(&p->say, "page %zu of %zu", page, pages);
        dm_canvas_text(p->canvas, s->left + width, y + 4.8, dm_said(p), &right);
    }
    return 9.8;
}

double dm_paper_words(dm_paper *s, double x, double y, double width,
                      const dm_type *type, bool draw)
{
    dm_picture *p = &s->picture;
    size_t n =
        dm_canvas_text_block(p->canvas, x, y, width, dm_said(p), type, draw);

    return (double)n * dm_type_leading(type);
}

void dm_paper_say_place(dm_paper *s)
{
    dm_picture *p = &s->picture;
    const dm_model *m = p->delivery->model;
    const char *tag = dm_external_find(&p->tendon->external, "field-tag");

    dm_say_clear(p);
    dm_say(p, m->name != NULL && m->name[0] != '\0' ? m->name : m->id);
    if (p->tendon->part < m->part_count) {
        const dm_part *part = &m->parts[p->tendon->part];

        dm_say(p, " \xc2\xb7 ");
        dm_say(p, part->name != NULL && part->name[0] != '\0' ? part->name
                                                              : part->id);
    }
    if (p->tendon->where != NULL && p->tendon->where[0] != '\0') {
        dm_say(p, " \xc2\xb7 ");
        dm_say(p, p->tendon->where);
    }
    if (tag != NULL) {
        dm_say(p, " \xc2\xb7 field tag ");
        dm_say(p, tag);
    }
}

double dm_paper_index(dm_paper *s, double y, bool draw)
{
    dm_canvas *c = s->picture.canvas;
    dm_type centre = {.size = DM_PRINT_SMALL, .align = DM_ALIGN_CENTRE};
    dm_type right = {.size = DM_PRINT_SMALL, .align = DM_ALIGN_RIGHT};
    double x = s->left + 50.0, width = 7.0, end = x + width * DM_HEAT_CLASSES;
    int k;

    if (!draw)
        return 9.0;
    dm_canvas_text(c, x - 2.0, y + 3.2, "index: soft, wet or strand", &right);
    dm_canvas_text(c, end + 2.0, y + 3.2, "void-like, 1 = air", &small);
    for (k = 0; k < DM_HEAT_CLASSES; k++) {
        dm_look look = dm_index_look(k);

        look.stroke = BLACK;
        look.width = 0.1;
        dm_canvas_rect(c, x + width * k, y, width, 4.0, &look);
    }
    for (k = 1; k < DM_HEAT_CLASSES; k += 3) {
        dm_say_clear(&s->picture);
        dm_buf_fixed(&s->picture.say, dm_heat_limit(k), 2);
        dm_canvas_text(c, x + width * k, y + 7.2, dm_said(&s->picture),
                       &centre);
    }
    dm_canvas_text(c, x + width * 5.5, y + 3.1, "sound", &centre);
    return 9.0;
}

/* ---- origin ------------------------------------------------------------- */

static void say_input(dm_picture *p, const char *role, const char *file,
                      const char *sha256)
{
    size_t i;

    if (file == NULL || sha256 == NULL)
        return;
    dm_buf_printf(&p->say, ", %s ", role);
    dm_say(p, dm_path_name(file));
    dm_say(p, " ");
    for (i = 0; i < HASH && sha256[i] != '\0'; i++)
        dm_buf_putc(&p->say, sha256[i]);
}

/* "sha256  path" of this tendon's readings. */
static void say_readings(dm_picture *p)
{
    const dm_indications *f = p->found;
    size_t i, k;

    for (i = 0; f != NULL && i < f->hash_count; i++) {
        const char *gap = strchr(f->hashes[i], ' ');
        bool again = false;

        for (k = 0; k < i; k++)
            again = again || strcmp(f->hashes[k], f->hashes[i]) == 0;
        while (gap != NULL && *gap == ' ')
            gap++;
        if (!again)
            say_input(p, "readings", gap, f->hashes[i]);
    }
}

static void say_origin(dm_picture *p)
{
    const dm_delivery *d = p->delivery;
    size_t i;

    dm_say_clear(p);
    dm_buf_printf(&p->say,
                  "Made by ductmark %s from (name, first %d digits of SHA-256)",
                  dm_version(), HASH);
    say_input(p, "job", d->job->file, d->job->sha256);
    say_input(p, "bridge", d->model->file, d->model->sha256);
    for (i = 0; d->survey != NULL && i < d->survey->file_count; i++)
        say_input(p, "field book", d->survey->files[i], d->survey->sha256[i]);
    if (d->criteria != NULL)
        say_input(p, "criteria", d->criteria->file, d->criteria->sha256);
    say_readings(p);
    dm_say(p, ".");
}

/* The first caution stands alone in bold. */
static void say_cautions(dm_picture *p, const char *more)
{
    const char *const *caution = dm_cautions();
    size_t i;

    dm_say_clear(p);
    for (i = 1; caution[0] != NULL && caution[i] != NULL; i++) {
        dm_say(p, i > 1 ? " " : "");
        dm_say(p, caution[i]);
    }
    if (more != NULL) {
        dm_say(p, " ");
        dm_say(p, more);
    }
}

double dm_paper_origin(dm_paper *s, double y, const char *more, bool draw)
{
    const dm_type strong = {.size = DM_PRINT_TEXT, .bold = true};
    double at = y + 3.0, width = s->right - s->left;

    dm_say_clear(&s->picture);
    dm_say(&s->picture, dm_cautions()[0]);
    at += dm_paper_words(s, s->left, at, width, &strong, draw);
    say_cautions(&s->picture, more);
    at += dm_paper_words(s, s->left, at, width, &small, draw) + 0.8;
    say_origin(&s->picture);
    at += dm_paper_words(s, s->left, at, width, &small, draw);
    return at - 3.0 + 1.0 - y;
}
