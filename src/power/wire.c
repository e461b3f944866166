// SPDX-License-Identifier: GPL-3.0-or-later
// Copper wire: sections, resistance by table and temperature, names of sizes.
#include "power/wire.h"

#include <math.h>
#include <stdio.h>

// Metric sections, their greatest resistance at 20 degC in mohm/m by ISO 6722 (table of conductor
// resistances, from memory, so held between solid copper and IEC 60228 class 5 by a test) and by IEC 60228
// class 5 (0: not in that table), and the thickness of thin-wall insulation in mm (ISO 6722, from memory).
static const struct {
    double mm2, iso6722, class5, wall_mm;
} metric[] = {
    {0.35, 54.4, 0.0, 0.20},    {0.5, 37.1, 39.0, 0.22},     {0.75, 24.7, 26.0, 0.24},
    {1.0, 18.5, 19.5, 0.24},    {1.5, 12.7, 13.3, 0.24},     {2.0, 9.42, 0.0, 0.28},
    {2.5, 7.60, 7.98, 0.28},    {3.0, 6.15, 0.0, 0.32},      {4.0, 4.71, 4.95, 0.32},
    {5.0, 3.94, 0.0, 0.32},     {6.0, 3.14, 3.30, 0.32},     {8.0, 2.38, 0.0, 0.40},
    {10.0, 1.82, 1.91, 0.48},   {16.0, 1.16, 1.21, 0.52},    {25.0, 0.743, 0.78, 0.52},
    {35.0, 0.527, 0.554, 0.64}, {50.0, 0.368, 0.386, 0.72},  {70.0, 0.259, 0.272, 0.80},
    {95.0, 0.196, 0.206, 0.88}, {120.0, 0.153, 0.161, 0.88},
};
#define METRIC_COUNT ((int)(sizeof metric / sizeof metric[0]))

// AWG sizes in use on vehicles, thin to thick; -1, -2, -3 are 2/0, 3/0, 4/0.
static const int awg_sizes[] = {20, 18, 16, 14, 12, 10, 8, 6, 4, 2, 1, 0, -1, -2, -3};
#define AWG_COUNT ((int)(sizeof awg_sizes / sizeof awg_sizes[0]))

#define COPPER_OHM_M 17.241e-9 // IEC 60028: annealed copper at 20 degC
#define STRANDING 1.02         // longer lay of the strands, usual allowance

static int metric_index(double area_m2) {
    for (int i = 0; i < METRIC_COUNT; i++) {
        if (fabs(area_m2 * 1e6 - metric[i].mm2) < 1e-4 * metric[i].mm2) {
            return i;
        }
    }
    return -1;
}

double ow_wire_ohm_m(double area_m2, double temperature_k) {
    const double area = area_m2 > 1e-9 ? area_m2 : 1e-9;
    const int i = metric_index(area);
    const double cold = i >= 0 ? metric[i].iso6722 * 1e-3 : STRANDING * COPPER_OHM_M / area;
    const double t = fmin(fmax(temperature_k, 200.0), 1350.0);
    return cold * (1.0 + OW_COPPER_RISE_1_K * (t - 293.15));
}

double ow_wire_iec60228_ohm_m(double area_m2) {
    const int i = metric_index(area_m2);
    return i >= 0 ? metric[i].class5 * 1e-3 : 0.0;
}

double ow_wire_awg_area(int awg) {
    const int n = awg < -3 ? -3 : (awg > 36 ? 36 : awg);
    const double d = 0.127e-3 * pow(92.0, (36.0 - n) / 39.0);
    return 0.25 * M_PI_OW * d * d;
}

int ow_wire_awg_near(double area_m2) {
    int best = 36;
    double gap = INFINITY;
    for (int n = -3; n <= 36; n++) {
        const double g = fabs(log(ow_wire_awg_area(n) / (area_m2 > 1e-9 ? area_m2 : 1e-9)));
        if (g < gap) {
            gap = g;
            best = n;
        }
    }
    return best;
}

void ow_wire_text(double area_m2, bool us, char *text, size_t size) {
    if (!us) {
        snprintf(text, size, "%.3g mm2", area_m2 * 1e6);
        return;
    }
    const int n = ow_wire_awg_near(area_m2);
    if (n < 0) {
        snprintf(text, size, "AWG %d/0", 1 - n);
    } else {
        snprintf(text, size, "AWG %d", n);
    }
}

int ow_wire_sizes(bool us, double *area_m2, int size) {
    const int count = us ? AWG_COUNT : METRIC_COUNT;
    for (int i = 0; i < count && i < size; i++) {
        area_m2[i] = us ? ow_wire_awg_area(awg_sizes[i]) : metric[i].mm2 * 1e-6;
    }
    return count;
}

double ow_power_conductor_diameter(double area_m2) {
    // round bundle of strands, three quarters of it copper
    return sqrt(4.0 * area_m2 / (M_PI_OW * 0.75));
}

double ow_power_wall(double area_m2) {
    const double mm2 = area_m2 * 1e6;
    int i = 0;
    while (i + 1 < METRIC_COUNT && metric[i].mm2 < mm2 * 0.999) {
        i++;
    }
    return metric[i].wall_mm * 1e-3;
}
