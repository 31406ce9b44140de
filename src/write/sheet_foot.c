/* SPDX-License-Identifier: MIT
 * What every sheet carries: cautions, signatures, where the numbers come
 * from. Those cautions that dm_cautions does not hold are common practice for
 * work at stressed tendons, not quoted from a standard. */
#include <string.h>

#include "ductmark/ductmark.h"
#include "write/provenance.h"
#include "write/sheet.h"

#define BLACK 0x000000
#define HASH 8 /* digits of a SHA-256 that are printed */

static const char first[] =
    "Tendons are highly stressed; a hit strand can kill. Do not cut, nick, "
    "heat or clamp strand. Keep out of line with anchorages, do not stand "
    "astride. Strand touched, wire broken or water running: stop, seal, tell "
    "the engineer.";
static const char others[] =
    "Opened only by qualified people, with the owner's written permission, "
    "under the responsible licensed engineer and local codes. Confined space, "
    "height: test the air, ventilate, attendant, rescue plan. Alkaline water "
    "and paste burn skin and eyes. Indications are estimates: confirm from "
    "both faces first. Locations and sizes only, no advice on structural "
    "safety.";

static double put_cautions(dm_sheet_page *s, double y, bool draw)
{
    dm_picture *p = &s->paper.picture;
    double at = y + 3.6, width = s->paper.right - s->paper.left;

    dm_say_clear(p);
    dm_say(p, first);
    at += dm_paper_words(&s->paper, s->paper.left, at, width, &dm_sheet_strong,
                         draw);
    dm_say_clear(p);
    dm_say(p, others);
    at += dm_paper_words(&s->paper, s->paper.left, at, width, &dm_sheet_text,
                         draw);
    return at - 3.6 + 1.0 - y;
}

/* Three places to sign: who, when. */
static double put_signatures(dm_sheet_page *s, double y, bool draw)
{
    static const char *const what[] = {"Set out by", "Both tapes checked by",
                                       "Released by the engineer"};
    dm_canvas *c = s->paper.picture.canvas;
    dm_look frame = dm_line_look(BLACK, 0.3, DM_DASH_SOLID);
    double width = (s->paper.right - s->paper.left) / 3.0;
    size_t i;

    for (i = 0; draw && i < 3; i++) {
        double x = s->paper.left + width * (double)i;

        dm_canvas_rect(c, x, y, width, 12.5, &frame);
        dm_canvas_text(c, x + 1.5, y + 4.4, what[i], &dm_sheet_strong);
        dm_canvas_text(c, x + 1.5, y + 11.2, "name, date, signature",
                       &dm_sheet_text);
    }
    return 13.5;
}

static void say_hash(dm_picture *p, const char *sha256)
{
    size_t i;

    dm_say(p, " ");
    for (i = 0; i < HASH && sha256[i] != '\0'; i++)
        dm_buf_putc(&p->say, sha256[i]);
}

/* Those of this tendon, "sha256  path", each once. */
static void say_readings(dm_picture *p)
{
    const dm_indications *f = p->found;
    size_t i, k;

    for (i = 0; f != NULL && i < f->hash_count; i++) {
        const char *name = strchr(f->hashes[i], ' ');
        const char *slash = strrchr(f->hashes[i], '/');

        for (k = 0; k < i && strcmp(f->hashes[k], f->hashes[i]) != 0;)
            k++;
        if (name == NULL || k < i)
            continue;
        dm_say(p, ", ");
        dm_say(p, slash != NULL ? slash + 1 : name + strspn(name, " "));
        say_hash(p, f->hashes[i]);
    }
}

static double put_origin(dm_sheet_page *s, double y, bool draw)
{
    dm_picture *p = &s->paper.picture;
    dm_arena *arena = dm_arena_new();
    dm_input *inputs = NULL;
    size_t i, count = 0;
    double high;

    dm_say_clear(p);
    dm_buf_printf(&p->say, "ductmark %s, job of ", dm_version());
    dm_say(p, p->delivery->job->date);
    dm_say(p, ", \xc2\xb1 with k = ");
    dm_buf_num(&p->say, p->k);
    dm_say(p, ". SHA-256: ");
    if (arena == NULL ||
        dm_inputs(p->delivery, arena, &inputs, &count) != DM_OK)
        p->say.failed = true;
    for (i = 0; !p->say.failed && i < count; i++) {
        if (strcmp(inputs[i].role, "readings") == 0)
            continue;
        dm_say(p, i > 0 ? ", " : "");
        dm_say(p, inputs[i].file);
        say_hash(p, inputs[i].sha256);
    }
    say_readings(p);
    dm_arena_free(arena);
    high = dm_paper_words(&s->paper, s->paper.left, y + 3.6,
                          s->paper.right - s->paper.left, &dm_sheet_text, draw);
    return high;
}

double dm_sheet_foot(dm_sheet_page *s, double y, bool draw)
{
    dm_look line = dm_line_look(BLACK, 0.6, DM_DASH_SOLID);
    double at = y + 1.0;

    if (draw)
        dm_canvas_line(s->paper.picture.canvas, s->paper.left, y,
                       s->paper.right, y, &line);
    at += put_cautions(s, at, draw);
    at += put_signatures(s, at, draw);
    at += put_origin(s, at, draw);
    return at - y;
}
