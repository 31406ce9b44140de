/* SPDX-License-Identifier: MIT */
#define _POSIX_C_SOURCE 200809L
#include "quality_site.h"

#include <stdlib.h>
#include <unistd.h>

#include "write/quality_words.h"

#define PI 3.14159265358979323846

static FILE *open_file(const char *path)
{
    FILE *f = fopen(path, "w");

    assert_non_null(f);
    return f;
}

static const char bridge_text[] =
    "<bridge version=\"1\" uid=\"5d6cf9e4-3f0b-4f8a-9a53-0d5b7a1c2002\" "
    "id=\"SITE\" name=\"Invented\">\n"
    "<duct-type id=\"D110\" od=\"110 mm\" wall=\"6.6 mm\" material=\"hdpe\"/>\n"
    "<duct-type id=\"OTHER\" od=\"110 mm\" wall=\"6.6 mm\" "
    "material=\"hdpe\"/>\n"
    "<deviator-type id=\"PIPE\" kind=\"pipe\" radius=\"3 m\"/>\n"
    "<tendon id=\"T1\" basis=\"assumed\">\n"
    "<anchorage id=\"A1\" x=\"0 m\" y=\"0 m\" z=\"0 m\">"
    "<face id=\"A1f\" side=\"ahead\" offset=\"1 m\"/></anchorage>\n"
    "<deviator id=\"D1\" x=\"15 m\" y=\"0 m\" z=\"0 m\" type=\"PIPE\">"
    "<face id=\"D1b\" side=\"back\" offset=\"1 m\" touchable=\"true\"/>"
    "<face id=\"D1a\" side=\"ahead\" offset=\"1 m\" touchable=\"true\"/>"
    "</deviator>\n"
    "<anchorage id=\"A2\" x=\"30 m\" y=\"0 m\" z=\"0 m\">"
    "<face id=\"A2f\" side=\"back\" offset=\"1 m\"/></anchorage>\n"
    "<duct-length duct-type=\"D110\"/>\n"
    "<fixture id=\"W1\" kind=\"weld\" from=\"4 m\" to=\"4.02 m\" "
    "ref=\"A1f\"/>\n"
    "</tendon></bridge>\n";

site *site_new(void)
{
    site *s = calloc(1, sizeof *s);
    FILE *f;

    assert_non_null(s);
    said_init(&s->said);
    s->random = 88172645463325252u;
    strcpy(s->folder, "/tmp/ductmark-site-XXXXXX");
    assert_non_null(mkdtemp(s->folder));
    snprintf(s->bridge, sizeof s->bridge, "%s/bridge.xml", s->folder);
    f = open_file(s->bridge);
    fputs(bridge_text, f);
    fclose(f);
    return s;
}

void site_free(site *s)
{
    dm_campaign_free(s->campaign);
    unlink(s->bridge);
    for (size_t i = 0; i < s->books; i++)
        unlink(s->book[i]);
    for (size_t i = 0; i < s->path_count; i++)
        unlink(s->paths[i]);
    assert_int_equal(rmdir(s->folder), 0);
    free(s);
}

void site_add_void(site *s, double from, double to, double height, double clock)
{
    s->voids[s->void_count++] = (site_void){from, to, height, clock};
}

static double chance(site *s)
{
    s->random ^= s->random >> 12;
    s->random ^= s->random << 25;
    s->random ^= s->random >> 27;
    return (double)((s->random * 2685821657736338717u) >> 11) /
           9007199254740992.0;
}

static double normal(site *s)
{
    return sqrt(-2.0 * log(chance(s) + 1e-300)) * cos(2.0 * PI * chance(s));
}

