/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Fittings of a job: do they take the tube, how many are needed, and every drawn part's cut. */
#include "model/model.h"
#include "base/base.h"

#include <dropwise/takeoff.h>

#include <stdio.h>

enum dw_fit dw_fitting_fit(const struct dw_fitting *fitting, dw_length od)
{
    if (fitting->n_ods == 0 && fitting->n_bushed == 0)
        return DW_FIT_YES;
    for (size_t i = 0; i < fitting->n_ods; i++) {
        if (fitting->ods[i] == od)
            return DW_FIT_YES;
    }
    for (size_t i = 0; i < fitting->n_bushed; i++) {
        if (fitting->bushed[i] == od)
            return DW_FIT_BUSHED;
    }
    return DW_FIT_NO;
}

/* Outside diameter that all materials of the part share, 0 if they don't. */
static dw_length common_od(const struct dw_job *job, const struct dw_part *part)
{
    dw_length od = 0;
    for (size_t i = 0; i < part->n_materials; i++) {
        dw_length each = job->materials[part->materials[i]].od;
        if (i > 0 && each != od)
            return 0;
        od = each;
    }
    return od;
}

/* --- counting ------------------------------------------------------------------------------- */

static bool add_times(int64_t *sum, int64_t a, int64_t b)
{
    int64_t product = 0;
    return dw_mul__i64(a, b, &product) && dw_add__i64(*sum, product, sum);
}

/* Ends of one part, and the bushings that they need. */
static bool count_ends(const struct dw_job *job, const struct dw_part *part, int64_t *ends,
                       int64_t *bushings)
{
    for (int i = 0; i < 2; i++) {
        size_t f = part->drawn->ends[i].fitting;
        if (f >= job->n_fittings)
            continue;
        if (!add_times(&ends[f], 1, part->count))
            return false;
        const struct dw_fitting *fitting = &job->fittings[f];
        dw_length od = common_od(job, part);
        if (fitting->bushing < job->n_fittings && dw_fitting_fit(fitting, od) == DW_FIT_BUSHED &&
            !add_times(&bushings[fitting->bushing], 1, part->count))
            return false;
    }
    return true;
}

/* counts holds ends on entry, pieces on return. */
static bool finish_counts(const struct dw_job *job, size_t order, int64_t *counts,
                          const int64_t *bushings)
{
    for (size_t f = 0; f < job->n_fittings; f++) {
        int64_t joins = job->fittings[f].joins > 0 ? job->fittings[f].joins : 1;
        counts[f] = dw_ceil__div(counts[f], joins);
        if (!dw_add__i64(counts[f], bushings[f], &counts[f]))
            return false;
    }
    for (size_t i = 0; i < job->n_loose; i++) {
        const struct dw_loose *loose = &job->loose[i];
        if (loose->order == order &&
            !dw_add__i64(counts[loose->fitting], loose->count, &counts[loose->fitting]))
            return false;
    }
    return true;
}

dw_err dw_fittings_count(const struct dw_job *job, size_t order, int64_t *counts,
                         struct dw_error *error)
{
    for (size_t f = 0; f < job->n_fittings; f++)
        counts[f] = 0;
    if (job->n_fittings == 0 || job->part_of)
        return DW_OK;
    struct dw_arena *arena = dw_arena__new();
    int64_t *bushings = arena ? dw_arena__alloc(arena, job->n_fittings, sizeof *bushings) : NULL;
    if (!bushings) {
        dw_arena__free(arena);
        return dw_error__nomem(error);
    }
    bool fits = true;
    for (size_t i = 0; i < job->n_parts && fits; i++) {
        const struct dw_part *part = &job->parts[i];
        if (part->drawn && part->order == order && !part->post)
            fits = count_ends(job, part, counts, bushings);
    }
    fits = fits && finish_counts(job, order, counts, bushings);
    dw_arena__free(arena);
    if (!fits)
        return dw_error__set(error, DW_ERR_RANGE, "more fittings than can be counted");
    return DW_OK;
}

/* --- all drawn parts of a job ---------------------------------------------------------------- */

