/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The facade: groups side by side, then one plan that has passed the verifier. */
#include "solve/solve.h"
#include "solve/assemble.h"
#include "solve/engine.h"
#include "solve/groups.h"
#include "solve/ordered.h"

#include <pthread.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define MAX_THREADS 256
#define OVERTIME_MS 200 /* for all groups together, after the time or the user's stop */

struct crew {
    const struct dw_job *job;
    const struct dw_settings *settings;
    const struct dw_hooks *hooks;
    size_t *group_of; /* length n_materials */
    size_t n_groups;
    struct dw_outcome *outcomes; /* length n_groups */
    struct dw_ordered *ordered;  /* length n_groups */
    dw_err *codes;               /* length n_groups */
    struct dw_error *errors;     /* length n_groups */
    size_t n_threads;
    int64_t deadline_ms; /* 0 = none */
    pthread_mutex_t lock;
    /* Under the lock: */
    size_t next;
    size_t n_done;
    int64_t asked_ms; /* when the user's stop was first seen; 0 = not yet */
    dw_money value, bound;
};

/* --- the queue of groups ------------------------------------------------------------------ */

static int64_t now_ms(const struct dw_hooks *hooks)
{
    return hooks && hooks->now_ms ? hooks->now_ms(hooks->user) : 0;
}

/* The time left, shared among the groups that are still to come: none eats all of it. */
static int64_t group_deadline(const struct crew *crew, size_t group)
{
    if (crew->deadline_ms == 0)
        return 0;
    int64_t now = now_ms(crew->hooks), left = crew->deadline_ms - now;
    int64_t waiting = (int64_t)(crew->n_groups - group), side = (int64_t)crew->n_threads;
    if (left <= 0 || waiting <= side)
        return crew->deadline_ms;
    return now + left * side / waiting;
}

/* When groups give up what they are only finishing, however short their own time was. */
static int64_t overtime_of(struct crew *crew)
{
    const struct dw_hooks *hooks = crew->hooks;
    if (crew->asked_ms == 0 && hooks && hooks->stop && hooks->stop(hooks->user))
        crew->asked_ms = now_ms(hooks);
    int64_t end = crew->asked_ms > 0 ? crew->asked_ms : crew->deadline_ms;
    return end > 0 ? end + OVERTIME_MS : 0;
}

static void tell(struct crew *crew, size_t group)
{
    const struct dw_outcome *outcome = &crew->outcomes[group];
    const struct dw_ordered *ordered = &crew->ordered[group];
    struct dw_progress progress = {0};
    pthread_mutex_lock(&crew->lock);
    crew->n_done++;
    crew->value += ordered->used ? ordered->value : outcome->best.money;
    crew->bound += ordered->used       ? ordered->bound
                   : outcome->finished ? outcome->best.money
                                       : outcome->certified.bound;
    progress.groups_done = crew->n_done;
    progress.n_groups = crew->n_groups;
    progress.value = crew->value;
    progress.bound = crew->bound;
    if (crew->hooks && crew->hooks->progress)
        crew->hooks->progress(crew->hooks->user, &progress);
    pthread_mutex_unlock(&crew->lock);
}

/* A group of sellers that charge is for the engine only where it has no plan. */
static dw_err plan_group(struct crew *crew, size_t group, const struct dw_wish *wish,
                         struct dw_effort *effort)
{
    const struct dw_job *job = crew->job;
    struct dw_outcome *outcome = &crew->outcomes[group];
    struct dw_ordered *ordered = &crew->ordered[group];
    dw_err code = DW_OK;
    if (dw_ordered__suits(job, crew->group_of, group))
        code = dw_ordered__group(job, crew->group_of, group, wish, effort, ordered,
                                 &crew->errors[group]);
    if (code != DW_OK)
        return code;
    if (!ordered->used)
        return dw_engine__group(job, crew->group_of, group, wish, effort, outcome,
                                &crew->errors[group]);
    outcome->stopped = effort->stopped;
    outcome->work = effort->work;
    return dw_outcome__problem(job, crew->group_of, group, outcome, &crew->errors[group]);
}

