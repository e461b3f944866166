// SPDX-License-Identifier: GPL-3.0-or-later
// Water and what an oil dissolves of it.
#include "yard/guard.h"

#include <math.h>
#include <stdio.h>

OwYardTime ow_yard_answer(OwReach reach, const char *format, ...) {
    OwYardTime time = {.reach = reach};
    va_list list;
    va_start(list, format);
    vsnprintf(time.reason, sizeof time.reason, format, list);
    va_end(list);
    return time;
}

OwYardTime ow_yard_after(double time_s) {
    if (!(time_s >= 0.0) || time_s > OW_YARD_LONGEST_S) {
        return ow_yard_answer(OW_REACH_NEVER, "it would take more than ten years");
    }
    return (OwYardTime){.reach = OW_REACH_YES, .time_s = time_s};
}

OwDegrees ow_degrees(double temperature_k) {
    OwDegrees d;
    const double c = ow_hold(temperature_k, 0.0, 1e4) - OW_ZERO_CELSIUS_K;
    snprintf(d.text, sizeof d.text, "%.0f °C (%.0f °F)", c + 0.0, 1.8 * c + 32.0);
    return d;
}

double ow_water_density(double temperature_k) {
    const double t = ow_hold(temperature_k - OW_ZERO_CELSIUS_K, 0.0, 150.0);
    const double top =
        999.83952 +
        t * (16.945176 + t * (-7.9870401e-3 + t * (-46.170461e-6 + t * (105.56302e-9 - t * 280.54253e-12))));
    return top / (1.0 + 16.879850e-3 * t);
}

double ow_water_viscosity(double temperature_k) {
    return 2.414e-5 * pow(10.0, 247.8 / (ow_hold(temperature_k, 273.15, 643.15) - 140.0));
}

OwSolubility ow_yard_solubility_default(void) {
    return (OwSolubility){.a = 5.3318,
                          .b_k = 684.0,
                          .low = 0.75,
                          .high = 1.6,
                          .trust = OW_TRUST_ASSUMED,
                          .source = "line of vegetable-oil transformer fluids, from memory; agrees with "
                                    "Hilder 1968 (from memory) and "
                                    "with a published data sheet at 25 °C"};
}

OwStatus ow_yard_solubility_fit(double t1_k, double share1, double t2_k, double share2,
                                OwSolubility *solubility) {
    if (!solubility) {
        return OW_ERROR_USE;
    }
    if (!ow_is_positive(t1_k) || !ow_is_positive(t2_k) || !ow_is_positive(share1) ||
        !ow_is_positive(share2) || share1 > 0.1 || share2 > 0.1 || fabs(t1_k - t2_k) < 1.0) {
        return OW_ERROR_VALUE;
    }
    const double b = log10(share2 / share1) / (1.0 / t1_k - 1.0 / t2_k);
    if (!(b >= 0.0)) {
        return OW_ERROR_VALUE;
    }
    *solubility = (OwSolubility){.a = log10(1e6 * share1) + b / t1_k,
                                 .b_k = b,
                                 .low = 0.9,
                                 .high = 1.1,
                                 .trust = OW_TRUST_MEASURED,
                                 .source = "two points given"};
    return OW_OK;
}

double ow_yard_soluble(const OwSolubility *solubility, double temperature_k) {
    const double share =
        1e-6 * pow(10.0, solubility->a - solubility->b_k / ow_hold(temperature_k, 250.0, 400.0));
    return ow_hold(share, 1e-9, 0.5);
}

double ow_yard_activity(const OwSolubility *solubility, double water_share, double temperature_k) {
    return ow_hold(water_share / ow_yard_soluble(solubility, temperature_k), 0.0, 1.0);
}

OwReappear ow_yard_reappear(const OwSolubility *solubility, double water_share, double hot_k, double cold_k,
                            double oil_kg) {
    const double water = ow_hold(water_share, 0.0, 1.0), oil = ow_positive(oil_kg, 0.0);
    OwReappear r = {.dissolved_hot = fmin(water, ow_yard_soluble(solubility, hot_k)),
                    .dissolved_cold = fmin(water, ow_yard_soluble(solubility, cold_k))};
    r.free_hot = water - r.dissolved_hot;
    r.free_cold = water - r.dissolved_cold;
    r.free_kg = fmax(r.dissolved_hot - r.dissolved_cold, 0.0) * oil;
    r.free_m3 = r.free_kg / ow_water_density(cold_k);
    return r;
}
