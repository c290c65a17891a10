/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A hundred thousand forged plans of random small jobs: none is vouched for beyond what the duals
 * in it prove. usage: slow_forged [FIRST LAST] */
#include "forge.h"

#include <stdio.h>
#include <stdlib.h>

#define EACH 40

int main(int argc, char **argv)
{
    uint64_t first = argc > 2 ? strtoull(argv[1], NULL, 10) : 50000;
    uint64_t last = argc > 2 ? strtoull(argv[2], NULL, 10) : 52499;
    struct forge forge = {0};
    int n_bad = 0;
    for (uint64_t seed = first; seed <= last; seed++)
        if (!forge_plans(&forge, seed, EACH)) {
            printf("seed %llu: %s\n", (unsigned long long)seed, forge.why);
            n_bad++;
        }
    printf("%d plans, %d forged: %d refused, %d with a false claim that is told as a claim, "
           "%d groups settled, %d vouched for wrongly\n",
           forge.n_plans, forge.n_forged, forge.n_refused, forge.n_false, forge.n_settled, n_bad);
    return n_bad > 0;
}
