/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The take-off as tables: cut lengths, the steps to them, fittings, sections. */
#include "job/leaf.h"

#include "model/caution.h"

#define PART(name)    .of = &dw_drawn_part__members, .member = (name)
#define STEP(name)    .of = &dw_drawn_step__members, .member = (name)
#define FITTING(name) .of = &dw_drawn_fitting__members, .member = (name)
#define SECTION(name) .of = &dw_drawn_section__members, .member = (name)

static const struct dw_leaf_column part_columns[] = {
    {PART("label"), .title = "part", .width = 26, .as = DW_LEAF_NOTE},
    {PART("count"), .title = "count", .width = 8, .as = DW_LEAF_SUM},
    {PART("cut"), .title = "cut", .width = 12},
    {PART("rounded"), .title = "rounded", .width = 10},
    {PART("allowance"), .title = "allowance", .width = 14},
};

static const struct dw_leaf_column step_columns[] = {
    {PART("label"), .title = "part", .width = 26},
    {.title = "step", .width = 6},
    {STEP("amount"), .title = "amount", .width = 12},
    {STEP("text"), .title = "what", .width = 44},
    {STEP("rounded"), .title = "rounded", .width = 10},
};

static const struct dw_leaf_column fitting_columns[] = {
    {FITTING("job"), .title = "job", .width = 18},
    {FITTING("fitting"), .title = "fitting", .width = 16, .as = DW_LEAF_NOTE},
    {FITTING("name"), .title = "name", .width = 34},
    {FITTING("count"), .title = "count", .width = 8, .as = DW_LEAF_SUM},
};

static const struct dw_leaf_column section_columns[] = {
    {SECTION("section"), .title = "section", .width = 20, .as = DW_LEAF_NOTE},
    {SECTION("pieces"), .title = "pieces", .width = 8, .as = DW_LEAF_SUM},
    {SECTION("longest"), .title = "longest", .width = 12},
    {SECTION("weight_mg"), .title = "weight", .width = 12, .as = DW_LEAF_SUM},
};

/* Two sheets: the parts, and how each came about. */
static void fill_parts(struct dw_tables *to, const struct dw_drawn_sheet *drawn)
{
    struct dw_leaf parts, steps;
    dw_leaf__begin(&parts, to, "parts", part_columns, DW_COUNT(part_columns));
    dw_leaf__begin(&steps, to, "steps", step_columns, DW_COUNT(step_columns));
    for (size_t i = 0; i < drawn->n_parts && !to->failed; i++) {
        const struct dw_drawn_part *part = &drawn->parts[i];
        dw_leaf__row(&parts);
        dw_leaf__put(&parts, &dw_drawn_part__members, part);
        for (size_t k = 0; k < part->n_steps; k++) {
            dw_leaf__row(&steps);
            dw_leaf__put(&steps, &dw_drawn_part__members, part);
            dw_leaf__put(&steps, &dw_drawn_step__members, &part->steps[k]);
            dw_leaf__count(&steps, "step", (int64_t)k + 1);
        }
    }
    dw_leaf__sums(&parts, "total");
    dw_leaf__cautions(&parts, &(const struct dw_care){0}, DW_AT_DRAWN);
    dw_leaf__end(&parts);
    dw_leaf__end(&steps);
}

static void fill_fittings(struct dw_tables *to, const struct dw_drawn_sheet *drawn)
{
    struct dw_leaf leaf;
    dw_leaf__begin(&leaf, to, "fittings", fitting_columns, DW_COUNT(fitting_columns));
    for (size_t i = 0; i < drawn->n_fittings && !to->failed; i++) {
        dw_leaf__row(&leaf);
        dw_leaf__put(&leaf, &dw_drawn_fitting__members, &drawn->fittings[i]);
    }
    dw_leaf__sums(&leaf, "total");
    dw_leaf__end(&leaf);
}

/* With what is over a limit, or not to be judged, in its words below. */
static void fill_sections(struct dw_tables *to, const struct dw_drawn_sheet *drawn)
{
    struct dw_leaf leaf;
    dw_leaf__begin(&leaf, to, "sections", section_columns, DW_COUNT(section_columns));
    for (size_t i = 0; i < drawn->n_sections && !to->failed; i++) {
        dw_leaf__row(&leaf);
        dw_leaf__put(&leaf, &dw_drawn_section__members, &drawn->sections[i]);
    }
    dw_leaf__sums(&leaf, "total");
    for (size_t i = 0; i < drawn->n_sections; i++)
        if (drawn->sections[i].weight_mg < 0)
            dw_leaf__no_sum(&leaf, "weight");
    for (size_t i = 0; i < drawn->limits->n_breaches && !to->failed; i++)
        dw_leaf__note(&leaf, NULL, drawn->limits->breaches[i].text);
    dw_leaf__end(&leaf);
}

dw_err dw_tables__takeoff(const struct dw_job *job, const struct dw_drawn_sheet *drawn,
                          const struct dw_table_wish *wish, struct dw_tables *out,
                          struct dw_error *error)
{
    dw_err err = dw_tables__begin(out, job, wish, error);
    if (err)
        return err;
    fill_parts(out, drawn);
    fill_fittings(out, drawn);
    fill_sections(out, drawn);
    return dw_tables__end(out, error);
}