/* Through a boxcar of the footprint's width. */
/* What a channel reads there. */
static double truth(const site *s, double t, double clock)
{
    double sum = 0.0;

    for (size_t i = 0; i < s->void_count; i++) {
        const site_void *v = &s->voids[i];
        double from = fmax(v->from, t - 0.5 * SITE_W);
        double to = fmin(v->to, t + 0.5 * SITE_W);

        if (isnan(v->clock) || fabs(remainder(clock - v->clock, 360.0)) < 45.0)
            sum += v->height * fmax(0.0, to - from) / SITE_W;
    }
    return sum;
}

/* ---- rows ------------------------------------------------------------------
 */

typedef struct {
    site *s;
    const site_run *r;
    FILE *f;
    double time;
    bool rolled;
} writer;

static void number(const writer *w, double value, int decimals)
{
    char text[64];
    char *point;

    snprintf(text, sizeof text, "%.*f", decimals, value);
    point = strchr(text, '.');
    if (w->s->european && point != NULL)
        *point = ',';
    fputs(text, w->f);
}

/* Column order and units follow the dialect. */
static void row(writer *w, double x, double t)
{
    const site_run *r = w->r;
    double clock = r->true_clock != 0.0 ? r->true_clock : r->clock;
    double sigma = r->noise > 0.0 ? r->noise : 0.02;
    double index = truth(w->s, t, clock);
    char mark = w->s->european ? ';' : ',';

    if (r->lift_to > r->lift_from && t > r->lift_from && t < r->lift_to)
        index = 1.0;
    index += sigma * normal(w->s);
    if (r->falling)
        x = 40.0 - x;
    if (w->s->european) {
        number(w, SITE_REF - (SITE_REF - SITE_AIR) * index, 3);
        fputs(";;", w->f);
        number(w, x / 0.3048, 5);
    } else {
        fprintf(w->f, "%.1f,%.3f", 1000.0 * x,
                SITE_REF - (SITE_REF - SITE_AIR) * index);
        if (w->s->channels)
            fprintf(w->f, ",%.3f",
                    SITE_REF -
                        (SITE_REF - SITE_AIR) * (truth(w->s, t, clock + 180.0) +
                                                 sigma * normal(w->s)));
    }
    if (r->speed > 0.0) {
        long whole = (long)w->time;

        fputc(mark, w->f);
        if (r->clock_unit != NULL)
            fprintf(w->f, "2026-03-02T%02ld:%02ld:%02ld.%03ldZ",
                    10 + whole / 3600, whole / 60 % 60, whole % 60,
                    (long)(1000.0 * (w->time - (double)whole)));
        else
            number(w, w->time, 3);
    }
    fputs(w->s->european ? "\r\n" : "\n", w->f);
}

static void middle(writer *w, double x, double t, double dir)
{
    const site_run *r = w->r;

    w->rolled = true;
    w->time += r->stop - r->clock_back;
    for (double back = 0.0; back < r->roll_back; back += 0.005)
        row(w, x - back, t - dir * back);
}

static void rows(site *s, const site_run *r, const char *path)
{
    writer w = {s, r, open_file(path), 0.0, false};
    double dir = r->back ? -1.0 : 1.0;
    double pitch = r->pitch > 0.0 ? r->pitch : 0.005;
    double length = SITE_TO - SITE_FROM, stop = length;

    if (s->european)
        fputs("\xEF\xBB\xBF# logger 2\r\nraw;note;dist", w.f);
    else
        fputs(s->channels ? "x_mm,counts,under" : "x_mm,counts", w.f);
    fprintf(w.f, "%s%s", r->speed > 0.0 ? s->european ? ";t" : ",t" : "",
            s->european ? "\r\n" : "\n");
    for (size_t i = 0; (double)i * pitch <= stop + 1e-9; i++) {
        double x = (double)i * pitch;
        double t = (r->back ? SITE_TO : SITE_FROM) + dir * x;
        double quick = t > r->fast_from && t < r->fast_to ? 4.0 : 1.0;

        /* What was skipped is missing from the run distance. */
        if (r->unwritten > 0.0 && x > 0.5 * length) {
            t += dir * r->unwritten;
            if (t > SITE_TO || t < SITE_FROM)
                break;
        }
        if (i > 0 && r->speed > 0.0)
            w.time += pitch / (r->speed * quick);
        if (x > 0.5 * length && !w.rolled)
            middle(&w, x, t, dir);
        if (r->gap_to > r->gap_from && t > r->gap_from && t < r->gap_to)
            continue;
        row(&w, x, t);
    }
    fclose(w.f);
}

