/* SPDX-License-Identifier: MIT
 * Bridge files made in memory: a sound one, and what edits make of it. */
#ifndef DM_TEST_MODEL_TEXT_H
#define DM_TEST_MODEL_TEXT_H

#include <string.h>

#include "base/buf.h"
#include "model/read.h"
#include "near.h"
#include "said.h"

/* The whole file as text; its absence fails the test. Free with
 * dm_buf_free. */
static inline dm_buf text_of_file(const char *path)
{
    dm_buf text = {0};
    FILE *f = fopen(path, "rb");
    char piece[4096];
    size_t n;

    assert_non_null(f);
    while ((n = fread(piece, 1, sizeof piece, f)) > 0)
        dm_buf_put(&text, piece, n);
    fclose(f);
    assert_false(text.failed);
    return text;
}

/* Puts `to` in the place of the first `from`, which must be there. */
static inline void text_edit(dm_buf *text, const char *from, const char *to)
{
    const char *at = strstr(text->data, from);
    dm_buf out = {0};

    if (!at)
        fail_msg("the text has no '%s'", from);
    dm_buf_put(&out, text->data, (size_t)(at - text->data));
    dm_buf_puts(&out, to);
    dm_buf_puts(&out, at + strlen(from));
    assert_false(out.failed);
    dm_buf_free(text);
    *text = out;
}

/* Reads a text that must be sound; nothing may be said. */
static inline dm_model *model_of_text(const dm_buf *text)
{
    dm_model *model = NULL;
    said heard;

    said_init(&heard);
    dm_status status =
        dm_model_read_text("made.xml", text, &heard.diag, &model);
    assert_string_equal(heard.text, "");
    assert_int_equal(status, DM_OK);
    assert_non_null(model);
    return model;
}

static inline dm_model *model_of_file(const char *path)
{
    dm_buf text = text_of_file(path);
    dm_model *model = model_of_text(&text);

    dm_buf_free(&text);
    return model;
}

static inline const dm_face *face_named(const dm_tendon *t, const char *id)
{
    size_t i = dm_tendon_find_face(t, id);

    assert_true(i < t->face_count);
    return &t->faces[i];
}

#endif
