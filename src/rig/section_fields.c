// SPDX-License-Identifier: GPL-3.0-or-later
// The catalogue of sections, heaters, thermostats and legs: one row a key.
#include "rig/catalogue.h"
#include "rig/field_macros.h"
#include "rig/read_electrics.h"

static const OwField element_fields[] = {
    REAL(OwElement, power_w, "power", POWER, 200.0, 1.0, 5000.0, "W",
         "hot, at rated voltage; glow-plug elements 100 to 250 W" PRACTICE),
    REAL(OwElement, rated_v, "rated voltage", VOLTAGE, 12.0, 1.0, 60.0, "V", "rated voltage"),
    REAL(OwElement, cold_ratio, "cold ratio", NUMBER, 2.5, 1.0, 20.0, NULL,
         "hot resistance over cold resistance" PRACTICE),
    REAL(OwElement, hot_k, "hot temperature", TEMPERATURE, CELSIUS(200), CELSIUS(40), CELSIUS(1200), NULL,
         "element temperature at which the hot resistance holds; lower in metal or oil than in air" PRACTICE),
    REAL(OwElement, heat_capacity_j_k, "heat capacity", HEAT_CAPACITY, 15.0, 0.1, 5000.0, NULL,
         "of the element itself" PRACTICE),
    REAL(OwElement, conductance_w_k, "conductance", CONDUCTANCE, 1.5, 0.01, 500.0, NULL,
         "element to what it sits in" PRACTICE),
    REAL(OwElement, to_oil, "to oil", NUMBER, 0.2, 0.0, 1.0, NULL,
         "share of that conductance that goes straight to the oil" PRACTICE),
    FLAG(OwElement, key_on, "with key", true, "on with the key unless a control says otherwise"),
};

static const char *const senses[] = {"metal", "oil", NULL};
static const OwField thermostat_fields[] = {
    REAL(OwElement, thermostat_off_k, "opens", TEMPERATURE, CELSIUS(80), CELSIUS(0), CELSIUS(250), NULL,
         "switches off above" PRACTICE),
    REAL(OwElement, thermostat_on_k, "closes", TEMPERATURE, CELSIUS(72), CELSIUS(-40), CELSIUS(250), NULL,
         "switches on below" PRACTICE),
    REAL(OwElement, thermostat_lag_s, "lag", TIME, 5.0, 0.0, 600.0, "s",
         "first-order lag of the sensor" PRACTICE),
    EITHER(OwElement, senses_oil, "senses", 0, senses, "metal or oil"),
};

static const OwField vehicle_fields[] = {
    REAL(OwVehicle, mass_kg, "mass", MASS, 1700.0, 100.0, 60000.0, NULL, "with driver and load" PRACTICE),
    REAL(OwVehicle, drag_area_m2, "drag area", AREA, 1.2, 0.05, 20.0, NULL,
         "drag coefficient times frontal area" PRACTICE),
    REAL(OwVehicle, rolling, "rolling resistance", NUMBER, 0.013, 0.0, 0.3, NULL, "coefficient" PRACTICE),
    REAL(OwVehicle, drive_efficiency, "drive efficiency", NUMBER, 0.92, 0.3, 1.0, NULL,
         "gearbox to road" PRACTICE),
};
static const OwSpecialKey vehicle_special[] = {
    {"gears", "road speed at 1000 rpm in each gear, rising, 1 to 8\n"
              "(default [7 km/h, 13 km/h, 20.5 km/h, 29 km/h, 36.5 km/h]; common practice, no source)"},
    {NULL, NULL},
};

