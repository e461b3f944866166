// SPDX-License-Identifier: GPL-3.0-or-later
// Air that a suction draws in through a hole, told to the flow model as air that comes out of solution.
#include "judge/faults.h"

#include <math.h>

#define HOLE_COEFFICIENT 0.6
#define AIR_J_KGK 287.05
#define AIR_K 288.15 // ISO 2533 sea level
#define CHOKED 0.528 // of the outer pressure, for k = 1.4

double ow_failure_air_flow(double hole_m, double inside_gauge_pa) {
    if (!(hole_m > 0.0) || !(inside_gauge_pa < 0.0)) {
        return 0.0;
    }
    const double k = 1.4;
    const double ratio = fmax((OW_ATMOSPHERE_PA + inside_gauge_pa) / OW_ATMOSPHERE_PA, CHOKED);
    // Mass flow over density at 1 atm: C A sqrt(2 k/(k-1) R T (r^(2/k) - r^((k+1)/k))).
    const double speed =
        sqrt(2.0 * k / (k - 1.0) * AIR_J_KGK * AIR_K * (pow(ratio, 2.0 / k) - pow(ratio, (k + 1.0) / k)));
    return HOLE_COEFFICIENT * 0.25 * 3.14159265358979323846 * hole_m * hole_m * speed;
}

double ow_failure_air_solubility(double solubility, double air_m3_s, double oil_m3_s, double gauge_pa) {
    double sum = solubility;
    if (gauge_pa < 0.0 && oil_m3_s > 0.0 && air_m3_s > 0.0) {
        // Gas over liquid at p: s (p0 - p)/p + (qa p0/p)/q = s' (p0 - p)/p.
        sum += air_m3_s / oil_m3_s * OW_ATMOSPHERE_PA / fmin(-gauge_pa, OW_ATMOSPHERE_PA);
    }
    return sum > 10.0 ? 10.0 : sum > 0.01 ? sum : 0.01;
}
