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

#endif
