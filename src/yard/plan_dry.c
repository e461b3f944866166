// SPDX-License-Identifier: GPL-3.0-or-later
// Warming a batch, and driving its water out with air or vacuum.
#include "yard/guard.h"
#include "yard/plan_walk.h"

#include <math.h>
#include <stdio.h>

static void note(OwYardRow *row, OwReach reach, const char *text) {
    row->reach = reach;
    (void)snprintf(row->note, sizeof row->note, "%s", text);
}

bool ow_yard_plan_heat(OwPlanState *state, double to_k, OwYardRow *row) {
    if (!(state->oil_kg > 0.0)) {
        return false;
    }
    const OwVessel *vessel = &state->yard->vessels[state->vessel];
    const OwTankShape tank = ow_yard_plan_tank(state);
    const OwHeatUp heat = ow_yard_heat(&tank, ow_yard_plan_oil(state), state->oil_kg,
                                       ow_yard_plan_water(state), vessel->heater_w, vessel->heater_m2,
                                       state->temperature_k, to_k, state->yard->climate.shed_k);
    row->load_w_m2 = fmax(row->load_w_m2, heat.load_w_m2);
    row->film_k = fmax(row->film_k, heat.film_k);
    row->reach = heat.time.reach;
    if (heat.time.reach == OW_REACH_YES) {
        row->elapsed_s += heat.time.time_s;
        row->watched_s += heat.time.time_s;
        row->energy_j += heat.energy_j;
        state->temperature_k = to_k;
    } else if (heat.time.reach != OW_REACH_ALREADY) {
        note(row, heat.time.reach, heat.time.reason);
    }
    if (heat.time.reach == OW_REACH_NEVER) {
        // It stands at the heater's end of the rope after a day.
        row->elapsed_s += 86400.0;
        row->watched_s += 86400.0;
        row->energy_j += 86400.0 * vessel->heater_w;
        state->temperature_k = fmax(state->temperature_k, fmin(to_k, heat.steady_k));
    }
    ow_yard_plan_equilibrate(state);
    return heat.time.reach == OW_REACH_YES || heat.time.reach == OW_REACH_ALREADY;
}

/// The law of the way, to a share of water over oil.
static OwDry law(const OwPlanState *state, const OwPlanDry *dry, double target_share) {
    const OwDryJob job = {.solubility = state->solubility,
                          .oil_kg = state->oil_kg,
                          .temperature_k = state->temperature_k,
                          .water_share = ow_yard_plan_water(state) / state->oil_kg,
                          .target_share = target_share};
    if (dry->way == OW_DRY_VACUUM) {
        return ow_yard_dry_vacuum(&job, dry->chamber_pa, dry->pump_m3_s);
    }
    const OwDryAir air = {.temperature_k = state->yard->climate.outdoor_k,
                          .relative = state->yard->climate.humidity,
                          .flow_m3_s = dry->air_m3_s,
                          .approach = dry->approach};
    return ow_yard_dry_bubble(&job, &air);
}

/// Share reached in a time when the target is not: time falls as the target rises.
static OwDry within(const OwPlanState *state, const OwPlanDry *dry, double floor_share, double time_s) {
    double low = floor_share, high = ow_yard_plan_water(state) / state->oil_kg;
    OwDry best = {.end_share = high};
    for (int i = 0; i < 60; i++) {
        const double mid = 0.5 * (low + high);
        const OwDry tried = law(state, dry, mid);
        if (tried.time.reach == OW_REACH_YES && tried.time.time_s <= time_s) {
            high = mid;
            best = tried;
        } else {
            low = mid;
        }
    }
    return best;
}

