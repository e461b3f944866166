// SPDX-License-Identifier: GPL-3.0-or-later
// The table of inputs: key, default with its spread and trust, legal range, meaning. One row a key.
#include "money/money_impl.h"

#define L(x) ((x)*1e-3)
#define KM(x) ((x)*1e3)
#define HOURS(x) ((x)*3600.0)
#define PER_L(x) ((x)*1e3)
#define PER_KM(x) ((x)*1e-3)
#define PER_KWH(x) ((x) / 3.6e6)
#define PER_H(x) ((x) / 3600.0)
#define H_PER_100L(x) ((x)*3.6e4)
#define KWH_PER_L(x) ((x)*3.6e9)
#define L_PER_100KM(x) ((x)*1e-8)

const OwCostRow ow_cost_rows[OW_COST_INPUTS] = {
    [OW_COST_DIESEL_PRICE] = {"fuel.diesel price", "diesel price", OW_KIND_PER_VOLUME, PER_L(1.3), PER_L(1.5),
                              PER_L(1.7), PER_L(0.01), PER_L(50), OW_TRUST_ASSUMED,
                              "what the pump asks today, tax included if you pay it; always give your own"},
    [OW_COST_DIESEL_USE] = {"fuel.diesel use", "diesel use", OW_KIND_VOLUME_PER_DISTANCE, L_PER_100KM(7),
                            L_PER_100KM(8), L_PER_100KM(10), L_PER_100KM(1), L_PER_100KM(150),
                            OW_TRUST_ASSUMED, "of the vehicle on diesel alone; always give your own"},
    [OW_COST_OIL_SHARE] =
        {"fuel.share on oil", "share on oil", OW_KIND_SHARE, 0.80, 0.90, 0.97, 0.0, 1.0, OW_TRUST_ASSUMED,
         "share of the distance driven on oil; the rest is warming up and purging on diesel"},
    [OW_COST_ENERGY_RATIO] = {"fuel.energy ratio", "energy ratio", OW_KIND_SHARE, 33.0 / 36.0, 33.75 / 35.75,
                              34.5 / 35.5, 0.5, 1.2, OW_TRUST_PUBLISHED,
                              "heat in a litre of oil over that in a litre of diesel, the engine being as "
                              "efficient on both; 33 to 34.5 MJ/L against 35.5 to 36 MJ/L, computed from "
                              "published net heats and densities; worked out by the oil module when `oil` is "
                              "named"},
    [OW_COST_PURGE_DIESEL] = {"fuel.purge diesel", "diesel lost a trip", OW_KIND_VOLUME, 0.0, L(0.03),
                              L(0.15), 0.0, L(10), OW_TRUST_ASSUMED,
                              "diesel a trip that ends in the oil tank or is burned only to start and purge; "
                              "`oilwright tanks` works it out"},
    [OW_COST_TRIPS] = {"fuel.trips", "trips", OW_KIND_COUNT_YEAR, 200, 350, 500, 0, 20000, OW_TRUST_ASSUMED,
                       "trips a year"},
    [OW_COST_DUTY] =
        {"fuel.duty", "fuel duty on oil", OW_KIND_PER_VOLUME, 0, 0, 0, 0.0, PER_L(20), OW_TRUST_ASSUMED,
         "fuel duty on each litre of oil burned where it is due; nought until you give it, see the "
         "notes of the report"},
    [OW_COST_DISTANCE] = {"distance.a year", "distance a year", OW_KIND_DISTANCE_YEAR, KM(10000), KM(15000),
                          KM(20000), KM(100), KM(1e6), OW_TRUST_ASSUMED,
                          "driven a year, on both fuels together; always give your own"},
    [OW_COST_OIL_PRICE] = {"collection.oil price", "price of the oil", OW_KIND_PER_VOLUME, 0, 0, 0, PER_L(-5),
                           PER_L(20), OW_TRUST_ASSUMED,
                           "paid for each litre collected; below 0 when you are paid to take it"},
    [OW_COST_PICKUP_VOLUME] = {"collection.volume", "oil a pick-up", OW_KIND_VOLUME, L(25), L(50), L(100),
                               L(1), L(20000), OW_TRUST_PRACTICE, "collected at one pick-up"},
    [OW_COST_PICKUP_DISTANCE] = {"collection.distance", "drive a pick-up", OW_KIND_DISTANCE, KM(2), KM(10),
                                 KM(25), 0.0, KM(2000), OW_TRUST_ASSUMED,
                                 "driven for one pick-up only, there and back; 0 when it lies on your way"},
    [OW_COST_PICKUP_RATE] = {"collection.cost per distance", "cost of that drive", OW_KIND_PER_DISTANCE,
                             PER_KM(0.15), PER_KM(0.30), PER_KM(0.45), 0.0, PER_KM(20), OW_TRUST_ASSUMED,
                             "fuel, tyres and wear of the collecting vehicle"},
    [OW_COST_PICKUP_TIME] = {"collection.time", "work a pick-up", OW_KIND_TIME, HOURS(0.25), HOURS(0.5),
                             HOURS(1), 0.0, HOURS(24), OW_TRUST_ASSUMED,
                             "hours of work for one pick-up, driving included"},
    [OW_COST_ENERGY] =
        {"yard.electricity", "electricity", OW_KIND_ENERGY_PER_VOLUME, KWH_PER_L(0.03), KWH_PER_L(0.08),
         KWH_PER_L(0.2), 0.0, KWH_PER_L(5), OW_TRUST_ASSUMED,
         "per litre of clean oil; 0.025 kWh/L lift oil by 50 K (1.9 kJ/(kg K), 0.92 kg/L), the "
         "rest is loss and pumps"},
    [OW_COST_ENERGY_PRICE] = {"yard.electricity price", "electricity price", OW_KIND_PER_ENERGY,
                              PER_KWH(0.15), PER_KWH(0.30), PER_KWH(0.45), 0.0, PER_KWH(20), OW_TRUST_ASSUMED,
                              "what your supplier asks"},
    [OW_COST_YARD_TIME] = {"yard.work", "work in the yard", OW_KIND_TIME_PER_VOLUME, H_PER_100L(1),
                           H_PER_100L(2), H_PER_100L(4), 0.0, H_PER_100L(200), OW_TRUST_ASSUMED,
                           "hours of work per volume of clean oil: settling, filtering, drying, cleaning up"},
    [OW_COST_YARD_FILTERS] = {"yard.filters", "yard filters", OW_KIND_PER_VOLUME, PER_L(0.01), PER_L(0.02),
                              PER_L(0.06), 0.0, PER_L(10), OW_TRUST_ASSUMED,
                              "bags and cartridges per litre of clean oil"},
    [OW_COST_LOSS] = {"yard.loss", "loss in the yard", OW_KIND_SHARE, 0.03, 0.08, 0.20, 0.0, 0.9,
                      OW_TRUST_PRACTICE, "share of what is collected that ends as water, crumbs and sludge"},
    [OW_COST_WASTE_FEE] = {"yard.waste fee", "waste fee", OW_KIND_PER_VOLUME, 0.0, PER_L(0.2), PER_L(0.6),
                           PER_L(-2), PER_L(20), OW_TRUST_ASSUMED, "per litre of waste handed over"},
    [OW_COST_BATCH] = {"yard.batch", "batch", OW_KIND_VOLUME, L(100), L(200), L(400), L(1), L(50000),
                       OW_TRUST_PRACTICE, "collected oil that is worked on and tested together"},
    [OW_COST_TESTS] = {"yard.tests", "tests a batch", OW_KIND_MONEY, 0.5, 1.5, 5, 0.0, 10000,
                       OW_TRUST_ASSUMED, "titration, water and settling tests of one batch"},
    [OW_COST_ADDITIVES] = {"yard.additives", "additives", OW_KIND_PER_VOLUME, 0.0, PER_L(0.002), PER_L(0.02),
                           0.0, PER_L(10), OW_TRUST_ASSUMED,
                           "biocide, winter additive, thinner per litre of clean oil"},
    [OW_COST_EQUIPMENT] = {"yard.equipment", "yard equipment", OW_KIND_MONEY, 150, 400, 1000, 0.0, 1e7,
                           OW_TRUST_ASSUMED, "drums, pump, heater, filter housings, scales"},
    [OW_COST_EQUIPMENT_LIFE] = {"yard.equipment life", "equipment life", OW_KIND_YEARS, 4, 8, 12, 0.5, 40,
                                OW_TRUST_ASSUMED, "until it is bought again"},
    [OW_COST_PERMITS] = {"yard.permits", "permits, insurance", OW_KIND_MONEY_YEAR, 0, 30, 150, 0.0, 1e6,
                         OW_TRUST_ASSUMED, "licences, registration and insurance for collecting and storing"},
    [OW_COST_PARTS] = {"vehicle.parts", "conversion parts", OW_KIND_MONEY, 500, 900, 1800, 0.0, 1e6,
                       OW_TRUST_ASSUMED, "parts of the conversion; `oilwright size` lists them"},
    [OW_COST_CONVERSION_TIME] = {"vehicle.conversion work", "conversion work", OW_KIND_TIME, HOURS(12),
                                 HOURS(25), HOURS(50), 0.0, HOURS(5000), OW_TRUST_ASSUMED,
                                 "hours of work to fit them"},
    [OW_COST_FILTER_PRICE] = {"vehicle.filter price", "fuel filter", OW_KIND_MONEY, 8, 15, 30, 0.0, 1e5,
                              OW_TRUST_ASSUMED, "of the vehicle's fuel filter"},
    [OW_COST_FILTER_OIL] = {"vehicle.filter life on oil", "filter life on oil", OW_KIND_DISTANCE, KM(3000),
                            KM(8000), KM(16000), KM(50), KM(500000), OW_TRUST_ASSUMED,
                            "distance between changes on oil; `oilwright filter` and the logbook tell"},
    [OW_COST_FILTER_DIESEL] = {"vehicle.filter life on diesel", "filter life on diesel", OW_KIND_DISTANCE,
                               KM(30000), KM(30000), KM(30000), KM(50), KM(500000), OW_TRUST_PRACTICE,
                               "distance between changes on diesel"},
    [OW_COST_LUBE_PRICE] = {"vehicle.oil change price", "lube change", OW_KIND_MONEY, 30, 60, 100, 0.0, 1e5,
                            OW_TRUST_ASSUMED, "engine oil and its filter, once"},
    [OW_COST_LUBE_OIL] = {"vehicle.oil change on oil", "lube change on oil", OW_KIND_DISTANCE, KM(5000),
                          KM(7500), KM(12000), KM(200), KM(500000), OW_TRUST_PRACTICE,
                          "distance between engine oil changes on oil: unburned oil thickens it; more than "
                          "3 to 5 % of fuel in it is too much (Taylor 2021, Lubricants 9:92)"},
    [OW_COST_LUBE_DIESEL] = {"vehicle.oil change on diesel", "lube change on diesel", OW_KIND_DISTANCE,
                             KM(15000), KM(15000), KM(15000), KM(200), KM(500000), OW_TRUST_PRACTICE,
                             "distance between them on diesel"},
    [OW_COST_UPKEEP] = {"vehicle.upkeep", "injection upkeep", OW_KIND_PER_DISTANCE, 0.0, PER_KM(0.005),
                        PER_KM(0.02), 0.0, PER_KM(10), OW_TRUST_ASSUMED,
                        "extra wear of injectors, injection pump and glow plugs per distance on oil"},
    [OW_COST_UPKEEP_TIME] = {"vehicle.upkeep work", "upkeep work", OW_KIND_TIME_YEAR, HOURS(2), HOURS(5),
                             HOURS(12), 0.0, HOURS(5000), OW_TRUST_ASSUMED,
                             "extra hours of work on the vehicle a year"},
    [OW_COST_RISK_CHANCE] = {"vehicle.engine risk", "engine risk", OW_KIND_SHARE_YEAR, 0.002, 0.015, 0.06,
                             0.0, 1.0, OW_TRUST_ASSUMED,
                             "chance a year of engine or pump damage through the oil; long tests on much oil "
                             "nearly always brought damage or maintenance (Jones & Peterson), no rate is "
                             "published"},
    [OW_COST_RISK_COST] = {"vehicle.engine damage", "engine damage", OW_KIND_MONEY, 800, 2000, 5000, 0.0, 1e6,
                           OW_TRUST_ASSUMED, "what that costs"},
    [OW_COST_RESALE_LOSS] = {"vehicle.resale loss", "loss at resale", OW_KIND_MONEY, 0, 200, 800, -1e6, 1e6,
                             OW_TRUST_ASSUMED,
                             "what a converted vehicle brings less at the end of the years; below 0 when the "
                             "parts are sold on"},
    [OW_COST_HOUR] = {"labour.rate", "an hour of work", OW_KIND_PER_TIME, PER_H(10), PER_H(15), PER_H(25),
                      0.0, PER_H(1000), OW_TRUST_ASSUMED, "what an hour of work is worth to you"},
    [OW_COST_DISCOUNT] = {"finance.discount rate", "discount rate", OW_KIND_SHARE_YEAR, 0.02, 0.04, 0.08, 0.0,
                          0.5, OW_TRUST_ASSUMED,
                          "a year, beyond general inflation: what the money would earn elsewhere"},
    [OW_COST_GROWTH] = {"finance.diesel price growth", "diesel price growth", OW_KIND_SHARE_YEAR, -0.02, 0.0,
                        0.03, -0.2, 0.3, OW_TRUST_ASSUMED, "a year, beyond general inflation"},
    [OW_COST_LOAN_SHARE] = {"finance.loan share", "loan share", OW_KIND_SHARE, 0, 0, 0, 0.0, 1.0,
                            OW_TRUST_ASSUMED, "share of parts and equipment that is borrowed"},
    [OW_COST_LOAN_RATE] = {"finance.loan rate", "loan rate", OW_KIND_SHARE_YEAR, 0.08, 0.08, 0.08, 0.0, 0.6,
                           OW_TRUST_ASSUMED, "a year; repaid in equal parts"},
};

