/* SPDX-License-Identifier: MIT
 * Usage: ifc_sample FOLDER mapped|unplaced|JOB.xml   Writes model.ifc of the
 * fixture or of a job, and boxes.json: where each element of it must be, for
 * ifc_place.mjs. Boxes of meshes come from the scene; those of swept disks from
 * their curve and radius, here again and otherwise than in the writer: a disk
 * of radius r square to the unit tangent t reaches r sqrt(1 - t_i^2) along axis
 * i. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/num.h"
#include "base/uuid.h"
#include "scene_fixture.h"
#include "write/writers.h"

#define STEPS 4000 /* along an arc */

typedef struct {
    double low[3], high[3];
} box;

static void widen(box *b, dm_vec3 p, dm_vec3 tangent, double radius)
{
    const double c[3] = {p.x, p.y, p.z};
    const double t[3] = {tangent.x, tangent.y, tangent.z};
    int i;

    for (i = 0; i < 3; i++) {
        double reach = radius * sqrt(fmax(0.0, 1.0 - t[i] * t[i]));

        b->low[i] = fmin(b->low[i], c[i] - reach);
        b->high[i] = fmax(b->high[i], c[i] + reach);
    }
}

/* The arc through three points about its centre. */
static void widen_arc(box *b, const dm_vec3 *p, double radius)
{
    dm_vec3 u = dm_vec3_sub(p[1], p[0]), v = dm_vec3_sub(p[2], p[0]);
    dm_vec3 n = dm_vec3_cross(u, v), centre, a, e1, e2;
    double n2 = dm_vec3_dot(n, n), sweep;
    int i;

    centre = dm_vec3_scale(
        dm_vec3_add(dm_vec3_scale(dm_vec3_cross(n, u), dm_vec3_dot(v, v)),
                    dm_vec3_scale(dm_vec3_cross(v, n), dm_vec3_dot(u, u))),
        0.5 / n2);
    centre = dm_vec3_add(p[0], centre);
    a = dm_vec3_sub(p[0], centre);
    e1 = dm_vec3_unit(a);
    e2 = dm_vec3_cross(dm_vec3_unit(n), e1);
    sweep = atan2(dm_vec3_dot(dm_vec3_sub(p[2], centre), e2),
                  dm_vec3_dot(dm_vec3_sub(p[2], centre), e1));
    for (i = 0; i <= STEPS; i++) {
        double at = sweep * i / STEPS;
        dm_vec3 out =
            dm_vec3_add(dm_vec3_scale(e1, cos(at)), dm_vec3_scale(e2, sin(at)));
        dm_vec3 along = dm_vec3_add(dm_vec3_scale(e1, -sin(at)),
                                    dm_vec3_scale(e2, cos(at)));

        widen(b, dm_vec3_add(centre, dm_vec3_scale(out, dm_vec3_norm(a))),
              along, radius);
    }
}

static box sweep_box(const dm_curve *c, double radius)
{
    box b = {{HUGE_VAL, HUGE_VAL, HUGE_VAL}, {-HUGE_VAL, -HUGE_VAL, -HUGE_VAL}};
    size_t i, at;

    for (i = 0, at = 0; i < c->piece_count; at += c->arc[i] ? 2 : 1, i++) {
        dm_vec3 t = dm_vec3_unit(dm_vec3_sub(c->point[at + 1], c->point[at]));

        if (c->arc[i]) {
            widen_arc(&b, &c->point[at], radius);
            continue;
        }
        widen(&b, c->point[at], t, radius);
        widen(&b, c->point[at + 1], t, radius);
    }
    return b;
}

static void put_box(FILE *f, const char *guid, const char *name, const box *b,
                    dm_vec3 shift, bool *first)
{
    const double s[3] = {shift.x, shift.y, shift.z};
    char text[DM_NUM_SIZE];
    int i;

    fprintf(f, "%s\n{\"guid\":\"%s\",\"name\":\"%s\",\"box\":[",
            *first ? "" : ",", guid, name);
    *first = false;
    for (i = 0; i < 6; i++) {
        dm_num_fixed(text, i < 3 ? b->low[i] + s[i] : b->high[i - 3] + s[i - 3],
                     6);
        fprintf(f, "%s%s", i == 0 ? "" : ",", text);
    }
    fprintf(f, "]}");
}

/* The steel as docs/outputs.md has it. */
static double steel_radius(const dm_model *m, const dm_tendon *t)
{
    const dm_duct_type *duct = &m->duct_types[t->ducts[0].duct_type];
    double bore = duct->od / 2.0 - duct->wall, d;

    if (t->strands == 0 || t->strand_type >= m->strand_type_count)
        return 0.5 * bore;
    d = m->strand_types[t->strand_type].diameter;
    return fmin(0.9 * bore, sqrt(t->strands * d * d / 4.0 / 0.7));
}

