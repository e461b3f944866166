// SPDX-License-Identifier: GPL-3.0-or-later
// The walk of a batch: comes in, goes through the steps in order, and is counted.
#include "yard/guard.h"
#include "yard/plan_walk.h"

#include <math.h>
#include <string.h>

/// Assumed when the oil section does not say: in the range of restaurant greases of Canakci 2007, Bioresource
/// Technol. 98:183 (moisture mostly 0.3 to 1.4 %, insolubles 0.25 to 4.8 %).
#define ASSUMED_WATER 0.006
#define ASSUMED_SOLIDS 0.006
#define ASSUMED_ACID_MG_G 2.0
/// A test may say more than the oil section allows; such oil is rejected anyway.
#define MOST_WATER 0.2

static OwPlanState arrive(const OwYard *yard, const OwPlanKit *kit, OwYardBatch *batch) {
    OwPlanState state = {.yard = yard,
                         .kit = kit,
                         .solubility = ow_yard_solubility_default(),
                         .vessel = yard->steps[0].vessel};
    const OwYardIncoming *in = &yard->incoming;
    const OwOilSpec *oil = &yard->oil;
    state.temperature_k = in->temperature_k > 0.0 ? in->temperature_k : yard->climate.shed_k;
    // What the oil section does not say, a test of the incoming oil may.
    const bool has_tests = yard->tests.of == OW_TESTS_OF_INCOMING;
    const double said_water = oil->water_share > 0.0 ? oil->water_share
                              : has_tests            ? fmin(yard->tests.water_share, MOST_WATER)
                                                     : 0.0,
                 said_acid = oil->acid_mg_g > 0.0 ? oil->acid_mg_g
                             : has_tests          ? yard->tests.acid_mg_g
                                                  : 0.0;
    batch->is_water_assumed = !(said_water > 0.0);
    batch->is_solids_assumed = !(oil->solids_share > 0.0);
    batch->is_acid_assumed = !(said_acid > 0.0);
    const double water = batch->is_water_assumed ? ASSUMED_WATER : said_water,
                 solids = batch->is_solids_assumed ? ASSUMED_SOLIDS : oil->solids_share,
                 acid = batch->is_acid_assumed ? ASSUMED_ACID_MG_G : said_acid;
    // Litres as they are collected, water and crumbs among them, at the shed's temperature.
    const double shed_k = yard->climate.shed_k;
    const double m3_kg =
        (1.0 - water - solids) / ow_curve_value(&ow_yard_plan_oil(&state)->density_kg_m3, shed_k) +
        water / ow_water_density(shed_k) + solids / in->crumb_kg_m3;
    const double total = yard->week.batch_m3 / m3_kg;
    state.oil_kg = (1.0 - water - solids) * total;
    state.acid_kg = state.oil_kg * fmin(ow_yard_plan_acid_share(acid), 1.0);
    const double water_kg = water * total, solids_kg = solids * total;
    state.dissolved_kg =
        fmin(water_kg, state.oil_kg * ow_yard_soluble(&state.solubility, state.temperature_k));
    const OwSizes drops = {OW_SIZES_LOG_NORMAL, in->drop_m, in->drop_spread},
                  crumbs = {OW_SIZES_ROSIN_RAMMLER, in->crumb_m, in->crumb_shape};
    double coarser_drops = 1.0, coarser_crumbs = 1.0;
    for (int i = 0; i < OW_YARD_CLASSES; i++) {
        const bool is_last = i + 1 == OW_YARD_CLASSES; // takes all that is coarser
        const double next_drops = is_last ? 0.0 : ow_sizes_coarser(&drops, ow_yard_plan_edge(i + 1)),
                     next_crumbs = is_last ? 0.0 : ow_sizes_coarser(&crumbs, ow_yard_plan_edge(i + 1));
        state.water_kg[i] = (water_kg - state.dissolved_kg) * fmax(coarser_drops - next_drops, 0.0);
        state.solids_kg[i] = solids_kg * fmax(coarser_crumbs - next_crumbs, 0.0);
        coarser_drops = next_drops;
        coarser_crumbs = next_crumbs;
    }
    return state;
}

