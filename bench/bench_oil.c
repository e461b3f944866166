// SPDX-License-Identifier: GPL-3.0-or-later
// Cost of all properties of an oil at one temperature: the tables of the morning beside the formulas
// evaluated directly.
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "oilwright/oil.h"

static double now_s(void) {
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/// The same eight properties by pow, log and exp, without crystals or bands: what a straightforward program
/// would do each time.
static double direct(double a, double b, double temperature_k) {
    const double kinematic = ow_oil_walther_value(a, b, temperature_k);
    const double density = 922.5 - 0.67 * (temperature_k - 288.15);
    const double heat = 1415.0 + 2.0 * temperature_k, conductivity = 0.168 - 1e-4 * (temperature_k - 293.15);
    const double tension = 0.033 - 7e-5 * (temperature_k - 293.15), solubility = 0.08;
    const double floor_pa = 101325.0 * solubility / (solubility + 0.0204);
    const double wax = exp(-10224.0 * (1.0 / temperature_k - 1.0 / 279.15));
    return kinematic + kinematic * density + density + heat + conductivity + tension + floor_pa + wax;
}

int main(void) {
    enum { COUNT = 4096, ROUNDS = 2000 };
    OwFluid *fluid = malloc(sizeof *fluid);
    double *temperature = malloc(COUNT * sizeof *temperature);
    OwOilSpec spec = {.name = "rapeseed"};
    if (!fluid || !temperature || ow_oil_make(&spec, fluid, NULL) != OW_OK) {
        fputs("the oil cannot be made\n", stderr);
        return 1;
    }
    unsigned seed = 1;
    for (int i = 0; i < COUNT;
         ++i) { // scattered over -30 to 150 degC, so that no look-up follows from the last
        seed = seed * 1664525u + 1013904223u;
        temperature[i] = 243.15 + 180.0 * (double)(seed >> 8) / 16777216.0;
    }
    const OwViscosityPoint points[] = {{313.15, 35e-6}, {373.15, 8e-6}};
    double a, b, sum = 0.0;
    if (ow_oil_walther_fit(points, 2, &a, &b) != OW_OK) {
        return 1;
    }
    double start = now_s();
    for (int r = 0; r < ROUNDS; ++r) {
        for (int i = 0; i < COUNT; ++i) {
            OwOilState s;
            ow_oil_state(fluid, temperature[i], &s);
            sum += s.kinematic_m2_s + s.dynamic_pa_s + s.density_kg_m3 + s.specific_heat_j_kgk +
                   s.conductivity_w_mk + s.surface_tension_n_m + s.air_floor_pa + s.wax_share;
        }
    }
    const double table_ns = 1e9 * (now_s() - start) / ((double)COUNT * ROUNDS);
    start = now_s();
    for (int r = 0; r < ROUNDS / 20; ++r) {
        for (int i = 0; i < COUNT; ++i) {
            sum += direct(a, b, temperature[i]);
        }
    }
    const double direct_ns = 1e9 * (now_s() - start) / ((double)COUNT * (ROUNDS / 20));
    start = now_s();
    for (int i = 0; i < 50; ++i) {
        if (ow_oil_make(&spec, fluid, NULL) != OW_OK) {
            return 1;
        }
    }
    printf("all properties at one temperature: table %.1f ns, direct formulas (pow, log, exp) %.1f ns, %.1f "
           "times\n",
           table_ns, direct_ns, direct_ns / table_ns);
    printf("building a fluid: %.3f ms   (sum %.6g)\n", 1e3 * (now_s() - start) / 50.0, sum);
    free(temperature);
    free(fluid);
    return table_ns < 100.0 ? 0 : 1;
}
