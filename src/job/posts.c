/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which posts each offcut could become, and the best assignment of them. */
#include <dropwise/posts.h>

#include "base/base.h"
#include "cost/mechanics.h"
#include "job/post_ways.h"
#include "model/model.h"
#include "solve/choose/assign.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>

void dw_post_list_free(struct dw_post_list *list)
{
    if (list)
        dw_arena__free(list->arena);
}

const char *dw_posts_formula(void)
{
    return dw_mechanics__formula();
}

/* --- offcuts ---------------------------------------------------------------------------------- */

struct search {
    const struct dw_job *job;
    const struct dw_post_request *request;
    struct dw_arena *arena;
    struct dw_material_list *known; /* of the shelf; NULL without one */
    struct dw_post_source *sources; /* heap, growing */
    size_t n_sources;
    size_t capacity;
    struct dw_post_ways ways;
};

static dw_err add_source(struct search *search, const struct dw_post_source *source,
                         struct dw_error *error)
{
    if (!dw_array__grow(&search->sources, &search->capacity, search->n_sources + 1, sizeof *source))
        return dw_error__nomem(error);
    struct dw_post_source *to = &search->sources[search->n_sources++];
    *to = *source;
    const char **texts[] = {&to->number, &to->place, &to->from};
    for (size_t i = 0; i < DW_COUNT(texts); i++) {
        if (!*texts[i])
            continue;
        *texts[i] = dw_arena__text(search->arena, *texts[i]);
        if (!*texts[i])
            return dw_error__nomem(error);
    }
    return DW_OK;
}

/* A bent end is not squared, and a post is cut from the straight tail behind it. */
static dw_err add_stock(struct search *search, size_t material, const struct dw_stock *stock,
                        struct dw_error *error)
{
    const struct dw_job *job = search->job;
    bool end_bent = job->materials[material].end_bent;
    const struct dw_supply *bent = end_bent ? dw_job__bent(job, material) : NULL;
    if (end_bent && !bent) /* how far it is bent is not known */
        return DW_OK;
    int64_t mills = (stock->ends[0] == DW_END_MILL && !bent) + (stock->ends[1] == DW_END_MILL);
    dw_length off = mills * job->saw.trim + (bent ? bent->bend + job->saw.kerf : 0);
    struct dw_post_source source = {
        .number = stock->number,
        .place = stock->place,
        .material = bent ? bent->tail_material : material,
        .booked = stock->value > 0 ? stock->value : -1,
        .length = dw_stock_actual(stock),
        .usable = dw_stock_actual(stock) - off,
    };
    return source.usable > 0 ? add_source(search, &source, error) : DW_OK;
}

/* The shop's own pieces only: what a client owns is not for others' posts. */
static dw_err add_shelf(struct search *search, struct dw_error *error)
{
    dw_err err = DW_OK;
    for (size_t m = 0; !err && m < search->job->n_materials; m++) {
        struct dw_stock_list *list = NULL;
        struct dw_stock_query query = {.material = search->job->materials[m].id,
                                       .states = 1u << DW_STATE_SHELF,
                                       .owner = "",
                                       .only_offcuts = !search->request->bars};
        err = dw_ledger_list(search->request->ledger, &query, &list, error);
        for (size_t i = 0; !err && i < list->n; i++)
            err = add_stock(search, m, &list->rows[i], error);
        dw_stock_list_free(list);
    }
    return err;
}

static dw_err add_plan(struct search *search, struct dw_error *error)
{
    const struct dw_plan *plan = search->request->plan;
    dw_err err = DW_OK;
    for (size_t i = 0; !err && i < plan->n_layouts; i++) {
        const struct dw_layout *layout = &plan->layouts[i];
        if (layout->rest != DW_REST_KEPT)
            continue;
        const struct dw_supply *supply = &search->job->supplies[layout->supply];
        bool mill = supply->trim == 0 && supply->ends[1] == DW_END_MILL;
        struct dw_post_source source = {
            .from = supply->id,
            .booked = -1,
            .material = supply->bend > 0 ? supply->tail_material : supply->material,
            .length = layout->leftover,
            .usable = layout->leftover - (mill ? search->job->saw.trim : 0),
        };
        for (int64_t k = 0; !err && source.usable > 0 && k < layout->count; k++)
            err = add_source(search, &source, error);
    }
    return err;
}

