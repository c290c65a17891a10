/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What each offcut could become: posts that would be useful, best assigned.
 *
 * Threads: as of the ledger, where the request has one; the job is only read. */
#ifndef DROPWISE_POSTS_H
#define DROPWISE_POSTS_H

#include <dropwise/shelf.h>

#ifdef __cplusplus
extern "C" {
#endif

/* An offcut that could become a post. */
struct dw_post_source {
    const char *number; /* of the piece; of a plan: NULL */
    const char *place;
    const char *from; /* of a plan: id of the supply that it is left of */
    size_t material;  /* index into the job's materials */
    dw_length length; /* actual */
    dw_length usable; /* less squaring of mill ends */
    dw_money booked;  /* its book value; -1 = none is known */
    dw_money worth;   /* what is given up where it is cut, see dw_posts_find */
};

/* How a post is loaded; all zeros: no check is wanted. */
struct dw_post_load {
    double load_n;    /* at the free end; 0 = no check */
    dw_length droop;  /* most droop allowed; 0 = arm / 100 */
    double safety;    /* yield / safety is allowed; >= 1 */
    double e_mpa;     /* 0 = of the material's alloy */
    double yield_mpa; /* minimum; 0 = of the material's alloy */
};

struct dw_post_check {
    bool done;
    const char *why_not; /* if not done: why it can't be judged; borrowed, static */
    double e_mpa, yield_mpa;
    const char *source; /* of the yield */
    double inertia_mm4, modulus_mm3;
    double droop_mm, droop_most_mm;
    double stress_mpa, stress_most_mpa;
    bool fits; /* both within what is allowed */
};

/* A post of an offcut, or an offcut that stays. */
struct dw_post_choice {
    size_t source;      /* index into sources */
    size_t wish;        /* index of the job's post; DW_NONE: better kept as it is */
    dw_length length;   /* of the post */
    dw_length leftover; /* what stays of the offcut: in the row of its last post */
    dw_money worth;     /* of the post, 0 without one */
    dw_money gain;      /* of the offcut, see dw_posts_find: in the row of its first post */
    struct dw_post_check check;
    size_t n_could;      /* wishes that it is long enough for: in its first row */
    const size_t *could; /* length n_could, dearest first */
};

struct dw_post_list {
    size_t n_sources;
    const struct dw_post_source *sources;
    size_t n;
    struct dw_post_choice *rows; /* length n >= n_sources: those that become posts first, by worth;
                                    the posts of one offcut together, in cutting order */
    bool several;                /* several posts of one offcut were weighed too */
    dw_money worth;              /* of the posts made */
    dw_money gain;
    struct dw_arena *arena;
};
void dw_post_list_free(struct dw_post_list *list);

/* The best posts of `job` (parts with .post set) to make of the offcuts: a post is made at most
 * `count` times, an offcut becomes one or several of them or stays, and the sum over the offcuts
 * that are cut of
 *
 *   worth of the posts + phi(leftover) - v - cost of the cuts
 *
 * is largest, where v is what is given up: the offcut's book value, but at least phi of what stays
 * after the shortest post, since cutting must not earn what was there before; phi of the offcut if
 * no book value is known (0 on the shelf is none). Exact, by dynamic programming over the posts
 * made. Where that are too many ways to weigh, one offcut becomes at most one post (an assignment
 * problem, solved as an LP and proven in integers). Posts are cut as long as the offcut and their
 * ranges allow. Offcuts on the shelf, with those left by `plan` if one is
 * given, else with those that the job lists. Shelf bars too if `bars` is set. Borrows from the
 * job. */
struct dw_post_request {
    struct dw_ledger *ledger;   /* NULL: from the plan only */
    const struct dw_plan *plan; /* NULL: from the shelf only */
    bool bars;
    struct dw_post_load load;
};
dw_err dw_posts_find(const struct dw_job *job, const struct dw_post_request *request,
                     struct dw_post_list **out, struct dw_error *error);

/* "... P L^3 / (3 E I) ...", to be shown with DW_CAUTION_LOAD. Borrowed. */
const char *dw_posts_formula(void);

/* How a post is loaded, as a user writes it; NULL: not said. */
struct dw_post_asked {
    const char *load;      /* "40 N", "4 kg", "10 lbf" (lb is lbf) */
    const char *droop;     /* a length */
    const char *safety;    /* 1 to 100; otherwise 2 */
    const char *stiffness; /* MPa */
    const char *yield;     /* MPa */
};
/* unit: of a bare droop. DW_ERR_INPUT, with the name of what is wrong in front. */
dw_err dw_posts_read(const struct dw_post_asked *asked, enum dw_unit unit, struct dw_post_load *out,
                     struct dw_error *error);
/* Figures that no tube has or that keep nothing in hand, as doubts without a place. */
dw_err dw_posts_doubt(const struct dw_post_load *load, struct dw_report *report);

#ifdef __cplusplus
}
#endif
#endif
