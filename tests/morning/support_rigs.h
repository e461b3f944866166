// SPDX-License-Identifier: GPL-3.0-or-later
// Rigs built in memory for tests and benchmarks: vehicles of an invented orchard co-operative.
#ifndef OILWRIGHT_TESTS_SUPPORT_RIGS_H
#define OILWRIGHT_TESTS_SUPPORT_RIGS_H

#include "oilwright/morning.h"

/// One tank: rear sump chamber with two elements under it, tee, electric pump, supply hose, filter warmed by
/// a coolant coil, boost chamber, screen, distributor injection pump, return hoses, loop valve back to the
/// tee or to the tank. Starts and drives without air or starvation at -5 degC. NULL when out of memory.
OwRig *ow_support_single_tank(double ambient_k);
/// Two tanks: diesel to start and to purge, rapeseed oil through a coolant exchanger once the coolant is
/// warm; lift pump, in-line injection pump with overflow valve, leak-off; supply and return change-over
/// valves.
OwRig *ow_support_two_tanks(double ambient_k);
/// No boost pump: a distributor pump draws for itself from a tank with a warm layer and a coolant coil,
/// through a traced and lagged hose; an exchanger; all return to the tank.
OwRig *ow_support_suction(double ambient_k);
/// The single tank with its four longer runs cut into about `cells` cells together (from 40 up).
OwRig *ow_support_fine(double ambient_k, int cells);
/// Plans a rig or fails the process with its faults on stderr.
OwPlan *ow_support_plan(const OwRig *rig);

// Building blocks, for rigs of a test's own.
OwRig *ow_support_rig(double ambient_k);
OwPart *ow_support_part(OwRig *rig, OwPartKind kind, const char *name, OwPlace place);
OwPart *ow_support_hose(OwRig *rig, const char *name, OwPlace place, double length_m, double bore_m);
OwElement *ow_support_heater(OwElements *elements, const char *name, double power_w);
void ow_support_thermostat(OwElement *element, double off_k, double band_k, double lag_s);
void ow_support_join(OwRig *rig, const char *a, int port_a, const char *b, int port_b);
OwRule *ow_support_rule(OwRig *rig, OwTrigger trigger, const char *watch, double level, const char *target,
                        int position);

#endif
