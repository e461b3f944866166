// SPDX-License-Identifier: GPL-3.0-or-later
// Blends: viscosity by four published rules, the fluid of a blend, and the least diluent for a target.
#include "oil/curve.h"
#include "oil/fluids.h"
#include "oil/walther.h"
#include "oil/wax.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

/// `name` begins with the word, blind to case; `is_whole` when nothing may follow.
static bool begins_with(const char *name, const char *word, bool is_whole) {
    while (*word && tolower((unsigned char)*word) == tolower((unsigned char)*name)) {
        ++word;
        ++name;
    }
    return !*word && (!*name || (!is_whole && !isalnum((unsigned char)*name)));
}

bool ow_oil_is_petrol(const char *name) {
    static const char *const petrol[] = {"petrol",
                                         "gasoline",
                                         "gasolina",
                                         "benzin",
                                         "benzine",
                                         "e10",
                                         "e5",
                                         "e85",
                                         "naphtha",
                                         "mogas",
                                         "rug",
                                         "premium unleaded",
                                         "regular unleaded",
                                         "acetone",
                                         "paint thinner",
                                         "xylene",
                                         "white spirit",
                                         "turpentine",
                                         "ethanol",
                                         "alcohol",
                                         "methanol",
                                         "avgas",
                                         "unleaded"};
    static const char *const whole[] = {"gas", "super"}; // "gas oil" is a diesel fuel
    if (!name) {
        return false;
    }
    for (size_t i = 0; i < sizeof petrol / sizeof petrol[0]; ++i) {
        if (begins_with(name, petrol[i], false)) {
            return true;
        }
    }
    return begins_with(name, whole[0], true) || begins_with(name, whole[1], true);
}

OwStatus ow_oil_blend_rules(const double *kinematic_m2_s, const double *density_kg_m3,
                            const double *volume_fraction, int count, OwBlendRules *rules) {
    if (!kinematic_m2_s || !density_kg_m3 || !volume_fraction || !rules || count < 1) {
        return OW_ERROR_USE;
    }
    double sum = 0.0, mass = 0.0, arrhenius = 0.0, refutas = 0.0, root = 0.0, wright = 0.0;
    for (int i = 0; i < count; ++i) {
        const double v = 1e6 * kinematic_m2_s[i], x = volume_fraction[i], m = x * density_kg_m3[i];
        if (!(v >= 0.21 && v <= 1e8) || !(density_kg_m3[i] > 0.0) || !(x >= 0.0)) {
            return OW_ERROR_VALUE;
        }
        sum += x;
        mass += m;
        arrhenius += x * log(v);
        refutas += m * (14.534 * log(log(v + 0.8)) + 10.975);
        root += x * cbrt(v);
        wright += x * ow_oil_walther_y(v);
    }
    if (!(fabs(sum - 1.0) < 0.005)) {
        return OW_ERROR_VALUE;
    }
    OwBlendRules r;
    r.arrhenius = 1e-6 * exp(arrhenius / sum);
    r.refutas = 1e-6 * (exp(exp((refutas / mass - 10.975) / 14.534)) - 0.8);
    r.kendall_monroe = 1e-6 * pow(root / sum, 3.0);
    r.wright = 1e-6 * ow_oil_walther_v(wright / sum);
    r.low = fmin(fmin(r.arrhenius, r.refutas), fmin(r.kendall_monroe, r.wright));
    r.high = fmax(fmax(r.arrhenius, r.refutas), fmax(r.kendall_monroe, r.wright));
    *rules = r;
    return OW_OK;
}

static OwStatus check_shares(const OwFluid *const *fluids, const double *volume_fraction, int count,
                             const char *name, OwFaults *faults) {
    double sum = 0.0;
    for (int i = 0; i < count; ++i) {
        if (!fluids[i] || !(volume_fraction[i] >= 0.0 && volume_fraction[i] <= 1.0)) {
            return ow_oil_fault(faults, OW_ERROR_VALUE, OW_FAULT_ERROR, name,
                                "a blend share is not between 0 and 1",
                                "give shares by volume that sum to 1");
        }
        sum += volume_fraction[i];
    }
    if (!(fabs(sum - 1.0) < 0.005)) {
        char text[128];
        snprintf(text, sizeof text, "the blend shares sum to %.4g", sum);
        return ow_oil_fault(faults, OW_ERROR_VALUE, OW_FAULT_ERROR, name, text,
                            "give shares by volume that sum to 1");
    }
    return OW_OK;
}

