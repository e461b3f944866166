// SPDX-License-Identifier: GPL-3.0-or-later
// Inside of a compiled electrical side, shared by the files that solve, size, fault and draw it. Private.
#ifndef OW_POWER_POWER_H
#define OW_POWER_POWER_H

#include "power/sources.h"

/// Points that are solved for; battery - is the reference.
enum { OW_AT_BATTERY, OW_AT_BOARD, OW_AT_BODY, OW_AT_ENGINE, OW_AT_ALTERNATOR, OW_AT_COUNT };

/// A circuit ready for the quick solve: its wire at 20 degC, its fixed joints, the law of its load.
typedef struct OwQuickCircuit {
    bool is_starter;
    int earth;       ///< OW_AT_BODY, OW_AT_ENGINE, -1 = battery -
    double wire_ohm; ///< feed and earth wire together at 20 degC
    double joint_ohm;
    OwBranch load; ///< law and ratings; ends unused
} OwQuickCircuit;

/// Why a wire or fuse came out as it did.
typedef struct OwSizing {
    bool is_given_area, is_given_fuse;
    double running_a, first_a; ///< at the regulated volts
    double short_a;            ///< hardest short just behind the fuse
    double short_far_a;        ///< short at the far end
    double conductor_k, drop_v;
    bool guards, stands, drop_ok, heat_ok, is_found;
    char wire_reason[160], fuse_reason[160];
} OwSizing;

struct OwPower {
    OwElectricSpec spec; ///< all sizes filled in
    OwAlternatorCurve alternator;
    double capacity_c;
    OwQuickCircuit quick[OW_MAX_CIRCUITS];
    double main_ohm, charge_ohm, body_ohm, engine_ohm; ///< wires at 20 degC
    double starter_ohm;                                ///< the motor itself
    OwSizing sizing[OW_MAX_CIRCUITS], main_sizing;
};

/// Whether a circuit carries current now; the starter's follows the cranking alone.
static inline bool ow_power_is_live(const OwQuickCircuit *quick, const OwPowerInput *input, int circuit) {
    return quick->is_starter ? input->is_cranking : input->is_on[circuit];
}

/// Resistance of copper at a temperature over that at 20 degC.
double ow_power_copper_factor(double temperature_k);
/// What the cables to the board and to earth may lose, of the system's volts: common practice.
#define OW_POWER_MAIN_DROP 0.02
/// Fills in every wire and fuse that has no size. `spec` is checked already.
void ow_power_size(OwElectricSpec *spec, OwSizing *sizing, OwSizing *main_sizing);
/// Running current of a circuit at the regulated volts.
double ow_power_running_a(const OwElectricSpec *spec, const OwCircuitSpec *circuit);
/// True when a circuit may be on before the start, and with the engine running.
bool ow_power_is_preheat(const OwCircuitSpec *circuit);
bool ow_power_is_running(const OwCircuitSpec *circuit);
/// Air of a place with the rig's insulation and bundling.
OwWirePlace ow_power_place(const OwElectricSpec *spec, OwPlace place);
/// Type of the main fuse: bolt-down where the battery can push more than a blade fuse must break.
OwFuseType ow_power_main_fuse(const OwElectricSpec *spec);

#endif
