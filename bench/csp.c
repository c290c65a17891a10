/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Published cutting-stock instances: one bar length, every bar costs the same, fewest bars.
 *
 * usage: csp [--time S] [--jobs N] FILE.csp...
 *
 * A file holds instances one after another:
 *     instance NAME capacity C items M known LOWER UPPER
 *     WIDTH DEMAND        (M lines)
 *
 * One line an instance: NAME value bound known-lower known-upper status seconds cpu-seconds
 * and one a file:       FILE solved/total mean-s max-s mean-cpu-s max-cpu-s
 * (cpu: of the solving thread, which a machine with other work to do does not stretch.)
 * Every plan goes through dw_plan_check; one that fails it, or contradicts what is known, makes the
 * exit status 1. --jobs instances are solved side by side, one thread each. */
#include "bench.h"

#include <pthread.h>

enum { UNIT_NM = 1000000 };

struct instance {
    char name[128];
    int64_t capacity, lower, upper;
    struct bench_list list;
};

struct file {
    const char *path;
    size_t n, room;
    struct instance *instances; /* length n */
};

/* What the workers share; `lock` guards it and standard output. */
struct run {
    pthread_mutex_t lock;
    const struct file *file;
    int64_t time_ms;
    size_t next;
    size_t solved;
    double sum, most;         /* seconds */
    double cpu_sum, cpu_most; /* of the processor */
    bool wrong;
};

/* --- reading ---------------------------------------------------------------------------------- */

static bool read_instance(FILE *in, struct instance *out)
{
    size_t n = 0;
    if (fscanf(in, " instance %127s capacity %" SCNd64 " items %zu known %" SCNd64 " %" SCNd64,
               out->name, &out->capacity, &n, &out->lower, &out->upper) != 5)
        return false;
    out->list = (struct bench_list){.n = n,
                                    .size = bench_must(calloc(n + 1, sizeof(int64_t))),
                                    .demand = bench_must(calloc(n + 1, sizeof(int64_t)))};
    for (size_t i = 0; i < n; i++)
        if (fscanf(in, "%" SCNd64 " %" SCNd64, &out->list.size[i], &out->list.demand[i]) != 2)
            return false;
    return true;
}

static struct file read_file(const char *path)
{
    struct file file = {.path = path};
    FILE *in = fopen(path, "r");
    if (!in) {
        perror(path);
        exit(2);
    }
    for (struct instance one = {0}; read_instance(in, &one);) {
        if (file.n == file.room) {
            file.room = 2 * file.room + 16;
            file.instances =
                bench_must(realloc(file.instances, file.room * sizeof *file.instances));
        }
        file.instances[file.n++] = one;
    }
    if (!feof(in)) {
        fprintf(stderr, "%s: not an instance after number %zu\n", path, file.n);
        exit(2);
    }
    fclose(in);
    return file;
}

static void free_file(struct file *file)
{
    for (size_t k = 0; k < file->n; k++)
        bench_list_free(&file->instances[k].list);
    free(file->instances);
}

/* --- solving ---------------------------------------------------------------------------------- */

static const char *status_name(enum dw_status status)
{
    switch (status) {
    case DW_STATUS_OPTIMAL:
        return "optimal";
    case DW_STATUS_WITHIN:
        return "within";
    case DW_STATUS_STOPPED:
        return "stopped";
    default:
        return "infeasible";
    }
}

/* One supply at the price 1, so money is bars. */
static struct dw_job *make_job(const struct instance *instance)
{
    struct dw_job *job = bench_job(&instance->list, UNIT_NM, 1);
    job->supplies[0].length = instance->capacity * UNIT_NM;
    job->supplies[0].price = 1;
    return job;
}

