/* SPDX-License-Identifier: MIT
 * ductmark find --explain: one indication, from the readings to its grade. */
#include "cli/explain.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "cli/cmd.h"
#include "scene/properties.h"
#include "write/evidence_json.h"
#include "write/provenance.h"

static void num(dm_buf *out, const char *before, double value, int decimals)
{
    dm_buf_puts(out, before);
    dm_buf_fixed(out, value, decimals);
}

static void clock_word(dm_buf *out, const char *before, double rad)
{
    char text[8];
    dm_buf_printf(out, "%s%s", before, dm_clock_text(rad, text));
}

/* ---- where ------------------------------------------------------------ */

static void put_support(dm_buf *out, const dm_tendon *t, size_t support,
                        const char *word, double distance)
{
    if (support >= t->support_count)
        return;
    num(out, "\n  ", distance, 3);
    dm_buf_printf(out, " m from %s %s", word, t->supports[support].id);
}

static void put_position(dm_buf *out, const dm_tendon *t, const dm_position *p)
{
    dm_buf_printf(out, "position: %s", dm_position_text(p->at));
    put_support(out, t, p->anchorage, "anchorage",
                p->distance[DM_AT_ANCHORAGE]);
    put_support(out, t, p->deviator, "deviator", p->distance[DM_AT_DEVIATOR]);
    if (!isnan(p->crest)) {
        num(out, "\n  ", p->distance[DM_AT_CREST], 3);
        num(out, " m from the high point at ", p->crest, 3);
        dm_buf_puts(out, " m");
    }
    dm_buf_putc(out, '\n');
}

static void put_face(dm_buf *out, const dm_tendon *t, size_t face, double u)
{
    if (face >= t->face_count)
        return;
    dm_buf_printf(out, "\n        from face %s", t->faces[face].id);
    num(out, " ± ", u, 3);
}

static void put_end(dm_buf *out, const dm_tendon *t, const char *word,
                    const dm_end *e, double k)
{
    dm_buf_puts(out, word);
    num(out, " ", e->t, 3);
    num(out, " m ± ", k * e->u, 3);
    num(out, " in the world, of it ± ", k * e->u_edge, 3);
    dm_buf_puts(out, " from the readings");
    put_face(out, t, e->face_back, k * e->u_back);
    put_face(out, t, e->face_ahead, k * e->u_ahead);
    dm_buf_puts(out, e->open ? "\n        open: it touches length that was not "
                               "read, the true end lies beyond\n"
                             : "\n");
}

static void put_head(dm_buf *out, const evidence_report *r)
{
    const dm_indication *d = &r->found->items[r->item];
    const dm_tendon *t = &r->model->tendons[r->found->tendon];
    double k = r->job->settings.coverage_factor;

    dm_buf_printf(out, "%s  %s\n", d->key, d->uid);
    dm_buf_printf(out, "%s on tendon %s", dm_kind_text(d->kind), t->id);
    if (t->where && t->where[0])
        dm_buf_printf(out, " (%s)", t->where);
    num(out, "; U = ", k, 1);
    dm_buf_puts(out, " u throughout\n\n");
    put_end(out, t, "from ", &d->from, k);
    put_end(out, t, "to   ", &d->to, k);
    num(out, "length ", d->to.t - d->from.t, 3);
    dm_buf_puts(out, d->shorter_than_footprint
                         ? " m, an upper bound: shorter than the footprint\n"
                         : " m\n");
    if (d->across_gap)
        dm_buf_puts(out, "it spans a length that was not read\n");
    if (!d->reconciled)
        dm_buf_puts(out, "its interval does not close: not reconciled\n");
    put_position(out, t, &d->position);
}

/* ---- who came by ------------------------------------------------------- */

static void put_witness_end(dm_buf *out, const char *word,
                            const dm_witness_end *e, double k)
{
    bool first = true;

    num(out, word, e->t, 3);
    num(out, " m (x ", e->x, 3);
    num(out, "): readings ± ", k * e->u_edge, 3);
    num(out, ", station ± ", k * sqrt(e->world), 3);
    dm_buf_puts(out, e->open ? ", open\n" : "\n");
    for (int i = 0; i < DM_BUDGET_ITEMS; i++) {
        if (!(e->budget.item[i] > 0.0))
            continue;
        dm_buf_printf(out, "%s%s", first ? "      of it " : ", ",
                      dm_budget_text((dm_budget_item)i));
        num(out, " ", 1000.0 * k * sqrt(e->budget.item[i]), 1);
        first = false;
    }
    dm_buf_puts(out, first ? "" : " mm\n");
}

