// SPDX-License-Identifier: GPL-3.0-or-later
// The electrical side of a rig as its file describes it: battery, alternator, earths, circuits. Plain data, SI inside.
#ifndef OILWRIGHT_ELECTRICS_H
#define OILWRIGHT_ELECTRICS_H

#include "oilwright/rig.h"

#define OW_MAX_CIRCUITS 32
#define OW_PLACE_COUNT 4

/// A lead-acid battery. Zero means "use the documented default" (ow_electric_default fills them).
typedef struct OwBatterySpec {
    double rated_v;        ///< V, 6, 12 or 24
    double capacity_c;     ///< C, 20-hour capacity when new, one string
    double cold_crank_a;   ///< A, cold cranking rating at -18 degC (7.2 V of 12 V), when new, one string
    double charge;         ///< state of charge at key on, 0..1
    double age;            ///< 0 new .. 1 at the end of its life (80 % of the capacity left)
    double temperature_k;  ///< K at key on; 0 = as soaked
    double mass_kg;        ///< kg, for its warming
    double minimum_charge; ///< share that must be left to crank, 0..1
    int count;             ///< equal batteries in parallel, 1..4
    OwPlace place;
    int line, column;
} OwBatterySpec;

/// An alternator by its nameplate (ISO 8854: current at 1500 and at 6000 1/min, hot).
typedef struct OwAlternatorSpec {
    bool is_fitted;
    double rated_a;       ///< A at 6000 1/min
    double idle_a;        ///< A at 1500 1/min
    double cut_in_rad_s;  ///< rad/s of its own shaft below which it gives nothing
    double pulley_ratio;  ///< alternator speed over engine speed
    double set_v;         ///< V regulated at 20 degC
    double set_slope_v_k; ///< V/K change of that with the temperature of the regulator
    double droop_v;       ///< V lost between no load and full output
    int line, column;
} OwAlternatorSpec;

/// A cable with both its ends: length, section, and the resistance of its joints together.
typedef struct OwCableSpec {
    double length_m;
    double area_m2; ///< m2, 0 = to be sized
    double joint_ohm;
    double fuse_a;  ///< A at its battery end; 0 = to be chosen (main cable) or none (the others)
    bool has_no_fuse; ///< the vehicle's main cable has none; fuse_a is then the one to fit
} OwCableSpec;

/// The line that lives when a circuit may be on; terminal numbers by DIN 72552 beside each.
typedef enum OwFeed {
    OW_FEED_BATTERY,   ///< 30: always
    OW_FEED_ACCESSORY, ///< 75: accessory and run, not while starting
    OW_FEED_RUN,       ///< 15: run and start
    OW_FEED_GLOW,      ///< 19: pre-heat position or its timer
    OW_FEED_START,     ///< 50: while starting
    OW_FEED_COUNT
} OwFeed;

typedef enum OwLoadKind {
    OW_LOAD_HEATER,  ///< resistance that rises from cold to hot
    OW_LOAD_GLOW,    ///< the engine's own glow plugs, all together
    OW_LOAD_PUMP,    ///< motor of nearly constant current
    OW_LOAD_VALVE,   ///< coil, constant resistance
    OW_LOAD_LAMP,    ///< filament
    OW_LOAD_STARTER, ///< starter motor; fed by its own cable, not by the board
    OW_LOAD_OTHER,   ///< constant resistance
    OW_LOAD_COUNT
} OwLoadKind;

typedef enum OwEarth { OW_EARTH_BODY, OW_EARTH_ENGINE, OW_EARTH_BATTERY, OW_EARTH_COUNT } OwEarth;

