// SPDX-License-Identifier: GPL-3.0-or-later
// A yard as read from its file, the walk of one batch through its steps, and the week's plan. The laws behind
// them are in yard.h; the keys of the file in docs/yard-file.md. Plain data, SI inside; shares by mass.
#ifndef OILWRIGHT_YARD_PLAN_H
#define OILWRIGHT_YARD_PLAN_H

#include "oilwright/finding.h"
#include "oilwright/yard.h"

// ---- The yard file

typedef struct OwYardClimate {
    double outdoor_k, humidity; ///< outdoor air; relative humidity 0..1
    double shed_k;              ///< air of the shed, where the vessels stand
} OwYardClimate;

/// What is in the oil as it comes, besides what the oil section says.
typedef struct OwYardIncoming {
    double temperature_k;        ///< 0 = the shed's
    double drop_m, drop_spread;  ///< water drops: median by mass and ln of the geometric standard deviation
    double crumb_m, crumb_shape; ///< crumbs: Rosin-Rammler size and exponent
    double crumb_kg_m3;          ///< a crumb as it hangs in the oil
} OwYardIncoming;

#define OW_YARD_MAX_VESSELS 16
/// An upright round vessel; the level in it follows from what is inside.
typedef struct OwVessel {
    char name[OW_NAME_SIZE];
    double volume_m3, diameter_m;
    double insulation_w_m2k; ///< of the jacket, 0 bare
    double metal_kg;
    double heater_w, heater_m2; ///< 0 none; surface of the element, 0 unknown
    bool has_cut_out, has_drain;
    double heel; ///< share of the oil that stays behind with the bottoms
    int count;   ///< how many of the same
    int line, column;
} OwVessel;

typedef enum OwPlanKind {
    OW_PLAN_SETTLE,
    OW_PLAN_HEAT,
    OW_PLAN_DRY,
    OW_PLAN_FILTER,
    OW_PLAN_CENTRIFUGE,
    OW_PLAN_BLEND,
    OW_PLAN_COOL,
    OW_PLAN_KIND_COUNT
} OwPlanKind;
typedef enum OwDryWay { OW_DRY_HOT_SETTLE, OW_DRY_BUBBLING, OW_DRY_VACUUM } OwDryWay;
typedef enum OwFilterPush { OW_PUSH_GRAVITY, OW_PUSH_PUMP } OwFilterPush;

typedef struct OwPlanSettle {
    double time_s, around_k; ///< 0 = the shed
} OwPlanSettle;
typedef struct OwPlanHeat {
    double to_k;
} OwPlanHeat;
typedef struct OwPlanDry {
    OwDryWay way;
    double at_k;         ///< 0 = as it comes
    double target_share; ///< 0 = what the targets ask
    double time_s;       ///< hot settle: how long it stands; else the longest
    double air_m3_s, approach;
    double chamber_pa; ///< absolute
    double pump_m3_s, pump_w;
} OwPlanDry;
typedef struct OwPlanFilter {
    OwFilterForm form;
    OwFilterPush push;
    double rating_m, area_m2, catches;                ///< share caught of what is coarser than the rating
    double clean_pa, at_flow_m3_s, at_kinematic_m2_s; ///< stated clean drop; 0 = by rule
    double capacity_kg;                               ///< 0 = by rule
    double head_m, pressure_pa, flow_m3_s, pump_w;
    double price, mass_kg, change_s; ///< of one bag or cartridge; s of work to change it
} OwPlanFilter;
typedef struct OwPlanCentrifuge {
    double rotation_rad_s, length_m, inner_m, outer_m, efficiency, flow_m3_s, power_w;
    int passes;
} OwPlanCentrifuge;
typedef struct OwPlanBlend {
    char with[OW_NAME_SIZE]; ///< a named oil
    double share;            ///< by volume of the blend
    double water_share, solids_share, acid_mg_g;
    double price_l; ///< a litre
} OwPlanBlend;
typedef struct OwPlanCool {
    double time_s, to_k, around_k; ///< 0 = not said / the shed
} OwPlanCool;

#define OW_YARD_MAX_STEPS 32
typedef struct OwPlanStep {
    OwPlanKind kind;
    char name[OW_NAME_SIZE];
    int vessel;        ///< where the oil stands
    int into;          ///< filter, centrifuge, blend: where it goes; the same vessel when not said
    double hands_on_s; ///< work of a person
    int line, column;
    union {
        OwPlanSettle settle;
        OwPlanHeat heat;
        OwPlanDry dry;
        OwPlanFilter filter;
        OwPlanCentrifuge centrifuge;
        OwPlanBlend blend;
        OwPlanCool cool;
    } as;
} OwPlanStep;

