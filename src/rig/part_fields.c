// SPDX-License-Identifier: GPL-3.0-or-later
// The catalogue of parts: one row a key, with default, legal range and where the figure comes from.
#include "rig/catalogue.h"
#include "rig/field_macros.h"

// Where no source stands, the figure is common practice for a diesel van or pick-up of about 55 kW and 2.4 L
// (PRACTICE).

static const OwField common_fields[] = {
    CHOICE(OwPart, place, "place", OW_PLACE_UNDER_FLOOR, ow_place_names,
           "where it sits: under floor, engine bay, cabin or load space (each kind has its own default)"),
    REAL_OR_NONE(OwPart, rating_k, "rating", TEMPERATURE, 0.0, CELSIUS(20), CELSIUS(900), NULL,
                 "hottest it may become; none: the rating of its material"),
    REAL(OwPart, price, "price", NUMBER, 0.0, 0.0, 1e9, NULL,
         "what it costs, in one currency throughout; 0 unknown"),
};

static const OwField tank_fields[] = {
    REAL(OwPart, as.tank.volume_m3, "volume", VOLUME, LITRE(60), LITRE(0.2), LITRE(5000), NULL,
         "brim volume" PRACTICE),
    REAL(OwPart, as.tank.fill, "fill", NUMBER, 0.75, 0.01, 1.0, NULL,
         "share of the volume that holds fuel" PRACTICE),
    TEXT(OwPart, as.tank.fluid, "fluid", "which fluid of the oil section is inside (default: the first)"),
    REAL(OwPart, as.tank.pickup_height_m, "pickup height", LENGTH, MM(20), 0.0, 2.0, NULL,
         "pick-up above the tank's floor" PRACTICE),
    REAL(OwPart, as.tank.metal_mass_kg, "metal mass", MASS, 8.0, 0.0, 2000.0, NULL,
         "mass of the shell" PRACTICE),
    REAL(OwPart, as.tank.area_m2, "outer area", AREA, 1.1, 0.001, 200.0, NULL, "outer surface" PRACTICE),
    REAL(OwPart, as.tank.insulation_w_m2k, "insulation", PER_AREA_CONDUCTANCE, 0.0, 0.0, 1e4, NULL,
         "conductance of the jacket per area; 0 is bare"),
    REAL(OwPart, as.tank.vent_pa, "vent pressure", PRESSURE, 0.0, -50e3, 100e3, NULL,
         "gauge pressure above the fuel"),
    REAL(OwPart, as.tank.pickup_share, "warm layer", NUMBER, 0.0, 0.0, 0.9, NULL,
         "share of the fuel that stands in the warm layer round the pick-up; 0 is fully mixed"),
    REAL(OwPart, as.tank.layer_exchange_w_k, "layer exchange", CONDUCTANCE, 5.0, 0.0, 1e4, NULL,
         "heat exchange between that layer and the rest" PRACTICE),
    REAL(OwPart, as.tank.coil_w_k, "coolant coil", CONDUCTANCE, 0.0, 0.0, 5e3, NULL,
         "conductance of a coolant coil in the tank at full coolant flow; 0 none"),
};
static const OwSpecialKey heaters_only[] = {
    {"heaters", "a list of electric elements, see heaters"},
    {NULL, NULL},
};

