// SPDX-License-Identifier: GPL-3.0-or-later
// Heat transfer laws: film coefficients inside and outside, radiation, exchangers. All return finite, non-negative values.
#ifndef OILWRIGHT_HEAT_H
#define OILWRIGHT_HEAT_H

#include "oilwright/base.h"

/// Mean Nusselt number, laminar developing flow, constant wall: Hausen 1943 (Incropera eq. 8.57). graetz = Re Pr D/L >= 0; 3.66 at
/// rest.
double ow_heat_hausen(double graetz);
/// Mean Nusselt number, laminar, thermal entry, viscosity ratio bulk over wall: Sieder & Tate 1936 (Incropera eq. 8.58). Valid for
/// Gz^(1/3) ratio^0.14 >= 2; below, 3.66 is returned.
double ow_heat_sieder_tate(double graetz, double viscosity_ratio);
/// Turbulent Nusselt number: Gnielinski 1976 (Incropera eq. 8.62); 3000 < Re < 5e6, 0.5 < Pr < 2000; f is Darcy.
double ow_heat_gnielinski(double reynolds, double prandtl, double friction);
/// Free convection on a long horizontal cylinder: Churchill & Chu 1975; Ra <= 1e12.
double ow_heat_churchill_chu(double rayleigh, double prandtl);
/// Cross flow over a cylinder: Churchill & Bernstein 1977; Re Pr > 0.2 (0.3 at rest).
double ow_heat_churchill_bernstein(double reynolds, double prandtl);
/// Radiation coefficient W/m2K between grey surface and surroundings, linearised exactly: e s (T1+T2)(T1^2+T2^2).
double ow_heat_radiation(double emissivity, double wall_k, double around_k);
/// Conductance W/K of an exchanger whose far side is large: m c (1 - exp(-UA/(m c))); 0 at zero flow (effectiveness-NTU, one stream
/// isothermal, Incropera eq. 11.35a).
double ow_heat_exchanger(double conductance_w_k, double capacity_rate_w_k);

/// Air at 1 atm: conductivity W/mK, kinematic viscosity m2/s, Prandtl; 200 to 450 K, held outside. Fit to Incropera table A.4.
void ow_heat_air(double film_k, double *conductivity_w_mk, double *kinematic_m2_s, double *prandtl);

/// An outer surface ready for quick evaluation: bare coefficients tabulated, then area, insulation and radiation.
#define OW_SURFACE_NATURAL 121 ///< 0..240 K in 2 K
#define OW_SURFACE_FORCED 61   ///< 0..60 m/s in 1 m/s
typedef struct OwSurface {
    double area_m2, emissivity;
    double insulation_w_m2k; ///< conductance of the insulation per outer area, <= 0 for none
    double wind_share;       ///< air speed at the part over car speed
    double natural_w_m2k[OW_SURFACE_NATURAL], forced_w_m2k[OW_SURFACE_FORCED];
} OwSurface;

/// Tabulates a cylinder of a diameter (m) at a reference air temperature (K). area m2, all values > 0.
void ow_heat_surface_make(double area_m2, double diameter_m, double emissivity, double insulation_w_m2k, double wind_share,
                          double reference_k, OwSurface *surface);
/// Conductance W/K from wall to surroundings: (natural^4 + forced^4)^(1/4) + radiation, in series with insulation.
double ow_heat_surface_value(const OwSurface *surface, double wall_k, double around_k, double speed_m_s);

#endif
