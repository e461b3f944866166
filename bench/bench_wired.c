// SPDX-License-Identifier: GPL-3.0-or-later
// What the wired network costs a morning: the same van with it and with round figures for the volts, run in
// turn.
#define _POSIX_C_SOURCE 200809L
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include "oilwright/morning.h"

enum { ROUNDS = 40 };

static double cpu_s(void) {
    struct timespec t;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static int by_size(const void *a, const void *b) {
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

int main(int argc, char **argv) {
    OwUnits *units = NULL;
    OwRig *rig[2] = {NULL, NULL};
    OwPlan *plan[2] = {NULL, NULL};
    OwMorning *morning[2] = {NULL, NULL};
    OwFaults faults = {0};
    const OwMorningSettings settings = ow_morning_default();
    if (argc < 2 || ow_units_create(&units) != OW_OK) {
        return 2;
    }
    for (int k = 0; k < 2; k++) {
        if (ow_rig_read_file(argv[1], units, &rig[k], &faults) != OW_OK) {
            return 2;
        }
        if (k == 1) {
            rig[k]->electric_spec = NULL; // round figures
        }
        if (ow_plan_create(rig[k], &plan[k], &faults) != OW_OK ||
            ow_morning_create(plan[k], &settings, &morning[k]) != OW_OK) {
            return 1;
        }
    }
    double took_s[2][ROUNDS];
    for (int r = 0; r < ROUNDS; r++) {
        for (int k = 0; k < 2; k++) {
            const double start_s = cpu_s();
            if (ow_morning_repeat(morning[k]) != OW_OK) {
                return 1;
            }
            took_s[k][r] = cpu_s() - start_s;
        }
    }
    double each_s[2];
    for (int k = 0; k < 2; k++) {
        qsort(took_s[k], ROUNDS, sizeof took_s[k][0], by_size);
        const long evaluations = ow_morning_record(morning[k])->stats.evaluations;
        each_s[k] = took_s[k][ROUNDS / 2] / (double)evaluations;
        printf("%-14s %6.2f ms a morning, %ld steps, %ld evaluations, %.2f us each\n",
               k == 0 ? "wired" : "round figures", 1e3 * took_s[k][ROUNDS / 2],
               ow_morning_record(morning[k])->stats.steps, evaluations, 1e6 * each_s[k]);
    }
    // The two mornings differ a little in their events, so the cost is taken per evaluation.
    printf("the network costs %.1f %% of a wired morning\n", 100.0 * (1.0 - each_s[1] / each_s[0]));
    for (int k = 0; k < 2; k++) {
        ow_morning_destroy(&morning[k]);
        ow_plan_destroy(&plan[k]);
        ow_rig_destroy(&rig[k]);
    }
    ow_units_destroy(&units);
    ow_faults_clear(&faults);
    return 0;
}
