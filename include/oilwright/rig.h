// SPDX-License-Identifier: GPL-3.0-or-later
// One vehicle with its fuel path, as read from a rig file and checked. Plain data, SI inside.
#ifndef OILWRIGHT_RIG_H
#define OILWRIGHT_RIG_H

#include "oilwright/oil.h"
#include "oilwright/units.h"

#include <stdio.h>

#define OW_NAME_SIZE 64
#define OW_MAX_ELEMENTS 4
#define OW_MAX_CURVE 12
#define OW_MAX_PORTS 4

typedef enum OwPartKind {
    OW_PART_TANK,           ///< ports: pickup, return
    OW_PART_RUN,            ///< hose or tube; ports: in, out
    OW_PART_CHAMBER,        ///< heated metal body with oil inside; ports: in, out
    OW_PART_ELECTRIC_PUMP,  ///< ports: in, out
    OW_PART_LIFT_PUMP,      ///< engine-driven diaphragm pump, spring-limited; ports: in, out
    OW_PART_FILTER,         ///< ports: in, out
    OW_PART_SCREEN,         ///< metal strainer; ports: in, out
    OW_PART_COOLANT_COIL,   ///< coil in coolant that warms another part; no fuel ports
    OW_PART_EXCHANGER,      ///< coolant to fuel plate or tube exchanger; ports: in, out
    OW_PART_INJECTION_PUMP, ///< ports: in, return
    OW_PART_INJECTORS,      ///< leak-off; port: return (fed by the injection pump)
    OW_PART_VALVE,          ///< two- or three-way; ports: common, a, b (two-way: common, a)
    OW_PART_CHECK_VALVE,    ///< ports: in, out
    OW_PART_RELIEF_VALVE,   ///< ports: in, out
    OW_PART_ORIFICE,        ///< ports: in, out
    OW_PART_TEE,            ///< ports: in, out, side
    OW_PART_KIND_COUNT
} OwPartKind;

typedef enum OwPlace { OW_PLACE_UNDER_FLOOR, OW_PLACE_ENGINE_BAY, OW_PLACE_CABIN, OW_PLACE_LOAD_SPACE } OwPlace;
typedef enum OwMaterial {
    OW_MATERIAL_RUBBER,
    OW_MATERIAL_NYLON,
    OW_MATERIAL_COPPER,
    OW_MATERIAL_STEEL,
    OW_MATERIAL_ALUMINIUM,
    OW_MATERIAL_IRON,
    OW_MATERIAL_STAINLESS,
    OW_MATERIAL_COUNT
} OwMaterial;

/// Density, specific heat, conductivity and long-term temperature rating of a material (source in src/rig/materials.c).
typedef struct OwMaterialData {
    const char *name;
    double density_kg_m3, specific_heat_j_kgk, conductivity_w_mk, rating_k;
} OwMaterialData;
const OwMaterialData *ow_material(OwMaterial material);

/// An electric heating element (a glow plug, a cartridge) in a tank, chamber or filter.
typedef struct OwElement {
    char name[OW_NAME_SIZE];
    double power_w;           ///< hot, at rated voltage
    double rated_v;
    double cold_ratio;        ///< hot resistance over cold resistance, >= 1
    double hot_k;             ///< element temperature at which the hot resistance holds
    double heat_capacity_j_k; ///< of the element itself
    double conductance_w_k;   ///< element to its host
    double to_oil;            ///< share of that conductance that goes straight to the oil, 0..1
    bool has_thermostat;
    double thermostat_off_k;  ///< opens above
    double thermostat_on_k;   ///< closes below
    double thermostat_lag_s;  ///< first-order lag of the sensor
    bool senses_oil;          ///< thermostat feels the oil (true) or the metal
    bool key_on;              ///< on with the key unless a control says otherwise
} OwElement;

typedef struct OwElements {
    OwElement items[OW_MAX_ELEMENTS];
    int count;
} OwElements;

