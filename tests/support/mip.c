/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Variables of bar b of supply k, i a part or post:
 *   u_k_b    1: the bar is used           a_k_b_i  straight pieces of i on it
 *   h_k_b_i  1: i is the bent piece       e_k_b    1: the bend end is on it, alone
 *   t_k_b    stretch of all its pieces    m_k_b    rem
 *   f_k_b    1: rem = 0                   o_k_b_r  1: a leftover of r at least is kept
 *   q_k_b    1: r >= keep, 0: r <= scrap_max (no middling leftover)
 * and of supply k at price t: p_k_t packs bought, y_k_t 1: this price. */
#include "mip.h"

#include "brute.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* A bar of more steps makes too many variables. */
#define MIP_CELLS 200

struct writer {
    FILE *file;
    const struct dw_job *job;
    const size_t *materials;
    size_t n_materials;
    dw_length step;
    int64_t pieces; /* wanted in the group */
    size_t row;
};

static dw_length gcd(dw_length a, dw_length b)
{
    return b ? gcd(b, a % b) : a;
}

dw_length mip_step(const struct dw_job *job)
{
    dw_length step = gcd(gcd(job->saw.kerf, job->saw.grip), job->rules.scrap_max);
    for (size_t i = 0; i < job->n_materials; i++)
        step = gcd(step, job->materials[i].worth.keep);
    for (size_t i = 0; i < job->n_parts; i++)
        step = gcd(gcd(step, job->parts[i].min), job->parts[i].max);
    for (size_t i = 0; i < job->n_supplies; i++) {
        const struct dw_supply *s = &job->supplies[i];
        step = gcd(gcd(gcd(gcd(step, s->length), s->measured), s->trim), s->bend);
    }
    return step;
}

static bool in_group(const struct writer *w, size_t material)
{
    for (size_t i = 0; i < w->n_materials; i++)
        if (w->materials[i] == material)
            return true;
    return false;
}

static bool accepts(const struct dw_part *part, size_t material)
{
    for (size_t i = 0; i < part->n_materials; i++)
        if (part->materials[i] == material)
            return true;
    return false;
}

static long long cells(const struct writer *w, dw_length length)
{
    return (long long)(length / w->step);
}

static int squarings(const struct dw_supply *s)
{
    bool near = s->ends[0] == DW_END_MILL && s->bend == 0, far = s->ends[1] == DW_END_MILL;
    return s->trim > 0 ? near + far : 0;
}

static dw_length usable(const struct dw_supply *s)
{
    return (s->measured ? s->measured : s->length) - squarings(s) * s->trim;
}

static size_t tail(const struct dw_supply *s)
{
    return s->bend > 0 ? s->tail_material : s->material;
}

static int64_t n_bars(const struct writer *w, const struct dw_supply *s)
{
    return s->count == DW_UNLIMITED || s->count > w->pieces ? w->pieces : s->count;
}

/* Whether part i can be a straight piece, or the bent one, of the supply. */
static bool straight(const struct writer *w, const struct dw_supply *s, size_t i)
{
    return accepts(&w->job->parts[i], tail(s));
}

static bool bent(const struct writer *w, const struct dw_supply *s, size_t i)
{
    return s->bend > 0 && accepts(&w->job->parts[i], s->material) &&
           w->job->parts[i].max >= s->bend;
}

static dw_length bent_min(const struct writer *w, const struct dw_supply *s, size_t i)
{
    dw_length min = w->job->parts[i].min;
    return min > s->bend ? min : s->bend;
}

/* First and last lengths at which a leftover is worth more than one step shorter. */
static bool worth_step(const struct writer *w, const struct dw_supply *s, dw_length r)
{
    size_t m = tail(s);
    dw_length keep = w->job->materials[m].worth.keep;
    return r >= keep && brute_worth(w->job, m, r) > brute_worth(w->job, m, r - w->step);
}

/* What a piece on the bar adds to a row: for itself, a length of its least length, of its stretch,
 * and of its worth as a post. */
struct weights {
    double one;
    double length;
    double stretch;
    double worth;
};

