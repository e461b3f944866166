// SPDX-License-Identifier: GPL-3.0-or-later
// The catalogue of the yard file: one row a key, with default, legal range and where the figure comes from.
#include "yard/plan_tables.h"
#include "rig/field_macros.h"

#include <string.h>

#define UM(x) ((x)*1e-6)
#define MG_KG(x) ((x)*1e-6)
#define HOURS(x) ((x)*3600.0)
#define DAYS(x) ((x)*86400.0)
#define MINUTES(x) ((x)*60.0)

static const OwField climate_fields[] = {
    REAL(OwYardClimate, outdoor_k, "outdoor", TEMPERATURE, CELSIUS(10), CELSIUS(-40), CELSIUS(50), NULL,
         "outdoor air, which drying draws in"),
    REAL(OwYardClimate, humidity, "humidity", NUMBER, 0.75, 0.0, 1.0, NULL,
         "relative humidity of the outdoor air"),
    REAL(OwYardClimate, shed_k, "shed", TEMPERATURE, CELSIUS(15), CELSIUS(-20), CELSIUS(50), NULL,
         "air round the vessels"),
};

static const OwField incoming_fields[] = {
    REAL_OR_NONE(OwYardIncoming, temperature_k, "temperature", TEMPERATURE, 0.0, CELSIUS(-20), CELSIUS(90),
                 NULL, "of the oil as it comes; none: the shed's"),
    REAL(OwYardIncoming, drop_m, "drops", LENGTH, UM(40), UM(1), MM(5), NULL,
         "water drops: half of the water is in smaller ones; pumping makes them finer (assumed)"),
    REAL(OwYardIncoming, drop_spread, "drop spread", NUMBER, 0.9, 0.05, 3.0, NULL,
         "ln of the geometric standard deviation of a log-normal law (assumed)"),
    REAL(OwYardIncoming, crumb_m, "crumbs", LENGTH, UM(100), UM(1), MM(5), NULL,
         "crumbs: 37 % of their mass is coarser (Rosin & Rammler 1933; size assumed)"),
    REAL(OwYardIncoming, crumb_shape, "crumb exponent", NUMBER, 0.9, 0.2, 5.0, NULL,
         "exponent of that law; a small one means many fines (assumed)"),
    REAL(OwYardIncoming, crumb_kg_m3, "crumb density", DENSITY, 1150.0, 850.0, 3000.0, NULL,
         "of a crumb soaked with oil (assumed)"),
};

static const OwField targets_fields[] = {
    REAL(OwYardTargets, water_share, "water", NUMBER, MG_KG(500), MG_KG(50), 0.05, NULL,
         "most water in the clean oil; DIN 51605 allows 750 mg/kg, 500 leaves room" PRACTICE),
    REAL(OwYardTargets, solids_share, "solids", NUMBER, MG_KG(24), MG_KG(1), 0.05, NULL,
         "most solids in the clean oil; DIN 51605 allows 24 mg/kg"),
    REAL(OwYardTargets, rating_m, "rating", LENGTH, UM(5), UM(0.5), MM(1), NULL,
         "finest filter the oil must have passed" PRACTICE),
    REAL(
        OwYardTargets, coldest_k, "coldest tank", TEMPERATURE, CELSIUS(0), CELSIUS(-20), CELSIUS(40), NULL,
        "coldest that the oil will stand, in a store or a vehicle's tank: no water may come out of it there"),
    REAL(OwYardTargets, acid_mg_g, "acid value", NUMBER, 2.0, 0.1, 200.0, NULL,
         "in mg KOH/g, a plain number; DIN 51605 allows 2.0"),
};

static const OwField losses_fields[] = {
    REAL(OwYardLosses, move, "each move", NUMBER, 0.003, 0.0, 0.2, NULL,
         "share of the oil lost at each move from vessel to vessel: drips, wetted walls, hoses" PRACTICE),
    REAL(OwYardLosses, sludge_oil, "oil in sludge", NUMBER, 1.0, 0.0, 20.0, NULL,
         "kg of oil that go with a kg of settled crumbs" PRACTICE),
    REAL(OwYardLosses, water_oil, "oil in water", NUMBER, 0.1, 0.0, 20.0, NULL,
         "kg of oil that go with a kg of drained water" PRACTICE),
    REAL(OwYardLosses, cake_oil, "oil in cake", NUMBER, 2.0, 0.0, 20.0, NULL,
         "kg of oil that go with a kg of solids on a filter, drained" PRACTICE),
    REAL(OwYardLosses, rags_kg, "rags", MASS, 0.1, 0.0, 20.0, NULL,
         "dry rags and absorbent a batch" PRACTICE),
};

