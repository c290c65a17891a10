/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Instances with very long bars: many lengths, demands 1..20, capacity 500 000 to 1 500 000, in the
 * form that bench/csp reads. Lengths are uniform in one of four ranges in turn (shares of the
 * capacity: 0.1 % to 20, 30, 50 or 70 %).
 *
 * usage: cspgen LENGTHS COUNT [SEED] > FILE.csp */
#include "bench.h"

static int64_t uniform(int64_t *seed, int64_t low, int64_t high)
{
    int64_t value = low + (int64_t)(bench_lehmer(seed) * (double)(high - low + 1));
    return value > high ? high : value;
}

static bool taken(const int64_t *size, size_t n, int64_t value)
{
    for (size_t i = 0; i < n; i++)
        if (size[i] == value)
            return true;
    return false;
}

static void write_instance(int64_t *seed, size_t n, int64_t number)
{
    static const int64_t longest[] = {200, 300, 500, 700}; /* thousandths of the capacity */
    int64_t capacity = uniform(seed, 500000, 1500000), total = 0;
    int64_t high = capacity / 1000 * longest[number % 4];
    int64_t *size = bench_must(calloc(n, sizeof *size));
    int64_t *demand = bench_must(calloc(n, sizeof *demand));
    for (size_t i = 0; i < n; i++) {
        do
            size[i] = uniform(seed, capacity / 1000, high);
        while (taken(size, i, size[i]));
    }
    qsort(size, n, sizeof *size, bench_decreasing);
    for (size_t i = 0; i < n; i++) {
        demand[i] = uniform(seed, 1, 20);
        total += size[i] * demand[i];
    }
    int64_t pieces = 0;
    for (size_t i = 0; i < n; i++)
        pieces += demand[i];
    printf("instance long_%zu_%" PRId64 " capacity %" PRId64 " items %zu known %" PRId64 " %" PRId64
           "\n",
           n, number, capacity, n, (total + capacity - 1) / capacity, pieces);
    for (size_t i = 0; i < n; i++)
        printf("%" PRId64 " %" PRId64 "\n", size[i], demand[i]);
    free(size);
    free(demand);
}

int main(int argc, char **argv)
{
    long n = argc > 2 ? strtol(argv[1], NULL, 10) : 0,
         count = argc > 2 ? strtol(argv[2], NULL, 10) : 0;
    int64_t seed = argc > 3 ? strtol(argv[3], NULL, 10) : 1994;
    if (n < 1 || n > 5000 || count < 1 || seed < 1 || seed >= 2147483647) {
        fprintf(stderr,
                "usage: cspgen LENGTHS COUNT [SEED]   lengths 1..5000, seed 1..2147483646\n");
        return 2;
    }
    for (long k = 0; k < count; k++)
        write_instance(&seed, (size_t)n, k);
    return 0;
}
