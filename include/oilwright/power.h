// SPDX-License-Identifier: GPL-3.0-or-later
// The 12-V and 24-V side: wires, fuses, battery, alternator, the network they make, its sizing and its faults.
#ifndef OILWRIGHT_POWER_H
#define OILWRIGHT_POWER_H

#include "oilwright/electrics.h"

// ---- Wires ----------------------------------------------------------------------------------------------------------

/// Resistance of one metre of copper wire, ohm/m. Listed ISO 6722 sizes (0.35..120 mm2) use that table's limit at 20 degC, other
/// sections 17.241e-9 ohm m (IEC 60028) with 2 % for stranding; times 1 + 0.00393 (t - 20 degC). Area > 0, 200..1350 K clamped.
double ow_wire_ohm_m(double area_m2, double temperature_k);
/// IEC 60228 class 5 limit at 20 degC for a listed section, ohm/m; 0 when the section is not listed.
double ow_wire_iec60228_ohm_m(double area_m2);
/// Section of an AWG size (4/0 = -3, 3/0 = -2, ...), m2: d = 0.127 mm 92^((36 - n)/39), ASTM B258. n -3..36.
double ow_wire_awg_area(int awg);
/// The AWG size whose section is nearest (on a log scale), -3..36.
int ow_wire_awg_near(double area_m2);
/// "2.5 mm2" or "AWG 14", always terminated.
void ow_wire_text(double area_m2, bool us, char *text, size_t size);
/// The usual sections in rising order: metric (ISO 6722) or AWG; returns how many, copies up to `size`.
int ow_wire_sizes(bool us, double *area_m2, int size);

/// Where a wire lies.
typedef struct OwWirePlace {
    double air_k;        ///< air around it
    double insulation_k; ///< continuous rating of the insulation
    double bundle;       ///< share of heat it can shed in its bundle, 0.3..1
} OwWirePlace;

/// Steady conductor temperature at a current, K: I2 R'(T) = loss by natural convection (Churchill & Chu 1975) and radiation
/// through the insulation. Returns 1400 K (past the melting point) when no balance exists below that.
double ow_wire_steady_k(double area_m2, double current_a, const OwWirePlace *place);
/// Current that holds the conductor at `limit_k` in that air, A (0 when the air is hotter).
double ow_wire_ampacity(double area_m2, double limit_k, const OwWirePlace *place);
/// Seconds until the conductor passes `limit_k` from `start_k` under a steady current, lumped copper and insulation with loss;
/// INFINITY when it never does. Loss is taken at the mid temperature.
double ow_wire_time_to(double area_m2, double current_a, double start_k, double limit_k, const OwWirePlace *place);
/// The same with all heat kept in the copper: I2 t = 226^2 S^2 ln((limit + 234.5)/(start + 234.5)) (IEC 60949, S in mm2, degC).
double ow_wire_adiabatic_s(double area_m2, double current_a, double start_k, double limit_k);
/// Temperature up to which a short overload leaves the insulation whole: rating + 50 K (ISO 6722 thermal overload test).
double ow_wire_overload_k(double insulation_k);

// ---- Fuses ----------------------------------------------------------------------------------------------------------

typedef enum OwFuseType {
    OW_FUSE_BLADE, ///< ISO 8820-3 type C/F, 1..40 A
    OW_FUSE_MAXI,  ///< ISO 8820-3 type E, 20..100 A
    OW_FUSE_STRIP, ///< ISO 8820-5 type SF 30 bolt-down, 30..100 A here
    OW_FUSE_BOLT   ///< ISO 8820-5 type SF 51 bolt-down, 125..500 A
} OwFuseType;

