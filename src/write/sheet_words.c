/* SPDX-License-Identifier: MIT
 * Words and numbers of the sheets. A length is rounded once for each unit, from
 * the same value; a stop is rounded down. */
#include <math.h>

#include "base/num.h"
#include "ductmark/ductmark.h"
#include "write/row.h"
#include "write/sheet.h"

#define INCH 0.0254
#define IN3 (INCH * INCH * INCH)
/* Pa; pound-force of 4.4482216152605 N (NIST SP 811, 2008, appendix B.8). */
#define PSI (4.4482216152605 / (INCH * INCH))
#define NAME_MOST 40 /* letters of a name from a file */
#define PI 3.14159265358979323846

const dm_type dm_sheet_text = {.size = DM_SHEET_TEXT,
                               .leading = DM_SHEET_LEADING};
const dm_type dm_sheet_strong = {
    .size = DM_SHEET_TEXT, .bold = true, .leading = DM_SHEET_LEADING};

static void say_mm(dm_picture *p, double metres, int decimals)
{
    dm_buf_fixed(&p->say, metres * 1000.0, decimals);
    dm_say(p, " mm");
}

void dm_sheet_say_tape(dm_picture *p, double metres)
{
    if (p->us)
        dm_feet_text(metres, &p->say);
    else
        say_mm(p, metres, 0);
    dm_say(p, " (");
    if (p->us)
        say_mm(p, metres, 0);
    else
        dm_feet_text(metres, &p->say);
    dm_say(p, ")");
}

void dm_sheet_say_eighths(dm_picture *p, double metres)
{
    static const char *const part[] = {"",     " 1/8", " 1/4", " 3/8",
                                       " 1/2", " 5/8", " 3/4", " 7/8"};
    double eighths = floor(metres / INCH * 8.0 + 0.5);
    double whole = floor(eighths / 8.0);
    int rest = (int)(eighths - 8.0 * whole);

    if (whole > 0.0 || rest == 0)
        dm_buf_fixed(&p->say, whole, 0);
    dm_say(p, whole > 0.0 || rest == 0 ? part[rest] : part[rest] + 1);
    dm_say(p, " in");
}

void dm_sheet_say_bound(dm_picture *p, double metres)
{
    if (!isfinite(metres))
        dm_say(p, "?");
    else if (p->us)
        dm_sheet_say_eighths(p, dm_num_up(metres, INCH / 8.0));
    else
        say_mm(p, dm_num_up(metres, 1e-3), 0);
}

void dm_sheet_say_arc(dm_picture *p, double metres)
{
    metres = fabs(metres);
    if (p->us)
        dm_sheet_say_eighths(p, metres);
    else
        say_mm(p, metres, 0);
    dm_say(p, " (");
    if (p->us)
        say_mm(p, metres, 0);
    else
        dm_sheet_say_eighths(p, metres);
    dm_say(p, ")");
}

void dm_sheet_say_stop(dm_picture *p, double metres)
{
    double mm = dm_num_down(metres * 1000.0, 0.1),
           in = dm_num_down(metres / INCH, 0.01);

    dm_buf_fixed(&p->say, p->us ? in : mm, p->us ? 2 : 1);
    dm_say(p, p->us ? " in (" : " mm (");
    dm_buf_fixed(&p->say, p->us ? mm : in, p->us ? 1 : 2);
    dm_say(p, p->us ? " mm)" : " in)");
}

void dm_sheet_say_chance(dm_picture *p, double chance)
{
    if (dm_num_down(chance, 0.01) > 0.99)
        dm_say(p, "over 0.99");
    else
        dm_buf_fixed(&p->say, dm_num_down(chance, 0.01), 2);
}

const char *dm_sheet_name(const char *name, const char *id)
{
    return name != NULL && name[0] != '\0' ? name : id;
}

void dm_sheet_say_cut(dm_picture *p, const char *name, size_t most)
{
    size_t i, letters = 0;

    for (i = 0; name[i] != '\0'; i++) {
        if (((unsigned char)name[i] & 0xc0) == 0x80)
            continue;
        if (++letters > most)
            break;
    }
    dm_buf_put(&p->say, name, i);
    dm_say(p, name[i] != '\0' ? "\xe2\x80\xa6" : "");
}

void dm_sheet_say_name(dm_picture *p, const char *name)
{
    dm_sheet_say_cut(p, name, NAME_MOST);
}

void dm_sheet_say_tendon(dm_picture *p)
{
    const char *tag = dm_external_find(&p->tendon->external, "field-tag");

    dm_say(p, "Tendon ");
    dm_say(p, p->tendon->id);
    if (tag != NULL) {
        dm_say(p, ", tag ");
        dm_say(p, tag);
    }
    if (p->tendon->where[0] != '\0') {
        dm_say(p, ", ");
        dm_say(p, p->tendon->where);
    }
}

