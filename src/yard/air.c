// SPDX-License-Identifier: GPL-3.0-or-later
// Moist air after ASHRAE Fundamentals 2017, chapter 1 (ideal mixture; SI form).
#include "oilwright/yard.h"
#include "yard/guard.h"

#include <math.h>

#define TRIPLE_K 273.16
#define LOW_K 173.15
#define HIGH_K 473.15
#define GAS_J_KGK 287.042 // of dry air, ibid. eq. 1
#define MOST_RATIO 1e3

double ow_air_saturation_pa(double temperature_k) {
    const double t = ow_hold(temperature_k, LOW_K, HIGH_K);
    double ln;
    if (t < TRIPLE_K) {
        ln = -5.6745359e3 / t + 6.3925247 - 9.677843e-3 * t + 6.2215701e-7 * t * t +
             2.0747825e-9 * t * t * t - 9.484024e-13 * t * t * t * t + 4.1635019 * log(t);
    } else {
        ln = -5.8002206e3 / t + 1.3914993 - 4.8640239e-2 * t + 4.1764768e-5 * t * t -
             1.4452093e-8 * t * t * t + 6.5459673 * log(t);
    }
    return exp(ln);
}

double ow_air_dew_point_k(double vapour_pa) {
    double low = LOW_K, high = HIGH_K;
    if (!(vapour_pa > ow_air_saturation_pa(low))) {
        return low;
    }
    if (vapour_pa >= ow_air_saturation_pa(high)) {
        return high;
    }
    for (int i = 0; i < 60; i++) {
        const double mid = 0.5 * (low + high);
        if (ow_air_saturation_pa(mid) < vapour_pa) {
            low = mid;
        } else {
            high = mid;
        }
    }
    return 0.5 * (low + high);
}

/// A pressure that air can have; 1 atm when none is given.
static double pressure_of(double pressure_pa) {
    return pressure_pa > 0.0 ? ow_hold(pressure_pa, 1.0, 1e8) : OW_ATMOSPHERE_PA;
}

/// kg/kg of a vapour pressure in air of a pressure.
static double ratio_of(double vapour_pa, double pressure_pa) {
    const double air_pa = pressure_pa - vapour_pa;
    return air_pa > vapour_pa * OW_AIR_RATIO / MOST_RATIO ? OW_AIR_RATIO * vapour_pa / air_pa : MOST_RATIO;
}

double ow_air_humidity_ratio(double temperature_k, double relative, double pressure_pa) {
    return ratio_of(ow_hold(relative, 0.0, 1.0) * ow_air_saturation_pa(temperature_k),
                    pressure_of(pressure_pa));
}

double ow_air_relative(double temperature_k, double ratio, double pressure_pa) {
    const double w = ow_hold(ratio, 0.0, MOST_RATIO);
    return pressure_of(pressure_pa) * w / (OW_AIR_RATIO + w) / ow_air_saturation_pa(temperature_k);
}

double ow_air_enthalpy(double temperature_k, double ratio) {
    const double t = ow_hold(temperature_k, LOW_K, HIGH_K) - OW_ZERO_CELSIUS_K;
    return 1006.0 * t + ow_hold(ratio, 0.0, MOST_RATIO) * (2501000.0 + 1860.0 * t);
}

double ow_air_volume(double temperature_k, double ratio, double pressure_pa) {
    return GAS_J_KGK * ow_hold(temperature_k, LOW_K, HIGH_K) *
           (1.0 + 1.607858 * ow_hold(ratio, 0.0, MOST_RATIO)) / pressure_of(pressure_pa);
}

double ow_air_density(double temperature_k, double ratio, double pressure_pa) {
    return (1.0 + ow_hold(ratio, 0.0, MOST_RATIO)) / ow_air_volume(temperature_k, ratio, pressure_pa);
}

/// Humidity ratio of air at a dry-bulb temperature whose wet bulb is `wet_k`, eq. 33 (above freezing) and 35.
static double ratio_at_wet_bulb(double dry_c, double wet_k, double pressure_pa) {
    const double wet_c = wet_k - OW_ZERO_CELSIUS_K,
                 saturated = ow_air_humidity_ratio(wet_k, 1.0, pressure_pa);
    if (wet_c >= 0.0) {
        return ((2501.0 - 2.326 * wet_c) * saturated - 1.006 * (dry_c - wet_c)) /
               (2501.0 + 1.86 * dry_c - 4.186 * wet_c);
    }
    return ((2830.0 - 0.24 * wet_c) * saturated - 1.006 * (dry_c - wet_c)) /
           (2830.0 + 1.86 * dry_c - 2.1 * wet_c);
}

double ow_air_wet_bulb_k(double temperature_k, double ratio, double pressure_pa) {
    const double t = ow_hold(temperature_k, LOW_K, HIGH_K), w = ow_hold(ratio, 0.0, MOST_RATIO);
    double low = LOW_K, high = t;
    for (int i = 0; i < 60; i++) {
        const double mid = 0.5 * (low + high);
        if (ratio_at_wet_bulb(t - OW_ZERO_CELSIUS_K, mid, pressure_pa) < w) {
            low = mid;
        } else {
            high = mid;
        }
    }
    return 0.5 * (low + high);
}

double ow_air_latent(double temperature_k) {
    // Vapour 2501000 + 1860 t (eq. 30) less liquid 4186 t (eq. 33).
    return 2501000.0 - 2326.0 * (ow_hold(temperature_k, OW_ZERO_CELSIUS_K, HIGH_K) - OW_ZERO_CELSIUS_K);
}