/// Takes water out until `share` over oil is left: free drops first, all sizes alike.
static void evaporate(OwPlanState *state, double share, OwYardRow *row) {
    const double free_kg = ow_yard_plan_water(state) - state->dissolved_kg;
    const double away = fmax(ow_yard_plan_water(state) - share * state->oil_kg, 0.0);
    row->out[OW_OUT_VAPOUR].free_water_kg += away;
    const double from_free = fmin(away, free_kg);
    for (int i = 0; i < OW_YARD_CLASSES && free_kg > 0.0; i++) {
        state->water_kg[i] -= state->water_kg[i] * (from_free / free_kg);
    }
    state->dissolved_kg -= away - from_free;
}

/// Time and energy: the heater holds the oil against loss, evaporation and cold air.
static void hold(OwPlanState *state, const OwPlanDry *dry, const OwDry *done, OwYardRow *row) {
    const OwVessel *vessel = &state->yard->vessels[state->vessel];
    double time = done->time.time_s;
    if (vessel->heater_w > 0.0) {
        const OwTankShape tank = ow_yard_plan_tank(state);
        const double loss = fmax(ow_tank_loss(&tank, state->temperature_k, state->yard->climate.shed_k), 0.0);
        const double heat = fmax(done->heat_j, 0.0);
        if (loss + (time > 0.0 ? heat / time : 0.0) > vessel->heater_w) {
            const bool can_hold = vessel->heater_w > 1.02 * loss;
            time = can_hold ? heat / (vessel->heater_w - loss) : time;
            if (!can_hold) {
                note(row, OW_REACH_NEVER, "the heater cannot hold the oil at this temperature");
            } else if (row->note[0] == '\0') {
                note(row, row->reach, "the heater sets the pace: it cannot warm air and water any faster");
            }
        }
        row->energy_j += loss * time + heat;
    }
    row->energy_j += dry->pump_w * time;
    row->elapsed_s += time;
    row->watched_s += time;
}

void ow_yard_plan_dry(OwPlanState *state, const OwPlanDry *dry, OwYardRow *row) {
    if (!(state->oil_kg > 0.0) || (dry->at_k > 0.0 && !ow_yard_plan_heat(state, dry->at_k, row))) {
        return;
    }
    if (dry->way == OW_DRY_HOT_SETTLE) {
        ow_yard_plan_settle(state, dry->time_s, state->yard->climate.shed_k, row);
        row->reach = OW_REACH_YES;
        return;
    }
    const OwVessel *vessel = &state->yard->vessels[state->vessel];
    if (!(vessel->heater_w > 0.0) && state->temperature_k > state->yard->climate.shed_k) {
        state->temperature_k = state->yard->climate.shed_k; // nothing holds it warm
        ow_yard_plan_equilibrate(state);
    }
    const double wanted =
        dry->target_share > 0.0 ? dry->target_share : ow_yard_plan_wanted(state->yard, &state->solubility);
    const OwStream now = ow_yard_plan_stream(state);
    // Over the whole -> over the oil.
    const double target = wanted / (1.0 - wanted) * (now.oil_kg + now.solids_kg) / now.oil_kg;
    OwDry done = law(state, dry, target);
    row->wanted_share = wanted;
    row->floor_share = done.floor_share * now.oil_kg / fmax(ow_stream_total(&now), 1e-12);
    row->reach = done.time.reach;
    if (done.time.reach == OW_REACH_YES && done.time.time_s > dry->time_s) {
        done = within(state, dry, target, dry->time_s);
        note(row, OW_REACH_NEVER, "the time is over before the oil is dry");
    } else if (done.time.reach == OW_REACH_NEVER) {
        note(row, OW_REACH_NEVER, done.time.reason);
        done = within(state, dry, done.floor_share, dry->time_s);
    } else if (done.time.reach != OW_REACH_YES) {
        note(row, done.time.reach, done.time.reach == OW_REACH_ALREADY ? "" : done.time.reason);
        return;
    }
    if (done.time.reach == OW_REACH_YES) {
        hold(state, dry, &done, row);
        evaporate(state, done.end_share, row);
    }
    ow_yard_plan_equilibrate(state);
}
