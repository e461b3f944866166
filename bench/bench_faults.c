// SPDX-License-Identifier: GPL-3.0-or-later
// The walk through every single failure of the demo van: seconds on one and two cores. Aim: 60 failures in
// under 2 s on 2.
#define _POSIX_C_SOURCE 200809L
#include <stdio.h>
#include <time.h>

#include "oilwright/faults.h"

static double now_s(void) {
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

int main(int argc, char **argv) {
    const char *file = argc > 1 ? argv[1] : "examples/orchard-van.yaml";
    OwUnits *units = NULL;
    OwRig *rig = NULL;
    OwFaults faults = {0};
    if (ow_units_create(&units) != OW_OK || ow_rig_read_file(file, units, &rig, &faults) != OW_OK) {
        fprintf(stderr, "bench_faults: %s cannot be read\n", file);
        return 1;
    }
    int code = 0;
    for (int threads = 1; threads <= 2; threads++) {
        OwFailureSettings settings = ow_failure_default();
        settings.threads = threads;
        double best = 1e9;
        int failures = 0, runs = 0;
        for (int i = 0; i < 3; i++) {
            OwFailureWalk *walk = NULL;
            const double start = now_s();
            if (ow_failure_create(rig, &settings, OW_DISPLAY_METRIC, &walk, &faults) != OW_OK) {
                return 1;
            }
            const double took = now_s() - start;
            best = took < best ? took : best;
            failures = walk->failure_count;
            runs = walk->runs;
            ow_failure_destroy(&walk);
        }
        printf("%d thread%s: %d failures, %d of them distinct, in %.3f s: %.1f ms a failure\n", threads,
               threads > 1 ? "s" : "", failures, runs, best, 1e3 * best / failures);
        if (threads == 2 && best * 60.0 / failures > 2.0) {
            puts("over the aim of 60 failures in 2 s");
            code = 1;
        }
    }
    ow_faults_clear(&faults);
    ow_rig_destroy(&rig);
    ow_units_destroy(&units);
    return code;
}
