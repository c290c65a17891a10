/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A plan as tables: bars, pieces with their marks, what is taken, money. */
#include "job/leaf.h"
#include "job/several.h"

#include "model/caution.h"
#include "model/saw.h"

#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#define LAYOUT(name) .of = &dw_layout__members, .member = (name)
#define SUPPLY(name) .of = &dw_supply__members, .member = (name)
#define PIECE(name)  .of = &dw_piece__members, .member = (name)
#define MARK(name)   .of = &dw_mark__members, .member = (name)
#define SAW(name)    .of = &dw_saw_piece__members, .member = (name)
#define TAKE(name)   .of = &dw_take__members, .member = (name)

/* --- bars ------------------------------------------------------------------------------------- */

static const struct dw_leaf_column bar_columns[] = {
    {LAYOUT("bar"), .title = "bar", .width = 6},
    {.title = "last alike", .width = 9},
    {LAYOUT("count"), .title = "bars", .width = 6, .as = DW_LEAF_SUM},
    {LAYOUT("supply"), .title = "supply", .width = 18, .as = DW_LEAF_WORD},
    {SUPPLY("material"), .title = "material", .width = 14, .as = DW_LEAF_NOTE},
    {SUPPLY("source"), .title = "source", .width = 9},
    {SUPPLY("length"), .title = "length", .width = 11},
    {SUPPLY("place"), .title = "place", .width = 12},
    {.title = "pieces a bar", .width = 11},
    {LAYOUT("leftover"), .title = "left", .width = 10},
    {LAYOUT("rest"), .title = "becomes", .width = 9},
};

static void fill_bars(struct dw_tables *to, const struct dw_plan *plan)
{
    struct dw_leaf leaf;
    struct dw_care care = {0};
    dw_care__plan(&care, to->job, plan);
    dw_leaf__begin(&leaf, to, "bars", bar_columns, DW_COUNT(bar_columns));
    for (size_t i = 0; i < plan->n_layouts && !to->failed; i++) {
        const struct dw_layout *layout = &plan->layouts[i];
        dw_leaf__row(&leaf);
        dw_leaf__put(&leaf, &dw_layout__members, layout);
        dw_leaf__put(&leaf, &dw_supply__members, &to->job->supplies[layout->supply]);
        dw_leaf__count(&leaf, "last alike", layout->bar + layout->count - 1);
        dw_leaf__count(&leaf, "pieces a bar", (int64_t)dw_layout_n_marks(layout));
    }
    dw_leaf__sums(&leaf, "total");
    dw_leaf__cautions(&leaf, &care, DW_AT_SAW);
    dw_leaf__end(&leaf);
}

/* --- pieces ----------------------------------------------------------------------------------- */

static const struct dw_leaf_column piece_columns[] = {
    {LAYOUT("bar"), .title = "bar", .width = 6},
    {LAYOUT("count"), .title = "bars", .width = 6, .as = DW_LEAF_SUM},
    {LAYOUT("supply"), .title = "supply", .width = 12},
    {.title = "piece", .width = 6},
    {.title = "of", .width = 5},
    {PIECE("use"), .title = "use", .width = 9},
    {PIECE("part"), .title = "part", .width = 16, .as = DW_LEAF_NOTE},
    {MARK("stop"), .title = "stop", .width = 11},
    {MARK("running"), .title = "running mark", .width = 12},
    {SAW("job"), .title = "job", .width = 10},
    {SAW("client"), .title = "client", .width = 12},
    {SAW("due"), .title = "due", .width = 11, .as = DW_LEAF_DATE},
    {SAW("section"), .title = "section", .width = 9},
    {SAW("measure first"), .title = "measure first", .width = 9},
    {.title = "work", .width = 30},
    {SAW("remark"), .title = "remark", .width = 14},
};

/* What is worked on a piece after the square cut; NULL: nothing. */
static const char *work_of(struct dw_tables *to, const struct dw_saw_piece *saw)
{
    const struct dw_length_style style = dw_job__style(to->job);
    struct dw_buf text = {0};
    dw_saw__work(&text, saw, &style);
    bool any = text.n > 0;
    char *own = dw_buf__take(&text);
    const char *out = own && any ? dw_arena__text(to->arena, own) : NULL;
    to->failed = to->failed || !own || (any && !out);
    free(own);
    return out;
}

/* One row a mark. */
static void fill_layout(struct dw_leaf *leaf, const struct dw_layout *layout, struct dw_mark *marks,
                        struct dw_saw_piece *saw)
{
    struct dw_tables *to = leaf->to;
    size_t n = dw_layout_n_marks(layout);
    dw_layout_marks(to->job, layout, marks);
    dw_layout_saw(to->job, layout, saw);
    for (size_t i = 0; i < n && !to->failed; i++) {
        const struct dw_piece *piece = &layout->pieces[marks[i].piece];
        const struct dw_saw_piece *of = &saw[marks[i].piece];
        dw_leaf__row(leaf);
        dw_leaf__put(leaf, &dw_layout__members, layout);
        dw_leaf__put(leaf, &dw_piece__members, piece);
        dw_leaf__put(leaf, &dw_mark__members, &marks[i]);
        dw_leaf__put(leaf, &dw_saw_piece__members, of);
        dw_leaf__count(leaf, "piece", (int64_t)i + 1);
        dw_leaf__count(leaf, "of", (int64_t)n);
        dw_leaf__text(leaf, "work", work_of(to, of));
    }
}