static void *work(void *user)
{
    struct crew *crew = user;
    const int64_t asked = crew->settings->few_layouts_ppm;
    const int64_t ruled = crew->job->rules.few_layouts_ppm;
    const struct dw_wish wish = {.greedy_only = crew->settings->greedy != 0,
                                 .few_ppm = asked > ruled ? asked : ruled};
    for (;;) {
        pthread_mutex_lock(&crew->lock);
        size_t group = crew->next < crew->n_groups ? crew->next++ : crew->n_groups;
        int64_t overtime = overtime_of(crew);
        pthread_mutex_unlock(&crew->lock);
        if (group == crew->n_groups)
            return NULL;
        struct dw_effort effort = {.hooks = crew->hooks,
                                   .limit = crew->settings->work,
                                   .deadline_ms = group_deadline(crew, group),
                                   .overtime_ms = overtime};
        crew->codes[group] = plan_group(crew, group, &wish, &effort);
        tell(crew, group);
    }
}

static size_t thread_count(const struct dw_settings *settings, size_t n_groups)
{
    long processors = sysconf(_SC_NPROCESSORS_ONLN);
    size_t n = settings->threads > 0 ? (size_t)settings->threads
               : processors > 0      ? (size_t)processors
                                     : 1;
    n = n < MAX_THREADS ? n : MAX_THREADS;
    return n < n_groups ? n : n_groups;
}

/* On threads of its own throughout, for GLPK's environment is its thread's: the caller's is not
 * touched. A thread that can't be started leaves its work to the others. */
static dw_err run_crew(struct crew *crew, struct dw_error *error)
{
    pthread_t threads[MAX_THREADS];
    size_t started = 0;
    while (started < crew->n_threads && pthread_create(&threads[started], NULL, work, crew) == 0)
        started++;
    for (size_t t = 0; t < started; t++)
        pthread_join(threads[t], NULL);
    return started > 0 || crew->n_threads == 0 ? DW_OK : dw_error__nomem(error);
}

/* --- what is said of a group -------------------------------------------------------------- */

/* - sum worth_j d_j - sum u_k max(0, phi(U_k) - c_k): what needs no proof. Supplies of a material
 * mostly come one after the other: their phi is capped once. */
static dw_money trivial_bound(const struct crew *crew, size_t g)
{
    const struct dw_job *job = crew->job;
    const struct dw_problem *p = crew->outcomes[g].problem;
    dw_money bound = 0;
    int64_t pieces = 0;
    for (size_t i = 0; i < job->n_parts; i++)
        if (crew->group_of[job->parts[i].materials[0]] == g) {
            bound -= job->parts[i].worth * job->parts[i].count;
            pieces += job->parts[i].count;
        }
    struct dw_bar_kind kind = {.material = DW_NONE};
    for (size_t k = 0; k < job->n_supplies; k++) {
        const struct dw_supply *supply = &job->supplies[k];
        size_t material = supply->bend > 0 ? supply->tail_material : supply->material;
        if (crew->group_of[supply->material] != g)
            continue;
        if (kind.material != material) {
            kind = (struct dw_bar_kind){.material = material};
            dw_bar_kind__cap(p, &kind);
        }
        dw_money gain =
            dw_bar_kind__worth(p, &kind, dw_supply_usable(supply)) - dw_supply__lowest(supply);
        int64_t count = dw_supply__count(supply);
        if (gain > 0)
            bound -= gain * (count == DW_UNLIMITED || count > pieces ? pieces : count);
    }
    return bound;
}

static bool fill_certificate(const struct dw_outcome *outcome, struct dw_plan *plan,
                             struct dw_certificate *to)
{
    const struct dw_problem *p = outcome->problem;
    size_t n = 0;
    for (size_t i = 0; i < p->n_items; i++)
        n += p->items[i].n_members;
    size_t *parts = dw_plan_alloc(plan, n, sizeof *parts);
    int64_t *duals = dw_plan_alloc(plan, n, sizeof *duals);
    if (!parts || !duals)
        return false;
    n = 0;
    for (size_t i = 0; i < p->n_items; i++)
        for (size_t m = 0; m < p->items[i].n_members; m++) {
            int64_t dual = outcome->certified.item[i];
            parts[n] = p->items[i].members[m];
            duals[n++] = p->items[i].post ? -dual : dual;
        }
    *to = (struct dw_certificate){.scale = outcome->certified.scale,
                                  .n_duals = n,
                                  .parts = parts,
                                  .duals = duals,
                                  .bound = outcome->certified.bound};
    return true;
}