/// Wickey & Chittenden 1963, Hydrocarbon Process. 42(6):157 (form from memory): log10 index = -6.1188 + 2414
/// / (t + 230.56), t in degC, indices by volume.
static double flash_index(double flash_k) {
    return pow(10.0, -6.1188 + 2414.0 / (fmax(flash_k, 233.15) - 42.59));
}

static double flash_of_index(double index) {
    return 2414.0 / (log10(index) + 6.1188) + 42.59;
}

static void blend_constants(const OwFluid *const *fluids, const double *x, int count, OwFluid *made) {
    double mass = 0.0, index = 0.0;
    bool has_flash = true, has_cloud = true;
    const OwWax *wax[OW_OIL_MAX_BLEND];
    double share[OW_OIL_MAX_BLEND];
    made->valid_low_k = OW_CURVE_LOW_K;
    made->valid_high_k = OW_CURVE_LOW_K + OW_CURVE_STEP_K * (OW_CURVE_POINTS - 1);
    double most = -1.0;
    for (int i = 0; i < count; ++i) {
        const OwFluid *f = fluids[i];
        share[i] = x[i] * ow_curve_value(&f->density_kg_m3, 288.15);
        mass += share[i];
        wax[i] = &f->wax;
        made->surface_tension_n_m += x[i] * f->surface_tension_n_m;
        made->air_solubility += x[i] * f->air_solubility;
        if (x[i] > most) {
            most = x[i];
            made->kind = f->kind;
        }
        if (x[i] > 0.0) {
            has_flash = has_flash && f->flash_point_k > 0.0;
            has_cloud = has_cloud && f->cloud_point_k > 0.0;
            index += x[i] * flash_index(f->flash_point_k);
            made->valid_low_k = fmax(made->valid_low_k, f->valid_low_k);
            made->valid_high_k = fmin(made->valid_high_k, f->valid_high_k);
        }
    }
    for (int i = 0; i < count; ++i) {
        share[i] /= mass;
        made->net_heat_j_kg += share[i] * fluids[i]->net_heat_j_kg;
        made->water_share += share[i] * fluids[i]->water_share;
    }
    ow_wax_mix(wax, share, count, &made->wax);
    made->cloud_point_k = has_cloud ? ow_wax_cloud(&made->wax) : 0.0;
    made->flash_point_k = has_flash ? flash_of_index(index) : 0.0;
}

/// Standard error of ln v of the blended liquid at a knot: the parts' own, independent, each by its share
/// (Arrhenius), and that of the rule. The spread of the four rules counts by half as the 90 % interval, for
/// the default is the one that published blends favour.
static double liquid_error(const OwFluid *const *fluids, const double *x, int count, int knot) {
    double v[OW_OIL_MAX_BLEND], rho[OW_OIL_MAX_BLEND], variance = 0.0;
    for (int i = 0; i < count; ++i) {
        v[i] = ow_oil_liquid_knot(fluids[i], knot);
        rho[i] = fluids[i]->density_kg_m3.c[knot][0];
        variance += pow(x[i] * fluids[i]->liquid_error[knot], 2.0);
    }
    OwBlendRules rules;
    const bool is_ruled = ow_oil_blend_rules(v, rho, x, count, &rules) == OW_OK;
    const double spread =
        is_ruled ? 0.5 * fmax(log(rules.high / rules.arrhenius), log(rules.arrhenius / rules.low)) / 1.645
                 : 0.1;
    return sqrt(variance + spread * spread);
}