/* Offcuts that the job itself lists; a plan has spoken about them. */
static dw_err add_own(struct search *search, struct dw_error *error)
{
    dw_err err = DW_OK;
    for (size_t i = 0; !err && i < search->job->n_supplies; i++) {
        const struct dw_supply *supply = &search->job->supplies[i];
        if (supply->source != DW_SOURCE_OFFCUT || supply->bend > 0)
            continue;
        struct dw_post_source source = {
            .number = supply->id,
            .place = supply->place,
            .material = supply->material,
            .booked = supply->by_rules ? supply->price : dw_supply_paid(supply),
            .length = supply->measured ? supply->measured : supply->length,
            .usable = dw_supply_usable(supply),
        };
        for (int64_t k = 0; !err && source.usable > 0 && k < supply->count; k++)
            err = add_source(search, &source, error);
    }
    return err;
}

/* What is given up where an offcut is cut, see dw_posts_find. */
static void value_sources(struct search *search)
{
    const struct dw_job *job = search->job;
    for (size_t i = 0; i < search->n_sources; i++) {
        struct dw_post_source *source = &search->sources[i];
        dw_length shortest = 0;
        for (size_t j = 0; j < job->n_parts; j++)
            if (job->parts[j].post && dw_post_ways__accepts(&job->parts[j], source->material) &&
                (shortest == 0 || job->parts[j].min < shortest))
                shortest = job->parts[j].min;
        dw_length rest =
            source->booked < 0 ? source->length : source->usable - shortest - job->saw.kerf;
        source->worth = rest > 0 ? dw_job_worth(job, source->material, rest) : 0;
        if (source->booked > source->worth)
            source->worth = source->booked;
    }
}

/* --- the load check --------------------------------------------------------------------------- */

#define CURVED "the tube is curved" /* the formula is that of a straight one */

static bool differs(dw_length a, dw_length b)
{
    return a > 0 && b > 0 && a != b;
}

/* Why tube can't be judged whatever the load; NULL: it can. */
static const char *no_judging(const struct search *search, const struct dw_material *material)
{
    if (material->radius > 0 || material->end_bent)
        return CURVED;
    for (size_t i = 0; search->known && i < search->known->n; i++) {
        const struct dw_material *there = &search->known->rows[i];
        if (strcmp(there->id, material->id) != 0)
            continue;
        if (there->radius > 0)
            return CURVED;
        if (differs(there->od, material->od) || differs(there->wall, material->wall))
            return "the shelf has another diameter or wall under this name";
    }
    return NULL;
}

static struct dw_post_check check_load(const struct dw_material *material, dw_length arm,
                                       const struct dw_post_load *load)
{
    struct dw_tube_section section;
    const struct dw_strength *strength = dw_mechanics__strength(material->alloy);
    struct dw_post_check check = {
        .e_mpa = load->e_mpa > 0 || !strength ? load->e_mpa : strength->e_mpa,
        .yield_mpa = load->yield_mpa > 0 || !strength ? load->yield_mpa : strength->yield_mpa,
        .source = load->yield_mpa > 0 || !strength ? "as given" : strength->source,
    };
    if (dw_mechanics__section(material->od, material->wall, &section, NULL) != DW_OK)
        check.why_not = "the material's diameter and wall are not known";
    else if (check.e_mpa <= 0 || check.yield_mpa <= 0)
        check.why_not = "no minimum yield and stiffness are known for its alloy; give both";
    if (check.why_not)
        return (struct dw_post_check){.why_not = check.why_not};
    double arm_mm = (double)arm / DW_NM_PER_MM;
    struct dw_cantilever tip = dw_mechanics__tip_load(&section, check.e_mpa, load->load_n, arm_mm);
    check.done = true;
    check.inertia_mm4 = section.inertia_mm4;
    check.modulus_mm3 = section.modulus_mm3;
    check.droop_mm = tip.deflection_mm;
    check.droop_most_mm = load->droop > 0 ? (double)load->droop / DW_NM_PER_MM : arm_mm / 100;
    check.stress_mpa = tip.stress_mpa;
    check.stress_most_mpa = check.yield_mpa / load->safety;
    check.fits = check.droop_mm <= check.droop_most_mm && check.stress_mpa <= check.stress_most_mpa;
    return check;
}

