/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Side by side in one run: this program, glpsol and CBC on two ways to write the same problem as an
 * integer program, and what a person with a spreadsheet would do.
 *
 *   arc-flow    Valerio de Carvalho 1999: a path through the lengths 0..L is a layout
 *   assignment  Kantorovich 1960 (1939): x_bj pieces j from bar b, y_b whether b is taken
 *
 * usage: peers [LIMIT_S [FOLDER]]   FOLDER for the model files, default /tmp */
#include "bench.h"

#include <fcntl.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

extern char **environ;

enum { MAX_BARS = 3, KERF = 3, LEFT_KINDS = 6 };

/* Bars of several lengths and prices, some offcuts, kerf; lengths in mm, prices in cents. */
struct problem {
    const char *name;
    struct bench_list list;
    size_t n_bars;
    int64_t bar[MAX_BARS + LEFT_KINDS];
    int64_t price[MAX_BARS + LEFT_KINDS];
    int64_t count[MAX_BARS + LEFT_KINDS]; /* -1 = unlimited */
};

static int64_t pieces_of(const struct problem *problem)
{
    int64_t pieces = 0;
    for (size_t i = 0; i < problem->list.n; i++)
        pieces += problem->list.demand[i];
    return pieces;
}

/* --- models, CPLEX LP format ---------------------------------------------------------------- */

static FILE *open_model(const char *path)
{
    FILE *file = fopen(path, "w");
    return bench_must(file);
}

/* Node w..w+l+kerf an arc per length, loss arcs of one unit, an arc back from each bar's end. */
static void write_arcflow(const struct problem *problem, const char *path)
{
    FILE *file = open_model(path);
    int64_t longest = 0;
    for (size_t k = 0; k < problem->n_bars; k++)
        longest = problem->bar[k] + KERF > longest ? problem->bar[k] + KERF : longest;
    fprintf(file, "Minimize\n obj:");
    for (size_t k = 0; k < problem->n_bars; k++)
        fprintf(file, " + %" PRId64 " z%zu\n", problem->price[k], k);
    fprintf(file, "Subject To\n");
    for (int64_t w = 0; w <= longest; w++) {
        int terms = 0;
        fprintf(file, " n%" PRId64 ":", w);
        for (size_t i = 0; i < problem->list.n; i++) {
            int64_t s = problem->list.size[i] + KERF;
            if (w - s >= 0)
                terms += fprintf(file, " + x%zu_%" PRId64 "\n", i, w - s) > 0;
            if (w + s <= longest)
                terms += fprintf(file, " - x%zu_%" PRId64 "\n", i, w) > 0;
        }
        if (w > 0)
            terms += fprintf(file, " + s%" PRId64, w - 1) > 0;
        if (w < longest)
            terms += fprintf(file, " - s%" PRId64, w) > 0;
        for (size_t k = 0; k < problem->n_bars; k++) {
            if (w == 0)
                terms += fprintf(file, " + z%zu", k) > 0;
            if (w == problem->bar[k] + KERF)
                terms += fprintf(file, " - z%zu", k) > 0;
        }
        fprintf(file, " = 0\n");
    }
    for (size_t i = 0; i < problem->list.n; i++) {
        fprintf(file, " d%zu:", i);
        for (int64_t w = 0; w + problem->list.size[i] + KERF <= longest; w++)
            fprintf(file, " + x%zu_%" PRId64 "\n", i, w);
        fprintf(file, " >= %" PRId64 "\n", problem->list.demand[i]);
    }
    fprintf(file, "Bounds\n");
    for (size_t k = 0; k < problem->n_bars; k++)
        if (problem->count[k] >= 0)
            fprintf(file, " z%zu <= %" PRId64 "\n", k, problem->count[k]);
    fprintf(file, "General\n");
    for (size_t k = 0; k < problem->n_bars; k++)
        fprintf(file, " z%zu\n", k);
    for (size_t i = 0; i < problem->list.n; i++)
        for (int64_t w = 0; w + problem->list.size[i] + KERF <= longest; w++)
            fprintf(file, " x%zu_%" PRId64 "\n", i, w);
    fprintf(file, "End\n");
    fclose(file);
}

