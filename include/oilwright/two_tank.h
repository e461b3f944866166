// SPDX-License-Identifier: GPL-3.0-or-later
// Two tanks: when the change-over is ready, what the purge takes, what the return mixes, which trips are
// worth it.
#ifndef OILWRIGHT_TWO_TANK_H
#define OILWRIGHT_TWO_TANK_H

#include "oilwright/finding.h"

#define OW_TWO_TANK_DONE 0.05 ///< share of the other fluid that counts as gone
#define OW_TWO_TANK_FINDINGS 12

/// Times from key on; < 0 = it did not happen.
typedef struct OwTwoTankStudy {
    const OwRig *rig;
    OwDisplay display;
    int valve;                    ///< the supply valve, -1 none
    int start_fluid, other_fluid; ///< what it starts on; what it changes to
    double line_m3, gallery_m3;   ///< from the valve to the pump's inlet; inside the pump
    double start_s, end_s;
    double change_s;            ///< the valve leaves its start position
    double inlet_s, gallery_s;  ///< the other fluid has come (95 %) at the pump's inlet, in its gallery
    double change_m3;           ///< passed the inlet until then (gallery)
    double worst_m2_s, worst_s; ///< thickest at the inlet between change-over and purge
    double purge_s;             ///< back to the start fluid
    double purged_s, purged_m3; ///< 95 % of the start fluid in the gallery, volume passed
    double left_share;          ///< of the other fluid in the gallery at the end
    double mixed_m3[2];         ///< foreign fluid in the tank of fluid 0 and 1 at the end
    int tank[2];                ///< that tank, -1 none
    double start_burned_m3, other_burned_m3;
    double shortest_s, shortest_m; ///< trip on which no oil is burned yet
    double worth_s, worth_m;       ///< trip on which half the fuel is oil
    OwFinding findings[OW_TWO_TANK_FINDINGS];
    int finding_count;
    char headline[OW_ANSWER_TEXT];
} OwTwoTankStudy;

/// Reads it from a record of a rig with two fluids (more samples make times finer). OW_ERROR_VALUE when the
/// rig has one fluid, OW_ERROR_USE on NULL. Nothing to destroy; record and rig must outlive the study.
OwStatus ow_two_tank_create(const OwRecord *record, OwDisplay display, OwTwoTankStudy *study);
/// Trip time at which `share` of the fuel burned is the second fluid, with even burning: fixed / (1 - share).
double ow_two_tank_trip(double fixed_s, double share);

#endif
