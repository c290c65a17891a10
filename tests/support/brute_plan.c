/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A plan read out of the tables of brute.c. */
#include "brute.h"

#include <stdlib.h>
#include <string.h>

/* --- groups
 * --------------------------------------------------------------------------------------- */

static bool links(const struct dw_job *job, size_t a, size_t b)
{
    if (job->rules.max_new_offcuts != DW_UNLIMITED)
        return true;
    for (size_t i = 0; i < job->n_parts; i++) {
        bool has_a = false, has_b = false;
        for (size_t j = 0; j < job->parts[i].n_materials; j++) {
            has_a |= job->parts[i].materials[j] == a;
            has_b |= job->parts[i].materials[j] == b;
        }
        if (has_a && has_b)
            return true;
    }
    for (size_t i = 0; i < job->n_supplies; i++) {
        const struct dw_supply *s = &job->supplies[i];
        if (s->bend > 0 && ((s->material == a && s->tail_material == b) ||
                            (s->material == b && s->tail_material == a)))
            return true;
    }
    return false;
}

/* Takes over the number of a linked material until nothing changes. */
size_t brute_groups(const struct dw_job *job, size_t *group_of)
{
    size_t n = job->n_materials, n_groups = 0;
    for (size_t m = 0; m < n; m++)
        group_of[m] = m;
    for (size_t round = 0; round < n; round++)
        for (size_t a = 0; a < n; a++)
            for (size_t b = 0; b < n; b++)
                if (group_of[b] > group_of[a] && links(job, a, b))
                    group_of[b] = group_of[a];
    for (size_t m = 0; m < n; m++) {
        bool wanted = false;
        for (size_t i = 0; i < job->n_parts; i++)
            wanted |= group_of[job->parts[i].materials[0]] == m;
        if (group_of[m] == m && !wanted)
            for (size_t b = n; b-- > m;)
                group_of[b] = group_of[b] == m ? DW_NONE : group_of[b];
    }
    for (size_t m = 0; m < n; m++) {
        if (group_of[m] != m)
            continue;
        for (size_t b = n; b-- > m;)
            group_of[b] = group_of[b] == m ? n_groups : group_of[b];
        n_groups++;
    }
    return n_groups;
}

/* --- layouts
 * -------------------------------------------------------------------------------------- */

struct writer {
    const struct brute *brute;
    struct dw_plan *plan;
    size_t group;
    bool failed;
};

static enum dw_use use_of(const struct dw_part *part)
{
    return part->post ? DW_USE_POST : DW_USE_PART;
}

/* Pieces at their least lengths, then stretched one after another until the sum is right. Those
 * measured first come last, but for the bent one. */
static size_t write_pieces(const struct brute *brute, const struct brute_layout *layout,
                           struct dw_piece *pieces)
{
    const struct dw_job *job = brute->job;
    const struct dw_supply *supply = &job->supplies[layout->supply];
    size_t n = 0;
    dw_length sum = 0;
    if (layout->first == BRUTE_STUB)
        pieces[n++] = (struct dw_piece){DW_USE_BEND_END, DW_NONE, supply->bend, 1};
    if (layout->first >= 0) {
        size_t i = brute->items[layout->first];
        dw_length min = job->parts[i].min > supply->bend ? job->parts[i].min : supply->bend;
        pieces[n++] = (struct dw_piece){use_of(&job->parts[i]), i, min, 1};
    }
    for (int late = 0; late < 2; late++)
        for (size_t i = 0; i < brute->n_items; i++) {
            const struct dw_part *part = &job->parts[brute->items[i]];
            int made = layout->made[i] - ((int)i == layout->first);
            for (int copy = 0; part->measure_first == late && copy < made; copy++)
                pieces[n++] = (struct dw_piece){use_of(part), brute->items[i], part->min, 1};
        }
    for (size_t i = 0; i < n; i++)
        sum += pieces[i].length;
    for (size_t i = 0; i < n; i++) {
        dw_length most = pieces[i].part == DW_NONE ? 0 : job->parts[pieces[i].part].max;
        dw_length more = most > pieces[i].length ? most - pieces[i].length : 0;
        more = more < layout->pieces - sum ? more : layout->pieces - sum;
        pieces[i].length += more;
        sum += more;
    }
    return n;
}

static void write_layout(struct writer *writer, const struct brute_layout *source)
{
    const struct dw_job *job = writer->brute->job;
    const struct dw_supply *supply = &job->supplies[source->supply];
    size_t most = 1;
    for (size_t i = 0; i < writer->brute->n_items; i++)
        most += (size_t)source->made[i];
    struct dw_piece *pieces = dw_plan_alloc(writer->plan, most, sizeof *pieces);
    if (!pieces) {
        writer->failed = true;
        return;
    }
    size_t n = write_pieces(writer->brute, source, pieces);
    dw_length rem = supply->measured ? supply->measured : supply->length;
    for (int end = supply->bend > 0; end < 2; end++)
        rem -= supply->ends[end] == DW_END_MILL ? supply->trim : 0;
    rem -= source->pieces + job->saw.kerf * ((dw_length)n - 1);
    struct dw_layout *layout = &writer->plan->layouts[writer->plan->n_layouts++];
    *layout = (struct dw_layout){.supply = source->supply,
                                 .group = writer->group,
                                 .count = 1,
                                 .n_pieces = n,
                                 .pieces = pieces};
    layout->leftover = rem > job->saw.kerf ? rem - job->saw.kerf : 0;
    layout->rest = source->kept           ? DW_REST_KEPT
                   : layout->leftover > 0 ? DW_REST_SCRAP
                                          : DW_REST_NONE;
}

