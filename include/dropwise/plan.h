/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A plan: which bars are cut into which pieces, what it costs, and the proof of how good it is.
 *
 * One bar with usable length U and kerf w, cut into pieces p_1..p_n (n >= 1, in cutting order from
 * the datum end; for an end-bent bar p_1 is the bent part or the bend end):
 *
 *   S = sum p + w (n - 1),  rem = U - S >= 0           it fits
 *   rem = 0   n - 1 cuts, nothing is left
 *   rem > 0   n cuts, chips of the last one min(w, rem), leftover r = max(0, rem - w)
 *   tail g>0  rem >= w + g is required: what the grip holds, or what the bar may lack of its
 *             nominal length, can't become a piece (dw_supply_tail)
 *
 * Beside the bend end there are no more pieces than rules.most_pieces.
 *
 * At least one piece is a part or a post: no bar is cut for its leftover alone, which would shorten
 * cheap offcuts in order to keep them. A surplus piece never makes a plan cheaper, since phi does
 * not decrease and the cut that frees it costs nothing or more. It is not allowed where that does
 * not hold: as the bent part, in place of a shorter bend end, and with rules.no_middling, where it
 * could cut a middling leftover up. In a layout the pieces of measure-first parts and posts come
 * last, save a bent one, and the layouts that have such pieces come last in the plan.
 *
 * Cuts of the bar = the above + squaring cuts. Lengths of a bar balance exactly:
 *   bar = trims + pieces + chips + leftover.
 *
 * Money of a plan = bars bought, whole packs and price breaks counted (struct dw_take)
 *                 + what the suppliers charge beside their goods (struct dw_charge)
 *                 + what is counted for the shelf bars and offcuts used
 *                 + cuts * cut_cost + what taking up each bar costs (dw_supply_handling)
 *                 - phi of the leftovers kept - worth of the posts made
 *                 - worth of the bars bought for the shelf (struct dw_charge).
 * So it has all that the order comes to but the fittings, whose price no plan changes; they count
 * in the sums that charges depend on. The order repeats these figures, and reckons none of them. It
 * is what the plan weighs; what was paid for pieces of the shelf is dw_take_paid.
 *
 * Threads: any; job and plan are only read and may be shared. The verifier starts no thread. */
#ifndef DROPWISE_PLAN_H
#define DROPWISE_PLAN_H

#include <dropwise/job.h>