static struct dw_post_check judge(const struct search *search, size_t source, dw_length arm)
{
    const struct dw_material *material = &search->job->materials[search->sources[source].material];
    const char *why_not = no_judging(search, material);
    return why_not ? (struct dw_post_check){.why_not = why_not}
                   : check_load(material, arm, &search->request->load);
}

/* --- all together ----------------------------------------------------------------------------- */

/* The posts of the job, the dearest first. */
static dw_err list_wishes(struct search *search, struct dw_error *error)
{
    const struct dw_job *job = search->job;
    size_t *wishes = dw_arena__alloc(search->arena, job->n_parts + 1, sizeof *wishes);
    if (!wishes)
        return dw_error__nomem(error);
    size_t n = 0;
    for (size_t j = 0; j < job->n_parts; j++) {
        if (!job->parts[j].post)
            continue;
        size_t at = n++;
        for (; at > 0 && job->parts[wishes[at - 1]].worth < job->parts[j].worth; at--)
            wishes[at] = wishes[at - 1];
        wishes[at] = j;
    }
    search->ways = (struct dw_post_ways){.job = job,
                                         .arena = search->arena,
                                         .n_sources = search->n_sources,
                                         .sources = search->sources,
                                         .n_wishes = n,
                                         .wishes = wishes};
    return DW_OK;
}

/* One post of the wish alone. false: the offcut does not give it. */
static bool alone(const struct search *search, const struct dw_post_source *source, size_t j,
                  dw_money *gain)
{
    struct dw_post_ways of_one = search->ways; /* there may be many others */
    const int64_t count = 1;
    dw_length length = 0, rem = 0;
    of_one.wishes += j;
    of_one.n_wishes = 1;
    bool good = dw_post_ways__accepts(&search->job->parts[*of_one.wishes], source->material) &&
                dw_post_ways__lengths(&of_one, source, &count, &length, &rem);
    if (good)
        *gain = dw_post_ways__gain(&of_one, source, &count, rem);
    return good;
}

/* One post of each offcut at most, the best assignment of them. */
static dw_err choose_one_each(const struct search *search, const struct dw_post_way **chosen,
                              struct dw_error *error)
{
    const struct dw_post_ways *ways = &search->ways;
    size_t n = search->n_sources, m = ways->n_wishes, n_edges = 0;
    if (m > 0 && n > DW_MAX_POST_PAIRS / m)
        return dw_error__set(error, DW_ERR_LIMIT,
                             "%zu offcuts and %zu kinds of posts make too many pairs; the most is "
                             "%d: ask for fewer at a time",
                             n, m, DW_MAX_POST_PAIRS);
    struct dw_assign_edge *edges = calloc(n * m + 1, sizeof *edges);
    int64_t *caps = calloc(m + 1, sizeof *caps);
    size_t *wish_of = calloc(n + 1, sizeof *wish_of);
    struct dw_post_way *rows = dw_arena__alloc(search->arena, n + 1, sizeof *rows);
    int64_t *counts = dw_arena__alloc(search->arena, n * m + 1, sizeof *counts);
    dw_err err = edges && caps && wish_of && rows && counts ? DW_OK : dw_error__nomem(error);
    for (size_t i = 0; !err && i < n; i++)
        for (size_t j = 0; j < m; j++) {
            dw_money gain = 0;
            if (alone(search, &search->sources[i], j, &gain))
                edges[n_edges++] = (struct dw_assign_edge){i, j, gain};
        }
    for (size_t j = 0; !err && j < m; j++)
        caps[j] = search->job->parts[ways->wishes[j]].count;
    if (!err)
        err = dw_assign__solve(n, m, caps, n_edges, edges, wish_of, error);
    for (size_t i = 0; !err && i < n; i++) {
        rows[i].counts = counts + i * m;
        if (wish_of[i] == SIZE_MAX ||
            !alone(search, &search->sources[i], wish_of[i], &rows[i].gain))
            continue;
        rows[i].counts[wish_of[i]] = 1;
        chosen[i] = &rows[i];
    }
    free(edges);
    free(caps);
    free(wish_of);
    return err;
}

