// SPDX-License-Identifier: GPL-3.0-or-later
// Fatty acids and what a profile of them says: iodine and saponification value, mean chain, molar mass.
#include "oil/acids.h"
#include "oil/fluids.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

// Iodine factors: AOCS Cd 1c-85 for triglycerides; ricinoleic by the same arithmetic (one double bond, molar
// mass of the triglyceride).
const OwAcidFacts ow_acid_facts[OW_ACID_COUNT] = {
    [OW_ACID_8_0] = {"8:0", "caprylic", 8, 0, 0, 0.0},
    [OW_ACID_10_0] = {"10:0", "capric", 10, 0, 0, 0.0},
    [OW_ACID_12_0] = {"12:0", "lauric", 12, 0, 0, 0.0},
    [OW_ACID_14_0] = {"14:0", "myristic", 14, 0, 0, 0.0},
    [OW_ACID_16_0] = {"16:0", "palmitic", 16, 0, 0, 0.0},
    [OW_ACID_16_1] = {"16:1", "palmitoleic", 16, 1, 0, 0.950},
    [OW_ACID_18_0] = {"18:0", "stearic", 18, 0, 0, 0.0},
    [OW_ACID_18_1] = {"18:1", "oleic", 18, 1, 0, 0.860},
    [OW_ACID_18_2] = {"18:2", "linoleic", 18, 2, 0, 1.732},
    [OW_ACID_18_3] = {"18:3", "linolenic", 18, 3, 0, 2.616},
    [OW_ACID_20_0] = {"20:0", "arachidic", 20, 0, 0, 0.0},
    [OW_ACID_20_1] = {"20:1", "gondoic", 20, 1, 0, 0.785},
    [OW_ACID_22_0] = {"22:0", "behenic", 22, 0, 0, 0.0},
    [OW_ACID_22_1] = {"22:1", "erucic", 22, 1, 0, 0.723},
    [OW_ACID_24_0] = {"24:0", "lignoceric", 24, 0, 0, 0.0},
    [OW_ACID_18_1_OH] = {"18:1-OH", "ricinoleic", 18, 1, 1, 0.816},
};

const char *ow_oil_acid_code(OwAcid acid) {
    return (unsigned)acid < OW_ACID_COUNT ? ow_acid_facts[acid].code : "?";
}

const char *ow_oil_acid_name(OwAcid acid) {
    return (unsigned)acid < OW_ACID_COUNT ? ow_acid_facts[acid].name : "?";
}

static bool is_word(const char *a, const char *b) {
    if (*b == 'C' || *b == 'c') { // "C18:1"
        const char *after = b + 1;
        b = isdigit((unsigned char)*after) ? after : b;
    }
    while (*a && tolower((unsigned char)*a) == tolower((unsigned char)*b)) {
        ++a;
        ++b;
    }
    return !*a && !*b;
}

int ow_oil_acid_find(const char *text) {
    for (int i = 0; text && i < OW_ACID_COUNT; ++i) {
        if (is_word(ow_acid_facts[i].code, text) || is_word(ow_acid_facts[i].name, text)) {
            return i;
        }
    }
    return -1;
}

double ow_acid_molar(OwAcid acid) {
    const OwAcidFacts *f = &ow_acid_facts[acid];
    return 1e-3 * (12.011 * f->carbons + 1.008 * (2 * f->carbons - 2 * f->double_bonds) +
                   15.999 * (2 + f->hydroxyls));
}

OwStatus ow_oil_composition(const double *profile, OwComposition *composition, OwFaults *faults) {
    if (!profile || !composition) {
        return OW_ERROR_USE;
    }
    double sum = 0.0;
    char text[160];
    for (int i = 0; i < OW_ACID_COUNT; ++i) {
        if (!(profile[i] >= 0.0 && profile[i] <= 1000.0)) {
            snprintf(text, sizeof text, "fatty acid %s is %.4g", ow_acid_facts[i].code, profile[i]);
            return ow_oil_fault(faults, OW_ERROR_VALUE, OW_FAULT_ERROR, "profile", text,
                                "give shares by mass from 0 to 100 %");
        }
        sum += profile[i];
    }
    // Shares of 1 or percent: a sum below 3 can only mean shares.
    const double whole = sum < 3.0 ? 1.0 : 100.0;
    if (!(fabs(sum / whole - 1.0) <= 0.07)) {
        snprintf(text, sizeof text, "the fatty acids sum to %.4g %%", 100.0 * sum / whole);
        return ow_oil_fault(
            faults, OW_ERROR_VALUE, OW_FAULT_ERROR, "profile", text,
            "they must sum to 100 % by mass; up to 7 % of unnamed acids is shared out among the named");
    }
    OwComposition c = {0};
    double moles = 0.0;
    for (int i = 0; i < OW_ACID_COUNT; ++i) {
        c.share[i] = profile[i] / sum;
        c.mole[i] = c.share[i] / ow_acid_molar((OwAcid)i);
        moles += c.mole[i];
    }
    for (int i = 0; i < OW_ACID_COUNT; ++i) {
        const OwAcidFacts *f = &ow_acid_facts[i];
        c.mole[i] /= moles;
        c.carbons += c.mole[i] * f->carbons;
        c.double_bonds += c.mole[i] * f->double_bonds;
        c.hydroxyls += c.mole[i] * f->hydroxyls;
        c.saturated += f->double_bonds == 0 ? c.mole[i] : 0.0;
        c.iodine += 100.0 * c.share[i] * f->iodine;
    }
    c.molar_kg = 3.0 / moles + 0.03805; // three acids on a glycerol less three waters
    c.saponification = 3.0 * 56.1 / c.molar_kg;
    c.hydrogen_share =
        1e-3 * 1.008 * (3.0 * (2.0 * c.carbons - 2.0 * c.double_bonds - 1.0) + 5.0) / c.molar_kg;
    *composition = c;
    return OW_OK;
}
