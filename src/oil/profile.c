// SPDX-License-Identifier: GPL-3.0-or-later
// Property models from a fatty-acid profile. The viscosity and density coefficients were fitted to Goering et
// al. 1982 (Trans. ASAE 25:1472, eleven oils, 37.8 degC) and Noureddini, Teoh & Clements 1992 (JAOCS 69:1184
// and 1189; crambe, high-erucic rapeseed, corn, soybean, coconut, 24-110 degC), nothing else; all other
// published oils are held back for the tests. Castor is left out.
#include "oil/acids.h"
#include "oil/walther.h"

#include <math.h>

#define VOGEL_K 160.0 // the least rms over the tuning oils between 100 and 180 K, in steps of 10

/// 100 (1/(T - 160) - 1/(313.15 - 160)); held below 190 K where the Vogel law runs away.
static double vogel(double temperature_k) {
    const double t = temperature_k > 190.0 ? temperature_k : 190.0;
    return 100.0 * (1.0 / (t - VOGEL_K) - 1.0 / (313.15 - VOGEL_K));
}

double ow_oil_profile_viscosity(const OwComposition *c, OwProfileModel model, double temperature_k) {
    const double u = vogel(temperature_k);
    const double iodine = (c->iodine - 100.0) / 100.0, saponification = (c->saponification - 190.0) / 50.0;
    if (model == OW_PROFILE_ACIDS) {
        // ln v is a sum over the acids by mole (Grunberg & Nissan 1949, Nature 164:799, without interaction);
        // each acid's share of it is linear in chain length and double bonds, so that only the means count.
        // Ricinoleic: from castor, 38 degC (Goering 1982).
        const double n = c->carbons - 18.0, d = c->double_bonds;
        return 1e-6 * exp(4.006629 + 0.117298 * n - 0.343869 * d + 2.19 * c->hydroxyls +
                          u * (9.492978 + 0.200969 * n - 1.278439 * d));
    }
    if (model == OW_PROFILE_NUMBERS) {
        return 1e-6 * exp(3.62826 - 0.426591 * iodine - 0.530571 * saponification +
                          u * (8.008505 - 1.360255 * iodine - 0.786071 * saponification));
    }
    const double x = log10(313.15) - log10(temperature_k > 100.0 ? temperature_k : 100.0);
    return 1e-6 * ow_oil_walther_v(0.199678 - 0.049976 * iodine - 0.062982 * saponification +
                                   x * (2.832353 - 0.228417 * iodine + 0.099235 * saponification));
}

double ow_oil_profile_viscosity_mean(const OwComposition *c, double temperature_k) {
    // Below 20 degC the Walther form ran 6 to 14 % low on canola, soybean, peanut and cottonseed (Lang et al.
    // 1992; Magne & Skau 1945), the Vogel forms 3 to 13 %; so it is faded out. These cold points are
    // therefore not held back.
    double third = (temperature_k - 283.15) / 10.0;
    third = third > 0.0 ? (third < 1.0 ? third : 1.0) : 0.0;
    const double log_v = log(ow_oil_profile_viscosity(c, OW_PROFILE_ACIDS, temperature_k)) +
                         log(ow_oil_profile_viscosity(c, OW_PROFILE_NUMBERS, temperature_k)) +
                         third * log(ow_oil_profile_viscosity(c, OW_PROFILE_WALTHER, temperature_k));
    return exp(log_v / (2.0 + third));
}

double ow_oil_profile_density(const OwComposition *c, double temperature_k) {
    const double s = (temperature_k - OW_ZERO_CELSIUS_K - 50.0) / 50.0, n = c->carbons - 18.0;
    return 1000.0 * (0.884636 - 0.00307 * n + 0.010521 * c->double_bonds - 0.03345 * s + 0.000257 * s * n +
                     0.036 * c->hydroxyls);
}

double ow_oil_profile_specific_heat(const OwComposition *c, double temperature_k) {
    // J/(kmol K): glycerol fragment 61355 + 148.23 T; saturated acid (21028.92 n - 2485.721) + (31.459476 n
    // - 82.038794) T; unsaturated acid of 18 carbons 397600 + 540.89 T, other lengths in proportion.
    double molar = 61355.0 + 148.23 * temperature_k;
    for (int i = 0; i < OW_ACID_COUNT; ++i) {
        const double n = ow_acid_facts[i].carbons;
        const double acid = ow_acid_facts[i].double_bonds > 0
                                ? (397600.0 + 540.89 * temperature_k) * n / 18.0
                                : 21028.92 * n - 2485.721 + (31.459476 * n - 82.038794) * temperature_k;
        molar += 3.0 * c->mole[i] * acid;
    }
    return molar / (1000.0 * c->molar_kg);
}

double ow_oil_profile_gross_heat(const OwComposition *c) {
    return 1e6 * (49.43 - 0.041 * c->saponification - 0.015 * c->iodine);
}

double ow_oil_profile_cetane(const OwComposition *c) {
    return 52.63 - 0.1006 * c->iodine;
}