typedef struct OwYardTargets {
    double water_share, solids_share;
    double rating_m;  ///< finest filter at the end
    double coldest_k; ///< of a tank the oil will stand in: clear down to here
    double acid_mg_g;
} OwYardTargets;

/// What is lost on the way, as shares of what leaves.
typedef struct OwYardLosses {
    double move;       ///< share of the oil lost at each move (drips, wetted walls, hoses)
    double sludge_oil; ///< kg of oil with each kg of settled crumbs
    double water_oil;  ///< kg of oil with each kg of drained water
    double cake_oil;   ///< kg of oil with each kg of solids on a filter
    double rags_kg;    ///< dry rags and absorbent a batch
} OwYardLosses;

typedef struct OwYardWeekSpec {
    double pick_ups;              ///< a week
    double pick_up_m3, pick_up_s; ///< oil and work of one
    double batch_m3;              ///< as it comes
    int days;                     ///< worked a week
    double day_s;                 ///< of a working day: someone is there
} OwYardWeekSpec;

/// In one currency; a kWh, an hour, a kg as said. 0 labour = not counted, hours are shown all the same.
typedef struct OwYardPrices {
    char currency[OW_NAME_SIZE];
    double kwh, hour, oil_l, tests; ///< tests: a batch
    double sludge_kg, water_kg, cake_kg, rags_kg;
} OwYardPrices;

typedef enum OwTestsOf { OW_TESTS_OF_INCOMING, OW_TESTS_OF_CLEAN } OwTestsOf;
/// The workshop's tests of a batch, 0 = not made; half-widths of their 90 % intervals as shares.
typedef struct OwYardTests {
    OwTestsOf of;
    double acid_mg_g, water_share, solids_share, kinematic_40_m2_s; ///< solids by volume (cone)
    double acid_within, water_within, solids_within, kinematic_within;
} OwYardTests;

typedef struct OwYard {
    char file[128];
    char name[OW_NAME_SIZE];
    char notes[1024];
    OwOilSpec oil; ///< with water, solids and acid as they come
    OwYardClimate climate;
    OwYardIncoming incoming;
    OwVessel vessels[OW_YARD_MAX_VESSELS];
    int vessel_count;
    OwPlanStep steps[OW_YARD_MAX_STEPS];
    int step_count;
    OwYardTargets targets;
    OwYardLosses losses;
    OwYardWeekSpec week;
    OwYardPrices prices;
    OwYardTests tests;
} OwYard;

/// A yard with every default, no vessels and no steps; oil "rapeseed", used.
OwStatus ow_yard_create(OwYard **yard);
/// Reads a yard file and reports all its faults together. On any error *yard is NULL.
OwStatus ow_yard_read_file(const char *path, OwUnits *units, OwYard **yard, OwFaults *faults);
/// Same from memory; `name` stands in the faults.
OwStatus ow_yard_read_text(const char *text, size_t size, const char *name, OwUnits *units, OwYard **yard,
                           OwFaults *faults);
/// Checks a yard that was built or changed in memory: ranges, vessels, order.
OwStatus ow_yard_check(const OwYard *yard, OwFaults *faults);
/// Changes one value: "week.batch=150 L", "first rest.for=3 days", "oil.water=0.8 %", "oil=soybean"; on a
/// fault the yard is left as it was.
OwStatus ow_yard_override(OwYard *yard, const char *owner_key_value, OwUnits *units, OwFaults *faults);
/// Writes the reference of the yard file (Markdown) from the tables that read it.
OwStatus ow_yard_write_reference(FILE *out);
void ow_yard_destroy(OwYard **yard);
/// "settle", "dry", ... as the file writes it; never NULL.
const char *ow_yard_plan_text(OwPlanKind kind);

// ---- The walk of a batch

typedef enum OwYardWaste {
    OW_WASTE_SLUDGE, ///< wet sludge
    OW_WASTE_WATER,  ///< drained water
    OW_WASTE_CAKE,   ///< filter cake with its bags and cartridges
    OW_WASTE_RAGS,   ///< rags and absorbent with the oil on them
    OW_WASTE_COUNT
} OwYardWaste;
const char *ow_yard_waste_text(OwYardWaste waste);
/// Stable machine name ("sludge").
const char *ow_yard_waste_key(OwYardWaste waste);

/// One step as it went.
typedef struct OwYardRow {
    int step;
    double elapsed_s;  ///< as long as it takes
    double watched_s;  ///< of this, while heat, pump or bowl runs: someone must be there
    double hands_on_s; ///< work
    double energy_j;   ///< electric
    double start_k, end_k;
    OwStream left;                                ///< after the step
    OwStream out[OW_OUT_COUNT];                   ///< what left in it, by outlet
    OwStream added;                               ///< what a blend brought
    double left_m3;                               ///< at the shed's temperature
    double water_share, free_share, solids_share; ///< of what is left, at end_k
    double filters, filter_m2; ///< bags or cartridges used up, in parts of one; area used up
    double filter_price, filter_kg;
    int changes;              ///< in the batch
    double load_w_m2, film_k; ///< at the heater, 0 unknown or none
    double floor_share;       ///< driest that a dry step can reach, 0 none
    double wanted_share;      ///< what a dry step aims at, 0 none
    OwReach reach;            ///< of what the step aims at
    double short_m3;          ///< oil that a filter could not pass
    char note[240];           ///< why it did not reach, or what to know; may be empty
} OwYardRow;

