// SPDX-License-Identifier: GPL-3.0-or-later
// The laws of bleeding: Boyle, laminar displacement, a pump with dead volume, a bubble in a tube.
#include "oilwright/bleed.h"

#include <math.h>

double ow_bleed_strokes(double volume_m3, double stroke_m3, double from_pa, double to_pa) {
    if (to_pa >= from_pa) {
        return 0.0;
    }
    if (!(to_pa > 0.0) || !(stroke_m3 > 0.0)) {
        return INFINITY;
    }
    return volume_m3 > 0.0 ? log(from_pa / to_pa) / log1p(stroke_m3 / volume_m3) : 0.0;
}

double ow_bleed_compressed(double volume_m3, double gauge_pa) {
    const double absolute = OW_ATMOSPHERE_PA + gauge_pa;
    return absolute > 0.0 ? volume_m3 * OW_ATMOSPHERE_PA / absolute : 0.0;
}

double ow_bleed_volumes(double share) {
    const double s = share > 1.0 ? 1.0 : share > 1e-6 ? share : 1e-6;
    return 0.5 / sqrt(s);
}

double ow_bleed_gas_share(double dead, double absolute_pa) {
    if (!(absolute_pa > 0.0)) {
        return 0.0;
    }
    const double share = 1.0 - fmax(dead, 0.0) * (OW_ATMOSPHERE_PA / absolute_pa - 1.0);
    return share > 1.0 ? 1.0 : share > 0.0 ? share : 0.0;
}

double ow_bleed_rise(double bore_m, double kinematic_m2_s, double density_kg_m3, double surface_n_m) {
    if (!(bore_m > 0.0) || !(kinematic_m2_s > 0.0) || !(density_kg_m3 > 0.0) || !(surface_n_m > 0.0)) {
        return 0.0;
    }
    const double eotvos = OW_GRAVITY_M_S2 * density_kg_m3 * bore_m * bore_m / surface_n_m;
    const double r = sqrt(OW_GRAVITY_M_S2 * bore_m * bore_m * bore_m) / kinematic_m2_s;
    const double fast = 0.34 / pow(1.0 + 3805.0 / pow(eotvos, 3.06), 0.58);
    const double slow = 9.494e-3 / pow(1.0 + 6197.0 / pow(eotvos, 2.561), 0.5793);
    double froude;
    if (r >= 200.0) {
        froude = fast;
    } else if (r <= 10.0) {
        froude = slow * pow(r, 1.026);
    } else {
        const double at10 = slow * pow(10.0, 1.026);
        froude = at10 * pow(fast / at10, log(r / 10.0) / log(20.0));
    }
    return froude * sqrt(OW_GRAVITY_M_S2 * bore_m);
}