static void fill_ordered_bound(const struct crew *crew, size_t g, struct dw_group *group)
{
    const struct dw_ordered *ordered = &crew->ordered[g];
    group->value = ordered->value;
    group->bound = trivial_bound(crew, g);
    group->proof = DW_PROOF_NONE;
    if (ordered->bounded && ordered->bound > group->bound) {
        group->bound = ordered->bound;
        group->proof = DW_PROOF_SEARCH;
    }
    group->status = group->bound == group->value ? DW_STATUS_OPTIMAL
                    : crew->outcomes[g].stopped  ? DW_STATUS_STOPPED
                                                 : DW_STATUS_WITHIN;
}

static bool take_layouts(const struct dw_ordered *ordered, struct dw_plan *plan,
                         struct dw_layouts *layouts)
{
    const struct dw_layouts *from = &ordered->layouts;
    if (!dw_array__grow(&layouts->layouts, &layouts->capacity, layouts->n + from->n + 1,
                        sizeof *layouts->layouts))
        return false;
    for (size_t i = 0; i < from->n; i++) {
        struct dw_layout layout = from->layouts[i];
        struct dw_piece *pieces = dw_plan_alloc(plan, layout.n_pieces, sizeof *pieces);
        if (!pieces)
            return false;
        memcpy(pieces, layout.pieces, layout.n_pieces * sizeof *pieces);
        layout.pieces = pieces;
        layouts->layouts[layouts->n++] = layout;
    }
    return true;
}

static bool fill_bound(const struct crew *crew, size_t g, struct dw_plan *plan)
{
    const struct dw_outcome *outcome = &crew->outcomes[g];
    struct dw_group *group = &plan->groups[g];
    group->value = outcome->best.money;
    group->for_layouts = outcome->certified.given_up;
    if (outcome->certified.scale > 0 && !fill_certificate(outcome, plan, &group->certificate))
        return false;
    bool certified = group->certificate.n_duals > 0;
    group->bound = certified ? group->certificate.bound : trivial_bound(crew, g);
    group->proof = certified ? DW_PROOF_DUALS : DW_PROOF_NONE;
    dw_money searched = outcome->finished             ? group->value
                        : outcome->certified.searched ? outcome->certified.searched_bound
                                                      : group->bound;
    if (searched > group->bound) {
        group->bound = searched < group->value ? searched : group->value;
        group->proof = DW_PROOF_SEARCH;
    }
    group->status = group->bound == group->value ? DW_STATUS_OPTIMAL
                    : outcome->stopped           ? DW_STATUS_STOPPED
                                                 : DW_STATUS_WITHIN;
    return true;
}

/* Missing pieces of each item, handed to its members from the last. */
static bool fill_shortages(const struct dw_outcome *outcome, const struct dw_job *job,
                           int64_t *missing, struct dw_plan *plan, struct dw_group *group)
{
    const struct dw_problem *p = outcome->problem;
    struct dw_shortage *list = dw_plan_alloc(plan, job->n_parts, sizeof *list);
    if (!list)
        return false;
    for (size_t i = 0; i < p->n_items; i++) {
        int64_t left = p->items[i].post ? 0 : p->items[i].count;
        for (size_t u = 0; u < outcome->best.n && left > 0; u++)
            for (size_t j = 0; j < outcome->best.uses[u].col->n; j++)
                if (outcome->best.uses[u].col->entries[j].item == i)
                    left -=
                        outcome->best.uses[u].col->entries[j].count * outcome->best.uses[u].count;
        for (size_t m = p->items[i].n_members; m-- > 0 && left > 0;) {
            size_t part = p->items[i].members[m];
            missing[part] = left < job->parts[part].count ? left : job->parts[part].count;
            left -= missing[part];
        }
    }
    for (size_t i = 0; i < job->n_parts; i++) {
        bool never = outcome->never[i] && !job->parts[i].post;
        if (never || missing[i] > 0)
            list[group->n_shortages++] =
                (struct dw_shortage){i, never ? job->parts[i].count : missing[i], never};
    }
    group->shortages = list;
    return true;
}