/* `most` bars of each unlimited length are enough: what first-fit decreasing took. */
static void write_assignment(const struct problem *problem, int64_t most, const char *path)
{
    FILE *file = open_model(path);
    fprintf(file, "Minimize\n obj:");
    for (size_t k = 0; k < problem->n_bars; k++)
        for (int64_t b = 0; b < (problem->count[k] < 0 ? most : problem->count[k]); b++)
            fprintf(file, " + %" PRId64 " y%zu_%" PRId64 "\n", problem->price[k], k, b);
    fprintf(file, "Subject To\n");
    for (size_t i = 0; i < problem->list.n; i++) {
        fprintf(file, " d%zu:", i);
        for (size_t k = 0; k < problem->n_bars; k++)
            for (int64_t b = 0; b < (problem->count[k] < 0 ? most : problem->count[k]); b++)
                fprintf(file, " + x%zu_%zu_%" PRId64 "\n", i, k, b);
        fprintf(file, " >= %" PRId64 "\n", problem->list.demand[i]);
    }
    for (size_t k = 0; k < problem->n_bars; k++)
        for (int64_t b = 0; b < (problem->count[k] < 0 ? most : problem->count[k]); b++) {
            for (size_t i = 0; i < problem->list.n; i++)
                fprintf(file, " + %" PRId64 " x%zu_%zu_%" PRId64 "\n", problem->list.size[i] + KERF,
                        i, k, b);
            fprintf(file, " - %" PRId64 " y%zu_%" PRId64 " <= 0\n", problem->bar[k] + KERF, k, b);
        }
    fprintf(file, "Bounds\n");
    for (size_t k = 0; k < problem->n_bars; k++)
        for (int64_t b = 0; b < (problem->count[k] < 0 ? most : problem->count[k]); b++)
            fprintf(file, " y%zu_%" PRId64 " <= 1\n", k, b);
    fprintf(file, "General\n");
    for (size_t k = 0; k < problem->n_bars; k++)
        for (int64_t b = 0; b < (problem->count[k] < 0 ? most : problem->count[k]); b++) {
            fprintf(file, " y%zu_%" PRId64 "\n", k, b);
            for (size_t i = 0; i < problem->list.n; i++)
                fprintf(file, " x%zu_%zu_%" PRId64 "\n", i, k, b);
        }
    fprintf(file, "End\n");
    fclose(file);
}

/* --- general solvers ------------------------------------------------------------------------ */

struct answer {
    double seconds;
    bool proven;
    double value; /* cents; < 0 = no plan */
};

static void run_quiet(char *const argv[])
{
    posix_spawn_file_actions_t actions;
    posix_spawn_file_actions_init(&actions);
    posix_spawn_file_actions_addopen(&actions, 1, "/dev/null", O_WRONLY, 0);
    posix_spawn_file_actions_addopen(&actions, 2, "/dev/null", O_WRONLY, 0);
    pid_t child = 0;
    if (posix_spawnp(&child, argv[0], &actions, NULL, argv, environ) == 0)
        waitpid(child, NULL, 0);
    posix_spawn_file_actions_destroy(&actions);
}

static struct answer run_glpsol(const char *model, const char *result, int limit)
{
    char seconds[16];
    snprintf(seconds, sizeof seconds, "%d", limit);
    char *const argv[] = {"glpsol", "--lp", (char *)model,  "--tmlim",
                          seconds,  "-w",   (char *)result, NULL};
    remove(result);
    struct answer answer = {.seconds = bench_seconds(), .value = -1};
    run_quiet(argv);
    answer.seconds = bench_seconds() - answer.seconds;
    FILE *file = fopen(result, "r");
    char line[256], status;
    while (file && fgets(line, sizeof line, file))
        if (sscanf(line, "s mip %*d %*d %c %lf", &status, &answer.value) == 2) {
            answer.proven = status == 'o';
            answer.value = status == 'o' || status == 'f' ? answer.value : -1;
        }
    if (file)
        fclose(file);
    return answer;
}

static struct answer run_cbc(const char *model, const char *result, int limit)
{
    char seconds[16];
    snprintf(seconds, sizeof seconds, "%d", limit);
    char *const argv[] = {"cbc",   (char *)model, "sec",          seconds,
                          "solve", "solu",        (char *)result, NULL};
    remove(result);
    struct answer answer = {.seconds = bench_seconds(), .value = -1};
    run_quiet(argv);
    answer.seconds = bench_seconds() - answer.seconds;
    FILE *file = fopen(result, "r");
    char line[256];
    if (file && fgets(line, sizeof line, file)) {
        const char *at = strstr(line, "objective value");
        if (at && !strstr(line, "no integer solution"))
            answer.value = atof(at + strlen("objective value"));
        answer.proven = strncmp(line, "Optimal", 7) == 0;
    }
    if (file)
        fclose(file);
    return answer;
}

/* --- ours, and a person with a spreadsheet ---------------------------------------------------- */