static const OwField week_fields[] = {
    REAL(OwYardWeekSpec, pick_ups, "pick-ups", NUMBER, 2.0, 0.0, 1000.0, NULL, "a week"),
    REAL(OwYardWeekSpec, pick_up_m3, "a pick-up", VOLUME, LITRE(75), LITRE(0.1), LITRE(20000), NULL,
         "oil that one brings"),
    REAL(OwYardWeekSpec, pick_up_s, "pick-up takes", TIME, MINUTES(45), 0.0, DAYS(2), NULL,
         "work for one; kilometres are counted by the cost" PRACTICE),
    REAL(OwYardWeekSpec, batch_m3, "batch", VOLUME, LITRE(150), LITRE(1), LITRE(20000), NULL,
         "oil worked up at a time, as it comes"),
    COUNT(OwYardWeekSpec, days, "days", 5, 1, 7, "worked in a week"),
    REAL(OwYardWeekSpec, day_s, "working day", TIME, HOURS(6), HOURS(0.25), HOURS(24), NULL,
         "someone is in the yard for so long; heat runs only then"),
};

static const OwField prices_fields[] = {
    TEXT(OwYardPrices, currency, "currency", "what it is called; one throughout"),
    REAL(OwYardPrices, kwh, "electricity", NUMBER, 0.30, 0.0, 1e6, NULL, "a kWh" PRACTICE),
    REAL(OwYardPrices, hour, "labour", NUMBER, 0.0, 0.0, 1e6, NULL,
         "an hour of work; 0: not counted, but the hours are shown"),
    REAL(OwYardPrices, oil_l, "oil", NUMBER, 0.0, 0.0, 1e6, NULL, "paid a litre as it comes"),
    REAL(OwYardPrices, tests, "tests", NUMBER, 2.0, 0.0, 1e6, NULL, "a batch" PRACTICE),
    REAL(OwYardPrices, sludge_kg, "sludge", NUMBER, 0.25, 0.0, 1e6, NULL, "fee a kg of wet sludge" PRACTICE),
    REAL(OwYardPrices, water_kg, "water", NUMBER, 0.1, 0.0, 1e6, NULL,
         "fee a kg of oily water; never into a drain" PRACTICE),
    REAL(OwYardPrices, cake_kg, "cake", NUMBER, 0.4, 0.0, 1e6, NULL,
         "fee a kg of filter cake, bags and cartridges" PRACTICE),
    REAL(OwYardPrices, rags_kg, "rags", NUMBER, 0.4, 0.0, 1e6, NULL, "fee a kg of oily rags" PRACTICE),
};

static const char *const tested[] = {"incoming", "clean", NULL};
static const OwField tests_fields[] = {
    CHOICE(OwYardTests, of, "of", OW_TESTS_OF_INCOMING, tested,
           "incoming: oil as it comes (water and acid value also stand in for what the oil section does not "
           "say); clean: what came out of the last step"),
    REAL_OR_NONE(OwYardTests, acid_mg_g, "acid value", NUMBER, 0.0, 0.001, 200.0, NULL,
                 "in mg KOH/g, a plain number, from a titration; none: not tested"),
    REAL(OwYardTests, acid_within, "acid within", NUMBER, 0.05, 0.0, 0.9, NULL,
         "half of its 90 % interval over the value" PRACTICE),
    REAL_OR_NONE(OwYardTests, water_share, "water", NUMBER, 0.0, MG_KG(1), 0.5, NULL,
                 "by mass, from hydride or pan"),
    REAL(OwYardTests, water_within, "water within", NUMBER, 0.15, 0.0, 0.9, NULL,
         "half of its 90 % interval over the value" PRACTICE),
    REAL_OR_NONE(OwYardTests, solids_share, "solids", NUMBER, 0.0, MG_KG(1), 0.9, NULL,
                 "by volume, from a cone"),
    REAL(OwYardTests, solids_within, "solids within", NUMBER, 0.2, 0.0, 0.9, NULL,
         "half of its 90 % interval over the value" PRACTICE),
    REAL_OR_NONE(OwYardTests, kinematic_40_m2_s, "viscosity", KINEMATIC_VISCOSITY, 0.0, MM2S(1), MM2S(1000),
                 NULL, "at 40 degC"),
    REAL(OwYardTests, kinematic_within, "viscosity within", NUMBER, 0.08, 0.0, 0.9, NULL,
         "half of its 90 % interval over the value" PRACTICE),
};