OwStatus ow_oil_blend(const OwFluid *const *fluids, const double *volume_fraction, int count,
                      const char *name, OwFluid *fluid, OwFaults *faults) {
    if (!fluids || !volume_fraction || !fluid || count < 1 || count > OW_OIL_MAX_BLEND) {
        return OW_ERROR_USE;
    }
    const OwStatus status = check_shares(fluids, volume_fraction, count, name, faults);
    if (status != OW_OK) {
        return status;
    }
    double x[OW_OIL_MAX_BLEND], sum = 0.0;
    for (int i = 0; i < count; ++i) {
        sum += volume_fraction[i];
    }
    for (int i = 0; i < count; ++i) {
        x[i] = volume_fraction[i] / sum;
    }
    double kinematic[OW_CURVE_POINTS], density[OW_CURVE_POINTS], heat[OW_CURVE_POINTS],
        conductivity[OW_CURVE_POINTS];
    for (int k = 0; k < OW_CURVE_POINTS; ++k) {
        double log_v = 0.0, rho = 0.0, rho_cp = 0.0, lambda = 0.0;
        for (int i = 0; i < count; ++i) {
            const OwFluid *f = fluids[i];
            log_v += x[i] * log(ow_oil_liquid_knot(f, k));
            rho += x[i] * f->density_kg_m3.c[k][0];
            rho_cp += x[i] * f->density_kg_m3.c[k][0] * f->specific_heat_j_kgk.c[k][0];
            lambda += x[i] * f->conductivity_w_mk.c[k][0];
        }
        kinematic[k] =
            exp(log_v); // Arrhenius by volume, the liquids only; crystals are reckoned anew in the blend
        density[k] = rho;
        heat[k] = rho_cp / rho;
        conductivity[k] = lambda;
    }
    OwFluid made = {0};
    for (int k = 0; k < OW_CURVE_POINTS; ++k) {
        made.liquid_error[k] = liquid_error(fluids, x, count, k);
    }
    ow_curve_fill(&made.kinematic_m2_s, kinematic);
    ow_curve_fill(&made.density_kg_m3, density);
    ow_curve_fill(&made.specific_heat_j_kgk, heat);
    ow_curve_fill(&made.conductivity_w_mk, conductivity);
    blend_constants(fluids, x, count, &made);
    ow_oil_fill_rest(&made);
    snprintf(made.name, sizeof made.name, "%s", name && *name ? name : "blend");
    *fluid = made;
    return OW_OK;
}

enum { RULE_ARRHENIUS, RULE_LEAST, RULE_MOST };

/// Viscosity, thickened by the crystals of the blend, at a diluent share: the default rule, the thinnest or
/// the thickest of all rules.
static double blend_viscosity(const OwFluid *oil, const OwFluid *diluent, double share, double temperature_k,
                              int rule) {
    const OwFluid *const both[] = {oil, diluent};
    const double x[] = {1.0 - share, share};
    double v[2], rho[2], mass[2];
    for (int i = 0; i < 2; ++i) {
        const double thickening =
            ow_wax_thickening(&both[i]->wax, ow_curve_value(&both[i]->wax_share, temperature_k));
        v[i] = ow_curve_value(&both[i]->kinematic_m2_s, temperature_k) / thickening;
        rho[i] = ow_curve_value(&both[i]->density_kg_m3, temperature_k);
        mass[i] = x[i] * rho[i];
    }
    OwBlendRules rules;
    if (ow_oil_blend_rules(v, rho, x, 2, &rules) != OW_OK) {
        return 1.0;
    }
    const double total = mass[0] + mass[1];
    mass[0] /= total;
    mass[1] /= total;
    const OwWax *const waxes[] = {&oil->wax, &diluent->wax};
    OwWax wax;
    ow_wax_mix(waxes, mass, 2, &wax);
    const double liquid = rule == RULE_ARRHENIUS ? rules.arrhenius
                          : rule == RULE_LEAST   ? rules.low
                                                 : rules.high;
    return liquid * ow_wax_thickening(&wax, ow_wax_share(&wax, temperature_k));
}