/// Least rating of a bolt-down fuse, A.
#define OW_FUSE_BOLT_LEAST_A 30.0
/// Type of a rating in a fuse box. Blade to 40 A, type E to 100 A, bolt-down above.
OwFuseType ow_fuse_type(double rated_a);
/// Type of a rating beside a battery that can push more than 1000 A: bolt-down from 30 A; below that as in a fuse box.
OwFuseType ow_fuse_bolted(double rated_a);
const char *ow_fuse_type_name(OwFuseType type);
/// Shortest and longest opening time at a current, s (INFINITY when it may or will carry it for ever). From the test points of the
/// standard, straight lines on log-log scales between, I2 t constant past six times the rating.
double ow_fuse_least_s(OwFuseType type, double rated_a, double current_a);
double ow_fuse_most_s(OwFuseType type, double rated_a, double current_a);
/// Next standard rating at or above a current; 0 when none is large enough.
double ow_fuse_next(double current_a);
/// True when the fuse stands a current that falls exponentially from `first_a` to `then_a` with a time constant.
bool ow_fuse_stands(OwFuseType type, double rated_a, double first_a, double then_a, double inrush_s);
/// True when the fuse opens before a wire is harmed at every current up to `short_a`, starting from the temperature of `load_a`;
/// else `worst_a` (may be NULL) is a current at which the wire is harmed first.
bool ow_fuse_guards(OwFuseType type, double rated_a, double area_m2, double load_a, double short_a, const OwWirePlace *place, double *worst_a);

// ---- Battery and alternator -----------------------------------------------------------------------------------------

/// A source as the network sees it: rest volts, resistance while giving and while taking.
typedef struct OwSource {
    double rest_v, give_ohm, take_ohm;
} OwSource;

/// Rest volts and resistances of the whole battery at a state of charge (0..1, clamped) and temperature (220..340 K, clamped).
OwSource ow_battery_source(const OwBatterySpec *battery, double charge, double temperature_k);
/// Capacity at its age, all strings, C.
double ow_battery_capacity(const OwBatterySpec *battery);
/// Largest current of the alternator at an engine speed, A: rated (1 - exp(-(n - n0)/nk)) above cut-in, through both nameplate points.
double ow_alternator_limit(const OwAlternatorSpec *alternator, double engine_rad_s);

// ---- Any network ----------------------------------------------------------------------------------------------------

typedef enum OwBranchLaw {
    OW_BRANCH_RESISTANCE, ///< wire, fuse, contact, heater, coil: i = v / resistance
    OW_BRANCH_BATTERY,    ///< `from` is the positive post: i out of + = (source - v)/resistance, or /take_ohm when taking
    OW_BRANCH_ALTERNATOR, ///< `from` is B+: gives limit x^2 (3 - 2 x), x = (source - v)/droop in 0..1; leaks 1 uS
    OW_BRANCH_MOTOR,      ///< nearly constant current, falling below a third of rated volts: limit (0.98 s(3 v/rated) + 0.02
                          ///< v/rated), s(x) = x / sqrt(1 + x^2) scaled to s(3) = 1; permanent-magnet pump at steady torque (assumed)
    OW_BRANCH_LAMP        ///< filament: i = limit (v/rated)^0.55 (IES handbook exponent), straight below 5 % of rated volts
} OwBranchLaw;

/// A branch between two nodes. The current is counted from `from` through the branch to `to`.
typedef struct OwBranch {
    OwBranchLaw law;
    int from, to;
    bool is_open;          ///< switch, relay or blown fuse: carries nothing
    int tag;               ///< the caller's own mark
    double resistance_ohm; ///< > 0 for RESISTANCE and BATTERY
    double take_ohm;       ///< BATTERY while charged, 0 = the same
    double source_v;       ///< BATTERY rest volts, ALTERNATOR set volts
    double droop_v;        ///< ALTERNATOR, > 0
    double limit_a;        ///< ALTERNATOR greatest, MOTOR and LAMP rated current, >= 0
    double rated_v;        ///< MOTOR and LAMP, > 0
    double current_a;      ///< result
} OwBranch;