static const OwField vessel_fields[] = {
    REAL(OwVessel, volume_m3, "volume", VOLUME, LITRE(200), LITRE(1), LITRE(20000), NULL, "to the brim"),
    REAL(OwVessel, diameter_m, "diameter", LENGTH, 0.57, 0.05, 5.0, NULL,
         "inside; the height follows; a 200-L drum has 0.57 m" PRACTICE),
    REAL(OwVessel, insulation_w_m2k, "insulation", PER_AREA_CONDUCTANCE, 0.0, 0.0, 100.0, NULL,
         "conductance of the jacket per area, 50 mm of mineral wool 0.8 W/(m2 K); 0 is bare"),
    REAL(OwVessel, metal_kg, "metal mass", MASS, 20.0, 0.0, 5000.0, NULL,
         "of the shell, which warms along" PRACTICE),
    REAL_OR_NONE(OwVessel, heater_w, "heater", POWER, 0.0, 50.0, 100e3, NULL,
                 "electric element; none: it is not heated"),
    REAL_OR_NONE(OwVessel, heater_m2, "heater area", AREA, 0.0, 1e-4, 20.0, NULL,
                 "surface of the element that the oil wets; none: not known"),
    FLAG(OwVessel, has_cut_out, "cut-out", false,
         "an over-temperature cut-out of its own, reset by hand, beside the thermostat"),
    FLAG(OwVessel, has_drain, "drain", true,
         "at the lowest point; no: the oil is drawn off from above and at least 5 % stays behind" PRACTICE),
    REAL(OwVessel, heel, "heel", NUMBER, 0.01, 0.0, 0.5, NULL,
         "share of the oil that goes with the bottoms at each settling" PRACTICE),
    COUNT(OwVessel, count, "count", 1, 1, 50, "how many of the same"),
};

#define HANDS_ON(minutes)                                                                                    \
    REAL(OwPlanStep, hands_on_s, "hands on", TIME, MINUTES(minutes), 0.0, DAYS(2), NULL,                     \
         "work of a person for this step" PRACTICE)

