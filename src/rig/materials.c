// SPDX-License-Identifier: GPL-3.0-or-later
// Density, specific heat, conductivity and long-term rating of what parts are made of.
#include "rig/catalogue.h"

#include <string.h>

// Metals at 300 K: Incropera and DeWitt, table A.1, from memory (grey iron 7200/500/50: check against the
// casting's own sheet). Rubber: nitrile fuel hose, density and heat from common handbooks, from memory;
// rating 100 degC is the usual figure of fuel hose to SAE J30 R6/R7, from memory. Nylon: PA 12 tube, rating
// 100 degC, common practice, no source. Ratings of metals are not their own limit but that of solder, paint,
// seals and a person's skin near them: common practice, no source.
static const OwMaterialData materials[OW_MATERIAL_COUNT] = {
    [OW_MATERIAL_RUBBER] = {"rubber", 1200.0, 1900.0, 0.20, 373.15},
    [OW_MATERIAL_NYLON] = {"nylon", 1020.0, 1700.0, 0.24, 373.15},
    [OW_MATERIAL_COPPER] = {"copper", 8933.0, 385.0, 401.0, 423.15},
    [OW_MATERIAL_STEEL] = {"steel", 7854.0, 434.0, 60.5, 473.15},
    [OW_MATERIAL_ALUMINIUM] = {"aluminium", 2702.0, 903.0, 237.0, 423.15},
    [OW_MATERIAL_IRON] = {"iron", 7200.0, 500.0, 50.0, 473.15},
    [OW_MATERIAL_STAINLESS] = {"stainless", 7900.0, 477.0, 14.9, 473.15},
};

const char *const ow_material_names[OW_MATERIAL_COUNT + 1] = {
    [OW_MATERIAL_RUBBER] = "rubber",       [OW_MATERIAL_NYLON] = "nylon",
    [OW_MATERIAL_COPPER] = "copper",       [OW_MATERIAL_STEEL] = "steel",
    [OW_MATERIAL_ALUMINIUM] = "aluminium", [OW_MATERIAL_IRON] = "iron",
    [OW_MATERIAL_STAINLESS] = "stainless",
};

const OwMaterialData *ow_material(OwMaterial material) {
    return &materials[(unsigned)material < OW_MATERIAL_COUNT ? material : OW_MATERIAL_STEEL];
}