typedef struct OwNode {
    char name[32];
    double volt_v;    ///< start value on entry, result on return
    bool is_floating; ///< no path to node 0: volts are counted from the first node of its island
} OwNode;

typedef struct OwNet OwNet;

typedef enum OwTrouble { OW_TROUBLE_FLOATING, OW_TROUBLE_SHORTED, OW_TROUBLE_VALUE } OwTrouble;
typedef struct OwNote {
    OwTrouble trouble;
    int node, branch; ///< -1 when it does not apply
    double value;     ///< amperes of a shorted source
    char text[200];
} OwNote;

/// Builds a network over caller-owned arrays that must outlive it; node 0 is the reference. Values and is_open may change between
/// solves, ends may not. OW_ERROR_USE for an end outside the nodes.
OwStatus ow_net_create(OwNode *nodes, int node_count, OwBranch *branches, int branch_count, OwArena *arena, OwNet **net);
/// Solves by Newton with step halving; all laws rise, so the answer is the only one. No allocation. OW_ERROR_VALUE for a resistance
/// or rating that is not above zero (see ow_net_explain); OW_ERROR_NO_SOLUTION when bounded work was used up.
OwStatus ow_net_solve(OwNet *net);
/// Newton steps of the last solve and the greatest current imbalance left, A.
int ow_net_iterations(const OwNet *net);
double ow_net_imbalance(const OwNet *net);
/// What is odd about the last solve: floating islands, sources that are shorted (terminal volts under half the rest volts), bad
/// values. Writes up to `size` notes, returns how many there are.
int ow_net_explain(const OwNet *net, OwNote *notes, int size);
/// Current of a law at a voltage (from minus to), and its slope (> 0).
double ow_branch_current(const OwBranch *branch, double volt_v, double *slope);

// ---- Coupling with the morning --------------------------------------------------------------------------------------

// Use: ow_power_create once a plan; one OwPowerWork and OwPowerInput a morning. At each evaluation write is_on, load_ohm (element
// resistance: rated_v^2 / power_w hot, that over cold_ratio cold), engine speed, charge and temperature of the battery; call
// ow_power_volts; then heater watts are load_v * load_a, a pump runs at load_v over its rated volts, and the state moves on by
// charge_rate_1_s and battery_rate_k_s. ow_power_find gives the circuit of a part or element, -1: nothing feeds it.

/// The rig's electrics compiled for many quick solves. Read-only after creation: many threads may share it.
typedef struct OwPower OwPower;

/// What stands at the loads now. Fill `is_on` and `load_ohm` by circuit; see ow_power_find.
typedef struct OwPowerInput {
    double engine_rad_s;  ///< engine speed (alternator)
    bool is_cranking;     ///< the starter turns (its circuit needs no is_on)
    double battery_charge;///< 0..1
    double battery_k;
    double wire_k;        ///< mean temperature of the wiring; 0 = 293 K
    bool is_on[OW_MAX_CIRCUITS];
    double load_ohm[OW_MAX_CIRCUITS]; ///< present resistance of heaters; <= 0: the hot rated one. Ignored for motors and lamps.
} OwPowerInput;

typedef struct OwPowerResult {
    double load_v[OW_MAX_CIRCUITS]; ///< volts at each load, 0 when off
    double load_a[OW_MAX_CIRCUITS];
    double battery_v;    ///< at its posts
    double battery_a;    ///< out of the battery; negative while it is charged
    double board_v;      ///< at the fuse board, against battery -
    double alternator_a;
    double starter_v, starter_a;
    double charge_rate_1_s;   ///< d(state of charge)/dt
    double battery_heat_w;    ///< heat made inside it
    double battery_rate_k_s;  ///< d(temperature)/dt with its place at `wire_k`
    int iterations;
} OwPowerResult;

