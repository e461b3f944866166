// SPDX-License-Identifier: GPL-3.0-or-later
// Efflux cups and hydrometers.
#include "oil/fluids.h"

#include <math.h>

OwStatus ow_oil_cup_viscosity(int nozzle_mm, double seconds, double *kinematic_m2_s) {
    // ISO 2431: v = a t - b / t in mm2/s for 30 to 100 s.
    static const double a[] = {0.443, 1.37, 3.28, 6.90}, b[] = {200.0, 200.0, 220.0, 570.0};
    if (!kinematic_m2_s) {
        return OW_ERROR_USE;
    }
    if (nozzle_mm < 3 || nozzle_mm > 6 || !(seconds > 0.0 && seconds < 1e5)) {
        return OW_ERROR_VALUE;
    }
    const double v = a[nozzle_mm - 3] * seconds - b[nozzle_mm - 3] / seconds;
    if (!(v > 0.2)) { // so short that only the jet's inertia is timed
        return OW_ERROR_VALUE;
    }
    *kinematic_m2_s = 1e-6 * v;
    return seconds >= 30.0 && seconds <= 100.0 ? OW_OK : OW_ERROR_RANGE;
}

double ow_oil_hydrometer_15(double reading_kg_m3, double temperature_k, OwOilKind kind) {
    const double warm = temperature_k - 288.15;
    const double density =
        reading_kg_m3 * (1.0 - 25e-6 * warm); // the glass has grown: ISO 649-1, soda-lime glass
    return density - ow_oil_density_slope(kind) * warm;
}