static struct answer run_ours(const struct problem *problem, int limit)
{
    struct dw_job *job = bench_job(&problem->list, DW_NM_PER_MM, problem->n_bars);
    job->saw.kerf = KERF * DW_NM_PER_MM;
    for (size_t k = 0; k < problem->n_bars; k++) {
        job->supplies[k].length = problem->bar[k] * DW_NM_PER_MM;
        job->supplies[k].price = problem->price[k] * (DW_MONEY_ONE / 100);
        job->supplies[k].count = problem->count[k];
    }
    struct dw_settings settings = bench_settings((int64_t)limit * 1000);
    struct answer answer = {.seconds = bench_seconds()};
    struct dw_plan *plan = bench_solve(job, &settings);
    answer.seconds = bench_seconds() - answer.seconds;
    answer.proven = plan->status == DW_STATUS_OPTIMAL;
    answer.value = (double)plan->totals.value / (double)(DW_MONEY_ONE / 100);
    dw_plan_free(plan);
    dw_job_free(job);
    return answer;
}

/* Longest piece first, into the first (or the fullest) open bar that takes it: offcuts open from
 * the start, then bars of the length that is cheapest by the metre. Money in cents, bars taken. */
static int64_t by_hand(const struct problem *problem, bool best_fit, int64_t *bars_bought)
{
    size_t cheapest = 0, n_open = 0;
    for (size_t k = 1; k < problem->n_bars; k++)
        if (problem->count[k] < 0 &&
            problem->price[k] * problem->bar[cheapest] < problem->price[cheapest] * problem->bar[k])
            cheapest = k;
    size_t room_for = (size_t)pieces_of(problem) + 1;
    for (size_t k = 0; k < problem->n_bars; k++)
        room_for += problem->count[k] > 0 ? (size_t)problem->count[k] : 0;
    int64_t *room = bench_must(calloc(room_for, sizeof *room));
    int64_t *price = bench_must(calloc(room_for, sizeof *price));
    bool *used = bench_must(calloc(room_for, sizeof *used));
    for (size_t k = 0; k < problem->n_bars; k++)
        for (int64_t b = 0; b < problem->count[k]; b++) {
            room[n_open] = problem->bar[k] + KERF;
            price[n_open++] = problem->price[k];
        }
    *bars_bought = 0;
    int64_t money = 0;
    for (size_t i = 0; i < problem->list.n; i++)
        for (int64_t d = 0; d < problem->list.demand[i]; d++) {
            int64_t size = problem->list.size[i] + KERF;
            size_t chosen = n_open;
            for (size_t b = 0; b < n_open; b++) {
                if (room[b] < size || (chosen < n_open && !(best_fit && room[b] < room[chosen])))
                    continue;
                chosen = b;
            }
            if (chosen == n_open) {
                room[n_open] = problem->bar[cheapest] + KERF;
                price[n_open++] = problem->price[cheapest];
                ++*bars_bought;
            }
            room[chosen] -= size;
            money += used[chosen] ? 0 : price[chosen];
            used[chosen] = true;
        }
    free(room);
    free(price);
    free(used);
    return money;
}

/* --- instances ------------------------------------------------------------------------------ */

static struct problem make(const char *name, int64_t *seed, size_t m, double v1, double v2,
                           double dbar, bool several)
{
    struct problem problem = {.name = name};
    problem.list = bench_cutgen1(seed, m, 1000, v1, v2, dbar);
    problem.n_bars = several ? 3 : 1;
    static const int64_t length[MAX_BARS] = {1000, 750, 600};
    static const int64_t price[MAX_BARS] = {2400, 1850, 1500};
    for (size_t k = 0; k < problem.n_bars; k++) {
        problem.bar[k] = length[k];
        problem.price[k] = price[k];
        problem.count[k] = DW_UNLIMITED;
    }
    for (size_t j = 0; several && j < LEFT_KINDS; j++) {
        problem.bar[problem.n_bars] = 200 + (int64_t)(400 * bench_lehmer(seed));
        problem.price[problem.n_bars] = problem.bar[problem.n_bars] * 12 / 10;
        problem.count[problem.n_bars++] = 1;
    }
    return problem;
}

struct tally {
    int n;
    int proven[5];
    int both[5];
    double ratios[5][64];
    double lost[2];
};

static int increasing(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return x < y ? -1 : x > y;
}

static void print_answer(const struct answer *answer, double best)
{
    if (answer->value < 0)
        printf(" %.2f s, no plan |", answer->seconds);
    else if (answer->proven)
        printf(" %.2f s |", answer->seconds);
    else
        printf(" %.0f s, open, +%.2f %% |", answer->seconds, 100 * (answer->value / best - 1));
}