static dw_err fill_group(const struct crew *crew, size_t g, struct dw_plan *plan,
                         struct dw_layouts *layouts, struct dw_error *error)
{
    const struct dw_outcome *outcome = &crew->outcomes[g];
    struct dw_group *group = &plan->groups[g];
    size_t *materials = dw_plan_alloc(plan, crew->job->n_materials, sizeof *materials);
    if (!materials)
        return dw_error__nomem(error);
    for (size_t m = 0; m < crew->job->n_materials; m++)
        if (crew->group_of[m] == g)
            materials[group->n_materials++] = m;
    group->materials = materials;
    group->method = outcome->best.method ? outcome->best.method : "greedy";
    group->work = outcome->work;
    if (crew->ordered[g].used) {
        group->method = crew->ordered[g].method;
        fill_ordered_bound(crew, g, group);
        return take_layouts(&crew->ordered[g], plan, layouts) ? DW_OK : dw_error__nomem(error);
    }
    if (!outcome->infeasible) {
        if (!fill_bound(crew, g, plan))
            return dw_error__nomem(error);
        return dw_assemble__group(outcome->problem, &outcome->best, g, plan, layouts, error);
    }
    group->status = DW_STATUS_INFEASIBLE;
    group->proof = outcome->finished ? DW_PROOF_SEARCH : DW_PROOF_NONE;
    int64_t *missing = calloc(crew->job->n_parts + 1, sizeof *missing);
    bool ok = missing && fill_shortages(outcome, crew->job, missing, plan, group);
    free(missing);
    return ok ? DW_OK : dw_error__nomem(error);
}

/* --- the plan ----------------------------------------------------------------------------- */

/* Charges of suppliers that no group buys of are the same in all plans. */
static void add_charges(struct dw_plan *plan)
{
    for (size_t i = 0; i < plan->n_charges; i++)
        if (plan->charges[i].group == DW_NONE)
            plan->bound += dw_charge_sum(&plan->charges[i]);
}

static void fill_status(struct dw_plan *plan)
{
    static const int rank[] = {[DW_STATUS_OPTIMAL] = 0,
                               [DW_STATUS_WITHIN] = 1,
                               [DW_STATUS_STOPPED] = 2,
                               [DW_STATUS_INFEASIBLE] = 3};
    plan->status = DW_STATUS_OPTIMAL;
    plan->bound = 0;
    for (size_t g = 0; g < plan->n_groups; g++) {
        plan->bound += plan->groups[g].bound;
        if (rank[plan->groups[g].status] > rank[plan->status])
            plan->status = plan->groups[g].status;
    }
    add_charges(plan);
}

static bool is_late(void *effort)
{
    return dw_effort__late(effort);
}

/* Duals that the verifier had no time for prove nothing: the plan goes without them. */
static void drop_proof(const struct crew *crew, size_t g, struct dw_plan *plan)
{
    struct dw_group *group = &plan->groups[g];
    group->certificate = (struct dw_certificate){0};
    if (group->proof != DW_PROOF_DUALS)
        return;
    group->proof = DW_PROOF_NONE;
    group->bound = trivial_bound(crew, g);
    group->status = group->bound == group->value ? DW_STATUS_OPTIMAL : DW_STATUS_STOPPED;
}

static dw_err verify(const struct crew *crew, struct dw_plan *plan, struct dw_error *error)
{
    const struct dw_job *job = crew->job;
    struct dw_report report = {0};
    struct dw_effort effort = {.hooks = crew->hooks, .deadline_ms = crew->deadline_ms};
    struct dw_patience patience = {.late = is_late, .user = &effort};
    patience.unproved = calloc(plan->n_groups + 1, sizeof *patience.unproved);
    if (!patience.unproved)
        return dw_error__nomem(error);
    dw_err code = dw_plan__check(job, plan, &patience, &report, NULL, error);
    for (size_t g = 0; g < plan->n_groups; g++)
        if (patience.unproved[g])
            drop_proof(crew, g, plan);
    fill_status(plan);
    free(patience.unproved);
    if (code == DW_ERR_CHECK)
        for (size_t i = 0; i < report.n_remarks; i++)
            if (report.remarks[i].severity == DW_WRONG)
                dw_error__set(error, code, "%s", report.remarks[i].what.text);
    dw_report_free(&report);
    return code;
}