/* Wishes that an offcut is long enough for, dearest first. */
static dw_err list_could(const struct search *search, struct dw_post_choice *row,
                         struct dw_error *error)
{
    size_t n = search->ways.n_wishes;
    size_t *could = dw_arena__alloc(search->arena, n + 1, sizeof *could);
    if (!could)
        return dw_error__nomem(error);
    for (size_t j = 0; j < n; j++) {
        dw_money gain = 0;
        if (alone(search, &search->sources[row->source], j, &gain))
            could[row->n_could++] = search->ways.wishes[j];
    }
    row->could = could;
    return DW_OK;
}

/* The rows of one offcut: one a post, or one that says that it stays. */
static dw_err add_rows(const struct search *search, size_t i, const struct dw_post_way *way,
                       struct dw_post_list *list, struct dw_error *error)
{
    const struct dw_job *job = search->job;
    const struct dw_post_load *load = &search->request->load;
    struct dw_post_choice *first = &list->rows[list->n];
    int64_t n = 0;
    for (size_t j = 0; way && j < search->ways.n_wishes; j++)
        n += way->counts[j];
    dw_length *lengths = dw_arena__alloc(search->arena, (size_t)n + 1, sizeof *lengths), rem = 0;
    if (!lengths)
        return dw_error__nomem(error);
    *first = (struct dw_post_choice){.source = i, .wish = DW_NONE};
    if (way)
        dw_post_ways__lengths(&search->ways, &search->sources[i], way->counts, lengths, &rem);
    size_t at = 0;
    for (size_t j = 0; way && j < search->ways.n_wishes; j++)
        for (int64_t k = 0; k < way->counts[j]; k++, at++) {
            size_t wish = search->ways.wishes[j];
            first[at] = (struct dw_post_choice){
                .source = i, .wish = wish, .length = lengths[at], .worth = job->parts[wish].worth};
            if (load->load_n > 0)
                first[at].check = judge(search, i, lengths[at]);
            if (!dw_add__i64(list->worth, first[at].worth, &list->worth))
                return dw_error__set(error, DW_ERR_RANGE,
                                     "the posts are worth more than any money");
        }
    list->n += way ? at : 1;
    first->gain = way ? way->gain : 0;
    first[at ? at - 1 : 0].leftover = rem > job->saw.kerf ? rem - job->saw.kerf : 0;
    list->gain += first->gain;
    return list_could(search, first, error);
}

/* Offcuts that become posts before the others, the dearest post first, then by offcut. */
struct ordered {
    size_t source;
    bool made;
    dw_money worth; /* of its dearest post */
};

static int by_worth(const void *x, const void *y)
{
    const struct ordered *a = x, *b = y;
    if (a->made != b->made)
        return a->made ? -1 : 1;
    if (a->worth != b->worth)
        return a->worth > b->worth ? -1 : 1;
    return (a->source > b->source) - (a->source < b->source);
}

