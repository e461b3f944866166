// SPDX-License-Identifier: GPL-3.0-or-later
// Quantities at the edges: text with any unit in, SI inside, metric or US text out.
#ifndef OILWRIGHT_UNITS_H
#define OILWRIGHT_UNITS_H

#include "oilwright/base.h"

/// Kinds of quantity; the SI unit used inside stands beside each.
typedef enum OwQuantity {
    OW_Q_NUMBER,       ///< 1 (a percent reads as 0.01)
    OW_Q_LENGTH,       ///< m
    OW_Q_AREA,         ///< m2 (wire sizes too: mm2 or "AWG 12")
    OW_Q_VOLUME,       ///< m3
    OW_Q_MASS,         ///< kg
    OW_Q_TIME,         ///< s
    OW_Q_SPEED,        ///< m/s
    OW_Q_TEMPERATURE,  ///< K, absolute
    OW_Q_TEMPERATURE_DIFFERENCE, ///< K
    OW_Q_PRESSURE,     ///< Pa, gauge or difference as the key says
    OW_Q_VOLUME_FLOW,  ///< m3/s
    OW_Q_POWER,        ///< W
    OW_Q_ENERGY,       ///< J
    OW_Q_VOLTAGE,      ///< V
    OW_Q_CURRENT,      ///< A
    OW_Q_RESISTANCE,   ///< ohm
    OW_Q_CHARGE,       ///< C (A h)
    OW_Q_KINEMATIC_VISCOSITY, ///< m2/s (mm2/s, cSt)
    OW_Q_DYNAMIC_VISCOSITY,   ///< Pa s
    OW_Q_DENSITY,      ///< kg/m3
    OW_Q_SPECIFIC_HEAT,///< J/(kg K)
    OW_Q_CONDUCTIVITY, ///< W/(m K)
    OW_Q_CONDUCTANCE,  ///< W/K
    OW_Q_HEAT_CAPACITY,///< J/K
    OW_Q_HEATING_VALUE,///< J/kg
    OW_Q_ROTATION,     ///< rad/s internally; rpm is accepted
    OW_Q_PERMEABILITY, ///< m2
    OW_Q_PER_AREA_CONDUCTANCE, ///< W/(m2 K)
    OW_Q_MASS_FLOW,            ///< kg/s
    OW_Q_POWER_PER_LENGTH,     ///< W/m
    OW_Q_FLOW_RESISTANCE,      ///< Pa s/m3
    OW_Q_COUNT
} OwQuantity;

typedef enum OwDisplay { OW_DISPLAY_METRIC, OW_DISPLAY_US } OwDisplay;

/// Unit tables (libudunits2 and the trade's additions). One handle serves one thread.
typedef struct OwUnits OwUnits;
/// OW_ERROR_READ when the system unit database is missing.
OwStatus ow_units_create(OwUnits **units);
void ow_units_destroy(OwUnits **units);

/// Reads "5/16 in", "1 1/2 in", "150 degF", "7 psi", "46 L/h", "AWG 12", "90", "1 min 30 s". A bare number takes the SI or trade
/// default unit only when `bare_unit` is not NULL; a bare 0 is
/// nothing in any unit and passes, except as a temperature. On failure *si is untouched and `why` (if not NULL) says what would be right.
OwStatus ow_units_read(OwUnits *units, const char *text, OwQuantity quantity, const char *bare_unit, double *si, char *why,
                       size_t why_size);
/// Writes a value for people ("46 L/h", "65 degC" as "65 °C"), rounded to sensible digits. Always terminated.
void ow_units_write(double si, OwQuantity quantity, OwDisplay display, char *text, size_t size);
/// The factor and offset of the display unit: shown = si * factor + offset; returns its label ("°C", "psi").
const char *ow_units_display(OwQuantity quantity, OwDisplay display, double *factor, double *offset);

#endif
