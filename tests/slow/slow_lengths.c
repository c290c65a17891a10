/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A year of 300 jobs on a catalogue of 12 lengths, answered within 30 seconds, and how far from
 * proven the answer is then. Jobs and prices are invented: frames of 2 to 11 kinds of tube. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <dropwise/dropwise.h>

#include <stdio.h>
#include <time.h>

#define MM(x) ((dw_length)(x)*DW_NM_PER_MM)

enum { N_LENGTHS = 12, N_JOBS = 300, KINDS = 11 };

static const size_t tube[] = {0};

static uint64_t seed = 300;
static int64_t pick(int64_t least, int64_t most)
{
    seed = seed * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return least + (int64_t)((seed >> 33) % (uint64_t)(most - least + 1));
}

static int64_t now_ms(void *user)
{
    (void)user;
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

static void *room(struct dw_job *job, size_t n, size_t size)
{
    void *out = dw_job_alloc(job, n, size);
    assert_non_null(out);
    return out;
}

static struct dw_job *year(void)
{
    struct dw_job *job = NULL;
    assert_int_equal(dw_job_new(&job, NULL), DW_OK);
    job->saw = (struct dw_saw){.kerf = MM(5) / 2, .cut_cost = 3000};
    job->n_orders = N_JOBS;
    job->orders = room(job, N_JOBS, sizeof *job->orders);
    job->n_materials = 1;
    job->materials = room(job, 1, sizeof *job->materials);
    job->materials[0].id = "tube";
    job->materials[0].worth.keep = MM(300);
    job->n_supplies = N_LENGTHS;
    job->supplies = room(job, N_LENGTHS, sizeof *job->supplies);
    for (size_t k = 0; k < N_LENGTHS; k++) {
        char id[16];
        int64_t mm = 2000 + 400 * (int64_t)k;
        snprintf(id, sizeof id, "%d mm", (int)mm);
        job->supplies[k] = (struct dw_supply){.id = dw_job_text(job, id),
                                              .length = MM(mm),
                                              .price = (mm * 45 / 1000 + pick(0, 11)) * 1000,
                                              .count = DW_UNLIMITED,
                                              .pack = 1,
                                              .trim = MM(4),
                                              .tail_material = DW_NONE};
    }
    job->parts = room(job, N_JOBS * KINDS, sizeof *job->parts);
    for (size_t j = 0; j < N_JOBS; j++) {
        int64_t kinds = pick(2, KINDS);
        for (int64_t i = 0; i < kinds; i++) {
            dw_length length = MM(pick(150, 1900));
            job->parts[job->n_parts++] = (struct dw_part){.label = "p",
                                                          .order = j,
                                                          .min = length,
                                                          .max = length,
                                                          .count = pick(1, 6),
                                                          .n_materials = 1,
                                                          .materials = tube};
        }
    }
    return job;
}

static void test_year(void **state)
{
    (void)state;
    const struct dw_hooks hooks = {.now_ms = now_ms};
    struct dw_settings settings;
    dw_settings_default(&settings);
    assert_int_equal(settings.time_ms, 30000);
    struct dw_job *job = year();
    dw_money before = INT64_MAX;
    for (size_t most = 1; most <= 3; most++) {
        struct dw_lengths *out = NULL;
        int64_t start = now_ms(NULL);
        assert_int_equal(dw_lengths_choose(job, 0, most, &settings, &hooks, &out, NULL), DW_OK);
        int64_t took = now_ms(NULL) - start;
        printf("at most %zu of %d lengths, %d jobs: %.1f s, %s, at most %.2f %% above the bound, "
               "%d jobs on sets solved\n",
               most, N_LENGTHS, N_JOBS, (double)took / 1000,
               out->status == DW_STATUS_OPTIMAL ? "proven" : "not proven",
               100 * (double)(out->value - out->bound) / (double)out->value, (int)out->n_solved);
        assert_true(took < 30000);
        assert_true(out->status != DW_STATUS_INFEASIBLE);
        assert_true(out->bound <= out->value);
        assert_true(out->value < before || out->status == DW_STATUS_STOPPED);
        assert_true(out->value - out->bound < out->value / 100); /* within 1 % */
        before = out->value;
        dw_lengths_free(out);
    }
    dw_job_free(job);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_year)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