/* ---- book ------------------------------------------------------------------
 */

static void check(FILE *f, const char *kind, double index)
{
    fprintf(f, "<check kind=\"%s\" value=\"%.3f\"/>\n", kind,
            SITE_REF - (SITE_REF - SITE_AIR) * index);
}

static void tie(FILE *f, const char *element, const site_run *r, double x,
                const char *face, double distance)
{
    if (r->falling)
        x = 40.0 - x;
    fprintf(f,
            "<%s x=\"%.1f mm\" at=\"%s\" with=\"encoder\" "
            "distance=\"%.1f mm\" u=\"2 mm\"/>\n",
            element, 1000.0 * x, face, 1000.0 * distance);
}

static void one_run(site *s, FILE *f, const site_run *r)
{
    char *path = s->paths[s->path_count++], folder[64];
    double length = SITE_TO - SITE_FROM;

    assert_true(s->path_count <= 16);
    strcpy(folder, s->folder); /* -Wrestrict sees one object */
    snprintf(path, sizeof s->paths[0], "%s/%s.csv", folder, r->id);
    rows(s, r, path);
    fprintf(f,
            "<run id=\"%s\" tendon=\"T1\" instrument=\"I1\" "
            "direction=\"%s\" leading=\"nose\" clock=\"%.1f deg\">\n",
            r->id, r->back ? "back" : "ahead", r->clock);
    if (r->checks < 2) {
        check(f, "air", 1.0);
        check(f, "reference", 0.0);
    }
    tie(f, "start", r, 0.0, r->back ? "A2f" : "A1f", 0.3);
    fprintf(f, "<readings href=\"%s.csv\"/>\n", r->id);
    if (r->lift_stated)
        fprintf(f, "<lift x=\"%.1f mm\" x-to=\"%.1f mm\" reason=\"grease\"/>\n",
                1000.0 * (r->lift_from - SITE_FROM),
                1000.0 * (r->lift_to - SITE_FROM));
    if (r->mid_tie > 0.0)
        tie(f, "tie", r, 14.0 - 0.3 - SITE_FROM, "D1b", 0.3);
    if (!r->no_tie && r->mid_tie < 2.0)
        tie(f, "tie", r, length - r->unwritten, r->back ? "A1f" : "A2f", 0.3);
    if (r->checks < 1) {
        check(f, "air", 1.0 + r->drift);
        check(f, "reference", 0.0);
    }
    fprintf(f, "</run>\n");
}