#ifdef __cplusplus
extern "C" {
#endif

/* X(name, word), the words of the plan document: see DW_SOURCE_LIST. */
#define DW_USE_LIST(X)                                                                             \
    X(DW_USE_PART, "part")         /* counts towards the part's demand */                          \
    X(DW_USE_POST, "post")         /* earns the post's worth */                                    \
    X(DW_USE_SURPLUS, "surplus")   /* a part's length cut beyond its demand: no worth */           \
    X(DW_USE_BEND_END, "bend end") /* bend of an end-bent bar that gives no bent part: scrap */

enum dw_use {
#define DW_USE_ENUM(name, word) name,
    DW_USE_LIST(DW_USE_ENUM)
#undef DW_USE_ENUM
};
const char *dw_use_word(enum dw_use use);

struct dw_piece {
    enum dw_use use;
    size_t part;      /* DW_NONE for DW_USE_BEND_END */
    dw_length length; /* as cut */
    int64_t count;    /* so many in a row on this bar, >= 1 */
};

/* What becomes of what is left of a bar: r of the material that the leftover is of (the tail's on
 * an end-bent bar), whose keeping length is meant. Of r >= keep only rules.max_new_offcuts may make
 * scrap; without a cap it is kept, also where phi(r) is 0. */
#define DW_REST_LIST(X)                                                                            \
    X(DW_REST_NONE, "none")   /* r = 0: nothing is left */                                         \
    X(DW_REST_SCRAP, "scrap") /* 0 < r < keep, or r >= keep thrown away under a cap */             \
    X(DW_REST_KEPT, "kept")   /* r >= keep: an offcut for the shelf; earns phi(r) */

enum dw_rest {
#define DW_REST_ENUM(name, word) name,
    DW_REST_LIST(DW_REST_ENUM)
#undef DW_REST_ENUM
};
const char *dw_rest_word(enum dw_rest rest);

struct dw_layout {
    size_t supply;
    size_t group;
    int64_t bar;   /* number of its first bar: bars bar .. bar + count - 1 of the plan */
    int64_t count; /* bars cut like this, >= 1 */
    size_t n_pieces;
    const struct dw_piece *pieces; /* length n_pieces, in cutting order */
    enum dw_rest rest;
    dw_length leftover; /* r */
};

/* One number a bar: bars are numbered from 1 through the layouts in their order, which is that of
 * cutting, each bar by itself. Every paper, page and command names a bar by this number, a piece by
 * its place on the bar from the datum end, counts written out: "bar 7, piece 2 of 4". */

/* What is known of the plan of a group, or of the whole. */
#define DW_STATUS_LIST(X)                                                                          \
    X(DW_STATUS_OPTIMAL, "optimal")       /* no cheaper plan exists */                             \
    X(DW_STATUS_WITHIN, "within")         /* valid, bound below value: the method ended itself */  \
    X(DW_STATUS_STOPPED, "stopped")       /* valid, ended by time, work limit or the user */       \
    X(DW_STATUS_INFEASIBLE, "infeasible") /* not enough tube: by proof or in all that was tried */

enum dw_status {
#define DW_STATUS_ENUM(name, word) name,
    DW_STATUS_LIST(DW_STATUS_ENUM)
#undef DW_STATUS_ENUM
};
const char *dw_status_word(enum dw_status status);

/* How the bound is known.
 *   NONE    no certificate; bound <= the trivial bound
 *             - sum over posts worth_j d_j - sum over supplies u_k max(0, phi(U_k) - c_k)
 *           with u_k and c_k as in struct dw_certificate
 *   DUALS   bound = certificate.bound: anyone can check it
 *   SEARCH  bound is what the search has proved; = value if it was completed, then the status is
 *           OPTIMAL (or infeasible); the certificate, if there is one, proves a bound below it */
#define DW_PROOF_LIST(X)                                                                           \
    X(DW_PROOF_NONE, "none")                                                                       \
    X(DW_PROOF_DUALS, "duals")                                                                     \
    X(DW_PROOF_SEARCH, "search")

enum dw_proof {
#define DW_PROOF_ENUM(name, word) name,
    DW_PROOF_LIST(DW_PROOF_ENUM)
#undef DW_PROOF_ENUM
};
const char *dw_proof_word(enum dw_proof proof);

/* Integer duals over a common denominator, y_i = duals[i] / scale >= 0: what one more piece of a
 * part is worth, or (post) what is charged for each one made. A part or post of the group that is
 * not listed has dual 0. For every supply k
 *   z_k = max over the layouts a of k of
 *         (sum over parts y_i a_i - sum over posts y_j a_j - money of the layout)
 * where a is a layout of one bar that a plan may have (fit, grip, middling rule, lengths within
 * their ranges, at least one part or post), without surplus; a_i <= d_i and a_j <= d_j. Its money
 * is c_k + h_k + cut_cost x cuts - phi(r) - worth of its posts, with c_k the lowest price of the
 * supply and h_k its handling
 * (breaks included, packs ignored), phi(r) earned by every r >= keep (the cap ignored).
 *   bound = sum over parts y_i d_i - sum over posts y_j d_j - sum u_k max(0, z_k)
 * rounded up to a multiple of the group's money grid. u_k = count of supply k (rounded down to
 * whole packs) or, if that is more or unlimited, the number of pieces and posts of the group, as
 * every bar has one of them. Farley 1990 and Lagrangian duality; in integers throughout.
 *
 * The verifier finds each z_k exactly. A stated bound below what the duals prove is right too: the
 * maker of a plan may use any upper bound on z_k. To keep sums in 64 bits, scale x the money of
 * one bar and the sum of duals of one bar stay below 2^61.
 *
 * The money grid of a group divides the money of each of its plans. It is the gcd of its supplies'
 * prices (breaks included) and handling, cut_cost and its posts' worths, and, for each material
 * with DW_WORTH_CLASSES, the worths of the classes with worth > 0, if for each of them
 * phi(max(from, keep)) = worth (no new bar's price lowers it anywhere). It is 1 if that fails, if a
 * material has DW_WORTH_RATE or DW_WORTH_SHARE with rate or share above 0, or if the gcd is 0.
 * The supplies of a group are those whose material or tail material is one of the group's. */
struct dw_certificate {
    int64_t scale;
    size_t n_duals;       /* 0 = no certificate */
    const size_t *parts;  /* length n_duals: index of a part or post of the group */
    const int64_t *duals; /* length n_duals, >= 0 */
    dw_money bound;       /* what it proves */
};

/* Demand that the tube at hand can't meet: a part, not a post. */
struct dw_shortage {
    size_t part;
    int64_t missing; /* pieces that found no bar in the best try; all of them if `never`; >= 1 */
    bool never;      /* no supply can give even one */
};

/* What is planned by itself. Two materials are linked when a part or post accepts both or an
 * end-bent bar has both; with rules.max_new_offcuts set, all materials are linked by it. Each
 * connected set with a material that some part or post accepts is one group: its materials in
 * increasing order, groups in the order of their first material. A supplier that charges (struct
 * dw_charge) links all materials of which it sells new bars, tails of end-bent bars included.
 *
 * An infeasible group has no layouts, value and bound 0, no certificate, and says what is missing;
 * the other groups are planned all the same. Its proof is SEARCH when it is certain that no plan
 * exists, NONE when none was found by the time the work ended. */
struct dw_group {
    size_t n_materials;
    const size_t *materials; /* length n_materials */
    enum dw_status status;
    enum dw_proof proof;
    dw_money value; /* money of the group's layouts, of what they take, and of what suppliers of
                       the group's bars charge */
    dw_money bound; /* <= value; = value if and only if status is OPTIMAL */
    dw_money for_layouts; /* of value: given up for fewer layouts, as a plan of so much less was
                             found; 0 in a plan that was read */
    struct dw_certificate certificate;
    size_t n_shortages; /* > 0 only if infeasible */
    const struct dw_shortage *shortages;
    const char *method; /* what made the plan: "column generation", "greedy", ... */
    int64_t work;       /* deterministic count of the effort spent */
};

/* What is taken or bought of a supply that has layouts, or of which bars are bought for the shelf.
 *
 *   price(b) = price of the last break with from <= b; the supply's price below the first
 *   bought   = the multiple b of pack, used <= b <= count, for which b x price(b) is least;
 *              the smallest of several
 * so more bars than needed are bought where a price break makes the lot cheaper, and a supply with
 * a count gives its whole packs only. Shelf bars and offcuts have pack 1 and no breaks.
 *
 * Of a supplier that charges, `bought` is any multiple of pack with used <= b <= count, as is best
 * for the order: see struct dw_charge. */
struct dw_take {
    size_t supply;
    int64_t used;   /* bars cut; 0 only where bars are bought for the shelf alone */
    int64_t bought; /* bars paid; >= 1 */
    dw_money money; /* bought x price(bought) */
};

/* What one supplier with terms charges beside the goods, over all materials, and what is bought of
 * it for the shelf. A supplier charges if its terms ask for a least order, a small-order charge,
 * freight, or money for cuts that it makes. With F its fittings of the job (dw_fittings_count),
 * counted at their prices,
 *
 *   goods   = F + sum of the takes of new bars of this supplier
 *   cuts    = cuts_a_pack x packs bought of it; charged = max(0, cuts - cuts_free)
 *   cutting = 0 where none is charged, else max(cut_minimum, charged x cut_charge)
 *   minimum = max(0, least order - goods)
 *   small   = small-order charge if goods < small_under, else 0
 *   freight = 0 if freight_free > 0 and goods >= freight_free, else freight
 *   spare   = sum over its supplies of phi(L) x (bought - used, as far as that fills whole packs),
 *             phi of the bar's material at its measured or nominal length; 0 of end-bent bars
 *
 * There is no row where nothing is ordered of the supplier, neither bars nor fittings, nor where
 * the group of its bars has no plan. Bars may be bought beyond need where that lowers the sum, as
 * an order that reaches a threshold by them can be the cheaper one; the shop has them at what they
 * are worth to it as offcuts. */
struct dw_charge {
    size_t supplier; /* index into job->suppliers */
    size_t group; /* of which it sells the bars; DW_NONE: fittings alone, the same in all plans */
    dw_money goods;
    int64_t cuts;
    dw_money cutting;
    dw_money minimum;
    dw_money small;
    dw_money freight;
    dw_money spare;
};

/* cutting + minimum + small + freight */
dw_money dw_charge_sum(const struct dw_charge *charge);

/* Money paid for what is taken: new bars as bought, shelf bars and offcuts at book value. */
dw_money dw_take_paid(const struct dw_job *job, const struct dw_take *take);

struct dw_totals {
    dw_money bars;    /* new bars, unsold pack remainder included */
    dw_money taken;   /* shelf bars and offcuts used, as counted */
    dw_money cuts;    /* what the saw's work costs: cuts, and bars taken up */
    dw_money kept;    /* phi of offcuts kept */
    dw_money posts;   /* worth of posts made */
    dw_money charges; /* what suppliers charge: sum of dw_charge_sum */
    dw_money spare;   /* worth of bars bought for the shelf: sum of the charges' */
    dw_money value;   /* bars + charges + taken + cuts - kept - posts - spare */
    int64_t n_bars;
    int64_t n_cuts;
    int64_t n_kept;
    dw_length in; /* length of the bars cut; = sum of the following */
    dw_length in_parts;
    dw_length in_posts;
    dw_length in_kept;
    dw_length in_scrap; /* leftovers thrown away, surplus pieces, bend ends */
    dw_length in_trim;
    dw_length in_chips;
};

struct dw_plan {
    uint64_t job_digest;   /* dw_job_digest of the job it was made for */
    int64_t number;        /* under which the shelf holds it; 0 = it is not held */
    int64_t replaces;      /* held plan that it took over from; 0 = none */
    enum dw_status status; /* INFEASIBLE if a group is; else STOPPED, WITHIN, OPTIMAL likewise */
    dw_money bound;        /* sum of the groups' bounds and of the charges of no group */
    size_t n_groups;
    struct dw_group *groups; /* length n_groups */
    size_t n_layouts;
    struct dw_layout *layouts; /* length n_layouts, in the order they are cut */
    size_t n_takes;
    struct dw_take *takes; /* length n_takes, in order of supply */
    size_t n_charges;
    struct dw_charge *charges; /* length n_charges, in order of supplier */
    struct dw_totals totals;
    struct dw_arena *arena;
};

/* How long the saw is busy with a plan, by the times of struct dw_saw. A setting of the stop is one
 * for each piece whose length is not that of the piece before it, bar after bar in the plan's
 * order. */
struct dw_saw_time {
    int64_t ms; /* 0 where the job says no times, or too much to be counted */
    int64_t n_cuts, n_bars, n_offcuts, n_stops;
    dw_money worth; /* at the rate, rounded down; the settings of the stop are in no plan's money */
};
void dw_plan_time(const struct dw_job *job, const struct dw_plan *plan, struct dw_saw_time *out);

dw_err dw_plan_new(struct dw_plan **out, struct dw_error *error);
void dw_plan_free(struct dw_plan *plan);
void *dw_plan_alloc(struct dw_plan *plan, size_t count, size_t size);

/* FNV-1a (Fowler, Noll, Vo) over everything in the job that bears on the plan. */
uint64_t dw_job_digest(const struct dw_job *job);

/* Fills takes, charges and totals from job and layouts and numbers the bars. What is bought of a
 * supplier that charges is what makes the least sum for these layouts, the fewest bars of several;
 * with more than some thousand ways to choose from, a good one. Cost: O(pieces), and that of the
 * choice. DW_ERR_RANGE on overflow. */
dw_err dw_plan_sum(const struct dw_job *job, struct dw_plan *plan, struct dw_error *error);

/* One bar of a layout, mark by mark, for the sheet at the saw. */
struct dw_mark {
    size_t piece;   /* index into layout->pieces */
    dw_length stop; /* stop setting: the piece's length */
    dw_length
        running; /* where the cut's near edge lies, from the squared datum end, kerfs counted */
};

/* Fills marks[0..n) with one entry a piece, counts written out; n from dw_layout_n_marks. */
size_t dw_layout_n_marks(const struct dw_layout *layout);
void dw_layout_marks(const struct dw_job *job, const struct dw_layout *layout,
                     struct dw_mark *marks);

/* The independent verifier: re-derives fit, counts, supply, money, totals and bound of `plan`
 * from `job` alone. Shares no code with the solver. Every difference is a DW_WRONG remark.
 * DW_OK, DW_ERR_CHECK, DW_ERR_NOMEM. Cost: O(pieces), and one bounded knapsack by lists for each
 * supply that a certificate is about (for each bent part of it, on an end-bent bar). Exact up to
 * 2 097 152 states at a time; past that the bound it grants is weaker, never wrong. */
dw_err dw_plan_check(const struct dw_job *job, const struct dw_plan *plan, struct dw_report *report,
                     struct dw_error *error);

/* What the verifier has proved by itself, from the job and the duals in the plan. Status, proof and
 * bound of a plan and its groups are what its maker claims: of a search nothing is seen in it. */
struct dw_group_proven {
    dw_money bound; /* no plan of the group costs less: what its duals prove, or the trivial bound
                       of DW_PROOF_NONE if that is more; 0 where the group has no plan */
    bool settled;   /* no cheaper plan exists: bound = value; no plan exists: no bar gives one of
                       the parts that are stated to be missing */
};

struct dw_plan_proven {
    dw_money bound; /* sum of the groups' */
    bool settled;   /* each group is */
    size_t n_groups;
    struct dw_group_proven *groups; /* length n_groups, in the plan's order */
};

/* dw_plan_check, and what it proved; *out is NULL on error. A bound is the greatest that the duals
 * prove, or, from 500 parts on, one that is at least as much as they are stated to prove. */
dw_err dw_plan_prove(const struct dw_job *job, const struct dw_plan *plan, struct dw_report *report,
                     struct dw_plan_proven **out, struct dw_error *error);
void dw_plan_proven_free(struct dw_plan_proven *proven);

#ifdef __cplusplus
}
#endif
#endif
