/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Shared by the files of dw_plan_check. Nothing here is used outside them, and they use nothing of
 * the model but its data: what a plan says is reckoned anew. */
#ifndef DW_MODEL_PLAN_CHECK_H
#define DW_MODEL_PLAN_CHECK_H

#include "base/base.h"
#include "model/check.h"
#include "model/model.h"

/* Sums of products of two checked 64-bit figures. */
__extension__ typedef __int128 dw_wide;

/* phi of one material. All new bars cap it at the ratio of the cheapest a length, since
 *   min_k floor(c_k r / L_k) = floor(r min_k c_k / L_k). */
struct dw_audit_phi {
    const struct dw_worth *worth;
    bool has_new;
    dw_money new_price;   /* of the new straight bar that is cheapest a length */
    dw_length new_length; /* its length */
};

/* One group, reckoned. Sums of money over its layouts and takes. */
struct dw_audit_group {
    dw_wide bars;
    dw_wide cuts; /* money */
    dw_wide kept;
    dw_wide posts;
    dw_wide charges;  /* of its suppliers, worth of bars for the shelf taken off */
    int64_t n_pieces; /* parts and posts wanted */
    size_t n_layouts;
    dw_wide proven; /* no plan of it costs less */
    bool settled;   /* see struct dw_group_proven */
};

/* What is ordered of one supplier that charges. */
struct dw_audit_charge {
    bool ordered;
    dw_wide goods, cuts, spare;
};

struct dw_audit {
    struct dw_check say; /* job and report */
    const struct dw_job *job;
    const struct dw_plan *plan;
    const struct dw_patience *patience; /* NULL: as long as it takes */
    struct dw_arena *arena;
    struct dw_audit_phi *phi;      /* length n_materials */
    size_t *group_of;              /* length n_materials: a group of the plan, DW_NONE: no group */
    struct dw_audit_group *groups; /* length plan->n_groups */
    int64_t *used;                 /* length n_supplies: bars cut */
    int64_t *made;                 /* length n_parts: pieces that count */
    /* Sums over all layouts, to be compared with plan->totals. */
    dw_wide in, in_parts, in_posts, in_kept, in_scrap, in_trim, in_chips;
    dw_wide n_bars, n_cuts, n_kept;
    dw_wide bars, taken;
    dw_wide charges, spare, charges_of_none; /* the last: of suppliers of no group */
};

/* A DW_WRONG remark. */
void dw_audit__wrong(struct dw_audit *audit, const char *format, ...)
    __attribute__((format(printf, 2, 3)));
size_t dw_audit__n_wrong(const struct dw_audit *audit);
/* Whether what takes long is to be given up. */
bool dw_audit__late(const struct dw_audit *audit);

/* Reckoned from the job. */
dw_length dw_audit__bar(const struct dw_supply *supply); /* measured or nominal */
int64_t dw_audit__squarings(const struct dw_supply *supply);
dw_length dw_audit__usable(const struct dw_supply *supply); /* U */
dw_money dw_audit__lowest(const struct dw_supply *supply);  /* c_k */
size_t dw_audit__tail(const struct dw_supply *supply);      /* material of the leftover */
/* What no piece reaches into: the grip, or what a bar may lack of its nominal length. */
dw_length dw_audit__held(const struct dw_audit *audit, const struct dw_supply *supply);
dw_money dw_audit__handling(const struct dw_audit *audit, const struct dw_supply *supply); /* h_k */
int64_t dw_audit__count(const struct dw_supply *supply); /* whole packs only; or DW_UNLIMITED */
bool dw_audit__accepts(const struct dw_part *part, size_t material);
bool dw_audit__middling(const struct dw_audit *audit, size_t material, dw_length leftover);

void dw_audit__phi_prepare(struct dw_audit *audit);
dw_money dw_audit__phi(const struct dw_audit *audit, size_t material, dw_length leftover);
/* u_k of struct dw_certificate */
int64_t dw_audit__bars_at_most(const struct dw_audit *audit, size_t group,
                               const struct dw_supply *supply);
dw_money dw_audit__grid(const struct dw_audit *audit, size_t group);
size_t dw_audit__group_of_supply(const struct dw_audit *audit, const struct dw_supply *supply);
/* Index of the supplier that charges for a new bar; DW_NONE: none does. */
size_t dw_audit__charger(const struct dw_audit *audit, const struct dw_supply *supply);
size_t dw_audit__group_of_part(const struct dw_audit *audit, const struct dw_part *part);

/* The stages, in order. Each presumes that those before found nothing wrong, save where said. */
void dw_audit__groups(struct dw_audit *audit);  /* the partition */
void dw_audit__layouts(struct dw_audit *audit); /* each bar, and the order of bars */
void dw_audit__counts(struct dw_audit *audit);  /* demand, supply, cap */
void dw_audit__money(struct dw_audit *audit);   /* takes and totals */
void dw_audit__charges(struct dw_audit *audit); /* called by dw_audit__money */
void dw_audit__status(struct dw_audit *audit);  /* values, statuses, shortages */
void dw_audit__bounds(struct dw_audit *audit);  /* what the duals prove */

/* --- one bar ---------------------------------------------------------------------------------- */

/* A kind of piece on the bar: at most `copies`, each earns `value` (its own cut paid). */
struct dw_bar_item {
    dw_length min;
    dw_length max;
    int64_t value;
    int64_t copies;
};

/* The first two are bounds from above. */
enum dw_bar_depth {
    DW_BAR_OUTLINE, /* all of the room at the steepest value a length */
    DW_BAR_MERGED,  /* longer pieces of equal value are one kind */
    DW_BAR_EXACT,
};

/* How a bar ends, in the values' unit. */
struct dw_bar {
    enum dw_bar_depth depth;
    dw_length usable;
    dw_length kerf;
    dw_length grip;
    int64_t exact; /* earned when nothing is left: the last cut's money */
    int64_t scale; /* of phi */
    bool no_middling;
    int64_t most; /* pieces, a first one that counts included; 0: any number */
    size_t leftover_material;
    /* What lies on the bar before the items: a bent part or the bend end; 0 on a straight bar. */
    dw_length first_min;
    dw_length first_max;
    int64_t first_value;
    bool first_counts; /* it is a part or post: the bar may end with it alone */
};

/* Working memory, reused from bar to bar. Zero-initialise; set `most` states, or 0 for the usual
 * DW_BAR_STATES. */
struct dw_bar_state;
struct dw_bar_room {
    struct dw_bar_state *from;
    struct dw_bar_state *to;
    size_t capacity_from;
    size_t capacity_to;
    size_t most;
};
void dw_bar__free(struct dw_bar_room *room);

/* max(*best, the greatest value of a layout of the bar), where a layout has a part or post, into
 * *best; or a bound of it, where depth says so. With more than `most` states neighbours are joined,
 * each taken at the better of both: *best is then an upper bound. items[n] is reordered. Once it is
 * late *best is nothing.
 * DW_ERR_NOMEM, or DW_ERR_RANGE when values pass 64 bits.
 * Cost: O(states x items log copies), states <= distinct sums of lengths and <= most. */
#define DW_BAR_STATES ((size_t)1 << 21)
dw_err dw_bar__best(const struct dw_audit *audit, const struct dw_bar *bar,
                    struct dw_bar_item *items, size_t n, struct dw_bar_room *room, int64_t *best);

#endif
