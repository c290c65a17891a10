/* SPDX-License-Identifier: GPL-3.0-or-later */
/* dw_plan_check: each bar by itself, and the order of bars. */
#include "model/plan_check.h"

/* One bar while its pieces are gone through. */
struct bar {
    size_t number; /* of the layout, from 1, for remarks */
    const struct dw_layout *layout;
    const struct dw_supply *supply;
    dw_wide pieces; /* sum p */
    dw_wide n;
    dw_wide n_handled; /* without the bend end */
    bool useful;       /* holds a part or a post */
    bool measure;      /* holds a measure-first piece ... */
    bool measure_tail; /* ... that is not the bent one */
};

static dw_length narrow(dw_wide length)
{
    return length > DW_LENGTH_MAX ? DW_LENGTH_MAX : (dw_length)length;
}

static void check_bend_end(struct dw_audit *audit, const struct bar *bar, size_t i)
{
    const struct dw_piece *piece = &bar->layout->pieces[i];
    if (bar->supply->bend == 0)
        dw_audit__wrong(audit, "layout %zu: %s has no bend end", bar->number, bar->supply->id);
    else if (i != 0 || piece->count != 1)
        dw_audit__wrong(audit, "layout %zu: the one bend end comes first", bar->number);
    else if (piece->length != bar->supply->bend)
        dw_audit__wrong(audit, "layout %zu: the bend end is %s long, stated as %s", bar->number,
                        dw_check__length(&audit->say, bar->supply->bend).text,
                        dw_check__length(&audit->say, piece->length).text);
}

static void check_use(struct dw_audit *audit, const struct bar *bar, const struct dw_piece *piece)
{
    const struct dw_part *part = &audit->job->parts[piece->part];
    if ((piece->use == DW_USE_POST) != part->post)
        dw_audit__wrong(audit, "layout %zu: %s is made for another use than the job gives it",
                        bar->number, part->label);
    if (piece->use == DW_USE_SURPLUS && audit->job->rules.no_middling)
        dw_audit__wrong(audit, "layout %zu: %s is surplus, which no middling leftovers excludes",
                        bar->number, part->label);
    if (piece->length < part->min || piece->length > part->max)
        dw_audit__wrong(audit, "layout %zu: %s is cut %s long; %s to %s is wanted", bar->number,
                        part->label, dw_check__length(&audit->say, piece->length).text,
                        dw_check__length(&audit->say, part->min).text,
                        dw_check__length(&audit->say, part->max).text);
}

static void check_material(struct dw_audit *audit, const struct bar *bar, size_t i)
{
    const struct dw_supply *supply = bar->supply;
    const struct dw_piece *piece = &bar->layout->pieces[i];
    const struct dw_part *part = &audit->job->parts[piece->part];
    bool bent = supply->bend > 0 && i == 0;
    size_t material = bent ? supply->material : dw_audit__tail(supply);
    if (!dw_audit__accepts(part, material))
        dw_audit__wrong(audit, "layout %zu: %s can't be of %s", bar->number, part->label,
                        audit->job->materials[material].id);
    if (bent && piece->use == DW_USE_SURPLUS)
        dw_audit__wrong(audit,
                        "layout %zu: the bent %s is surplus; the bend end is cut off instead",
                        bar->number, part->label);
    if (bent && (piece->count != 1 || piece->length < supply->bend))
        dw_audit__wrong(audit, "layout %zu: the bent %s comes once and keeps the bend of %s",
                        bar->number, part->label, dw_check__length(&audit->say, supply->bend).text);
}

static void check_piece(struct dw_audit *audit, struct bar *bar, size_t i)
{
    const struct dw_piece *piece = &bar->layout->pieces[i];
    bar->pieces += (dw_wide)piece->length * piece->count;
    bar->n += piece->count;
    if (piece->use == DW_USE_BEND_END) {
        check_bend_end(audit, bar, i);
        return;
    }
    bar->n_handled += piece->count;
    check_use(audit, bar, piece);
    check_material(audit, bar, i);
    bar->useful |= piece->use != DW_USE_SURPLUS;
    bool measure = audit->job->parts[piece->part].measure_first;
    bool bent = bar->supply->bend > 0 && i == 0;
    if (bar->measure_tail && !measure)
        dw_audit__wrong(audit, "layout %zu: %s comes behind a piece that is measured first",
                        bar->number, audit->job->parts[piece->part].label);
    bar->measure |= measure;
    bar->measure_tail |= measure && !bent;
}

static void check_rest(struct dw_audit *audit, const struct bar *bar, dw_wide leftover)
{
    const struct dw_layout *layout = bar->layout;
    size_t material = dw_audit__tail(bar->supply);
    if (layout->leftover != leftover) {
        dw_audit__wrong(audit, "layout %zu: %s is stated to be left, reckoned %s", bar->number,
                        dw_check__length(&audit->say, layout->leftover).text,
                        dw_check__length(&audit->say, (dw_length)leftover).text);
        return;
    }
    if (dw_audit__middling(audit, material, layout->leftover))
        dw_audit__wrong(audit, "layout %zu: a leftover of %s is middling, which the job excludes",
                        bar->number, dw_check__length(&audit->say, layout->leftover).text);
    bool keepable = layout->leftover >= audit->job->materials[material].worth.keep;
    enum dw_rest rest = leftover == 0 ? DW_REST_NONE : keepable ? DW_REST_KEPT : DW_REST_SCRAP;
    bool capped = audit->job->rules.max_new_offcuts != DW_UNLIMITED;
    if (layout->rest != rest && !(keepable && capped && layout->rest == DW_REST_SCRAP))
        dw_audit__wrong(audit, "layout %zu: what becomes of the %s left is stated wrongly",
                        bar->number, dw_check__length(&audit->say, layout->leftover).text);
}

