/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Several posts from one offcut: every way to cut it, and the best way for all offcuts together. */
#ifndef DW_JOB_POST_WAYS_H
#define DW_JOB_POST_WAYS_H

#include <dropwise/posts.h>

struct dw_arena;

/* One way to cut one offcut. */
struct dw_post_way {
    int64_t *counts; /* length n_wishes: posts of each wish */
    dw_money gain;   /* see dw_posts_find */
};

/* What can be made of the offcuts. wishes[0..n_wishes) are indices of posts of the job, the dearest
 * first. */
struct dw_post_ways {
    const struct dw_job *job;
    struct dw_arena *arena;
    size_t n_sources;
    const struct dw_post_source *sources;
    size_t n_wishes;
    const size_t *wishes;
};

/* Whether a wish takes a material. */
bool dw_post_ways__accepts(const struct dw_part *wish, size_t material);

/* Lengths of the posts of a way, in order of the wishes: all as long as their ranges allow, or, if
 * the offcut is too short for that, the dearer ones first. lengths has room for the posts of the
 * way. *rem is what stays before the last cut. false: they do not fit. */
bool dw_post_ways__lengths(const struct dw_post_ways *ways, const struct dw_post_source *source,
                           const int64_t *counts, dw_length *lengths, dw_length *rem);

/* What a way gains. n: its posts. */
dw_money dw_post_ways__gain(const struct dw_post_ways *ways, const struct dw_post_source *source,
                            const int64_t *counts, dw_length rem);

/* The ways with a gain, chosen[i] for source i (NULL: it stays), whose sum of gains is largest
 * while no wish is made more than `count` times: dynamic programming over the counts, exact.
 * *fits false: there are too many ways and counts to weigh (nothing is chosen).
 * Cost: O(ways * states), states = product of (count + 1). DW_ERR_NOMEM. */
dw_err dw_post_ways__choose(const struct dw_post_ways *ways, const struct dw_post_way **chosen,
                            bool *fits, struct dw_error *error);

#endif
