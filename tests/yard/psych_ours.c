// SPDX-License-Identifier: GPL-3.0-or-later
// Our side of the comparison with psychrolib: "t relative pressure" a line in, moist-air properties a line
// out.
#include "oilwright/yard.h"

#include <stdio.h>

int main(void) {
    double t, relative, p;
    while (scanf("%lf %lf %lf", &t, &relative, &p) == 3) {
        const double k = t + OW_ZERO_CELSIUS_K, w = ow_air_humidity_ratio(k, relative, p);
        printf("%.12g %.12g %.12g %.12g %.12g %.12g %.12g %.12g\n", ow_air_saturation_pa(k), w,
               ow_air_enthalpy(k, w), ow_air_volume(k, w, p), ow_air_density(k, w, p),
               ow_air_wet_bulb_k(k, w, p) - OW_ZERO_CELSIUS_K,
               ow_air_dew_point_k(relative * ow_air_saturation_pa(k)) - OW_ZERO_CELSIUS_K,
               ow_air_relative(k, w, p));
    }
    return 0;
}