/* Sums that the bar adds, `count` times over. */
static void add_bar(struct dw_audit *audit, const struct bar *bar, dw_wide rem)
{
    const struct dw_layout *layout = bar->layout;
    const struct dw_supply *supply = bar->supply;
    struct dw_audit_group *group = &audit->groups[layout->group];
    dw_length kerf = audit->job->saw.kerf;
    dw_wide count = layout->count;
    dw_wide cuts = bar->n - (rem == 0) + dw_audit__squarings(supply);
    dw_wide chips = kerf * (bar->n - 1) + (rem < kerf ? rem : kerf);
    audit->n_bars += count;
    audit->n_cuts += cuts * count;
    audit->in += dw_audit__bar(supply) * count;
    audit->in_trim += (dw_audit__bar(supply) - dw_audit__usable(supply)) * count;
    audit->in_chips += chips * count;
    group->cuts += (cuts * audit->job->saw.cut_cost + dw_audit__handling(audit, supply)) * count;
    group->n_layouts++;
    audit->used[layout->supply] += layout->count;
    if (layout->rest == DW_REST_KEPT) {
        audit->n_kept += count;
        audit->in_kept += layout->leftover * count;
        group->kept += dw_audit__phi(audit, dw_audit__tail(supply), layout->leftover) * count;
    } else {
        audit->in_scrap += layout->leftover * count;
    }
}

static void add_pieces(struct dw_audit *audit, const struct dw_layout *layout)
{
    for (size_t i = 0; i < layout->n_pieces; i++) {
        const struct dw_piece *piece = &layout->pieces[i];
        dw_wide pieces = (dw_wide)piece->count * layout->count;
        if (piece->use == DW_USE_PART)
            audit->in_parts += piece->length * pieces;
        else if (piece->use == DW_USE_POST)
            audit->in_posts += piece->length * pieces;
        else
            audit->in_scrap += piece->length * pieces;
        if (piece->use != DW_USE_PART && piece->use != DW_USE_POST)
            continue;
        dw_wide made = audit->made[piece->part] + pieces;
        audit->made[piece->part] = made > INT64_MAX ? INT64_MAX : (int64_t)made;
        if (piece->use == DW_USE_POST)
            audit->groups[layout->group].posts += audit->job->parts[piece->part].worth * pieces;
    }
}

static void check_layout(struct dw_audit *audit, size_t i, bool *measure)
{
    const struct dw_layout *layout = &audit->plan->layouts[i];
    const struct dw_supply *supply = &audit->job->supplies[layout->supply];
    const struct dw_saw *saw = &audit->job->saw;
    struct bar bar = {.number = i + 1, .layout = layout, .supply = supply};
    if (dw_audit__group_of_supply(audit, supply) != layout->group)
        dw_audit__wrong(audit, "layout %zu: %s belongs to another group", bar.number, supply->id);
    for (size_t j = 0; j < layout->n_pieces; j++)
        check_piece(audit, &bar, j);
    if (!bar.useful)
        dw_audit__wrong(audit, "layout %zu gives no part and no post", bar.number);
    if (audit->job->rules.most_pieces != DW_UNLIMITED &&
        bar.n_handled > audit->job->rules.most_pieces)
        dw_audit__wrong(audit, "layout %zu has more pieces than the %lld that a bar may give",
                        bar.number, (long long)audit->job->rules.most_pieces);
    if (*measure && !bar.measure)
        dw_audit__wrong(audit, "layout %zu comes behind one with pieces measured first",
                        bar.number);
    *measure |= bar.measure;
    dw_wide rem = dw_audit__usable(supply) - bar.pieces - saw->kerf * (bar.n - 1);
    dw_length tail = dw_audit__held(audit, supply);
    dw_wide held = tail > 0 ? (dw_wide)saw->kerf + tail : 0;
    if (rem < held) {
        dw_audit__wrong(audit, "layout %zu does not fit %s by %s", bar.number, supply->id,
                        dw_check__length(&audit->say, narrow(held - rem)).text);
        return;
    }
    check_rest(audit, &bar, rem > saw->kerf ? rem - saw->kerf : 0);
    add_bar(audit, &bar, rem);
    add_pieces(audit, layout);
}

void dw_audit__layouts(struct dw_audit *audit)
{
    bool measure = false;
    dw_wide next = 1; /* number of the bar that comes now */
    for (size_t i = 0; i < audit->plan->n_layouts; i++) {
        const struct dw_layout *layout = &audit->plan->layouts[i];
        if (layout->bar != next)
            dw_audit__wrong(audit, "layout %zu begins with bar %lld, stated as bar %lld", i + 1,
                            (long long)next, (long long)layout->bar);
        next += layout->count;
        check_layout(audit, i, &measure);
    }
}
