/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A group of a job in the solver's own form. Lengths are nm with the kerf folded in: a piece takes
 * size = length + kerf of a capacity U + kerf, or U - tail where a tail must stay behind the last
 * cut. With x of the capacity left over, the leftover is r = max(0, x - kerf), or x + tail; only
 * without a tail x = 0 saves the last cut. */
#ifndef DW_SOLVE_GROUP_PROBLEM_H
#define DW_SOLVE_GROUP_PROBLEM_H

#include "base/base.h"
#include "model/model.h"

__extension__ typedef __int128 dw_wide;

#define DW_NEVER (INT64_MIN / 4) /* value of what is not allowed */

#define DW_ANY_PIECES (INT64_MAX / 4)

/* Parts (or posts) that are interchangeable in every respect but their name. */
struct dw_item {
    int64_t size;   /* least length + kerf */
    int64_t slack;  /* that may be added to it; 0 where that can gain nothing */
    int64_t count;  /* part: demand, post: limit; >= 1 */
    dw_money worth; /* of one post; 0 for a part */
    int64_t weight; /* of a missing piece, where these are counted: 1 or, of a part with priority,
                       more than all others together */
    bool post;
    size_t n_members;
    size_t *members; /* length n_members: parts of the job, in its order */
};

struct dw_points;

/* A straight material as the source of pieces: all that bars of it with one tail have in common. */
struct dw_bar_kind {
    size_t material;
    int64_t tail; /* dw_supply_tail, the same of all its stocks */
    size_t n_items;
    size_t *items;   /* length n_items: items cut from it, by decreasing size */
    size_t *order;   /* length n_items: the same, those without slack first */
    size_t n_firm;   /* how many have none */
    bool few_slack;  /* the counts of items with slack on a bar are few enough to try them all */
    int64_t max_cap; /* largest capacity of its stocks, first pieces of end-bent bars taken off */
    int64_t most;    /* pieces on a bar; DW_ANY_PIECES where that rule is never in the way */
    /* Tables over what is left of a bar: over the cells of a grid, or over points. */
    struct dw_points *points; /* NULL: a grid */
    int64_t cell;             /* length of a cell */
    bool coarse;              /* cell does not divide all lengths: tables give upper bounds only */
    size_t n_cells;           /* floor(max_cap / cell) + 1, or number of points */
    size_t n_layers;          /* of so many cells each: for 0 .. most pieces; 1: all are one */
    /* Credits of what is left, kept and thrown away; DW_NEVER where that is not allowed, or is no
     * choice: when no cap counts kept leftovers, what can be kept is. NULL if coarse. */
    dw_money *kept;   /* length n_cells */
    dw_money *thrown; /* length n_cells */
    int64_t cap_num;  /* phi is at most floor(cap_num r / cap_den); cap_den 0: no new bar */
    int64_t cap_den;
};

/* What an end-bent bar begins with. */
struct dw_first {
    size_t item; /* DW_NONE: the bend end itself */
    int64_t size;
    int64_t slack;
};

/* Supplies that are interchangeable in every respect but their name. */
struct dw_bar_stock {
    size_t kind;
    int64_t cap;
    int64_t count;   /* at most so many, never more than there are pieces */
    int64_t certain; /* bars that a certificate allows for: at most the group's pieces a member */
    bool limited;    /* count is a limit of the supply */
    dw_money price;  /* of one bar at the lowest */
    dw_money fixed;  /* squaring cuts, and taking it up */
    size_t n_firsts;
    struct dw_first *firsts; /* length n_firsts; 0 for a straight bar */
    bool stepped;            /* packs or price breaks; then it has one member */
    size_t n_members;
    size_t *members; /* length n_members: supplies of the job, offcuts first, by age */
};