static const OwField settle_fields[] = {
    REAL(OwPlanStep, as.settle.time_s, "for", TIME, DAYS(1), 0.0, DAYS(365), NULL, "how long it stands"),
    REAL_OR_NONE(OwPlanStep, as.settle.around_k, "around", TEMPERATURE, 0.0, CELSIUS(-20), CELSIUS(60), NULL,
                 "air round the vessel; none: the shed's"),
    HANDS_ON(15),
};
static const OwField heat_fields[] = {
    REAL(OwPlanStep, as.heat.to_k, "to", TEMPERATURE, CELSIUS(60), CELSIUS(0), CELSIUS(150), NULL,
         "over 95 degC is refused: water under oil turns to steam"),
    HANDS_ON(10),
};
static const char *const ways[] = {"hot settle", "bubbling", "vacuum", NULL};
static const OwField dry_fields[] = {
    CHOICE(OwPlanStep, as.dry.way, "by", OW_DRY_HOT_SETTLE, ways,
           "hot settle (heat, switch off, let stand), bubbling (air) or vacuum"),
    REAL_OR_NONE(OwPlanStep, as.dry.at_k, "at", TEMPERATURE, 0.0, CELSIUS(0), CELSIUS(150), NULL,
                 "warmed to this first, and held there (hot settle: let go); none: as it comes"),
    REAL_OR_NONE(OwPlanStep, as.dry.target_share, "to", NUMBER, 0.0, MG_KG(10), 0.05, NULL,
                 "water at which bubbling or vacuum ends; none: what the targets ask, clear when cold"),
    REAL(OwPlanStep, as.dry.time_s, "for", TIME, HOURS(12), 0.0, DAYS(30), NULL,
         "hot settle: how long it stands; bubbling and vacuum: the longest"),
    REAL(OwPlanStep, as.dry.air_m3_s, "air flow", VOLUME_FLOW, LPH(3000), LPH(1), LPH(1e6), NULL,
         "bubbling: outdoor air as drawn in" PRACTICE),
    REAL(OwPlanStep, as.dry.approach, "approach", NUMBER, 0.8, 0.01, 1.0, NULL,
         "bubbling: share of equilibrium the air reaches on its way up; fine bubbles near 1 (assumed)"),
    REAL(OwPlanStep, as.dry.chamber_pa, "chamber pressure", PRESSURE, 5e3, 100.0, 101e3, NULL,
         "vacuum: absolute pressure the pump holds" PRACTICE),
    REAL(OwPlanStep, as.dry.pump_m3_s, "pump flow", VOLUME_FLOW, LPH(4000), LPH(1), LPH(1e6), NULL,
         "vacuum: the pump's displacement" PRACTICE),
    REAL(OwPlanStep, as.dry.pump_w, "pump power", POWER, 100.0, 0.0, 50e3, NULL,
         "of the air or vacuum pump" PRACTICE),
    HANDS_ON(15),
};
static const char *const forms[] = {"bag", "cartridge", NULL};
static const char *const pushes[] = {"gravity", "pump", NULL};
static const OwField filter_fields[] = {
    CHOICE(OwPlanStep, as.filter.form, "form", OW_FORM_BAG, forms, "bag or cartridge"),
    CHOICE(OwPlanStep, as.filter.push, "by", OW_PUSH_GRAVITY, pushes, "gravity or pump"),
    REAL(OwPlanStep, as.filter.rating_m, "rating", LENGTH, UM(10), UM(0.5), MM(2), NULL, "of the medium"),
    REAL(OwPlanStep, as.filter.area_m2, "area", AREA, 0.25, 1e-3, 100.0, NULL,
         "of the medium; a bag of 180 mm by 430 mm has 0.25 m2" PRACTICE),
    REAL(OwPlanStep, as.filter.catches, "catches", NUMBER, 0.95, 0.1, 1.0, NULL,
         "share of what is coarser than the rating, by mass; a nominal rating may mean less" PRACTICE),
    REAL_OR_NONE(OwPlanStep, as.filter.clean_pa, "clean drop", PRESSURE, 0.0, 10.0, KPA(500), NULL,
                 "of the clean filter at the flow and viscosity below, from its sheet; none: by rule"),
    REAL(OwPlanStep, as.filter.at_flow_m3_s, "at flow", VOLUME_FLOW, LPH(60), LPH(0.1), LPH(1e5), NULL,
         "flow of the clean drop"),
    REAL(OwPlanStep, as.filter.at_kinematic_m2_s, "at viscosity", KINEMATIC_VISCOSITY, MM2S(35), MM2S(0.5),
         MM2S(1000), NULL, "viscosity of the clean drop"),
    REAL_OR_NONE(OwPlanStep, as.filter.capacity_kg, "dirt capacity", MASS, 0.0, 1e-4, 100.0, NULL,
                 "dirt at ten times the clean drop; none: by rule, 1.5 kg/m2 a bag, 2 a cartridge (assumed)"),
    REAL(OwPlanStep, as.filter.head_m, "head", LENGTH, 0.8, 0.01, 20.0, NULL,
         "gravity: oil surface above the outlet" PRACTICE),
    REAL(OwPlanStep, as.filter.pressure_pa, "pressure", PRESSURE, KPA(100), KPA(1), KPA(1000), NULL,
         "pump: where its relief valve opens" PRACTICE),
    REAL(OwPlanStep, as.filter.flow_m3_s, "flow", VOLUME_FLOW, LPH(100), LPH(0.1), LPH(1e5), NULL,
         "pump: while the pressure is below that" PRACTICE),
    REAL(OwPlanStep, as.filter.pump_w, "pump power", POWER, 150.0, 0.0, 50e3, NULL, "pump" PRACTICE),
    REAL(OwPlanStep, as.filter.price, "price", NUMBER, 8.0, 0.0, 1e6, NULL,
         "of one bag or cartridge" PRACTICE),
    REAL(OwPlanStep, as.filter.mass_kg, "own mass", MASS, 0.1, 0.0, 50.0, NULL,
         "of one, clean and dry: it is waste in the end" PRACTICE),
    REAL(OwPlanStep, as.filter.change_s, "change takes", TIME, MINUTES(10), 0.0, DAYS(1), NULL,
         "work for each change" PRACTICE),
    HANDS_ON(15),
};
static const OwField centrifuge_fields[] = {
    REAL(OwPlanStep, as.centrifuge.rotation_rad_s, "speed", ROTATION, RPM(6000), RPM(100), RPM(60000), "rpm",
         "of the bowl, never above its maker's" PRACTICE),
    REAL(OwPlanStep, as.centrifuge.length_m, "bowl length", LENGTH, 0.10, 0.005, 3.0, NULL,
         "of the liquid ring" PRACTICE),
    REAL(OwPlanStep, as.centrifuge.inner_m, "inner radius", LENGTH, 0.045, 0.001, 1.0, NULL,
         "of the liquid's surface" PRACTICE),
    REAL(OwPlanStep, as.centrifuge.outer_m, "outer radius", LENGTH, 0.07, 0.002, 1.0, NULL,
         "of the bowl" PRACTICE),
    REAL(OwPlanStep, as.centrifuge.efficiency, "efficiency", NUMBER, 0.9, 0.05, 1.0, NULL,
         "of the bowl against sigma theory (from memory)"),
    REAL(OwPlanStep, as.centrifuge.flow_m3_s, "flow", VOLUME_FLOW, LPH(60), LPH(0.1), LPH(1e5), NULL,
         "through the bowl" PRACTICE),
    COUNT(OwPlanStep, as.centrifuge.passes, "passes", 1, 1, 20, "how often the batch goes through"),
    REAL(OwPlanStep, as.centrifuge.power_w, "power", POWER, 750.0, 0.0, 100e3, NULL,
         "of its motor and pump" PRACTICE),
    HANDS_ON(30),
};
static const OwField blend_fields[] = {
    REAL(OwPlanStep, as.blend.share, "share", NUMBER, 0.2, 0.001, 0.95, NULL,
         "of what is added, by volume of the blend"),
    REAL(OwPlanStep, as.blend.water_share, "water", NUMBER, MG_KG(100), 0.0, 0.01, NULL, "in what is added"),
    REAL(OwPlanStep, as.blend.solids_share, "solids", NUMBER, MG_KG(5), 0.0, 0.01, NULL, "in what is added"),
    REAL(OwPlanStep, as.blend.acid_mg_g, "acid value", NUMBER, 0.0, 0.0, 200.0, NULL,
         "of what is added, in mg KOH/g, a plain number"),
    REAL(OwPlanStep, as.blend.price_l, "price", NUMBER, 0.0, 0.0, 1e6, NULL, "a litre of what is added"),
    HANDS_ON(10),
};
static const OwField cool_fields[] = {
    REAL(OwPlanStep, as.cool.time_s, "for", TIME, HOURS(12), 0.0, DAYS(365), NULL,
         "how long it is kept; nothing is drawn off"),
    REAL_OR_NONE(OwPlanStep, as.cool.to_k, "to", TEMPERATURE, 0.0, CELSIUS(-20), CELSIUS(90), NULL,
                 "ends sooner when it is as cool as this; none: no"),
    REAL_OR_NONE(OwPlanStep, as.cool.around_k, "around", TEMPERATURE, 0.0, CELSIUS(-20), CELSIUS(60), NULL,
                 "air round the vessel; none: the shed's"),
    HANDS_ON(5),
};