typedef struct OwTank {
    double volume_m3, fill, /* 0..1 of volume */ pickup_height_m, metal_mass_kg, area_m2, /* outer surface */
        insulation_w_m2k; /* extra surface conductance limit, 0 = bare */
    double vent_pa;       ///< gauge pressure above the oil, usually 0
    double pickup_share;  ///< share of the oil that stands in the warm layer round the pick-up, 0..1; 0 = fully mixed
    double layer_exchange_w_k; ///< natural exchange between the layer and the rest
    double coil_w_k;      ///< coolant coil conductance at full coolant flow, 0 = none
    char fluid[OW_NAME_SIZE]; ///< which fluid of the rig's oil section is inside
    OwElements elements;
} OwTank;

typedef struct OwRun {
    double bore_m, wall_m, length_m, rise_m, /* outlet above inlet */ insulation_m, insulation_w_mk, roughness_m;
    double minor_loss;      ///< sum of loss coefficients of bends and fittings
    double coolant_w_mk;    ///< conductance to coolant lines taped alongside, per metre; 0 none
    double trace_w_m;       ///< electric trace heat per metre at rated voltage; 0 none
    double trace_off_k;     ///< self-limiting: falls to zero here
    int cells;              ///< 0 = chosen by the plan
    bool is_hose;
    OwMaterial material;
} OwRun;

typedef struct OwChamber {
    double oil_volume_m3, metal_mass_kg, outer_area_m2, insulation_w_m2k, inner_w_k; /* metal to oil conductance */
    double bore_m, path_m;  ///< equivalent passage for pressure drop
    double rise_m;
    int cells;              ///< stirred cells in series, 1..8
    OwMaterial material;
    OwElements elements;
} OwChamber;

typedef struct OwElectricPump {
    double stall_pa, free_flow_m3_s; ///< straight pump line between these at rated volts and thin fuel
    double curve_flow_m3_s[OW_MAX_CURVE], curve_pa[OW_MAX_CURVE]; ///< optional measured curve, flow rising, pressure falling
    int curve_count;
    double half_viscosity_m2_s; ///< kinematic viscosity at which free flow has halved
    double rated_v, current_a, oil_volume_m3, metal_mass_kg;
    bool passes_when_off;   ///< fuel can be drawn through it when it stands still
} OwElectricPump;

typedef struct OwLiftPump {
    double displacement_m3_rev; ///< per engine revolution
    double spring_pa;       ///< outlet gauge pressure at which the diaphragm stops
    double oil_volume_m3, metal_mass_kg;
} OwLiftPump;

typedef struct OwFilter {
    double clean_pa, at_flow_m3_s, at_kinematic_m2_s; ///< clean drop at a stated flow and viscosity
    double rating_m, dirt_capacity_kg, loading; ///< loading 0 = clean, 0.5 = half the capacity used
    double oil_volume_m3, housing_mass_kg, outer_area_m2;
    OwMaterial material; ///< of the housing or bowl
    OwElements elements;
} OwFilter;

typedef struct OwCoolantCoil {
    int warms;              ///< part index
    double conductance_w_k; ///< coil to the part at full coolant flow
    double coolant_kg_s;    ///< coolant through the coil at full engine speed
    bool to_oil;            ///< inside the oil (true) or against the metal
    bool is_fitted;         ///< detachable: false when left off
} OwCoolantCoil;

typedef struct OwExchanger {
    double conductance_w_k, coolant_kg_s, oil_volume_m3, metal_mass_kg, bore_m, path_m;
} OwExchanger;

typedef enum OwPumpType { OW_PUMP_DISTRIBUTOR, OW_PUMP_INLINE } OwPumpType;
typedef struct OwInjectionPump {
    OwPumpType type;
    double transfer_m3_rev; ///< distributor: transfer pump draw per engine revolution
    double overflow_pa;     ///< in-line: overflow valve opens at this gauge pressure
    double overflow_flow_m3_s, overflow_drop_pa; ///< overflow passage: flow at a drop with thin fuel (square law)
    double oil_volume_m3, metal_mass_kg, engine_w_k; ///< conductance to the engine block
    double friction_w;      ///< heat made in the pump at rated speed
} OwInjectionPump;

typedef struct OwInjectors {
    double leak_share; ///< leak-off over burned fuel
} OwInjectors;