const char *ow_cost_key(OwCostInput input) {
    return (unsigned)input < OW_COST_INPUTS ? ow_cost_rows[input].path : NULL;
}

const char *ow_cost_label(OwCostInput input) {
    return (unsigned)input < OW_COST_INPUTS ? ow_cost_rows[input].label : NULL;
}

const char *ow_cost_doc(OwCostInput input) {
    return (unsigned)input < OW_COST_INPUTS ? ow_cost_rows[input].doc : "";
}

void ow_cost_limits(OwCostInput input, double *least, double *most) {
    const bool is_one = (unsigned)input < OW_COST_INPUTS;
    *least = is_one ? ow_cost_rows[input].least : 0.0;
    *most = is_one ? ow_cost_rows[input].most : 0.0;
}

OwTrust ow_cost_trust(OwCostInput input) {
    return (unsigned)input < OW_COST_INPUTS ? ow_cost_rows[input].trust : OW_TRUST_ASSUMED;
}

const char *ow_cost_origin_text(OwCostOrigin origin) {
    static const char *const texts[] = {"default", "file", "oil module", "yard plan", "logbook"};
    return (unsigned)origin < sizeof texts / sizeof texts[0] ? texts[origin] : "?";
}

OwCostValue ow_cost_value_default(OwCostInput input) {
    const OwCostRow *row = &ow_cost_rows[input];
    return (OwCostValue){.value = row->likely,
                         .low = row->low,
                         .high = row->high,
                         .spread = row->high > row->low ? OW_COST_TRIANGLE : OW_COST_PLAIN,
                         .origin = OW_COST_FROM_DEFAULT};
}

void ow_cost_default(OwCostPlan *plan) {
    *plan = (OwCostPlan){.name = "conversion",
                         .currency = "currency units",
                         .counts_hours = true,
                         .years = 8,
                         .loan_years = 3};
    for (int i = 0; i < OW_COST_INPUTS; i++) {
        plan->inputs[i] = ow_cost_value_default((OwCostInput)i);
    }
}

void ow_cost_likely(const OwCostPlan *plan, double values[OW_COST_INPUTS]) {
    for (int i = 0; i < OW_COST_INPUTS; i++) {
        values[i] = plan->inputs[i].value;
    }
}