/// Work space of one morning: keeps the last answer, so that a near one costs one small elimination. Start from {0}.
typedef struct OwPowerWork {
    double volt_v[5];
    double load_v[OW_MAX_CIRCUITS];
    bool is_warm;
} OwPowerWork;

/// Electrics of a rig: those of its file or, without circuits, one derived circuit for each electric load. Wires and fuses without
/// a size are sized first. Faults (may be NULL) get warnings on what was assumed. Needs no other state; the rig may go afterwards.
OwStatus ow_power_create(const OwRig *rig, OwPower **power, OwFaults *faults);
/// The same from a description alone; part and element of its circuits are passed through untouched.
OwStatus ow_power_create_from(const OwElectricSpec *spec, OwPower **power, OwFaults *faults);
void ow_power_destroy(OwPower **power);
/// The description with every size filled in.
const OwElectricSpec *ow_power_spec(const OwPower *power);
/// Circuit that feeds a part (element -1) or one of its elements; -1 when none does.
int ow_power_find(const OwPower *power, int part, int element);
/// An input with the defaults: nothing on, battery at its described charge and the soak temperature, engine still.
OwPowerInput ow_power_input(const OwPower *power, double soak_k);
/// Volts and amperes now. No allocation, bounded work, some 0.2 us when little has changed since the last call with this `work`.
/// Never fails on finite input; OW_ERROR_VALUE on NaN.
OwStatus ow_power_volts(const OwPower *power, const OwPowerInput *input, OwPowerWork *work, OwPowerResult *result);
/// The same state as a full network with names (for checks and for faults): arrays from `arena`.
OwStatus ow_power_net(const OwPower *power, const OwPowerInput *input, OwArena *arena, OwNode **nodes, int *node_count,
                      OwBranch **branches, int *branch_count);
/// Can it still crank: battery volts while the starter draws its current at this charge and temperature, nothing else on.
double ow_power_crank_v(const OwPower *power, double battery_charge, double battery_k);

/// The wiring of a rig's file, or documented defaults; every electric load without a circuit gets one, its length by place (common
/// practice), and so does the starter. OW_ERROR_RANGE when the loads are more than OW_MAX_CIRCUITS.
OwStatus ow_electric_derive(const OwRig *rig, OwElectricSpec *spec);

// ---- Schedule -------------------------------------------------------------------------------------------------------

#define OW_MAX_WIRES 192

/// One wire of the schedule.
typedef struct OwWireRow {
    char number[16];    ///< "3.2": second wire of circuit 3
    int circuit;        ///< -1: battery, alternator and earth cables
    char circuit_name[OW_NAME_SIZE];
    char from[48], to[48]; ///< device and DIN 72552 terminal, "F3" "K3:30"
    char colour[8];     ///< IEC 60757: "RD", "BK/YE"
    double area_m2, length_m;
    double current_a;   ///< running current
    double drop_v;      ///< at that current, wire at its own temperature
    double conductor_k; ///< steady, in its place
    double fuse_a;      ///< 0 = none ahead of it
    bool is_control, is_earth;
    char reason[160];   ///< why this size
} OwWireRow;

typedef struct OwScheduleLine {
    int circuit;
    double first_a, running_a; ///< at the volts of this network
    double drop_v, drop_share; ///< board to load and back, share of system volts
    double load_v;
    double fuse_a, relay_a;
    double short_far_a, opens_far_s; ///< short at the load: current and longest opening time
    bool fuse_guards, fuse_stands, relay_ok, switch_ok, drop_ok, heat_ok, has_independent_protection;
    bool volts_ok; ///< made for the volts of the system, or for more
    char fuse_reason[160];
} OwScheduleLine;

typedef struct OwPartCount {
    char item[96];
    double quantity;
    char unit[8];
} OwPartCount;