static const OwField engine_fields[] = {
    REAL(OwEngine, displacement_m3, "displacement", VOLUME, LITRE(2.4), LITRE(0.1), LITRE(40), NULL,
         "swept volume" PRACTICE),
    REAL(OwEngine, rated_power_w, "rated power", POWER, 55e3, 1e3, 1e6, NULL,
         "at rated speed; 55 kW is about 75 hp" PRACTICE),
    REAL(OwEngine, rated_speed_rad_s, "rated speed", ROTATION, RPM(4300), RPM(500), RPM(8000), "rpm",
         "common practice, no source"),
    REAL(OwEngine, idle_speed_rad_s, "idle speed", ROTATION, RPM(850), RPM(200), RPM(2000), "rpm",
         "common practice, no source"),
    REAL(OwEngine, friction_pa, "friction pressure", PRESSURE, KPA(170), KPA(20), KPA(600), NULL,
         "friction mean effective pressure of the Willans line" PRACTICE),
    REAL(OwEngine, indicated_efficiency, "indicated efficiency", NUMBER, 0.42, 0.1, 0.7, NULL,
         "slope of the Willans line" PRACTICE),
    REAL(OwEngine, block_j_k, "block heat capacity", HEAT_CAPACITY, 60e3, 1e3, 2e6, NULL,
         "iron block and head, about 130 kg" PRACTICE),
    REAL(OwEngine, coolant_j_k, "coolant heat capacity", HEAT_CAPACITY, 28e3, 500.0, 1e6, NULL,
         "about 8 L of water and glycol" PRACTICE),
    REAL(OwEngine, block_coolant_w_k, "block to coolant", CONDUCTANCE, 600.0, 1.0, 1e5, NULL,
         "common practice, no source"),
    REAL(OwEngine, coolant_heat_share, "coolant heat share", NUMBER, 0.30, 0.02, 0.9, NULL,
         "share of the fuel's heat that goes to block and coolant" PRACTICE),
    REAL(OwEngine, thermostat_open_k, "thermostat opens", TEMPERATURE, CELSIUS(80), CELSIUS(20), CELSIUS(120),
         NULL, "coolant thermostat begins to open" PRACTICE),
    REAL(OwEngine, thermostat_full_k, "thermostat full", TEMPERATURE, CELSIUS(92), CELSIUS(21), CELSIUS(140),
         NULL, "coolant thermostat fully open" PRACTICE),
    REAL(OwEngine, radiator_w_k, "radiator", CONDUCTANCE, 900.0, 0.0, 1e5, NULL,
         "coolant to air when fully open" PRACTICE),
    REAL(OwEngine, cab_heater_w_k, "cab heater", CONDUCTANCE, 0.0, 0.0, 1e3, NULL,
         "coolant to the cab's fresh air while the engine runs, at full coolant flow; 0: left off; about 80 "
         "W/K "
         "in a van with the blower on" PRACTICE),
    REAL(OwEngine, bay_loss_w_k, "block loss", CONDUCTANCE, 15.0, 0.0, 5e3, NULL,
         "block to engine-bay air" PRACTICE),
    REAL(OwEngine, bay_share, "bay share", NUMBER, 0.35, 0.0, 1.0, NULL,
         "rise of engine-bay air over ambient per rise of coolant" PRACTICE),
    REAL(OwEngine, crank_speed_rad_s, "cranking speed", ROTATION, RPM(200), RPM(30), RPM(800), "rpm",
         "common practice, no source"),
    REAL(OwEngine, start_fuel_m3_s, "cranking fuel", VOLUME_FLOW, LPH(1.5), LPH(0.01), LPH(200), NULL,
         "burned or lost while cranking" PRACTICE),
};

static const OwField climate_fields[] = {
    REAL(OwClimate, ambient_k, "ambient", TEMPERATURE, CELSIUS(0), CELSIUS(-50), CELSIUS(60), NULL,
         "air temperature"),
    REAL(OwClimate, wind_m_s, "wind", SPEED, 2.0, 0.0, 60.0, NULL, "over a parked vehicle" PRACTICE),
};

static const char *const drive_kinds[] = {"legs", "nedc", NULL};
static const OwField drive_fields[] = {
    CHOICE(OwDriveSpec, kind, "cycle", OW_DRIVE_LEGS, drive_kinds,
           "legs or nedc (UN ECE R83); `drive: nedc` alone says the same"),
    REAL(OwDriveSpec, ready_wait_s, "wait at most", TIME, 180.0, 0.0, 7200.0, "s",
         "the driver waits at most this long for ready, then cranks" PRACTICE),
    REAL(OwDriveSpec, earliest_start_s, "wait at least", TIME, 0.0, 0.0, 7200.0, "s",
         "and at least this long"),
    REAL(OwDriveSpec, crank_s, "crank", TIME, 5.0, 0.5, 60.0, "s", "one attempt" PRACTICE),
    COUNT(OwDriveSpec, attempts, "attempts", 3, 1, 50, "how often the driver tries" PRACTICE),
    REAL(OwDriveSpec, pause_s, "pause", TIME, 20.0, 0.0, 3600.0, "s", "between attempts" PRACTICE),
};
static const OwSpecialKey drive_special[] = {
    {"legs",
     "a list of legs, see legs (default: 1 min idle, 8 min at 40 km/h, 12 min at 80 km/h; an assumption)"},
    {NULL, NULL},
};

