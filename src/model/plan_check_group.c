/* SPDX-License-Identifier: GPL-3.0-or-later */
/* dw_plan_check: groups, what is wanted of them, and what is said of them. */
#include "model/plan_check.h"

/* --- the partition ------------------------------------------------------------------------------
 */

/* Sets of linked materials as a forest: root[m] leads towards the least material of m's set. */
static size_t find_root(size_t *root, size_t m)
{
    while (root[m] != m) {
        root[m] = root[root[m]];
        m = root[m];
    }
    return m;
}

static void link_materials(size_t *root, size_t a, size_t b)
{
    a = find_root(root, a);
    b = find_root(root, b);
    if (a < b)
        root[b] = a;
    else
        root[a] = b;
}

/* New bars of one supplier that charges, and the tails of its end-bent ones. */
static void link_suppliers(const struct dw_audit *audit, size_t *root)
{
    const struct dw_job *job = audit->job;
    for (size_t s = 0; s < job->n_suppliers; s++) {
        size_t first = DW_NONE;
        for (size_t i = 0; i < job->n_supplies; i++) {
            if (dw_audit__charger(audit, &job->supplies[i]) != s)
                continue;
            if (first != DW_NONE)
                link_materials(root, first, job->supplies[i].material);
            first = job->supplies[i].material;
        }
    }
}

static void link_all(const struct dw_audit *audit, size_t *root)
{
    const struct dw_job *job = audit->job;
    for (size_t m = 0; m < job->n_materials; m++)
        root[m] = m;
    if (job->rules.max_new_offcuts != DW_UNLIMITED)
        for (size_t m = 1; m < job->n_materials; m++)
            link_materials(root, 0, m);
    for (size_t i = 0; i < job->n_parts; i++)
        for (size_t j = 1; j < job->parts[i].n_materials; j++)
            link_materials(root, job->parts[i].materials[0], job->parts[i].materials[j]);
    for (size_t i = 0; i < job->n_supplies; i++)
        if (job->supplies[i].bend > 0)
            link_materials(root, job->supplies[i].material, job->supplies[i].tail_material);
    link_suppliers(audit, root);
}

/* Numbers the sets that something is wanted of: number[root]. Returns how many there are. */
static size_t number_sets(const struct dw_job *job, size_t *root, size_t *number)
{
    size_t n = 0;
    for (size_t m = 0; m < job->n_materials; m++)
        number[m] = DW_NONE;
    for (size_t i = 0; i < job->n_parts; i++)
        number[find_root(root, job->parts[i].materials[0])] = 0;
    for (size_t m = 0; m < job->n_materials; m++)
        if (find_root(root, m) == m && number[m] != DW_NONE)
            number[m] = n++;
    return n;
}

static void compare_groups(struct dw_audit *audit, size_t n)
{
    const struct dw_plan *plan = audit->plan;
    size_t n_materials = audit->job->n_materials;
    if (n != plan->n_groups) {
        dw_audit__wrong(audit, "groups of the plan: %zu; the job falls into %zu", plan->n_groups,
                        n);
        return;
    }
    for (size_t g = 0; g < n; g++) {
        const struct dw_group *group = &plan->groups[g];
        size_t k = 0;
        for (size_t m = 0; m < n_materials; m++) {
            if (audit->group_of[m] != g)
                continue;
            if (k >= group->n_materials || group->materials[k] != m)
                break;
            k++;
        }
        size_t size = 0;
        for (size_t m = 0; m < n_materials; m++)
            size += audit->group_of[m] == g;
        if (k != size || size != group->n_materials)
            dw_audit__wrong(audit, "group %zu is of other materials than are linked in the job",
                            g + 1);
    }
}

void dw_audit__groups(struct dw_audit *audit)
{
    const struct dw_job *job = audit->job;
    size_t *root = dw_arena__alloc(audit->arena, job->n_materials, sizeof *root);
    size_t *number = dw_arena__alloc(audit->arena, job->n_materials, sizeof *number);
    if (!root || !number) {
        audit->say.err = DW_ERR_NOMEM;
        return;
    }
    link_all(audit, root);
    size_t n = number_sets(job, root, number);
    for (size_t m = 0; m < job->n_materials; m++)
        audit->group_of[m] = number[find_root(root, m)];
    compare_groups(audit, n);
    if (n != audit->plan->n_groups)
        return;
    for (size_t i = 0; i < job->n_parts; i++)
        audit->groups[dw_audit__group_of_part(audit, &job->parts[i])].n_pieces +=
            job->parts[i].count;
}

/* --- demand and supply ---------------------------------------------------------------------------
 */

void dw_audit__counts(struct dw_audit *audit)
{
    const struct dw_job *job = audit->job;
    for (size_t i = 0; i < job->n_parts; i++) {
        const struct dw_part *part = &job->parts[i];
        const struct dw_group *group = &audit->plan->groups[dw_audit__group_of_part(audit, part)];
        if (part->post && audit->made[i] > part->count)
            dw_audit__wrong(audit, "pieces of post %s: %lld; wanted at most: %lld", part->label,
                            (long long)audit->made[i], (long long)part->count);
        if (!part->post && group->status != DW_STATUS_INFEASIBLE && audit->made[i] != part->count)
            dw_audit__wrong(audit, "pieces of part %s: %lld; wanted: %lld", part->label,
                            (long long)audit->made[i], (long long)part->count);
    }
    for (size_t i = 0; i < job->n_supplies; i++) {
        int64_t count = dw_audit__count(&job->supplies[i]);
        if (count != DW_UNLIMITED && audit->used[i] > count)
            dw_audit__wrong(audit, "bars of %s used: %lld; there: %lld", job->supplies[i].id,
                            (long long)audit->used[i], (long long)count);
    }
    int64_t cap = job->rules.max_new_offcuts;
    if (cap != DW_UNLIMITED && audit->n_kept > cap)
        dw_audit__wrong(audit, "offcuts kept: %lld; the job allows: %lld", (long long)audit->n_kept,
                        (long long)cap);
}

