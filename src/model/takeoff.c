/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From a drawn dimension to the cut length, step by step. */
#include "model/model.h"
#include "base/base.h"

#include <dropwise/takeoff.h>

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

static const long double pi = 3.14159265358979323846264338327950288L;

/* One take-off under way: the steps so far, and their sum. */
struct work {
    struct dw_job *job;
    const struct dw_drawn *drawn;
    dw_length od;
    struct dw_takeoff *out;
    struct dw_step *steps;
    size_t capacity;
    struct dw_error *error;
};

/* Text in the job's unit; `nm` is shown as rounded where the unit can't hold it. */
static void print_length(const struct work *w, dw_length nm, char out[DW_LENGTH_TEXT])
{
    struct dw_length_style style = dw_job__style(w->job);
    dw_length_print(out, nm, &style);
}

static dw_err refuse(struct work *w, const char *format, ...) __attribute__((format(printf, 2, 3)));
static dw_err refuse(struct work *w, const char *format, ...)
{
    char text[400];
    va_list list;
    va_start(list, format);
    vsnprintf(text, sizeof text, format, list);
    va_end(list);
    return dw_error__set(w->error, DW_ERR_INPUT, "%s", text);
}

/* Adds `amount` to the cut, with its reason. Amounts of 0 say nothing and are left out. */
static dw_err add_step(struct work *w, dw_length amount, bool rounded, const char *format, ...)
    __attribute__((format(printf, 4, 5)));
static dw_err add_step(struct work *w, dw_length amount, bool rounded, const char *format, ...)
{
    if (amount == 0)
        return DW_OK;
    char text[200];
    va_list list;
    va_start(list, format);
    vsnprintf(text, sizeof text, format, list);
    va_end(list);
    struct dw_takeoff *out = w->out;
    if (!dw_add__i64(out->cut, amount, &out->cut) || out->cut > DW_LENGTH_MAX)
        return dw_error__set(w->error, DW_ERR_RANGE, "the dimensions add up to more than 1 000 km");
    if (out->n_steps == w->capacity)
        return dw_error__set(w->error, DW_ERR_INTERNAL, "more steps than a take-off can have");
    struct dw_step *step = &w->steps[out->n_steps];
    step->text = dw_job_text(w->job, text);
    if (!step->text)
        return dw_error__nomem(w->error);
    step->amount = amount;
    step->rounded = rounded;
    out->n_steps++;
    out->rounded |= rounded;
    return DW_OK;
}

/* Nearest nanometre, half away from zero; false beyond what a length may be. */
static bool round_nm(long double value, dw_length *nm)
{
    if (!(fabsl(value) <= (long double)DW_LENGTH_MAX))
        return false;
    *nm = llroundl(value);
    return true;
}

static dw_err need_od(struct work *w, const char *what)
{
    if (w->od > 0)
        return DW_OK;
    return refuse(w,
                  "%s needs the tube's outside diameter; give od of the material, the same for all "
                  "that the part accepts",
                  what);
}

/* n OD / 2 in nanometres. */
static dw_length half_ods(dw_length od, int64_t n, bool *rounded)
{
    int64_t twice = od * n;
    *rounded = twice % 2 != 0;
    return twice / 2 + twice % 2;
}

/* --- ends ----------------------------------------------------------------------------------- */

/* Half outside diameters from the drawn reference to the one that the fitting counts from. */
static int64_t shift_halves(enum dw_reference drawn, enum dw_reference counted)
{
    static const int64_t beyond_centre[] = {
        [DW_REF_CENTRE] = 0, [DW_REF_OUTSIDE] = 1, [DW_REF_INSIDE] = -1};
    return beyond_centre[counted] - beyond_centre[drawn];
}

static dw_err add_fitting(struct work *w, int number, const struct dw_drawn_end *end)
{
    if (end->fitting >= w->job->n_fittings)
        return refuse(w, "end %d names a fitting that is not in the table", number);
    const struct dw_fitting *fitting = &w->job->fittings[end->fitting];
    if (fitting->from > DW_REF_OUTSIDE || fitting->half_ods < 0 || fitting->half_ods > 4)
        return refuse(w, "fitting %s stops short by 0 to 2 OD, from centre or outside",
                      fitting->id);
    int64_t shift = shift_halves(w->drawn->measure, fitting->from);
    dw_length od = end->meets ? end->meets : w->od;
    if (od <= 0 && (shift || fitting->half_ods))
        return need_od(w, "a take-out by outside diameter");
    bool rounded = false;
    dw_length amount = half_ods(od, shift, &rounded);
    dw_err err =
        add_step(w, amount, rounded, "end %d: from the drawn %s to the %s of the joint", number,
                 dw_reference_word(w->drawn->measure), dw_reference_word(fitting->from));
    if (!err)
        err = add_step(w, -fitting->take_out, false, "end %d: take-out of %s", number, fitting->id);
    amount = half_ods(od, fitting->half_ods, &rounded);
    if (!err)
        err = add_step(w, -amount, rounded,
                       "end %d: %s stops short by %" PRId64 "/2 outside diameter", number,
                       fitting->id, fitting->half_ods);
    if (!err)
        err = add_step(w, fitting->insert, false, "end %d: goes into %s", number, fitting->id);
    if (!err)
        err = add_step(w, fitting->overhang, false, "end %d: runs on past %s", number, fitting->id);
    return err;
}