static dw_err fill_list(const struct search *search, const struct dw_post_way *const *chosen,
                        struct dw_post_list *list, struct dw_error *error)
{
    const struct dw_post_ways *ways = &search->ways;
    size_t n = search->n_sources, rows = n;
    struct dw_post_source *sources = dw_arena__alloc(search->arena, n + 1, sizeof *sources);
    struct ordered *order = dw_arena__alloc(search->arena, n + 1, sizeof *order);
    for (size_t i = 0; order && i < n; i++) {
        order[i] = (struct ordered){.source = i, .made = chosen[i] != NULL};
        for (size_t j = 0; chosen[i] && j < ways->n_wishes; j++) {
            dw_money worth = search->job->parts[ways->wishes[j]].worth;
            rows += (size_t)chosen[i]->counts[j];
            if (chosen[i]->counts[j] > 0 && worth > order[i].worth)
                order[i].worth = worth;
        }
    }
    list->rows = dw_arena__alloc(search->arena, rows + 1, sizeof *list->rows);
    if (!sources || !order || !list->rows)
        return dw_error__nomem(error);
    if (n)
        memcpy(sources, search->sources, n * sizeof *sources);
    list->sources = sources;
    list->n_sources = n;
    if (n > 1)
        qsort(order, n, sizeof *order, by_worth);
    dw_err err = DW_OK;
    for (size_t i = 0; !err && i < n; i++)
        err = add_rows(search, order[i].source, chosen[order[i].source], list, error);
    return err;
}

static dw_err choose(struct search *search, struct dw_post_list *list, struct dw_error *error)
{
    const struct dw_post_way **chosen =
        dw_arena__alloc(search->arena, search->n_sources + 1, sizeof(struct dw_post_way *));
    if (!chosen)
        return dw_error__nomem(error);
    value_sources(search);
    dw_err err = list_wishes(search, error);
    if (!err)
        err = dw_post_ways__choose(&search->ways, chosen, &list->several, error);
    if (!err && !list->several)
        err = choose_one_each(search, chosen, error);
    return err ? err : fill_list(search, chosen, list, error);
}

dw_err dw_posts_find(const struct dw_job *job, const struct dw_post_request *request,
                     struct dw_post_list **out, struct dw_error *error)
{
    *out = NULL;
    struct dw_arena *arena = dw_arena__new();
    struct dw_post_list *list = arena ? dw_arena__alloc(arena, 1, sizeof *list) : NULL;
    struct search search = {.job = job, .request = request, .arena = arena};
    dw_err err = list ? DW_OK : dw_error__nomem(error);
    if (!err && request->ledger)
        err = dw_ledger_materials(request->ledger, &search.known, error);
    if (!err && request->ledger)
        err = add_shelf(&search, error);
    if (!err && request->plan)
        err = add_plan(&search, error);
    else if (!err)
        err = add_own(&search, error);
    if (!err)
        err = choose(&search, list, error);
    free(search.sources);
    dw_material_list_free(search.known);
    if (err) {
        dw_arena__free(arena);
        return err;
    }
    list->arena = arena;
    *out = list;
    return DW_OK;
}

/* --- loads as text ---------------------------------------------------------------------------- */

#define N_PER_KG  9.80665         /* standard gravity, 3rd CGPM 1901 */
#define N_PER_LBF 4.4482216152605 /* international pound 1959 times standard gravity */

