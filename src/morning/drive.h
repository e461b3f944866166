// SPDX-License-Identifier: GPL-3.0-or-later
// The drive as the engine feels it: legs or a standard cycle turned into a piecewise-linear profile of fuel
// and heat.
#ifndef OW_MORNING_DRIVE_H
#define OW_MORNING_DRIVE_H

#include "oilwright/oil.h"
#include "oilwright/rig.h"

/// One corner of the profile. Between corners every number is linear; leg, gear and the flags are those of
/// the corner before.
typedef struct OwDrivePoint {
    double time_s;         ///< since the engine first ran
    double speed_m_s;      ///< road speed, kept even when power is short
    double engine_rad_s;   ///< 0 when the engine stands
    double wanted_w;       ///< brake power that the road asks; negative on overrun
    double brake_w;        ///< brake power that the requested fuel gives
    double fuel_m3_s;      ///< requested
    double full_fuel_m3_s; ///< the pump's full-load volume at this engine speed
    double coolant_heat_w; ///< from the requested fuel
    int leg;               ///< index into the legs; 0..4 for the parts of the NEDC
    int gear;              ///< from 0
    bool engine_on;
    bool short_of_power; ///< full load is not enough for this speed
} OwDrivePoint;

typedef struct OwDriveProfile {
    OwDrivePoint
        *points; ///< by rising time; equal times are a jump (engine off or on again). Owned by the arena
    int count;
    double length_s;
    double distance_m;
    double stop_s;      ///< when the driver last switches the engine off; length_s if he never does
    double short_s;     ///< time on which full load was not enough
    double energy_j_m3; ///< net energy of the fluid the profile was made for
} OwDriveProfile;

/// Makes the profile of rig->drive (the default legs when it names none) on a fluid.
///
/// Road load, SAE J1263 form: m g (f cos + sin) + 0.5 rho cdA v^2 + 1.05 m a; still air at the rig's ambient
/// temperature.
///
/// Fuel: the Willans line of engine.h for the energy the road asks, so on oil the driver presses further, up
/// to the pump's full-load volume. Above that the speed is kept, `short_of_power` is set, and a warning names
/// the leg.
///
/// Overrun: the engine brakes as far as its friction goes and the fuel falls to nothing; the brakes do the
/// rest. From 1.3 times idle speed down the clutch opens and the governor takes over. Common practice, no
/// source.
///
/// Legs: a leg starts with its ramp: ramp_s, or 1 m/s2 when that is 0; pedal, grade and gear changes are
/// spread over half a second. An engine_off leg brakes to rest, then stops the engine; the leg after it
/// starts it again in an instant. A full_load leg holds its speed with the pedal down: what lies beyond road
/// load goes into a load that is not described.
///
/// Gears: the highest that keeps 1.6 times idle speed and 1500/min (70 % of rated speed at the most) and has
/// 10 % power in hand; kept until the engine falls under 85 % of that speed or power fails, and while
/// braking. Common practice, no source.
///
/// Corners: each number stays within 1 % of its largest (speed 0.5 %), fuel burned within about 0.3 %.
///
/// OW_ERROR_VALUE with faults for values that cannot be used; OW_ERROR_MEMORY. `faults` may be NULL.
OwStatus ow_drive_compile(const OwRig *rig, const OwFluid *fluid, OwArena *arena, OwDriveProfile *profile,
                          OwFaults *faults);
/// The profile at a time; outside it the nearest end. On a jump it gives what follows. *hint (start it at 0)
/// makes it quick.
void ow_drive_at(const OwDriveProfile *profile, double time_s, int *hint, OwDrivePoint *out);
/// Same, but on a jump it gives what came before: the value at the end of a step that stops there.
void ow_drive_before(const OwDriveProfile *profile, double time_s, int *hint, OwDrivePoint *out);
/// Time of the first corner after a time, or INFINITY: the next moment to step to exactly.
double ow_drive_next_s(const OwDriveProfile *profile, double time_s, int *hint);
/// Fills the legs used when a rig names none: idle, village, road, hill, motorway, stop (23.5 min). Waits are
/// left alone.
void ow_drive_default_legs(OwDriveSpec *drive);

/// The NEDC, UN ECE Regulation 83: corner `index` of OW_NEDC_POINTS (held at the ends), 1180 s in 5 parts.
#define OW_NEDC_POINTS 122
#define OW_NEDC_PARTS 5
typedef struct OwSpeedPoint {
    double time_s, speed_m_s;
    int part;
} OwSpeedPoint;
OwSpeedPoint ow_nedc_point(int index);

#endif