typedef struct OwValve {
    int ways;                           ///< 2 or 3
    char position[4][OW_NAME_SIZE];     ///< named positions
    bool opens_a[4], opens_b[4];        ///< common is joined to a and/or b in that position
    int position_count, start_position; ///< at key on
    double loss_bore_m, loss_k;         ///< orifice-like loss when open
    double travel_s;
    bool is_electric;
} OwValve;

typedef struct OwCheckValve {
    double open_pa, loss_bore_m, loss_k;
} OwCheckValve;

typedef struct OwReliefValve {
    double open_pa, slope_pa_s_m3; ///< pressure above setting per flow
} OwReliefValve;

typedef struct OwOrifice {
    double bore_m, discharge;
} OwOrifice;

typedef struct OwScreen {
    double clean_pa, at_flow_m3_s, at_kinematic_m2_s, loading, rating_m, oil_volume_m3, metal_mass_kg;
} OwScreen;

typedef struct OwPart {
    OwPartKind kind;
    char name[OW_NAME_SIZE];
    OwPlace place;
    int line, column; ///< where it stands in the file
    double rating_k;  ///< hottest allowed, 0 = from material
    double price;     ///< in the rig's currency, 0 unknown
    union {
        OwTank tank;
        OwRun run;
        OwChamber chamber;
        OwElectricPump electric_pump;
        OwLiftPump lift_pump;
        OwFilter filter;
        OwScreen screen;
        OwCoolantCoil coil;
        OwExchanger exchanger;
        OwInjectionPump injection_pump;
        OwInjectors injectors;
        OwValve valve;
        OwCheckValve check_valve;
        OwReliefValve relief_valve;
        OwOrifice orifice;
    } as;
} OwPart;

/// A joint between two ports.
typedef struct OwJoint {
    int part_a, port_a, part_b, port_b;
} OwJoint;

typedef enum OwTrigger {
    OW_TRIGGER_AFTER_KEY,    ///< seconds after key on
    OW_TRIGGER_AFTER_START,  ///< seconds after the engine runs
    OW_TRIGGER_BEFORE_STOP,  ///< seconds before the driver stops the engine
    OW_TRIGGER_ABOVE,        ///< watched temperature rises past the level
    OW_TRIGGER_BELOW         ///< watched temperature falls past the level
} OwTrigger;

#define OW_WATCH_COOLANT (-1)
/// When the trigger happens, the target goes to a position (valve) or on (1) / off (0).
typedef struct OwRule {
    OwTrigger trigger;
    int watch;       ///< part index whose oil is felt, or OW_WATCH_COOLANT
    double level_k, delay_s;
    int target;      ///< part index
    int element;     ///< element of the target, -1 = the part itself
    int position;
    int line, column;
} OwRule;

typedef struct OwVehicle {
    double mass_kg, drag_area_m2, rolling, /* coefficient */ drive_efficiency;
    double gear_m_s_per_rad_s[8]; ///< road speed over engine speed in each gear
    int gear_count;
} OwVehicle;

typedef struct OwEngine {
    double displacement_m3, rated_power_w, rated_speed_rad_s, idle_speed_rad_s, friction_pa, /* FMEP of the Willans line */
        indicated_efficiency, block_j_k, coolant_j_k, block_coolant_w_k, coolant_heat_share, thermostat_open_k,
        thermostat_full_k, radiator_w_k, cab_heater_w_k, /* 0 = off */ bay_loss_w_k, bay_share, /* bay air rise over ambient per coolant rise, 0..1 */
        crank_speed_rad_s, start_fuel_m3_s;
} OwEngine;

typedef struct OwClimate {
    double ambient_k, wind_m_s;
} OwClimate;

typedef enum OwDriveKind { OW_DRIVE_LEGS, OW_DRIVE_NEDC } OwDriveKind;
#define OW_MAX_LEGS 64
/// One leg: hold a road speed for a time on a grade; speed 0 with engine on is idle; `engine_off` parks.
typedef struct OwLeg {
    char name[OW_NAME_SIZE];
    double speed_m_s, duration_s, grade, ramp_s;
    bool full_load, engine_off;
} OwLeg;