static void write_term(struct writer *w, char letter, size_t k, int64_t b, size_t i, dw_length min,
                       const struct weights *weights)
{
    const struct dw_part *part = &w->job->parts[i];
    double c = weights->one + weights->length * (double)cells(w, min) +
               weights->stretch * (double)cells(w, part->max - min) +
               weights->worth * (double)part->worth;
    if (c != 0)
        fprintf(w->file, " %+.0f %c_%zu_%d_%zu\n", c, letter, k, (int)b, i);
}

static void write_pieces(struct writer *w, size_t k, int64_t b, struct weights weights)
{
    const struct dw_supply *s = &w->job->supplies[k];
    for (size_t i = 0; i < w->job->n_parts; i++) {
        if (straight(w, s, i))
            write_term(w, 'a', k, b, i, w->job->parts[i].min, &weights);
        if (bent(w, s, i))
            write_term(w, 'h', k, b, i, bent_min(w, s, i), &weights);
    }
}

static void write_bend_end(struct writer *w, size_t k, int64_t b, double c)
{
    if (w->job->supplies[k].bend > 0 && c != 0)
        fprintf(w->file, " %+.0f e_%zu_%d\n", c, k, (int)b);
}

static void begin_row(struct writer *w)
{
    fprintf(w->file, " r%zu:", w->row++);
}

/* --- objective
 * ------------------------------------------------------------------------------------ */

static void write_bar_money(struct writer *w, size_t k, int64_t b)
{
    const struct dw_job *job = w->job;
    const struct dw_supply *s = &job->supplies[k];
    double cut = (double)job->saw.cut_cost;
    write_pieces(w, k, b, (struct weights){.one = cut, .worth = -1});
    write_bend_end(w, k, b, cut);
    fprintf(w->file, " %+.0f u_%zu_%d\n", cut * squarings(s), k, (int)b);
    fprintf(w->file, " %+.0f f_%zu_%d\n", -cut, k, (int)b);
    for (dw_length r = w->step; r <= usable(s); r += w->step)
        if (worth_step(w, s, r))
            fprintf(w->file, " %+.0f o_%zu_%d_%lld\n", -(double)brute_worth(job, tail(s), r), k,
                    (int)b, cells(w, r));
}

static void write_price(struct writer *w, size_t k)
{
    const struct dw_supply *s = &w->job->supplies[k];
    for (size_t t = 0; t <= s->n_breaks; t++) {
        dw_money price = t == 0 ? s->price : s->breaks[t - 1].price;
        fprintf(w->file, " %+.0f p_%zu_%zu\n", (double)price * (double)s->pack, k, t);
    }
}

/* --- rows
 * ------------------------------------------------------------------------------------------- */

static void write_fit(struct writer *w, size_t k, int64_t b)
{
    const struct dw_job *job = w->job;
    const struct dw_supply *s = &job->supplies[k];
    long long kerf = cells(w, job->saw.kerf), room = cells(w, usable(s)) + kerf;
    int bar = (int)b;
    begin_row(w);
    write_pieces(w, k, b, (struct weights){.one = (double)kerf, .length = 1});
    write_bend_end(w, k, b, (double)(cells(w, s->bend) + kerf));
    fprintf(w->file, " + t_%zu_%d + m_%zu_%d - %lld u_%zu_%d = 0\n", k, bar, k, bar, room, k, bar);
    begin_row(w);
    write_pieces(w, k, b, (struct weights){.stretch = -1});
    fprintf(w->file, " + t_%zu_%d <= 0\n", k, bar);
    begin_row(w);
    write_pieces(w, k, b, (struct weights){.one = 1});
    fprintf(w->file, " - u_%zu_%d >= 0\n", k, bar);
    if (job->rules.most_pieces != DW_UNLIMITED) {
        begin_row(w);
        write_pieces(w, k, b, (struct weights){.one = 1});
        fprintf(w->file, " + zero <= %lld\n", (long long)job->rules.most_pieces);
    }
    begin_row(w);
    fprintf(w->file, " m_%zu_%d + %lld f_%zu_%d <= %lld\n", k, bar, room, k, bar, room);
    begin_row(w);
    fprintf(w->file, " f_%zu_%d - u_%zu_%d <= 0\n", k, bar, k, bar);
    if (job->saw.grip > 0) {
        begin_row(w);
        fprintf(w->file, " m_%zu_%d - %lld u_%zu_%d >= 0\n", k, bar, kerf + cells(w, job->saw.grip),
                k, bar);
    }
    if (s->bend > 0) {
        begin_row(w);
        for (size_t i = 0; i < job->n_parts; i++)
            if (bent(w, s, i))
                fprintf(w->file, " + h_%zu_%d_%zu", k, bar, i);
        fprintf(w->file, " + e_%zu_%d - u_%zu_%d = 0\n", k, bar, k, bar);
    }
    if (b > 0) {
        begin_row(w);
        fprintf(w->file, " u_%zu_%d - u_%zu_%d >= 0\n", k, bar - 1, k, bar);
    }
}