void site_book(site *s, const site_run *runs, size_t count)
{
    static const char *const columns[2] = {
        "<columns run-distance=\"x_mm\" unit=\"mm\"",
        "<columns delimiter=\"semicolon\" decimal=\"comma\" "
        "run-distance=\"dist\" unit=\"ft\""};
    bool timed = false;
    char folder[64];
    FILE *f;

    assert_true(s->books < 2);
    for (size_t i = 0; i < count; i++)
        timed = timed || runs[i].speed > 0.0;
    strcpy(folder, s->folder);
    snprintf(s->book[s->books], sizeof s->book[0], "%s/book%zu.xml", folder,
             s->books);
    f = open_file(s->book[s->books]);
    fprintf(f,
            "<fieldbook version=\"1\" "
            "uid=\"1f0c2f43-6a1e-4f7e-9a54-3b1c9be0a00%zu\" survey=\"s\" "
            "date=\"2026-03-02\" "
            "bridge=\"5d6cf9e4-3f0b-4f8a-9a53-0d5b7a1c2002\">\n"
            "<instrument id=\"I1\"><encoder u=\"0.002\" walk=\"0.5 mm\" "
            "quantum=\"0 mm\"/><body nose=\"140 mm\" tail=\"100 mm\"/>"
            "<channel id=\"C1\" lead=\"0 mm\" footprint-along=\"100 mm\" "
            "footprint-around=\"60 mm\" depth=\"15 mm\"/>%s</instrument>\n"
            "<calibration duct-type=\"%s\" instrument=\"I1\">"
            "<air value=\"%.0f\"/><reference value=\"%.0f\"/></calibration>\n"
            "%s%s><value column=\"%s\" channel=\"C1\"/>%s</columns>\n",
            s->books,
            s->channels ? "<channel id=\"C2\" clock-offset=\"180 deg\" "
                          "lead=\"0 mm\" footprint-along=\"100 mm\" "
                          "footprint-around=\"60 mm\" depth=\"15 mm\"/>"
                        : "",
            s->no_calibration ? "OTHER" : "D110", SITE_AIR, SITE_REF,
            columns[s->european], timed ? " time=\"t\"" : "",
            s->european ? "raw" : "counts",
            s->channels ? "<value column=\"under\" channel=\"C2\"/>" : "");
    for (size_t i = 0; i < count; i++)
        one_run(s, f, &runs[i]);
    fprintf(f, "</fieldbook>\n");
    fclose(f);
    s->books++;
}

/* ---- */

dm_status site_judge(site *s)
{
    const char *books[2] = {s->book[0], s->book[1]};
    dm_status status;

    dm_campaign_free(s->campaign);
    s->campaign = NULL;
    status = dm_campaign_open(s->bridge, books, s->books, &s->said.diag,
                              &s->campaign);
    if (status != DM_OK)
        return status;
    s->campaign->job->settings.threads = 1;
    status = dm_campaign_solve(s->campaign, DM_STAGE_STATIONS, NULL, NULL,
                               &s->said.diag);
    if (status == DM_OK)
        status = dm_campaign_judge(s->campaign, NULL, NULL, &s->said.diag);
    return status;
}

const dm_quality_run *site_result(const site *s, size_t index)
{
    const dm_quality *q = s->campaign->quality[0];

    assert_true(index < q->run_count);
    return &q->runs[index];
}

const dm_remark *site_remark(const dm_quality_run *run, dm_remark_kind kind)
{
    for (size_t i = 0; i < run->remark_count; i++)
        if (run->remarks[i].kind == kind)
            return &run->remarks[i];
    return NULL;
}

site *site_of_run(site_run run)
{
    site *s = site_new();

    run.id = "R1";
    site_book(s, &run, 1);
    if (site_judge(s) != DM_OK)
        fail_msg("%s", s->said.text);
    return s;
}

const dm_remark *site_only(const site *s, dm_remark_kind kind,
                           dm_verdict verdict)
{
    const dm_quality_run *q = site_result(s, 0);
    const dm_remark *r = site_remark(q, kind);

    if (q->remark_count != 1 || r == NULL)
        for (size_t i = 0; i < q->remark_count; i++)
            print_error("remark: %s\n", dm_remark_text(q->remarks[i].kind));
    assert_int_equal(q->remark_count, 1);
    assert_non_null(r);
    assert_int_equal(r->verdict, verdict);
    assert_int_equal(q->verdict, verdict);
    return r;
}

const char *site_words(const site *s, const dm_remark *r, dm_units units)
{
    static char text[512];
    const dm_campaign *c = s->campaign;
    dm_buf out = {0};

    dm_remark_words(c->model, c->survey, c->results[0].stations, c->quality[0],
                    0, r, units, &out);
    assert_false(out.failed);
    snprintf(text, sizeof text, "%s", out.data);
    dm_buf_free(&out);
    return text;
}