static const char *const engine_states[] = {"on", "off", NULL};
static const char *const loads[] = {"road", "full", NULL};
static const OwField leg_fields[] = {
    TEXT(OwLeg, name, "name", "what the leg is called"),
    REAL(OwLeg, speed_m_s, "speed", SPEED, 0.0, 0.0, 60.0, NULL,
         "held road speed; 0 with the engine on is idle"),
    REAL(OwLeg, duration_s, "for", TIME, 60.0, 0.1, 604800.0, "s", "how long, ramp included"),
    REAL(OwLeg, grade, "grade", NUMBER, 0.0, -0.4, 0.4, NULL, "rise over run"),
    REAL(OwLeg, ramp_s, "ramp", TIME, 15.0, 0.0, 600.0, "s", "time to reach the speed" PRACTICE),
    EITHER(OwLeg, engine_off, "engine", 0, engine_states, "on or off (parked)"),
    EITHER(OwLeg, full_load, "load", 0, loads, "road or full"),
};

static const OwField fluid_fields[] = {
    REAL_OR_NONE(OwOilSpec, density_15_kg_m3, "density", DENSITY, 0.0, 600.0, 1200.0, NULL, "at 15 degC"),
    REAL_OR_NONE(OwOilSpec, cloud_point_k, "cloud point", TEMPERATURE, 0.0, 200.0, 350.0, NULL, "measured"),
    REAL_OR_NONE(OwOilSpec, polar_share, "polar matter", NUMBER, 0.0, 0.0, 0.8, NULL,
                 "total polar matter by mass"),
    REAL_OR_NONE(OwOilSpec, water_share, "water", NUMBER, 0.0, 0.0, 0.2, NULL,
                 "by mass (750 mg/kg or 0.075 %)"),
    REAL_OR_NONE(OwOilSpec, acid_mg_g, "acid value", NUMBER, 0.0, 0.0, 200.0, NULL,
                 "in mg KOH/g, a plain number"),
    REAL_OR_NONE(OwOilSpec, solids_share, "solids", NUMBER, 0.0, 0.0, 0.2, NULL,
                 "total contamination by mass"),
};
static const OwSpecialKey fluid_special[] = {
    {"kind", "a named oil; without it the readings below must suffice"},
    {"viscosity", "a list {at: 40 degC, is: 38 mm2/s}; `within: 3 %` states the error of a reading"},
    {"cups", "a list {cup: 4, takes: 35 s, at: 20 degC}; ISO 2431 cups 3, 4, 5, 6"},
    {"hydrometer", "{reads: 905 kg/m3, at: 30 degC}"},
    {"fatty acids", "shares by mass by code or name {16:0: 4 %, 18:1: 64 %, linoleic: 22 %, 18:3: 8 %}"},
    {"used", "yes, or the viscosity over that of fresh oil at 40 degC"},
    {"blend", "shares by volume {rapeseed: 70 %, diesel: 30 %}"},
    {NULL, NULL},
};

static const OwField electrics_fields[] = {
    REAL(OwElectrics, battery_v, "key-on voltage", VOLTAGE, 12.0, 4.0, 60.0, "V",
         "at the loads, engine off" PRACTICE),
    REAL(OwElectrics, running_v, "running voltage", VOLTAGE, 13.8, 4.0, 60.0, "V",
         "at the loads, engine on" PRACTICE),
    REAL(OwElectrics, crank_v, "cranking voltage", VOLTAGE, 9.5, 2.0, 60.0, "V",
         "at the loads while cranking" PRACTICE),
    REAL(OwElectrics, battery_c, "battery", CHARGE, 88.0 * 3600.0, 3600.0, 3.6e6, "Ah",
         "rated charge" PRACTICE),
    REAL(OwElectrics, wire_drop, "wire drop", NUMBER, 0.05, 0.0, 0.6, NULL,
         "share of the voltage lost on the way to each load" PRACTICE),
};