static void write_rest(struct writer *w, size_t k, int64_t b)
{
    const struct dw_job *job = w->job;
    const struct dw_supply *s = &job->supplies[k];
    long long kerf = cells(w, job->saw.kerf), room = cells(w, usable(s)) + kerf;
    long long keep = cells(w, job->materials[tail(s)].worth.keep);
    long long scrap = cells(w, job->rules.scrap_max);
    begin_row(w);
    for (dw_length r = w->step; r <= usable(s); r += w->step)
        if (worth_step(w, s, r))
            fprintf(w->file, " + %lld o_%zu_%d_%lld\n", cells(w, r) + kerf, k, (int)b, cells(w, r));
    fprintf(w->file, " - m_%zu_%d <= 0\n", k, (int)b);
    begin_row(w);
    for (dw_length r = w->step; r <= usable(s); r += w->step)
        if (worth_step(w, s, r))
            fprintf(w->file, " + o_%zu_%d_%lld\n", k, (int)b, cells(w, r));
    fprintf(w->file, " - u_%zu_%d <= 0\n", k, (int)b);
    if (!job->rules.no_middling || scrap >= keep)
        return;
    begin_row(w);
    fprintf(w->file, " m_%zu_%d - %lld q_%zu_%d <= %lld\n", k, (int)b, room, k, (int)b,
            scrap + kerf);
    begin_row(w);
    fprintf(w->file, " m_%zu_%d - %lld q_%zu_%d >= 0\n", k, (int)b, keep + kerf, k, (int)b);
}

static void write_purchase(struct writer *w, size_t k)
{
    const struct dw_supply *s = &w->job->supplies[k];
    int64_t most = n_bars(w, s) + s->pack;
    for (size_t t = 0; t < s->n_breaks; t++)
        most = s->breaks[t].from + s->pack > most ? s->breaks[t].from + s->pack : most;
    begin_row(w);
    for (size_t t = 0; t <= s->n_breaks; t++)
        fprintf(w->file, " + %lld p_%zu_%zu", (long long)s->pack, k, t);
    for (int64_t b = 0; b < n_bars(w, s); b++)
        fprintf(w->file, " - u_%zu_%d\n", k, (int)b);
    fprintf(w->file, " >= 0\n");
    for (size_t t = 0; t <= s->n_breaks; t++) {
        begin_row(w);
        fprintf(w->file, " %lld p_%zu_%zu - %lld y_%zu_%zu <= 0\n", (long long)s->pack, k, t,
                (long long)most, k, t);
        begin_row(w);
        fprintf(w->file, " %lld p_%zu_%zu - %lld y_%zu_%zu >= 0\n", (long long)s->pack, k, t,
                t == 0 ? 1LL : (long long)s->breaks[t - 1].from, k, t);
    }
    begin_row(w);
    for (size_t t = 0; t <= s->n_breaks; t++)
        fprintf(w->file, " + y_%zu_%zu", k, t);
    fprintf(w->file, " <= 1\n");
    if (s->count == DW_UNLIMITED)
        return;
    begin_row(w);
    for (size_t t = 0; t <= s->n_breaks; t++)
        fprintf(w->file, " + %lld p_%zu_%zu", (long long)s->pack, k, t);
    fprintf(w->file, " <= %lld\n", (long long)s->count);
}