/* One value in two units, the job's first. */
typedef struct {
    double value;
    int decimals;
    const char *unit;
} amount;

static void say_amount(dm_picture *p, const amount *a)
{
    dm_buf_fixed(&p->say, a->value, a->decimals);
    dm_say(p, a->unit);
}

static void say_both(dm_picture *p, amount metric, amount us)
{
    say_amount(p, p->us ? &us : &metric);
    dm_say(p, " (");
    say_amount(p, p->us ? &metric : &us);
    dm_say(p, ")");
}

void dm_sheet_say_volume(dm_picture *p, double m3)
{
    say_both(p, (amount){m3 * 1e3, 3, " L"},
             (amount){m3 / IN3, 1, " in\xc2\xb3"});
}

void dm_sheet_say_volume_bound(dm_picture *p, double m3)
{
    const amount metric = {dm_num_up(m3 * 1e3, 1e-3), 3, " L"};
    const amount us = {dm_num_up(m3 / IN3, 0.1), 1, " in\xc2\xb3"};

    say_amount(p, p->us ? &us : &metric);
}

void dm_sheet_say_pressure(dm_picture *p, double pa)
{
    say_both(p, (amount){pa * 1e-3, 2, " kPa"}, (amount){pa / PSI, 2, " psi"});
}

void dm_sheet_say_face(dm_picture *p, size_t face)
{
    const dm_face *f = &p->tendon->faces[face];
    const dm_support *s = &p->tendon->supports[f->support];

    dm_say(p, "face ");
    dm_say(p, f->id);
    dm_say(p, s->kind == DM_SUPPORT_ANCHORAGE ? " (anchorage " : " (deviator ");
    dm_sheet_say_name(p, dm_sheet_name(s->name, s->id));
    dm_say(p, ")");
}

double dm_sheet_incline(const dm_tendon *tendon, size_t face)
{
    const dm_face *f = &tendon->faces[face];
    dm_vec3 d = dm_centreline_tangent(&tendon->line, f->t), n = f->normal;
    double along = fabs(d.x * n.x + d.y * n.y + d.z * n.z);
    double across = hypot(hypot(d.y * n.z - d.z * n.y, d.z * n.x - d.x * n.z),
                          d.x * n.y - d.y * n.x);

    return atan2(across, along);
}

void dm_sheet_say_line(dm_picture *p, double line)
{
    static const char *const where[] = {
        "top of the duct", "right side looking ahead, left looking back",
        "underside of the duct", "left side looking ahead, right looking back"};
    int quarter = (int)floor(line / (0.5 * PI) + 0.5);

    dm_say_clock(p, line);
    dm_say(p, ", ");
    dm_say(p, where[((quarter % 4) + 4) % 4]);
}

bool dm_sheet_on_line(const dm_tap *tap)
{
    return fabs(tap->around) < 5e-4;
}

void dm_sheet_choose(dm_sheet_page *s, size_t tendon)
{
    const dm_delivery *d = s->paper.picture.delivery;

    s->paper.picture.tendon = &d->model->tendons[tendon];
    s->paper.picture.taps = d->results[tendon].taps;
    s->paper.picture.found = d->results[tendon].indications;
    s->paper.picture.stations = d->results[tendon].stations;
}

void dm_sheet_say_origin(dm_picture *p)
{
    const dm_model *m = p->delivery->model;

    dm_say_clear(p);
    dm_say(p, dm_sheet_name(m->name, m->id));
    dm_buf_printf(&p->say, " \xc2\xb7 ductmark %s, job of ", dm_version());
    dm_say(p, p->delivery->job->date);
    dm_say(p, ". ");
}

void dm_sheet_put_title(dm_sheet_page *s, const char *what, double y)
{
    const dm_type title = {.size = 20.0, .bold = true};
    const dm_type page = {.size = 14.0, .bold = true, .align = DM_ALIGN_RIGHT};
    dm_picture *p = &s->paper.picture;

    dm_canvas_text(p->canvas, s->paper.left, y + 7.0, what, &title);
    dm_say_clear(p);
    dm_buf_printf(&p->say, "page %zu of %zu", s->page, s->tour->pages);
    dm_canvas_text(p->canvas, s->paper.right, y + 5.0, dm_said(p), &page);
}

void dm_sheet_say_tap(dm_picture *p, const dm_tap *tap)
{
    dm_say(p, tap->id);
    if (tap->role == DM_ROLE_SINGLE)
        return;
    dm_say(p, " ");
    dm_say(p, dm_tap_role_text(tap->role));
}
