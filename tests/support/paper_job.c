/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "paper_job.h"

#include <dropwise/takeoff.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define IN DW_NM_PER_IN
#define MM DW_NM_PER_MM

static void *must(void *room)
{
    if (!room)
        abort();
    return room;
}

static const char *text(struct dw_job *job, const char *format, size_t number)
{
    char line[64];
    snprintf(line, sizeof line, format, number); /* NOLINT(clang-diagnostic-format-nonliteral) */
    return must(dw_job_text(job, line));
}

static struct paper_job start(enum dw_unit unit, size_t parts, size_t supplies, size_t layouts)
{
    struct paper_job paper = {0};
    if (dw_job_new(&paper.job, NULL) != DW_OK || dw_plan_new(&paper.plan, NULL) != DW_OK)
        abort();
    struct dw_job *job = paper.job;
    job->name = "Steelpan trio, touring racks";
    job->date = "2026-11-20";
    job->unit = unit;
    job->denominator = unit == DW_UNIT_IN ? 32 : 0;
    memcpy(job->currency, "EUR", 4);
    job->saw.kerf = unit == DW_UNIT_IN ? IN / 8 : 3 * MM;
    job->n_orders = 1;
    job->orders = must(dw_job_alloc(job, 1, sizeof *job->orders));
    job->orders[0].name = "Tenor rack";
    job->n_materials = 1;
    job->materials = must(dw_job_alloc(job, 1, sizeof *job->materials));
    job->materials[0] = (struct dw_material){
        .id = "R38", .name = "38.1 x 1.65 aluminium tube, mill finish", .worth.keep = 12 * IN};
    job->n_parts = parts;
    job->parts = must(dw_job_alloc(job, parts, sizeof *job->parts));
    size_t *material = must(dw_job_alloc(job, 1, sizeof *material));
    for (size_t i = 0; i < parts; i++)
        job->parts[i] = (struct dw_part){.label = text(job, "piece %zu", i + 1),
                                         .min = 20 * MM,
                                         .max = 20 * MM,
                                         .count = 1,
                                         .n_materials = 1,
                                         .materials = material};
    job->n_supplies = supplies;
    job->supplies = must(dw_job_alloc(job, supplies, sizeof *job->supplies));
    for (size_t k = 0; k < supplies; k++)
        job->supplies[k] = (struct dw_supply){.id = text(job, "bar %zu", k + 1),
                                              .length = 12000 * MM,
                                              .price = 40 * DW_MONEY_ONE,
                                              .count = DW_UNLIMITED,
                                              .pack = 1,
                                              .ends = {DW_END_SAWN, DW_END_SAWN},
                                              .tail_material = DW_NONE};
    paper.plan->n_layouts = layouts;
    paper.plan->layouts = must(dw_plan_alloc(paper.plan, layouts, sizeof *paper.plan->layouts));
    return paper;
}

/* Sums the plan after its layouts are in. */
static struct paper_job settle(struct paper_job paper)
{
    for (size_t j = 0; j < paper.plan->n_layouts; j++) {
        struct dw_layout *layout = &paper.plan->layouts[j];
        dw_length used = 0;
        for (size_t i = 0; i < layout->n_pieces; i++)
            used += (layout->pieces[i].length + paper.job->saw.kerf) * layout->pieces[i].count;
        dw_length left = dw_supply_usable(&paper.job->supplies[layout->supply]) - used;
        layout->leftover = left > 0 ? left : 0;
        layout->rest = left <= 0                                    ? DW_REST_NONE
                       : left >= paper.job->materials[0].worth.keep ? DW_REST_KEPT
                                                                    : DW_REST_SCRAP;
    }
    if (dw_plan_sum(paper.job, paper.plan, NULL) != DW_OK)
        abort();
    return paper;
}

static struct dw_piece *add_pieces(struct paper_job *paper, size_t layout, size_t supply,
                                   int64_t count, size_t n)
{
    struct dw_piece *pieces = must(dw_plan_alloc(paper->plan, n, sizeof *pieces));
    paper->plan->layouts[layout] =
        (struct dw_layout){.supply = supply, .count = count, .n_pieces = n, .pieces = pieces};
    return pieces;
}

struct paper_job paper_job_small(void)
{
    struct paper_job paper = start(DW_UNIT_IN, 5, 3, 3);
    struct dw_job *job = paper.job;
    static const char *labels[] = {"Upright left", "Cross rail", "Mic post",
                                   "Träger für das Becken, sehr langer Name, Seite links außen",
                                   "横梁 Поперечина"};
    static const dw_length lengths[] = {46 * IN + IN / 2, 31 * IN + IN * 3 / 8, 17 * IN + IN / 4,
                                        22 * IN, 9 * IN + IN * 5 / 32};
    for (size_t i = 0; i < 5; i++) {
        job->parts[i].label = labels[i];
        job->parts[i].min = job->parts[i].max = lengths[i];
        job->parts[i].section = i < 2 ? "left half" : "right half";
    }
    job->parts[2].measure_first = true;
    job->supplies[0].id = "20 ft";
    job->supplies[0].length = 240 * IN;
    job->supplies[0].trim = IN / 4;
    job->supplies[0].ends[0] = job->supplies[0].ends[1] = DW_END_MILL;
    job->supplies[1] = (struct dw_supply){.id = "17",
                                          .source = DW_SOURCE_OFFCUT,
                                          .length = 52 * IN,
                                          .price = 5 * DW_MONEY_ONE,
                                          .count = 1,
                                          .pack = 1,
                                          .ends = {DW_END_SAWN, DW_END_MILL},
                                          .trim = IN / 4,
                                          .place = "rack B2",
                                          .mark = "H 4471",
                                          .tail_material = DW_NONE};
    job->supplies[2].length = 72 * IN;
    struct dw_piece *pieces = add_pieces(&paper, 0, 0, 3, 3);
    pieces[0] = (struct dw_piece){DW_USE_PART, 0, lengths[0], 2};
    pieces[1] = (struct dw_piece){DW_USE_PART, 1, lengths[1], 3};
    pieces[2] = (struct dw_piece){DW_USE_PART, 3, lengths[3], 1};
    pieces = add_pieces(&paper, 1, 1, 1, 2);
    pieces[0] = (struct dw_piece){DW_USE_PART, 1, lengths[1], 1};
    pieces[1] = (struct dw_piece){DW_USE_PART, 2, lengths[2], 1};
    pieces = add_pieces(&paper, 2, 2, 1, 1);
    pieces[0] = (struct dw_piece){DW_USE_PART, 4, lengths[4], 4};
    return settle(paper);
}

