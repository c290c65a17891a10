/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Random jobs and plans for the shop. */
#include "tests/support/shop_plan.h"

#include <string.h>

const struct dw_material shop_tubes[SHOP_TUBES] = {
    {.id = "S48", .od = 48300000, .wall = 3200000, .worth = {.keep = 300 * MM}},
    {.id = "A38", .od = 38100000, .wall = 1650000, .worth = {.keep = 300 * MM}},
};

dw_length shop_length(struct shop *shop, dw_length least_mm, dw_length most_mm)
{
    return (least_mm * 1000 + (dw_length)shop_draw(shop, (uint64_t)(most_mm - least_mm) * 1000)) *
           1000;
}

/* Cuts as many pieces of one random length from bar k as its length and a whim allow. */
static bool draw_layout(struct shop *shop, const struct dw_job *job, size_t k,
                        struct dw_piece *pieces, struct dw_layout *layout)
{
    dw_length usable = dw_supply_usable(&job->supplies[k]), used = 0;
    size_t n = 0;
    for (size_t wish = 1 + shop_draw(shop, 3); wish > 0; wish--) {
        dw_length length = shop_length(shop, 80, 900);
        int64_t count = 1 + (int64_t)shop_draw(shop, 3);
        dw_length need = count * (length + job->saw.kerf);
        if (used + need - job->saw.kerf > usable)
            break;
        used += need;
        pieces[n++] = (struct dw_piece){
            .use = (enum dw_use)shop_draw(shop, 3), .length = length, .count = count};
    }
    dw_length left = usable > used ? usable - used : 0;
    *layout = (struct dw_layout){.supply = k,
                                 .count = 1,
                                 .n_pieces = n,
                                 .pieces = pieces,
                                 .leftover = left,
                                 .rest = left == 0          ? DW_REST_NONE
                                         : left >= 300 * MM ? DW_REST_KEPT
                                                            : DW_REST_SCRAP};
    return n > 0;
}

void shop_fill_job(struct shop *shop, struct dw_job *job, const struct dw_stock_list *list)
{
    static const size_t any[] = {0, 1};
    static const char *const names[] = {"6 m, long rack", "6 m, yard", "6 m", "6 m, tied"};
    job->name = "stand";
    job->saw.kerf = 2 * MM;
    job->n_materials = 2;
    job->materials = dw_job_alloc(job, 2, sizeof *job->materials);
    memcpy(job->materials, shop_tubes, sizeof shop_tubes);
    job->n_parts = 1;
    job->parts = dw_job_alloc(job, 1, sizeof *job->parts);
    job->parts[0] =
        (struct dw_part){.label = "leg", .count = 1, .n_materials = 2, .materials = any};
    job->supplies = dw_job_alloc(job, 4, sizeof *job->supplies);
    size_t from = list->n ? shop_draw(shop, list->n) : 0;
    for (size_t k = 0; k < 4; k++) {
        const struct dw_stock *stock =
            k < 2 && k < list->n ? &list->rows[(from + k) % list->n] : NULL;
        struct dw_supply *supply = &job->supplies[job->n_supplies++];
        *supply = (struct dw_supply){.id = stock ? stock->number : names[k],
                                     .material = stock && strcmp(stock->material, "A38") == 0,
                                     .source = stock ? DW_SOURCE_OFFCUT : DW_SOURCE_NEW,
                                     .length = stock ? stock->length : 6000 * MM,
                                     .measured = stock ? stock->measured : 0,
                                     .count = stock ? 1 : DW_UNLIMITED,
                                     .pack = stock || k < 3 ? 1 : 3,
                                     .trim = shop_draw(shop, 2) ? 5 * MM : 0,
                                     .tail_material = DW_NONE};
    }
}

/* Whole packs, and now and then a pack more for its price. A new bar is cut up to twice. */
static void fill_takes(struct shop *shop, const struct dw_job *job, struct dw_plan *plan)
{
    plan->takes = dw_plan_alloc(plan, plan->n_layouts + 1, sizeof *plan->takes);
    for (size_t i = 0; i < plan->n_layouts; i++) {
        struct dw_layout *layout = &plan->layouts[i];
        const struct dw_supply *supply = &job->supplies[layout->supply];
        if (supply->source != DW_SOURCE_NEW)
            continue;
        layout->count = 1 + (int64_t)shop_draw(shop, 2);
        int64_t bought = supply->pack * (int64_t)(1 + shop_draw(shop, 2));
        plan->takes[plan->n_takes++] = (struct dw_take){
            .supply = layout->supply,
            .used = layout->count,
            .bought = bought < layout->count ? layout->count : bought,
            .money = 20 * DW_MONEY_ONE,
        };
    }
}

void shop_fill_plan(struct shop *shop, const struct dw_job *job, struct dw_plan *plan)
{
    plan->layouts = dw_plan_alloc(plan, 4, sizeof *plan->layouts);
    struct dw_piece *pieces = dw_plan_alloc(plan, 12, sizeof *pieces);
    for (size_t k = shop_draw(shop, 2); k < 2 + shop_draw(shop, 3) && k < 4; k++)
        if (draw_layout(shop, job, k, pieces + 3 * k, &plan->layouts[plan->n_layouts]))
            plan->n_layouts++;
    fill_takes(shop, job, plan);
}
