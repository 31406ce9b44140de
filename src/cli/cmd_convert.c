/* SPDX-License-Identifier: MIT
 * ductmark convert: a LandXML alignment as the element that a bridge file
 * holds, on standard output or in a file of its own. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/arena.h"
#include "base/file.h"
#include "cli/cmd.h"
#include "cli/opt.h"
#include "cli/session.h"
#include "ductmark/ductmark.h"
#include "model/landxml.h"
#include "write/alignment.h"

static bool put_text(const dm_landxml *l, dm_arena *arena, dm_buf *out)
{
    const char *id = dm_alignment_id(arena, l->name);
    if (!id)
        return false;
    dm_buf_printf(out,
                  "  <!-- From a LandXML file with the SHA-256\n       %s,\n"
                  "       by ductmark %s. -->\n",
                  l->sha256, dm_version());
    dm_alignment_xml(id, &l->line, l->points, l->point_count, out);
    return !out->failed;
}

/* Whole or not at all, and not over the input. */
static int write_file(session *s, dm_arena *arena, const char *path,
                      const char *input, const dm_buf *text)
{
    const char *slash = strrchr(path, '/');
    const char *name = slash ? slash + 1 : path;
    char *folder = !slash ? dm_arena_strdup(arena, ".")
                   : slash == path
                       ? dm_arena_strdup(arena, "/")
                       : dm_arena_strndup(arena, path, (size_t)(slash - path));
    dm_outset *set = NULL;
    dm_out *out = NULL;
    dm_status status =
        folder ? dm_outset_new(folder, &s->diag, &set) : DM_NOMEM;
    if (status == DM_OK)
        status = dm_outset_protect(set, input);
    if (status == DM_OK)
        status = dm_outset_open(set, name, &out);
    if (status == DM_OK) {
        dm_out_put(out, text->data, text->length);
        status = dm_outset_commit(set);
    }
    dm_outset_free(set);
    return status == DM_OK ? EXIT_FINE : EXIT_OUTPUT;
}

static int convert(session *s, const char *path, const char *name,
                   const char *to)
{
    dm_arena *arena = dm_arena_new();
    dm_landxml *l = NULL;
    dm_buf text = {0};
    dm_status status = DM_NOMEM;
    int code = EXIT_OUTPUT;
    if (arena)
        status = dm_landxml_read(path, name, NULL, arena, &s->diag, &l);
    if (status != DM_OK)
        code = status == DM_NOMEM ? EXIT_OUTPUT : EXIT_INPUT;
    else if (!put_text(l, arena, &text))
        fprintf(stderr, "ductmark: error: out of memory\n");
    else if (to)
        code = write_file(s, arena, to, path, &text);
    else
        code = session_print(&text);
    dm_buf_free(&text);
    dm_arena_free(arena);
    return code;
}

int cmd_convert(int argc, char **argv)
{
    const char *name = NULL, *out = NULL;
    const opt opts[] = {
        {"name", OPT_TEXT, "NAME", "of the alignment (default: the only one)",
         &name},
        {"out", OPT_TEXT, "FILE", "write this file (default: standard output)",
         &out},
    };
    const usage u = {
        "convert",
        "LANDXML.xml",
        "Turns a LandXML alignment into the alignment element of a bridge "
        "file.",
        "Coordinates stay as they are: they must be the bridge's own. For a "
        "file in map\ncoordinates name it in the bridge file instead "
        "(landxml, coordinates=\"map\").",
        opts,
        sizeof opts / sizeof *opts,
        1,
        1};
    int code;
    if (!session_words(&u, argc, argv, &code))
        return code;
    session s;
    session_init(&s);
    code = convert(&s, argv[0], name, out);
    session_free(&s);
    return code;
}
