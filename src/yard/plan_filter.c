// SPDX-License-Identifier: GPL-3.0-or-later
// A batch through a filter stage or a centrifuge.
#include "yard/guard.h"
#include "yard/plan_walk.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/// Share of a class that is coarser than a size, on a log scale.
static double coarser(int i, double size_m) {
    return ow_hold(log(ow_yard_plan_edge(i + 1) / size_m) /
                       log(ow_yard_plan_edge(i + 1) / ow_yard_plan_edge(i)),
                   0.0, 1.0);
}

static OwYardFilter filter_of(const OwPlanFilter *f, double density_kg_m3) {
    OwYardFilter filter = ow_yard_filter_default(f->form, f->rating_m, f->area_m2);
    if (f->clean_pa > 0.0) {
        filter.medium_1_m = ow_yard_filter_medium(f->at_flow_m3_s, f->clean_pa,
                                                  f->at_kinematic_m2_s * density_kg_m3, f->area_m2);
    }
    if (f->capacity_kg > 0.0) {
        filter.capacity_kg = f->capacity_kg;
    }
    return filter;
}

/// Time of the batch through as many filters as it takes, each changed when its capacity is used up.
typedef struct Passage {
    double time_s, filters;
    int changes;
    bool is_shut;
} Passage;

static Passage pass(const OwYardFilter *filter, const OwPlanFilter *f, const OwPlanState *state,
                    double temperature_k, double volume_m3, double caught_kg) {
    OwOilState oil;
    ow_oil_state(ow_yard_plan_oil(state), temperature_k, &oil);
    const bool is_pumped = f->push == OW_PUSH_PUMP;
    const OwPush push = {.pressure_pa = is_pumped ? f->pressure_pa : 0.0,
                         .flow_m3_s = is_pumped ? f->flow_m3_s : 0.0,
                         .head_m = is_pumped ? 0.0 : f->head_m};
    const double caught_kg_m3 = caught_kg / volume_m3;
    Passage passage = {.filters = caught_kg / filter->capacity_kg};
    const double full = floor(fmin(passage.filters, 1e6)); // changed so often within the batch
    const double each_m3 = full > 0.0 ? filter->capacity_kg / caught_kg_m3 : 0.0;
    const double rest_m3 = fmax(volume_m3 - full * each_m3, 0.0);
    if (full > 0.0) {
        const OwFilterRun run = ow_yard_filter_run(filter, &push, oil.dynamic_pa_s, oil.density_kg_m3,
                                                   caught_kg_m3, 0.0, each_m3);
        passage.is_shut = run.time.reach != OW_REACH_YES;
        passage.time_s = full * run.time.time_s;
    }
    if (rest_m3 > 1e-9 * volume_m3 && !passage.is_shut) {
        const OwFilterRun run = ow_yard_filter_run(filter, &push, oil.dynamic_pa_s, oil.density_kg_m3,
                                                   caught_kg_m3, 0.0, rest_m3);
        passage.is_shut = run.time.reach != OW_REACH_YES;
        passage.time_s += run.time.time_s;
    }
    passage.changes = (int)full;
    return passage;
}

