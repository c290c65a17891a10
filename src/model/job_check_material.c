/* SPDX-License-Identifier: GPL-3.0-or-later */
/* dw_job_check of materials: possible tubes, and what their leftovers are worth. */
#include "model/check.h"

#include <stdlib.h>

/* Osmium, the densest solid, has 22.6 t/m3; below half a tonne it is no tube metal. */
#define DENSITY_MAX   INT64_C(23000000)
#define DENSITY_DOUBT INT64_C(500000)
/* Smaller tube is drawn for needles, not sold in bars for frames: a unit was forgotten. From common
 * practice. */
#define OD_DOUBT   (5 * DW_NM_PER_MM)
#define WALL_DOUBT (3 * DW_NM_PER_MM / 10)

const char *dw_material__doubt(const struct dw_material *m)
{
    if (m->od > 0 && m->od < OD_DOUBT)
        return "an outside diameter under 5 mm";
    return m->wall > 0 && m->wall < WALL_DOUBT ? "a wall under 0.3 mm" : NULL;
}

static void check_tube(struct dw_check *check, const struct dw_material *m)
{
    bool known = dw_check__length_in(check, &m->at, "outside diameter", dw_check__name(m->id),
                                     m->od, 0, DW_LENGTH_MAX);
    known &= dw_check__length_in(check, &m->at, "wall", dw_check__name(m->id), m->wall, 0,
                                 DW_LENGTH_MAX);
    known &= dw_check__length_in(check, &m->at, "radius", dw_check__name(m->id), m->radius, 0,
                                 DW_LENGTH_MAX);
    if (!known)
        return;
    if (m->od > 0 && m->wall > m->od / 2)
        dw_check__say(check, DW_WRONG, &m->at,
                      "a wall of %s does not go into a tube of %s; the most is half of it",
                      dw_check__length(check, m->wall).text, dw_check__length(check, m->od).text);
    else if (m->od > 0 && 2 * m->wall == m->od)
        dw_check__say(check, DW_DOUBT, &m->at, "a wall of half the diameter makes %s solid rod",
                      dw_check__name(m->id));
    const char *doubt = dw_material__doubt(m);
    if (doubt)
        dw_check__say(check, DW_DOUBT, &m->at, "%s has %s; is its unit right?",
                      dw_check__name(m->id), doubt);
    if (m->radius > 0 && m->radius <= m->od / 2)
        dw_check__say(check, DW_WRONG, &m->at,
                      "a tube of %s can't be rolled to a centre-line radius of %s",
                      dw_check__length(check, m->od).text, dw_check__length(check, m->radius).text);
    if (m->radius > 0 && m->end_bent)
        dw_check__say(check, DW_WRONG, &m->at,
                      "%s is rolled over its whole length and end-bent too; it can only be one",
                      dw_check__name(m->id));
}

static void check_density(struct dw_check *check, const struct dw_material *m)
{
    if (m->density_g_m3 < 0 || m->density_g_m3 > DENSITY_MAX)
        dw_check__say(check, DW_WRONG, &m->at,
                      "density of %s is %lld g/m3; give 0 to %lld (steel 7850000)",
                      dw_check__name(m->id), (long long)m->density_g_m3, (long long)DENSITY_MAX);
    else if (m->density_g_m3 > 0 && m->density_g_m3 < DENSITY_DOUBT)
        dw_check__say(check, DW_DOUBT, &m->at,
                      "density of %s is %lld g/m3, lighter than any tube metal; steel is 7850000",
                      dw_check__name(m->id), (long long)m->density_g_m3);
}

