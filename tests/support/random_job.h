/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Small random jobs of every mix of features, the same for the same seed on every machine. */
#ifndef TEST_RANDOM_JOB_H
#define TEST_RANDOM_JOB_H

#include <dropwise/job.h>
#include <stdint.h>

/* SplitMix64 (Steele, Lea, Flood 2014). */
struct random {
    uint64_t state;
};
uint64_t random_next(struct random *random);
/* Uniform enough in lo..hi. */
int64_t random_in(struct random *random, int64_t lo, int64_t hi);
/* true in `percent` of 100 */
bool random_chance(struct random *random, int percent);

/* A job that dw_job_check finds nothing wrong with. Lengths are multiples of one cell (1 nm, 1/64
 * in, 1/16 in or 1 mm) and bars a few dozen cells long, or, in one job of ten, some ten thousand
 * cells and no part with a range; the product of (count + 1) over all parts and posts is at most
 * RANDOM_JOB_STATES. NULL: no memory. */
#define RANDOM_JOB_STATES 160
struct dw_job *random_job(uint64_t seed);
/* The same with lengths of any number of nm up to some ten millions, and no part with a range. */
struct dw_job *random_job_fine(uint64_t seed);
/* random_job, or for even seeds random_job_fine, with 1 to 4 pieces on a bar at most. */
struct dw_job *random_job_counted(uint64_t seed);
/* The same with up to `states` states and up to six parts. */
struct dw_job *random_job_large(uint64_t seed, int64_t states);
/* The first with an end allowance, bars that are not to be used, parts with priority and, often,
 * little tube. */
struct dw_job *random_job_wishes(uint64_t seed);

#endif