/* A tendon's body lies along its centreline. */
static void put_tendon(FILE *f, const dm_delivery *d, const dm_object *line,
                       dm_vec3 shift, bool *first)
{
    const dm_object *o = &d->scene->objects[line->parent];
    char guid[23];
    dm_uuid uid;
    box b;

    if (!dm_uuid_parse(o->uid, &uid))
        exit(2);
    dm_uuid_ifc(uid, guid);
    b = sweep_box(&d->scene->curves[line->curve],
                  steel_radius(d->model, &d->model->tendons[o->tendon]));
    put_box(f, guid, o->name, &b, shift, first);
}

/* The conduit keeps the uid; what adheres to it has a name below it. */
static void put_object(FILE *f, const dm_delivery *d, const dm_object *o,
                       dm_vec3 shift, bool *first)
{
    const dm_scene *s = d->scene;
    dm_uuid uid, space;
    char guid[23], path[64];
    box b;
    int i;

    if (!dm_uuid_parse(o->uid, &uid) || !dm_uuid_parse(d->model->uid, &space))
        exit(2);
    dm_uuid_ifc(uid, guid);
    if (o->kind == DM_OBJECT_DUCT && o->curve != DM_NONE) {
        b = sweep_box(&s->curves[o->curve], o->radius);
        put_box(f, guid, o->name, &b, shift, first);
        snprintf(path, sizeof path, "ifc/cover/%s", o->uid);
        dm_uuid_ifc(dm_uuid_name(space, path), guid);
        if (strcmp(o->colour_name, dm_cover_text(DM_COVER_TESTED)) == 0)
            return;
    }
    if (o->kind == DM_OBJECT_CENTRELINE) {
        put_tendon(f, d, o, shift, first);
        return;
    }
    /* A curve alone is not drawn by a web viewer. */
    if (o->mesh == DM_NONE || o->kind == DM_OBJECT_ALIGNMENT)
        return;
    for (i = 0; i < 3; i++) {
        b.low[i] = (double)s->meshes[o->mesh].low[i];
        b.high[i] = (double)s->meshes[o->mesh].high[i];
    }
    put_box(f, guid, o->name, &b, shift, first);
}

static int put_boxes(const char *folder, const dm_delivery *d)
{
    dm_vec3 shift = {0.0, 0.0, 0.0};
    bool first = true;
    char path[4096];
    size_t i;
    FILE *f;

    if (d->model->epsg == 0 && !d->model->map.given)
        shift = d->scene->origin; /* the site stands there */
    snprintf(path, sizeof path, "%s/boxes.json", folder);
    f = fopen(path, "w");
    if (f == NULL)
        return 2;
    fputc('[', f);
    for (i = 0; i < d->scene->object_count; i++)
        put_object(f, d, &d->scene->objects[i], shift, &first);
    fputs("\n]\n", f);
    return fclose(f) == 0 ? 0 : 2;
}

static int write_all(const char *folder, const dm_delivery *delivery)
{
    dm_outset *set = NULL;
    int result = 2;

    if (dm_outset_new(folder, NULL, &set) == DM_OK &&
        dm_write_ifc(delivery, set, NULL) == DM_OK &&
        dm_outset_commit(set) == DM_OK)
        result = put_boxes(folder, delivery);
    dm_outset_free(set);
    return result;
}

static int write_fixture(const char *folder, bool mapped)
{
    scene_fixture *f = scene_fixture_new();
    dm_scene *scene = NULL;
    int result = 2;

    if (f != NULL && !mapped)
        f->model.epsg = f->model.vertical_epsg = 0;
    if (f != NULL &&
        dm_scene_build(&f->model, &f->survey, &f->criteria, f->results, &f->job,
                       NULL, &scene) == DM_OK) {
        f->delivery.scene = scene;
        result = write_all(folder, &f->delivery);
    }
    dm_scene_free(scene);
    scene_fixture_free(f);
    return result;
}

static int write_job(const char *folder, const char *path)
{
    dm_campaign *c = NULL;
    dm_delivery delivery;
    int result = 2;

    if (dm_campaign_read(path, NULL, &c) == DM_OK &&
        dm_campaign_solve(c, DM_STAGE_SCENE, NULL, NULL, NULL) == DM_OK) {
        delivery = dm_campaign_delivery(c, NULL, 0);
        result = write_all(folder, &delivery);
    }
    dm_campaign_free(c);
    return result;
}

int main(int argc, char **argv)
{
    if (argc != 3) {
        fputs("usage: ifc_sample FOLDER mapped|unplaced|JOB.xml\n", stderr);
        return 2;
    }
    if (strcmp(argv[2], "mapped") == 0 || strcmp(argv[2], "unplaced") == 0)
        return write_fixture(argv[1], argv[2][0] == 'm');
    return write_job(argv[1], argv[2]);
}