#define RUN_FIELDS(BORE, WALL, ROUGHNESS, MATERIAL)                                                          \
    REAL(OwPart, as.run.bore_m, "bore", LENGTH, BORE, MM(0.5), MM(200), NULL, "inner diameter" PRACTICE),    \
        REAL(OwPart, as.run.wall_m, "wall", LENGTH, WALL, MM(0.2), MM(50), NULL, "wall thickness" PRACTICE), \
        REAL(OwPart, as.run.length_m, "length", LENGTH, 1.0, MM(5), 100.0, NULL, "length"),                  \
        REAL(OwPart, as.run.rise_m, "rise", LENGTH, 0.0, -20.0, 20.0, NULL,                                  \
             "outlet above inlet; negative when it falls"),                                                  \
        REAL(OwPart, as.run.insulation_m, "insulation thickness", LENGTH, 0.0, 0.0, MM(200), NULL,           \
             "0 is bare"),                                                                                   \
        REAL(OwPart, as.run.insulation_w_mk, "insulation conductivity", CONDUCTIVITY, 0.04, 0.005, 5.0,      \
             NULL, "closed-cell foam 0.034 to 0.04 W/(m K)" PRACTICE),                                       \
        REAL(OwPart, as.run.roughness_m, "roughness", LENGTH, ROUGHNESS, 0.0, MM(5), NULL,                   \
             "of the inner wall; drawn tubing 1.5 um (Moody 1944, Trans. ASME 66:671)"),                     \
        REAL(OwPart, as.run.minor_loss, "minor loss", NUMBER, 0.5, 0.0, 1e4, NULL,                           \
             "sum of loss coefficients of bends and fittings on the bore's velocity head" PRACTICE),         \
        REAL(OwPart, as.run.coolant_w_mk, "coolant trace", CONDUCTIVITY, 0.0, 0.0, 200.0, NULL,              \
             "conductance per length to coolant lines taped alongside; 0 none"),                             \
        REAL(OwPart, as.run.trace_w_m, "electric trace", POWER_PER_LENGTH, 0.0, 0.0, 500.0, NULL,            \
             "trace heater per length at rated voltage; 0 none"),                                            \
        REAL(OwPart, as.run.trace_off_k, "trace off", TEMPERATURE, CELSIUS(65), CELSIUS(0), CELSIUS(300),    \
             NULL, "the self-limiting trace gives nothing at this wall temperature" PRACTICE),               \
        COUNT(OwPart, as.run.cells, "cells", 0, 0, 5000, "computing cells along it; 0: chosen by the plan"), \
        CHOICE(OwPart, as.run.material, "material", MATERIAL, ow_material_names, "of the wall")

static const OwField hose_fields[] = {RUN_FIELDS(MM(8), MM(3), 1.5e-6, OW_MATERIAL_RUBBER)};
static const OwField tube_fields[] = {RUN_FIELDS(MM(8), MM(1), 1.5e-6, OW_MATERIAL_STEEL)};

static const OwField chamber_fields[] = {
    REAL(OwPart, as.chamber.oil_volume_m3, "oil volume", VOLUME, ML(40), ML(1), LITRE(20), NULL,
         "oil inside" PRACTICE),
    REAL(OwPart, as.chamber.metal_mass_kg, "metal mass", MASS, 0.5, 0.005, 50.0, NULL,
         "mass of the metal" PRACTICE),
    REAL(OwPart, as.chamber.outer_area_m2, "outer area", AREA, 0.025, 1e-4, 5.0, NULL,
         "outer surface" PRACTICE),
    REAL(OwPart, as.chamber.insulation_w_m2k, "insulation", PER_AREA_CONDUCTANCE, 0.0, 0.0, 1e4, NULL,
         "conductance of the jacket per area; 0 is bare"),
    REAL(OwPart, as.chamber.inner_w_k, "inner conductance", CONDUCTANCE, 6.0, 0.05, 1e4, NULL,
         "metal to oil" PRACTICE),
    REAL(OwPart, as.chamber.bore_m, "bore", LENGTH, MM(12), MM(0.5), MM(200), NULL,
         "equivalent passage" PRACTICE),
    REAL(OwPart, as.chamber.path_m, "path", LENGTH, MM(150), MM(1), 10.0, NULL,
         "length of that passage" PRACTICE),
    REAL(OwPart, as.chamber.rise_m, "rise", LENGTH, 0.0, -5.0, 5.0, NULL, "outlet above inlet"),
    COUNT(OwPart, as.chamber.cells, "cells", 3, 1, 8, "stirred cells in series" PRACTICE),
    CHOICE(OwPart, as.chamber.material, "material", OW_MATERIAL_IRON, ow_material_names, "of the body"),
};

