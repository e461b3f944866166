// SPDX-License-Identifier: GPL-3.0-or-later
// What the fluid is: property curves against temperature of oils, diesel and blends.
#ifndef OILWRIGHT_OIL_H
#define OILWRIGHT_OIL_H

#include "oilwright/base.h"

/// Cubic table on a uniform temperature grid, the fast form the morning uses. Values outside the grid are
/// held at its ends.
#define OW_CURVE_LOW_K 223.15
#define OW_CURVE_STEP_K 1.0
#define OW_CURVE_POINTS 232 ///< up to 454.15 K
typedef struct OwCurve {
    double c[OW_CURVE_POINTS][4]; ///< value = c0 + s (c1 + s (c2 + s c3)), s in 0..1 inside an interval
} OwCurve;

/// Value of a curve at a temperature in K; clamps to the grid's ends. A NaN in gives the low end.
static inline double ow_curve_value(const OwCurve *curve, double temperature_k) {
    double x = (temperature_k - OW_CURVE_LOW_K) * (1.0 / OW_CURVE_STEP_K);
    if (!(x > 0.0)) {
        x = 0.0;
    }
    if (x > OW_CURVE_POINTS - 1) {
        x = OW_CURVE_POINTS - 1;
    }
    int i = (int)x;
    if (i > OW_CURVE_POINTS - 2) {
        i = OW_CURVE_POINTS - 2;
    }
    const double s = x - i;
    const double *c = curve->c[i];
    return c[0] + s * (c[1] + s * (c[2] + s * c[3]));
}

/// A fluid ready for use: tabulated curves and the constants that engine and judge need. Plain value, may be
/// copied.
typedef struct OwFluid {
    char name[64];
    OwCurve kinematic_m2_s; ///< kinematic viscosity
    OwCurve log_kinematic;  ///< ln(m2/s), for blending along a pipe
    OwCurve density_kg_m3;
    OwCurve specific_heat_j_kgk;
    OwCurve conductivity_w_mk;
    double net_heat_j_kg;
    double cloud_point_k;             ///< 0 when unknown
    double flash_point_k;             ///< 0 when unknown
    double surface_tension_n_m;       ///< at 20 degC
    double air_solubility;            ///< Ostwald coefficient of air: volume of gas per volume of liquid
    double valid_low_k, valid_high_k; ///< range in which the viscosity is known
} OwFluid;

/// A measured point of kinematic viscosity.
typedef struct OwViscosityPoint {
    double temperature_k;
    double kinematic_m2_s;
} OwViscosityPoint;

/// What is said of a fluid in a rig file. Zero or empty means "not said".
#define OW_OIL_MAX_POINTS 16
#define OW_OIL_MAX_BLEND 6
typedef struct OwOilSpec {
    char name[64]; ///< a named oil ("rapeseed", "soybean", "diesel"), or a free name when points are given
    OwViscosityPoint points[OW_OIL_MAX_POINTS]; ///< measured viscosities; two or more are fitted by ASTM D341
    int point_count;
    double density_15_kg_m3; ///< measured density at 15 degC, 0 unknown
    double cloud_point_k;    ///< 0 unknown
    double used_factor;      ///< viscosity of the used oil over fresh at 40 degC; 0 or 1 fresh
    /// Blend: names or earlier specs by name, with volume fractions that sum to 1.
    char blend_name[OW_OIL_MAX_BLEND][64];
    double blend_fraction[OW_OIL_MAX_BLEND];
    int blend_count;
} OwOilSpec;

/// Names of the built-in oils in a NULL-terminated list ("rapeseed", "soybean", "sunflower", "palm",
/// "diesel", ...).
const char *const *ow_oil_names(void);
/// Builds the curves of a fluid. OW_ERROR_VALUE with a fault (unknown name and the nearest one, viscosity
/// rising with heat, fractions off 1) when the description is not usable.
OwStatus ow_oil_make(const OwOilSpec *spec, OwFluid *fluid, OwFaults *faults);
/// Same, and the parts of a blend may also be fluids made earlier, found by their name.
OwStatus ow_oil_make_among(const OwOilSpec *spec, const OwFluid *const *earlier, int earlier_count,
                           OwFluid *fluid, OwFaults *faults);
/// Blend of ready fluids by volume shares that sum to 1: viscosity Arrhenius (Franco & Nguyen 2011, Fuel
/// 90:838), density by volume, specific and net heat by mass, flash point Wickey & Chittenden 1963. `fluid`
/// may be one of the inputs.
OwStatus ow_oil_blend(const OwFluid *const *fluids, const double *volume_fraction, int count,
                      const char *name, OwFluid *fluid, OwFaults *faults);
/// ASTM D341 (Walther) fit through points (least squares in Walther coordinates when more than two).
OwStatus ow_oil_walther_fit(const OwViscosityPoint *points, int count, double *a, double *b);
/// Kinematic viscosity from a Walther fit, m2/s, ASTM D341: log log(v+0.7) = a - b log T, v in mm2/s.
double ow_oil_walther_value(double a, double b, double temperature_k);

#endif
