// SPDX-License-Identifier: GPL-3.0-or-later
// Crystals below the cloud point: ideal solution of pure solids, and what they do to the viscosity.
#include "oil/wax.h"
#include "oil/acids.h"

#include <math.h>

#define GAS_J_MOL_K 8.314462618
#define THICKEST 1.0e3

/// Mole fraction of a class that stays dissolved: Hildebrand's ideal solubility, ln x = -(dH/R)(1/T - 1/Tm),
/// without heat capacity term.
static double soluble(const OwWax *wax, int i, double temperature_k) {
    const double t = temperature_k > 100.0 ? temperature_k : 100.0;
    if (t >= wax->melt_k[i]) {
        return INFINITY;
    }
    return exp(-wax->heat_j_mol[i] / GAS_J_MOL_K * (1.0 / t - 1.0 / wax->melt_k[i]));
}

/// Moles of liquid N where sum min(n, x N) + inert = N. The left side less N is concave and piecewise
/// straight, so Newton's steps from the right end at the largest root after as many steps as there are
/// classes.
static double liquid_moles(const OwWax *wax, const double *solubility, double total) {
    double liquid = total;
    for (int step = 0; step <= wax->count; ++step) {
        double fixed = wax->inert_moles_kg, slope = 1.0;
        for (int i = 0; i < wax->count; ++i) {
            if (wax->moles_kg[i] > solubility[i] * liquid) {
                slope -= solubility[i];
            } else {
                fixed += wax->moles_kg[i];
            }
        }
        const double next = slope > 1e-12 ? fixed / slope : 0.0;
        if (!(next < liquid * (1.0 - 1e-13))) {
            break;
        }
        liquid = next;
    }
    return liquid;
}

double ow_wax_share(const OwWax *wax, double temperature_k) {
    if (!wax || wax->count <= 0) {
        return 0.0;
    }
    double solubility[OW_WAX_CLASSES], total = wax->inert_moles_kg;
    bool is_any = false;
    for (int i = 0; i < wax->count; ++i) {
        solubility[i] = soluble(wax, i, temperature_k);
        total += wax->moles_kg[i];
        is_any = is_any || solubility[i] < 1.0;
    }
    if (!is_any || !(total > 0.0)) {
        return 0.0;
    }
    const double liquid = liquid_moles(wax, solubility, total);
    double share = 0.0;
    for (int i = 0; i < wax->count; ++i) {
        share += wax->molar_kg[i] * (wax->moles_kg[i] - fmin(wax->moles_kg[i], solubility[i] * liquid));
    }
    return fmin(share, 1.0);
}

double ow_wax_thickening(const OwWax *wax, double share) {
    // Maron & Pierce 1956 (J. Colloid Sci. 11:80), (1 - phi/phi_m)^-2, with phi_m the share at which the
    // fluid no longer pours.
    if (!wax || !(share > 0.0) || !(wax->gel_share > 0.0)) {
        return 1.0;
    }
    const double free_share = 1.0 - share / wax->gel_share;
    return free_share > 0.02 ? fmin(1.0 / (free_share * free_share), THICKEST) : THICKEST;
}

double ow_wax_error(const OwWax *wax, double share) {
    return fmin(0.5 * log(ow_wax_thickening(wax, share)), 1.2);
}

double ow_wax_cloud(const OwWax *wax) {
    double low = 150.0, high = 400.0;
    if (!(ow_wax_share(wax, low) > 0.001)) {
        return 0.0;
    }
    for (int i = 0; i < 40; ++i) {
        const double mid = 0.5 * (low + high);
        if (ow_wax_share(wax, mid) > 0.001) {
            low = mid;
        } else {
            high = mid;
        }
    }
    return 0.5 * (low + high);
}

// Triglycerides by their acids, S saturated, O one double bond, L more: melting point, degC, and heat of
// fusion, kJ/mol, of the beta-prime form that one cold night makes (the stable form melts some 10 K higher
// and takes days); from memory of triglyceride tables, +-5 K. Index [S][O].
static const double melt_c[4][4] = {
    {-30.0, -25.0, -18.0, -11.0}, {-15.0, -7.0, 6.0, 0.0}, {20.0, 31.0, 0.0, 0.0}, {56.0, 0.0, 0.0, 0.0}};
static const double heat_kj[4][4] = {
    {60.0, 65.0, 70.0, 80.0}, {70.0, 75.0, 85.0, 0.0}, {95.0, 100.0, 0.0, 0.0}, {115.0, 0.0, 0.0, 0.0}};

