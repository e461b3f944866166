// SPDX-License-Identifier: GPL-3.0-or-later
// The table of named fluids: published points and constants.
#ifndef OILWRIGHT_OIL_FLUIDS_IMPL_H
#define OILWRIGHT_OIL_FLUIDS_IMPL_H

#include "oilwright/oil.h"

typedef enum OwOilKind { OW_OIL_PLANT, OW_OIL_PETROLEUM, OW_OIL_ESTER } OwOilKind;

#define OW_OIL_ENTRY_POINTS 10
/// One named fluid. Viscosity points in degC and mm2/s end at v = 0.
typedef struct OwOilEntry {
    const char *name;
    const char *alias; ///< other names, comma separated
    OwOilKind kind;
    double density_15_kg_m3;
    double net_heat_j_kg;
    double cloud_c, flash_c;
    double surface_tension_n_m; ///< 20 degC
    double points[OW_OIL_ENTRY_POINTS][2];
    const char *source;
} OwOilEntry;

extern const OwOilEntry ow_oil_entries[];
extern const int ow_oil_entry_count;

/// Entry by name or alias, case-blind, NULL if none.
const OwOilEntry *ow_oil_entry_find(const char *name);
/// Nearest known name by letters (Levenshtein); NULL when nothing is near.
const char *ow_oil_entry_nearest(const char *name);

/// Adds a fault and gives the status back.
OwStatus ow_oil_fault(OwFaults *faults, OwStatus status, OwSeverity severity, const char *part,
                      const char *message, const char *remedy);
/// Fills log_kinematic from the knots of kinematic_m2_s.
void ow_oil_fill_log(OwFluid *fluid);

#define OW_OIL_PETROL_REASON                                                                                 \
    "its vapour catches fire far below room temperature, so the tank and every heater become a fire risk, "  \
    "and it lowers "                                                                                         \
    "cetane number and lubricity so the injection pump wears"

#endif
