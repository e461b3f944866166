// SPDX-License-Identifier: GPL-3.0-or-later
// Facts of the fatty acids.
#ifndef OILWRIGHT_OIL_ACIDS_IMPL_H
#define OILWRIGHT_OIL_ACIDS_IMPL_H

#include "oilwright/oil.h"

typedef struct OwAcidFacts {
    const char *code, *name;
    int carbons, double_bonds, hydroxyls;
    double iodine; ///< g I2 per 100 g for one percent in a triglyceride, as a factor on percent
} OwAcidFacts;

extern const OwAcidFacts ow_acid_facts[OW_ACID_COUNT];
/// Molar mass of the free acid, kg/mol.
double ow_acid_molar(OwAcid acid);

#endif