/* --- what is said of a group
 * ------------------------------------------------------------------------ */

/* Whether one bar of the supply can give a piece of the part, with nothing else on it but a bend
 * end. */
static bool gives(const struct dw_audit *audit, const struct dw_supply *supply,
                  const struct dw_part *part)
{
    const struct dw_saw *saw = &audit->job->saw;
    dw_length held = dw_audit__held(audit, supply);
    dw_length room = dw_audit__usable(supply) - (held > 0 ? saw->kerf + held : 0);
    if (supply->bend == 0)
        return dw_audit__accepts(part, supply->material) && part->min <= room;
    bool bent = dw_audit__accepts(part, supply->material) && part->max >= supply->bend &&
                part->min <= room && supply->bend <= room;
    return bent || (dw_audit__accepts(part, supply->tail_material) &&
                    part->min <= room - supply->bend - saw->kerf);
}

static void check_shortage(struct dw_audit *audit, size_t g, const struct dw_shortage *shortage)
{
    const struct dw_job *job = audit->job;
    const struct dw_part *part = &job->parts[shortage->part];
    bool never = true;
    for (size_t i = 0; i < job->n_supplies && never; i++)
        never = dw_audit__count(&job->supplies[i]) == 0 || !gives(audit, &job->supplies[i], part);
    if (part->post || dw_audit__group_of_part(audit, part) != g)
        dw_audit__wrong(audit, "group %zu lacks %s, which is no part of it", g + 1, part->label);
    else if (shortage->never != never)
        dw_audit__wrong(audit, "that no bar can give a %s is stated wrongly", part->label);
    else if (shortage->missing < 1 || shortage->missing > part->count ||
             (never && shortage->missing != part->count))
        dw_audit__wrong(audit, "of %s %lld are stated to be missing, %lld are wanted", part->label,
                        (long long)shortage->missing, (long long)part->count);
}

/* Where an unlimited supply gives each part of a group, one a bar, there is a plan. */
static bool surely_feasible(const struct dw_audit *audit, size_t g)
{
    const struct dw_job *job = audit->job;
    if (job->rules.no_middling)
        return false;
    for (size_t i = 0; i < job->n_parts; i++) {
        const struct dw_part *part = &job->parts[i];
        bool given = part->post || dw_audit__group_of_part(audit, part) != g;
        for (size_t k = 0; k < job->n_supplies && !given; k++)
            given = job->supplies[k].count == DW_UNLIMITED && gives(audit, &job->supplies[k], part);
        if (!given)
            return false;
    }
    return true;
}

static void check_infeasible(struct dw_audit *audit, size_t g)
{
    const struct dw_group *group = &audit->plan->groups[g];
    if (audit->groups[g].n_layouts > 0 || group->value != 0 || group->bound != 0 ||
        group->proof == DW_PROOF_DUALS || group->certificate.n_duals > 0)
        dw_audit__wrong(audit, "group %zu has no plan, yet layouts, money or duals", g + 1);
    if (group->n_shortages == 0)
        dw_audit__wrong(audit, "group %zu has no plan, but it is not said what is missing", g + 1);
    for (size_t i = 0; i < group->n_shortages; i++)
        check_shortage(audit, g, &group->shortages[i]);
    if (surely_feasible(audit, g))
        dw_audit__wrong(audit,
                        "group %zu is said to have no plan, but bars without limit give each "
                        "of its parts",
                        g + 1);
}

static void check_group(struct dw_audit *audit, size_t g)
{
    const struct dw_group *group = &audit->plan->groups[g];
    const struct dw_audit_group *sum = &audit->groups[g];
    dw_wide value = sum->bars + sum->charges + sum->cuts - sum->kept - sum->posts;
    if (group->status == DW_STATUS_INFEASIBLE) {
        check_infeasible(audit, g);
        return;
    }
    if (group->value != value)
        dw_audit__wrong(audit, "the value of group %zu is stated as %s, reckoned as %s", g + 1,
                        dw_check__money(&audit->say, group->value).text,
                        dw_check__money(&audit->say, (dw_money)value).text);
    if (group->n_shortages > 0)
        dw_audit__wrong(audit, "group %zu is planned, yet something is missing", g + 1);
    if (group->bound > group->value ||
        (group->bound == group->value) != (group->status == DW_STATUS_OPTIMAL))
        dw_audit__wrong(audit, "group %zu: the bound does not go with the value and the status",
                        g + 1);
}

static enum dw_status worse(enum dw_status a, enum dw_status b)
{
    static const int rank[] = {[DW_STATUS_OPTIMAL] = 0,
                               [DW_STATUS_WITHIN] = 1,
                               [DW_STATUS_STOPPED] = 2,
                               [DW_STATUS_INFEASIBLE] = 3};
    return rank[a] > rank[b] ? a : b;
}

void dw_audit__status(struct dw_audit *audit)
{
    const struct dw_plan *plan = audit->plan;
    enum dw_status status = DW_STATUS_OPTIMAL;
    dw_wide bound = audit->charges_of_none;
    for (size_t g = 0; g < plan->n_groups; g++) {
        check_group(audit, g);
        status = worse(status, plan->groups[g].status);
        bound += plan->groups[g].bound;
    }
    if (plan->status != status)
        dw_audit__wrong(audit, "the status of the plan does not follow from its groups");
    if (plan->bound != bound)
        dw_audit__wrong(audit, "the bound of the plan is not the sum of its groups' bounds");
}