void ow_yard_plan_filter(OwPlanState *state, const OwPlanFilter *f, OwYardRow *row) {
    const double volume = ow_yard_plan_volume(state, state->temperature_k);
    if (!(state->oil_kg > 0.0) || !(volume > 0.0)) {
        return;
    }
    double caught[OW_YARD_CLASSES], caught_kg = 0.0;
    for (int i = 0; i < OW_YARD_CLASSES; i++) {
        caught[i] = f->catches * coarser(i, f->rating_m) * state->solids_kg[i];
        caught_kg += caught[i];
    }
    const OwYardFilter filter =
        filter_of(f, ow_curve_value(&ow_yard_plan_oil(state)->density_kg_m3, state->temperature_k));
    // The oil cools meanwhile: filtered at the mean of its temperatures, found by repetition.
    const OwTankShape tank = ow_yard_plan_tank(state);
    const OwCooling cooling = ow_tank_cooling(&tank, ow_yard_plan_oil(state), state->oil_kg,
                                              state->temperature_k, state->yard->climate.shed_k);
    double end_k = state->temperature_k;
    Passage passage = {0};
    for (int i = 0; i < 6 && !passage.is_shut; i++) {
        passage = pass(&filter, f, state, 0.5 * (state->temperature_k + end_k), volume, caught_kg);
        end_k = ow_cooling_value(&cooling, passage.time_s);
    }
    if (passage.is_shut) {
        row->reach = OW_REACH_NEVER;
        row->short_m3 = volume;
        (void)snprintf(row->note, sizeof row->note,
                       "oil this thick does not get through this filter in any useful time");
        return;
    }
    for (int i = 0; i < OW_YARD_CLASSES; i++) {
        state->solids_kg[i] -= caught[i];
    }
    row->out[OW_OUT_CAKE].solids_kg += caught_kg;
    ow_yard_plan_take_oil(state, state->yard->losses.cake_oil * caught_kg, &row->out[OW_OUT_CAKE]);
    const double changing = passage.changes * f->change_s;
    row->reach = OW_REACH_YES;
    row->filters = passage.filters;
    row->changes = passage.changes;
    row->filter_m2 = passage.filters * f->area_m2;
    row->filter_price = passage.filters * f->price;
    row->filter_kg = passage.filters * f->mass_kg;
    row->elapsed_s += passage.time_s + changing;
    row->hands_on_s += changing;
    if (f->push == OW_PUSH_PUMP) {
        row->watched_s += passage.time_s;
        row->energy_j += f->pump_w * passage.time_s;
    }
    state->temperature_k = ow_cooling_value(&cooling, row->elapsed_s);
    ow_yard_plan_equilibrate(state);
}

void ow_yard_plan_spin(OwPlanState *state, const OwPlanCentrifuge *bowl, OwYardRow *row) {
    const double volume = ow_yard_plan_volume(state, state->temperature_k);
    if (!(state->oil_kg > 0.0) || !(volume > 0.0)) {
        return;
    }
    OwSettle settle = {.oil = ow_yard_plan_oil(state),
                       .kind = OW_GRAIN_WATER,
                       .grain_kg_m3 = state->yard->incoming.crumb_kg_m3,
                       .height_m = 1.0};
    const double sigma =
        ow_yard_sigma_tube(bowl->rotation_rad_s, bowl->length_m, bowl->inner_m, bowl->outer_m);
    const double water_cut =
        ow_yard_centrifuge_cut(&settle, sigma, bowl->efficiency, bowl->flow_m3_s, state->temperature_k);
    settle.kind = OW_GRAIN_CRUMB;
    const double crumb_cut =
        ow_yard_centrifuge_cut(&settle, sigma, bowl->efficiency, bowl->flow_m3_s, state->temperature_k);
    double water = 0.0, solids = 0.0;
    for (int i = 0; i < OW_YARD_CLASSES; i++) {
        // Of a class finer than the cut, the part that comes in near enough to the wall; Stokes.
        const double size = ow_yard_plan_size(i);
        const double dry = pow(1.0 - fmin(size * size / (water_cut * water_cut), 1.0), bowl->passes);
        const double bare = pow(1.0 - fmin(size * size / (crumb_cut * crumb_cut), 1.0), bowl->passes);
        const double drops = (1.0 - dry) * state->water_kg[i], crumbs = (1.0 - bare) * state->solids_kg[i];
        state->water_kg[i] -= drops;
        state->solids_kg[i] -= crumbs;
        water += drops;
        solids += crumbs;
    }
    row->out[OW_OUT_WATER].free_water_kg += water;
    row->out[OW_OUT_SLUDGE].solids_kg += solids;
    ow_yard_plan_take_oil(state, state->yard->losses.water_oil * water, &row->out[OW_OUT_WATER]);
    ow_yard_plan_take_oil(state, state->yard->losses.sludge_oil * solids, &row->out[OW_OUT_SLUDGE]);
    const double time = bowl->passes * volume / bowl->flow_m3_s;
    row->reach = OW_REACH_YES;
    row->elapsed_s += time;
    row->watched_s += time;
    row->energy_j += bowl->power_w * time;
    (void)snprintf(row->note, sizeof row->note, "takes out drops over %.0f um and crumbs over %.0f um whole",
                   1e6 * water_cut, 1e6 * crumb_cut);
    ow_yard_plan_stand(state, time, state->yard->climate.shed_k);
}
