/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How cost grows: time of a plan against distinct lengths, pieces, capacity and supplies, one of
 * them varied at a time. Prints a table; with a file name writes the plot as SVG.
 *
 * usage: growth [PLOT.svg] */
#include "bench.h"

#include <math.h>

enum { REPEATS = 5, MAX_POINTS = 8, N_CURVES = 4 };

struct setting {
    size_t lengths;
    double dbar;
    int64_t capacity;
    size_t supplies;
};

static double median_seconds(const struct setting *setting)
{
    double seconds[REPEATS];
    for (int r = 0; r < REPEATS; r++) {
        int64_t seed = 1994 + r;
        struct bench_list list =
            bench_cutgen1(&seed, setting->lengths, setting->capacity, 0.05, 0.6, setting->dbar);
        struct dw_job *job = bench_job(&list, 25400, setting->supplies);
        for (size_t k = 0; k < setting->supplies; k++) {
            double part = 1 - 0.5 * (double)k / (double)setting->supplies;
            job->supplies[k].length = (int64_t)(part * (double)setting->capacity) * 25400;
            job->supplies[k].price = (int64_t)((part + 0.02 * (double)(k % 3)) * 30 * DW_MONEY_ONE);
            job->supplies[k].count = k > 2 ? 1 : DW_UNLIMITED;
        }
        job->supplies[0].length = setting->capacity * 25400;
        struct dw_settings settings = bench_settings(60000);
        double start = bench_seconds();
        dw_plan_free(bench_solve(job, &settings));
        seconds[r] = bench_seconds() - start;
        dw_job_free(job);
        bench_list_free(&list);
        for (int i = r; i > 0 && seconds[i] < seconds[i - 1]; i--) {
            double swap = seconds[i];
            seconds[i] = seconds[i - 1];
            seconds[i - 1] = swap;
        }
    }
    return seconds[REPEATS / 2];
}

struct curve {
    const char *name;
    int n;
    double x[MAX_POINTS];
    double seconds[MAX_POINTS];
};

/* --- plot, log against log -------------------------------------------------------------------- */

static void plot(const struct curve *curves, const char *path)
{
    FILE *file = bench_must(fopen(path, "w"));
    static const char *dashes[N_CURVES] = {"none", "8 4", "2 4", "12 4 2 4"};
    fprintf(file, "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 720 460\" "
                  "font-family=\"sans-serif\" font-size=\"13\">\n"
                  "<rect width=\"720\" height=\"460\" fill=\"white\"/>\n"
                  "<text x=\"60\" y=\"24\">seconds to a plan, median of five; both scales "
                  "logarithmic</text>\n");
    for (int e = -4; e <= 2; e++) {
        double y = 400 - (e + 4) * 60.0;
        fprintf(file,
                "<path d=\"M60 %.0f H560\" stroke=\"#ccc\"/><text x=\"52\" y=\"%.0f\" "
                "text-anchor=\"end\">%g</text>\n",
                y, y + 4, pow(10, e));
    }
    for (int c = 0; c < N_CURVES; c++) {
        const struct curve *curve = &curves[c];
        fprintf(file, "<polyline fill=\"none\" stroke=\"black\" stroke-dasharray=\"%s\" points=\"",
                dashes[c]);
        double base = log10(curve->x[0]), y = 0;
        for (int i = 0; i < curve->n; i++) {
            double seconds = curve->seconds[i] > 1e-4 ? curve->seconds[i] : 1e-4;
            y = 400 - (log10(seconds) + 4) * 60;
            fprintf(file, "%.1f,%.1f ", 60 + (log10(curve->x[i]) - base) * 200, y);
        }
        fprintf(file, "\"/>\n<text x=\"%.0f\" y=\"%.0f\">%s</text>\n",
                66 + (log10(curve->x[curve->n - 1]) - base) * 200, y + 4, curve->name);
    }
    fprintf(file, "<text x=\"60\" y=\"440\">from the smallest value of each, one decade = 200 "
                  "units to the right</text>\n</svg>\n");
    fclose(file);
}

int main(int argc, char **argv)
{
    static const double values[N_CURVES][MAX_POINTS] = {
        {5, 10, 20, 40, 80, 160},
        {1, 3, 10, 30, 100, 1000},
        {1000, 3000, 10000, 30000, 100000, 300000},
        {1, 2, 4, 8, 16, 32},
    };
    struct curve curves[N_CURVES] = {{.name = "distinct lengths"},
                                     {.name = "pieces a length"},
                                     {.name = "bar in 0.001 in"},
                                     {.name = "supplies"}};
    printf("| varied | value | median s |\n| --- | --- | --- |\n");
    for (int c = 0; c < N_CURVES; c++)
        for (int i = 0; i < 6; i++) {
            struct setting setting = {20, 10, 10000, 3};
            double x = values[c][i];
            setting.lengths = c == 0 ? (size_t)x : setting.lengths;
            setting.dbar = c == 1 ? x : setting.dbar;
            setting.capacity = c == 2 ? (int64_t)x : setting.capacity;
            setting.supplies = c == 3 ? (size_t)x : setting.supplies;
            curves[c].x[curves[c].n] = x;
            curves[c].seconds[curves[c].n++] = median_seconds(&setting);
            printf("| %s | %g | %.4f |\n", curves[c].name, x, curves[c].seconds[i]);
            fflush(stdout);
        }
    if (argc > 1)
        plot(curves, argv[1]);
    return 0;
}