/// One load with its way from the fuse board and back to earth.
typedef struct OwCircuitSpec {
    char name[OW_NAME_SIZE];
    OwLoadKind load;
    int part, element;       ///< of the rig, -1 when the load is the vehicle's own
    double rated_v;          ///< V at which rated_a flows
    double rated_a;          ///< A, hot or running
    double cold_ratio;       ///< hot resistance over cold, >= 1 (motors: starting over running current)
    double inrush_s;         ///< s, time constant in which the first current falls to the running current
    OwFeed feed;             ///< the line that commands it
    bool has_relay;          ///< the load current goes through a relay, the feed only moves its coil
    bool has_switch;         ///< a hand switch in the command
    bool has_hold;           ///< a hold-on button (glow held on after the start)
    double longest_s;        ///< s on at most in ordinary use; 0 = for ever (the wire may then warm up to its steady heat)
    double hold_s;           ///< s after which a timer ends the hold; 0 = as long as the finger
    bool has_thermostat;     ///< in the command when there is a relay, else in the load current
    double cutout_k;         ///< K of a separate, one-shot thermal cut-out in the load current; 0 = none
    double length_m;         ///< m from the board to the load
    double control_length_m; ///< m from the switch to the relay coil
    double earth_length_m;   ///< m from the load to its earth point
    double area_m2;          ///< m2 of the load wires; 0 = to be sized
    double fuse_a;           ///< A; 0 = to be chosen
    double relay_a;          ///< A of the contact; 0 = to be chosen
    double switch_a;         ///< A the switch or key contact may carry; 0 = 10 A assumed
    double joint_ohm;        ///< ohm of fuse holder, contacts and terminals together
    OwPlace place;           ///< the hottest place the run passes
    OwEarth earth;
    bool is_self_limiting;   ///< its own resistance rises until it can get no hotter (trace heating)
    bool has_no_fuse;        ///< the vehicle has none here; fuse_a is then the one to fit
    int line, column;
} OwCircuitSpec;

/// All of it. Owned by the rig's arena when it comes from a file.
typedef struct OwElectricSpec {
    double system_v; ///< 6, 12 or 24
    OwBatterySpec battery;
    OwAlternatorSpec alternator;
    OwCableSpec main;         ///< battery + to the fuse board
    OwCableSpec charge;       ///< alternator to battery +
    OwCableSpec starter;      ///< battery + to the starter
    OwCableSpec body_earth;   ///< battery - to the body
    OwCableSpec engine_earth; ///< battery - to the engine
    double crank_a;           ///< A the starter draws while it turns the cold engine at rated volts less a quarter
    double crank_minimum_v;   ///< V at the battery below which cranking is doubtful
    double drop_share;        ///< share of the system volts that may be lost on the way of one circuit
    double insulation_k;      ///< K, continuous rating of the wire insulation (ISO 6722 class)
    double place_k[OW_PLACE_COUNT]; ///< K, hottest air in each place, by OwPlace
    double bundle;            ///< share of the heat that a wire can shed in its bundle, 0.3..1
    double idle_rad_s;        ///< engine speed at idle, 0..420; 0: 800 1/min (common practice, no source)
    bool has_us_sizes;        ///< choose AWG sizes
    bool is_derived;          ///< circuits were derived from the parts, the file gave none
    OwCircuitSpec circuits[OW_MAX_CIRCUITS];
    int circuit_count;
} OwElectricSpec;

/// 6, 12 or 24 V, whichever the volts of a standing battery belong to.
double ow_electric_system(double key_on_v);
/// Fills everything but circuits with the documented defaults for 6, 12 or 24 V (other values: OW_ERROR_VALUE).
OwStatus ow_electric_default(double system_v, OwElectricSpec *spec);
/// Fills one circuit with the defaults of its kind of load.
void ow_circuit_default(OwLoadKind load, OwCircuitSpec *circuit);
/// A circuit for a part (element -1) or one of its elements: rating, cold ratio, thermostat, place and usual length from it, name
/// "part" or "part/heater". False when it takes no current.
bool ow_circuit_from_part(const OwPart *part, int index, int element, double system_v, OwCircuitSpec *circuit);
/// Sets the battery's charge when full; the cranking current follows in proportion. Outside 1 Ah .. 2800 Ah nothing is changed.
void ow_electric_take_capacity(OwElectricSpec *spec, double capacity_c);
const char *ow_load_name(OwLoadKind load);
const char *ow_feed_name(OwFeed feed);
/// DIN 72552 terminal number of a line: "30", "75", "15", "19", "50".
const char *ow_feed_terminal(OwFeed feed);
const char *ow_earth_name(OwEarth earth);

#endif