static const OwField electric_pump_fields[] = {
    REAL(OwPart, as.electric_pump.stall_pa, "stall pressure", PRESSURE, KPA(35), KPA(0.5), KPA(1500), NULL,
         "pressure at no flow, rated voltage" PRACTICE),
    REAL(OwPart, as.electric_pump.free_flow_m3_s, "free flow", VOLUME_FLOW, LPH(120), LPH(1), LPH(5000), NULL,
         "flow against no pressure, thin fuel, rated voltage" PRACTICE),
    REAL(OwPart, as.electric_pump.half_viscosity_m2_s, "half viscosity", KINEMATIC_VISCOSITY, MM2S(60),
         MM2S(1), MM2S(1e5), NULL, "viscosity at which the free flow has halved" PRACTICE),
    REAL(OwPart, as.electric_pump.rated_v, "rated voltage", VOLTAGE, 12.0, 1.0, 60.0, "V", "rated voltage"),
    REAL(OwPart, as.electric_pump.current_a, "current", CURRENT, 2.0, 0.01, 60.0, "A",
         "running current" PRACTICE),
    REAL(OwPart, as.electric_pump.oil_volume_m3, "oil volume", VOLUME, ML(60), ML(0.5), LITRE(5), NULL,
         "oil inside" PRACTICE),
    REAL(OwPart, as.electric_pump.metal_mass_kg, "metal mass", MASS, 0.7, 0.01, 50.0, NULL, "mass" PRACTICE),
    FLAG(OwPart, as.electric_pump.passes_when_off, "passes when off", true,
         "fuel can be drawn through it when it stands still" PRACTICE),
};
static const OwSpecialKey curve_only[] = {
    {"curve",
     "measured points instead of the straight line, flow rising and pressure falling, 2 to 12 of them:\n"
     "[{flow: 0 L/h, pressure: 35 kPa}, {flow: 120 L/h, pressure: 0 kPa}]"},
    {NULL, NULL},
};

static const OwField lift_pump_fields[] = {
    REAL(OwPart, as.lift_pump.displacement_m3_rev, "displacement per turn", VOLUME, ML(0.8), ML(0.01),
         ML(100), NULL, "per engine revolution" PRACTICE),
    REAL(OwPart, as.lift_pump.spring_pa, "spring pressure", PRESSURE, KPA(25), KPA(1), KPA(500), NULL,
         "outlet gauge pressure at which the diaphragm stops" PRACTICE),
    REAL(OwPart, as.lift_pump.oil_volume_m3, "oil volume", VOLUME, ML(60), ML(0.5), LITRE(5), NULL,
         "oil inside" PRACTICE),
    REAL(OwPart, as.lift_pump.metal_mass_kg, "metal mass", MASS, 0.5, 0.01, 50.0, NULL, "mass" PRACTICE),
};

static const OwField filter_fields[] = {
    REAL(OwPart, as.filter.clean_pa, "clean drop", PRESSURE, KPA(5), 1.0, KPA(1000), NULL,
         "pressure drop when clean, at the flow and viscosity below" PRACTICE),
    REAL(OwPart, as.filter.at_flow_m3_s, "at flow", VOLUME_FLOW, LPH(60), LPH(0.1), LPH(10000), NULL,
         "for the clean drop"),
    REAL(OwPart, as.filter.at_kinematic_m2_s, "at viscosity", KINEMATIC_VISCOSITY, MM2S(10), MM2S(0.3),
         MM2S(2000), NULL, "for the clean drop"),
    REAL(OwPart, as.filter.rating_m, "fineness", LENGTH, 10e-6, 0.5e-6, 2e-3, NULL,
         "particle size it holds back" PRACTICE),
    REAL(OwPart, as.filter.dirt_capacity_kg, "dirt capacity", MASS, 0.030, 1e-5, 20.0, NULL,
         "dirt that it can hold" PRACTICE),
    REAL(OwPart, as.filter.loading, "loading", NUMBER, 0.0, 0.0, 0.999, NULL,
         "share of that capacity already used"),
    REAL(OwPart, as.filter.oil_volume_m3, "oil volume", VOLUME, ML(600), ML(1), LITRE(50), NULL,
         "oil inside" PRACTICE),
    REAL(OwPart, as.filter.housing_mass_kg, "housing mass", MASS, 0.8, 0.01, 100.0, NULL, "mass" PRACTICE),
    REAL(OwPart, as.filter.outer_area_m2, "outer area", AREA, 0.06, 1e-4, 10.0, NULL,
         "outer surface" PRACTICE),
    CHOICE(OwPart, as.filter.material, "material", OW_MATERIAL_STEEL, ow_material_names,
           "of housing or bowl; plastic bowls do not stand boost-heated oil" PRACTICE),
};