/// Adds a thinner or better oil from the shed; its water is dissolved as far as it goes.
static void blend(OwPlanState *state, const OwPlanBlend *b, OwYardRow *row) {
    if (!(state->oil_kg > 0.0)) {
        return;
    }
    const double shed_k = state->yard->climate.shed_k;
    const OwFluid *before = ow_yard_plan_oil(state), *after = &state->kit->fluids[state->fluid + 1];
    const double rho = ow_curve_value(&before->density_kg_m3, shed_k),
                 blend_rho = ow_curve_value(&after->density_kg_m3, shed_k);
    // By volume, volumes adding: rho_blend = (1 - share) rho + share rho_added.
    const double volume = state->oil_kg / rho * b->share / (1.0 - b->share);
    const double added_kg = volume * fmax((blend_rho - (1.0 - b->share) * rho) / b->share, 1.0);
    const double oil = (1.0 - b->water_share - b->solids_share) * added_kg;
    row->added = (OwStream){.oil_kg = oil,
                            .acid_kg = oil * fmin(ow_yard_plan_acid_share(b->acid_mg_g), 1.0),
                            .dissolved_water_kg = b->water_share * added_kg,
                            .solids_kg = b->solids_share * added_kg};
    const double heat = state->oil_kg * ow_curve_value(&before->specific_heat_j_kgk, state->temperature_k),
                 added_heat = oil * ow_curve_value(&after->specific_heat_j_kgk, shed_k);
    state->temperature_k = (heat * state->temperature_k + added_heat * shed_k) / (heat + added_heat);
    state->oil_kg += row->added.oil_kg;
    state->acid_kg += row->added.acid_kg;
    state->dissolved_kg += row->added.dissolved_water_kg;
    state->solids_kg[ow_yard_plan_class(5e-6)] += row->added.solids_kg; // it was filtered
    state->fluid++;
    row->reach = OW_REACH_YES;
    ow_yard_plan_equilibrate(state);
}

static void cool(OwPlanState *state, const OwPlanCool *c, OwYardRow *row) {
    const double around = c->around_k > 0.0 ? c->around_k : state->yard->climate.shed_k;
    double time = c->time_s;
    if (c->to_k > 0.0 && state->oil_kg > 0.0 && c->to_k < state->temperature_k) {
        const OwTankShape tank = ow_yard_plan_tank(state);
        const OwCooling cooling =
            ow_tank_cooling(&tank, ow_yard_plan_oil(state), state->oil_kg, state->temperature_k, around);
        const OwYardTime reach = ow_cooling_time(&cooling, c->to_k);
        time = reach.reach == OW_REACH_YES ? fmin(time, reach.time_s) : time;
    }
    ow_yard_plan_stand(state, time, around);
    row->elapsed_s += time;
    row->reach = OW_REACH_YES;
}

static void take(OwPlanState *state, const OwPlanStep *step, OwYardRow *row) {
    const double shed_k = state->yard->climate.shed_k;
    const bool is_moved = step->vessel != state->vessel || step->kind == OW_PLAN_FILTER ||
                          step->kind == OW_PLAN_CENTRIFUGE || step->into != step->vessel;
    state->vessel = step->vessel;
    if (is_moved) {
        ow_yard_plan_lose(state, state->yard->losses.move, &row->out[OW_OUT_HANDLING]);
    }
    switch (step->kind) {
    case OW_PLAN_SETTLE:
        ow_yard_plan_settle(state, step->as.settle.time_s,
                            step->as.settle.around_k > 0.0 ? step->as.settle.around_k : shed_k, row);
        row->reach = OW_REACH_YES;
        break;
    case OW_PLAN_HEAT:
        (void)ow_yard_plan_heat(state, step->as.heat.to_k, row);
        break;
    case OW_PLAN_DRY:
        ow_yard_plan_dry(state, &step->as.dry, row);
        break;
    case OW_PLAN_FILTER:
        ow_yard_plan_filter(state, &step->as.filter, row);
        break;
    case OW_PLAN_CENTRIFUGE:
        ow_yard_plan_spin(state, &step->as.centrifuge, row);
        break;
    case OW_PLAN_BLEND:
        blend(state, &step->as.blend, row);
        break;
    default:
        cool(state, &step->as.cool, row);
    }
    state->vessel = step->into;
}