static void each_bar(struct writer *w, void (*visit)(struct writer *w, size_t k, int64_t b))
{
    for (size_t k = 0; k < w->job->n_supplies; k++)
        for (int64_t b = 0;
             in_group(w, w->job->supplies[k].material) && b < n_bars(w, &w->job->supplies[k]); b++)
            visit(w, k, b);
}

static void write_demand(struct writer *w, size_t i)
{
    const struct dw_part *part = &w->job->parts[i];
    begin_row(w);
    for (size_t k = 0; k < w->job->n_supplies; k++) {
        const struct dw_supply *s = &w->job->supplies[k];
        for (int64_t b = 0; in_group(w, s->material) && b < n_bars(w, s); b++) {
            if (straight(w, s, i))
                fprintf(w->file, " + a_%zu_%d_%zu\n", k, (int)b, i);
            if (bent(w, s, i))
                fprintf(w->file, " + h_%zu_%d_%zu\n", k, (int)b, i);
        }
    }
    fprintf(w->file, " + zero %s %lld\n", part->post ? "<=" : "=", (long long)part->count);
}

static void write_cap(struct writer *w)
{
    if (w->job->rules.max_new_offcuts == DW_UNLIMITED)
        return;
    begin_row(w);
    for (size_t k = 0; k < w->job->n_supplies; k++) {
        const struct dw_supply *s = &w->job->supplies[k];
        for (int64_t b = 0; in_group(w, s->material) && b < n_bars(w, s); b++)
            for (dw_length r = w->step; r <= usable(s); r += w->step)
                if (worth_step(w, s, r))
                    fprintf(w->file, " + o_%zu_%d_%lld\n", k, (int)b, cells(w, r));
    }
    fprintf(w->file, " + zero <= %lld\n", (long long)w->job->rules.max_new_offcuts);
}

/* --- kinds of variables
 * ------------------------------------------------------------------------------ */

static void write_general(struct writer *w, size_t k, int64_t b)
{
    for (size_t i = 0; i < w->job->n_parts; i++)
        if (straight(w, &w->job->supplies[k], i))
            fprintf(w->file, " a_%zu_%d_%zu\n", k, (int)b, i);
    fprintf(w->file, " t_%zu_%d\n m_%zu_%d\n", k, (int)b, k, (int)b);
}

static void write_binary(struct writer *w, size_t k, int64_t b)
{
    const struct dw_supply *s = &w->job->supplies[k];
    const struct dw_rules *rules = &w->job->rules;
    fprintf(w->file, " u_%zu_%d\n f_%zu_%d\n", k, (int)b, k, (int)b);
    if (rules->no_middling && rules->scrap_max < w->job->materials[tail(s)].worth.keep)
        fprintf(w->file, " q_%zu_%d\n", k, (int)b);
    if (s->bend > 0)
        fprintf(w->file, " e_%zu_%d\n", k, (int)b);
    for (size_t i = 0; i < w->job->n_parts; i++)
        if (bent(w, s, i))
            fprintf(w->file, " h_%zu_%d_%zu\n", k, (int)b, i);
    for (dw_length r = w->step; r <= usable(s); r += w->step)
        if (worth_step(w, s, r))
            fprintf(w->file, " o_%zu_%d_%lld\n", k, (int)b, cells(w, r));
}

static void each_price(struct writer *w, const char *letter)
{
    for (size_t k = 0; k < w->job->n_supplies; k++)
        for (size_t t = 0; in_group(w, w->job->supplies[k].material) &&
                           n_bars(w, &w->job->supplies[k]) > 0 && t <= w->job->supplies[k].n_breaks;
             t++)
            fprintf(w->file, " %s_%zu_%zu\n", letter, k, t);
}