static void put_thresholds(dm_buf *out, const dm_witness *l)
{
    num(out, "    noise ", l->noise, 4);
    num(out, " a cell, ", l->noise_smooth, 4);
    num(out, " smoothed over ", 0.4 * l->footprint, 3);
    num(out, " m\n    begins at ", l->enter, 3);
    num(out, ", ends below ", l->leave, 3);
    num(out, "; soft: ", l->soft_enter, 3);
    num(out, ", ", l->soft_leave, 3);
    if (isnan(l->raised)) {
        dm_buf_puts(out, " (the calibration's)\n");
    } else {
        num(out, " (raised: the noise allows ", l->raised, 3);
        dm_buf_puts(out, ")\n");
    }
}

static void put_witness(dm_buf *out, const evidence_report *r,
                        const dm_witness *l)
{
    const dm_run *run = &r->survey->runs[l->run];
    double k = r->job->settings.coverage_factor;

    dm_buf_printf(
        out, "  run %s, channel %s", run->id,
        r->survey->instruments[run->instrument].channels[l->channel].id);
    clock_word(out, ", clock line ", l->clock);
    dm_buf_printf(out, ": %s\n", dm_witness_text(l->result));
    dm_buf_printf(out, "    %s", run->events[l->event].href);
    if (l->rows > 0)
        dm_buf_printf(out, ", lines %ld to %ld, %zu rows", l->first_line,
                      l->last_line, l->rows);
    num(out, "\n    x ", l->x_from, 3);
    num(out, " to ", l->x_to, 3);
    num(out, " m, stations ", l->from, 3);
    num(out, " to ", l->to, 3);
    dm_buf_printf(out, " m, %zu cells of", l->cells);
    num(out, " ", 1000.0 * l->pitch, 1);
    dm_buf_puts(out, " mm");
    if (l->lifted > 0)
        dm_buf_printf(out, ", %zu of them lifted off", l->lifted);
    if (!isnan(l->mean))
        num(out, "\n    mean index ", l->mean, 3);
    dm_buf_puts(out, l->reconciled ? "\n" : "; not reconciled\n");
    if (l->result == DM_WITNESS_SAW || l->result == DM_WITNESS_NOTHING)
        put_thresholds(out, l);
    if (l->strand)
        dm_buf_printf(out, "    strands may lie at the wall here (%s)\n",
                      l->strand->derived ? "derived from a bend" : "stated");
    if (l->result != DM_WITNESS_SAW)
        return;
    num(out, "    plateau ", l->plateau, 3);
    num(out, " ± ", k * l->plateau_u, 3);
    num(out, ", beside it ", l->base, 3);
    dm_buf_puts(out,
                l->shorter ? ", maybe shorter than the footprint\n" : "\n");
    put_witness_end(out, "    from ", &l->end[0], k);
    put_witness_end(out, "    to   ", &l->end[1], k);
}

static void put_witnesses(dm_buf *out, const evidence_report *r)
{
    const dm_evidence *e = r->evidence;

    dm_buf_puts(out, "\nwho came by\n");
    for (size_t i = 0; i < e->witness_count; i++)
        put_witness(out, r, &e->witnesses[i]);
    for (size_t i = 0; i < e->absent_count; i++) {
        const dm_absent *a = &e->absent[i];

        dm_buf_printf(out, "  run %s", r->survey->runs[a->run].id);
        clock_word(out, ", clock line ", a->clock);
        dm_buf_puts(out, ": has nothing to say");
        if (a->cover)
            dm_buf_printf(out, "; its line is %s there%s%s",
                          dm_cover_text(a->cover->cover),
                          a->cover->reason[0] ? ": " : "", a->cover->reason);
        dm_buf_putc(out, '\n');
    }
}

/* ---- turns ------------------------------------------------------------ */

static void put_areas(dm_buf *out, const char *word, const dm_amount *a)
{
    if (isnan(a->low))
        return;
    dm_buf_printf(out, "    %s area ", word);
    dm_buf_fixed(out, 1e4 * a->low, 1);
    if (!isnan(a->best))
        num(out, " / ", 1e4 * a->best, 1);
    num(out, " / ", 1e4 * a->high, 1);
    dm_buf_puts(out, " cm2\n");
}

