/* SPDX-License-Identifier: MIT
 * JSON, one value a line, indented by a blank a level. */
#include "write/json.h"

#include <math.h>

static void begin(dm_json *json, const char *key)
{
    int i;

    if (json->depth > 0) {
        if (!json->first)
            dm_buf_putc(&json->buf, ',');
        dm_buf_putc(&json->buf, '\n');
        for (i = 0; i < json->depth; i++)
            dm_buf_putc(&json->buf, ' ');
    }
    json->first = false;
    if (key == NULL)
        return;
    dm_buf_putc(&json->buf, '"');
    dm_buf_json(&json->buf, key);
    dm_buf_puts(&json->buf, "\": ");
}

void dm_json_open(dm_json *json, const char *key, char bracket)
{
    begin(json, key);
    dm_buf_putc(&json->buf, bracket);
    json->depth++;
    json->first = true;
}

void dm_json_close(dm_json *json, char bracket)
{
    int i;

    json->depth--;
    if (!json->first) {
        dm_buf_putc(&json->buf, '\n');
        for (i = 0; i < json->depth; i++)
            dm_buf_putc(&json->buf, ' ');
    }
    dm_buf_putc(&json->buf, bracket);
    json->first = false;
    if (json->depth == 0)
        dm_buf_putc(&json->buf, '\n');
}

void dm_json_text(dm_json *json, const char *key, const char *text)
{
    begin(json, key);
    if (text == NULL) {
        dm_buf_puts(&json->buf, "null");
        return;
    }
    dm_buf_putc(&json->buf, '"');
    dm_buf_json(&json->buf, text);
    dm_buf_putc(&json->buf, '"');
}

void dm_json_bool(dm_json *json, const char *key, bool value)
{
    begin(json, key);
    dm_buf_puts(&json->buf, value ? "true" : "false");
}

void dm_json_count(dm_json *json, const char *key, size_t value)
{
    begin(json, key);
    dm_buf_printf(&json->buf, "%zu", value);
}

void dm_json_fixed(dm_json *json, const char *key, double value, int decimals)
{
    begin(json, key);
    if (isfinite(value))
        dm_buf_fixed(&json->buf, value, decimals);
    else
        dm_buf_puts(&json->buf, "null");
}

void dm_json_number(dm_json *json, const char *key, double value)
{
    begin(json, key);
    if (isfinite(value))
        dm_buf_num(&json->buf, value);
    else
        dm_buf_puts(&json->buf, "null");
}