struct dw_problem {
    const struct dw_job *job;
    struct dw_arena *arena; /* owns all of it */
    size_t n_items;
    struct dw_item *items; /* length n_items, by decreasing size */
    size_t n_kinds;
    struct dw_bar_kind *kinds; /* length n_kinds */
    size_t n_stocks;
    struct dw_bar_stock *stocks; /* length n_stocks */
    int64_t n_pieces;            /* parts and posts, counted */
    int64_t n_all;               /* with those that no supply can give */
    dw_money cut_cost;
    int64_t kerf;
    int64_t max_kept;    /* DW_UNLIMITED */
    int64_t most_pieces; /* on a bar, the bent one included; DW_ANY_PIECES */
    dw_money grid;       /* every value is a multiple, as the tables of credits show; >= 1 */
    dw_money stated;     /* the money grid of struct dw_certificate; it divides `grid` */
    bool equal;          /* surplus could gain: each part is made exactly as often as wanted */
    bool missing;        /* money is the weight of missing pieces: see dw_problem__missing */
};

/* The group `group` of the job: group_of[material] says to which each material belongs. `never`
 * (length n_parts) is set for parts that no supply can give; those are left out. DW_ERR_NOMEM. */
dw_err dw_problem__new(const struct dw_job *job, const size_t *group_of, size_t group,
                       struct dw_arena *arena, bool *never, struct dw_problem **out,
                       struct dw_error *error);

/* The same tube and parts with another objective: as few missing pieces as possible,
 * first of those that have priority. Bars, cuts,
 * leftovers cost and earn nothing, posts are left out. Shares items' arrays with `problem`. */
dw_err dw_problem__missing(const struct dw_problem *problem, struct dw_problem **out,
                           struct dw_error *error);

/* Whether so many pieces go on a bar of some kind that the rule of the most pieces matters: methods
 * that know lengths alone do not suit then. */
bool dw_problem__counts_pieces(const struct dw_problem *problem);

/* Whether some bar filled exactly saves the last cut, and money by it. */
static inline bool dw_problem__saves_cut(const struct dw_problem *problem)
{
    for (size_t q = 0; q < problem->n_kinds; q++)
        if (problem->kinds[q].tail == 0)
            return problem->cut_cost > 0;
    return false;
}

/* Money of `used` bars as struct dw_take reckons it: whole packs, all-units price breaks, and more
 * bars than needed where that makes the lot cheaper. */
dw_money dw_bar_stock__money(const struct dw_problem *problem, size_t stock, int64_t used);

/* Bars that can be taken, in whole packs; or DW_UNLIMITED. */
int64_t dw_supply__count(const struct dw_supply *supply);
/* The lowest price of one bar, breaks included. */
dw_money dw_supply__lowest(const struct dw_supply *supply);
/* Sets cap_num / cap_den of the kind: the least price / length of its new straight bars. */
void dw_bar_kind__cap(const struct dw_problem *problem, struct dw_bar_kind *kind);
/* The money grid of struct dw_certificate; >= 1. */
dw_money dw_problem__grid(const struct dw_problem *problem, const size_t *group_of, size_t group);
/* phi(r) of struct dw_worth for a leftover of this kind. Cost: O(log classes). */
dw_money dw_bar_kind__worth(const struct dw_problem *problem, const struct dw_bar_kind *kind,
                            int64_t r);
/* Leftover when x of the capacity remains. */
int64_t dw_bar_kind__leftover(const struct dw_problem *problem, const struct dw_bar_kind *kind,
                              int64_t x);
/* Whether a leftover r may be kept. */
bool dw_bar_kind__keepable(const struct dw_problem *problem, const struct dw_bar_kind *kind,
                           int64_t r);

/* Lists the credits of a kind that is not coarse. false: no memory. */
bool dw_bar_kind__credits(const struct dw_problem *problem, struct dw_bar_kind *kind);
/* Those of all kinds, anew. */
bool dw_problem__credits(struct dw_problem *problem);

/* Credits of x nm left: thrown away (with the cut that an exact fill saves) and kept. */
dw_money dw_bar_kind__thrown(const struct dw_problem *problem, const struct dw_bar_kind *kind,
                             int64_t x);
dw_money dw_bar_kind__kept(const struct dw_problem *problem, const struct dw_bar_kind *kind,
                           int64_t x);

#endif