#define OW_YARD_MAX_FINDINGS 160 ///< above what 32 steps and 16 vessels can ask
#define OW_YARD_MAX_CAUTIONS 11
typedef struct OwYardBatch {
    OwDisplay display;
    OwStream in;
    double in_m3, in_k;
    double in_water_share, in_solids_share;
    bool is_water_assumed, is_solids_assumed, is_acid_assumed; ///< the oil section did not say
    OwYardRow rows[OW_YARD_MAX_STEPS];
    int row_count;
    OwBalance balance; ///< of the whole batch: in, out by outlet, clean oil as product
    double clean_m3;   ///< at the shed's temperature
    double waste_kg[OW_WASTE_COUNT];
    double elapsed_s, watched_s, hands_on_s, energy_j, filter_price, blend_price;
    OwReappear reappear; ///< from the last temperature to the coldest tank
    OwDecide decide;     ///< of the tested oil, by its tests
    OwDecision decisions[OW_TEST_COUNT];
    OwFinding findings[OW_YARD_MAX_FINDINGS]; ///< `part` is the step to change, -1 none
    int finding_count;
    OwCaution cautions[OW_YARD_MAX_CAUTIONS]; ///< most pressing first
    int caution_count;
    OwGrade grade; ///< the worst finding
    char headline[OW_ANSWER_TEXT];
} OwYardBatch;

/// Walks one batch of week.batch_m3 through the steps and judges it; texts take `display` units. What cannot
/// be is an answer, not an error. OW_ERROR_USE on NULL, OW_ERROR_MEMORY, or the fault of a check.
OwStatus ow_yard_batch_create(const OwYard *yard, OwDisplay display, OwYardBatch **batch);
void ow_yard_batch_destroy(OwYardBatch **batch);

// ---- Per litre, and the week

/// Per m3 of clean oil; all 0 when no clean oil is left. For the money module.
typedef struct OwYardSums {
    double clean_m3;      ///< of the batch
    double kwh, labour_s; ///< labour of the yard, pick-ups not counted
    double filter_cost;   ///< money
    double waste_kg[OW_WASTE_COUNT], waste_total_kg;
    double waste_cost, test_cost, blend_cost;
    double lost_m3;      ///< collected less clean, blend oil not counted
    double collected_m3; ///< that must be picked up
    double pick_up_s;    ///< work of the pick-ups
} OwYardSums;
OwYardSums ow_yard_sums(const OwYard *yard, const OwYardBatch *batch);

typedef enum OwWeekLimit {
    OW_WEEK_PICK_UPS, ///< no more oil comes in
    OW_WEEK_VESSEL,   ///< a vessel is taken round the clock
    OW_WEEK_WATCH,    ///< heat or pump must be watched, and the working hours are used up
    OW_WEEK_HANDS,    ///< hands-on work
    OW_WEEK_NOTHING   ///< no clean oil comes out
} OwWeekLimit;
#define OW_WEEK_MAX_COSTS 11
typedef struct OwWeekCost {
    const char *key, *label; ///< static
    double week, litre;      ///< money a week, and a litre of clean oil
    bool is_counted;         ///< false: labour without a price
} OwWeekCost;
typedef struct OwYardWeek {
    double collected_m3;     ///< a week
    double batches_wanted;   ///< to keep up with it
    double batches_possible; ///< by vessels and hours
    double batches;          ///< the lesser
    double clean_m3;         ///< a week
    double backlog_m3;       ///< collected but not worked up, a week
    OwWeekLimit limit;
    int limit_vessel, limit_step;          ///< -1 none; the longest step in the vessel
    double hours_s, hands_on_s, watched_s; ///< working hours there are; used
    double kwh, filters;
    double waste_kg[OW_WASTE_COUNT];
    OwWeekCost costs[OW_WEEK_MAX_COSTS];
    int cost_count;
    double cost_week, cost_litre; ///< sum of what is counted
    char text[OW_ANSWER_TEXT];    ///< the bottleneck in one sentence
} OwYardWeek;
/// The week that follows from a batch: throughput, bottleneck, work, energy, waste, cost a litre.
OwStatus ow_yard_week(const OwYard *yard, const OwYardBatch *batch, OwDisplay display, OwYardWeek *week);

#endif