#define IN_DOC "the vessel where the oil stands; the first step names one, later ones may leave it out"
static const OwSpecialKey stay_special[] = {{"in", IN_DOC}, {NULL, NULL}};
static const OwSpecialKey move_special[] = {
    {"in", IN_DOC},
    {"into", "the vessel it goes to (default: a clean one of the same kind)"},
    {NULL, NULL},
};
static const OwSpecialKey blend_special[] = {
    {"in", IN_DOC},
    {"into", "the vessel it goes to (default: it stays)"},
    {"with", "the oil that is added, by name: rapeseed, diesel"},
    {NULL, NULL},
};

#define TABLE(rows)                                                                                          \
    { rows, (int)(sizeof(rows) / sizeof((rows)[0])) }

static const OwPlanWord words[] = {
    {"settle", OW_PLAN_SETTLE, TABLE(settle_fields), stay_special,
     "Let stand; drops and crumbs sink and are drawn off at the end"},
    {"heat", OW_PLAN_HEAT, TABLE(heat_fields), stay_special, "Warm by the vessel's heater"},
    {"dry", OW_PLAN_DRY, TABLE(dry_fields), stay_special, "Drive water out: by warm settling, air or vacuum"},
    {"filter", OW_PLAN_FILTER, TABLE(filter_fields), move_special, "One stage: bag or cartridge"},
    {"centrifuge", OW_PLAN_CENTRIFUGE, TABLE(centrifuge_fields), move_special, "A tubular bowl"},
    {"blend", OW_PLAN_BLEND, TABLE(blend_fields), blend_special, "Add a thinner or better oil"},
    {"cool", OW_PLAN_COOL, TABLE(cool_fields), stay_special, "Keep or let cool; nothing is drawn off"},
    {NULL, OW_PLAN_KIND_COUNT, {NULL, 0}, NULL, NULL},
};