/* Mitres of 45 degrees at both ends of part 0, long points as told, and of 30 and none on part 1.
 */
static void mitre(struct dw_job *job)
{
    struct dw_drawn *drawn = must(dw_job_alloc(job, 3, sizeof *drawn));
    struct dw_takeoff *takeoff = must(dw_job_alloc(job, 3, sizeof *takeoff));
    struct dw_made_bend *bend = must(dw_job_alloc(job, 1, sizeof *bend));
    for (size_t i = 0; i < 3; i++) {
        drawn[i] = (struct dw_drawn){.kind = DW_DRAWN_CUT, .size = job->parts[i].min};
        drawn[i].ends[0] = drawn[i].ends[1] = (struct dw_drawn_end){.fitting = DW_NONE};
        takeoff[i].cut = job->parts[i].min;
        job->parts[i].drawn = &drawn[i];
        job->parts[i].takeoff = &takeoff[i];
    }
    for (size_t e = 0; e < 2; e++)
        drawn[0].ends[e] = (struct dw_drawn_end){
            .fitting = DW_NONE, .mitre_udeg = 45 * DW_UDEG, .point = DW_MITRE_SHORT};
    drawn[0].size -= 3 * IN;
    drawn[0].long_points = DW_POINTS_OPPOSITE_SIDES;
    drawn[1].ends[0].mitre_udeg = 22500000;
    drawn[1].ends[1].notch = true;
    *bend = (struct dw_made_bend){5 * IN, 6 * IN, 30 * DW_UDEG};
    drawn[2].kind = DW_DRAWN_BENT;
    takeoff[2].n_bends = 1;
    takeoff[2].bends = bend;
    takeoff[2].last_straight = 4 * IN;
}

struct paper_job paper_job_worked(void)
{
    struct paper_job paper = paper_job_small();
    struct dw_job *job = paper.job;
    mitre(job);
    job->parts[0].remark = "drill 6 mm from the long point before mitring, then wrap in paper: the "
                           "finish is seen from the front of the stage";
    job->parts[2].allowance = IN;
    job->parts[3].label =
        "Träger für das Becken, sehr langer Name, Seite links außen, oberhalb der "
        "Halterung für den Notenständer und das zweite Mikrofon";
    job->n_orders = 2;
    job->orders = must(dw_job_alloc(job, 2, sizeof *job->orders));
    job->orders[0] = (struct dw_order){.name = "Tenor rack",
                                       .client = "Carnival Traders of the Eastern Main Road",
                                       .due = "2026-12-18"};
    job->orders[1] = (struct dw_order){.name = "Spare", .due = "2027-01-09"};
    job->materials[0].name = "38.1 x 1.65 aluminium tube, mill finish, from the long rack by the "
                             "loading door, the pallet with the blue ends";
    job->supplies[1].bend = 8 * IN;
    job->supplies[1].tail_material = 0;
    job->supplies[1].trim = IN / 4;
    paper.plan->layouts[0].count = 40;
    if (dw_plan_sum(job, paper.plan, NULL) != DW_OK)
        abort();
    return paper;
}

struct paper_job paper_job_many(int64_t pieces, bool own_rows)
{
    size_t rows = own_rows ? (size_t)pieces : 1;
    struct paper_job paper = start(DW_UNIT_MM, rows, 1, 1);
    struct dw_piece *row = add_pieces(&paper, 0, 0, 1, rows);
    for (size_t i = 0; i < rows; i++)
        row[i] = (struct dw_piece){DW_USE_PART, i, 20 * MM, own_rows ? 1 : pieces};
    return settle(paper);
}

struct paper_job paper_job_bars(size_t bars)
{
    struct paper_job paper = start(DW_UNIT_MM, 5, 1, bars);
    for (size_t j = 0; j < bars; j++) {
        struct dw_piece *row = add_pieces(&paper, j, 0, 1, 5);
        for (size_t i = 0; i < 5; i++)
            row[i] = (struct dw_piece){DW_USE_PART, i, (2000 - 200 * (dw_length)i) * MM, 1};
    }
    return settle(paper);
}

struct paper_job paper_job_empty(void)
{
    return settle(start(DW_UNIT_MM, 0, 1, 0));
}

void paper_job_free(struct paper_job *paper)
{
    dw_plan_free(paper->plan);
    dw_job_free(paper->job);
}