static const OwField limits_fields[] = {
    REAL(OwLimits, start_kinematic_m2_s, "start viscosity", KINEMATIC_VISCOSITY, MM2S(40), MM2S(1),
         MM2S(1000), NULL, "thickest at the injection pump's inlet for a start" PRACTICE),
    REAL(OwLimits, run_kinematic_m2_s, "running viscosity", KINEMATIC_VISCOSITY, MM2S(20), MM2S(1),
         MM2S(1000), NULL,
         "thickest there once warm; rapeseed oil at 57 degC, and 60 degC is enough for smooth flow (Bari, "
         "Lim & Yu 2002, "
         "Renewable Energy 27:339)"),
    REAL(OwLimits, warm_up_s, "warm-up", TIME, 600.0, 0.0, 7200.0, "s",
         "for this long after the start the start viscosity is still allowed; drive gently" PRACTICE),
    REAL_OR_NONE(OwLimits, ready_k, "ready temperature", TEMPERATURE, 0.0, CELSIUS(-20), CELSIUS(120), NULL,
                 "inlet temperature that counts as ready; none: by viscosity only"),
    REAL(OwLimits, suction_floor_pa, "suction floor", PRESSURE, KPA(-30), KPA(-95), 0.0, NULL,
         "lowest gauge pressure on a suction side" PRACTICE),
    REAL(OwLimits, min_fill, "least filling", NUMBER, 0.95, 0.1, 1.0, NULL,
         "least share of liquid in the injection pump's inlet" PRACTICE),
    REAL(OwLimits, inlet_max_pa, "inlet pressure", PRESSURE, KPA(100), KPA(1), KPA(2000), NULL,
         "highest gauge pressure at the injection pump's inlet" PRACTICE),
    REAL(OwLimits, oil_max_k, "oil temperature", TEMPERATURE, CELSIUS(105), CELSIUS(40), CELSIUS(200), NULL,
         "hottest oil anywhere" PRACTICE),
    REAL(OwLimits, preheat_charge_share, "pre-heat share", NUMBER, 0.2, 0.0, 1.0, NULL,
         "share of the battery's charge that pre-heating may draw" PRACTICE),
};

#define TABLE(rows)                                                                                          \
    { rows, (int)(sizeof(rows) / sizeof((rows)[0])) }

static const OwSection sections[] = {
    {"vehicle", offsetof(OwRig, vehicle), TABLE(vehicle_fields), vehicle_special,
     "what the engine has to move"},
    {"engine", offsetof(OwRig, engine), TABLE(engine_fields), NULL, "the engine and its coolant"},
    {"climate", offsetof(OwRig, climate), TABLE(climate_fields), NULL, "the air"},
    {"drive", offsetof(OwRig, drive), TABLE(drive_fields), drive_special, "what the driver does"},
    {"electrics", offsetof(OwRig, electrics), TABLE(electrics_fields), ow_electric_special,
     "voltages at the loads, and the wiring to them"},
    {"limits", offsetof(OwRig, limits), TABLE(limits_fields), NULL, "what the result is held against"},
    {NULL, 0, {NULL, 0}, NULL, NULL},
};

const OwSection *ow_sections(void) {
    return sections;
}

OwFieldTable ow_element_fields(void) {
    return (OwFieldTable)TABLE(element_fields);
}

OwFieldTable ow_thermostat_fields(void) {
    return (OwFieldTable)TABLE(thermostat_fields);
}

OwFieldTable ow_leg_fields(void) {
    return (OwFieldTable)TABLE(leg_fields);
}

OwFieldTable ow_fluid_fields(void) {
    return (OwFieldTable)TABLE(fluid_fields);
}

const OwSpecialKey *ow_fluid_special(void) {
    return fluid_special;
}