static dw_err report_fit(const struct dw_job *job, const struct dw_part *part, size_t material,
                         size_t f, struct dw_report *report)
{
    const struct dw_fitting *fitting = &job->fittings[f];
    dw_length od = job->materials[material].od;
    if (od == 0 && (fitting->n_ods || fitting->n_bushed))
        return dw_report__add(report, DW_DOUBT, part->at.file, part->at.line, part->at.column,
                              "%s: whether %s takes %s can't be told; give od of the material",
                              part->label, fitting->id, job->materials[material].id);
    enum dw_fit fit = dw_fitting_fit(fitting, od);
    if (fit == DW_FIT_YES)
        return DW_OK;
    struct dw_length_style style = dw_job__style(job);
    char text[DW_LENGTH_TEXT];
    dw_length_print(text, od, &style);
    if (fit == DW_FIT_NO)
        return dw_report__add(report, DW_WRONG, part->at.file, part->at.line, part->at.column,
                              "%s: %s takes no tube of %s outside diameter; name one that does",
                              part->label, fitting->id, text);
    const char *bushing =
        fitting->bushing < job->n_fittings ? job->fittings[fitting->bushing].id : "not listed";
    return dw_report__add(report, DW_NOTE, part->at.file, part->at.line, part->at.column,
                          "%s: %s takes %s only with a bushing (%s)", part->label, fitting->id,
                          text, bushing);
}

static dw_err report_fits(const struct dw_job *job, const struct dw_part *part,
                          struct dw_report *report)
{
    dw_err err = DW_OK;
    for (int i = 0; i < 2 && !err; i++) {
        size_t f = part->drawn->ends[i].fitting;
        if (f >= job->n_fittings || (i == 1 && f == part->drawn->ends[0].fitting))
            continue;
        for (size_t m = 0; m < part->n_materials && !err; m++)
            err = report_fit(job, part, part->materials[m], f, report);
    }
    return err;
}

/* Two mitres can be sawn in two ways, and one of them spoils the piece. */
static dw_err report_points(const struct dw_part *part, struct dw_report *report)
{
    const struct dw_drawn *drawn = part->drawn;
    if (drawn->ends[0].mitre_udeg == 0 || drawn->ends[1].mitre_udeg == 0 ||
        drawn->long_points != DW_POINTS_UNSAID)
        return DW_OK;
    return dw_report__add(report, DW_DOUBT, part->at.file, part->at.line, part->at.column,
                          "%s: both ends are mitred; say `long points: same side` (a trapezoid) or "
                          "`opposite sides` (a parallelogram)",
                          part->label);
}

static bool set_length(struct dw_part *part)
{
    dw_length cut = part->takeoff->cut;
    if (part->drawn->kind == DW_DRAWN_CUT) {
        dw_length more = cut - part->drawn->size;
        return dw_add__i64(part->min, more, &part->min) && dw_add__i64(part->max, more, &part->max);
    }
    bool fits = dw_add__i64(cut, part->allowance, &part->min);
    part->max = part->min;
    return fits;
}

static dw_err takeoff_part(struct dw_job *job, struct dw_part *part, struct dw_report *report,
                           struct dw_error *error)
{
    struct dw_takeoff *takeoff = dw_job_alloc(job, 1, sizeof *takeoff);
    if (!takeoff)
        return dw_error__nomem(error);
    struct dw_error why = {0};
    dw_err err = dw_takeoff_cut(job, part->drawn, common_od(job, part), takeoff, &why);
    if (err == DW_ERR_NOMEM)
        return dw_error__nomem(error);
    if (err)
        return dw_report__add(report, DW_WRONG, part->at.file, part->at.line, part->at.column,
                              "%s: %s", part->label, why.text);
    part->takeoff = takeoff;
    if (!set_length(part))
        return dw_report__add(report, DW_WRONG, part->at.file, part->at.line, part->at.column,
                              "%s: the length is too large", part->label);
    err = report_fits(job, part, report);
    return err ? err : report_points(part, report);
}

dw_err dw_job_takeoff(struct dw_job *job, struct dw_report *report, struct dw_error *error)
{
    size_t wrong = report->n_wrong;
    for (size_t i = 0; i < job->n_parts; i++) {
        struct dw_part *part = &job->parts[i];
        if (!part->drawn)
            continue;
        dw_err err = takeoff_part(job, part, report, error);
        if (err)
            return err == DW_ERR_NOMEM ? dw_error__nomem(error) : err;
    }
    if (report->n_wrong > wrong)
        return dw_error__set(error, DW_ERR_INPUT, "drawn parts can't be worked out; see the list");
    return DW_OK;
}