/* Long point - short point = OD tan(m); the centre line lies half way. */
static dw_err add_mitre(struct work *w, int number, const struct dw_drawn_end *end)
{
    if (end->mitre_udeg == 0)
        return DW_OK;
    if (end->notch)
        return refuse(w, "end %d has a mitre and a notch; give one of them", number);
    if (end->mitre_udeg < 0 || end->mitre_udeg >= 85 * DW_UDEG)
        return refuse(w, "a mitre is 0 to 85 degrees off square, half the turn of the joint");
    long double angle = (long double)end->mitre_udeg * pi / (180.0L * DW_UDEG);
    if (end->point == DW_MITRE_LONG)
        return DW_OK;
    dw_err err = need_od(w, "a mitre measured at its centre line or short point");
    if (err)
        return err;
    long double factor = end->point == DW_MITRE_SHORT ? 1.0L : 0.5L;
    dw_length amount = 0;
    if (!round_nm(factor * (long double)w->od * tanl(angle), &amount))
        return refuse(w, "the mitre is too steep");
    return add_step(w, amount, true,
                    "end %d: from the %s point of the mitre of %.4Lg degrees to "
                    "the long point",
                    number, end->point == DW_MITRE_SHORT ? "short" : "centre",
                    (long double)end->mitre_udeg / DW_UDEG);
}

/* How far before the centre line of a tube of radius R the points of a notch end: see takeoff.h. */
static long double notch_points(long double r, long double big, long double angle)
{
    long double q = sqrtl(big * big - r * r);
    long double sine = sinl(angle), cosine = cosl(angle);
    return q * cosine <= r * sine ? q : (big - r * cosine) / sine;
}

static dw_err add_notch(struct work *w, int number, const struct dw_drawn_end *end)
{
    if (!end->notch || end->axis_udeg == 0)
        return DW_OK;
    if (end->axis_udeg < 5 * DW_UDEG || end->axis_udeg > 90 * DW_UDEG)
        return refuse(w, "a notch sits on a tube at 5 to 90 degrees");
    dw_err err = need_od(w, "a notch measured from a centre line");
    if (err)
        return err;
    dw_length meets = end->meets ? end->meets : w->od;
    if (meets < w->od)
        return refuse(w, "end %d: a notched tube is no thicker than the one that it sits on",
                      number);
    long double angle = (long double)end->axis_udeg * pi / (180.0L * DW_UDEG);
    dw_length amount = 0;
    if (!round_nm(notch_points((long double)w->od / 2, (long double)meets / 2, angle), &amount))
        return refuse(w, "the notch is too steep");
    return add_step(w, -amount, true,
                    "end %d: from the centre line of the tube that it meets to the points of the "
                    "notch, at %.6Lg degrees",
                    number, (long double)end->axis_udeg / DW_UDEG);
}

/* What both ends add to the cut; `change` gets each end's own sum. */
static dw_err add_ends(struct work *w, dw_length change[2])
{
    dw_err err = DW_OK;
    for (int i = 0; i < 2 && !err; i++) {
        dw_length before = w->out->cut;
        const struct dw_drawn_end *end = &w->drawn->ends[i];
        if (end->fitting != DW_NONE && w->drawn->kind != DW_DRAWN_CUT)
            err = add_fitting(w, i + 1, end);
        if (!err)
            err = add_mitre(w, i + 1, end);
        if (!err)
            err = add_notch(w, i + 1, end);
        change[i] = w->out->cut - before;
    }
    return err;
}

/* --- shapes --------------------------------------------------------------------------------- */

