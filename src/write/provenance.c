/* SPDX-License-Identifier: MIT
 * Inputs, rules, cautions. A readings file that several tendons share is
 * named once; two files of one name stay apart by their hash. */
#include "write/provenance.h"
#include "base/file.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* ---- inputs ----------------------------------------------------------- */

typedef struct {
    dm_arena *arena;
    dm_input *items; /* heap */
    size_t count, capacity;
    bool failed;
} input_list;

static void add(input_list *list, const char *role, const char *file,
                const char *sha256)
{
    if (file == NULL || sha256 == NULL)
        return;
    if (!DM_GROW(list->items, list->count, list->capacity)) {
        list->failed = true;
        return;
    }
    list->items[list->count++] = (dm_input){role, dm_path_name(file), sha256};
}

/* "sha256  path" as the readings' hashes are handed on. */
static void add_hash(input_list *list, const char *line)
{
    const char *gap = strchr(line, ' ');
    char *sha256;

    if (gap == NULL)
        return;
    sha256 = dm_arena_strndup(list->arena, line, (size_t)(gap - line));
    while (*gap == ' ')
        gap++;
    if (sha256 == NULL)
        list->failed = true;
    else
        add(list, "readings", gap, sha256);
}

static int compare(const void *a, const void *b)
{
    const dm_input *x = a, *y = b;
    int order = strcmp(x->file, y->file);

    return order != 0 ? order : strcmp(x->sha256, y->sha256);
}

/* Sorts the items from `first` on and drops those that occur again. */
static void sort_once(input_list *list, size_t first)
{
    size_t i, n = first;

    if (list->count <= first)
        return;
    qsort(list->items + first, list->count - first, sizeof *list->items,
          compare);
    for (i = first; i < list->count; i++)
        if (n == first || compare(&list->items[n - 1], &list->items[i]) != 0)
            list->items[n++] = list->items[i];
    list->count = n;
}

static void collect(const dm_delivery *d, input_list *list)
{
    size_t i, k, first;

    if (d->job != NULL)
        add(list, "job", d->job->file, d->job->sha256);
    if (d->model != NULL)
        add(list, "bridge", d->model->file, d->model->sha256);
    for (i = 0; d->survey != NULL && i < d->survey->file_count; i++)
        add(list, "field book", d->survey->files[i], d->survey->sha256[i]);
    if (d->criteria != NULL)
        add(list, "criteria", d->criteria->file, d->criteria->sha256);
    if (d->reg != NULL)
        add(list, "register", d->reg->file, d->reg->sha256);
    for (i = 0; i < dm_context_file_count(d->context); i++) {
        const char *sha256, *file = dm_context_file(d->context, i, &sha256);

        add(list, "mesh", file, sha256);
    }
    first = list->count;
    for (i = 0; d->results != NULL && i < d->model->tendon_count; i++) {
        const dm_indications *found = d->results[i].indications;

        for (k = 0; found != NULL && k < found->hash_count; k++)
            add_hash(list, found->hashes[k]);
    }
    sort_once(list, first);
}

dm_status dm_inputs(const dm_delivery *delivery, dm_arena *arena,
                    dm_input **items, size_t *count)
{
    input_list list = {0};

    list.arena = arena;
    collect(delivery, &list);
    *count = list.count;
    *items = DM_NEW_ARRAY(arena, dm_input, list.count);
    if (*items != NULL && list.count > 0)
        memcpy(*items, list.items, list.count * sizeof **items);
    free(list.items);
    return *items == NULL || list.failed ? DM_NOMEM : DM_OK;
}

/* ---- rules ------------------------------------------------------------ */

static void put_limit(dm_buf *out, const char *before, double value,
                      const char *after)
{
    if (isnan(value))
        return;
    dm_buf_puts(out, before);
    dm_buf_num(out, value);
    dm_buf_puts(out, after);
}

void dm_rule_text(const dm_criteria *criteria, const dm_rule *rule, dm_buf *out)
{
    dm_buf_puts(out, criteria->grades[rule->grade].label);
    dm_buf_puts(out, ": ");
    dm_buf_puts(out, rule->has_kind ? dm_kind_text(rule->kind) : "any kind");
    put_limit(out, ", at least ", rule->length_min, " m long");
    put_limit(out, ", at most ", rule->length_max, " m long");
    put_limit(out, ", index at least ", rule->index_min, "");
    put_limit(out, ", area fraction at least ", rule->area_fraction_min, "");
    put_limit(out, ", area fraction at most ", rule->area_fraction_max, "");
    put_limit(out, ", volume at least ", rule->volume_min, " m3");
    if (rule->open_ended)
        dm_buf_puts(out, ", open-ended");
    if (rule->position != NULL) {
        put_limit(out, ", within ",
                  isnan(rule->within) ? DM_POSITION_NEAR : rule->within,
                  " m of ");
        dm_buf_puts(out, rule->position);
    }
}

/* ---- cautions --------------------------------------------------------- */

const char *const *dm_cautions(void)
{
    static const char *const text[] = {
        "Tendons are highly stressed; a hit strand can kill.",
        "Drilling, opening and vacuum work only by qualified people, under the "
        "owner's written permission and the direction of the responsible "
        "licensed engineer, under local codes.",
        "Box girders can be confined spaces; much of the work is at height.",
        "Indications are estimates: confirm before acting. Lengths that were "
        "not tested are not known to be sound.",
        "Measure every tap point from both faces before opening; strands may "
        "touch the wall.",
        "Locations and sizes only: no advice on structural safety.",
        NULL};

    return text;
}
