// SPDX-License-Identifier: GPL-3.0-or-later
// What the schedule, the faults and the drawing share. Private.
#ifndef OW_POWER_SCHEDULE_H
#define OW_POWER_SCHEDULE_H

#include "power/power.h"

/// Smallest usual relay contact for a load whose first current falls within `inrush_s`; 0 when none is large
/// enough.
double ow_power_relay_rating(double running_a, double first_a, double inrush_s);
/// Does a contact of this rating carry the load for long and make its first current.
bool ow_power_relay_stands(double rating_a, double running_a, double first_a, double inrush_s);
/// Engine speed at idle, rad/s: the rig's own, else 800 1/min.
double ow_power_idle(const OwElectricSpec *spec);
/// The rule: every heater needs a protection that does not depend on its thermostat.
bool ow_power_has_independent_protection(const OwCircuitSpec *circuit);
/// Mark of a load in schedule and drawing: "E2", "M4".
void ow_power_load_mark(const OwElectricSpec *spec, int circuit, char *text, size_t size);

/// Notes what would put a fault right: a value of the electrics section, or of entry `entry` of its circuits.
/// One that is not above zero, or one too many, is left out.
void ow_power_mend(OwSchedule *s, size_t fault, int entry, const char *key, OwQuantity quantity,
                   double value);
/// The same, chosen: the main cable for its fuse; wire and fuse of a circuit, the fewest values that make all
/// of its checks right; its relay's contact; one more battery. Nothing is noted when none helps.
void ow_power_mend_main(const OwPower *power, OwSchedule *s, size_t fault);
void ow_power_mend_circuit(const OwPower *power, OwSchedule *s, size_t fault, int circuit);
void ow_power_mend_contact(const OwPower *power, OwSchedule *s, size_t fault, int circuit);
void ow_power_mend_battery(const OwPower *power, OwSchedule *s, size_t fault);

/// Adds a warning with the circuit's place in the file (NULL: the electrics). Index of the fault that was
/// told, SIZE_MAX when there was no room.
size_t ow_power_say(OwFaults *faults, const OwCircuitSpec *circuit, const char *message, const char *remedy);
/// A temperature in the words of the one who buys the wire: degC, with degF first where sizes are AWG.
const char *ow_power_degrees(const OwPower *power, double temperature_k, char *text, size_t size);
/// Cable that carries the starter's current for half a minute in a hot bay, no heat lost.
double ow_power_cranked_k(const OwPower *power, double area_m2);
/// Main, charging, starter and earth cables as they are: heat, and drop with their joints. Clears cables_ok.
void ow_power_check_cables(const OwPower *power, OwSchedule *s, OwFaults *faults);
/// False for a load made for so few volts that it burns out; a warning for that, or for far too many.
bool ow_power_volts_fit(const OwElectricSpec *spec, const OwCircuitSpec *circuit);
void ow_power_check_volts(const OwPower *power, const OwCircuitSpec *circuit, OwFaults *faults);
/// A battery that, cold and half full, cannot open its fuses.
void ow_power_check_weak(const OwPower *power, OwFaults *faults);

#endif