static const OwField screen_fields[] = {
    REAL(OwPart, as.screen.clean_pa, "clean drop", PRESSURE, KPA(0.5), 0.01, KPA(1000), NULL,
         "pressure drop when clean, at the flow and viscosity below" PRACTICE),
    REAL(OwPart, as.screen.at_flow_m3_s, "at flow", VOLUME_FLOW, LPH(60), LPH(0.1), LPH(10000), NULL,
         "for the clean drop"),
    REAL(OwPart, as.screen.at_kinematic_m2_s, "at viscosity", KINEMATIC_VISCOSITY, MM2S(10), MM2S(0.3),
         MM2S(2000), NULL, "for the clean drop"),
    REAL(OwPart, as.screen.rating_m, "fineness", LENGTH, 150e-6, 1e-6, 5e-3, NULL, "mesh opening" PRACTICE),
    REAL(OwPart, as.screen.loading, "loading", NUMBER, 0.0, 0.0, 0.999, NULL,
         "share of the mesh that is blocked"),
    REAL(OwPart, as.screen.oil_volume_m3, "oil volume", VOLUME, ML(30), ML(0.1), LITRE(5), NULL,
         "oil inside" PRACTICE),
    REAL(OwPart, as.screen.metal_mass_kg, "metal mass", MASS, 0.1, 0.001, 20.0, NULL, "mass" PRACTICE),
};

static const OwField coil_fields[] = {
    REAL(OwPart, as.coil.conductance_w_k, "conductance", CONDUCTANCE, 20.0, 0.0, 5e3, NULL,
         "coil to the part at full coolant flow" PRACTICE),
    REAL(OwPart, as.coil.coolant_kg_s, "coolant flow", MASS_FLOW, 0.05, 0.001, 5.0, NULL,
         "coolant through the coil at full engine speed" PRACTICE),
    FLAG(OwPart, as.coil.to_oil, "in oil", false, "the coil lies in the oil (yes) or against the metal (no)"),
    FLAG(OwPart, as.coil.is_fitted, "fitted", true, "no when a detachable coil is left off"),
};
static const OwSpecialKey warms_only[] = {
    {"warms", "the part that it warms; must be given"},
    {NULL, NULL},
};

static const OwField exchanger_fields[] = {
    REAL(OwPart, as.exchanger.conductance_w_k, "conductance", CONDUCTANCE, 60.0, 0.0, 5e3, NULL,
         "coolant to fuel at full flow" PRACTICE),
    REAL(OwPart, as.exchanger.coolant_kg_s, "coolant flow", MASS_FLOW, 0.05, 0.001, 5.0, NULL,
         "coolant through it at full engine speed" PRACTICE),
    REAL(OwPart, as.exchanger.oil_volume_m3, "oil volume", VOLUME, ML(60), ML(1), LITRE(10), NULL,
         "oil inside" PRACTICE),
    REAL(OwPart, as.exchanger.metal_mass_kg, "metal mass", MASS, 0.8, 0.01, 50.0, NULL, "mass" PRACTICE),
    REAL(OwPart, as.exchanger.bore_m, "bore", LENGTH, MM(8), MM(0.5), MM(200), NULL,
         "equivalent passage" PRACTICE),
    REAL(OwPart, as.exchanger.path_m, "path", LENGTH, MM(500), MM(1), 20.0, NULL,
         "length of that passage" PRACTICE),
};