void mip_write(FILE *file, const struct dw_job *job, const size_t *materials, size_t n,
               dw_length step)
{
    struct writer w = {
        .file = file, .job = job, .materials = materials, .n_materials = n, .step = step};
    for (size_t i = 0; i < job->n_parts; i++)
        if (in_group(&w, job->parts[i].materials[0]))
            w.pieces += job->parts[i].count;
    fprintf(file, "Minimize\n money: 0 zero\n");
    each_bar(&w, write_bar_money);
    for (size_t k = 0; k < job->n_supplies; k++)
        if (in_group(&w, job->supplies[k].material) && n_bars(&w, &job->supplies[k]) > 0)
            write_price(&w, k);
    fprintf(file, "Subject To\n");
    each_bar(&w, write_fit);
    each_bar(&w, write_rest);
    for (size_t k = 0; k < job->n_supplies; k++)
        if (in_group(&w, job->supplies[k].material) && n_bars(&w, &job->supplies[k]) > 0)
            write_purchase(&w, k);
    for (size_t i = 0; i < job->n_parts; i++)
        if (in_group(&w, job->parts[i].materials[0]))
            write_demand(&w, i);
    write_cap(&w);
    fprintf(file, "Bounds\n zero = 0\nGenerals\n");
    each_bar(&w, write_general);
    each_price(&w, "p");
    fprintf(file, "Binaries\n");
    each_bar(&w, write_binary);
    each_price(&w, "y");
    fprintf(file, "End\n");
}

/* --- solving
 * ------------------------------------------------------------------------------------------ */

/* glpsol's plain copy of a solution: "s mip ROWS COLUMNS STATUS VALUE". */
static enum mip_answer read_glpsol(FILE *file, double *value)
{
    char line[256];
    while (fgets(line, sizeof line, file)) {
        char status = 0;
        if (sscanf(line, "s mip %*d %*d %c %lf", &status, value) < 1)
            continue;
        return status == 'o' ? MIP_OPTIMAL : status == 'n' ? MIP_INFEASIBLE : MIP_UNKNOWN;
    }
    return MIP_UNKNOWN;
}

static enum mip_answer read_cbc(FILE *file, double *value)
{
    char line[256] = {0};
    if (!fgets(line, sizeof line, file))
        return MIP_UNKNOWN;
    if (sscanf(line, "Optimal - objective value %lf", value) == 1)
        return MIP_OPTIMAL;
    return strncmp(line, "Infeasible", 10) == 0 || strncmp(line, "Integer infeasible", 18) == 0
               ? MIP_INFEASIBLE
               : MIP_UNKNOWN;
}

static bool run_solver(enum mip_solver solver, int seconds, const char *problem,
                       const char *solution)
{
    char command[512];
    if (solver == MIP_GLPSOL)
        snprintf(command, sizeof command, "glpsol --lp %s --tmlim %d --cuts -w %s >/dev/null 2>&1",
                 problem, seconds, solution);
    else
        snprintf(command, sizeof command,
                 "cbc %s sec %d ratioGap 0 allowableGap 0 threads 1 solve solu %s >/dev/null 2>&1",
                 problem, seconds, solution);
    return system(command) != -1;
}

enum mip_answer mip_solve(const struct dw_job *job, const size_t *materials, size_t n,
                          enum mip_solver solver, int seconds, dw_money *money)
{
    for (size_t k = 0; k < job->n_supplies; k++)
        if (usable(&job->supplies[k]) / mip_step(job) > MIP_CELLS)
            return MIP_UNKNOWN;
    char folder[] = "/tmp/dropwise-XXXXXX", problem[64], solution[64];
    enum mip_answer answer = MIP_UNKNOWN;
    double value = 0;
    if (!mkdtemp(folder))
        return MIP_UNKNOWN;
    snprintf(problem, sizeof problem, "%s/job.lp", folder);
    snprintf(solution, sizeof solution, "%s/job.sol", folder);
    FILE *file = fopen(problem, "w");
    if (!file) {
        rmdir(folder);
        return MIP_UNKNOWN;
    }
    mip_write(file, job, materials, n, mip_step(job));
    bool fine = fclose(file) == 0 && run_solver(solver, seconds, problem, solution);
    file = fine ? fopen(solution, "r") : NULL;
    if (file) {
        answer = solver == MIP_GLPSOL ? read_glpsol(file, &value) : read_cbc(file, &value);
        fclose(file);
    }
    *money = (dw_money)llround(value);
    remove(problem);
    remove(solution);
    rmdir(folder);
    return answer;
}
