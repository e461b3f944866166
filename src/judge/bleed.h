// SPDX-License-Identifier: GPL-3.0-or-later
// The way of the fuel as a chain of resistances at one temperature, for bleeding. Private.
#ifndef OW_JUDGE_BLEED_H
#define OW_JUDGE_BLEED_H

#include "judge/variant.h"
#include "oilwright/bleed.h"
#include "oilwright/flow.h"

#define OW_BLEED_PATH 96
typedef struct OwBleedPath {
    const OwRig *rig;
    int parts[OW_BLEED_PATH], count;
    int filter_at,
        pump_at;    ///< places in the path; pump_at: electric pump before the filter's outlet, -1 none
    double head_pa; ///< oil level in the tank over its pick-up
    double kinematic_m2_s, density_kg_m3, surface_n_m, solubility;
    OwPlan *plan;       ///< whose fluid it is
    OwVariant *variant; ///< with the valves that lead through the filter
} OwBleedPath;

/// Finds a way through the filter (-1: the largest on any way). OW_ERROR_VALUE when there is none.
OwStatus ow_bleed_path_create(const OwRig *rig, int filter, double soak_k, OwBleedPath *path,
                              OwFaults *faults);
void ow_bleed_path_destroy(OwBleedPath *path);
/// Pressure that parts first..last take at a flow, rises included, Pa; pumps standing.
double ow_bleed_drop(const OwBleedPath *path, int first, int last, double flow_m3_s);
/// What the electric pump gives at a flow with the battery's volts.
double ow_bleed_push(const OwBleedPath *path, double flow_m3_s);
/// Oil inside a part, m3.
double ow_bleed_volume(const OwPart *part);
/// Bore of a part's passage, m; 0 when it has none.
double ow_bleed_bore(const OwPart *part);

#endif