static const char *const pump_types[] = {"distributor", "in-line", NULL};
static const OwField injection_pump_fields[] = {
    CHOICE(OwPart, as.injection_pump.type, "type", OW_PUMP_DISTRIBUTOR, pump_types, "distributor or in-line"),
    REAL(OwPart, as.injection_pump.transfer_m3_rev, "draw per turn", VOLUME, ML(50.0e3 / 120000.0), ML(0.005),
         ML(50), NULL,
         "distributor: what its transfer pump draws per engine revolution; 50 L/h at 2000 rpm" PRACTICE),
    REAL(OwPart, as.injection_pump.overflow_pa, "overflow pressure", PRESSURE, KPA(120), KPA(1), KPA(1000),
         NULL, "in-line: gauge pressure at which the overflow valve opens" PRACTICE),
    REAL(OwPart, as.injection_pump.overflow_flow_m3_s, "overflow flow", VOLUME_FLOW, LPH(50), LPH(0.5),
         LPH(2000), NULL, "through the overflow passage with thin fuel at the drop below" PRACTICE),
    REAL(OwPart, as.injection_pump.overflow_drop_pa, "overflow drop", PRESSURE, KPA(50), KPA(0.1), KPA(2000),
         NULL, "for the overflow flow" PRACTICE),
    REAL(OwPart, as.injection_pump.oil_volume_m3, "oil volume", VOLUME, ML(100), ML(1), LITRE(5), NULL,
         "oil inside" PRACTICE),
    REAL(OwPart, as.injection_pump.metal_mass_kg, "metal mass", MASS, 5.0, 0.1, 100.0, NULL, "mass" PRACTICE),
    REAL(OwPart, as.injection_pump.engine_w_k, "engine conductance", CONDUCTANCE, 3.0, 0.0, 500.0, NULL,
         "to the engine block" PRACTICE),
    REAL(OwPart, as.injection_pump.friction_w, "friction", POWER, 50.0, 0.0, 2000.0, "W",
         "heat made in it at rated engine speed" PRACTICE),
};

static const OwField injectors_fields[] = {
    REAL(OwPart, as.injectors.leak_share, "leak share", NUMBER, 0.02, 0.0, 1.0, NULL,
         "leak-off over burned fuel" PRACTICE),
};

static const OwField valve_fields[] = {
    REAL(OwPart, as.valve.loss_bore_m, "bore", LENGTH, MM(6), MM(0.5), MM(100), NULL, "passage" PRACTICE),
    REAL(OwPart, as.valve.loss_k, "loss", NUMBER, 3.0, 0.0, 1e4, NULL,
         "loss coefficient on that bore's velocity head when open" PRACTICE),
    REAL(OwPart, as.valve.travel_s, "travel time", TIME, 0.5, 0.0, 120.0, "s",
         "from wide open to shut or back; its sides open and close evenly meanwhile" PRACTICE),
    FLAG(OwPart, as.valve.is_electric, "electric", true, "moved by current (yes) or by hand (no)"),
};
static const OwSpecialKey valve_special[] = {
    {"positions",
     "2 to 4 names and which sides join the common port: {loop: a, tank: b, both: a+b, shut: none}\n"
     "(default {open: a, shut: none})"},
    {"start at", "the position at key on (default: the first)"},
    {NULL, NULL},
};

static const OwField check_valve_fields[] = {
    REAL(OwPart, as.check_valve.open_pa, "opening pressure", PRESSURE, KPA(2), 0.0, KPA(500), NULL,
         "difference at which it opens" PRACTICE),
    REAL(OwPart, as.check_valve.loss_bore_m, "bore", LENGTH, MM(8), MM(0.5), MM(100), NULL,
         "passage" PRACTICE),
    REAL(OwPart, as.check_valve.loss_k, "loss", NUMBER, 2.0, 0.0, 1e4, NULL,
         "loss coefficient when open" PRACTICE),
};

static const OwField relief_valve_fields[] = {
    REAL(OwPart, as.relief_valve.open_pa, "opening pressure", PRESSURE, KPA(50), KPA(0.5), KPA(5000), NULL,
         "difference at which it opens" PRACTICE),
    REAL(OwPart, as.relief_valve.slope_pa_s_m3, "slope", FLOW_RESISTANCE, KPA(10) / LPH(100), 1e5, 1e13, NULL,
         "pressure above the setting per flow: 10 kPa at 100 L/h" PRACTICE),
};