static void report(struct run *run, const struct instance *instance, const struct dw_job *job,
                   const struct dw_plan *plan, double seconds, double cpu)
{
    struct dw_report remarks = {0};
    struct dw_error error = {0};
    int64_t value = plan->totals.value;
    bool optimal = plan->status == DW_STATUS_OPTIMAL;
    bool wrong = dw_plan_check(job, plan, &remarks, &error) != DW_OK ||
                 plan->bound > instance->upper || value < instance->lower ||
                 (optimal && value > instance->upper);
    dw_report_free(&remarks);
    pthread_mutex_lock(&run->lock);
    printf("%s %" PRId64 " %" PRId64 " %" PRId64 " %" PRId64 " %s %.3f %.3f\n", instance->name,
           value, plan->bound, instance->lower, instance->upper,
           wrong ? "WRONG" : status_name(plan->status), seconds, cpu);
    fflush(stdout);
    run->solved += optimal && !wrong;
    run->wrong |= wrong;
    run->sum += seconds;
    if (seconds > run->most)
        run->most = seconds;
    run->cpu_sum += cpu;
    if (cpu > run->cpu_most)
        run->cpu_most = cpu;
    pthread_mutex_unlock(&run->lock);
}

/* Of this thread: one instance is one group, solved where the call is made. */
static double cpu_seconds(void)
{
    struct timespec now;
    clock_gettime(CLOCK_THREAD_CPUTIME_ID, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static void *work(void *shared)
{
    struct run *run = shared;
    const struct dw_settings settings = bench_settings(run->time_ms);
    for (;;) {
        pthread_mutex_lock(&run->lock);
        size_t k = run->next++;
        pthread_mutex_unlock(&run->lock);
        if (k >= run->file->n)
            return NULL;
        struct dw_job *job = make_job(&run->file->instances[k]);
        double start = bench_seconds(), cpu = cpu_seconds();
        struct dw_plan *plan = bench_solve(job, &settings);
        report(run, &run->file->instances[k], job, plan, bench_seconds() - start,
               cpu_seconds() - cpu);
        dw_plan_free(plan);
        dw_job_free(job);
    }
}

/* true: all right. */
static bool run_file(const char *path, int64_t time_ms, size_t n_workers)
{
    struct file file = read_file(path);
    struct run run = {.lock = PTHREAD_MUTEX_INITIALIZER, .file = &file, .time_ms = time_ms};
    pthread_t *workers = bench_must(calloc(n_workers, sizeof *workers));
    for (size_t w = 0; w < n_workers; w++)
        if (pthread_create(&workers[w], NULL, work, &run) != 0) {
            fprintf(stderr, "cannot start a thread\n");
            exit(3);
        }
    for (size_t w = 0; w < n_workers; w++)
        pthread_join(workers[w], NULL);
    const char *name = strrchr(path, '/');
    double n = file.n > 0 ? (double)file.n : 1;
    printf("%s %zu/%zu %.3f %.3f %.3f %.3f\n", name ? name + 1 : path, run.solved, file.n,
           run.sum / n, run.most, run.cpu_sum / n, run.cpu_most);
    fflush(stdout);
    free(workers);
    free_file(&file);
    return !run.wrong;
}

/* The number after an option, within 1..most; ends the program otherwise. */
static double number_after(int argc, char **argv, int at, double most)
{
    char *end = NULL;
    double number = at + 1 < argc ? strtod(argv[at + 1], &end) : 0;
    if (!end || *end || !(number > 0) || number > most) {
        fprintf(stderr, "%s takes a number above 0, at most %.0f\n", argv[at], most);
        exit(2);
    }
    return number;
}

int main(int argc, char **argv)
{
    double seconds = 60, n_workers = 1;
    bool right = true;
    int n_files = 0;
    for (int k = 1; k < argc; k++) {
        if (strcmp(argv[k], "--time") == 0) {
            seconds = number_after(argc, argv, k++, 86400);
        } else if (strcmp(argv[k], "--jobs") == 0) {
            n_workers = number_after(argc, argv, k++, 256);
        } else {
            right &= run_file(argv[k], (int64_t)(seconds * 1000), (size_t)n_workers);
            n_files++;
        }
    }
    if (n_files == 0) {
        fprintf(stderr, "usage: csp [--time S] [--jobs N] FILE.csp...\n");
        return 2;
    }
    return right ? 0 : 1;
}
