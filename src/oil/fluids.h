// SPDX-License-Identifier: GPL-3.0-or-later
// The table of named fluids: published points, profiles and constants.
#ifndef OILWRIGHT_OIL_FLUIDS_IMPL_H
#define OILWRIGHT_OIL_FLUIDS_IMPL_H

#include "oilwright/oil.h"

#define OW_OIL_ENTRY_POINTS 10
/// One named fluid. Viscosity points in degC and mm2/s end at v = 0.
typedef struct OwOilEntry {
    const char *name;
    const char *alias; ///< other names, comma separated
    OwOilKind kind;
    double density_15_kg_m3; ///< petroleum and ester; plant oils take theirs from the profile
    double net_heat_j_kg;    ///< the same
    double cetane;           ///< 0 = from the profile
    double cloud_c, flash_c;
    double surface_tension_n_m; ///< 20 degC
    double lot_error;           ///< relative standard error of viscosity from lot to lot
    double points[OW_OIL_ENTRY_POINTS][2];
    double profile[OW_ACID_COUNT]; ///< percent by mass, plant oils
    const char *source;
} OwOilEntry;

extern const OwOilEntry ow_oil_entries[];
extern const int ow_oil_entry_count;

/// Entry by name or alias, case-blind, with or without "oil" or "fuel" behind it; NULL if none.
const OwOilEntry *ow_oil_entry_find(const char *name);
/// The same, and "used rapeseed" or "waste sunflower oil" are that oil, used for frying.
const OwOilEntry *ow_oil_entry_meant(const char *name, bool *is_used);
/// Nearest known name by letters (Levenshtein); NULL when nothing is near.
const char *ow_oil_entry_nearest(const char *name);

/// Adds a fault and gives the status back.
OwStatus ow_oil_fault(OwFaults *faults, OwStatus status, OwSeverity severity, const char *part,
                      const char *message, const char *remedy);
/// Fills log_kinematic from the knots of kinematic_m2_s.
void ow_oil_fill_log(OwFluid *fluid);
/// Change of density with temperature, kg/m3K.
double ow_oil_density_slope(OwOilKind kind);
/// Fills surface tension, air floor and wax curves from the constants, wax and water already in the fluid,
/// and thickens the viscosity curve (given as liquid) by the crystals.
void ow_oil_fill_rest(OwFluid *fluid);
/// Viscosity of the liquid alone at a knot: the curve less its crystals' part.
double ow_oil_liquid_knot(const OwFluid *fluid, int knot);

#define OW_OIL_PETROL_REASON                                                                                 \
    "its vapour catches fire far below room temperature, so the tank and every heater become a fire risk, "  \
    "and it lowers "                                                                                         \
    "cetane number and lubricity so the injection pump wears"

#endif