static const OwField orifice_fields[] = {
    REAL(OwPart, as.orifice.bore_m, "bore", LENGTH, MM(1), MM(0.1), MM(50), NULL, "hole" PRACTICE),
    REAL(OwPart, as.orifice.discharge, "discharge", NUMBER, 0.62, 0.2, 1.0, NULL,
         "discharge coefficient; sharp edge about 0.61 (ISO 5167-2)"),
};

#define TABLE(rows)                                                                                          \
    { rows, (int)(sizeof(rows) / sizeof((rows)[0])) }

static const OwKindWord kind_words[] = {
    {"tank", OW_PART_TANK, OW_PLACE_UNDER_FLOOR, TABLE(tank_fields), heaters_only, "ports pickup, return"},
    {"hose", OW_PART_RUN, OW_PLACE_UNDER_FLOOR, TABLE(hose_fields), NULL, "ports in, out"},
    {"tube", OW_PART_RUN, OW_PLACE_UNDER_FLOOR, TABLE(tube_fields), NULL, "ports in, out"},
    {"chamber", OW_PART_CHAMBER, OW_PLACE_ENGINE_BAY, TABLE(chamber_fields), heaters_only,
     "heated metal body with oil inside; ports in, out"},
    {"electric pump", OW_PART_ELECTRIC_PUMP, OW_PLACE_UNDER_FLOOR, TABLE(electric_pump_fields), curve_only,
     "ports in, out"},
    {"lift pump", OW_PART_LIFT_PUMP, OW_PLACE_ENGINE_BAY, TABLE(lift_pump_fields), NULL,
     "driven by the engine, limited by its spring; ports in, out"},
    {"filter", OW_PART_FILTER, OW_PLACE_ENGINE_BAY, TABLE(filter_fields), heaters_only, "ports in, out"},
    {"screen", OW_PART_SCREEN, OW_PLACE_ENGINE_BAY, TABLE(screen_fields), NULL,
     "metal strainer; ports in, out"},
    {"coolant coil", OW_PART_COOLANT_COIL, OW_PLACE_ENGINE_BAY, TABLE(coil_fields), warms_only,
     "coil in coolant that warms another part; no fuel ports"},
    {"exchanger", OW_PART_EXCHANGER, OW_PLACE_ENGINE_BAY, TABLE(exchanger_fields), NULL,
     "coolant to fuel; ports in, out"},
    {"injection pump", OW_PART_INJECTION_PUMP, OW_PLACE_ENGINE_BAY, TABLE(injection_pump_fields), NULL,
     "ports in, return"},
    {"injectors", OW_PART_INJECTORS, OW_PLACE_ENGINE_BAY, TABLE(injectors_fields), NULL,
     "fed by the injection pump; port return (leak-off)"},
    {"valve", OW_PART_VALVE, OW_PLACE_ENGINE_BAY, TABLE(valve_fields), valve_special,
     "two- or three-way; ports common, a and, when a position names it, b"},
    {"check valve", OW_PART_CHECK_VALVE, OW_PLACE_ENGINE_BAY, TABLE(check_valve_fields), NULL,
     "ports in, out"},
    {"relief valve", OW_PART_RELIEF_VALVE, OW_PLACE_ENGINE_BAY, TABLE(relief_valve_fields), NULL,
     "ports in, out"},
    {"orifice", OW_PART_ORIFICE, OW_PLACE_ENGINE_BAY, TABLE(orifice_fields), NULL, "ports in, out"},
    {"tee", OW_PART_TEE, OW_PLACE_ENGINE_BAY, {NULL, 0}, NULL, "ports in, out, side"},
    {NULL, OW_PART_KIND_COUNT, OW_PLACE_UNDER_FLOOR, {NULL, 0}, NULL, NULL},
};

const OwKindWord *ow_kind_words(void) {
    return kind_words;
}

OwFieldTable ow_common_fields(void) {
    return (OwFieldTable)TABLE(common_fields);
}