static dw_err add_straight(struct work *w)
{
    if (w->drawn->size <= 0)
        return refuse(w, "a drawn dimension is longer than nothing");
    if (w->drawn->kind == DW_DRAWN_CUT)
        return add_step(w, w->drawn->size, false, "length as given");
    bool joined = w->drawn->ends[0].fitting != DW_NONE || w->drawn->ends[1].fitting != DW_NONE;
    return add_step(w, w->drawn->size, false, "drawn%s%s", joined ? ", measured from the " : "",
                    joined ? dw_reference_word(w->drawn->measure) : "");
}

/* travel = set / sin(angle) */
static dw_err add_offset(struct work *w)
{
    int64_t angle = w->drawn->angle_udeg;
    if (w->drawn->size <= 0 || angle <= 0 || angle > 90 * DW_UDEG)
        return refuse(w, "an offset has a set and an angle over 0 and up to 90 degrees");
    char set[DW_LENGTH_TEXT];
    print_length(w, w->drawn->size, set);
    long double sine = sinl((long double)angle * pi / (180.0L * DW_UDEG));
    dw_length travel = 0;
    if (!round_nm((long double)w->drawn->size / sine, &travel))
        return refuse(w, "the offset is flatter than can be made");
    return add_step(w, travel, angle != 90 * DW_UDEG,
                    "travel of an offset with a set of %s at %.5Lg degrees", set,
                    (long double)angle / DW_UDEG);
}

/* Radius on the centre line and angle of a bend, in nm and radians. */
struct arc {
    long double radius;
    long double angle;
};

/* R = s/2 + c^2/(8 s), tan(a/4) = 2 s / c */
static dw_err arc_of_rise(struct work *w, const struct dw_bend *bend, struct arc *arc)
{
    if (bend->radius || bend->angle_udeg)
        return refuse(w, "a bend by chord and rise has no other radius or angle");
    if (bend->chord <= 0)
        return refuse(w, "a bend by its rise needs the chord too");
    long double chord = (long double)bend->chord;
    long double rise = (long double)bend->rise;
    arc->radius = rise / 2 + chord * chord / (8 * rise);
    arc->angle = 4 * atanl(2 * rise / chord);
    return DW_OK;
}

/* c = 2 R sin(a/2): the minor arc unless told */
static dw_err arc_of_chord(struct work *w, const struct dw_bend *bend, struct arc *arc)
{
    if (bend->angle_udeg)
        return refuse(w, "give a bend's radius with its angle or with its chord, not all three");
    if (bend->radius <= 0 || bend->chord > 2 * bend->radius) {
        char widest[DW_LENGTH_TEXT];
        print_length(w, 2 * bend->radius, widest);
        return refuse(w, "no chord of that radius is so long; it is at most %s", widest);
    }
    arc->radius = (long double)bend->radius;
    arc->angle = 2 * asinl((long double)bend->chord / (2 * arc->radius));
    if (bend->major)
        arc->angle = 2 * pi - arc->angle;
    return DW_OK;
}

static dw_err find_arc(struct work *w, const struct dw_bend *bend, struct arc *arc)
{
    dw_err err = DW_OK;
    if (bend->radius < 0 || bend->chord < 0 || bend->rise < 0 || bend->angle_udeg < 0)
        return refuse(w, "a bend's figures are not negative");
    if (bend->rise) {
        err = arc_of_rise(w, bend, arc);
    } else if (bend->chord) {
        err = arc_of_chord(w, bend, arc);
    } else if (!bend->radius || !bend->angle_udeg || bend->angle_udeg >= 360 * DW_UDEG) {
        err = refuse(w, "a bend has radius and angle (under 360 degrees), radius and chord, or "
                        "chord and rise");
    } else {
        arc->radius = (long double)bend->radius;
        arc->angle = (long double)bend->angle_udeg * pi / (180.0L * DW_UDEG);
    }
    if (!err && bend->radius_at != DW_REF_CENTRE)
        err = need_od(w, "a radius that is not of the centre line");
    if (err)
        return err;
    long double half = (long double)w->od / 2;
    if (bend->radius_at == DW_REF_OUTSIDE)
        arc->radius -= half;
    if (bend->radius_at == DW_REF_INSIDE)
        arc->radius += half;
    if (arc->radius <= half)
        return refuse(w, "the bend is tighter than the tube is thick: its centre-line radius is "
                         "over half the outside diameter");
    return DW_OK;
}

/* Setback = R tan(a / 2): from the arc's end to where the centre lines meet. */
static dw_err find_setback(struct work *w, const struct arc *arc, dw_length *setback)
{
    *setback = 0;
    if (!w->drawn->to_apex)
        return DW_OK;
    if (arc->angle > pi - 1e-9L)
        return refuse(w, "a turn of 180 degrees or more has no point where its straights meet");
    if (!round_nm(arc->radius * tanl(arc->angle / 2), setback))
        return refuse(w, "the straights meet too far away");
    return DW_OK;
}