static void check_classes(struct dw_check *check, const struct dw_material *m)
{
    const struct dw_worth *worth = &m->worth;
    if (worth->n_classes == 0)
        dw_check__say(check, DW_DOUBT, &m->at, "the worth table of %s has no row; leftovers earn 0",
                      dw_check__name(m->id));
    if (worth->n_classes > DW_MAX_CLASSES) {
        dw_check__say(check, DW_WRONG, &m->at, "the worth table of %s has %zu rows; the most is %d",
                      dw_check__name(m->id), worth->n_classes, DW_MAX_CLASSES);
        return;
    }
    for (size_t i = 0; i < worth->n_classes; i++) {
        const struct dw_worth_class *row = &worth->classes[i];
        bool fine = dw_check__length_in(check, &m->at, "length in the worth table",
                                        dw_check__name(m->id), row->from, 1, DW_LENGTH_MAX);
        fine &= dw_check__money_in(check, &m->at, "worth in the table", dw_check__name(m->id),
                                   row->worth);
        if (!fine || i == 0)
            continue;
        if (row->from <= row[-1].from)
            dw_check__say(check, DW_WRONG, &m->at,
                          "the worth table of %s has %s after %s; lengths must increase",
                          dw_check__name(m->id), dw_check__length(check, row->from).text,
                          dw_check__length(check, row[-1].from).text);
        if (row->worth < row[-1].worth)
            dw_check__say(check, DW_WRONG, &m->at,
                          "the worth table of %s gives less from %s on; a longer leftover can't be "
                          "worth less",
                          dw_check__name(m->id), dw_check__length(check, row->from).text);
    }
    if (worth->n_classes > 0 && worth->classes[0].from < worth->keep && worth->keep > 0)
        dw_check__say(
            check, DW_NOTE, &m->at,
            "the worth table of %s begins below the keeping length of %s: what is shorter "
            "earns nothing",
            dw_check__name(m->id), dw_check__length(check, worth->keep).text);
}

static void check_worth(struct dw_check *check, const struct dw_material *m)
{
    const struct dw_worth *worth = &m->worth;
    dw_check__length_in(check, &m->at, "keeping length", dw_check__name(m->id), worth->keep, 1,
                        DW_LENGTH_MAX);
    switch (worth->kind) {
    case DW_WORTH_NONE:
        break;
    case DW_WORTH_RATE:
        dw_check__money_in(check, &m->at, "worth of leftovers", dw_check__name(m->id), worth->rate);
        dw_check__length_in(check, &m->at, "length that the worth is for", dw_check__name(m->id),
                            worth->per, 1, DW_LENGTH_MAX);
        break;
    case DW_WORTH_SHARE:
        if (worth->share < 0 || worth->share > 1000000)
            dw_check__say(check, DW_WRONG, &m->at,
                          "leftovers of %s are worth a share of the new price: give 0 to 100 %%",
                          dw_check__name(m->id));
        break;
    case DW_WORTH_CLASSES:
        check_classes(check, m);
        break;
    default:
        dw_check__say(check, DW_WRONG, &m->at, "it is not known how leftovers of %s are valued",
                      dw_check__name(m->id));
    }
    const struct dw_rules *rules = &check->job->rules;
    if (rules->no_middling && worth->keep > 0 && rules->scrap_max >= worth->keep)
        dw_check__say(check, DW_DOUBT, &m->at,
                      "the longest scrap of %s is not below the keeping length of %s: no length is "
                      "middling",
                      dw_check__length(check, rules->scrap_max).text, dw_check__name(m->id));
}

void dw_check__materials(struct dw_check *check)
{
    const struct dw_job *job = check->job;
    struct dw_check_id *ids = calloc(job->n_materials + 1, sizeof *ids);
    if (!ids) {
        check->err = DW_ERR_NOMEM;
        return;
    }
    for (size_t i = 0; i < job->n_materials; i++) {
        const struct dw_material *m = &job->materials[i];
        ids[i] = (struct dw_check_id){.id = m->id, .at = &m->at, .index = i};
        check_tube(check, m);
        check_density(check, m);
        check_worth(check, m);
    }
    dw_check__ids(check, "material", ids, job->n_materials);
    free(ids);
}
