// SPDX-License-Identifier: GPL-3.0-or-later
// Centrifuges by sigma, the area of a settling tank that does the same (Ambler 1952).
#include "yard/guard.h"

#include <math.h>

static bool is_bowl(double rotation_rad_s, double inner_m, double outer_m) {
    return rotation_rad_s > 0.0 && rotation_rad_s <= 1e5 && ow_is_positive(inner_m) && outer_m > inner_m &&
           outer_m <= 10.0;
}

double ow_yard_g_factor(double rotation_rad_s, double radius_m) {
    const double w = ow_up_to(fabs(rotation_rad_s), 1e5);
    return w * w * ow_up_to(radius_m, 10.0) / OW_GRAVITY_M_S2;
}

double ow_yard_sigma_tube(double rotation_rad_s, double length_m, double inner_m, double outer_m) {
    if (!is_bowl(rotation_rad_s, inner_m, outer_m) || !(length_m > 0.0 && length_m <= 10.0)) {
        return 0.0;
    }
    return rotation_rad_s * rotation_rad_s * OW_PI * length_m * (outer_m * outer_m - inner_m * inner_m) /
           (OW_GRAVITY_M_S2 * log(outer_m / inner_m));
}

double ow_yard_sigma_tube_half(double rotation_rad_s, double length_m, double inner_m, double outer_m) {
    if (!is_bowl(rotation_rad_s, inner_m, outer_m) || !(length_m > 0.0 && length_m <= 10.0)) {
        return 0.0;
    }
    return rotation_rad_s * rotation_rad_s * OW_PI * length_m * (outer_m * outer_m - inner_m * inner_m) /
           (2.0 * OW_GRAVITY_M_S2 * log(2.0 * outer_m / (outer_m + inner_m)));
}

double ow_yard_sigma_discs(double rotation_rad_s, int gaps, double inner_m, double outer_m,
                           double angle_rad) {
    if (!is_bowl(rotation_rad_s, inner_m, outer_m) || gaps < 1 || gaps > 10000 ||
        !(angle_rad > 0.01 && angle_rad < 1.5)) {
        return 0.0;
    }
    return 2.0 * OW_PI * gaps * rotation_rad_s * rotation_rad_s *
           (outer_m * outer_m * outer_m - inner_m * inner_m * inner_m) /
           (3.0 * OW_GRAVITY_M_S2 * tan(angle_rad));
}

double ow_yard_centrifuge_flow(const OwSettle *settle, double sigma_m2, double efficiency, double diameter_m,
                               double temperature_k) {
    return ow_yard_settle_speed(settle, diameter_m, temperature_k) * ow_up_to(sigma_m2, 1e12) *
           ow_hold(ow_positive(efficiency, 1.0), 0.0, 1.0);
}

double ow_yard_centrifuge_cut(const OwSettle *settle, double sigma_m2, double efficiency, double flow_m3_s,
                              double temperature_k) {
    double low = log(1e-9), high = log(0.01);
    if (!(flow_m3_s > 0.0)) {
        return 1e-9;
    }
    if (!(ow_yard_centrifuge_flow(settle, sigma_m2, efficiency, 0.01, temperature_k) >= flow_m3_s)) {
        return 0.01;
    }
    for (int i = 0; i < 60; i++) {
        const double mid = 0.5 * (low + high);
        if (ow_yard_centrifuge_flow(settle, sigma_m2, efficiency, exp(mid), temperature_k) >= flow_m3_s) {
            high = mid;
        } else {
            low = mid;
        }
    }
    return exp(high);
}