static double blend_cloud(const OwFluid *oil, const OwFluid *diluent, double share) {
    const double a = (1.0 - share) * ow_curve_value(&oil->density_kg_m3, 288.15),
                 b = share * ow_curve_value(&diluent->density_kg_m3, 288.15);
    const double mass[] = {a / (a + b), b / (a + b)};
    const OwWax *const waxes[] = {&oil->wax, &diluent->wax};
    OwWax wax;
    ow_wax_mix(waxes, mass, 2, &wax);
    return ow_wax_cloud(&wax);
}

/// True when the blend meets both targets.
static bool is_met(const OwFluid *oil, const OwFluid *diluent, double share, double t, double v,
                   double cloud_k, int rule) {
    return (!(v > 0.0) || blend_viscosity(oil, diluent, share, t, rule) <= v) &&
           (!(cloud_k > 0.0) || blend_cloud(oil, diluent, share) <= cloud_k);
}

/// Least share that meets the targets, scanned in steps of 1 % and then bisected; 2 when none does.
static double least_share(const OwFluid *oil, const OwFluid *diluent, double t, double v, double cloud_k,
                          int rule) {
    double low = 0.0, high = 2.0;
    for (int i = 0; i <= 100; ++i) {
        if (is_met(oil, diluent, 0.01 * i, t, v, cloud_k, rule)) {
            high = 0.01 * i;
            low = i > 0 ? 0.01 * (i - 1) : 0.0;
            break;
        }
    }
    if (high > 1.0 || high == 0.0) {
        return high;
    }
    for (int i = 0; i < 20; ++i) {
        const double mid = 0.5 * (low + high);
        if (is_met(oil, diluent, mid, t, v, cloud_k, rule)) {
            high = mid;
        } else {
            low = mid;
        }
    }
    return high;
}

OwStatus ow_oil_least_diluent(const OwFluid *oil, const OwFluid *diluent, double temperature_k,
                              double kinematic_m2_s, double cloud_k, OwDilution *dilution) {
    if (!oil || !diluent || !dilution || !(kinematic_m2_s >= 0.0) || !(cloud_k >= 0.0) ||
        !(kinematic_m2_s + cloud_k > 0.0)) {
        return OW_ERROR_USE;
    }
    if (kinematic_m2_s > 0.0 && !(temperature_k >= OW_CURVE_LOW_K && temperature_k <= 454.0)) {
        return OW_ERROR_VALUE;
    }
    OwDilution d = {0};
    if (ow_oil_is_petrol(diluent->name)) {
        snprintf(d.reason, sizeof d.reason,
                 "petrol and spirits are refused: vapour fire risk, low cetane number, no lubricity");
        *dilution = d;
        return OW_OK;
    }
    d.share = least_share(oil, diluent, temperature_k, kinematic_m2_s, cloud_k, RULE_ARRHENIUS);
    d.share_low = least_share(oil, diluent, temperature_k, kinematic_m2_s, cloud_k, RULE_LEAST);
    d.share_high = fmin(least_share(oil, diluent, temperature_k, kinematic_m2_s, cloud_k, RULE_MOST), 1.0);
    d.is_possible = d.share <= 1.0;
    if (!d.is_possible) {
        d.share = d.share_low = d.share_high = 1.0;
        snprintf(d.reason, sizeof d.reason,
                 "even pure %.40s does not meet the target: heat the fuel or choose a thinner diluent",
                 diluent->name);
    } else if (oil->flash_point_k > 0.0 && diluent->flash_point_k > 0.0) {
        d.flash_point_k = flash_of_index((1.0 - d.share) * flash_index(oil->flash_point_k) +
                                         d.share * flash_index(diluent->flash_point_k));
        if (d.flash_point_k < 328.15) {
            snprintf(d.reason, sizeof d.reason,
                     "the flash point falls below 55 degC: no longer a diesel fuel by EN 590, store and "
                     "carry it as a flammable liquid");
        } else if (d.flash_point_k < 374.15) {
            snprintf(d.reason, sizeof d.reason, "the flash point falls below the 101 degC of DIN 51605");
        }
    }
    *dilution = d;
    return OW_OK;
}
