// SPDX-License-Identifier: GPL-3.0-or-later
// Published correlations of heat transfer, one function each.
#include "oilwright/heat.h"

#include <math.h>
#include <stdint.h>
#include <string.h>

#define STEFAN_BOLTZMANN 5.670374419e-8 // W/m2K4, CODATA 2018

/// Cube root of a finite x > 0 to the last digits: a third of the exponent by integer division, then Halley's
/// step twice, each of which triples the digits. The library's function costs several times as much, in the
/// time loop.
static double cube_root(double x) {
    uint64_t bits;
    memcpy(&bits, &x, sizeof bits);
    bits = bits / 3 + 0x2A9F7893782DA1CEu;
    double root;
    memcpy(&root, &bits, sizeof root);
    for (int i = 0; i < 2; i++) {
        const double cube = root * root * root;
        root *= (cube + 2.0 * x) / (2.0 * cube + x);
    }
    return root;
}

double ow_heat_hausen(double graetz) {
    if (!(graetz > 0.0)) {
        return 3.66;
    }
    const double root = cube_root(graetz);
    return 3.66 + 0.0668 * graetz / (1.0 + 0.04 * root * root);
}

double ow_heat_sieder_tate(double graetz, double viscosity_ratio) {
    if (!(graetz > 0.0) || !(viscosity_ratio > 0.0)) {
        return 3.66;
    }
    const double group = cbrt(graetz) * pow(viscosity_ratio, 0.14);
    return group < 2.0 ? 3.66 : 1.86 * group;
}

double ow_heat_gnielinski(double reynolds, double prandtl, double friction) {
    if (!(reynolds > 1000.0)) {
        return 3.66;
    }
    const double eighth = friction / 8.0;
    const double nusselt = eighth * (reynolds - 1000.0) * prandtl /
                           (1.0 + 12.7 * sqrt(eighth) * (pow(prandtl, 2.0 / 3.0) - 1.0));
    return nusselt > 3.66 ? nusselt : 3.66;
}

double ow_heat_churchill_chu(double rayleigh, double prandtl) {
    if (!(rayleigh > 0.0)) {
        return 0.36;
    }
    const double shape = pow(1.0 + pow(0.559 / prandtl, 9.0 / 16.0), 8.0 / 27.0);
    const double root = 0.60 + 0.387 * pow(rayleigh, 1.0 / 6.0) / shape;
    return root * root;
}

double ow_heat_churchill_bernstein(double reynolds, double prandtl) {
    if (!(reynolds > 0.0)) {
        return 0.3;
    }
    const double shape = pow(1.0 + pow(0.4 / prandtl, 2.0 / 3.0), 0.25);
    const double rise = pow(1.0 + pow(reynolds / 282000.0, 5.0 / 8.0), 0.8);
    return 0.3 + 0.62 * sqrt(reynolds) * cbrt(prandtl) / shape * rise;
}

double ow_heat_radiation(double emissivity, double wall_k, double around_k) {
    return emissivity * STEFAN_BOLTZMANN * (wall_k + around_k) * (wall_k * wall_k + around_k * around_k);
}

double ow_heat_exchanger(double conductance_w_k, double capacity_rate_w_k) {
    if (!(capacity_rate_w_k > 0.0) || !(conductance_w_k > 0.0)) {
        return 0.0;
    }
    return -capacity_rate_w_k * expm1(-conductance_w_k / capacity_rate_w_k);
}
