// SPDX-License-Identifier: GPL-3.0-or-later
// Outer surfaces in air: the slow correlations are tabulated once, so that a look costs a few nanoseconds in
// the time loop.
#include "oilwright/heat.h"

#include <math.h>

void ow_heat_air(double film_k, double *conductivity_w_mk, double *kinematic_m2_s, double *prandtl) {
    // Incropera, DeWitt, Bergman & Lavine 2007, table A.4, air at atmospheric pressure.
    static const double temperature[] = {200, 250, 300, 350, 400, 450};
    static const double conductivity[] = {18.1e-3, 22.3e-3, 26.3e-3, 30.0e-3, 33.8e-3, 37.3e-3};
    static const double kinematic[] = {7.590e-6, 11.44e-6, 15.89e-6, 20.92e-6, 26.41e-6, 32.39e-6};
    static const double number[] = {0.737, 0.720, 0.707, 0.700, 0.690, 0.686};
    const double held = fmin(fmax(film_k, temperature[0]), temperature[5]);
    int i = 0;
    while (i < 4 && held > temperature[i + 1]) {
        i++;
    }
    const double s = (held - temperature[i]) / (temperature[i + 1] - temperature[i]);
    *conductivity_w_mk = conductivity[i] + s * (conductivity[i + 1] - conductivity[i]);
    *kinematic_m2_s = kinematic[i] + s * (kinematic[i + 1] - kinematic[i]);
    *prandtl = number[i] + s * (number[i + 1] - number[i]);
}

void ow_heat_surface_make(double area_m2, double diameter_m, double emissivity, double insulation_w_m2k,
                          double wind_share, double reference_k, OwSurface *surface) {
    surface->area_m2 = area_m2;
    surface->emissivity = emissivity;
    surface->insulation_w_m2k = insulation_w_m2k;
    surface->wind_share = wind_share;
    double conductivity, kinematic, prandtl;
    for (int i = 0; i < OW_SURFACE_NATURAL; i++) {
        const double rise_k = i == 0 ? 0.25 : 2.0 * i;
        const double film_k = reference_k + 0.5 * rise_k;
        ow_heat_air(film_k, &conductivity, &kinematic, &prandtl);
        const double rayleigh = OW_GRAVITY_M_S2 / film_k * rise_k * diameter_m * diameter_m * diameter_m *
                                prandtl / (kinematic * kinematic);
        surface->natural_w_m2k[i] = ow_heat_churchill_chu(rayleigh, prandtl) * conductivity / diameter_m;
    }
    ow_heat_air(reference_k + 10.0, &conductivity, &kinematic, &prandtl);
    for (int i = 0; i < OW_SURFACE_FORCED; i++) {
        const double nusselt = ow_heat_churchill_bernstein(i * diameter_m / kinematic, prandtl);
        surface->forced_w_m2k[i] = i == 0 ? 0.0 : nusselt * conductivity / diameter_m;
    }
}

/// Linear look-up on a unit grid, held at the end.
static double look(const double *table, int count, double x) {
    if (!(x > 0.0)) {
        x = 0.0;
    }
    if (x > count - 1) {
        x = count - 1;
    }
    int i = (int)x;
    if (i > count - 2) {
        i = count - 2;
    }
    return table[i] + (x - i) * (table[i + 1] - table[i]);
}

double ow_heat_surface_value(const OwSurface *surface, double wall_k, double around_k, double speed_m_s) {
    const double natural = look(surface->natural_w_m2k, OW_SURFACE_NATURAL, 0.5 * fabs(wall_k - around_k));
    const double forced = look(surface->forced_w_m2k, OW_SURFACE_FORCED, speed_m_s * surface->wind_share);
    const double n2 = natural * natural, f2 = forced * forced;
    const double convection = f2 > 0.0 ? sqrt(sqrt(n2 * n2 + f2 * f2)) : natural;
    double h = convection + ow_heat_radiation(surface->emissivity, wall_k, around_k);
    if (surface->insulation_w_m2k > 0.0) {
        h = h * surface->insulation_w_m2k / (h + surface->insulation_w_m2k);
    }
    return h * surface->area_m2;
}