static void fill_pieces(struct dw_tables *to, const struct dw_plan *plan)
{
    struct dw_leaf leaf;
    dw_leaf__begin(&leaf, to, "pieces", piece_columns, DW_COUNT(piece_columns));
    for (size_t i = 0; i < plan->n_layouts && !to->failed; i++) {
        const struct dw_layout *layout = &plan->layouts[i];
        struct dw_mark *marks = calloc(dw_layout_n_marks(layout) + 1, sizeof *marks);
        struct dw_saw_piece *saw = calloc(layout->n_pieces + 1, sizeof *saw);
        if (marks && saw)
            fill_layout(&leaf, layout, marks, saw);
        else
            to->failed = true;
        free(marks);
        free(saw);
    }
    dw_leaf__sums(&leaf, "pieces, all bars");
    dw_leaf__end(&leaf);
}

/* --- what is taken, and money ------------------------------------------------------------------
 */

static const struct dw_leaf_column take_columns[] = {
    {TAKE("supply"), .title = "supply", .width = 18, .as = DW_LEAF_NOTE},
    {SUPPLY("material"), .title = "material", .width = 16},
    {SUPPLY("source"), .title = "source", .width = 9},
    {SUPPLY("supplier"), .title = "supplier", .width = 18},
    {SUPPLY("length"), .title = "length", .width = 11},
    {TAKE("used"), .title = "cut", .width = 7, .as = DW_LEAF_SUM},
    {TAKE("bought"), .title = "taken or bought", .width = 14, .as = DW_LEAF_SUM},
    {TAKE("money"), .title = "money", .width = 12, .as = DW_LEAF_SUM},
    {.title = "currency", .width = 9, .as = DW_LEAF_SAME},
};

static void fill_takes(struct dw_tables *to, const struct dw_plan *plan)
{
    struct dw_leaf leaf;
    dw_leaf__begin(&leaf, to, "take", take_columns, DW_COUNT(take_columns));
    for (size_t i = 0; i < plan->n_takes && !to->failed; i++) {
        dw_leaf__row(&leaf);
        dw_leaf__put(&leaf, &dw_take__members, &plan->takes[i]);
        dw_leaf__put(&leaf, &dw_supply__members, &to->job->supplies[plan->takes[i].supply]);
        dw_leaf__text(&leaf, "currency", to->job->currency);
    }
    dw_leaf__sums(&leaf, "total");
    dw_leaf__end(&leaf);
}

static const struct dw_leaf_column money_columns[] = {
    {.title = "what", .width = 44, .as = DW_LEAF_NOTE},
    {.title = "money", .width = 14, .as = DW_LEAF_SUM},
    {.title = "currency", .width = 9, .as = DW_LEAF_SAME},
};

static void fill_money(struct dw_tables *to, const struct dw_plan *plan)
{
    const struct dw_totals *totals = &plan->totals;
    const struct {
        const char *what;
        dw_money money;
    } rows[] = {{"bars bought", totals->bars},
                {"suppliers' charges", totals->charges},
                {"shelf bars and offcuts, as counted", totals->taken},
                {"cuts", totals->cuts},
                {"worth of offcuts kept", -totals->kept},
                {"worth of posts made", -totals->posts},
                {"worth of bars bought for the shelf", -totals->spare}};
    struct dw_leaf leaf;
    dw_leaf__begin(&leaf, to, "money", money_columns, DW_COUNT(money_columns));
    for (size_t i = 0; i < DW_COUNT(rows); i++) {
        dw_leaf__row(&leaf);
        dw_leaf__text(&leaf, "what", rows[i].what);
        dw_leaf__money(&leaf, "money", rows[i].money);
        dw_leaf__text(&leaf, "currency", to->job->currency);
    }
    dw_leaf__sums(&leaf, "the plan");
    dw_leaf__end(&leaf);
}

char *dw_tables__plan_there(const char *path)
{
    static const char *const names[] = {"bars", "pieces", "take", "money"};
    struct stat there;
    bool csv = strcmp(dw_tables__form_of(path), "csv") == 0;
    for (size_t i = 0; i < (csv ? DW_COUNT(names) : 1); i++) {
        char *name = dw_several__name(path, csv ? names[i] : NULL);
        if (name && lstat(name, &there) == 0)
            return name;
        free(name);
    }
    return NULL;
}

dw_err dw_tables__plan(const struct dw_job *job, const struct dw_plan *plan,
                       const struct dw_table_wish *wish, struct dw_tables *out,
                       struct dw_error *error)
{
    dw_err err = dw_tables__begin(out, job, wish, error);
    if (err)
        return err;
    fill_bars(out, plan);
    fill_pieces(out, plan);
    fill_takes(out, plan);
    fill_money(out, plan);
    return dw_tables__end(out, error);
}