static const struct brute_layout *last_bar(const struct brute *brute, size_t k,
                                           const dw_money *before, const dw_money *after,
                                           size_t state)
{
    for (size_t i = 0; i < brute->n_layouts; i++) {
        const struct brute_layout *layout = &brute->layouts[i];
        if (layout->supply != k || (layout->kept && brute->job->rules.max_new_offcuts == 0))
            continue;
        size_t more = brute_state(brute, layout);
        if (more <= state && brute_within(brute, more, state) &&
            before[state - more] + layout->money == after[state])
            return layout;
    }
    return NULL;
}

/* The bars of one supply that made `state` at the least money. */
static void write_supply(struct writer *writer, size_t i, size_t state)
{
    const struct brute *brute = writer->brute;
    const struct brute_level *level = &brute->levels[i];
    size_t k = brute->supplies[i];
    int64_t n = level->n_now;
    while (n > 0 &&
           level->now[n][state] + brute_price(&brute->job->supplies[k], n) != level->bars[state])
        n--;
    for (; n > 0 && !writer->failed; n--) {
        const struct brute_layout *layout =
            last_bar(brute, k, level->now[n - 1], level->now[n], state);
        if (!layout) {
            writer->failed = true;
            return;
        }
        write_layout(writer, layout);
        state -= brute_state(brute, layout);
    }
}

static void write_group(struct writer *writer)
{
    const struct brute *brute = writer->brute;
    size_t state = brute->state;
    dw_money money = brute->money;
    for (size_t i = brute->n_supplies; i-- > 0;) {
        const struct brute_level *level = &brute->levels[i];
        size_t more = 0;
        while (more <= state && !(brute_within(brute, more, state) &&
                                  level->before[state - more] + level->bars[more] == money))
            more++;
        if (more > state) {
            writer->failed = true;
            return;
        }
        write_supply(writer, i, more);
        money = level->before[state - more];
        state -= more;
    }
}

/* --- the plan
 * ------------------------------------------------------------------------------------- */

static bool plan_group(struct writer *writer, const struct dw_job *job, const size_t *group_of)
{
    struct brute brute = {0};
    struct dw_group *group = &writer->plan->groups[writer->group];
    size_t *materials = dw_plan_alloc(writer->plan, job->n_materials, sizeof *materials);
    if (!materials)
        return false;
    for (size_t m = 0; m < job->n_materials; m++)
        if (group_of[m] == writer->group)
            materials[group->n_materials++] = m;
    group->materials = materials;
    int result = brute_solve(&brute, job, materials, group->n_materials);
    writer->brute = &brute;
    if (result == 0 && brute.feasible) {
        write_group(writer);
        group->proof = DW_PROOF_SEARCH;
        group->value = group->bound = brute.money;
        group->method = "every layout";
        writer->plan->bound += brute.money;
    } else {
        writer->failed = true;
    }
    brute_free(&brute);
    return !writer->failed;
}

/* Layouts with pieces that are measured first go last, the others keep their order. */
static void order_layouts(const struct dw_job *job, struct dw_plan *plan)
{
    size_t n = 0, end = plan->n_layouts;
    for (size_t seen = 0; seen < end; seen++) {
        struct dw_layout layout = plan->layouts[n];
        bool late = false;
        for (size_t i = 0; i < layout.n_pieces; i++)
            late |=
                layout.pieces[i].part != DW_NONE && job->parts[layout.pieces[i].part].measure_first;
        if (!late) {
            n++;
            continue;
        }
        memmove(&plan->layouts[n], &plan->layouts[n + 1], (end - n - 1) * sizeof layout);
        plan->layouts[end - 1] = layout;
    }
}

struct dw_plan *brute_plan(const struct dw_job *job)
{
    struct writer writer = {0};
    size_t *group_of = calloc(job->n_materials + 1, sizeof *group_of);
    size_t pieces = 0;
    for (size_t i = 0; i < job->n_parts; i++)
        pieces += (size_t)job->parts[i].count;
    bool fine = group_of && dw_plan_new(&writer.plan, NULL) == DW_OK;
    if (fine) {
        struct dw_plan *plan = writer.plan;
        plan->job_digest = dw_job_digest(job);
        plan->n_groups = brute_groups(job, group_of);
        plan->groups = dw_plan_alloc(plan, plan->n_groups, sizeof *plan->groups);
        plan->layouts = dw_plan_alloc(plan, pieces, sizeof *plan->layouts);
        fine = plan->groups && plan->layouts;
        for (; fine && writer.group < plan->n_groups; writer.group++)
            fine = plan_group(&writer, job, group_of);
        if (fine)
            order_layouts(job, plan);
        fine = fine && dw_plan_sum(job, plan, NULL) == DW_OK;
    }
    free(group_of);
    if (fine)
        return writer.plan;
    dw_plan_free(writer.plan);
    return NULL;
}