typedef struct OwDriveSpec {
    OwDriveKind kind;
    OwLeg legs[OW_MAX_LEGS];
    int leg_count;
    double ready_wait_s;  ///< the driver waits at most this long for ready, then cranks
    double earliest_start_s; ///< and at least this long
    double crank_s;       ///< one attempt
    int attempts;
    double pause_s;       ///< between attempts
} OwDriveSpec;

typedef struct OwElectrics {
    double battery_v, running_v, crank_v, battery_c; ///< volts at the heaters: key on, engine on, cranking; charge in coulomb
    double wire_drop; ///< share of the volts lost on the way to each load
} OwElectrics;

/// The limits the judge holds the record against; all may be overridden in the file.
typedef struct OwLimits {
    double start_kinematic_m2_s, run_kinematic_m2_s; ///< at the injection pump inlet
    double warm_up_s;           ///< for this long after the start the starting limit still holds at the inlet
    double ready_k;             ///< inlet temperature that counts as ready, 0 = by viscosity only
    double suction_floor_pa;    ///< lowest gauge pressure on a suction side (negative)
    double min_fill;            ///< least share of liquid in the pump inlet
    double inlet_max_pa;        ///< highest gauge pressure at the injection pump inlet
    double oil_max_k, preheat_charge_share; ///< hottest oil; share of the battery that pre-heat may draw
} OwLimits;

#define OW_MAX_FLUIDS 2
typedef struct OwRig {
    char file[128];
    char name[OW_NAME_SIZE];
    char notes[1024];
    OwVehicle vehicle;
    OwEngine engine;
    OwClimate climate;
    OwDriveSpec drive;
    OwElectrics electrics;
    OwLimits limits;
    OwOilSpec fluid_spec[OW_MAX_FLUIDS];
    char fluid_name[OW_MAX_FLUIDS][OW_NAME_SIZE]; ///< the name a tank uses
    int fluid_count;
    OwPart *parts;
    int part_count;
    OwJoint *joints;
    int joint_count;
    OwRule *rules;
    int rule_count;
    struct OwElectricSpec *electric_spec; ///< the wiring when the file gives it (oilwright/electrics.h), else NULL; in `arena`
    OwArena *arena; ///< owns the arrays
} OwRig;

/// Number and names of the ports of a kind.
int ow_part_port_count(OwPartKind kind);
const char *ow_part_port_name(OwPartKind kind, int port);
const char *ow_part_kind_name(OwPartKind kind);
/// The electric elements of a part, NULL when its kind has none.
OwElements *ow_part_elements(OwPart *part);
const OwElements *ow_part_elements_const(const OwPart *part);

/// Reads a rig file and reports all its faults together. OW_ERROR_* when any fault is an error; *rig is then NULL.
OwStatus ow_rig_read_file(const char *path, OwUnits *units, OwRig **rig, OwFaults *faults);
/// Same from memory; `name` stands in the faults.
OwStatus ow_rig_read_text(const char *text, size_t size, const char *name, OwUnits *units, OwRig **rig, OwFaults *faults);
/// Fills a part with the documented defaults of its kind.
void ow_part_default(OwPartKind kind, OwPart *part);
/// Fills vehicle, engine, climate, drive, electrics and limits with their documented defaults; no parts.
OwStatus ow_rig_create(OwRig **rig);
/// Checks a rig that was built or edited in memory (ranges, joints, reachability, rules).
OwStatus ow_rig_check(const OwRig *rig, OwFaults *faults);
/// Changes one value as "section.key=value" or "part.key=value" or "part/heater.key=value" ("climate.ambient=-10 degC",
/// "supply hose.bore=10 mm", "boost chamber/glow.power=150 W"), also "drive=nedc" and "oil=soybean". The rig is checked again; on
/// any fault it is left as it was.
OwStatus ow_rig_override(OwRig *rig, const char *section_key_value, OwUnits *units, OwFaults *faults);
/// Writes the whole reference of the rig file (Markdown): every section, kind and key with default, range and source.
OwStatus ow_rig_write_reference(FILE *out);
/// Index of the part of that name, -1 if none.
int ow_rig_find(const OwRig *rig, const char *name);
void ow_rig_destroy(OwRig **rig);

#endif
