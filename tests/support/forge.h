/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Plan documents that say more than is so, and what the verifier makes of them. */
#ifndef TEST_FORGE_H
#define TEST_FORGE_H

#include "random_job.h"

struct forge {
    struct random random;
    int n_plans;   /* good plans that were changed */
    int n_forged;  /* documents made of them */
    int n_refused; /* by reader or verifier */
    int n_false; /* accepted, with a claim that is not so: a bound above the cheapest plan's money,
                    or no plan where there is one */
    int n_settled; /* accepted, and proved to be the cheapest */
    char why[256]; /* the first that was vouched for beyond what is so; "" = none */
};

/* Makes a plan of random_job(seed), the best, a quick one or one that was stopped, and changes it
 * `n` times, several members together so that they go with each other. Each change is written as a
 * document, read and proved again. What is proved is held against the exhaustive reference: a
 * proven bound passes no group's cheapest money, what is settled has exactly that, and no plan that
 * is accepted costs less. true: so it is. Counts are added to. */
bool forge_plans(struct forge *forge, uint64_t seed, int n);

#endif