static const OwSection sections[] = {
    {"climate", offsetof(OwYard, climate), TABLE(climate_fields), NULL, "the air"},
    {"incoming", offsetof(OwYard, incoming), TABLE(incoming_fields), NULL,
     "how the oil comes in; water, solids and acid stand in the oil section"},
    {"targets", offsetof(OwYard, targets), TABLE(targets_fields), NULL, "what the clean oil is held against"},
    {"losses", offsetof(OwYard, losses), TABLE(losses_fields), NULL, "what is lost on the way"},
    {"week", offsetof(OwYard, week), TABLE(week_fields), NULL, "how the yard is run"},
    {"prices", offsetof(OwYard, prices), TABLE(prices_fields), NULL, "plain numbers in one currency"},
    {"tests", offsetof(OwYard, tests), TABLE(tests_fields), NULL,
     "what the workshop's tests of a batch gave (see oilwright oil test); they decide use, rework or reject"},
    {NULL, 0, {NULL, 0}, NULL, NULL},
};

_Static_assert(sizeof(OwDryWay) == sizeof(int) && sizeof(OwTestsOf) == sizeof(int) &&
                   sizeof(OwFilterPush) == sizeof(int) && sizeof(OwFilterForm) == sizeof(int),
               "choices are kept as int");

const OwPlanWord *ow_yard_plan_words(void) {
    return words;
}

const OwSection *ow_yard_plan_sections(void) {
    return sections;
}

OwFieldTable ow_vessel_fields(void) {
    return (OwFieldTable)TABLE(vessel_fields);
}

const char *ow_yard_plan_text(OwPlanKind kind) {
    return (unsigned)kind < OW_PLAN_KIND_COUNT ? words[kind].word : "?";
}

void ow_yard_plan_step_default(OwPlanKind kind, OwPlanStep *step) {
    memset(step, 0, sizeof *step);
    step->kind = kind;
    step->vessel = step->into = -1;
    ow_fields_default(words[kind].fields, step);
}

void ow_vessel_default(OwVessel *vessel) {
    memset(vessel, 0, sizeof *vessel);
    ow_fields_default(ow_vessel_fields(), vessel);
}

void ow_yard_plan_default(OwYard *yard) {
    for (const OwSection *section = sections; section->name != NULL; section++) {
        ow_fields_default(section->fields, (char *)yard + section->offset);
    }
}