int ow_wax_from_composition(const OwComposition *c, OwWax *wax) {
    // 1,3-random, 2-random with saturated acids kept off the middle place while there is room outside: Vander
    // Wal 1960, JAOCS 37:18.
    const double s = c->saturated;
    double one = 0.0;
    for (int i = 0; i < OW_ACID_COUNT; ++i) {
        one += ow_acid_facts[i].double_bonds == 1 ? c->mole[i] : 0.0;
    }
    const double mono = s < 1.0 ? one / (1.0 - s) : 0.0;
    const double outer_s = fmin(1.5 * s, 1.0), middle_s = fmax(3.0 * s - 2.0, 0.0);
    const double outer[3] = {outer_s, (1.0 - outer_s) * mono, (1.0 - outer_s) * (1.0 - mono)};
    const double middle[3] = {middle_s, (1.0 - middle_s) * mono, (1.0 - middle_s) * (1.0 - mono)};
    double share[4][4] = {{0.0}};
    for (int i = 0; i < 27; ++i) {
        const int a = i % 3, b = i / 3 % 3, d = i / 9;
        share[(a == 0) + (b == 0) + (d == 0)][(a == 1) + (b == 1) + (d == 1)] +=
            outer[a] * middle[b] * outer[d];
    }
    // The table is for palmitic and stearic acid; shorter saturated acids melt lower, 8 K a carbon so that
    // coconut (12.7) clouds near 24 degC.
    double length = 0.0;
    for (int i = 0; i < OW_ACID_COUNT; ++i) {
        length +=
            ow_acid_facts[i].double_bonds == 0 && s > 0.0 ? c->mole[i] / s * ow_acid_facts[i].carbons : 0.0;
    }
    const double shorter = s > 0.0 ? 8.0 * fmax(0.0, 15.5 - length) : 0.0;
    *wax = (OwWax){.gel_share = 0.15};
    int first_saturated = 0;
    for (int i = 0; i < 4; ++i) {
        first_saturated = i == 1 ? wax->count : first_saturated;
        for (int j = 0; i + j < 4; ++j) {
            if (share[i][j] > 1e-9) {
                const int k = wax->count++;
                wax->moles_kg[k] = share[i][j] / c->molar_kg;
                wax->molar_kg[k] = c->molar_kg;
                wax->melt_k[k] = melt_c[i][j] + OW_ZERO_CELSIUS_K - (i > 0 ? shorter : 0.0);
                wax->heat_j_mol[k] = 1000.0 * heat_kj[i][j];
            }
        }
    }
    return first_saturated;
}

void ow_wax_anchor(OwWax *wax, int first, double cloud_k) {
    const double shift = cloud_k - ow_wax_cloud(wax);
    const double most = 8.0; // the melting points are no better known; more than that is a trace of true wax
    const double bulk =
        fmax(-50.0, fmin(most, shift)); // downward freely: short chains (coconut) melt far lower
    for (int i = first; i < wax->count; ++i) {
        wax->melt_k[i] += bulk;
    }
    if (shift > most && wax->count < OW_WAX_CLASSES) {
        const int k = wax->count++;
        wax->molar_kg[k] = 0.65; // wax ester, 0.15 % by mass
        wax->moles_kg[k] = 0.0015 / 0.65;
        wax->heat_j_mol[k] = 130e3;
        const double left =
            0.0005 / 0.65 / 1.14; // what is still dissolved when 0.1 % is out, in 1.14 mol/kg of triglyceride
        wax->melt_k[k] = 1.0 / (1.0 / cloud_k + GAS_J_MOL_K * log(left) / wax->heat_j_mol[k]);
    }
}

void ow_wax_simple(OwOilKind kind, double cloud_k, OwWax *wax) {
    // Petroleum: 3 mole percent of paraffins of 0.30 kg/mol, 60 kJ/mol in a liquid of 0.20 kg/mol, pours no
    // more at 3 %; ester: 6 percent of saturated methyl esters. Assumed, from the common observation that a
    // diesel fuel gels with 1 to 3 % out, 8 to 15 K below cloud.
    const bool is_ester = kind == OW_OIL_ESTER;
    const double liquid_molar = is_ester ? 0.296 : 0.20, solid_molar = is_ester ? 0.285 : 0.30,
                 mole = is_ester ? 0.06 : 0.015;
    *wax = (OwWax){.gel_share = is_ester ? 0.12 : 0.04};
    if (!(cloud_k > 0.0)) {
        return;
    }
    const double moles = 1.0 / ((1.0 - mole) * liquid_molar + mole * solid_molar);
    wax->count = 1;
    wax->moles_kg[0] = mole * moles;
    wax->molar_kg[0] = solid_molar;
    wax->inert_moles_kg = (1.0 - mole) * moles;
    wax->heat_j_mol[0] = 60e3;
    const double out = 0.001 / solid_molar, left = (wax->moles_kg[0] - out) / (moles - out);
    wax->melt_k[0] = 1.0 / (1.0 / cloud_k + GAS_J_MOL_K * log(left) / wax->heat_j_mol[0]);
}

void ow_wax_mix(const OwWax *const *parts, const double *mass_share, int count, OwWax *wax) {
    *wax = (OwWax){0};
    double gel = 0.0, weight = 0.0;
    for (int p = 0; p < count; ++p) {
        const OwWax *w = parts[p];
        wax->inert_moles_kg += mass_share[p] * w->inert_moles_kg;
        double solids = 1e-6;
        for (int i = 0; i < w->count; ++i) {
            const double moles = mass_share[p] * w->moles_kg[i];
            solids += w->molar_kg[i] * moles;
            int k = 0;
            while (k < wax->count &&
                   !(fabs(wax->melt_k[k] - w->melt_k[i]) < 1e-9 && wax->heat_j_mol[k] == w->heat_j_mol[i])) {
                ++k;
            }
            if (k == OW_WAX_CLASSES) { // no room: the rest stays liquid
                wax->inert_moles_kg += moles;
                continue;
            }
            if (k == wax->count) {
                ++wax->count;
                wax->melt_k[k] = w->melt_k[i];
                wax->heat_j_mol[k] = w->heat_j_mol[i];
                wax->molar_kg[k] = w->molar_kg[i];
            }
            wax->moles_kg[k] += moles;
        }
        if (w->gel_share > 0.0) {
            gel += solids / w->gel_share;
            weight += solids;
        }
    }
    wax->gel_share = gel > 0.0 ? weight / gel : 0.15;
}