static void compare(const struct problem *problem, int limit, const char *folder,
                    struct tally *tally)
{
    char arcs[300], assigned[300], result[300];
    snprintf(arcs, sizeof arcs, "%s/peers-arcs.lp", folder);
    snprintf(assigned, sizeof assigned, "%s/peers-assign.lp", folder);
    snprintf(result, sizeof result, "%s/peers-result.txt", folder);
    int64_t bars[2], money[2];
    money[0] = by_hand(problem, false, &bars[0]);
    money[1] = by_hand(problem, true, &bars[1]);
    write_arcflow(problem, arcs);
    write_assignment(problem, bars[0], assigned);
    struct answer answers[5] = {run_ours(problem, limit), run_glpsol(arcs, result, limit),
                                run_cbc(arcs, result, limit), run_glpsol(assigned, result, limit),
                                run_cbc(assigned, result, limit)};
    printf("| %s | %zu | %" PRId64 " |", problem->name, problem->list.n, pieces_of(problem));
    for (int a = 0; a < 5; a++) {
        print_answer(&answers[a], answers[0].value);
        tally->proven[a] += answers[a].proven;
        if (a > 0 && answers[a].proven && answers[0].proven) {
            tally->ratios[a][tally->both[a]++] = answers[a].seconds / answers[0].seconds;
            if (answers[a].value - answers[0].value > 0.5 ||
                answers[0].value - answers[a].value > 0.5)
                printf(" DISAGREE %.2f %.2f |", answers[0].value, answers[a].value);
        }
    }
    for (int h = 0; h < 2; h++) {
        double lost = 100 * ((double)money[h] / answers[0].value - 1);
        tally->lost[h] += lost;
        printf(" +%.2f %% |", lost);
    }
    printf("\n");
    fflush(stdout);
    tally->n++;
}

static void print_tally(struct tally *tally, int limit)
{
    static const char *names[5] = {"dropwise", "glpsol, arc-flow", "CBC, arc-flow",
                                   "glpsol, assignment", "CBC, assignment"};
    printf("\n| solver | proven in %d s | times slower, median where both finish |\n"
           "| --- | --- | --- |\n",
           limit);
    for (int a = 0; a < 5; a++) {
        qsort(tally->ratios[a], (size_t)tally->both[a], sizeof(double), increasing);
        printf("| %s | %d of %d | ", names[a], tally->proven[a], tally->n);
        if (a > 0 && tally->both[a] > 0)
            printf("%.0f |\n", tally->ratios[a][tally->both[a] / 2]);
        else
            printf("- |\n");
    }
    printf(
        "\nMoney lost by hand, mean: first-fit decreasing %.2f %%, best-fit decreasing %.2f %%\n",
        tally->lost[0] / tally->n, tally->lost[1] / tally->n);
}

int main(int argc, char **argv)
{
    int limit = argc > 1 ? atoi(argv[1]) : 60;
    const char *folder = argc > 2 ? argv[2] : "/tmp";
    static const struct {
        const char *name;
        size_t m;
        double v1, v2, dbar;
        bool several;
    } kinds[] = {
        {"one bar, 10 lengths", 10, 0.2, 0.8, 10, false},
        {"one bar, 10 small lengths", 10, 0.05, 0.3, 5, false},
        {"one bar, 20 lengths", 20, 0.1, 0.7, 5, false},
        {"shop job, 6 lengths", 6, 0.1, 0.6, 4, true},
        {"shop job, 10 lengths", 10, 0.1, 0.6, 4, true},
        {"shop job, 15 lengths", 15, 0.1, 0.6, 3, true},
        {"shop job, 20 lengths", 20, 0.1, 0.6, 3, true},
        {"shop job, 40 lengths", 40, 0.1, 0.6, 2, true},
    };
    int64_t seed = 1994;
    struct tally tally = {0};
    printf("| instance | lengths | pieces | dropwise | glpsol, arc-flow | CBC, arc-flow | glpsol, "
           "assignment | CBC, assignment | first-fit by hand | best-fit by hand |\n"
           "| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |\n");
    for (size_t j = 0; j < sizeof kinds / sizeof kinds[0]; j++) {
        struct problem problem = make(kinds[j].name, &seed, kinds[j].m, kinds[j].v1, kinds[j].v2,
                                      kinds[j].dbar, kinds[j].several);
        compare(&problem, limit, folder, &tally);
        bench_list_free(&problem.list);
    }
    print_tally(&tally, limit);
    return 0;
}