static void put_turn(dm_buf *out, const evidence_report *r, const dm_turn *t)
{
    double k = r->job->settings.coverage_factor;

    dm_buf_printf(out, "  run %s", r->survey->runs[t->run].id);
    num(out, " at ", t->t, 3);
    num(out, " m ± ", k * t->u, 3);
    num(out, ", noise ", t->noise, 4);
    num(out, ", read ", 100.0 * t->read, 0);
    dm_buf_puts(out, " % round\n");
    for (size_t i = 0; i < t->arc_count; i++) {
        clock_word(out, "    void-like from ", t->arcs[i].from);
        clock_word(out, " to ", t->arcs[i].to);
        num(out, ", index ", t->arcs[i].index, 3);
        dm_buf_puts(out, i == t->arc ? ": the size is taken from it\n" : "\n");
    }
    put_areas(out, "direct", &t->direct);
    put_areas(out, "fitted", &t->fitted);
    if (t->fit.valid) {
        num(out, "    level surface: half angle ",
            t->fit.half_angle * (180.0 / 3.14159265358979323846), 1);
        clock_word(out, " deg about ", t->fit.centre);
        num(out, ", misfit ", t->fit.misfit, 4);
        num(out, " (", t->fit.ratio, 2);
        dm_buf_puts(out, " of the noise)\n");
    }
    if (!isnan(t->apart)) {
        num(out, "    the two differ by ", t->apart, 2);
        dm_buf_puts(out, " standard deviations\n");
    }
}

static void put_turns(dm_buf *out, const evidence_report *r)
{
    const dm_indication *d = &r->found->items[r->item];
    const dm_amount *v = &d->size.volume;
    size_t count = 0;

    dm_buf_puts(out, "\nturns\n");
    for (size_t i = 0; i < r->found->turn_count; i++)
        if (r->found->turns[i].indication == r->item) {
            put_turn(out, r, &r->found->turns[i]);
            count++;
        }
    if (count == 0)
        dm_buf_puts(out, "  none crosses it\n");
    if (d->size.words)
        dm_buf_printf(out, "size: %s\n", d->size.words);
    if (isnan(v->low))
        return;
    num(out, "  volume ", 1e3 * v->low, 2);
    if (!isnan(v->best))
        num(out, " / ", 1e3 * v->best, 2);
    num(out, " / ", 1e3 * v->high, 2);
    dm_buf_puts(out, " L, for planning only\n");
}

/* ---- why -------------------------------------------------------------- */

static void put_chances(dm_buf *out, const dm_posterior *p)
{
    const char *before = "  probability of ";

    for (int m = 0; m < DM_MATERIAL_COUNT; m++) {
        dm_buf_printf(out, "%s%s", before,
                      dm_material_text((dm_material_kind)m));
        num(out, " ", p->p[m], 4);
        before = ", ";
    }
    dm_buf_printf(out, "\n  likeliest %s: ", dm_material_text(p->likeliest));
    dm_buf_puts(out, p->resolved ? "sure enough for the job's confidence\n"
                                 : "below the job's confidence\n");
    num(out, "  strand side: weight of a strand times ", p->strand_factor, 3);
    dm_buf_putc(out, '\n');
}

static void put_posterior(dm_buf *out, const dm_posterior *p)
{
    if (p->known)
        put_chances(out, p);
    else
        dm_buf_puts(out, "  by bands alone: the calibration does not give the "
                         "materials\n  to be told apart\n");
    dm_buf_printf(out,
                  "  shown on %zu clock lines; %zu of %zu runs there show it\n"
                  "  further clock lines read there that show nothing: %zu\n",
                  p->lines, p->seen, p->passed, p->silent);
    if (isfinite(p->zero_shift))
        num(out, "  zero of the index may be off by ", p->zero_shift, 4);
    else
        dm_buf_puts(out, "  zero of the index for this wall: not known");
    dm_buf_putc(out, '\n');
}

static void put_kind(dm_buf *out, const evidence_report *r)
{
    const dm_indication *d = &r->found->items[r->item];
    const dm_evidence *e = r->evidence;
    bool strand = false;

    for (size_t i = 0; i < e->witness_count; i++)
        strand = strand || (e->witnesses[i].result == DM_WITNESS_SAW &&
                            e->witnesses[i].strand);
    dm_buf_printf(out, "\nwhy %s\n", dm_kind_text(d->kind));
    num(out, "  plateau ", d->index, 3);
    num(out, " ± ", r->job->settings.coverage_factor * d->index_u, 3);
    clock_word(out, " on the line at ", d->clock);
    dm_buf_puts(out,
                d->index >= 0.0
                    ? ":\n  above 0, towards air\n"
                    : ":\n  below 0, soft or wet grout, or a strand at the "
                      "wall\n");
    if (d->index < 0.0)
        dm_buf_puts(out, strand ? "  a strand side lies under the sensor\n"
                                : "  no strand side is known there\n");
    put_posterior(out, &d->posterior);
}