/// What one value of the electrics section would put right.
#define OW_MAX_WIRE_MENDS 64
typedef struct OwWireMend {
    size_t fault;        ///< index in the faults that ow_power_schedule was given
    int entry;           ///< entry of the list of circuits in the file; -1: `key` stands in the section itself
    const char *key;     ///< static, by the file's own words: "wire", "fuse", "cables/main/size"
    OwQuantity quantity; ///< NUMBER: a count
    double value;        ///< SI
} OwWireMend;

typedef struct OwSchedule {
    OwWireMend mends[OW_MAX_WIRE_MENDS];
    int mend_count;
    OwWireRow wires[OW_MAX_WIRES];
    int wire_count;
    OwScheduleLine lines[OW_MAX_CIRCUITS];
    int line_count;
    bool cables_ok; ///< main, charging, starter and earth cables: guarded, cool enough, with little lost
    OwPartCount parts[96];
    int part_count;
    double idle_rad_s;                                ///< engine speed that counts as idle
    double idle_limit_a, idle_load_a, idle_balance_a; ///< alternator at idle with all running loads on
    double preheat_a, preheat_c_min;  ///< battery current with all pre-start loads on; charge drawn a minute
    double crank_v_now, crank_v_after;///< cranking volts at the described charge, and after ten minutes of pre-heat
    double parallel_crank_v_after;    ///< the same with one more equal battery in parallel
} OwSchedule;

/// Works out every wire, fuse and rating. Problems (a given fuse that does not guard a given wire, a rating passed, a heater
/// without an independent protection) go to `faults` as warnings with the circuit's place in the file. *schedule is freed with free().
OwStatus ow_power_schedule(const OwPower *power, double soak_k, OwSchedule **schedule, OwFaults *faults);

// ---- Faults ---------------------------------------------------------------------------------------------------------

typedef enum OwFaultKind {
    OW_ELECTRIC_SHORT_LOAD,   ///< wire shorted to earth at the load
    OW_ELECTRIC_SHORT_MIDDLE, ///< half way
    OW_ELECTRIC_SHORT_BOARD,  ///< just behind the fuse
    OW_ELECTRIC_SHORT_MAIN,   ///< main cable shorted at the board
    OW_ELECTRIC_BROKEN_EARTH, ///< the load's own earth
    OW_ELECTRIC_BROKEN_BODY_EARTH,
    OW_ELECTRIC_BAD_JOINT,    ///< 0.1 ohm more in the load current
    OW_ELECTRIC_STUCK_RELAY,
    OW_ELECTRIC_STUCK_THERMOSTAT,
    OW_ELECTRIC_STUCK_HOLD
} OwFaultKind;

typedef enum OwHarm { OW_HARM_NONE, OW_HARM_OPENS, OW_HARM_STRANDS, OW_HARM_DRAINS, OW_HARM_BURNS } OwHarm;

typedef struct OwElectricFault {
    OwFaultKind kind;
    int circuit; ///< -1 for the main cable and the body earth
    OwHarm harm;
    double current_a;   ///< through the fault
    double opens_s;     ///< longest time until something opens; INFINITY = nothing does
    double wire_harm_s; ///< until the wire is harmed; INFINITY = never
    double drain_s;     ///< until the battery is at its least charge; INFINITY = not drained
    double heat_w;      ///< heat at the fault (bad joint) or in the heater (stuck)
    char text[240];     ///< what burns, what opens, what drains
} OwElectricFault;

const char *ow_electric_fault_name(OwFaultKind kind);
const char *ow_harm_name(OwHarm harm);
/// Every single fault of every circuit. Writes up to `size`, returns how many there are; -1 on OW_ERROR_MEMORY.
int ow_power_faults(const OwPower *power, double soak_k, OwElectricFault *faults, int size);

// ---- Drawing --------------------------------------------------------------------------------------------------------

/// The schematic as SVG on A4 landscape, IEC 60617 symbols, relays in detached representation. *svg is freed with free().
OwStatus ow_power_schematic(const OwPower *power, const OwSchedule *schedule, const char *title, char **svg);

#endif
