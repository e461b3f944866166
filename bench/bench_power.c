// SPDX-License-Identifier: GPL-3.0-or-later
// Cost of the electrical side inside a morning: warm calls as the loads warm up, with a switch now and then.
#define _POSIX_C_SOURCE 200809L
#include <stdio.h>
#include <time.h>

#include "../tests/power/demo.h"

static double now_s(void) {
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

int main(void) {
    const OwElectricSpec spec = demo_spec();
    OwPower *power;
    if (ow_power_create_from(&spec, &power, NULL) != OW_OK) {
        return 1;
    }
    const int calls = 1000, rounds = 400;
    for (int mode = 0; mode < 2; mode++) {
        double best = 1e9, sum = 0.0;
        long sweeps = 0;
        for (int r = 0; r < rounds; r++) {
            OwPowerWork work = {0};
            OwPowerResult result;
            OwPowerInput in = demo_input(power, DEMO_PREHEAT);
            const double start = now_s();
            for (int k = 0; k < calls; k++) {
                if (mode == 1 && k % 100 == 50) { // another state: key on, crank, idle, after-glow, drive ...
                    const double charge = in.battery_charge;
                    in = demo_input(power, k / 100 % DEMO_STATES);
                    in.battery_charge = charge;
                }
                in.load_ohm[DEMO_CHAMBER] = 0.5 + 4e-4 * k;
                in.load_ohm[DEMO_FILTER] = 1.0 + 5e-4 * k;
                if (ow_power_volts(power, &in, &work, &result) != OW_OK) {
                    return 1;
                }
                in.battery_charge += 0.5 * result.charge_rate_1_s;
                sweeps += result.iterations;
                sum += result.load_v[DEMO_CHAMBER];
            }
            const double took = now_s() - start;
            best = took < best ? took : best;
        }
        printf("%s: %.3f us a call, %.2f sweeps a call (mean volts %.2f)\n",
               mode ? "ten changes of state in 1000" : "one state, loads warming", 1e6 * best / calls,
               (double)sweeps / ((double)calls * rounds), sum / ((double)calls * rounds));
    }
    ow_power_destroy(&power);
    return 0;
}