static void put_rule(dm_buf *out, const dm_criteria *c, size_t rule)
{
    dm_buf_printf(out, "%s:%ld: ", c->rules[rule].place.file,
                  c->rules[rule].place.line);
    dm_rule_text(c, &c->rules[rule], out);
    dm_buf_putc(out, '\n');
}

static void put_grade(dm_buf *out, const evidence_report *r)
{
    const dm_indication *d = &r->found->items[r->item];
    const dm_criteria *c = r->criteria;
    size_t tried = c == NULL                 ? 0
                   : d->rule < c->rule_count ? d->rule
                                             : c->rule_count;

    if (c == NULL) {
        dm_buf_puts(out, "\nno grade: the job names no criteria\n");
        return;
    }
    dm_buf_printf(out, "\nwhy %s\n",
                  d->rule < c->rule_count ? c->grades[d->grade].label
                                          : "no grade");
    for (size_t i = 0; i < tried; i++) {
        dm_buf_puts(out, "  does not match  ");
        put_rule(out, c, i);
    }
    if (d->rule < c->rule_count) {
        dm_buf_puts(out, "  matches         ");
        put_rule(out, c, d->rule);
    }
}

static void put_opened(dm_buf *out, const evidence_report *r)
{
    for (size_t i = 0; i < r->found->opening_count; i++) {
        const dm_as_found *o = &r->found->openings[i];

        if (o->indication != r->item)
            continue;
        dm_buf_printf(out, "  %s, opened on %s", o->what.id, o->what.date);
        num(out, " at ", o->what.t, 3);
        dm_buf_printf(out, " m: %s found", dm_finding_text(o->what.found));
        if (!isnan(o->what.depth))
            num(out, ", mm deep: ", 1e3 * o->what.depth, 0);
        if (!isnan(o->depth.low))
            num(out, ", estimated at least ", 1e3 * o->depth.low, 0);
        dm_buf_printf(out, "\n    %s: %s\n", dm_outcome_text(o->outcome),
                      o->words);
    }
}

static void put_register(dm_buf *out, const dm_indication *d)
{
    dm_buf_printf(out, "\nregister: %s, %s", dm_state_text(d->state),
                  d->in_register ? "known to the register given"
                                 : "not in a register given");
    dm_buf_printf(out, "; first survey: %s\n",
                  d->first_survey ? d->first_survey : "-");
}

static void put_all(dm_buf *out, const evidence_report *r)
{
    put_head(out, r);
    put_witnesses(out, r);
    put_turns(out, r);
    put_kind(out, r);
    put_grade(out, r);
    put_register(out, &r->found->items[r->item]);
    put_opened(out, r);
}

/* ---- the command ------------------------------------------------------ */

static bool find_item(const dm_campaign *c, const char *name, size_t *tendon,
                      size_t *item)
{
    for (size_t i = 0; i < c->model->tendon_count; i++) {
        const dm_indications *f = c->results[i].indications;
        for (size_t k = 0; f && k < f->count; k++)
            if (strcmp(f->items[k].key, name) == 0 ||
                strcmp(f->items[k].uid, name) == 0) {
                *tendon = i;
                *item = k;
                return true;
            }
    }
    return false;
}

int explain_print(session *s, const char *name, bool as_json)
{
    const dm_campaign *c = s->campaign;
    size_t tendon, item;
    dm_evidence *evidence = NULL;
    dm_buf text = {0};

    if (!find_item(c, name, &tendon, &item)) {
        fprintf(stderr,
                "ductmark find: no indication has the key or uid '%s'; without "
                "--explain it lists them\n",
                name);
        return EXIT_INPUT;
    }
    if (dm_evidence_make(c->model, c->survey, c->results[tendon].stations,
                         c->results[tendon].indications, item,
                         &c->job->settings, &s->diag, &evidence) != DM_OK)
        return EXIT_OUTPUT;
    evidence_report r = {c->model,
                         c->survey,
                         c->criteria,
                         c->job,
                         c->results[tendon].indications,
                         item,
                         evidence};
    if (as_json)
        dm_evidence_json(&r, &text);
    else
        put_all(&text, &r);
    int code = session_print(&text);
    dm_buf_free(&text);
    dm_evidence_free(evidence);
    return code;
}