static dw_err add_bend(struct work *w, size_t i, dw_length *setback, struct dw_made_bend *made)
{
    struct arc arc = {0};
    dw_err err = find_arc(w, &w->drawn->bends[i], &arc);
    if (!err)
        err = find_setback(w, &arc, setback);
    dw_length length = 0;
    if (!err &&
        (!round_nm(arc.radius, &made->radius) || !round_nm(arc.radius * arc.angle, &length)))
        err = refuse(w, "the bend is larger than 1 000 km");
    char text[DW_LENGTH_TEXT];
    if (!err) {
        made->angle_udeg = llroundl(arc.angle * 180 / pi * DW_UDEG);
        print_length(w, made->radius, text);
        err = add_step(w, length, true, "arc of bend %zu: %.6Lg degrees at centre-line radius %s",
                       i + 1, arc.angle * 180 / pi, text);
    }
    if (!err)
        err = add_step(w, -2 * *setback, true, "bend %zu: setback on both sides", i + 1);
    return err;
}

/* Each straight less its setbacks and with its end's change: at least least_straight. */
static dw_err make_straights(struct work *w, const dw_length *setbacks, const dw_length change[2],
                             struct dw_made_bend *made)
{
    size_t n = w->drawn->n_bends;
    for (size_t i = 0; i <= n; i++) {
        dw_length left = w->drawn->straights[i];
        if (i > 0)
            left -= setbacks[i - 1];
        else
            left += change[0];
        if (i < n)
            left -= setbacks[i];
        else
            left += change[1];
        *(i < n ? &made[i].straight : &w->out->last_straight) = left;
        if (left >= 0 && left >= w->drawn->least_straight)
            continue;
        char have[DW_LENGTH_TEXT];
        char need[DW_LENGTH_TEXT];
        print_length(w, left, have);
        print_length(w, w->drawn->least_straight, need);
        return refuse(w, "straight %zu comes out at %s; it must be at least %s", i + 1, have, need);
    }
    return DW_OK;
}

static dw_err add_bent(struct work *w)
{
    const struct dw_drawn *drawn = w->drawn;
    if (drawn->n_bends == 0)
        return refuse(w, "a bent part has at least one bend");
    struct dw_made_bend *made = dw_job_alloc(w->job, drawn->n_bends, sizeof *made);
    dw_length *setbacks = made ? calloc(drawn->n_bends, sizeof *setbacks) : NULL;
    if (!setbacks)
        return dw_error__nomem(w->error);
    w->out->bends = made;
    w->out->n_bends = drawn->n_bends;
    dw_err err = DW_OK;
    dw_length change[2] = {0};
    for (size_t i = 0; i <= drawn->n_bends && !err; i++) {
        if (drawn->straights[i] < 0)
            err = refuse(w, "straight %zu is negative", i + 1);
        else
            err = add_step(w, drawn->straights[i], false, "straight %zu", i + 1);
        if (!err && i < drawn->n_bends)
            err = add_bend(w, i, &setbacks[i], &made[i]);
    }
    if (!err)
        err = add_ends(w, change);
    if (!err)
        err = make_straights(w, setbacks, change, made);
    free(setbacks);
    return err;
}

dw_err dw_takeoff_cut(struct dw_job *job, const struct dw_drawn *drawn, dw_length od,
                      struct dw_takeoff *out, struct dw_error *error)
{
    *out = (struct dw_takeoff){0};
    struct work w = {.job = job, .drawn = drawn, .od = od, .out = out, .error = error};
    w.capacity = 16 + 3 * (drawn->n_bends + 1);
    w.steps = dw_job_alloc(job, w.capacity, sizeof *w.steps);
    if (!w.steps)
        return dw_error__nomem(error);
    out->steps = w.steps;
    dw_err err = DW_OK;
    dw_length change[2] = {0};
    if (drawn->kind == DW_DRAWN_BENT)
        err = add_bent(&w);
    else
        err = drawn->kind == DW_DRAWN_OFFSET ? add_offset(&w) : add_straight(&w);
    if (!err && drawn->kind != DW_DRAWN_BENT)
        err = add_ends(&w, change);
    if (!err && out->cut <= 0) {
        char text[DW_LENGTH_TEXT];
        print_length(&w, out->cut, text);
        err = refuse(&w, "nothing is left to cut: the take-outs leave %s", text);
    }
    if (err)
        *out = (struct dw_takeoff){0};
    return err;
}
