// SPDX-License-Identifier: GPL-3.0-or-later
// A sizing over three choices on the demo van, beside a search that simulates every combination in full:
// time, how many were looked at, and whether both give the same answer. Ends 0 when they do and the sizing
// takes less than 5 s (by the wall, or by the processor where the machine is busy with other things).
#define _POSIX_C_SOURCE 200809L
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

#include "oilwright/size.h"

static double now_s(void) {
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static double cpu_s(void) {
    struct timespec t;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

int main(int argc, char **argv) {
    static const char *const vary[] = {"boost chamber.power", "boost chamber.metal mass", "rear pump.class"};
    const char *path = argc > 1 ? argv[1] : OW_EXAMPLES "/orchard-van.yaml";
    OwUnits *units = NULL;
    OwRig *rig = NULL;
    OwFaults faults = {0};
    OwSizeGoal goals[OW_SIZE_MAX_GOALS];
    OwSizing *made[2] = {NULL, NULL};
    int count = 0;
    double least_s = 1e9;
    if (ow_units_create(&units) != OW_OK || ow_rig_read_file(path, units, &rig, &faults) != OW_OK ||
        ow_size_goals_read("ready in 80 s at -10 degC", units, goals, &count, &faults) != OW_OK) {
        return 2;
    }
    puts("three choices on the demo van, ready in 80 s at -10 degC, 2 threads");
    for (int k = 0; k < 2; k++) {
        OwSizeSettings settings = ow_size_default();
        settings.vary = vary;
        settings.vary_count = 3;
        settings.is_exhaustive = k == 1;
        settings.has_front = settings.has_exact = k == 0; // the other is only the plain search
        const double start = now_s(), cpu = cpu_s();
        if (ow_size_create(rig, goals, count, &settings, OW_DISPLAY_METRIC, &made[k], &faults) != OW_OK) {
            return 2;
        }
        const double took = now_s() - start;
        const double used = cpu_s() - cpu;
        least_s = k == 0 ? fmin(took, used) : least_s;
        printf("%-42s %6.2f s wall, %6.2f s of processor; %ld of %ld looked at; cost %.2f, ready %.1f s\n",
               k == 0 ? "sizing with front and exact sizes" : "every combination in full", took, used,
               made[k]->tried, made[k]->combinations, made[k]->cost, made[k]->ready_s);
    }
    const bool is_same = memcmp(made[0]->option, made[1]->option, sizeof made[0]->option) == 0 &&
                         fabs(made[0]->cost - made[1]->cost) < 1e-9;
    printf("same answer: %s; sizing below 5 s: %s; front of %d points\n", is_same ? "yes" : "NO",
           least_s < 5.0 ? "yes" : "NO", made[0]->front_count);
    ow_size_destroy(&made[0]);
    ow_size_destroy(&made[1]);
    ow_rig_destroy(&rig);
    ow_units_destroy(&units);
    ow_faults_clear(&faults);
    return is_same && least_s < 5.0 ? 0 : 1;
}