static dw_err make_plan(const struct crew *crew, struct dw_plan *plan, struct dw_error *error)
{
    struct dw_layouts layouts = {0};
    dw_err code = DW_OK;
    plan->job_digest = dw_job_digest(crew->job);
    plan->groups = dw_plan_alloc(plan, crew->n_groups, sizeof *plan->groups);
    if (!plan->groups)
        return dw_error__nomem(error);
    plan->n_groups = crew->n_groups;
    for (size_t g = 0; code == DW_OK && g < crew->n_groups; g++)
        code = fill_group(crew, g, plan, &layouts, error);
    if (code == DW_OK)
        code = dw_assemble__finish(crew->job, plan, &layouts, error);
    free(layouts.layouts);
    if (code == DW_OK)
        fill_status(plan);
    if (code == DW_OK)
        code = dw_plan_sum(crew->job, plan, error);
    if (code == DW_OK)
        fill_status(plan);
    return code == DW_OK ? verify(crew, plan, error) : code;
}

static dw_err make_crew(struct crew *crew, struct dw_error *error)
{
    crew->group_of = calloc(crew->job->n_materials + 1, sizeof *crew->group_of);
    if (!crew->group_of)
        return dw_error__nomem(error);
    dw_err code = dw_groups__find(crew->job, crew->group_of, &crew->n_groups, error);
    if (code != DW_OK)
        return code;
    crew->outcomes = calloc(crew->n_groups + 1, sizeof *crew->outcomes);
    crew->ordered = calloc(crew->n_groups + 1, sizeof *crew->ordered);
    crew->codes = calloc(crew->n_groups + 1, sizeof *crew->codes);
    crew->errors = calloc(crew->n_groups + 1, sizeof *crew->errors);
    if (!crew->outcomes || !crew->ordered || !crew->codes || !crew->errors)
        return dw_error__nomem(error);
    crew->n_threads = thread_count(crew->settings, crew->n_groups);
    if (crew->settings->time_ms > 0 && crew->hooks && crew->hooks->now_ms)
        crew->deadline_ms = now_ms(crew->hooks) + crew->settings->time_ms;
    return DW_OK;
}

static void free_crew(struct crew *crew)
{
    for (size_t g = 0; crew->outcomes && g < crew->n_groups; g++)
        dw_outcome__free(&crew->outcomes[g]);
    for (size_t g = 0; crew->ordered && g < crew->n_groups; g++)
        dw_ordered__free(&crew->ordered[g]);
    free(crew->group_of);
    free(crew->outcomes);
    free(crew->ordered);
    free(crew->codes);
    free(crew->errors);
}

dw_err dw_solve(const struct dw_job *job, const struct dw_settings *settings,
                const struct dw_hooks *hooks, struct dw_plan **out, struct dw_error *error)
{
    *out = NULL;
    struct dw_settings defaults;
    dw_settings_default(&defaults);
    struct crew crew = {.job = job, .settings = settings ? settings : &defaults, .hooks = hooks};
    struct dw_plan *plan = NULL;
    dw_err code = dw_settings_check(crew.settings, error);
    if (code != DW_OK)
        return code;
    pthread_mutex_init(&crew.lock, NULL);
    code = make_crew(&crew, error);
    if (code == DW_OK)
        code = run_crew(&crew, error);
    for (size_t g = 0; code == DW_OK && g < crew.n_groups; g++)
        if (crew.codes[g] != DW_OK)
            code = dw_error__set(error, crew.codes[g], "%s", crew.errors[g].text);
    if (code == DW_OK)
        code = dw_plan_new(&plan, error);
    if (code == DW_OK)
        code = make_plan(&crew, plan, error);
    free_crew(&crew);
    pthread_mutex_destroy(&crew.lock);
    if (code == DW_OK)
        *out = plan;
    else
        dw_plan_free(plan);
    return code;
}