static void count_row(const OwPlanState *state, OwYardBatch *batch, OwYardRow *row) {
    row->end_k = state->temperature_k;
    row->left = ow_yard_plan_stream(state);
    row->left_m3 = ow_yard_plan_volume(state, state->yard->climate.shed_k);
    row->water_share = ow_stream_water_share(&row->left);
    row->solids_share = ow_stream_solids_share(&row->left);
    const double total = ow_stream_total(&row->left);
    row->free_share = total > 0.0 ? row->left.free_water_kg / total : 0.0;
    ow_balance_in(&batch->balance, &row->added);
    for (int i = 0; i < OW_OUT_COUNT; i++) {
        ow_balance_out(&batch->balance, (OwOutlet)i, &row->out[i]);
    }
    batch->elapsed_s += row->elapsed_s;
    batch->watched_s += row->watched_s;
    batch->hands_on_s += row->hands_on_s;
    batch->energy_j += row->energy_j;
    batch->filter_price += row->filter_price;
    batch->waste_kg[OW_WASTE_CAKE] += row->filter_kg;
}

static void finish(const OwPlanState *state, OwYardBatch *batch) {
    const OwYard *yard = state->yard;
    const OwStream left = ow_yard_plan_stream(state);
    ow_balance_out(&batch->balance, OW_OUT_PRODUCT, &left);
    batch->clean_m3 = ow_yard_plan_volume(state, yard->climate.shed_k);
    const OwStream *out = batch->balance.out;
    batch->waste_kg[OW_WASTE_SLUDGE] +=
        ow_stream_total(&out[OW_OUT_SLUDGE]) + ow_stream_total(&out[OW_OUT_REJECT]);
    batch->waste_kg[OW_WASTE_WATER] += ow_stream_total(&out[OW_OUT_WATER]);
    batch->waste_kg[OW_WASTE_CAKE] += ow_stream_total(&out[OW_OUT_CAKE]);
    batch->waste_kg[OW_WASTE_RAGS] += yard->losses.rags_kg + ow_stream_total(&out[OW_OUT_HANDLING]);
    const double water = left.oil_kg > 0.0 ? ow_yard_plan_water(state) / left.oil_kg : 0.0;
    batch->reappear = ow_yard_reappear(&state->solubility, water, state->temperature_k,
                                       yard->targets.coldest_k, left.oil_kg);
}

void ow_yard_plan_walk(const OwYard *yard, const OwPlanKit *kit, OwYardBatch *batch) {
    const OwDisplay display = batch->display;
    memset(batch, 0, sizeof *batch);
    batch->display = display;
    OwPlanState state = arrive(yard, kit, batch);
    batch->in = ow_yard_plan_stream(&state);
    batch->in_m3 = ow_yard_plan_volume(&state, yard->climate.shed_k);
    batch->in_k = state.temperature_k;
    batch->in_water_share = ow_stream_water_share(&batch->in);
    batch->in_solids_share = ow_stream_solids_share(&batch->in);
    ow_balance_in(&batch->balance, &batch->in);
    for (int i = 0; i < yard->step_count; i++) {
        const OwPlanStep *step = &yard->steps[i];
        OwYardRow *row = &batch->rows[batch->row_count++];
        row->step = i;
        row->start_k = state.temperature_k;
        row->hands_on_s = step->hands_on_s;
        take(&state, step, row);
        count_row(&state, batch, row);
        if (step->kind == OW_PLAN_BLEND) {
            batch->blend_price +=
                step->as.blend.price_l * 1e3 * (row->left_m3 * step->as.blend.share); // of the blend's volume
        }
    }
    finish(&state, batch);
}