static dw_err read_load(const char *text, double *newton, struct dw_error *error)
{
    static const struct {
        const char *unit;
        double newton;
    } units[] = {{"N", 1}, {"kN", 1000}, {"kg", N_PER_KG}, {"lbf", N_PER_LBF}, {"lb", N_PER_LBF}};
    char *rest = NULL;
    *newton = 0;
    if (!isdigit((unsigned char)text[0]))
        return dw_error__set(error, DW_ERR_SYNTAX,
                             "\"%.40s\" is no load: write it as 40 N, 4 kg "
                             "or 10 lbf",
                             text);
    double value = strtod(text, &rest);
    rest += strspn(rest, " ");
    for (size_t i = 0; i < DW_COUNT(units); i++)
        if (strcmp(rest, units[i].unit) == 0)
            *newton = value * units[i].newton;
    if (*newton > 0 && *newton <= 1e6)
        return DW_OK;
    bool known = *newton > 0;
    *newton = 0;
    return known ? dw_error__set(error, DW_ERR_RANGE, "a load of over 1000 kN is no post's")
                 : dw_error__set(error, DW_ERR_SYNTAX,
                                 "\"%.40s\" is no load: write it as 40 N, "
                                 "4 kg or 10 lbf",
                                 text);
}

/* A plain decimal: "2", "68900", "1.5". NULL leaves what is there. */
static dw_err read_figure(const char *name, const char *text, double least, double most,
                          double *out, struct dw_error *error)
{
    char *end = NULL;
    if (!text)
        return DW_OK;
    *out = strtod(text, &end);
    if (text[0] >= '0' && text[0] <= '9' && *end == '\0' && *out >= least && *out <= most)
        return DW_OK;
    return dw_error__set(error, DW_ERR_INPUT, "%s %.40s: wanted is a number from %g to %g", name,
                         text, least, most);
}

dw_err dw_posts_read(const struct dw_post_asked *asked, enum dw_unit unit, struct dw_post_load *out,
                     struct dw_error *error)
{
    struct dw_error why = {0};
    const char *droop = asked->droop;
    *out = (struct dw_post_load){.safety = 2};
    if (asked->load && read_load(asked->load, &out->load_n, &why))
        return dw_error__set(error, DW_ERR_INPUT, "load: %s", why.text);
    if (droop && (dw_length_parse(droop, strlen(droop), unit, &out->droop, &why) || !out->droop))
        return dw_error__set(error, DW_ERR_INPUT, "droop %.40s: %s", droop,
                             why.text[0] ? why.text : "it must be over 0");
    dw_err err = read_figure("safety", asked->safety, 1, 100, &out->safety, error);
    if (!err)
        err = read_figure("stiffness", asked->stiffness, 100, 1e6, &out->e_mpa, error);
    if (!err)
        err = read_figure("yield", asked->yield, 1, 1e5, &out->yield_mpa, error);
    return err;
}

/* Common practice: metals of tube yield between 100 and 1000 MPa and are as stiff as 40 GPa
 * (magnesium) to 220 GPa (steel); what lies beyond is a slip of unit more often than a tube. */
#define YIELD_LEAST 100
#define YIELD_MOST  1000
#define E_LEAST     40000
#define E_MOST      220000
#define SAFETY_LOW  1.5

dw_err dw_posts_doubt(const struct dw_post_load *load, struct dw_report *report)
{
    dw_err err = DW_OK;
    if (load->yield_mpa > 0 && (load->yield_mpa < YIELD_LEAST || load->yield_mpa > YIELD_MOST))
        err = dw_report__add(report, DW_DOUBT, NULL, 0, 0,
                             "yield %g MPa: tube yields between about %d and %d MPa (35 ksi is 241 "
                             "MPa)",
                             load->yield_mpa, YIELD_LEAST, YIELD_MOST);
    if (!err && load->e_mpa > 0 && (load->e_mpa < E_LEAST || load->e_mpa > E_MOST))
        err = dw_report__add(report, DW_DOUBT, NULL, 0, 0,
                             "stiffness %g MPa: metal tube has between about %d and %d MPa "
                             "(10 000 ksi is 68 948 MPa)",
                             load->e_mpa, E_LEAST, E_MOST);
    if (!err && load->safety < SAFETY_LOW)
        err = dw_report__add(report, DW_DOUBT, NULL, 0, 0,
                             "safety %g: a stress so near the yield leaves nothing for what the "
                             "check leaves out; 2 is taken where nothing is said",
                             load->safety);
    return err;
}
